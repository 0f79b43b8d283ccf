//! Every rule of the joints comes out clear, short and unsure where it should. The cases are made from the rules themselves, so a new
//! rule is exercised as soon as it is written; one for which no case can be made fails here.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts within the bounds of their attributes")]

use std::{collections::HashMap, path::Path, sync::Arc};

use bike::{Build, Named, Part, Value, read::read_build};
use knowledge::{
    AttributeId, AttributeType, Condition, Family, Figure, FigureType, Knowledge, MarginKind, MarginRule, NameOf, Of, SlotId,
    Standard, Term, TermOf,
};
use quantity::{Dimension, Origin, Quantity, Spread};
use stand::{Stand, Telling, answer::State};

/// A number of the bike that a case may set: an attribute, or a figure of the standard it names.
type Place = (SlotId, AttributeId, Of);

/// A build whose parts hold nothing but what a case puts there; the frame keeps its chart, fork and wheels stand as they did.
struct Case<'s> {
    stand: &'s Stand,
    build: Build,
    numbers: HashMap<(usize, usize), Value>,
}

fn stand() -> Stand {
    Stand::new(Knowledge::embedded().unwrap()).unwrap()
}

fn base(knowledge: &Knowledge) -> Build {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/heron.toml");
    let (mut build, _) = read_build(&demo, knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    // Only what the mechanics need is left on it.
    let keeps = ["frame", "fork"].map(|id| knowledge.slot(id).unwrap().index());
    for (slot, part) in build.parts.iter_mut().enumerate() {
        if !keeps.contains(&slot) {
            *part = None;
        }
    }
    build
}

impl<'s> Case<'s> {
    fn new(stand: &'s Stand, base: &Build) -> Self {
        Self { stand, build: base.clone(), numbers: HashMap::new() }
    }

    fn knowledge(&self) -> &'s Knowledge {
        self.stand.knowledge()
    }

    fn fill(&mut self, slot: SlotId) {
        let kind = self.knowledge().slot_of(slot).kind;
        if self.build.part(slot).is_none() {
            self.build.fit(slot, Arc::new(Part::new(kind, "made for the case")));
        }
    }

    fn set(&mut self, slot: SlotId, attribute: AttributeId, value: Value) {
        self.fill(slot);
        let mut part = Part::clone(self.build.part(slot).unwrap());
        part.values.set(attribute, value.clone());
        // Setting a part must not bring a chart along again.
        part.chart = None;
        self.build.parts[slot.index()] = Some(Arc::new(part));
        self.numbers.insert((slot.index(), attribute.index()), value);
    }

    /// A standard of a family with one figure as wanted, the others as they are if it was set before.
    fn set_figure(&mut self, slot: SlotId, attribute: AttributeId, figure: usize, value: Figure) {
        let family = self.knowledge().attribute_of(attribute).what.family().unwrap();
        let about: &Family = self.knowledge().family_of(family);
        let mut standard = match self.numbers.get(&(slot.index(), attribute.index())) {
            Some(Value::Standard(named)) => (*named.standard).clone(),
            _ => Standard {
                family,
                id: "made-for-the-case".to_owned(),
                name: "made for the case".to_owned(),
                says: "made for the case".to_owned(),
                figures: vec![None; about.figures.len()],
                sources: Vec::new(),
            },
        };
        standard.figures[figure] = Some(value);
        self.set(slot, attribute, Value::Standard(Named { standard: Arc::new(standard), guess: false }));
    }

    /// Puts a number where a term takes it from, with a ± of its own.
    fn put(&mut self, place: Place, value: f64, plus_minus: f64) {
        let (slot, attribute, of) = place;
        let what = self.knowledge().attribute_of(attribute).what;
        let spread = if plus_minus == 0.0 { Spread::Exact } else { Spread::Expanded(plus_minus) };
        match (what, of) {
            (AttributeType::Quantity { dimension, least, most }, Of::Value) => {
                assert!((least..=most).contains(&value), "{value} is out of the bounds of {}", self.name(place));
                self.set(slot, attribute, Value::Quantity(Quantity::new(value, dimension, spread, Origin::Measured)));
            }
            (AttributeType::Count { least, most }, Of::Value) => {
                assert!(
                    (f64::from(least)..=f64::from(most)).contains(&value),
                    "{value} is out of the bounds of {}",
                    self.name(place)
                );
                self.set(slot, attribute, Value::Count(value.round() as u32));
            }
            (AttributeType::Standard { family }, Of::Figure(figure)) => {
                let FigureType::Quantity(dimension) = self.knowledge().family_of(family).figures[figure].what else {
                    panic!("{} is a word", self.name(place))
                };
                let quantity = Quantity::new(value, dimension, spread, Origin::Standard);
                self.set_figure(slot, attribute, figure, Figure::Quantity(quantity));
            }
            (AttributeType::Numbers { least, most }, of) => {
                let mut numbers = match self.numbers.get(&(slot.index(), attribute.index())) {
                    Some(Value::Numbers(numbers)) => numbers.clone(),
                    _ => vec![12.0, 14.0, 40.0],
                };
                match of {
                    Of::Smallest => {
                        numbers[0] = value;
                    }
                    Of::Largest => {
                        let last = numbers.len() - 1;
                        numbers[last] = value;
                    }
                    _ => {
                        numbers = (0..value.round() as usize).map(|n| 11.0 + n as f64).collect();
                    }
                }
                assert!(numbers.iter().all(|number| (least..=most).contains(number)), "{numbers:?} for {}", self.name(place));
                self.set(slot, attribute, Value::Numbers(numbers));
            }
            other => panic!("{other:?}"),
        }
    }

    fn name(&self, (slot, attribute, _): Place) -> String {
        format!("{}.{}", self.knowledge().slot_of(slot).id, self.knowledge().attribute_of(attribute).id)
    }

    /// Makes a condition hold.
    fn hold(&mut self, condition: &Condition) {
        match condition {
            Condition::Filled(slot) => self.fill(*slot),
            Condition::Flag { slot, attribute } => self.set(*slot, *attribute, Value::Flag(true)),
            Condition::Is { name, word } => self.put_name(name, word),
        }
    }

    /// Makes a name say a word.
    fn put_name(&mut self, name: &NameOf, word: &str) {
        match (self.knowledge().attribute_of(name.attribute).what, name.figure) {
            (AttributeType::Word, None) => self.set(name.slot, name.attribute, Value::Word(word.to_owned())),
            (AttributeType::Standard { .. }, Some(figure)) => {
                self.set_figure(name.slot, name.attribute, figure, Figure::Word(word.to_owned()));
            }
            (AttributeType::Standard { family }, None) => {
                let standard = self.knowledge().standard(family, word).unwrap();
                self.set(name.slot, name.attribute, Value::Standard(Named { standard, guess: false }));
            }
            (AttributeType::Standards { family }, None) => {
                let standard = self.knowledge().standard(family, word).unwrap();
                self.set(name.slot, name.attribute, Value::Standards(vec![standard]));
            }
            other => panic!("{other:?}"),
        }
    }

    /// How the rule reads on this bike; nothing if it is not taken.
    fn state(&self, rule: &MarginRule) -> Option<(State, f64, f64, String)> {
        let mounted = self.stand.mount(self.build.clone()).unwrap();
        let answer = mounted.answer(&bike::Swap::default(), Telling::default()).unwrap();
        let margin = answer.margins.iter().find(|margin| margin.id == rule.id)?;
        Some((margin.state, margin.after, margin.plus_minus, margin.because.clone()))
    }
}

