//! One text file: its name, its text, and where its lines begin.

use std::fmt;
use std::fs;
use std::io::{self, Read};
use std::ops::Range;
use std::path::Path;
use std::sync::{Arc, OnceLock};

use crate::spelling::{closest, quoted};
use crate::{Place, Problem};

/// The largest file that is read, in bytes (8 MiB): a hundred times what a workshop's whole catalogue takes, and little
/// enough that a wrong path (a photograph, a film) is refused before it fills the memory.
pub const LARGEST_FILE_BYTES: u64 = 8 * 1024 * 1024;

/// A text file a person wrote. A clone is cheap: all clones share one text.
#[derive(Clone)]
pub struct SourceFile(Arc<Inner>);

struct Inner {
    name: String,
    text: String,
    /// Byte at which each line begins; counted when first asked for.
    line_starts: OnceLock<Vec<usize>>,
}

impl SourceFile {
    /// Reads a file from disk. Its name is the path as the caller gave it. A byte order mark is left out.
    ///
    /// # Errors
    ///
    /// A [`Problem`] if there is no such file, if it is a folder or a device, if it may not be read, if it is larger than
    /// [`LARGEST_FILE_BYTES`], or if it is not UTF-8 text (the byte and its line are named).
    pub fn read(path: &Path) -> Result<Self, Problem> {
        Self::from_bytes(path.display().to_string(), read_bytes(path)?)
    }

    /// A file whose bytes are already at hand (sent by a browser). A byte order mark is left out.
    ///
    /// # Errors
    ///
    /// A [`Problem`] if they are not UTF-8 text (the byte and its line are named).
    pub fn from_bytes(name: impl Into<String>, bytes: Vec<u8>) -> Result<Self, Problem> {
        let name = name.into();
        match String::from_utf8(bytes) {
            // Letters of UTF-16 without a byte order mark are bytes of UTF-8, every second one of them zero.
            Ok(text) if text.contains('\0') => {
                let at = text.find('\0').unwrap_or_default();
                Err(not_utf8(&name, text.as_bytes(), at))
            }
            Ok(mut text) => {
                if text.starts_with('\u{feff}') {
                    text.drain(..'\u{feff}'.len_utf8());
                }
                Ok(Self::from_text(name, text))
            }
            Err(error) => Err(not_utf8(&name, error.as_bytes(), error.utf8_error().valid_up_to())),
        }
    }

    /// A file whose text is already at hand (embedded in the program, sent through a form, typed at a prompt).
    pub fn from_text(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self(Arc::new(Inner { name: name.into(), text: text.into(), line_starts: OnceLock::new() }))
    }

    /// What the file is called in messages.
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.0.text
    }

    /// Line and column of a byte, both counted from 1; the column counts characters, not bytes. A byte past the end
    /// stands for the end.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
        let byte = self.floor_char_boundary(byte);
        let line = self.line_index(byte);
        let column = self.text()[self.line_starts()[line]..byte].chars().count();
        (line + 1, column + 1)
    }

    /// A place in this file.
    pub fn place(&self, span: Range<usize>) -> Place {
        Place { file: self.clone(), span, label: String::new() }
    }

    /// Bytes of a line (counted from 0), without its line break.
    pub(crate) fn line_span(&self, line: usize) -> Range<usize> {
        let start = self.line_starts()[line];
        let end = self.line_starts().get(line + 1).copied().unwrap_or(self.text().len());
        let without_break = self.text()[start..end].trim_end_matches(['\n', '\r']);
        start..start + without_break.len()
    }

    /// The nearest character boundary at or before `byte`, within the text.
    pub(crate) fn floor_char_boundary(&self, byte: usize) -> usize {
        self.text().floor_char_boundary(byte)
    }

    /// Index, from 0, of the line on which `byte` stands.
    pub(crate) fn line_index(&self, byte: usize) -> usize {
        self.line_starts().partition_point(|&start| start <= byte).saturating_sub(1)
    }

    fn line_starts(&self) -> &[usize] {
        self.0.line_starts.get_or_init(|| {
            let breaks = self.text().bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
            std::iter::once(0).chain(breaks.map(|(at, _)| at + 1)).collect()
        })
    }
}

