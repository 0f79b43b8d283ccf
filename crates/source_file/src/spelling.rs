//! Did you mean …? And how a word from somebody's file is quoted in a message.

use strsim::damerau_levenshtein;

/// The longest word that is looked up: the distance of two words takes time with the product of their lengths, and
/// nothing that long is a slip of the pen.
const LONGEST_WORD_CHARS: usize = 80;

/// The longest stretch of somebody's text that a message repeats.
const LONGEST_QUOTE_CHARS: usize = 60;

/// The known word that was probably meant: not farther off than one slip in three letters (and always one). Small and
/// capital letters, and `-`, `_`, `.` and space, count as the same. Of two as near, the first.
///
/// ```
/// let known = ["stack", "reach", "head_angle"];
/// assert_eq!(source_file::closest("Head angel", known.into_iter()), Some("head_angle"));
/// assert_eq!(source_file::closest("wheelbase", known.into_iter()), None);
/// ```
pub fn closest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    if length > LONGEST_WORD_CHARS {
        return None;
    }
    let most_slips = (length / 3).max(1);
    let word = plain(word);
    known
        .filter(|candidate| candidate.len() <= 4 * LONGEST_WORD_CHARS && candidate.chars().count().abs_diff(length) <= most_slips)
        .map(|candidate| (damerau_levenshtein(&word, &plain(candidate)), candidate))
        .filter(|&(slips, candidate)| slips <= most_slips && slips < candidate.chars().count())
        .min_by_key(|&(slips, _)| slips)
        .map(|(_, candidate)| candidate)
}

/// Somebody's text in backticks, as messages quote it: on one line, cut if it is long, control characters written out.
///
/// ```
/// assert_eq!(source_file::quoted("531 mm\n"), "`531 mm\\n`");
/// ```
pub fn quoted(text: &str) -> String {
    let mut shown = String::from("`");
    let mut letters = text.chars();
    for letter in letters.by_ref().take(LONGEST_QUOTE_CHARS) {
        if is_unshowable(letter) {
            shown.extend(letter.escape_default());
        } else {
            shown.push(letter);
        }
    }
    if letters.next().is_some() {
        shown.push('…');
    }
    shown.push('`');
    shown
}

/// Control characters and the marks that turn the direction of writing: they could make a terminal show something
/// other than what stands in the file.
pub(crate) fn is_unshowable(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

fn plain(word: &str) -> String {
    word.chars().flat_map(char::to_lowercase).map(|letter| if matches!(letter, '-' | ' ' | '.') { '_' } else { letter }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_words_are_found_and_far_ones_are_not() {
        let known = ["axle_to_crown", "offset", "travel", "gap", "id"];
        let check = |word: &str, expected: Option<&str>| assert_eq!(closest(word, known.into_iter()), expected, "{word}");
        check("axle_to_crwon", Some("axle_to_crown"));
        check("Axle-to-Crown", Some("axle_to_crown"));
        check("ofset", Some("offset"));
        check("travels", Some("travel"));
        check("gpa", Some("gap"));
        check("Id", Some("id"));
        check("xy", None);
        check("", None);
        check("stack", None);
        check(&"x".repeat(1_000_000), None);
    }

    #[test]
    fn a_quoted_text_cannot_move_the_cursor_or_fill_the_screen() {
        assert_eq!(quoted("a\u{1b}[31m\u{202e}b"), "`a\\u{1b}[31m\\u{202e}b`");
        assert_eq!(quoted(&"ä".repeat(100)).chars().count(), LONGEST_QUOTE_CHARS + 3);
    }
}
