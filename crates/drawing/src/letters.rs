//! How wide a text is, and where its lines break.
//!
//! Widths are the advance widths of the embedded typeface (`DejaVu Sans Condensed`), without kerning: what is laid out with them is
//! set with the same letters in PDF and PNG. A page in a browser is set in the reader's own typeface; [`Face::Screen`] therefore
//! measures with the uncondensed width (the condensed one is 90 % of it), wider than the usual system faces.

use std::sync::LazyLock;

use textwrap::{
    core::Fragment,
    wrap_algorithms::{Penalties, wrap_optimal_fit},
};
use ttf_parser::Face as Font;

/// What a text will be set in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The reader's own typeface, not known here.
    Screen,
    /// The embedded typeface.
    Print,
}

/// Weight of the letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Text.
    Regular,
    /// Headings and what counts.
    Bold,
}

/// Family name of the embedded typeface; its stretch is condensed.
pub const FAMILY: &str = "DejaVu Sans";

/// Width of the uncondensed letters over that of the condensed ones.
const UNCONDENSED: f64 = 1.0 / 0.9;

/// Advance widths of one font, in parts of the type size.
struct Advances {
    /// By Unicode scalar value, for the first plane's start, where nearly all text lives.
    low: Vec<f32>,
    font: Option<Font<'static>>,
    units_per_em: f32,
}

/// Letters below this are kept in a table: Latin, Greek, Cyrillic and the general punctuation.
const TABLED: u32 = 0x2300;

/// Width taken for a letter the typeface does not have: a full em errs on the wide side.
const MISSING_WIDTH: f32 = 1.0;

impl Advances {
    fn of(bytes: &'static [u8]) -> Self {
        // The bytes are part of the program; without them every letter counts as one em.
        let font = Font::parse(bytes, 0).ok();
        let units_per_em = font.as_ref().map_or(1.0, |f| f32::from(f.units_per_em()));
        let mut advances = Self { low: Vec::new(), font, units_per_em };
        advances.low = (0..TABLED).map(|c| char::from_u32(c).map_or(0.0, |c| advances.look_up(c))).collect();
        advances
    }

    fn look_up(&self, letter: char) -> f32 {
        let Some(font) = &self.font else { return MISSING_WIDTH };
        let glyph = font.glyph_index(letter).and_then(|glyph| font.glyph_hor_advance(glyph));
        glyph.map_or(MISSING_WIDTH, |advance| f32::from(advance) / self.units_per_em)
    }

    fn advance(&self, letter: char) -> f64 {
        let tabled = usize::try_from(u32::from(letter)).ok().and_then(|at| self.low.get(at).copied());
        f64::from(tabled.unwrap_or_else(|| self.look_up(letter)))
    }
}

static REGULAR: LazyLock<Advances> = LazyLock::new(|| Advances::of(dejavu::sans_condensed::regular()));
static BOLD: LazyLock<Advances> = LazyLock::new(|| Advances::of(dejavu::sans_condensed::bold()));

/// Width of a text on one line, in the unit of `size`.
pub fn width(text: &str, size: f64, weight: Weight, face: Face) -> f64 {
    let advances = match weight {
        Weight::Regular => &*REGULAR,
        Weight::Bold => &*BOLD,
    };
    let stretch = match face {
        Face::Screen => UNCONDENSED,
        Face::Print => 1.0,
    };
    text.chars().map(|letter| advances.advance(letter)).sum::<f64>() * size * stretch
}

/// A word or a piece of one, with the width of the space after it.
#[derive(Debug)]
struct Piece {
    text: String,
    width: f64,
    space: f64,
}

impl Fragment for Piece {
    fn width(&self) -> f64 {
        self.width
    }

    fn whitespace_width(&self) -> f64 {
        self.space
    }

    fn penalty_width(&self) -> f64 {
        0.0
    }
}

/// What a unit of width over the edge costs; the square of the widest room is far below it.
const OVER_THE_EDGE: usize = 1_000_000_000;

/// Breaks a text into lines of at most `room`, evenly; a word wider than that is broken inside.
pub fn lines(text: &str, room: f64, size: f64, weight: Weight, face: Face) -> Vec<String> {
    let space = width(" ", size, weight, face);
    let mut pieces = Vec::new();
    // Not at no-break spaces: a number stays with its unit.
    for word in text.split([' ', '\n', '\t']).filter(|word| !word.is_empty()) {
        let mut rest = word;
        loop {
            let fits = longest_that_fits(rest, room, size, weight, face);
            let (head, tail) = rest.split_at(fits);
            let last = tail.is_empty();
            pieces.push(Piece {
                text: head.to_owned(),
                width: width(head, size, weight, face),
                space: if last { space } else { 0.0 },
            });
            if last {
                break;
            }
            rest = tail;
        }
    }
    let set = |line: &[Piece]| {
        let mut text = String::new();
        for piece in line {
            text.push_str(&piece.text);
            if piece.space > 0.0 {
                text.push(' ');
            }
        }
        text.trim_end().to_owned()
    };
    let penalties = Penalties { overflow_penalty: OVER_THE_EDGE, ..Penalties::new() };
    match wrap_optimal_fit(&pieces, &[room], &penalties) {
        Ok(lines) => lines.into_iter().map(set).collect(),
        // The widths here are far below what could overflow; if they do, one line is better than none.
        Err(_) => vec![set(&pieces)],
    }
}