/// Two files are equal if their names and texts are.
impl PartialEq for SourceFile {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || (self.name() == other.name() && self.text() == other.text())
    }
}

impl Eq for SourceFile {}

/// Name and size only: a whole text would drown every message it stands in.
impl fmt::Debug for SourceFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SourceFile({:?}, {} bytes)", self.name(), self.text().len())
    }
}

fn read_bytes(path: &Path) -> Result<Vec<u8>, Problem> {
    let shown = quoted(&path.display().to_string());
    let cannot_read = |error: &io::Error| Problem::new(format!("cannot read {shown}: {}", plain_words(error)));
    let metadata = fs::metadata(path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => not_found(path),
        _ => cannot_read(&error),
    })?;
    if metadata.is_dir() {
        return Err(Problem::new(format!("{shown} is a folder, not a file")).help("name a file in it"));
    }
    // A pipe or a device may never end; opening one may even wait for ever.
    if !metadata.is_file() {
        return Err(Problem::new(format!("{shown} is not an ordinary file")));
    }
    let mut bytes = Vec::new();
    fs::File::open(path)
        .and_then(|file| file.take(LARGEST_FILE_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| cannot_read(&error))?;
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return Err(Problem::new(format!("{shown} is too large: {} MiB is the most that is read", LARGEST_FILE_BYTES >> 20))
            .note("files here are texts of some kilobytes; is this the file you meant?")
            .help("split a long catalogue into several files"));
    }
    Ok(bytes)
}

/// The operating system's words, without the number it adds.
fn plain_words(error: &io::Error) -> String {
    let words = error.to_string();
    let words = words.split(" (os error").next().unwrap_or_default();
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// No such file: names the folder that is missing, or the file beside it that was probably meant.
fn not_found(path: &Path) -> Problem {
    let problem = Problem::new(format!("there is no file {}", quoted(&path.display().to_string())));
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return problem.note(format!("there is no folder {} either", quoted(&folder.display().to_string())));
    }
    let beside: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| entry.path().is_file())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    let wanted = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    match closest(&wanted, beside.iter().map(String::as_str)) {
        Some(found) => {
            let found = path.with_file_name(found);
            problem.help(format!("did you mean {}?", quoted(&found.display().to_string())))
        }
        None => problem,
    }
}