/// The places whose numbers a rule's terms take.
fn places(terms: &[&Term]) -> Vec<Place> {
    let of = |of: TermOf| if let TermOf::Part { slot, attribute, of } = of { Some((slot, attribute, of)) } else { None };
    let mut list: Vec<Place> =
        terms.iter().filter_map(|term| of(term.of)).chain(terms.iter().filter_map(|term| of(term.by?))).collect();
    let mut seen = Vec::new();
    list.retain(|place| {
        let new = !seen.contains(place);
        seen.push(*place);
        new
    });
    list
}

/// Least and most that a place may hold.
fn bounds(knowledge: &Knowledge, (_, attribute, of): Place) -> (f64, f64) {
    match (knowledge.attribute_of(attribute).what, of) {
        (_, Of::Count) => (2.0, 14.0),
        (AttributeType::Quantity { least, most, .. } | AttributeType::Numbers { least, most }, _) => (least, most),
        (AttributeType::Count { least, most }, _) => (f64::from(least), f64::from(most)),
        // The smallest and largest of all members, and some beyond.
        (AttributeType::Standard { family }, Of::Figure(figure)) => {
            let family = knowledge.family_of(family);
            let known = family.members.iter().filter_map(|member| member.quantity(figure)).map(Quantity::value);
            let (low, high) =
                known.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
            if low.is_finite() { (low * 0.7, high * 1.3) } else { (1.0, 700.0) }
        }
        other => panic!("{other:?}"),
    }
}

