//! A text as it is said: units as words, numbers as they are spoken, and how long that takes.
//!
//! Pace: people read aloud at 183 words a minute on average (Brysbaert 2019, *Journal of Memory and Language* 109, 104047; from memory:
//! check); who speaks to a camera is slower, so 150 is offered. A number counts as the words it is spoken in.

use std::time::Duration;

use crate::{
    figures::numbers,
    text::{Block, Run, Text},
};

/// Words a minute that are offered, and the bounds of what is asked for.
pub const USUAL_PACE: u32 = 150;
/// Slowest pace.
pub const SLOWEST: u32 = 60;
/// Quickest pace.
pub const QUICKEST: u32 = 300;

/// A text to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Script {
    /// What is said, a breath a paragraph; a line in square brackets is to be done, not said.
    pub lines: Vec<Line>,
    /// Spoken words.
    pub words: usize,
}

/// A line of a script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// To be said.
    Say(String),
    /// To be done: show the drawing.
    Do(String),
}

impl Script {
    /// How long it takes at a pace in words a minute; half a second of breath after each line.
    pub fn takes(&self, pace: u32) -> Duration {
        let pace = pace.clamp(SLOWEST, QUICKEST);
        let said = self.lines.iter().filter(|line| matches!(line, Line::Say(_))).count();
        Duration::from_secs_f64(60.0 * self.words as f64 / f64::from(pace) + 0.5 * said as f64)
    }
}

/// Writes a script of a text.
pub fn script(text: &Text) -> Script {
    let mut lines = Vec::new();
    for block in &text.blocks {
        match block {
            Block::Paragraph(runs) | Block::Heading(runs) | Block::Quotation(runs) => lines.push(Line::Say(said(runs))),
            Block::List { points, .. } => lines.extend(points.iter().map(|point| Line::Say(said(point)))),
            Block::Drawing => lines.push(Line::Do("Show the drawing.".to_owned())),
        }
    }
    let words = lines.iter().map(|line| if let Line::Say(words) = line { count(words) } else { 0 }).sum();
    Script { lines, words }
}

fn said(runs: &[Run]) -> String {
    let words: String = runs.iter().map(|run| run.words.as_str()).collect();
    let mut said = String::with_capacity(words.len());
    let mut done = 0;
    for span in numbers(&words) {
        said.push_str(&spoken_text(&words[done..span.start]));
        said.push_str(&spoken_number(&words[span.clone()]));
        done = span.end;
    }
    said.push_str(&spoken_text(&words[done..]));
    let mut said = said.trim().trim_end_matches(',').to_owned();
    if !said.ends_with(['.', '!', '?', ':', '…']) {
        said.push('.');
    }
    said
}

/// Signs between numbers as words or pauses.
fn spoken_text(text: &str) -> String {
    text.replace(" – ", ", ")
        .replace(" · ", ", ")
        .replace('→', "to")
        .replace('\u{a0}', " ")
        .replace('±', "give or take")
        .replace(" (", ", ")
        .replace(')', ",")
        .replace(",,", ",")
        .replace(",.", ".")
        .replace(",:", ":")
        .replace(",;", ";")
}

/// A unit as it is said, of one and of more.
const UNITS: [(&str, &str, &str); 22] = [
    ("°C", "degree Celsius", "degrees Celsius"),
    ("°", "degree", "degrees"),
    ("%", "per cent", "per cent"),
    ("mm", "millimetre", "millimetres"),
    ("µm", "micrometre", "micrometres"),
    ("cm", "centimetre", "centimetres"),
    ("m", "metre", "metres"),
    ("in", "inch", "inches"),
    ("kg", "kilogram", "kilograms"),
    ("g", "gram", "grams"),
    ("lb", "pound", "pounds"),
    ("N m", "newton metre", "newton metres"),
    ("kN", "kilonewton", "kilonewtons"),
    ("N", "newton", "newtons"),
    ("bar", "bar", "bar"),
    ("psi", "psi", "psi"),
    ("min", "minute", "minutes"),
    ("h", "hour", "hours"),
    ("s", "second", "seconds"),
    ("EUR", "euro", "euros"),
    ("USD", "dollar", "dollars"),
    ("GBP", "pound", "pounds"),
];

