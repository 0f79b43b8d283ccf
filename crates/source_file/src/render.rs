//! Problems as a person reads them: message, line, caret, what would be right.

use std::ops::Range;

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::spelling::is_unshowable;
use crate::{Place, Problem, Problems, SourceFile};

/// The most problems that are shown. A file with more has usually one cause.
const MOST_SHOWN: usize = 50;

/// Two places of one file that are this many lines apart or fewer are shown in one picture.
const NEAR_LINES: usize = 12;

/// How much of a line is handed to the renderer on either side of a place. The renderer cuts further, to the width of
/// a screen; this bound keeps it from walking through a line of megabytes.
const MOST_BESIDE_BYTES: usize = 2000;

/// All problems as text, in the order of the file, ending with a count if there are several.
///
/// `styled` adds terminal colours; the shape says all without them.
pub fn render(problems: &Problems, styled: bool) -> String {
    let renderer = if styled { Renderer::styled().hyperlink(false) } else { Renderer::plain() };
    let in_order = in_order(problems);
    let mut text = String::new();
    for problem in in_order.iter().take(MOST_SHOWN) {
        let pictures = pictures(problem);
        text.push_str(&renderer.render(&[group(problem, &pictures)]));
        text.push_str("\n\n");
    }
    let count = in_order.len();
    if count == 1 {
        text.pop();
    } else if count > 1 {
        let hidden = count.saturating_sub(MOST_SHOWN);
        let hidden = if hidden == 0 { String::new() } else { format!("; {hidden} are not shown") };
        let total = format!("{count} problems{}{hidden}\n", in_files(problems));
        text.push_str(&total);
    }
    text
}

/// Problems by file (in the order the files were met) and by place; those without a place come first.
fn in_order(problems: &Problems) -> Vec<&Problem> {
    let files = files(problems);
    let mut in_order: Vec<&Problem> = problems.iter().collect();
    in_order.sort_by_key(|problem| {
        problem.place.as_ref().map(|place| (files.iter().position(|name| *name == place.file.name()), place.span.start))
    });
    in_order
}

fn files(problems: &Problems) -> Vec<&str> {
    let mut files: Vec<&str> = Vec::new();
    for place in problems.iter().filter_map(|problem| problem.place.as_ref()) {
        if !files.contains(&place.file.name()) {
            files.push(place.file.name());
        }
    }
    files
}

fn in_files(problems: &Problems) -> String {
    let files = files(problems);
    let all_placed = problems.iter().all(|problem| problem.place.is_some());
    match files.as_slice() {
        _ if !all_placed => String::new(),
        [one] => format!(" in {one}"),
        [one, other] => format!(" in {one} and {other}"),
        more => format!(" in {} files", more.len()),
    }
}

/// A stretch of lines of one file, and what is marked in it.
struct Picture<'p> {
    file: &'p SourceFile,
    first_line: usize,
    last_line: usize,
    marks: Vec<(AnnotationKind, &'p Place)>,
}

/// The pictures of a problem: its place first, then what else belongs to it; near places of one file share a picture.
fn pictures(problem: &Problem) -> Vec<Picture<'_>> {
    let mut pictures: Vec<Picture<'_>> = Vec::new();
    let primary = problem.place.iter().map(|place| (AnnotationKind::Primary, place.as_ref()));
    let further = problem.also.iter().map(|place| (AnnotationKind::Context, place));
    for (kind, place) in primary.chain(further) {
        let line = place.file.line_index(place.span.start);
        let near = pictures.iter_mut().find(|picture| {
            picture.file == &place.file && line + NEAR_LINES >= picture.first_line && line <= picture.last_line + NEAR_LINES
        });
        if let Some(picture) = near {
            picture.first_line = picture.first_line.min(line);
            picture.last_line = picture.last_line.max(line);
            picture.marks.push((kind, place));
        } else {
            pictures.push(Picture { file: &place.file, first_line: line, last_line: line, marks: vec![(kind, place)] });
        }
    }
    pictures
}

fn group<'a>(problem: &Problem, pictures: &[Picture<'_>]) -> Group<'a> {
    let mut group = Group::with_title(Level::ERROR.primary_title(showable(&problem.message)));
    for picture in pictures {
        let name = showable(picture.file.name());
        let (source, marks) = excerpt(picture);
        let snippet = Snippet::source(source).line_start(picture.first_line + 1).annotations(marks);
        // The renderer counts columns in what it is handed: if the front of the line was cut, it has to be told.
        group = match picture.cut_column() {
            Some(column) => group.element(Origin::path(name).line(picture.first_line + 1).char_column(column)).element(snippet),
            None => group.element(snippet.path(name)),
        };
    }
    group = group.elements(problem.help.iter().map(|help| Level::HELP.message(showable(help))));
    group.elements(problem.notes.iter().map(|note| Level::NOTE.message(showable(note))))
}

