//! The words of a card, each in wordings from long to short: the first that fits is set.

use quantity::{print::Units, words::capital};
use stand::answer::{Answer, Severity, State, Verdict};

use crate::{sections::swap_lines, verdict};

/// The headline: whole; without the verdict's own word before it, which stands above it; without what is in brackets; without what
/// follows a colon or the first sentence.
pub(crate) fn headlines(answer: &Answer) -> Vec<String> {
    let whole = answer.headline.trim();
    let told = whole.strip_prefix(verdict::word(answer.verdict)).and_then(|rest| rest.strip_prefix(". ")).unwrap_or(whole);
    let open = without_brackets(told);
    let first = sentences(&open).into_iter().next().unwrap_or_default();
    let mut wordings = vec![told.to_owned(), open];
    // A colon near the start is followed by what counts.
    wordings.extend(first.rfind(": ").filter(|at| *at > first.len() / 2).map(|at| format!("{}.", &first[..at])));
    wordings.push(first);
    wordings.dedup();
    wordings
}

/// What else it takes, if the verdict speaks of it.
pub(crate) fn takes(answer: &Answer) -> Vec<String> {
    let set = answer.extras.as_ref().and_then(|extras| extras.sets.first());
    let Some(set) = set.filter(|set| answer.verdict == Verdict::FitsWithExtras && !set.items.is_empty()) else {
        return Vec::new();
    };
    let named = |item: &stand::answer::Extra| item.part.as_ref().map_or_else(|| lower(&item.what), |part| part.name.clone());
    let whole: Vec<String> = set.items.iter().map(named).collect();
    let places: Vec<String> =
        set.items.iter().map(|item| if item.part.is_some() { item.label.clone() } else { lower(&item.what) }).collect();
    let mut wordings = vec![whole.join(" · "), places.join(" · ")];
    wordings.extend(shorter_and_shorter(&places));
    wordings.into_iter().map(|words| format!("Takes: {words}")).collect()
}

/// With a small first letter.
fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// What is swapped, on one line.
pub(crate) fn swaps(answer: &Answer, units: Units) -> Vec<String> {
    let lines = swap_lines(answer, units);
    if lines.is_empty() {
        return vec!["nothing: it is as it stands".to_owned()];
    }
    let short = |label: &str| capital(label.split(',').next().unwrap_or_default());
    let joined = |each: &dyn Fn(&(String, String, String)) -> String| lines.iter().map(each).collect::<Vec<_>>().join(" · ");
    let labels: Vec<String> = lines.iter().map(|(label, ..)| short(label)).collect();
    let mut wordings = vec![
        joined(&|(label, before, after)| format!("{}: {before} → {after}", short(label))),
        joined(&|(label, _, after)| format!("{} → {after}", short(label))),
    ];
    if let [(_, before, after)] = lines.as_slice() {
        wordings.insert(1, format!("{before} → {after}"));
        wordings.push(after.clone());
    } else {
        wordings.push(labels.join(" · "));
        wordings.extend(shorter_and_shorter(&labels));
    }
    wordings
}

/// `a · b and 3 more`, `a and 4 more`.
fn shorter_and_shorter(words: &[String]) -> Vec<String> {
    (1..words.len()).rev().map(|kept| format!("{} and {} more", words[..kept].join(" · "), words.len() - kept)).collect()
}

/// The caution that goes with the worst check that can hurt somebody, or else the first of the answer: as many of its sentences as
/// may fit, the most first, and whether that is all there is to say.
pub(crate) fn cautions(answer: &Answer) -> Vec<(String, bool)> {
    let hurting = answer.margins.iter().filter(|m| m.state != State::Clear && m.severity == Severity::Hurts);
    let worst = hurting.into_iter().find_map(|m| m.caution.as_ref());
    let Some(text) = worst.or_else(|| answer.cautions.first().map(|caution| &caution.text)) else { return Vec::new() };
    let sentences = sentences(text);
    let others = answer.cautions.iter().any(|caution| caution.text != *text);
    (1..=sentences.len()).rev().map(|kept| (sentences[..kept].join(" "), kept == sentences.len() && !others)).collect()
}

/// A text's sentences, each with its stop.
fn sentences(text: &str) -> Vec<String> {
    let mut sentences = Vec::new();
    let mut rest = text.trim();
    while let Some(at) = rest.find(". ") {
        sentences.push(rest[..=at].to_owned());
        rest = rest[at + 1..].trim_start();
    }
    if !rest.is_empty() {
        sentences.push(rest.to_owned());
    }
    sentences
}

/// Without what is in brackets.
fn without_brackets(text: &str) -> String {
    let mut depth = 0_usize;
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '(' => depth += 1,
            ')' if depth > 0 => depth -= 1,
            c if depth == 0 => out.push(c),
            _ => {}
        }
    }
    // A bracket that never closes is no bracket.
    if depth > 0 { text.to_owned() } else { out.replace("  ", " ").replace(" .", ".").replace(" ;", ";").replace(" ,", ",") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_and_sentences() {
        assert_eq!(without_brackets("It is longer (544 mm against 540 mm)."), "It is longer.");
        assert_eq!(without_brackets("a ) b ( c"), "a ) b ( c");
        assert_eq!(sentences("One. Two (1.5 mm). Three"), ["One.", "Two (1.5 mm).", "Three"]);
        assert!(sentences("  ").is_empty());
        let words: Vec<String> = ["a", "b", "c"].map(str::to_owned).to_vec();
        assert_eq!(shorter_and_shorter(&words), ["a · b and 1 more", "a and 2 more"]);
    }
}
