//! Taking a CSV file apart, row by row: cells with their places, so that a mistake in the thousandth row is shown there.
//!
//! The first line is the header. The separator is the one the header uses most: comma, semicolon (where the comma is the
//! decimal mark, spreadsheets write that) or tab. Cells may be quoted as RFC 4180 has it; blank lines are passed over.
//!
//! ```
//! use source_file::{Problems, SourceFile, csv_rows};
//!
//! let file = SourceFile::from_text("forks.csv", "id;axle_to_crown (mm)\ntarn-150;\"544\"\n");
//! let mut problems = Problems::new();
//! let mut rows = csv_rows::parse(&file, &mut problems);
//! assert_eq!(rows.header()[1].as_str(), "axle_to_crown (mm)");
//! let row = rows.next_row(&mut problems).unwrap();
//! assert_eq!(row.cell(1).map(|cell| (cell.as_str(), cell.place().to_string())), Some(("544", "forks.csv:2:10".to_owned())));
//! assert!(rows.next_row(&mut problems).is_none() && problems.is_empty());
//! ```

use std::borrow::Cow;
use std::ops::Range;

use csv_core::{ReadFieldResult, Reader, ReaderBuilder};

use crate::spelling::quoted;
use crate::{Place, Problem, Problems, SourceFile, Text};

/// Separators, in the order in which they win a tie.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// Rows whose cells are fewer or more than the header has are reported one by one up to this number, then only counted:
/// a wrong separator in the header makes every row wrong.
const MOST_UNEVEN: usize = 20;

/// A file's rows, read as they are asked for.
#[derive(Debug)]
pub struct Rows<'f> {
    cells: Cells<'f>,
    header: Vec<Text<'f>>,
    uneven: usize,
}

/// One row: as many cells as the header has.
#[derive(Clone, Debug)]
pub struct Row<'f> {
    cells: Vec<Text<'f>>,
}

impl<'f> Row<'f> {
    /// The cell of a column (counted from 0); `None` if it is blank.
    pub fn cell(&self, column: usize) -> Option<&Text<'f>> {
        self.cells.get(column).filter(|cell| !cell.is_empty())
    }

    /// All cells, blank ones too.
    pub fn cells(&self) -> &[Text<'f>] {
        &self.cells
    }

    /// Where the row stands.
    pub fn place(&self) -> Place {
        let (first, last) = (&self.cells[0], &self.cells[self.cells.len() - 1]);
        first.file().place(first.span().start..last.span().end)
    }
}

/// Begins a file: reads its header. Columns without a name or with the same name as another are among the problems.
pub fn parse<'f>(file: &'f SourceFile, problems: &mut Problems) -> Rows<'f> {
    let mut cells = Cells::new(file);
    let header = cells.next_row(problems).unwrap_or_default();
    if header.is_empty() {
        problems.push(Problem::at(file, 0..0, "there is no header").label("expected names of columns").note("the file is empty"));
    }
    for (column, name) in header.iter().enumerate() {
        if name.is_empty() {
            problems.push(name.problem(format!("column {} has no name", column + 1)).label("expected the name of the column"));
        } else if let Some(first) = header[..column].iter().find(|earlier| earlier.as_str() == name.as_str()) {
            let problem = name.problem(format!("two columns are called {}", quoted(name))).label("the second");
            problems.push(problem.also(first.place().label("the first")));
        }
    }
    Rows { cells, header, uneven: 0 }
}

impl<'f> Rows<'f> {
    /// Names of the columns.
    pub fn header(&self) -> &[Text<'f>] {
        &self.header
    }

    /// The next row that has as many cells as the header; others are among the problems. `None` at the end of the file.
    pub fn next_row(&mut self, problems: &mut Problems) -> Option<Row<'f>> {
        loop {
            let Some(cells) = self.cells.next_row(problems) else {
                if self.uneven > MOST_UNEVEN {
                    let more = self.uneven - MOST_UNEVEN;
                    let problem =
                        Problem::at(self.cells.file, self.header_span(), format!("{more} more rows do not fit the header"));
                    problems.push(problem);
                    self.uneven = 0;
                }
                return None;
            };
            if self.header.is_empty() {
                continue;
            }
            if cells.len() == self.header.len() {
                return Some(Row { cells });
            }
            self.uneven += 1;
            if self.uneven <= MOST_UNEVEN {
                problems.push(self.uneven_row(&cells));
            }
        }
    }

    fn header_span(&self) -> Range<usize> {
        self.header.first().map_or(0..0, |first| first.span().start..self.header[self.header.len() - 1].span().end)
    }

    fn uneven_row(&self, cells: &[Text<'f>]) -> Problem {
        let (count, wanted) = (cells.len(), self.header.len());
        let message = format!("a row with {count} {}, where the header has {wanted}", if count == 1 { "cell" } else { "cells" });
        let (first, last) = (cells.get(wanted).or(cells.first()), cells.last());
        let span = first.map_or(0, |first| first.span().start)..last.map_or(0, |last| last.span().end);
        let problem = Problem::at(self.cells.file, span, message);
        match self.header.get(count) {
            Some(missing) if count + 1 == wanted => problem.label(format!("no cell for {}", quoted(missing))),
            Some(missing) => problem.label(format!("no cells from {} on", quoted(missing))),
            None if self.cells.separator == b',' => {
                problem.label("left over").help("put a cell with a comma in it in quotes, and write decimals with a point")
            }
            None => problem.label("left over"),
        }
    }
}

