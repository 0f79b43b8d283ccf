//! Parts of a catalogue tried one by one in the same place: every one of them (`fits`), or the few worth naming beside the one that
//! was asked about (alternatives).

use std::{cmp::Ordering, sync::Arc};

use bike::{Catalogue, Part, Swap};
use knowledge::{Severity as Known, SlotId};
use quantity::{print, words::lower_first};
use rayon::prelude::*;

use crate::{
    Mounted, Telling,
    answer::{Alternative, FITS_FORMAT, FitExtras, FitRow, Fits, State, Verdict, Worst},
    consequence::{self, Consequence},
    evaluation::{Evaluation, Taken},
    extras::{self, Case, Limits, Offer, Settled, Used},
    problem::StandProblem,
    report::severity,
    verdict, wording,
};

/// Nodes after which the search for one candidate's extras is given up; a list is for choosing, `try` looks further.
const MOST_NODES_EACH: usize = 20_000;

/// A candidate tried.
struct Tried {
    part: Arc<Part>,
    verdict: Verdict,
    worst: Option<Worst>,
    extras: Option<FitExtras>,
    all_in: Option<f64>,
    consequence: Consequence,
}

impl Tried {
    /// As a row of a list.
    fn into_row(self, mounted: &Mounted, telling: Telling<'_>) -> FitRow {
        FitRow {
            part: wording::part_note(&mounted.ground.knowledge, &self.part, telling.units),
            condition: extras::condition(&self.part),
            verdict: self.verdict,
            worst: self.worst,
            extras: self.extras,
            all_in: self.all_in,
            change: self.consequence.words,
        }
    }
}

/// Parts tried in one slot, with the rest of a swap.
struct Trials<'t> {
    mounted: &'t Mounted,
    rest: &'t Swap,
    slot: SlotId,
    offer: &'t Offer,
    limits: &'t Limits,
    telling: Telling<'t>,
    settled: Settled,
}

impl<'t> Trials<'t> {
    fn new(
        mounted: &'t Mounted,
        rest: &'t Swap,
        slot: SlotId,
        offer: &'t Offer,
        limits: &'t Limits,
        telling: Telling<'t>,
    ) -> Self {
        let others = rest.set.iter().map(|set| set.0).chain(rest.unset.iter().copied());
        let swapped = others.chain([slot]).map(SlotId::index).collect();
        let settled = Settled::new(swapped, mounted.ground.knowledge.slots.len());
        Self { mounted, rest, slot, offer, limits, telling, settled }
    }

    /// Tries a part.
    fn try_part(&self, part: &Arc<Part>) -> Tried {
        let Self { mounted, rest, slot, offer, limits, telling, ref settled } = *self;
        let ground = &mounted.ground;
        let mut swap = rest.clone();
        swap.set.retain(|set| set.0 != slot);
        swap.set.push((slot, Arc::clone(part)));
        let after = mounted.build.with(&swap, &ground.knowledge);
        let own = offer.cost_of(ground, &swap);
        let evaluation = match mounted.evaluate_build(&after, |_| true) {
            Ok(evaluation) => evaluation,
            Err(problem) => {
                let because = format!("The bicycle cannot stand like that: {problem}.");
                let worst = Worst {
                    id: "stands".to_owned(),
                    label: "Stands on its wheels".to_owned(),
                    dimension: "number".to_owned(),
                    margin: -1.0,
                    plus_minus: 0.0,
                    state: State::Short,
                    severity: crate::answer::Severity::DoesNotGo,
                    because,
                };
                let consequence = Consequence { times_noticed: f64::INFINITY, words: "the bicycle cannot stand".to_owned() };
                return Tried {
                    part: Arc::clone(part),
                    verdict: Verdict::DoesNotFit,
                    worst: Some(worst),
                    extras: None,
                    all_in: own,
                    consequence,
                };
            }
        };
        let mut verdict = verdict::of(&ground.knowledge, &evaluation.margins_after);
        let mut extras = None;
        if extras::is_needed(mounted, &evaluation) && !offer.is_hopeless(mounted, &swap, &evaluation) {
            let fixed = offer.fixed_by(mounted, &swap, &after);
            let mut case = Case::new(mounted, &swap, &after, &evaluation, offer, &fixed, limits).settled_by(settled);
            if let Some(solution) = case.best(MOST_NODES_EACH) {
                let choices = solution.changes.iter().map(|change| case.choice(*change));
                let (price, minutes) =
                    choices.fold((0.0, 0.0), |sum, choice| (sum.0 + choice.money as f64 / 100.0, sum.1 + choice.minutes));
                let mut slots: Vec<usize> = solution.changes.iter().map(|change| change.0).collect();
                slots.sort_unstable();
                let slots = slots.iter().map(|slot| ground.knowledge.slots[*slot].id.clone()).collect();
                // Where nothing was wrong before, nothing is tolerated after.
                let was_clean = verdict::of(&ground.knowledge, &evaluation.before.margins) == Verdict::Fits;
                let with_extras = || with_extras(mounted, &case.with(&solution.changes)).unwrap_or(verdict);
                verdict = if was_clean { Verdict::FitsWithExtras } else { with_extras() };
                extras = Some(FitExtras { slots, price, minutes });
            }
        }
        let worst = worst(mounted, &evaluation, &after, telling);
        let all_in = own.map(|own| own + extras.as_ref().map_or(0.0, |extras| extras.price));
        Tried {
            part: Arc::clone(part),
            verdict,
            worst,
            extras,
            all_in,
            consequence: consequence::of(ground, &evaluation, telling),
        }
    }

