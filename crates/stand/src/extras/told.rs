//! Extras in words.

use bike::{Build, Condition, Part};
use knowledge::SlotId;
use quantity::Quantity;

use quantity::{
    print,
    words::{capital, count_word, joined, joined_with, lower_first},
};

use crate::{
    Telling,
    answer::{Extra, ExtraSet, Extras, PartNote, State},
    evaluation::{Taken, Uncertain, state},
    wording,
};

use super::{
    Case, Offer, Outcome, Swap,
    collision::{Collision, Fact},
    search::{Change, Solution},
    space::Origin,
};

/// Tells what a search for extras gave.
pub(crate) fn tell(case: &Case<'_>, outcome: &Outcome, swap: &Swap, offer: &Offer, telling: Telling<'_>) -> Extras {
    let sets: Vec<ExtraSet> =
        outcome.solutions.iter().map(|solution| set(case, outcome, solution, swap, offer, telling)).collect();
    let weighed = offer.shelf.parts;
    let finding = match (sets.first(), &outcome.collision) {
        (Some(set), _) => finding(set, telling),
        (None, Some(_)) => "Nothing in the catalogue cures that.".to_owned(),
        (None, None) => "The search was given up before it found a set that works.".to_owned(),
    };
    let of_the_catalogue = format!("{weighed} parts of the catalogue were weighed");
    let mut proof = match (outcome.proven, sets.len()) {
        (true, 0) => format!("{of_the_catalogue}: no set of them clears every check."),
        (true, _) => format!("{of_the_catalogue}: no cheaper set clears every check."),
        (false, 0) => format!("{of_the_catalogue}, but there are too many ways to put them together to look at all."),
        (false, _) => format!("{of_the_catalogue}, but not in every combination: a cheaper set may exist."),
    };
    if offer.shelf.without_price > 0 {
        let parts = if offer.shelf.without_price == 1 { "part has" } else { "parts have" };
        proof = format!("{proof} {} {parts} no price and were left out.", offer.shelf.without_price);
    }
    let collision = outcome.collision.as_ref().map(|collision| facts(case, collision, swap, offer, telling)).unwrap_or_default();
    Extras { finding, proof, sets, collision, parts_weighed: u32::try_from(weighed).unwrap_or(u32::MAX) }
}

/// If nothing is needed.
pub(crate) fn nothing_needed(offer: &Offer) -> Extras {
    Extras {
        finding: "Nothing else is needed.".to_owned(),
        proof: "With the swap alone no check comes out short that was not short before.".to_owned(),
        sets: Vec::new(),
        collision: Vec::new(),
        parts_weighed: u32::try_from(offer.shelf.parts).unwrap_or(u32::MAX),
    }
}

fn finding(set: &ExtraSet, telling: Telling<'_>) -> String {
    let what: Vec<String> = set.items.iter().map(|item| lower_first(&item_words(item))).collect();
    let all_in = set.all_in.map(|sum| format!("; {} all in", print::money(sum, telling.currency))).unwrap_or_default();
    let sure = if set.sure { "" } else { " Something about it stays unsure: measure before you buy." };
    format!("{}: {}{all_in}.{sure}", count(set), joined(&what))
}

/// How many things a set takes: `It takes four more parts`.
fn count(set: &ExtraSet) -> String {
    let parts = set.items.iter().filter(|item| item.part.is_some()).count();
    match (parts, set.items.len()) {
        (0, _) => "It takes no further part, only some work".to_owned(),
        (1, 1) => "It takes one more part".to_owned(),
        (n, m) if n == m => format!("It takes {} more parts", count_word(n)),
        (1, _) => "It takes one more part and some work".to_owned(),
        (n, _) => format!("It takes {} more parts and some work", count_word(n)),
    }
}

/// The finding without its items, for a headline.
pub(crate) fn in_short(extras: &Extras) -> String {
    extras.sets.first().map(|set| format!("{}.", count(set))).unwrap_or_default()
}

/// An item in a sentence: `front wheel (Reedling 29 front)`.
fn item_words(item: &Extra) -> String {
    match &item.part {
        Some(part) => format!("{} ({})", item.label, part.name),
        None => item.what.clone(),
    }
}

