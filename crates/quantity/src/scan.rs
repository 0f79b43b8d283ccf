//! The pieces of a written quantity: numbers, units, marks; and what is wrong with one by itself.

use std::ops::Range;

use crate::problem::QuantityProblem;
use crate::{Dimension, Unit};

/// A mistake in the text, before it is given its context.
pub(crate) struct Fault {
    pub(crate) problem: QuantityProblem,
    pub(crate) span: Range<usize>,
    /// The whole text put right.
    pub(crate) corrected: Option<String>,
}

impl Fault {
    pub(crate) fn new(problem: QuantityProblem, span: Range<usize>) -> Self {
        Self { problem, span, corrected: None }
    }

    pub(crate) fn corrected(self, corrected: impl Into<Option<String>>) -> Self {
        Self { corrected: corrected.into(), ..self }
    }
}

/// A number and the unit behind it.
#[derive(Clone, Debug)]
pub(crate) struct Amount {
    pub(crate) value: f64,
    pub(crate) number_span: Range<usize>,
    pub(crate) unit: Option<Unit>,
    pub(crate) unit_span: Range<usize>,
}

impl Amount {
    /// From the number to the end of its unit.
    pub(crate) fn span(&self) -> Range<usize> {
        self.number_span.start..if self.unit.is_some() { self.unit_span.end } else { self.number_span.end }
    }
}

/// Reads piece after piece from the front of a text.
#[derive(Clone)]
pub(crate) struct Scanner<'t> {
    text: &'t str,
    at: usize,
    expected: Dimension,
}

/// Texts that announce a tolerance.
const PLUS_MINUS: [&str; 5] = ["±", "+/-", "+/−", "+-", "+−"];
/// Characters written for a minus.
const MINUS: [char; 2] = ['-', '−'];
/// Characters written between groups of three digits. An apostrophe is a foot or a minute of arc first.
const GROUP_MARKS: [char; 6] = [' ', '\u{a0}', '\u{2009}', '\u{202f}', '_', '\''];
/// Fractions with a character of their own.
const VULGAR: [(char, f64); 9] = [
    ('½', 0.5),
    ('¼', 0.25),
    ('¾', 0.75),
    ('⅛', 0.125),
    ('⅜', 0.375),
    ('⅝', 0.625),
    ('⅞', 0.875),
    ('⅓', 1.0 / 3.0),
    ('⅔', 2.0 / 3.0),
];

impl<'t> Scanner<'t> {
    pub(crate) fn new(text: &'t str, expected: Dimension) -> Self {
        Self { text, at: 0, expected }
    }