    /// Tries all parts of a catalogue that may go there; the best first.
    fn try_all(&self, catalogue: &Catalogue) -> Vec<Tried> {
        let kind = self.mounted.ground.knowledge.slot_of(self.slot).kind;
        let is_wanted = |part: &&Arc<Part>| self.limits.used == Used::Allowed || part.condition == bike::Condition::New;
        let parts: Vec<&Arc<Part>> = catalogue.of_kind(kind).filter(is_wanted).collect();
        let mut tried: Vec<Tried> = parts.into_par_iter().map(|part| self.try_part(part)).collect();
        tried.par_sort_by(|a, b| {
            order(a.verdict)
                .cmp(&order(b.verdict))
                .then_with(|| by_money(a.all_in, b.all_in))
                .then_with(|| a.consequence.times_noticed.total_cmp(&b.consequence.times_noticed))
                .then_with(|| a.part.name.cmp(&b.part.name))
        });
        tried
    }
}

/// How a bike reads once its extras are on.
pub(crate) fn with_extras(mounted: &Mounted, build: &bike::Build) -> Option<Verdict> {
    let evaluation = mounted.evaluate_build(build, |_| true).ok()?;
    Some(match verdict::of(&mounted.ground.knowledge, &evaluation.margins_after) {
        Verdict::Fits | Verdict::MeasureFirst => Verdict::FitsWithExtras,
        other => other,
    })
}

/// The worst margin that is not clear.
fn worst(mounted: &Mounted, evaluation: &Evaluation, build: &bike::Build, telling: Telling<'_>) -> Option<Worst> {
    let rules = &mounted.ground.knowledge.margins;
    let counts = |taken: &&Taken| rules[taken.rule].severity != Known::Felt && taken.state() != State::Clear;
    let rank =
        |taken: &Taken| verdict::rank(taken.state(), severity(rules[taken.rule].severity), taken.margin.value, taken.plus_minus);
    let taken = evaluation.margins_after.iter().filter(counts).min_by(|a, b| rank(a).total_cmp(&rank(b)))?;
    let rule = &rules[taken.rule];
    Some(Worst {
        id: rule.id.clone(),
        label: rule.name.clone(),
        dimension: rule.dimension.word().to_owned(),
        margin: taken.margin.value,
        plus_minus: taken.plus_minus,
        state: taken.state(),
        severity: severity(rule.severity),
        because: wording::margin(rule, taken.state(), taken, build, telling.units),
    })
}

/// The order of a verdict in a list: the best first.
fn order(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Fits => 0,
        Verdict::FitsWithExtras => 1,
        Verdict::MeasureFirst => 2,
        Verdict::WorksBadly => 3,
        Verdict::DoesNotFit => 4,
        Verdict::Unsafe => 5,
    }
}

fn by_money(a: Option<f64>, b: Option<f64>) -> Ordering {
    a.unwrap_or(f64::INFINITY).total_cmp(&b.unwrap_or(f64::INFINITY))
}

/// Every part of the catalogue for a slot, tried on the bike; the best first.
pub(crate) fn fits(
    mounted: &Mounted,
    slot: SlotId,
    catalogue: &Catalogue,
    limits: &Limits,
    telling: Telling<'_>,
) -> Result<Fits, StandProblem> {
    let knowledge = &mounted.ground.knowledge;
    let offer = Offer::new(mounted, catalogue, limits)?;
    let rest = Swap::default();
    let tried = Trials::new(mounted, &rest, slot, &offer, limits, telling).try_all(catalogue);
    let about = knowledge.slot_of(slot);
    let note = |part: &Part| wording::part_note(knowledge, part, telling.units);
    let rows = tried.into_par_iter().map(|tried| tried.into_row(mounted, telling));
    Ok(Fits {
        format: FITS_FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        bike: mounted.build.name.clone(),
        slot: about.id.clone(),
        label: about.name.clone(),
        on_the_bike: mounted.build.part(slot).map(|part| note(part)),
        currency: telling.currency.map(str::to_owned),
        rows: rows.collect(),
    })
}

/// Alternatives named beside the one proposed, at most: cheaper ones, and ones that change less.
const MOST_CHEAPER: usize = 2;
const MOST_CALMER: usize = 1;
/// What changes less than this share of the proposed part's change is worth naming.
const CALMER: f64 = 0.7;

