//! Writing SVG: every text and attribute escaped, every number short.

use std::fmt::{self, Display, Formatter, Write as _};

/// Escapes a text for XML and HTML, for element content and quoted attributes alike. Characters that XML 1.0 (2.2) does not
/// allow at all are left out.
pub fn escaped(text: &str) -> String {
    let special = |c: char| {
        matches!(c, '&' | '<' | '>' | '"' | '\'' | '\u{fffe}' | '\u{ffff}') || (c < ' ' && !matches!(c, '\t' | '\n' | '\r'))
    };
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(special) {
        let (plain, from) = rest.split_at(at);
        out.push_str(plain);
        let mut chars = from.chars();
        match chars.next() {
            Some('&') => out.push_str("&amp;"),
            Some('<') => out.push_str("&lt;"),
            Some('>') => out.push_str("&gt;"),
            Some('"') => out.push_str("&quot;"),
            Some('\'') => out.push_str("&#39;"),
            _ => {}
        }
        rest = chars.as_str();
    }
    out.push_str(rest);
    out
}

/// A text as one line that can be set: what separates becomes a single space, and what is never seen (control characters, and those
/// that turn the direction of what follows) is left out. No-break spaces stay.
pub(crate) fn plain(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}');
    let spaced: String = text
        .chars()
        .filter(|c| !turns(*c))
        .map(|c| if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') { ' ' } else { c })
        .collect();
    spaced.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// A coordinate: two decimals at most, no trailing zeros. What is not a number would break the file, so it lies at the origin.
pub(crate) fn number(x: f64) -> Number {
    #[expect(clippy::cast_possible_truncation, reason = "rounded, and no drawing is that large")]
    let hundredths = (x * 100.0).round() as i64;
    // A drawing has thousands of them, and whole numbers print in a fifth of the time.
    Number { hundredths }
}

/// A coordinate as it is written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Number {
    hundredths: i64,
}

impl Number {
    fn write_to(self, out: &mut impl fmt::Write) -> fmt::Result {
        let (whole, rest) = (self.hundredths.unsigned_abs() / 100, self.hundredths.unsigned_abs() % 100);
        if self.hundredths < 0 {
            out.write_char('-')?;
        }
        out.write_str(itoa::Buffer::new().format(whole))?;
        if rest > 0 {
            out.write_char('.')?;
            out.write_str(itoa::Buffer::new().format(rest / 10))?;
        }
        if rest % 10 > 0 {
            out.write_str(itoa::Buffer::new().format(rest % 10))?;
        }
        Ok(())
    }
}

impl Display for Number {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        self.write_to(f)
    }
}

/// Points as an open line of a path: `M0 0L1 1`.
fn open_line(d: &mut String, points: &[[f64; 2]]) {
    for (at, p) in points.iter().enumerate() {
        d.push(if at == 0 { 'M' } else { 'L' });
        // Writing into a String cannot fail.
        let _ = number(p[0]).write_to(d);
        d.push(' ');
        let _ = number(p[1]).write_to(d);
    }
}

/// How a text stands on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// SVG elements in the order they are painted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ink {
    out: String,
}

impl Ink {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    pub(crate) fn into_string(self) -> String {
        self.out
    }

    /// Elements already written.
    pub(crate) fn add(&mut self, elements: &str) {
        self.out.push_str(elements);
    }

    fn put(&mut self, arguments: std::fmt::Arguments<'_>) {
        // Writing into a String cannot fail.
        let _ = self.out.write_fmt(arguments);
    }

    pub(crate) fn line(&mut self, class: &str, a: [f64; 2], b: [f64; 2]) {
        self.put(format_args!(
            r#"<path class="{class}" d="M{} {}L{} {}"/>"#,
            number(a[0]),
            number(a[1]),
            number(b[0]),
            number(b[1])
        ));
    }

    pub(crate) fn polyline(&mut self, class: &str, points: &[[f64; 2]]) {
        self.lines(class, &[points]);
    }