    pub(crate) fn text(&self) -> &'t str {
        self.text
    }

    pub(crate) fn at(&self) -> usize {
        self.at
    }

    pub(crate) fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    pub(crate) fn skip_space(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start().len();
    }

    pub(crate) fn eat(&mut self, mark: &str) -> bool {
        let there = self.rest().starts_with(mark);
        if there {
            self.at += mark.len();
        }
        there
    }

    /// What is left of the text, without the space around it.
    pub(crate) fn left_over(&self) -> Range<usize> {
        let start = self.text.len() - self.rest().trim_start().len();
        start..(self.text.trim_end().len()).max(start)
    }

    /// The text with one piece of it replaced.
    pub(crate) fn with(&self, span: &Range<usize>, replacement: &str) -> String {
        format!("{}{replacement}{}", &self.text[..span.start], &self.text[span.end..]).trim().to_owned()
    }

    /// Takes a ±; gives where it stands.
    pub(crate) fn plus_minus(&mut self) -> Option<Range<usize>> {
        let start = self.at;
        PLUS_MINUS.iter().any(|sign| self.eat(sign)).then_some(start..self.at)
    }

    /// Takes a plus or minus that belongs to a number, with the space behind it; gives whether it is a minus.
    fn sign(&mut self) -> Option<bool> {
        let sign = self.rest().chars().next().filter(|c| *c == '+' || MINUS.contains(c))?;
        self.at += sign.len_utf8();
        self.skip_space();
        Some(sign != '+')
    }

    /// Whether a number with a sign of its own comes next: `+2`, `−1`, but not `+ 2`.
    pub(crate) fn signed_number_next(&self) -> bool {
        let mut characters = self.rest().chars();
        characters.next().is_some_and(|c| c == '+' || MINUS.contains(&c))
            && characters.next().is_some_and(|c| c.is_ascii_digit() || c == '.')
    }

    /// Takes what stands between the two ends of a range, if a number follows.
    pub(crate) fn range_mark(&mut self) -> bool {
        const MARKS: [&str; 8] = ["–", "—", "…", "...", "..", "to ", "-", "−"];
        let before = self.at;
        if MARKS.iter().any(|mark| self.eat(mark)) {
            self.skip_space();
            if self.rest().starts_with(|c: char| c.is_ascii_digit()) {
                return true;
            }
        }
        self.at = before;
        false
    }

    /// A number and its unit, and the space behind.
    pub(crate) fn amount(&mut self) -> Result<Amount, Fault> {
        let start = self.at;
        let value = self.number()?;
        let number_span = start..self.at;
        self.skip_space();
        let (unit, unit_span) = match self.unit()? {
            Some((unit, span)) => (Some(unit), span),
            None => (None, number_span.end..number_span.end),
        };
        self.skip_space();
        Ok(Amount { value, number_span, unit, unit_span })
    }

    /// A finite number: `531`, `-1.5`, `1e3`, `1 1/8`, `⅞`.
    pub(crate) fn number(&mut self) -> Result<f64, Fault> {
        let start = self.at;
        let negative = self.sign().unwrap_or(false);
        let digits_start = self.at;
        let magnitude = self.magnitude(start)?;
        if !magnitude.is_finite() {
            return Err(Fault::new(QuantityProblem::TooLarge, digits_start..self.at));
        }
        Ok(if negative { -magnitude } else { magnitude })
    }

    /// A number without its sign; `start` is where the sign stands.
    fn magnitude(&mut self, start: usize) -> Result<f64, Fault> {
        let digits_start = self.at;
        let mut run = length_while(self.rest(), |c| c.is_ascii_digit() || c == '.');
        // `5..7` is a range of whole numbers.
        if let Some(dots) = self.rest()[..run].find("..") {
            run = dots;
        }
        let plain = &self.rest()[..run];
        if !plain.contains(|c: char| c.is_ascii_digit()) {
            return match self.vulgar() {
                Some(part) => self.fraction(digits_start, part),
                None => Err(self.no_number(start)),
            };
        }
        if let Some(fault) = self.grouped(plain) {
            return Err(fault);
        }
        self.at += run;
        if plain.bytes().all(|b| b.is_ascii_digit())
            && let Some(part) = self.fraction_behind(plain)
        {
            return self.fraction(digits_start, part?);
        }
        let mark = self.rest().chars().next().filter(|c| matches!(c, 'e' | 'E'));
        if mark.is_some() {
            let behind = &self.rest()[1..];
            let sign = behind.chars().next().filter(|c| *c == '+' || MINUS.contains(c)).map_or(0, char::len_utf8);
            let digits = length_while(&behind[sign..], |c| c.is_ascii_digit());
            if digits > 0 {
                self.at += 1 + sign + digits;
            }
        }
        let span = digits_start..self.at;
        let written = self.text[span.clone()].replace('−', "-");
        written.parse().map_err(|_| Fault::new(QuantityProblem::NotANumber { text: written }, span))
    }

    /// Why there is no number here.
    fn no_number(&self, start: usize) -> Fault {
        let rest = self.rest();
        for word in ["nan", "infinity", "inf", "∞"] {
            let there = rest.get(..word.len()).is_some_and(|there| there.eq_ignore_ascii_case(word));
            if there && !rest[word.len()..].starts_with(char::is_alphanumeric) {
                return Fault::new(QuantityProblem::NotFinite, start..self.at + word.len());
            }
        }
        let word = length_while(rest, |c| !c.is_whitespace());
        Fault::new(QuantityProblem::NoNumber, start..self.at + word)
    }

    /// Commas and other marks inside a number that starts with `plain`.
    fn grouped(&self, plain: &str) -> Option<Fault> {
        let rest = self.rest();
        let run = length_while(rest, |c| c.is_ascii_digit() || c == '.' || c == ',');
        let run = rest[..run].trim_end_matches([',', '.']);
        let span = self.at..self.at + run.len();
        let put_right = |number: &str| self.with(&span, number);
        if run.contains(',') {
            let without = run.replace(',', "");
            return Some(match run.split_once(',') {
                // `1.234,5`: points for thousands, a comma for the decimals.
                Some((whole, decimals)) if !decimals.contains([',', '.']) && (!whole.contains('.') || in_threes(whole, '.')) => {
                    let decimal = format!("{}.{decimals}", whole.replace('.', ""));
                    if !whole.contains('.') && in_threes(run, ',') {
                        Fault::new(QuantityProblem::DecimalOrThousands { decimal, whole: without }, span)
                    } else {
                        let corrected = put_right(&decimal);
                        let comma = self.at + whole.len();
                        Fault::new(QuantityProblem::DecimalComma { with_point: decimal }, comma..comma + 1).corrected(corrected)
                    }
                }
                _ if in_threes(run.split('.').next().unwrap_or(run), ',') && run.matches('.').count() < 2 => {
                    let corrected = put_right(&without);
                    Fault::new(QuantityProblem::ThousandsMark { plain: without }, span).corrected(corrected)
                }
                _ => Fault::new(QuantityProblem::NotANumber { text: run.to_owned() }, span),
            });
        }
        if plain.matches('.').count() > 1 {
            let span = self.at..self.at + plain.len();
            if in_threes(plain, '.') {
                let without = plain.replace('.', "");
                let corrected = self.with(&span, &without);
                return Some(Fault::new(QuantityProblem::ThousandsMark { plain: without }, span).corrected(corrected));
            }
            return Some(Fault::new(QuantityProblem::NotANumber { text: plain.to_owned() }, span));
        }
        self.spaced(plain)
    }

    /// Groups of three digits with a space or the like between them: `1 234 567`.
    fn spaced(&self, plain: &str) -> Option<Fault> {
        let rest = self.rest();
        let mark = rest[plain.len()..].chars().next().filter(|c| GROUP_MARKS.contains(c))?;
        if mark == '\'' && matches!(self.expected, Dimension::Length | Dimension::Angle) {
            return None;
        }
        let run = length_while(rest, |c| c.is_ascii_digit() || c == mark);
        let run = rest[..run].trim_end_matches(mark);
        let behind = &rest[run.len()..];
        // `1 1/8` is a fraction, and `1 100/3` not worth a guess.
        if !in_threes(run, mark) || behind.starts_with('/') {
            return None;
        }
        let decimals = behind.strip_prefix('.').map_or(0, |digits| 1 + length_while(digits, |c| c.is_ascii_digit()));
        let span = self.at..self.at + run.len() + decimals;
        let plain = self.text[span.clone()].replace(mark, "");
        let corrected = self.with(&span, &plain);
        Some(Fault::new(QuantityProblem::ThousandsMark { plain }, span).corrected(corrected))
    }

    /// Takes a fraction with a character of its own.
    fn vulgar(&mut self) -> Option<f64> {
        let first = self.rest().chars().next()?;
        let (_, value) = VULGAR.into_iter().find(|(c, _)| *c == first)?;
        self.at += first.len_utf8();
        Some(value)
    }

    /// Takes the fraction behind the whole number `plain`, or of which it is the numerator; gives the number of both.
    fn fraction_behind(&mut self, plain: &str) -> Option<Result<f64, Fault>> {
        let start = self.at - plain.len();
        let whole: f64 = plain.parse().ok()?;
        if let Some(denominator) = self.over() {
            return Some(self.quotient(0.0, whole, denominator, start));
        }
        let before = self.at;
        let _ = self.eat(" ") || self.eat("\u{a0}") || self.eat("-");
        if let Some(part) = self.vulgar() {
            return Some(Ok(whole + part));
        }
        let digits = length_while(self.rest(), |c| c.is_ascii_digit());
        let numerator: Option<f64> = self.rest()[..digits].parse().ok();
        self.at += digits;
        if let Some(numerator) = numerator
            && let Some(denominator) = self.over()
        {
            return Some(self.quotient(whole, numerator, denominator, start));
        }
        self.at = before;
        None
    }

    /// Takes `/8`.
    fn over(&mut self) -> Option<f64> {
        let behind = self.rest().strip_prefix(['/', '⁄'])?;
        let mark = self.rest().len() - behind.len();
        let digits = length_while(behind, |c| c.is_ascii_digit());
        let denominator = behind[..digits].parse().ok()?;
        self.at += mark + digits;
        Some(denominator)
    }

    fn quotient(&self, whole: f64, numerator: f64, denominator: f64, start: usize) -> Result<f64, Fault> {
        if denominator == 0.0 {
            let span = start..self.at;
            return Err(Fault::new(QuantityProblem::NotANumber { text: self.text[span.clone()].to_owned() }, span));
        }
        Ok(whole + numerator / denominator)
    }

    /// A fraction read from `start` on, if fractions are written where we are.
    fn fraction(&self, start: usize, value: f64) -> Result<f64, Fault> {
        if self.expected == Dimension::Length {
            return Ok(value);
        }
        let span = start..self.at;
        let decimal = decimal(value);
        let corrected = self.with(&span, &decimal);
        Err(Fault::new(QuantityProblem::Fraction { decimal }, span).corrected(corrected))
    }

    /// Takes a unit, if one comes next.
    fn unit(&mut self) -> Result<Option<(Unit, Range<usize>)>, Fault> {
        let start = self.at;
        let run = self.rest()[..self.unit_length()].trim_end();
        // A unit may have several words (`N m`, `in lb`): as many are taken as make one.
        let mut ends: Vec<usize> = run
            .char_indices()
            .filter(|(i, c)| c.is_whitespace() && !run[..*i].ends_with(char::is_whitespace))
            .map(|(i, _)| i)
            .collect();
        ends.push(run.len());
        let first = &run[..ends[0]];
        if first.is_empty() || first == "to" {
            return Ok(None);
        }
        let known = |end: usize| self.unit_named(&run[..end]).map(|unit| (unit, start..start + end));
        let expected = |(unit, _): &(Unit, Range<usize>)| unit.dimension() == self.expected;
        // `531 mm;`: the unit is known, what hangs on it is not part of it.
        let bare = first.trim_end_matches([',', ';', ':', '.', '!', '?', ')', ']']);
        let found = ends.iter().rev().filter_map(|&end| known(end)).find(expected).or_else(|| {
            // `40 in lbd` is a slip of `in lb` where a torque is expected, rather than a length with something behind it.
            if known(run.len()).is_none() && ends.len() > 1 && closest_unit(&single_spaced(run), self.expected).is_some() {
                return None;
            }
            ends.iter().rev().find_map(|&end| known(end)).or_else(|| known(bare.len()))
        });
        if let Some((_, span)) = &found {
            self.at = span.end;
            return Ok(found);
        }
        if !bare.contains(char::is_alphabetic) {
            return Ok(None);
        }
        let (unit, closest) = match closest_unit(&single_spaced(run), self.expected) {
            Some(closest) => (run, Some(closest)),
            None => (bare, closest_unit(bare, self.expected)),
        };
        let span = start..start + unit.len();
        let corrected = closest.map(|closest| self.with(&span, closest));
        Err(Fault::new(QuantityProblem::UnknownUnit { unit: single_spaced(unit), closest }, span).corrected(corrected))
    }

    /// The unit of that name; a full stop may abbreviate it (`in.`).
    fn unit_named(&self, name: &str) -> Option<Unit> {
        let name = single_spaced(name);
        Unit::named_for(&name, self.expected).or_else(|| Unit::named_for(name.strip_suffix('.')?, self.expected))
    }

    /// Bytes up to the next number (a digit after a space or directly after a mark such as ° or '), ±, bracket or dash.
    fn unit_length(&self) -> usize {
        let rest = self.rest();
        let mut before = ' ';
        for (i, c) in rest.char_indices() {
            let plus_minus = PLUS_MINUS.iter().any(|sign| rest[i..].starts_with(sign));
            let number = (c.is_ascii_digit() || VULGAR.iter().any(|(v, _)| *v == c)) && !before.is_alphabetic() && before != '^';
            // `in-lb` goes on, `in - 2 in` and `in-2` do not.
            let dash = (MINUS.contains(&c) || matches!(c, '+' | '–' | '—'))
                && !(before.is_alphabetic() && rest[i + c.len_utf8()..].starts_with(char::is_alphabetic));
            if plus_minus || number || dash || c == '(' || c == '…' || rest[i..].starts_with("..") {
                return i;
            }
            before = c;
        }
        rest.len()
    }
}