/// Cells one after the other.
struct Cells<'f> {
    file: &'f SourceFile,
    reader: Reader,
    separator: u8,
    /// Next byte to read.
    at: usize,
    /// What the reader makes of a quoted cell.
    decoded: Vec<u8>,
}

impl std::fmt::Debug for Cells<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Cells").field("file", &self.file).field("at", &self.at).finish_non_exhaustive()
    }
}

impl<'f> Cells<'f> {
    fn new(file: &'f SourceFile) -> Self {
        let separator = separator(file.text());
        let reader = ReaderBuilder::new().delimiter(separator).build();
        Self { file, reader, separator, at: 0, decoded: Vec::new() }
    }

    /// The cells of the next line that is not blank.
    fn next_row(&mut self, problems: &mut Problems) -> Option<Vec<Text<'f>>> {
        let mut cells = Vec::new();
        loop {
            let start = self.at;
            let end_of = self.read_cell();
            match end_of {
                EndOf::File => return None,
                EndOf::Cell | EndOf::Row => cells.push(self.cell(start..self.at, problems)),
            }
            if let EndOf::Row = end_of {
                return Some(cells);
            }
        }
    }

    /// Reads to the end of a cell: what it says is in `decoded`, and what was read ends at `at`.
    fn read_cell(&mut self) -> EndOf {
        self.decoded.clear();
        let mut buffer = [0; 256];
        loop {
            let (result, read, written) = self.reader.read_field(&self.file.text().as_bytes()[self.at..], &mut buffer);
            self.at += read;
            self.decoded.extend_from_slice(&buffer[..written]);
            match result {
                // At the end of the text the reader wants to see nothing once more.
                ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
                ReadFieldResult::Field { record_end: false } => return EndOf::Cell,
                ReadFieldResult::Field { record_end: true } => return EndOf::Row,
                ReadFieldResult::End => return EndOf::File,
            }
        }
    }

    /// The cell that was just read from these bytes, which may begin with blank lines and end with a separator.
    fn cell(&self, read: Range<usize>, problems: &mut Problems) -> Text<'f> {
        let written = &self.file.text()[read.clone()];
        let without_breaks = written.trim_start_matches(['\n', '\r']);
        let start = read.end - without_breaks.len();
        let is_quoted = without_breaks.starts_with('"');
        let separator = char::from(self.separator);
        let ends = |letter: char| matches!(letter, '\n' | '\r') || letter == separator;
        // Only the last separator ends the cell; those before it stand in quotes.
        let body = match without_breaks.strip_suffix("\r\n") {
            Some(body) => body,
            None => without_breaks.strip_suffix(ends).unwrap_or(without_breaks),
        };
        if is_quoted {
            let is_closed = body.len() > 1 && body.trim_end().ends_with('"');
            if !is_closed {
                let problem = Problem::at(self.file, start..start + 1, "a quote that is not closed").label("opened here");
                problems.push(problem.help("write a quote that belongs to the text twice: `\"\"`"));
            }
            let value = String::from_utf8_lossy(&self.decoded).trim().to_owned();
            return Text::new(self.file, start..start + body.len(), value);
        }
        let value = body.trim();
        let start = start + (body.len() - body.trim_start().len());
        Text::new(self.file, start..start + value.len(), Cow::Borrowed(value))
    }
}

#[derive(Clone, Copy)]
enum EndOf {
    Cell,
    Row,
    File,
}

/// The separator the first line that is not blank uses most, outside quotes.
fn separator(text: &str) -> u8 {
    let line = text.trim_start_matches(['\n', '\r']).lines().next().unwrap_or_default();
    let outside = line.split('"').step_by(2);
    let count =
        |separator: u8| outside.clone().map(|piece| piece.bytes().filter(|byte| *byte == separator).count()).sum::<usize>();
    let mut best = SEPARATORS[0];
    for separator in SEPARATORS {
        if count(separator) > count(best) {
            best = separator;
        }
    }
    best
}

#[cfg(test)]
mod tests {

    use insta::assert_snapshot;

    use super::*;
    use crate::render;

