//! A build as a file that reads back equal.
//!
//! Every part is written out where it is fitted, its catalogue id with it, so that the file needs no catalogue: it can be sent to
//! somebody who has none. Every tolerance is written too, so that it reads the same when the usual tolerances have changed.

use std::fmt::Write;

use knowledge::{About, Knowledge};
use quantity::{Origin, Quantity, Spread};

use crate::build::Build;
use crate::kinds;
use crate::part::{Condition, Part};
use crate::value::{Value, Values};

/// Writes a build as TOML. [`crate::read::build_from`] reads it back equal, with an empty catalogue; so for every build that was
/// read, and for what a swap makes of it.
pub fn write_build(build: &Build, knowledge: &Knowledge) -> String {
    let mut text = String::new();
    line(&mut text, "name", &quoted(&build.name));
    if !build.notes.is_empty() {
        let notes: Vec<String> = build.notes.iter().map(|note| quoted(note)).collect();
        line(&mut text, "notes", &format!("[{}]", notes.join(", ")));
    }
    for (heading, about, stated) in [("rider", About::Rider, &build.rider), ("setup", About::Setup, &build.setup)] {
        if let Some(kind) = knowledge.table(about).filter(|_| !stated.is_empty()) {
            values(&mut text, heading, kind, stated, Origin::Measured, knowledge);
        }
    }
    let frame = kinds::frame_slot(knowledge);
    if let Some(part) = frame.and_then(|slot| build.part(slot)) {
        write_part(&mut text, "frame", part, knowledge);
    }
    if let Some(kind) = knowledge.table(About::Chart).filter(|_| !build.chart.is_empty()) {
        values(&mut text, "frame.chart", kind, &build.chart, Origin::MakersSheet, knowledge);
    }
    for (id, slot) in knowledge.slots().filter(|(id, _)| Some(*id) != frame) {
        if let Some(part) = build.part(id) {
            write_part(&mut text, &format!("slots.{}", slot.id), part, knowledge);
        }
    }
    text
}

fn write_part(text: &mut String, heading: &str, part: &Part, knowledge: &Knowledge) {
    let _ = writeln!(text, "\n[{heading}]");
    if let Some(id) = &part.id {
        line(text, "id", &quoted(id));
    }
    line(text, "name", &quoted(&part.name));
    if let Some(maker) = &part.maker {
        line(text, "maker", &quoted(maker));
    }
    if let Some(mass) = part.mass {
        line(text, "mass", &quantity(mass, Origin::MakersSheet));
    }
    if let Some(price) = part.price {
        line(text, "price", &number(price));
    }
    if part.condition != Condition::New {
        line(text, "condition", &quoted(part.condition.word()));
    }
    if let Some(years) = part.age_years {
        line(text, "age", &quoted(&format!("{} years", number(years))));
    }
    attributes(text, part.kind, None, &part.values, Origin::MakersSheet, knowledge);
}

/// A table of attributes, with the tables in it.
fn values(text: &mut String, heading: &str, kind: knowledge::KindId, stated: &Values, origin: Origin, knowledge: &Knowledge) {
    let _ = writeln!(text, "\n[{heading}]");
    attributes(text, kind, None, stated, origin, knowledge);
    let mut groups: Vec<&str> = knowledge.attributes_of(kind).filter_map(|(_, attribute)| attribute.within.as_deref()).collect();
    groups.dedup();
    for group in groups {
        let any = knowledge
            .attributes_of(kind)
            .any(|(id, attribute)| attribute.within.as_deref() == Some(group) && stated.get(id).is_some());
        if any {
            let _ = writeln!(text, "\n[{heading}.{group}]");
            attributes(text, kind, Some(group), stated, origin, knowledge);
        }
    }
}

fn attributes(
    text: &mut String,
    kind: knowledge::KindId,
    group: Option<&str>,
    stated: &Values,
    origin: Origin,
    knowledge: &Knowledge,
) {
    for (id, attribute) in knowledge.attributes_of(kind).filter(|(_, attribute)| attribute.within.as_deref() == group) {
        if let Some(value) = stated.get(id) {
            line(text, &attribute.id, &written(value, origin));
        }
    }
}

fn line(text: &mut String, key: &str, value: &str) {
    let _ = writeln!(text, "{key} = {value}");
}