fn set(case: &Case<'_>, outcome: &Outcome, solution: &Solution, swap: &Swap, offer: &Offer, telling: Telling<'_>) -> ExtraSet {
    let ground = case.space.ground;
    let mut items: Vec<(usize, Extra)> = solution
        .changes
        .iter()
        .map(|&change| {
            let (slot, choice) = (change.0, case.choice(change));
            let about = &ground.knowledge.slots[slot];
            let there = case.space.slots[slot].choices[0].part.as_deref();
            let part = choice.part.as_deref().filter(|_| choice.origin == Origin::Catalogue);
            let what = match choice.origin {
                Origin::Work(work, amount) => work_words(case, work, amount, telling),
                Origin::Off | Origin::There => format!("Take the {} off", lower_first(&about.name)),
                Origin::Catalogue => part.map(|part| part.name.clone()).unwrap_or_default(),
            };
            let extra = Extra {
                slot: about.id.clone(),
                label: about.name.clone(),
                what,
                part: part.map(|part| note(case, part, telling)),
                replaces: there.filter(|_| choice.origin == Origin::Catalogue).map(|part| part.name.clone()),
                condition: part.and_then(condition),
                minutes: choice.minutes,
                because: because(case, solution, change, telling),
            };
            (slot, extra)
        })
        .collect();
    items.sort_by_key(|item| item.0);
    let items: Vec<Extra> = items.into_iter().map(|item| item.1).collect();
    let parts = items.iter().filter_map(|item| item.part.as_ref()?.price).sum();
    let minutes = items.iter().map(|item| item.minutes).sum();
    let extra: f64 = solution.changes.iter().map(|&change| case.choice(change).money as f64 / 100.0).sum();
    let build = case.with(&solution.changes);
    ExtraSet {
        items,
        parts,
        minutes,
        all_in: offer.cost_of(case.space.ground, swap).map(|cost| cost + extra),
        mass_change_kg: mass_change(case, &build),
        sure: !outcome.unsure,
    }
}

/// A part's condition in words, if it is not new.
pub(crate) fn condition(part: &Part) -> Option<String> {
    (part.condition != Condition::New).then(|| match part.age_years {
        Some(years) if years < 1.0 => format!("{}, {:.0} months", part.condition.word(), (years * 12.0).max(1.0)),
        Some(years) if (years - 1.0).abs() < 0.05 => format!("{}, 1 year", part.condition.word()),
        Some(years) => format!("{}, {} years", part.condition.word(), (years * 10.0).round() / 10.0),
        None => part.condition.word().to_owned(),
    })
}

pub(crate) fn note(case: &Case<'_>, part: &Part, telling: Telling<'_>) -> PartNote {
    wording::part_note(&case.space.ground.knowledge, part, telling.units)
}

/// Mass after minus before of all slots that differ; `None` if a mass is not known.
fn mass_change(case: &Case<'_>, build: &Build) -> Option<f64> {
    let mass = |build: &Build, slot| build.part(slot).map_or(Some(0.0), |part| part.mass.map(Quantity::value));
    let before = &case.mounted.build;
    let knowledge = &case.space.ground.knowledge;
    let differs = |slot: SlotId| match (before.part(slot), build.part(slot)) {
        (Some(old), Some(new)) => !std::sync::Arc::ptr_eq(old, new),
        (None, None) => false,
        _ => true,
    };
    knowledge
        .slots()
        .map(|slot| slot.0)
        .filter(|slot| differs(*slot))
        .map(|slot| Some(mass(build, slot)? - mass(before, slot)?))
        .sum()
}

fn work_words(case: &Case<'_>, work: usize, amount: usize, telling: Telling<'_>) -> String {
    let knowledge = &case.space.ground.knowledge;
    let work = &knowledge.works[work];
    if work.by.len() == 1 {
        return work.name.clone();
    }
    let dimension = knowledge.attribute_of(work.attribute).dimension().unwrap_or(quantity::Dimension::Number);
    let by = work.by.get(amount).copied().unwrap_or_default();
    format!("{} by some {}", work.name, quantity::print::value(by.abs(), 0.0, dimension, telling.units))
}