fn not_utf8(name: &str, bytes: &[u8], at: usize) -> Problem {
    let byte = bytes[at];
    // Before `at` all is UTF-8, so the place in the repaired text is the place in the file.
    let file = SourceFile::from_text(name, String::from_utf8_lossy(bytes));
    let (line, _) = file.line_column(at);
    let end = at + file.text()[at..].chars().next().map_or(0, char::len_utf8);
    // A zero byte is UTF-8, but nothing that is written.
    let wanted = if byte == 0 { "a text" } else { "UTF-8 text" };
    let problem =
        Problem::at(&file, at..end, format!("{} is not {wanted}: byte {at}, on line {line}, is 0x{byte:02X}", quoted(name)))
            .label("here");
    match (bytes, byte) {
        ([0xFF, 0xFE, ..] | [0xFE, 0xFF, ..], _) => problem.help("it looks like UTF-16: save it as UTF-8"),
        _ if bytes[..bytes.len().min(1024)].contains(&0) => {
            problem.help("it does not look like a text at all: is this the file you meant?")
        }
        (_, 0xA0..) => {
            let meant = quoted(&char::from(byte).to_string());
            problem.help(format!("save it as UTF-8 (in the older Latin-1 encoding, this byte is {meant})"))
        }
        _ => problem.help("save it as UTF-8"),
    }
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use super::*;
    use crate::{Problems, render};

    /// The problem of reading `path`, shown with the folder's own name replaced.
    fn shown(folder: &Path, path: &Path) -> String {
        let problem = SourceFile::read(path).expect_err("the file cannot be read");
        render(&Problems::from(problem), false).replace(&folder.display().to_string(), "FOLDER")
    }

    #[test]
    fn lines_and_columns_count_from_one_and_columns_count_characters() {
        let file = SourceFile::from_text("a", "ab\r\nαβγ\n\nx");
        assert_eq!(file.line_column(0), (1, 1));
        assert_eq!(file.line_column(4), (2, 1));
        assert_eq!(file.line_column(8), (2, 3));
        assert_eq!(file.line_column(7), (2, 2), "inside a character stands for its start");
        assert_eq!(file.line_column(11), (3, 1));
        assert_eq!(file.line_column(12), (4, 1));
        assert_eq!(file.line_column(999), (4, 2));
        assert_eq!(file.line_span(0), 0..2);
        assert_eq!(file.line_span(2), 11..11);
        assert_eq!(SourceFile::from_text("empty", "").line_column(5), (1, 1));
    }

    #[test]
    fn a_byte_order_mark_is_left_out() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        fs::write(&path, "\u{feff}a = 1").unwrap();
        assert_eq!(SourceFile::read(&path).unwrap().text(), "a = 1");
    }

    #[test]
    fn a_missing_file_names_its_neighbour_and_a_missing_folder_is_named() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("heron-l.toml"), "").unwrap();
        fs::create_dir(folder.path().join("heron-i.toml")).unwrap();
        assert_snapshot!(shown(folder.path(), &folder.path().join("heron_l.toml")), @r#"
        error: there is no file `FOLDER/heron_l.toml`
         |
         = help: did you mean `FOLDER/heron-l.toml`?
        "#);
        assert_snapshot!(shown(folder.path(), &folder.path().join("parts/forks.toml")), @r#"
        error: there is no file `FOLDER/parts/forks.toml`
         |
         = note: there is no folder `FOLDER/parts` either
        "#);
        assert_snapshot!(shown(folder.path(), folder.path()), @r#"
        error: `FOLDER` is a folder, not a file
         |
         = help: name a file in it
        "#);
    }

    #[test]
    fn text_that_is_not_utf8_is_shown_where_it_goes_wrong() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        fs::write(&path, b"a = 1\nname = \"Caf\xE9 racer\"\n").unwrap();
        assert_snapshot!(shown(folder.path(), &path), @r#"
        error: `FOLDER/a.toml` is not UTF-8 text: byte 17, on line 2, is 0xE9
         --> FOLDER/a.toml:2:12
          |
        2 | name = "Caf� racer"
          |            ^ here
          |
          = help: save it as UTF-8 (in the older Latin-1 encoding, this byte is `é`)
        "#);
        fs::write(&path, b"\xFF\xFEa\0=\0").unwrap();
        assert_snapshot!(shown(folder.path(), &path), @r#"
        error: `FOLDER/a.toml` is not UTF-8 text: byte 0, on line 1, is 0xFF
         --> FOLDER/a.toml:1:1
          |
        1 | ��a␀=␀
          | ^ here
          |
          = help: it looks like UTF-16: save it as UTF-8
        "#);
        fs::write(&path, b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR").unwrap();
        assert_snapshot!(shown(folder.path(), &path), @r#"
        error: `FOLDER/a.toml` is not UTF-8 text: byte 0, on line 1, is 0x89
         --> FOLDER/a.toml:1:1
          |
        1 | �PNG
          | ^ here
          |
          = help: it does not look like a text at all: is this the file you meant?
        "#);
    }

    #[test]
    fn a_file_over_the_limit_is_refused_and_one_at_the_limit_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        let mut text = vec![b'\n'; usize::try_from(LARGEST_FILE_BYTES).unwrap()];
        fs::write(&path, &text).unwrap();
        assert!(SourceFile::read(&path).is_ok());
        text.push(b'#');
        fs::write(&path, &text).unwrap();
        assert_snapshot!(shown(folder.path(), &path), @r#"
        error: `FOLDER/a.toml` is too large: 8 MiB is the most that is read
         |
         = help: split a long catalogue into several files
         = note: files here are texts of some kilobytes; is this the file you meant?
        "#);
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_refused_without_reading_it() {
        assert_snapshot!(shown(Path::new("nowhere"), Path::new("/dev/zero")), @"error: `/dev/zero` is not an ordinary file");
    }
}