impl Picture<'_> {
    /// Marks that begin on this line.
    fn marks_on(&self, line: usize) -> impl Iterator<Item = &(AnnotationKind, &Place)> {
        self.marks.iter().filter(move |(_, place)| place.file.line_index(place.span.start) == line)
    }

    /// Bytes of this line that are shown: those around its first mark.
    fn shown(&self, line: usize) -> Range<usize> {
        let all = self.file.line_span(line);
        let mark = self.marks_on(line).map(|(_, place)| place.span.start).min().unwrap_or(all.start);
        let from = self.file.floor_char_boundary(mark.saturating_sub(MOST_BESIDE_BYTES)).max(all.start);
        let to = self.file.floor_char_boundary(mark + MOST_BESIDE_BYTES).min(all.end);
        from..to
    }

    /// The true column of the first mark, if the front of its line is cut off.
    fn cut_column(&self) -> Option<usize> {
        let start = self.marks.first()?.1.span.start;
        let line = self.file.line_index(start);
        (self.shown(line).start > self.file.line_span(line).start).then(|| self.file.line_column(start).1)
    }
}

/// The text of a picture's lines, with overlong lines cut, and its marks counted within that text.
fn excerpt<'a>(picture: &Picture<'_>) -> (String, Vec<Annotation<'a>>) {
    let mut source = String::new();
    let mut marks = Vec::new();
    for line in picture.first_line..=picture.last_line {
        let shown = picture.shown(line);
        for (kind, place) in picture.marks_on(line) {
            // A place over several lines is shown by its first: the rest would push the message off the screen.
            let within = |byte: usize| picture.file.floor_char_boundary(byte).clamp(shown.start, shown.end) - shown.start;
            let (start, end) = (within(place.span.start), within(place.span.end.max(place.span.start)));
            let label = (!place.label.is_empty()).then(|| showable(&place.label));
            marks.push(kind.span(source.len() + start..source.len() + end).label(label));
        }
        source.push_str(&picture.file.text()[shown]);
        source.push('\n');
    }
    (source, marks)
}

/// A message may repeat what stands in a file: nothing in it may steer the terminal.
fn showable(text: &str) -> String {
    text.chars().map(|letter| if letter != '\n' && is_unshowable(letter) { '\u{fffd}' } else { letter }).collect()
}

#[cfg(test)]
mod tests {

    use insta::assert_snapshot;

    use super::*;

    fn file() -> SourceFile {
        let lines: Vec<String> = (1..=40).map(|n| format!("key_{n} = \"{n} mm\"")).collect();
        SourceFile::from_text("heron.toml", lines.join("\n"))
    }

    /// Bytes of the first `word` in the file.
    fn span(file: &SourceFile, word: &str) -> Range<usize> {
        let start = file.text().find(word).unwrap();
        start..start + word.len()
    }

