//! Turning what was computed into phrases. The sentences of margins come from the knowledge; here their numbers are filled in.

use bike::{Build, Part};
use knowledge::{AttributeId, Knowledge, MarginRule, NameOf, Of, Output, SlotId, TermOf};
use quantity::{
    Dimension,
    print::{self, Units},
};

use quantity::words::{joined, lower_first};

use crate::{
    answer::{ChartEntry, PartNote, State},
    evaluation::Taken,
    ground::Ground,
    inputs::Owner,
    margins::{self, Lookup},
    report::is_new,
};

/// The rider in a few words.
pub(crate) fn rider(ground: &Ground, build: &Build, units: Units) -> Option<String> {
    let show = |attribute: AttributeId| {
        let q = build.rider.quantity(attribute)?;
        let printed = print::value(q.value(), q.expanded_uncertainty(), q.dimension(), units);
        Some(format!("{}\u{a0}{}", without_zeros(&printed.number), printed.unit))
    };
    let words: Vec<String> = [ground.names.rider_height, ground.names.rider_mass].into_iter().filter_map(show).collect();
    if words.is_empty() { None } else { Some(words.join(", ")) }
}

/// A part in a few words.
pub(crate) fn part_note(knowledge: &Knowledge, part: &Part, units: Units) -> PartNote {
    PartNote { figures: part.figures_in(knowledge, units), ..part_name(part) }
}

/// A part by its name alone.
pub(crate) fn part_name(part: &Part) -> PartNote {
    PartNote {
        id: part.id.clone(),
        name: part.name.clone(),
        figures: String::new(),
        price: part.price,
        mass_kg: part.mass.map(quantity::Quantity::value),
    }
}

/// A part by name, its figures in brackets.
pub(crate) fn described(knowledge: &Knowledge, part: &Part, units: Units) -> String {
    let figures = part.figures_in(knowledge, units);
    if figures.is_empty() { part.name.clone() } else { format!("{} ({figures})", part.name) }
}

/// What a noticed change means.
pub(crate) fn meaning(output: &Output, change: f64) -> Option<String> {
    if change > 0.0 { output.more.clone() } else { output.less.clone() }
}

/// An input for people: `width of the new front tyre`, `head angle of the chart`, `front sag`.
pub(crate) fn input_name(ground: &Ground, owner: Owner, attribute: AttributeId, figure: Option<usize>) -> String {
    let about = ground.knowledge.attribute_of(attribute);
    let of_standard =
        figure.zip(about.what.family()).map(|(place, family)| &ground.knowledge.family_of(family).figures[place].says);
    let says = short_label(of_standard.unwrap_or(&about.says));
    let new = if is_new(owner) { "new " } else { "" };
    match owner {
        Owner::Chart { .. } => format!("{says} of the {new}frame"),
        Owner::Rider { .. } | Owner::Setup { .. } => format!("{new}{says}"),
        Owner::Part { slot, .. } => {
            let about = ground.knowledge.slot_of(slot);
            let slot = lower_first(&about.name);
            let kind = &ground.knowledge.kind_of(about.kind).name;
            // `fork offset of the fork` says it twice.
            let says = says.strip_prefix(&format!("{kind} ")).or_else(|| says.strip_prefix(&format!("{slot} "))).unwrap_or(says);
            format!("{says} of the {new}{slot}")
        }
    }
}

