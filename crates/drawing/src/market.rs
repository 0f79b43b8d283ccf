//! Extras and alternatives as lines of text: the same words on every face.

use quantity::{
    Dimension,
    print::{self, Units, money},
    words::capital,
};
use stand::answer::{Alternative, Extra, ExtraSet, PartNote};

use crate::verdict;

/// A part by name, its figures in brackets.
pub fn described(part: &PartNote) -> String {
    if part.figures.is_empty() { part.name.clone() } else { format!("{} ({})", part.name, part.figures) }
}

/// What a set of extras comes to: `Cheapest: 333.00 EUR all in, 15 min at the bench, −0.2 kg on the bike`.
pub fn set_heading(place: usize, set: &ExtraSet, currency: Option<&str>, units: Units) -> String {
    let mut facts: Vec<String> = Vec::new();
    facts.extend(set.all_in.map(|sum| format!("{} all in", money(sum, currency))));
    facts.push(format!("{:.0}\u{a0}min at the bench", set.minutes));
    facts.extend(set.mass_change_kg.map(|mass| format!("{} on the bike", print::change(mass, 0.0, Dimension::Mass, units))));
    if !set.sure {
        facts.push("something stays unsure".to_owned());
    }
    let which = ["Cheapest", "Second", "Third"].get(place).copied().unwrap_or("Next");
    format!("{which}: {}", facts.join(", "))
}

/// An item of a set, with its price and condition.
pub fn item_words(item: &Extra, currency: Option<&str>) -> String {
    let Some(part) = &item.part else { return item.what.clone() };
    let price = part.price.map(|price| format!(", {}", money(price, currency))).unwrap_or_default();
    let condition = item.condition.as_ref().map(|condition| format!(" ({condition})")).unwrap_or_default();
    format!("{}: {}{price}{condition}", item.label, described(part))
}

/// What an alternative is: `Fork: keep what is there · fits · 0.00 EUR all in`.
pub fn alternative_heading(other: &Alternative, currency: Option<&str>) -> String {
    let what = other.part.as_ref().map_or_else(|| "keep what is there".to_owned(), described);
    let sum = other.all_in.map(|sum| format!(" · {} all in", money(sum, currency))).unwrap_or_default();
    format!("{}: {what} · {}{sum}", other.label, verdict::word(other.verdict).to_lowercase())
}

/// What an alternative does and why it is named.
pub fn alternative_words(other: &Alternative) -> String {
    if other.part.is_none() { other.because.clone() } else { format!("{}. {}", capital(&other.change), other.because) }
}
