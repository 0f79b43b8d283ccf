//! Putting sentences together in CommonMark: words are escaped, numbers are links to their names.

use crate::figures::{Figures, numbers};

/// A paragraph under way.
#[derive(Debug)]
pub(crate) struct Prose<'f> {
    figures: &'f Figures,
    markdown: String,
}

impl<'f> Prose<'f> {
    pub(crate) fn new(figures: &'f Figures) -> Self {
        Self { figures, markdown: String::new() }
    }

    /// Words as they are.
    pub(crate) fn say(&mut self, words: &str) -> &mut Self {
        self.markdown.push_str(&escaped(words));
        self
    }

    /// Words that carry weight.
    pub(crate) fn strongly(&mut self, words: &str) -> &mut Self {
        self.markdown.extend(["**", &escaped(words.trim()), "**"]);
        self
    }

    /// A number by name; nothing if the answer has none of that name.
    pub(crate) fn figure(&mut self, name: &str) -> &mut Self {
        if let Some(figure) = self.figures.get(name) {
            self.link(&figure.text, name);
        }
        self
    }

    /// A sentence of the answer, whose numbers are `NAME.1`, `NAME.2` …
    pub(crate) fn sentence(&mut self, name: &str, sentence: &str) -> &mut Self {
        let mut done = 0;
        for (place, span) in numbers(sentence).into_iter().enumerate() {
            self.say(&sentence[done..span.start]);
            self.link(&sentence[span.clone()], &format!("{name}.{}", place + 1));
            done = span.end;
        }
        self.say(&sentence[done..])
    }

    /// A line of a list.
    pub(crate) fn point(&mut self) -> &mut Self {
        self.markdown.push_str("\n- ");
        self
    }

    pub(crate) fn into_markdown(self) -> String {
        self.markdown.trim().to_owned()
    }

    /// With a last sentence that belongs to the paragraph: after a list, on a line of its own.
    pub(crate) fn into_markdown_with(self, last: &str) -> String {
        let markdown = self.into_markdown();
        match (markdown.is_empty() || last.is_empty(), markdown.contains("\n- ")) {
            (true, _) => format!("{markdown}{last}"),
            (false, true) => format!("{markdown}\n- {last}"),
            (false, false) => format!("{markdown} {last}"),
        }
    }

    fn link(&mut self, text: &str, name: &str) {
        self.markdown.push_str(&link(text, name));
    }
}

/// A number as a link to its name.
pub(crate) fn link(text: &str, name: &str) -> String {
    format!("[{}](#{name})", escaped(text))
}

/// Words whose letters mean nothing to CommonMark, on one line.
pub(crate) fn escaped(words: &str) -> String {
    let mut markdown = String::with_capacity(words.len());
    for letter in words.chars() {
        match letter {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '&' | '#' | '!' | '~' => {
                markdown.push('\\');
                markdown.push(letter);
            }
            letter if letter.is_control() => markdown.push(' '),
            letter => markdown.push(letter),
        }
    }
    markdown
}