/// What else could be done about each part of a swap: keep what is there, or other parts of the catalogue.
pub(crate) fn alternatives(
    mounted: &Mounted,
    swap: &Swap,
    catalogue: &Catalogue,
    offer: &Offer,
    limits: &Limits,
    telling: Telling<'_>,
) -> Vec<Alternative> {
    swap.set.iter().flat_map(|(slot, part)| of_slot(mounted, swap, (*slot, part), catalogue, offer, limits, telling)).collect()
}

fn of_slot(
    mounted: &Mounted,
    swap: &Swap,
    (slot, proposed): (SlotId, &Arc<Part>),
    catalogue: &Catalogue,
    offer: &Offer,
    limits: &Limits,
    telling: Telling<'_>,
) -> Vec<Alternative> {
    let knowledge = &mounted.ground.knowledge;
    let about = knowledge.slot_of(slot);
    let there = mounted.build.part(slot);
    let mut list = vec![keep(mounted, swap, slot, offer, telling)];
    let trials = Trials::new(mounted, swap, slot, offer, limits, telling);
    let own = trials.try_part(proposed);
    let acceptable = |tried: &&Tried| {
        order(tried.verdict) <= order(Verdict::MeasureFirst)
            && tried.part != *proposed
            && there.is_none_or(|there| tried.part != *there && (there.id.is_none() || tried.part.id != there.id))
            && extras::is_alike(&mounted.ground, &tried.part, proposed)
            // What nobody can buy is no alternative.
            && tried.all_in.is_some()
    };
    let all = trials.try_all(catalogue);
    let proposed_goes = order(own.verdict) <= order(Verdict::MeasureFirst);
    let is_cheaper = |tried: &&Tried| !proposed_goes || by_money(tried.all_in, own.all_in) == Ordering::Less;
    let mut cheaper: Vec<&Tried> = all.iter().filter(acceptable).filter(is_cheaper).collect();
    cheaper.sort_by(|a, b| by_money(a.all_in, b.all_in));
    cheaper.truncate(MOST_CHEAPER);
    let is_calmer = |tried: &&Tried| tried.consequence.times_noticed < CALMER * own.consequence.times_noticed;
    let is_listed = |tried: &&Tried| cheaper.iter().any(|other| Arc::ptr_eq(&other.part, &tried.part));
    let mut calmer: Vec<&Tried> = all.iter().filter(acceptable).filter(is_calmer).filter(|tried| !is_listed(tried)).collect();
    calmer.sort_by(|a, b| {
        a.consequence.times_noticed.total_cmp(&b.consequence.times_noticed).then_with(|| by_money(a.all_in, b.all_in))
    });
    calmer.truncate(MOST_CALMER);
    for (tried, calmer) in cheaper.iter().map(|tried| (tried, false)).chain(calmer.iter().map(|tried| (tried, true))) {
        let saves = own.all_in.zip(tried.all_in).map(|(own, other)| own - other).filter(|saves| *saves > 0.0);
        let mut because = match (calmer, saves) {
            (true, Some(saves)) => format!("Changes less, and costs {} less.", print::money(saves, telling.currency)),
            (true, None) => "Changes less.".to_owned(),
            (false, Some(saves)) => format!("Costs {} less, all in.", print::money(saves, telling.currency)),
            // The one proposed is one that nobody sells.
            (false, None) if proposed_goes => "Can be bought.".to_owned(),
            (false, None) => "Goes on where the one proposed does not.".to_owned(),
        };
        if let Some(condition) = extras::condition(&tried.part) {
            because = format!("{because} It is {condition}.");
        }
        list.push(Alternative {
            slot: about.id.clone(),
            label: about.name.clone(),
            part: Some(wording::part_note(knowledge, &tried.part, telling.units)),
            verdict: tried.verdict,
            extras: tried.extras.as_ref().map_or(0.0, |extras| extras.price),
            all_in: tried.all_in,
            change: tried.consequence.words.clone(),
            because,
        });
    }
    list
}

/// Keeping what is there, the rest of the swap made.
fn keep(mounted: &Mounted, swap: &Swap, slot: SlotId, offer: &Offer, telling: Telling<'_>) -> Alternative {
    let ground = &mounted.ground;
    let about = ground.knowledge.slot_of(slot);
    let mut rest = swap.clone();
    rest.set.retain(|set| set.0 != slot);
    let after = mounted.build.with(&rest, &ground.knowledge);
    let evaluation = mounted.evaluate_build(&after, |_| true);
    let verdict = evaluation.as_ref().map_or(Verdict::DoesNotFit, |it| verdict::of(&ground.knowledge, &it.margins_after));
    let finding = evaluation.as_ref().ok().and_then(|it| worst(mounted, it, &after, telling)).map_or_else(
        || "Every check that could be made is clear as it is.".to_owned(),
        |worst| format!("As it is: {}", lower_first(&worst.because)),
    );
    let change = evaluation.as_ref().map_or_else(|_| String::new(), |it| consequence::of(ground, it, telling).words);
    Alternative {
        slot: about.id.clone(),
        label: about.name.clone(),
        part: None,
        verdict,
        extras: 0.0,
        all_in: offer.cost_of(ground, &rest),
        change,
        because: finding,
    }
}
