//! A piece of text taken out of a file, which still knows where it stood.

use std::borrow::Cow;
use std::ops::{Deref, Range};

use crate::{Place, Problem, SourceFile};

/// A text from a file: a value in quotes, or a cell of a table. It derefs to the text itself.
#[derive(Clone, Debug)]
pub struct Text<'f> {
    file: &'f SourceFile,
    span: Range<usize>,
    value: Cow<'f, str>,
}

impl<'f> Text<'f> {
    /// A text that was written at `span`, quotes and all.
    pub fn new(file: &'f SourceFile, span: Range<usize>, value: impl Into<Cow<'f, str>>) -> Self {
        Self { file, span, value: value.into() }
    }

    /// The text itself, without quotes and with escapes resolved.
    pub fn as_str(&self) -> &str {
        &self.value
    }

    /// The text itself, as its own string.
    pub fn into_string(self) -> String {
        self.value.into_owned()
    }

    /// The file it stands in.
    pub fn file(&self) -> &'f SourceFile {
        self.file
    }

    /// Bytes it takes up in the file, with its quotes.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Bytes in the file of a part of the text. If escapes stand in the way, the bytes of the whole.
    pub fn part(&self, within: Range<usize>) -> Range<usize> {
        let written = self.file.text().get(self.span.clone()).unwrap_or_default();
        match written.find(self.value.as_ref()) {
            Some(offset) if within.end <= self.value.len() => {
                let start = self.span.start + offset;
                start + within.start..start + within.end
            }
            _ => self.span(),
        }
    }

    /// Where it stands.
    pub fn place(&self) -> Place {
        self.file.place(self.span())
    }

    /// A problem with the whole text.
    pub fn problem(&self, message: impl Into<String>) -> Problem {
        Problem::at(self.file, self.span(), message)
    }

    /// A problem with a part of it: `within` counts bytes of the text itself.
    pub fn problem_within(&self, within: Range<usize>, message: impl Into<String>) -> Problem {
        Problem::at(self.file, self.part(within), message)
    }
}

impl Deref for Text<'_> {
    type Target = str;

    fn deref(&self) -> &str {
        &self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_of_a_text_is_found_in_the_file() {
        let file = SourceFile::from_text("a", r#"a = "531 cm", b = "5\u00331 cm", c = 531 cm"#);
        assert_eq!(Text::new(&file, 4..12, "531 cm").part(4..6), 9..11);
        assert_eq!(Text::new(&file, 18..31, "531 cm").part(4..6), 18..31, "an escape stands in the way");
        assert_eq!(Text::new(&file, 37..43, "531 cm").part(4..6), 41..43);
        assert_eq!(Text::new(&file, 4..12, "531 cm").part(4..60), 4..12, "a part that is not one");
    }
}