/// A number with at most six decimals, without trailing zeros; for corrected texts.
pub(crate) fn decimal(value: f64) -> String {
    let text = format!("{value:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn length_while(text: &str, wanted: impl Fn(char) -> bool) -> usize {
    text.find(|c| !wanted(c)).unwrap_or(text.len())
}

fn single_spaced(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a number is written in groups of three, with one to three digits in front that are not zero: `1,234`, but not `0,123`.
fn in_threes(text: &str, mark: char) -> bool {
    let mut groups = text.split(mark);
    let digits = |group: &str| group.bytes().all(|b| b.is_ascii_digit());
    let first = groups.next().is_some_and(|g| (1..=3).contains(&g.len()) && digits(g) && !g.starts_with('0'));
    let mut others = groups.peekable();
    first && others.peek().is_some() && others.all(|g| g.len() == 3 && digits(g))
}

/// A unit of the expected dimension spelled nearly so: at most one letter apart.
fn closest_unit(name: &str, expected: Dimension) -> Option<&'static str> {
    let lower = name.to_lowercase();
    crate::unit::UNITS
        .iter()
        .filter(|unit| unit.dimension() == expected && !unit.symbol().is_empty())
        .flat_map(|unit| unit.spellings().map(move |spelling| (unit.symbol(), spelling)))
        // Every letter is one letter apart from every other.
        .filter(|(_, spelling)| spelling.chars().count() > 1)
        .find(|(_, spelling)| one_letter_apart(&lower, &spelling.to_lowercase()))
        .map(|(symbol, _)| symbol)
}

/// Whether one letter changed, added or left out, or two neighbours swapped, makes `a` into `b`.
fn one_letter_apart(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let same_start = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let same_end = a[same_start..].iter().rev().zip(b[same_start..].iter().rev()).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[same_start..a.len() - same_end], &b[same_start..b.len() - same_end]);
    a.len().max(b.len()) <= 1 || (a.len() == 2 && b.len() == 2 && a[0] == b[1] && a[1] == b[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_of_three() {
        for (text, yes) in [
            ("1,234", true),
            ("12,345,678", true),
            ("1,23", false),
            ("1234,567", false),
            ("0,123", false),
            ("1234", false),
            (",123", false),
            ("1,234,", false),
        ] {
            assert_eq!(in_threes(text, ','), yes, "{text}");
        }
    }

    #[test]
    fn slips_of_the_pen() {
        for (a, b, yes) in [
            ("mmm", "mm", true),
            ("degs", "deg", true),
            ("abr", "bar", true),
            ("bra", "bar", true),
            ("bar", "bar", true),
            ("barr", "bar", true),
            ("rab", "bar", false),
            ("m", "mm", true),
            ("", "mm", false),
        ] {
            assert_eq!(one_letter_apart(a, b), yes, "{a} {b}");
        }
    }

    #[test]
    fn decimals_of_corrections() {
        assert_eq!([decimal(531.5), decimal(-0.0), decimal(2.0), decimal(1.0 / 3.0)], ["531.5", "0", "2", "0.333333"]);
    }
}