/// A margin's sentence with its numbers.
pub(crate) fn margin(rule: &MarginRule, state: State, taken: &Taken, build: &Build, units: Units) -> String {
    let unsure = rule.unsure.as_deref();
    let template = match state {
        State::Clear => &rule.clear,
        State::Short => &rule.short,
        State::Unsure => unsure.unwrap_or(&rule.clear),
    };
    if let Some((one, other)) = rule.names() {
        let says = |name: &NameOf| {
            margins::name_of(build.part(name.slot).map(std::sync::Arc::as_ref), name).map(|name| name.says()).unwrap_or_default()
        };
        let text = filled(template, |place| match place {
            "room" => Some(says(one)),
            "need" => Some(says(other)),
            _ => None,
        });
        return if state == State::Unsure && unsure.is_none() {
            format!("{text} One of these is a guess: look at it first.")
        } else {
            text
        };
    }
    let pm = taken.plus_minus;
    let show = |value: f64, expanded: f64| print::value(value, expanded, rule.dimension, units);
    // The sentence carries the numbers without their ±, rounded as the ± has it; the ± stands beside the gauge.
    let bare = |value: f64| {
        let printed = show(value, pm);
        let space = if printed.unit.is_empty() || printed.unit == "°" { "" } else { "\u{a0}" };
        format!("{}{space}{}", without_zeros(&printed.number), printed.unit)
    };
    let [room, second, third] = taken.filled;
    let text = filled(template, |place| match place {
        "room" => Some(bare(room)),
        "need" | "least" => Some(bare(second)),
        "most" => Some(bare(third)),
        "margin" => Some(bare(taken.margin.value)),
        "amount" => Some(bare(taken.margin.value.abs())),
        _ => None,
    });
    if state == State::Unsure && unsure.is_none() {
        return format!("{text} That is {}, too close to tell.", show(taken.margin.value, pm));
    }
    text
}

/// A sentence with what belongs into its places, which are written `{so}`; what is no place stays.
fn filled(template: &str, put: impl Fn(&str) -> Option<String>) -> String {
    let mut pieces = template.split('{');
    let mut text = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        match piece.split_once('}').and_then(|(place, rest)| Some((put(place)?, rest))) {
            Some((words, rest)) => text.extend([words.as_str(), rest]),
            None => text.extend(["{", piece]),
        }
    }
    text
}

/// Without zeros that only say how well it is known.
fn without_zeros(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}

/// What a margin lacks on this build, for people; empty if parts it is about are not there at all, or it is not asked of this bike.
pub(crate) fn missing_terms(ground: &Ground, build: &Build, rule: &MarginRule) -> Vec<String> {
    if !margins::asked(rule, &Stated(build)) {
        return Vec::new();
    }
    let mut missing = Vec::new();
    let terms = rule.terms();
    let of_terms = terms.iter().flat_map(|term| [Some(term.of), term.by].into_iter().flatten().map(|of| (of, term.otherwise)));
    let of_terms = of_terms.map(|(of, otherwise)| missing_term(ground, build, &of, otherwise.is_some()));
    let names = rule.names().map(|(one, other)| [one, other]);
    let of_names = names.into_iter().flatten().map(|name| missing_name(ground, build, name));
    for lack in of_terms.chain(of_names).flatten() {
        match lack {
            Missing::Part => return Vec::new(),
            Missing::Number(name) => missing.push(name),
        }
    }
    missing.dedup();
    missing
}

/// A build looked at without its numbers: only for what has to hold.
pub(crate) struct Stated<'b>(pub(crate) &'b Build);

impl Lookup for Stated<'_> {
    fn part(&self, slot: SlotId) -> Option<&bike::Part> {
        self.0.part(slot).map(std::sync::Arc::as_ref)
    }

    fn value(&mut self, _: &TermOf, _: f64) -> Option<f64> {
        None
    }

    fn doubt(&mut self, _: &NameOf, _: f64) {}
}

enum Missing {
    Part,
    Number(String),
}

fn missing_name(ground: &Ground, build: &Build, name: &NameOf) -> Option<Missing> {
    let Some(part) = build.part(name.slot) else { return Some(Missing::Part) };
    let owner = Owner::Part { slot: name.slot, after: false };
    margins::name_of(Some(part), name).is_none().then(|| Missing::Number(input_name(ground, owner, name.attribute, None)))
}

