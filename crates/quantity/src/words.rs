//! Words around numbers: counts, lists, first letters.

/// `a`, `a and b`, `a, b and c`.
pub fn joined(phrases: &[String]) -> String {
    joined_with(phrases, "and")
}

/// The same with another word before the last.
pub fn joined_with(phrases: &[String], word: &str) -> String {
    match phrases {
        [] => String::new(),
        [only] => only.clone(),
        [start @ .., last] => format!("{} {word} {last}", start.join(", ")),
    }
}

/// Number words up to twelve; figures beyond.
pub fn count_word(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// With a capital first letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// With a small first letter, unless the word is all capitals.
pub fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(_), Some(second)) if second.is_uppercase() => text.to_owned(),
        (Some(first), _) => first.to_lowercase().chain(letters).collect(),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_counts_and_letters() {
        let phrases = ["a", "b", "c"].map(str::to_owned);
        assert_eq!([0, 1, 2, 3].map(|n| joined(&phrases[..n])), ["", "a", "a and b", "a, b and c"]);
        assert_eq!([0, 12, 13].map(count_word), ["no", "twelve", "13"]);
        assert_eq!(["fork", "", "éa"].map(capital), ["Fork", "", "Éa"]);
        assert_eq!(["The fork", "BB height", ""].map(lower_first), ["the fork", "BB height", ""]);
    }
}