    #[test]
    fn a_problem_shows_line_caret_label_help_and_note() {
        let file = SourceFile::from_text("heron-l.toml", "[frame.chart]\nhead_angle = \"531 mm\"\n");
        let problem = Problem::at(&file, span(&file, "\"531 mm\""), "`head_angle` is given as a length")
            .label("expected an angle")
            .help("write it in degrees from horizontal, for example \"68.5 deg\"")
            .note("531 mm would be plausible for `drawn_with.axle_to_crown`");
        assert_snapshot!(render(&problem.into(), false), @r#"
        error: `head_angle` is given as a length
         --> heron-l.toml:2:14
          |
        2 | head_angle = "531 mm"
          |              ^^^^^^^^ expected an angle
          |
          = help: write it in degrees from horizontal, for example "68.5 deg"
          = note: 531 mm would be plausible for `drawn_with.axle_to_crown`
        "#);
    }

    #[test]
    fn near_places_share_a_picture_and_far_ones_do_not() {
        let file = file();
        let other = SourceFile::from_text("parts.toml", "id = \"tarn\"\n");
        let problem = Problem::at(&file, span(&file, "\"9 mm\""), "given three times")
            .label("here")
            .also(file.place(span(&file, "key_6")).label("first here"))
            .also(file.place(span(&file, "key_40")).label("then here"))
            .also(other.place(span(&other, "\"tarn\"")).label("and here"));
        assert_snapshot!(render(&problem.into(), false), @r#"
        error: given three times
          --> heron.toml:9:9
           |
         6 | key_6 = "6 mm"
           | ----- first here
        ...
         9 | key_9 = "9 mm"
           |         ^^^^^^ here
           |
          ::: heron.toml:40:1
           |
        40 | key_40 = "40 mm"
           | ------ then here
           |
          ::: parts.toml:1:6
           |
         1 | id = "tarn"
           |      ------ and here
        "#);
    }

    #[test]
    fn several_problems_come_in_the_order_of_the_file_and_are_counted() {
        let file = file();
        let other = SourceFile::from_text("parts.toml", "id = 1\n");
        let mut problems = Problems::new();
        problems.push(Problem::at(&file, span(&file, "key_3"), "third"));
        problems.push(Problem::at(&file, span(&file, "key_2"), "second"));
        assert_snapshot!(render(&problems, false), @r#"
        error: second
         --> heron.toml:2:1
          |
        2 | key_2 = "2 mm"
          | ^^^^^

        error: third
         --> heron.toml:3:1
          |
        3 | key_3 = "3 mm"
          | ^^^^^

        2 problems in heron.toml
        "#);
        problems.push(Problem::at(&other, 0..2, "elsewhere"));
        assert!(render(&problems, false).ends_with("\n3 problems in heron.toml and parts.toml\n"));
        problems.push(Problem::new("nowhere"));
        let text = render(&problems, false);
        assert!(text.starts_with("error: nowhere\n") && text.ends_with("\n4 problems\n"), "{text}");
        assert_eq!(render(&Problems::new(), false), "");
    }

    #[test]
    fn a_flood_is_cut_off_and_counted() {
        let file = file();
        let problems: Problems = (0..1000).map(|at| Problem::at(&file, at % 300..at % 300, "wrong")).collect();
        let text = render(&problems, false);
        assert!(text.ends_with("1000 problems in heron.toml; 950 are not shown\n"));
        assert_eq!(text.matches("error: wrong").count(), MOST_SHOWN);
    }

    #[test]
    fn places_at_the_edges_are_shown_without_fuss() {
        let empty = SourceFile::from_text("empty.toml", "");
        assert_snapshot!(render(&Problem::at(&empty, 0..0, "`name` is missing").label("expected here").into(), false), @r#"
        error: `name` is missing
         --> empty.toml:1:1
          |
        1 |
          | ^ expected here
        "#);
        let file = SourceFile::from_text("a.toml", "a = {\r\n  b = 1\r\n}\r\n");
        assert_snapshot!(render(&Problem::at(&file, 4..18, "over several lines").into(), false), @r#"
        error: over several lines
         --> a.toml:1:5
          |
        1 | a = {
          |     ^
        "#);
        assert_snapshot!(render(&Problem::at(&file, 900..1000, "past the end").into(), false), @r#"
        error: past the end
         --> a.toml:4:1
          |
        4 |
          | ^
        "#);
        let greek = SourceFile::from_text("a.toml", "αβγ = 1");
        assert_snapshot!(render(&Problem::at(&greek, 1..3, "inside a character").into(), false), @r#"
        error: inside a character
         --> a.toml:1:1
          |
        1 | αβγ = 1
          | ^
        "#);
    }

    #[test]
    fn nothing_from_a_file_steers_the_terminal() {
        let file = SourceFile::from_text("a\u{1b}[2J.toml", "a = \"\u{1b}[31mred\u{202e}\"\n");
        let problem = Problem::at(&file, 4..5, "a\u{1b}b").label("c\u{1b}d").help("e\u{1b}f").note("g\u{202e}h");
        let text = render(&problem.into(), false);
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text:?}");
    }

    #[test]
    fn a_line_of_megabytes_is_cut_around_the_place_and_quickly() {
        let file = SourceFile::from_text(
            "long.toml",
            format!("a = [{}\"531 mm\", {}]\n", "12, ".repeat(1 << 20), "13, ".repeat(1 << 20)),
        );
        assert_snapshot!(render(&Problem::at(&file, span(&file, "\"531 mm\""), "not a number").label("here").into(), false), @r#"
        error: not a number
         --> long.toml:1:4194310
          |
         ::: 
        1 | ..., 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, "531 mm", 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13...
          |                                                              ^^^^^^^^ here
        "#);
        // A hundredfold of what it takes here; walking through the whole line once per problem took two seconds.
    }
}