/// `−0.93 ± 0.08°` as "minus 0.93 degrees, give or take 0.08".
fn spoken_number(number: &str) -> String {
    let text = number.replace('\u{a0}', " ");
    let end = text.rfind(|letter: char| letter.is_ascii_digit()).map_or(0, |at| at + 1);
    let (figures, unit) = (text[..end].trim(), text[end..].trim());
    let (value, tolerance) = figures.split_once(" ± ").map_or((figures, None), |(value, tolerance)| (value, Some(tolerance)));
    let (sign, value) = match value.chars().next() {
        Some('−' | '-') => ("minus ", value.trim_start_matches(['−', '-'])),
        Some('+') => ("plus ", value.trim_start_matches('+')),
        _ => ("", value),
    };
    let money = ["EUR", "USD", "GBP", "CHF"].contains(&unit);
    // A round sum is said without its cents.
    let value = if money { value.trim_end_matches(".00") } else { value };
    let one = value == "1";
    let unit = UNITS.iter().find(|known| known.0 == unit).map_or(unit, |known| if one { known.1 } else { known.2 });
    let tolerance = tolerance.map(|tolerance| format!(", give or take {tolerance}")).unwrap_or_default();
    format!("{sign}{value} {unit}{tolerance}").trim_end().to_owned()
}

/// Spoken words of a line: a number counts as the words it is spoken in.
fn count(line: &str) -> usize {
    line.split_whitespace()
        .map(|word| if word.chars().any(|letter| letter.is_ascii_digit()) { count_number(word) } else { 1 })
        .sum()
}

/// "0.93" is zero point nine three; "544" is five hundred and forty-four; "150–160" two numbers.
fn count_number(word: &str) -> usize {
    let mut words = 0;
    for part in word.split(|letter: char| !letter.is_ascii_digit() && letter != '.').filter(|part| !part.is_empty()) {
        let (whole, decimals) = part.split_once('.').unwrap_or((part, ""));
        words += whole_number(whole);
        if !decimals.is_empty() {
            words += 1 + decimals.len();
        }
    }
    words.max(1)
}

/// Words of a whole number, "forty-four" being one, and thousands counted as hundreds are.
fn whole_number(digits: &str) -> usize {
    let digits = digits.trim_start_matches('0');
    let length = digits.len();
    match length {
        0..=2 => 1,
        // "five hundred", "five hundred and forty-four".
        3 => {
            if digits.ends_with("00") {
                2
            } else {
                4
            }
        }
        4..=6 => {
            whole_number(&digits[..length - 3])
                + 1
                + if digits[length - 3..] == *"000" { 0 } else { whole_number(&digits[length - 3..]) }
        }
        _ => length,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_said_with_their_units() {
        let text = Text::from_markdown(
            "Head angle is [0.93°](#a) slacker (−0.93 ± 0.08°); 1 mm, 440.00 EUR, 6 N m – 5 % of it.\n\n![](#drawing)\n\n- Tarn 150 (544\u{a0}mm · offset 44\u{a0}mm)",
        );
        let script = script(&text);
        assert_eq!(
            script.lines,
            [
                Line::Say("Head angle is 0.93 degrees slacker, minus 0.93 degrees, give or take 0.08; 1 millimetre, 440 euros, 6 newton metres, 5 per cent of it.".to_owned()),
                Line::Do("Show the drawing.".to_owned()),
                Line::Say("Tarn 150, 544 millimetres, offset 44 millimetres.".to_owned()),
            ]
        );
    }

    #[test]
    fn a_number_takes_as_long_as_its_words() {
        assert_eq!(["0.93", "544", "500", "12", "1141", "12000", "150–160"].map(count_number), [4, 4, 2, 1, 6, 2, 8]);
        let script = Script { lines: vec![Line::Say(String::new())], words: 150 };
        assert_eq!(script.takes(150).as_millis(), 60_500);
        assert_eq!(script.takes(0), script.takes(SLOWEST));
    }
}
