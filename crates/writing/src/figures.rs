//! The numbers of an answer by name, printed as they stand in a sentence.
//!
//! | name | number |
//! |---|---|
//! | `change.head_angle`, `before.…`, `after.…` | a figure, unladen; its change without sign, the sentence says which way |
//! | `change.head_angle.aboard`, … | the same with the rider on the bike |
//! | `now.setup.stem_spacers`, `earlier.…` | a number that is changed, after and before |
//! | `margin.fork.longest` | a margin without sign |
//! | `because.fork.longest.1` | the first number in the sentence of a margin; so for `measure.N`, `extra.SLOT`, `instead.N` |
//! | `cost.all_in`, `cost.parts`, `cost.mass`, `cost.minutes` | the swap with its cheapest extras |
//! | `instead.N.all_in` | the sum of another way |
//! | `checks.made`, `checks.not_made` | how many |

use std::{collections::BTreeMap, ops::Range, sync::LazyLock};

use quantity::{
    Dimension,
    print::{self, Units, money},
};
use regex_lite::Regex;
use stand::answer::{Answer, Change, Pose, Severity};

/// A number as a sentence has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// As printed in a sentence: with the digits its tolerance carries, the tolerance itself left out.
    pub text: String,
    /// With its tolerance, for whoever asks.
    pub in_full: String,
}

/// All numbers of an answer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Figures {
    by_name: BTreeMap<String, Figure>,
}

impl Figures {
    /// Reads them off an answer.
    pub fn of(answer: &Answer, units: Units) -> Self {
        let mut figures = Self::default();
        for change in &answer.changes {
            figures.change(change, units);
        }
        for margin in &answer.margins {
            let dimension = dimension(&margin.dimension);
            let printed = print::value(margin.after.abs(), margin.plus_minus, dimension, units);
            let in_full = print::change(margin.after, margin.plus_minus, dimension, units).to_string();
            figures.put(format!("margin.{}", margin.id), with_unit(&printed.number, printed.unit), in_full);
            figures.sentence(&format!("because.{}", margin.id), &margin.because);
        }
        for adjustment in &answer.adjustments {
            let dimension = dimension(&adjustment.dimension);
            let shown = |value| print::value(value, 0.0, dimension, units).to_string();
            figures.plain(format!("now.{}", adjustment.id), shown(adjustment.after));
            if let Some(before) = adjustment.before {
                figures.plain(format!("earlier.{}", adjustment.id), shown(before));
            }
        }
        for (place, measurement) in answer.measure_first.iter().enumerate() {
            figures.sentence(&format!("measure.{place}"), &measurement.because);
        }
        let currency = answer.cost.currency.as_deref();
        let best = answer.extras.as_ref().and_then(|extras| extras.sets.first());
        if let Some(extras) = &answer.extras {
            figures.sentence("extras.finding", &extras.finding);
        }
        for item in best.iter().flat_map(|set| &set.items) {
            figures.sentence(&format!("extra.{}", item.slot), &item.because);
            if let Some(price) = item.part.as_ref().and_then(|part| part.price) {
                figures.plain(format!("extra.{}.price", item.slot), money(price, currency));
            }
        }
        if let Some(sum) = best.map_or(answer.cost.parts, |set| set.all_in) {
            figures.plain("cost.all_in".to_owned(), money(sum, currency));
        }
        if let Some(sum) = answer.cost.parts {
            figures.plain("cost.parts".to_owned(), money(sum, currency));
        }
        if let Some(set) = best.filter(|set| set.minutes > 0.0) {
            figures.plain("cost.minutes".to_owned(), format!("{:.0}\u{a0}minutes", set.minutes));
        }
        if let Some(mass) = best.map_or(answer.cost.mass_change_kg, |set| set.mass_change_kg) {
            figures.plain("cost.mass".to_owned(), print::value(mass.abs(), 0.0, Dimension::Mass, units).to_string());
        }
        for (place, other) in answer.alternatives.iter().enumerate() {
            figures.sentence(&format!("instead.{place}"), &other.because);
            figures.sentence(&format!("instead.{place}.change"), &other.change);
            if let Some(sum) = other.all_in {
                figures.plain(format!("instead.{place}.all_in"), money(sum, currency));
            }
        }
        let made = answer.margins.iter().filter(|margin| margin.severity != Severity::Felt).count();
        figures.plain("checks.made".to_owned(), made.to_string());
        figures.plain("checks.not_made".to_owned(), answer.not_checked.len().to_string());
        figures
    }