/// What a margin of numbers comes to.
fn taken(case: &Case<'_>, rule: &MarginRule) -> Option<f64> {
    case.state(rule).map(|state| state.1)
}

/// The bike with these numbers in a rule's places.
fn with_numbers<'s>(stand: &'s Stand, base: &Build, rule: &MarginRule, numbers: &[(Place, f64)], plus_minus: f64) -> Case<'s> {
    let mut case = Case::new(stand, base);
    for (place, value) in numbers {
        case.put(*place, *value, plus_minus);
    }
    conditions(&mut case, rule);
    case
}

/// Whether some numbers give a rule a margin as wanted (`up`: clear, else short): places are tried coarsely all together, then, from the
/// best of these, one after the other finely.
fn reaches(stand: &Stand, base: &Build, rule: &MarginRule, up: bool) -> bool {
    let may_be_empty = rule.terms().iter().any(|term| term.otherwise.is_some());
    let all = places(&rule.terms());
    // A term that counts something else for an empty slot is tried with the slot empty too.
    let stated: Vec<&Term> = rule.terms().into_iter().filter(|term| term.otherwise.is_none()).collect();
    reaches_with(stand, base, rule, up, &all) || (may_be_empty && reaches_with(stand, base, rule, up, &places(&stated)))
}

fn reaches_with(stand: &Stand, base: &Build, rule: &MarginRule, up: bool, places: &[Place]) -> bool {
    let knowledge = stand.knowledge();
    let is_wanted = |margin: f64| if up { margin >= 0.0 } else { margin < 0.0 };
    let steps = [0.02, 0.98, 0.5, 0.25, 0.75, 0.35, 0.65, 0.42, 0.58];
    let count = steps.len().pow(u32::try_from(places.len().min(4)).unwrap());
    let mut best: Option<(f64, Vec<(Place, f64)>)> = None;
    for number in 0..count {
        let mut rest = number;
        let numbers: Vec<(Place, f64)> = places
            .iter()
            .map(|place| {
                let (least, most) = bounds(knowledge, *place);
                let value = least + steps[rest % steps.len()] * (most - least);
                rest /= steps.len();
                (*place, if matches!(place.2, Of::Figure(_)) { value } else { value.round() })
            })
            .collect();
        let Some(margin) = taken(&with_numbers(stand, base, rule, &numbers, 0.0), rule) else { continue };
        if is_wanted(margin) {
            return true;
        }
        if best.as_ref().is_none_or(|(best, _)| (margin > *best) == up) {
            best = Some((margin, numbers));
        }
    }
    let Some((_, numbers)) = best else { return false };
    (0..places.len()).any(|place| {
        let (least, most) = bounds(knowledge, places[place]);
        (0..=2_000).any(|step| {
            let mut numbers = numbers.clone();
            numbers[place].1 = least + f64::from(step) / 2_000.0 * (most - least);
            taken(&with_numbers(stand, base, rule, &numbers, 0.0), rule).is_some_and(is_wanted)
        })
    })
}

fn conditions(case: &mut Case<'_>, rule: &MarginRule) {
    for condition in &rule.when {
        case.hold(condition);
    }
}

/// A rule of numbers made unsure: its numbers so that the margin is near zero, known badly.
fn unsure_of_numbers(stand: &Stand, base: &Build, rule: &MarginRule) -> Result<(), String> {
    let knowledge = stand.knowledge();
    let places = places(&rule.terms());
    let quantities: Vec<Place> = places
        .iter()
        .copied()
        .filter(|(_, attribute, of)| match (knowledge.attribute_of(*attribute).what, of) {
            (AttributeType::Quantity { .. }, _) => true,
            (AttributeType::Standard { family }, Of::Figure(figure)) => {
                knowledge.family_of(family).figures[*figure].what != FigureType::Quantity(Dimension::Number)
            }
            _ => false,
        })
        .collect();
    // Teeth and speeds are counted, not measured: a rule of counts alone is never unsure.
    if quantities.is_empty() {
        return Ok(());
    }
    // A clear and a short case differ in one place or more; between them, with a ± as wide as the bounds, it is unsure.
    for wide in [0.02, 0.1, 0.4] {
        let found = with_unsure(stand, base, rule, &places, &quantities, wide);
        if found {
            return Ok(());
        }
    }
    Err("is never unsure".to_owned())
}