/// What asks for a change: what would be said if it were left out of its set.
fn because(case: &Case<'_>, solution: &Solution, change: Change, telling: Telling<'_>) -> String {
    let others: Vec<Change> = solution.changes.iter().copied().filter(|other| *other != change).collect();
    let build = case.with(&others);
    let chosen: Vec<Option<&Part>> = build.parts.iter().map(|part| part.as_deref()).collect();
    let joints = case.space.rules.of_slot[change.0].iter().copied();
    let mut reasons: Vec<String> = joints
        .filter(|place| case.space.objects(*place, &chosen))
        .filter_map(|place| sentence(case, place, &chosen, &build, telling))
        .collect();
    if reasons.is_empty() {
        let whole = case.ask_whole(&others);
        let rules = &case.space.rules.list;
        let about = whole.iter().map(|place| &case.space.ground.knowledge.margins[rules[*place].rule]);
        reasons = about.map(|rule| format!("Without it “{}” stays short.", rule.name)).collect();
    }
    reasons.dedup();
    reasons.truncate(2);
    reasons.join(" ")
}

/// A joint's sentence as it reads with these parts.
fn sentence(case: &Case<'_>, place: usize, chosen: &[Option<&Part>], build: &Build, telling: Telling<'_>) -> Option<String> {
    let rule = &case.space.ground.knowledge.margins[case.space.rules.list[place].rule];
    let (reading, plus_minus) = case.space.reading(place, chosen)?;
    let now = state(reading.value, plus_minus);
    let taken = Taken {
        rule: case.space.rules.list[place].rule,
        margin: Uncertain { value: reading.value, contributions: Vec::new() },
        plus_minus,
        filled: reading.filled,
    };
    Some(wording::margin(rule, now, &taken, build, telling.units))
}

/// The facts that collide, in an order that tells a story: what stays, then what it runs into.
fn facts(case: &Case<'_>, collision: &Collision, swap: &Swap, offer: &Offer, telling: Telling<'_>) -> Vec<String> {
    let knowledge = &case.space.ground.knowledge;
    let there: Vec<Option<&Part>> = case.space.there();
    let mut open: Vec<usize> = Vec::new();
    let mut told: Vec<String> = Vec::new();
    for fact in &collision.facts {
        match fact {
            Fact::Stays(slot) => {
                let about = &knowledge.slots[*slot];
                let name = there[*slot].map(|part| wording::described(knowledge, part, telling.units)).unwrap_or_default();
                let on_trial = swap.set.iter().any(|set| set.0.index() == *slot);
                let how = if on_trial { "on trial" } else { "stays" };
                told.push(format!("{} ({how}): {name}.", about.name));
            }
            Fact::Rule(rule) => {
                let place = case.space.rules.list.iter().position(|space| space.rule == *rule);
                let scope = place.map(|place| case.space.rules.list[place].scope.clone()).unwrap_or_default();
                open.extend(
                    scope.iter().copied().filter(|slot| !case.space.slots[*slot].fixed && case.space.slots[*slot].is_open()),
                );
                let about = &knowledge.margins[*rule];
                let short = place.filter(|_| !about.is_of_the_whole()).filter(|place| case.space.objects(*place, &there));
                let short = short.and_then(|place| sentence(case, place, &there, case.after, telling));
                let whole = || {
                    let taken = case.taken_there(*rule)?;
                    (taken.state() != State::Clear)
                        .then(|| wording::margin(about, taken.state(), taken, case.after, telling.units))
                };
                told.push(
                    short
                        .or_else(whole)
                        .unwrap_or_else(|| format!("And this has to hold as well: {}.", lower_first(&about.name))),
                );
            }
            Fact::Budget => {
                let budget =
                    case.budget.map_or(0.0, |left| left as f64 / 100.0) + offer.cost_of(case.space.ground, swap).unwrap_or(0.0);
                told.push(format!("No more than {} may be spent, all in.", print::money(budget, telling.currency)));
            }
        }
    }
    open.sort_unstable();
    open.dedup();
    let names: Vec<String> = open.iter().map(|slot| lower_first(&knowledge.slots[*slot].name)).collect();
    told.push(match names.len() {
        0 => "Nothing else on the bike has a say in it.".to_owned(),
        1 => format!("No {} in the catalogue answers to all of this.", names[0]),
        _ => format!("No {} in the catalogue, alone or together, answers to all of this.", joined_with(&names, "or")),
    });
    told.iter().map(|sentence| capital(sentence)).collect()
}