    /// Several open lines as one element.
    pub(crate) fn lines(&mut self, class: &str, lines: &[&[[f64; 2]]]) {
        self.put(format_args!(r#"<path class="{class}" d=""#));
        for line in lines {
            open_line(&mut self.out, line);
        }
        self.add("\"/>");
    }

    pub(crate) fn polygon(&mut self, class: &str, points: &[[f64; 2]]) {
        self.put(format_args!(r#"<path class="{class}" d=""#));
        open_line(&mut self.out, points);
        self.add("Z\"/>");
    }

    pub(crate) fn path(&mut self, class: &str, d: &str) {
        self.put(format_args!(r#"<path class="{class}" d="{d}"/>"#));
    }

    pub(crate) fn circle(&mut self, class: &str, centre: [f64; 2], radius: f64) {
        self.put(format_args!(
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            number(centre[0]),
            number(centre[1]),
            number(radius)
        ));
    }

    pub(crate) fn rect(&mut self, class: &str, x: f64, y: f64, width: f64, height: f64) {
        self.put(format_args!(
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            number(x),
            number(y),
            number(width),
            number(height)
        ));
    }

    /// A text with its baseline at `at`.
    pub(crate) fn text(&mut self, class: &str, at: [f64; 2], size: f64, anchor: Anchor, text: &str) {
        self.put(format_args!(
            r#"<text class="{class}" x="{}" y="{}" font-size="{}"{}>{}</text>"#,
            number(at[0]),
            number(at[1]),
            number(size),
            anchored(anchor),
            escaped(text)
        ));
    }

    /// Elements that lead somewhere; the words are for those who do not see them.
    pub(crate) fn link(&mut self, address: &str, words: &str, elements: &str) {
        self.put(format_args!(r#"<a href="{}" aria-label="{}">{elements}</a>"#, escaped(address), escaped(words)));
    }

    /// A text of several runs, each with its class and size, one after the other in whatever typeface it is set.
    pub(crate) fn runs(&mut self, at: [f64; 2], runs: &[(&str, f64, &str)]) {
        self.put(format_args!(r#"<text x="{}" y="{}">"#, number(at[0]), number(at[1])));
        for (class, size, text) in runs {
            self.put(format_args!(r#"<tspan class="{class}" font-size="{}">{}</tspan>"#, number(*size), escaped(text)));
        }
        self.put(format_args!("</text>"));
    }

    /// A text turned to read upwards, its baseline through `at`.
    pub(crate) fn text_upwards(&mut self, class: &str, at: [f64; 2], size: f64, anchor: Anchor, text: &str) {
        let (x, y) = (number(at[0]), number(at[1]));
        self.put(format_args!(
            r#"<text class="{class}" transform="translate({x} {y}) rotate(-90)" font-size="{}"{}>{}</text>"#,
            number(size),
            anchored(anchor),
            escaped(text)
        ));
    }

    /// Elements moved to `at`.
    pub(crate) fn group(&mut self, class: &str, at: [f64; 2], elements: &str) {
        let class = if class.is_empty() { String::new() } else { format!(r#" class="{class}""#) };
        if at == [0.0, 0.0] {
            self.put(format_args!("<g{class}>{elements}</g>"));
        } else {
            self.put(format_args!(r#"<g{class} transform="translate({} {})">{elements}</g>"#, number(at[0]), number(at[1])));
        }
    }
}

fn anchored(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Start => "",
        Anchor::Middle => r#" text-anchor="middle""#,
        Anchor::End => r#" text-anchor="end""#,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(12.0).to_string(), "12");
        assert_eq!(number(12.345).to_string(), "12.35");
        assert_eq!(number(-0.001).to_string(), "0");
        assert_eq!(number(-0.05).to_string(), "-0.05");
        assert_eq!(number(-7.5).to_string(), "-7.5");
        assert_eq!(number(1234.06).to_string(), "1234.06");
        assert_eq!(number(f64::NAN).to_string(), "0");
    }

    #[test]
    fn a_text_to_be_set_is_one_line_without_what_is_not_seen() {
        assert_eq!(plain("a\tb\r\n  c\u{1}\u{202e}d 5\u{a0}mm"), "a b c d 5\u{a0}mm");
        assert_eq!(plain("\u{7f}\u{85}"), "");
    }

    #[test]
    fn texts_are_escaped() {
        assert_eq!(escaped("<b a=\"1\">&'\u{1}"), "&lt;b a=&quot;1&quot;&gt;&amp;&#39;");
    }
}