fn with_unsure(stand: &Stand, base: &Build, rule: &MarginRule, places: &[Place], quantities: &[Place], wide: f64) -> bool {
    let knowledge = stand.knowledge();
    let steps = [0.5, 0.3, 0.7, 0.1, 0.9, 0.42, 0.58];
    let count = steps.len().pow(u32::try_from(places.len().min(4)).unwrap());
    for number in 0..count {
        let mut case = Case::new(stand, base);
        let mut rest = number;
        for place in places {
            let (least, most) = bounds(knowledge, *place);
            let value = least + steps[rest % steps.len()] * (most - least);
            rest /= steps.len();
            let plus_minus = if quantities.contains(place) { wide * (most - least) } else { 0.0 };
            case.put(*place, if matches!(place.2, Of::Figure(_)) { value } else { value.round() }, plus_minus);
        }
        conditions(&mut case, rule);
        if case.state(rule).is_some_and(|state| state.0 == State::Unsure) {
            return true;
        }
    }
    false
}

/// Two names a rule of names may compare: the same, and two that differ.
fn names(stand: &Stand, one: &NameOf) -> (String, String) {
    let knowledge = stand.knowledge();
    match knowledge.attribute_of(one.attribute).what {
        AttributeType::Standard { family } if one.figure.is_none() => {
            let members = &knowledge.family_of(family).members;
            (members[0].id.clone(), members[1].id.clone())
        }
        _ => ("IS".to_owned(), "EC".to_owned()),
    }
}

fn check_names(stand: &Stand, base: &Build, rule: &MarginRule, (one, other): (&NameOf, &NameOf)) -> Result<(), String> {
    let (first, second) = names(stand, one);
    // A condition may ask for a word of the names that are compared.
    let asked = rule.when.iter().find_map(|condition| match condition {
        Condition::Is { name, word } if name == one || name == other => Some(word.clone()),
        _ => None,
    });
    let first = asked.unwrap_or(first);
    let second = if second == first { "something else".to_owned() } else { second };
    for (left, right, wanted) in [(&first, &first, State::Clear), (&first, &second, State::Short)] {
        let mut case = Case::new(stand, base);
        case.put_name(other, right);
        case.put_name(one, left);
        conditions(&mut case, rule);
        match case.state(rule) {
            Some((state, ..)) if state == wanted => {}
            found => return Err(format!("{left} and {right}: {found:?}, expected {wanted:?}")),
        }
    }
    // A name that is only a guess is unsure either way. Words are never guessed.
    let family = stand.knowledge().attribute_of(one.attribute).what.family();
    if let (Some(_), false) = (family, matches!(stand.knowledge().attribute_of(one.attribute).what, AttributeType::Word)) {
        for right in [&first, &second] {
            let mut case = Case::new(stand, base);
            case.put_name(other, right);
            case.put_name(one, &first);
            conditions(&mut case, rule);
            let part = case.build.part(one.slot).unwrap();
            let named = part.values.standard(one.attribute).unwrap().clone();
            case.set(one.slot, one.attribute, Value::Standard(Named { guess: true, ..named }));
            match case.state(rule) {
                Some((State::Unsure, ..)) => {}
                found => return Err(format!("a guess of {first} against {right}: {found:?}, expected unsure")),
            }
        }
    }
    Ok(())
}

#[test]
fn every_joint_comes_out_clear_short_and_unsure() {
    let stand = stand();
    let base = base(stand.knowledge());
    let joints: Vec<&MarginRule> = stand.knowledge().margins.iter().filter(|rule| !rule.is_of_the_whole()).collect();
    assert!(joints.len() >= 120, "{}", joints.len());
    let mut wrong = Vec::new();
    for rule in joints {
        if let Some(names) = rule.names() {
            if let Err(why) = check_names(&stand, &base, rule, names) {
                wrong.push(format!("{}: {why}", rule.id));
            }
            continue;
        }
        for (word, up) in [("clear", true), ("short", false)] {
            if !reaches(&stand, &base, rule, up) {
                wrong.push(format!("{} is never {word}", rule.id));
            }
        }
        if !matches!(rule.kind, MarginKind::Multiple { .. })
            && let Err(why) = unsure_of_numbers(&stand, &base, rule)
        {
            wrong.push(format!("{}: {why}", rule.id));
        }
    }
    assert!(wrong.is_empty(), "{} joints:\n{}", wrong.len(), wrong.join("\n"));
}