fn written(value: &Value, origin: Origin) -> String {
    match value {
        Value::Quantity(stated) => quantity(*stated, origin),
        Value::Count(count) => count.to_string(),
        Value::Word(word) => quoted(word),
        Value::Standard(named) => quoted(&format!("{}{}", if named.guess { "~" } else { "" }, named.standard.id)),
        Value::Standards(list) => {
            format!("[{}]", list.iter().map(|standard| quoted(&standard.id)).collect::<Vec<_>>().join(", "))
        }
        Value::Flag(flag) => flag.to_string(),
        Value::Numbers(numbers) => format!("[{}]", numbers.iter().copied().map(number).collect::<Vec<_>>().join(", ")),
    }
}

/// A quantity in its base unit: as a text where that says all, else as a table. `origin` is what its place is taken for.
fn quantity(stated: Quantity, origin: Origin) -> String {
    let (value, unit) = (stated.value(), stated.dimension().base_symbol());
    let with_unit = |plain: f64| format!("{} {unit}", number(plain)).trim_end().to_owned();
    let limits = match stated.spread() {
        Spread::Exact => Some(0.0),
        Spread::Limits(half_width) => Some(half_width),
        Spread::Expanded(_) | Spread::Standard(_) => None,
    };
    let mark = match stated.origin() {
        from if from == origin => Some(""),
        Origin::Guess => Some("~"),
        _ => None,
    };
    if let (Some(half_width), Some(mark)) = (limits, mark) {
        return quoted(&format!("{mark}{} ± {}", number(value), with_unit(half_width)));
    }
    let spread = match stated.spread() {
        Spread::Exact => "plus_minus = 0".to_owned(),
        Spread::Limits(half_width) => format!("plus_minus = {}", quoted(&with_unit(half_width))),
        Spread::Expanded(expanded) => format!("expanded = {}", quoted(&with_unit(expanded))),
        Spread::Standard(u) => format!("standard_deviation = {}", quoted(&with_unit(u))),
    };
    format!("{{ value = {}, from = {}, {spread} }}", quoted(&with_unit(value)), quoted(stated.origin().word()))
}

/// The shortest writing of a number that reads back the same.
fn number(number: f64) -> String {
    // Minus nothing is nothing.
    let number = if number == 0.0 { 0.0 } else { number };
    // Plain digits would fill lines with zeroes.
    let far = number != 0.0 && !(1e-6..1e15).contains(&number.abs());
    if far { format!("{number:e}") } else { number.to_string() }
}

/// A text in quotes, as TOML writes it.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            letter if letter.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(letter));
            }
            letter => quoted.push(letter),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use quantity::Dimension;

    use super::*;

    #[test]
    fn a_quantity_is_written_as_shortly_as_says_it_all() {
        let check = |value: f64, spread: Spread, origin: Origin, expected: &str| {
            let stated = Quantity::new(value, Dimension::Length, spread, origin);
            assert_eq!(quantity(stated, Origin::MakersSheet), expected);
        };
        check(531.0, Spread::Limits(2.0), Origin::MakersSheet, "\"531 ± 2 mm\"");
        check(-0.0, Spread::Exact, Origin::MakersSheet, "\"0 ± 0 mm\"");
        check(530.86, Spread::Limits(15.9), Origin::Guess, "\"~530.86 ± 15.9 mm\"");
        check(
            531.0,
            Spread::Limits(1e-9),
            Origin::Measured,
            "{ value = \"531 mm\", from = \"measured\", plus_minus = \"1e-9 mm\" }",
        );
        check(531.0, Spread::Exact, Origin::Standard, "{ value = \"531 mm\", from = \"standard\", plus_minus = 0 }");
        check(
            531.0,
            Spread::Expanded(1.0),
            Origin::MakersSheet,
            "{ value = \"531 mm\", from = \"maker's sheet\", expanded = \"1 mm\" }",
        );
        check(
            531.0,
            Spread::Standard(0.5),
            Origin::Guess,
            "{ value = \"531 mm\", from = \"guess\", standard_deviation = \"0.5 mm\" }",
        );
    }

    #[test]
    fn texts_are_quoted_so_that_they_cannot_break_out() {
        assert_eq!(quoted("a \"b\" \\ c\nd\u{7}é"), "\"a \\\"b\\\" \\\\ c\\nd\\u0007é\"");
    }
}