    /// A number by its name.
    pub fn get(&self, name: &str) -> Option<&Figure> {
        self.by_name.get(name)
    }

    /// Names and numbers, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Figure)> {
        self.by_name.iter().map(|(name, figure)| (name.as_str(), figure))
    }

    fn change(&mut self, change: &Change, units: Units) {
        let dimension = dimension(&change.dimension);
        let suffix = if change.pose == Pose::Sagged { ".aboard" } else { "" };
        for (which, value, plus_minus) in
            [("before", change.before, change.before_plus_minus), ("after", change.after, change.after_plus_minus)]
        {
            let printed = print::value(value, plus_minus, dimension, units);
            self.put(format!("{which}.{}{suffix}", change.id), with_unit(&printed.number, printed.unit), printed.to_string());
        }
        let in_full = print::change(change.change, change.plus_minus, dimension, units);
        let text = with_unit(in_full.number.trim_start_matches(['+', '\u{2212}']), in_full.unit);
        self.put(format!("change.{}{suffix}", change.id), text, in_full.to_string());
    }

    /// Numbers of a sentence, in order.
    fn sentence(&mut self, name: &str, sentence: &str) {
        for (place, span) in numbers(sentence).into_iter().enumerate() {
            self.plain(format!("{name}.{}", place + 1), sentence[span].to_owned());
        }
    }

    fn plain(&mut self, name: String, text: String) {
        self.put(name, text.clone(), text);
    }

    fn put(&mut self, name: String, text: String, in_full: String) {
        self.by_name.entry(name).or_insert(Figure { text, in_full });
    }
}

/// A dimension by its word.
pub(crate) fn dimension(word: &str) -> Dimension {
    Dimension::from_word(word).unwrap_or(Dimension::Number)
}

/// A number with its unit, the degree sign close to it.
fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() || unit == "°" { format!("{number}{unit}") } else { format!("{number}\u{a0}{unit}") }
}

/// Where the numbers with a unit stand in a text, tolerance and unit included. A number without a unit ("Tarn 150", "M5") may be a
/// name, and is passed over.
pub(crate) fn numbers(text: &str) -> Vec<Range<usize>> {
    // The units in which `quantity` prints, and the trade's counts.
    static NUMBER: LazyLock<Option<Regex>> = LazyLock::new(|| {
        Regex::new(
            "[+\u{2212}-]?[0-9]+(?:\\.[0-9]+)?(?:[ \u{a0}]±[ \u{a0}][0-9]+(?:\\.[0-9]+)?)?(?:°C?|[ \u{a0}]?%|[ \u{a0}](?:mm|µm|cm|m|in|kg|g|lb|N m|N|kN|bar|psi|min|minutes|h|s|°C|teeth|tooth|links|EUR|USD|GBP|CHF)\\b)",
        )
        .ok()
    });
    let is_word = |at: usize| text[..at].chars().next_back().is_some_and(|before| before.is_alphanumeric() || before == '.');
    let found = NUMBER.as_ref().into_iter().flat_map(|number| number.find_iter(text));
    found.map(|number| number.range()).filter(|span| !is_word(span.start)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_units_are_found_and_names_are_not() {
        let text = "The Tarn 150 is 4\u{a0}mm longer (544 mm against −0.93 ± 0.08°), M5 at 6 N m, 12-speed, 3.5 %, PF30 mm, 2 mmx, 440.00\u{a0}EUR";
        let found: Vec<&str> = numbers(text).into_iter().map(|span| &text[span]).collect();
        assert_eq!(found, ["4\u{a0}mm", "544 mm", "−0.93 ± 0.08°", "6 N m", "3.5 %", "440.00\u{a0}EUR"]);
    }
}