fn missing_term(ground: &Ground, build: &Build, of: &TermOf, may_be_empty: bool) -> Option<Missing> {
    match of {
        TermOf::Part { slot, attribute, of } => {
            let Some(part) = build.part(*slot) else { return (!may_be_empty).then_some(Missing::Part) };
            let assumed = || *of == Of::Value && ground.default_of(Some(*slot), *attribute).is_some();
            let there = margins::of_part(&ground.knowledge, part, *attribute, *of).is_some() || assumed();
            (!there).then(|| Missing::Number(input_name(ground, Owner::Part { slot: *slot, after: false }, *attribute, None)))
        }
        TermOf::Table { attribute } => {
            let stated = [&build.setup, &build.rider, &build.chart].into_iter().any(|v| v.quantity(*attribute).is_some());
            let there = stated || ground.default_of(None, *attribute).is_some() || ground.chart_parameter(*attribute).is_some();
            (!there).then(|| Missing::Number(ground.knowledge.attribute_of(*attribute).says.clone()))
        }
        TermOf::Output { output, .. } => {
            let figure = &ground.knowledge.output_of(*output).id;
            // A figure is missing when its parts are; say the usual reason.
            let needs = match figure.as_str() {
                "effective_seat_angle" | "saddle_to_bar_reach" | "saddle_to_bar_drop" | "front_weight_share" => {
                    ground.names.saddle_height
                }
                "standover" => ground.names.chart_standover,
                _ => return None,
            };
            let stated = build.setup.quantity(needs).is_some() || build.chart.quantity(needs).is_some();
            (!stated).then(|| Missing::Number(ground.knowledge.attribute_of(needs).says.clone()))
        }
        TermOf::Change { .. } | TermOf::Literal(_) => None,
    }
}

/// What the chart is found to be.
pub(crate) fn chart_finding(entries: &[ChartEntry], redundancy: u32, units: Units) -> String {
    let disagreement = |e: &ChartEntry| {
        let dimension = Dimension::from_word(&e.dimension).unwrap_or(Dimension::Length);
        let by = e.disagrees_by.unwrap_or(0.0);
        // The residual is known about as well as the entry is stated.
        let printed = print::value(by.abs(), e.given_plus_minus.unwrap_or(0.0).max(by.abs() / 20.0), dimension, units);
        let space = if printed.unit == "°" { "" } else { "\u{a0}" };
        format!("{}{space}{}", printed.number, printed.unit)
    };
    let wrong: Vec<&ChartEntry> = entries.iter().filter(|e| e.set_aside).collect();
    let suspected: Vec<&ChartEntry> = entries.iter().filter(|e| e.suspected).collect();
    if let Some(first) = wrong.first() {
        let others = if wrong.len() > 1 {
            let names: Vec<String> = wrong[1..].iter().map(|e| e.label.clone()).collect();
            format!(" So do {}.", joined(&names))
        } else {
            String::new()
        };
        return format!(
            "The chart contradicts itself: its {} is {} too {} for the rest ({:.1}\u{a0}σ) and was set aside.{others}",
            short_label(&first.label),
            disagreement(first),
            if first.disagrees_by.unwrap_or(0.0) > 0.0 { "large" } else { "small" },
            first.sigmas.unwrap_or(0.0).abs()
        );
    }
    if suspected.len() > 1 {
        let names: Vec<String> = suspected.iter().map(|e| format!("{} by {}", short_label(&e.label), disagreement(e))).collect();
        return format!(
            "The chart contradicts itself, and its numbers alone cannot say which is wrong: {}. All of these count for less here.",
            names.join(", or ")
        );
    }
    if let Some(only) = suspected.first() {
        return format!(
            "The chart contradicts itself: its {} is {} off, but nothing else fixes the frame, so it counts for less here.",
            short_label(&only.label),
            disagreement(only)
        );
    }
    match redundancy {
        0 => "The chart is just enough: no number of it is checked by another.".to_owned(),
        1 => "The chart agrees with itself; one number more than needed checks it.".to_owned(),
        n => format!("The chart agrees with itself; {n} numbers more than needed check it."),
    }
}

/// A label without its explanation after the comma.
fn short_label(label: &str) -> &str {
    label.split(',').next().unwrap_or(label)
}