    /// All rows, with the text that stands at the place of each cell.
    fn read(text: &str) -> (Vec<Vec<(String, String)>>, String) {
        let file = SourceFile::from_text("a.csv", text);
        let mut problems = Problems::new();
        let mut rows = parse(&file, &mut problems);
        let mut all = vec![rows.header().to_vec()];
        while let Some(row) = rows.next_row(&mut problems) {
            all.push(row.cells().to_vec());
        }
        let pairs = |row: &Vec<Text<'_>>| row.iter().map(|cell| (cell.to_string(), text[cell.span()].to_owned())).collect();
        (all.iter().map(pairs).collect(), render(&problems, false))
    }

    fn pair(value: &str, written: &str) -> (String, String) {
        (value.to_owned(), written.to_owned())
    }

    #[test]
    fn cells_know_where_they_stand() {
        let (rows, problems) = read("id,name,width\r\n\r\na, \"x\" ,1\n\"b\",\"Tarn, \"\"150\"\"\nlong\",\n\n  c ,,2.5");
        assert_eq!(problems, "");
        assert_eq!(rows[0], [pair("id", "id"), pair("name", "name"), pair("width", "width")]);
        assert_eq!(rows[1], [pair("a", "a"), pair("\"x\"", "\"x\""), pair("1", "1")], "quotes after a space are text");
        assert_eq!(rows[2], [pair("b", "\"b\""), pair("Tarn, \"150\"\nlong", "\"Tarn, \"\"150\"\"\nlong\""), pair("", "")]);
        assert_eq!(rows[3], [pair("c", "c"), pair("", ""), pair("2.5", "2.5")]);
        assert_eq!(rows.len(), 4);
    }

    #[test]
    fn the_separator_is_the_one_of_the_header() {
        for (text, separator) in [("a,b\n1,2\n", ","), ("a;b\n1,5;2\n", ";"), ("a\tb\n1\t2\n", "\t"), ("\"x,y,z\";b\n1;2\n", ";")]
        {
            let (rows, problems) = read(text);
            assert_eq!((rows[1].len(), problems.as_str()), (2, ""), "{separator:?} in {text:?}");
        }
        assert_eq!(read("only\n1\n").0[1], [pair("1", "1")]);
    }

    #[test]
    fn a_cell_longer_than_the_buffer_is_whole() {
        let long = "x\"\"".repeat(1000);
        let (rows, problems) = read(&format!("a,b\n\"{long}\",{}\n", "ä".repeat(1000)));
        assert_eq!(problems, "");
        assert_eq!(rows[1][0].0, "x\"".repeat(1000));
        assert_eq!(rows[1][1].0, "ä".repeat(1000));
    }

    #[test]
    fn mistakes_are_shown_where_they_are() {
        assert_snapshot!(read("").1, @r#"
        error: there is no header
         --> a.csv:1:1
          |
        1 |
          | ^ expected names of columns
          |
          = note: the file is empty
        "#);
        assert_snapshot!(read("id,,name,id\n").1, @r#"
        error: column 2 has no name
         --> a.csv:1:4
          |
        1 | id,,name,id
          |    ^ expected the name of the column

        error: two columns are called `id`
         --> a.csv:1:10
          |
        1 | id,,name,id
          | --       ^^ the second
          | |
          | the first

        2 problems in a.csv
        "#);
        assert_snapshot!(read("id,name,width\na,Tarn\nb,Tarn,62,5\nc,Tarn,62\n").1, @r#"
        error: a row with 2 cells, where the header has 3
         --> a.csv:2:1
          |
        2 | a,Tarn
          | ^^^^^^ no cell for `width`

        error: a row with 4 cells, where the header has 3
         --> a.csv:3:11
          |
        3 | b,Tarn,62,5
          |           ^ left over
          |
          = help: put a cell with a comma in it in quotes, and write decimals with a point

        2 problems in a.csv
        "#);
        assert_snapshot!(read("id,name\na,\"Tarn\nb,Heron\n").1, @r#"
        error: a quote that is not closed
         --> a.csv:2:3
          |
        2 | a,"Tarn
          |   ^ opened here
          |
          = help: write a quote that belongs to the text twice: `""`
        "#);
    }

    #[test]
    fn rows_that_all_disagree_with_the_header_are_counted() {
        let (rows, problems) = read(&format!("id\n{}", "a,b\n".repeat(1000)));
        assert_eq!(rows.len(), 1);
        assert!(problems.contains("980 more rows do not fit the header") && problems.ends_with("21 problems in a.csv\n"));
    }

    #[test]
    fn megabytes_are_read_in_a_moment() {
        let text = format!("id,name,width\n{}", "tarn,\"Tarn, long\",62.5 mm\n".repeat(300_000));
        let file = SourceFile::from_text("a.csv", text);
        let mut problems = Problems::new();
        let mut rows = parse(&file, &mut problems);
        let mut count = 0;
        while rows.next_row(&mut problems).is_some() {
            count += 1;
        }
        assert_eq!((count, problems.len()), (300_000, 0));
        // It takes a twentieth of this here, with another build beside it.
    }
}