/// Bytes of the longest start of `word` that fits, at least one letter.
fn longest_that_fits(word: &str, room: f64, size: f64, weight: Weight, face: Face) -> usize {
    let mut used = 0.0;
    for (at, letter) in word.char_indices() {
        used += width(letter.encode_utf8(&mut [0; 4]), size, weight, face);
        if used > room && at > 0 {
            return at;
        }
    }
    word.len()
}

/// Cuts a text to `room`, with an ellipsis if anything was cut.
pub fn shortened(text: &str, room: f64, size: f64, weight: Weight, face: Face) -> String {
    if width(text, size, weight, face) <= room {
        return text.to_owned();
    }
    let ellipsis = width("…", size, weight, face);
    let fits = longest_that_fits(text, room - ellipsis, size, weight, face);
    format!("{}…", text[..fits].trim_end())
}

/// Cuts a text to `room` behind a word, with an ellipsis if anything was cut; inside a word only if the first is too wide alone.
pub fn cut(text: &str, room: f64, size: f64, weight: Weight, face: Face) -> String {
    let short = shortened(text, room, size, weight, face);
    let Some(kept) = short.strip_suffix('…').filter(|_| short != text) else { return short };
    let inside = text[kept.len()..].starts_with(|c: char| c != ' ') && text.starts_with(kept);
    let words = kept.rfind(' ').filter(|_| inside).map_or(kept, |space| &kept[..space]);
    // No comma or dash before the ellipsis.
    format!("{}…", words.trim_end_matches([' ', ',', ';', ':', '·', '–', '→', '(']))
}

/// A text in few lines: those it takes, or so many with the last one cut.
pub fn few_lines(text: &str, most: usize, room: f64, size: f64, weight: Weight, face: Face) -> Vec<String> {
    let mut all = lines(text, room, size, weight, face);
    if all.len() > most && most > 0 {
        let rest = all.split_off(most - 1).join(" ");
        all.push(cut(&rest, room, size, weight, face));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_ten(text: &str) -> f64 {
        width(text, 10.0, Weight::Regular, Face::Print)
    }

    #[test]
    fn widths_are_those_of_the_typeface() {
        // hhea/hmtx of DejaVuSansCondensed.ttf: digits are 1172 of 2048 units wide.
        assert!((at_ten("0") - 10.0 * 1172.0 / 2048.0).abs() < 1e-4);
        assert!((at_ten("0000") - 4.0 * at_ten("7")).abs() < 1e-6, "figures are tabular");
        assert!(at_ten("W") > at_ten("i"));
        assert!(width("fork", 10.0, Weight::Bold, Face::Print) > at_ten("fork"));
        assert!(width("fork", 10.0, Weight::Regular, Face::Screen) > at_ten("fork"));
    }

    #[test]
    fn lines_hold_what_was_given_and_fit() {
        let text = "Frame is stated for forks up to 540\u{a0}mm; this one is 544\u{a0}mm, so it does not go.";
        let broken = lines(text, 120.0, 8.0, Weight::Regular, Face::Print);
        assert!(broken.len() > 2);
        assert_eq!(broken.join(" "), text);
        for line in &broken {
            assert!(width(line, 8.0, Weight::Regular, Face::Print) <= 120.0, "{line}");
        }
        assert!(broken.iter().any(|l| l.contains("540\u{a0}mm")));
    }

    #[test]
    fn a_word_wider_than_the_line_is_broken() {
        let broken = lines("Donaudampfschifffahrtsgesellschaft", 40.0, 8.0, Weight::Regular, Face::Print);
        assert!(broken.len() > 3);
        assert_eq!(broken.concat(), "Donaudampfschifffahrtsgesellschaft");
        // A short word before one that has to be broken does not push it over the edge.
        for line in lines(&format!("Ship {}", "Donaudampfschiff".repeat(30)), 700.0, 34.0, Weight::Regular, Face::Print) {
            assert!(width(&line, 34.0, Weight::Regular, Face::Print) <= 700.0, "{line}");
        }
        assert!(lines("", 40.0, 8.0, Weight::Regular, Face::Print).concat().is_empty());
    }

    #[test]
    fn shortening_says_that_it_cut() {
        let room = 60.0;
        let short = shortened("a rather long name of a part", room, 8.0, Weight::Regular, Face::Print);
        assert!(short.ends_with('…') && width(&short, 8.0, Weight::Regular, Face::Print) <= room);
        assert_eq!(shortened("short", room, 8.0, Weight::Regular, Face::Print), "short");
    }

    #[test]
    fn cutting_keeps_words_whole() {
        let set = |text, room| cut(text, room, 8.0, Weight::Regular, Face::Print);
        for room in [30.0, 45.0, 60.0, 80.0, 100.0] {
            let short = set("a rather long name, of a part", room);
            assert!(width(&short, 8.0, Weight::Regular, Face::Print) <= room, "{short}");
            let words = short.strip_suffix('…').unwrap();
            assert!("a rather long name, of a part".split([' ', ',']).any(|word| words.ends_with(word)), "{short}");
        }
        assert_eq!(set("short", 60.0), "short");
        assert!(set("Donaudampfschifffahrtsgesellschaft", 60.0).starts_with("Donau"));
        let few = few_lines("one two three four five six seven eight", 2, 45.0, 8.0, Weight::Regular, Face::Print);
        assert!(few.len() == 2 && few[1].ends_with('…'), "{few:?}");
    }
}
