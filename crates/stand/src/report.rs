//! From an evaluation to the answer: figures and margins with their words, numbered sources, verdict.

use bike::{Build, Swap};
use knowledge::{AttributeId, Shown, Term};
use mechanics::chart::Entry;
use quantity::{
    Dimension, Origin,
    gum::COVERAGE_FACTOR,
    print::{self, Units},
};

use crate::{
    Telling,
    answer::{
        Adjustment, Alternative, Answer, Assumption, Caution, Change, ChartEntry, ChartReport, Contribution, Cost, Extras,
        FORMAT, Margin, NotChecked, PartRow, Severity, SideViews, State, Verdict,
    },
    evaluation::{Evaluation, POSES, Taken},
    frame_chart::{self, ReadChart},
    ground::Ground,
    inputs::{Input, Owner},
    measure,
    side_view::side_view,
    sources::Citations,
    verdict, wording,
};

/// Contributions listed of a figure's uncertainty, at most; and the least share of its square worth listing.
const MOST_CONTRIBUTIONS: usize = 5;
const LEAST_SHARE: f64 = 0.02;

/// A change smaller than this (base unit: mm, deg, %) is none: rounding.
const NO_CHANGE: f64 = 1e-9;

/// Everything the answer is written from.
pub(crate) struct Report<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) before: &'a Build,
    pub(crate) after: &'a Build,
    pub(crate) chart: &'a ReadChart,
    pub(crate) swap: &'a Swap,
    pub(crate) telling: Telling<'a>,
    pub(crate) evaluation: &'a Evaluation,
    /// What else it takes and what could be done instead, if a catalogue was looked at.
    pub(crate) market: Option<Market>,
    pub(crate) depth: Depth,
}

/// How much of an answer is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Depth {
    Whole,
    /// Verdict, changes, margins and drawings: no word of what each ± comes from, nor of what was assumed, not checked or paid, and
    /// parts by their names alone.
    Short,
}

/// What came of looking at a catalogue.
pub(crate) struct Market {
    pub(crate) extras: Extras,
    /// How the bike reads with the best set of extras on.
    pub(crate) with_extras: Option<Verdict>,
    pub(crate) alternatives: Vec<Alternative>,
}

impl Report<'_> {
    /// Writes the answer.
    pub(crate) fn answer(&self) -> Answer {
        let mut citations = Citations::new(self.ground);
        let parts = self.parts();
        let changes = self.changes();
        let margins = self.margins(&parts, &mut citations);
        let measure_first = measure::first(self, &margins);
        let market = self.market.as_ref();
        let verdict = market.and_then(|market| market.with_extras).unwrap_or_else(|| verdict::read(&margins));
        let cautions = self.cautions(&mut citations);
        let assumptions = self.assumptions(&mut citations);
        let chart = chart_report(self.ground, self.chart, self.telling.units);
        let (headline, summary) = verdict::words(&verdict::ShortAnswer {
            ground: self.ground,
            units: self.telling.units,
            verdict,
            margins: &margins,
            changes: &changes,
            measure_first: &measure_first,
            chart: &chart,
            swapped: self.swapped(),
            extras: market.map(|market| &market.extras),
        });
        Answer {
            format: FORMAT.to_owned(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            bike: self.before.name.clone(),
            rider: wording::rider(self.ground, self.before, self.telling.units),
            verdict,
            headline,
            summary,
            not_checked: self.not_checked(),
            adjustments: self.adjustments(),
            cost: self.cost(),
            side_views: self.side_views(),
            parts,
            changes,
            margins,
            extras: market.map(|market| market.extras.clone()),
            alternatives: market.map(|market| market.alternatives.clone()).unwrap_or_default(),
            measure_first,
            assumptions,
            chart,
            cautions,
            sources: citations.into_notes(),
        }
    }

    fn is_short(&self) -> bool {
        self.depth == Depth::Short
    }

    /// Whether anything is swapped or adjusted at all.
    fn swapped(&self) -> bool {
        !self.swap.is_nothing()
    }

    fn parts(&self) -> Vec<PartRow> {
        let knowledge = &self.ground.knowledge;
        let note = |part: &std::sync::Arc<bike::Part>| match self.depth {
            Depth::Whole => wording::part_note(knowledge, part, self.telling.units),
            Depth::Short => wording::part_name(part),
        };
        let mut rows = Vec::new();
        for (slot, about) in knowledge.slots() {
            let (old, new) = (self.before.part(slot), self.after.part(slot));
            let on_trial = self.swap.set.iter().any(|(s, _)| *s == slot);
            if old.is_none() && new.is_none() {
                continue;
            }
            rows.push(PartRow {
                balloon: u32::try_from(rows.len() + 1).unwrap_or(u32::MAX),
                slot: about.id.clone(),
                label: about.name.clone(),
                on_the_bike: old.map(note),
                on_trial: if on_trial { new.map(note) } else { None },
                taken_off: old.is_some() && new.is_none(),
            });
        }
        rows
    }

    fn adjustments(&self) -> Vec<Adjustment> {
        self.swap
            .adjust
            .iter()
            .map(|(attribute, quantity)| {
                let about = self.ground.knowledge.attribute_of(*attribute);
                let before =
                    [&self.before.setup, &self.before.rider, &self.before.chart].into_iter().find_map(|v| v.quantity(*attribute));
                Adjustment {
                    id: format!("{}.{}", self.ground.knowledge.kind_of(about.kind).id, about.id),
                    label: about.says.clone(),
                    dimension: quantity.dimension().word().to_owned(),
                    before: before.map(quantity::Quantity::value),
                    after: quantity.value(),
                }
            })
            .collect()
    }

    fn changes(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (figure, output) in self.ground.figures() {
            for (p, &pose) in POSES.iter().enumerate() {
                let (old, new) = (&self.evaluation.before.side.poses[p], &self.evaluation.after.poses[p]);
                let Some((before, after)) = old.values[figure].zip(new.values[figure]) else { continue };
                let difference = after - before;
                let moved = difference.abs() > NO_CHANGE;
                let wanted = match output.shown {
                    Shown::Always => true,
                    Shown::Changed => moved,
                    Shown::Never => false,
                };
                if !wanted {
                    continue;
                }
                let noticed = output.noticed.map(|n| difference.abs() >= n.value());
                let meaning = if noticed == Some(true) { wording::meaning(output, difference) } else { None };
                let change = if moved { difference } else { 0.0 };
                let way = if change > 0.0 { output.up.clone() } else { output.down.clone() };
                // The bike after may rest on inputs that the one before had not heard of.
                let of_old = || old.contributions(figure).chain(std::iter::repeat(0.0));
                let of_difference = || new.contributions(figure).zip(of_old()).map(|(new, old)| new - old);
                let depends_on = if self.is_short() {
                    Vec::new()
                } else if moved {
                    self.contributions(of_difference())
                } else {
                    self.contributions(new.contributions(figure))
                };
                changes.push(Change {
                    id: output.id.clone(),
                    label: output.name.clone(),
                    pose,
                    dimension: output.dimension.word().to_owned(),
                    unit: output.dimension.base_symbol().to_owned(),
                    before,
                    before_plus_minus: expanded(old.contributions(figure)),
                    after,
                    after_plus_minus: expanded(new.contributions(figure)),
                    change,
                    plus_minus: expanded(of_difference()),
                    noticed,
                    way: way.filter(|_| moved),
                    main: output.shown == Shown::Always || noticed == Some(true),
                    meaning,
                    depends_on,
                });
            }
        }
        changes
    }

    fn margins(&self, parts: &[PartRow], citations: &mut Citations<'_>) -> Vec<Margin> {
        // On a bike as it stands nothing moves, so how far something moves is no check.
        let is_check = |taken: &&Taken| {
            self.swapped() || !self.ground.knowledge.margins[taken.rule].terms().into_iter().any(Term::is_change)
        };
        let mut margins: Vec<(usize, Margin)> =
            self.evaluation.margins_after.iter().filter(is_check).map(|taken| (taken.rule, self.margin(taken, parts))).collect();
        // Worst first: by state, then by what it means, then by how many tolerances it is from zero.
        margins.sort_by(|a, b| verdict::order(&a.1).total_cmp(&verdict::order(&b.1)));
        for (rule, margin) in &mut margins {
            margin.sources = self.ground.knowledge.margins[*rule].sources.iter().map(|s| citations.number(*s)).collect();
        }
        margins.into_iter().map(|m| m.1).collect()
    }

    fn margin(&self, taken: &Taken, parts: &[PartRow]) -> Margin {
        let knowledge = &self.ground.knowledge;
        let rule = &knowledge.margins[taken.rule];
        let plus_minus = taken.plus_minus;
        let now = taken.state();
        let earlier = self.evaluation.before.margins.iter().find(|t| t.rule == taken.rule);
        let slot = &knowledge.slot_of(rule.slot).id;
        Margin {
            id: rule.id.clone(),
            label: rule.name.clone(),
            slot: slot.clone(),
            balloon: parts.iter().find(|p| p.slot == *slot).map(|p| p.balloon),
            dimension: rule.dimension.word().to_owned(),
            unit: rule.dimension.base_symbol().to_owned(),
            before: earlier.map(|t| t.margin.value),
            after: taken.margin.value,
            plus_minus,
            state: now,
            state_before: earlier.map(Taken::state),
            severity: severity(rule.severity),
            because: wording::margin(rule, now, taken, self.after, self.telling.units),
            sources: Vec::new(),
            caution: if now == State::Clear { None } else { rule.caution.map(|c| knowledge.caution_of(c).text.clone()) },
            depends_on: self.contributions(taken.margin.contributions.iter().copied()),
        }
    }

    /// The largest contributions to an uncertainty, by name.
    fn contributions(&self, contributions: impl Iterator<Item = f64>) -> Vec<Contribution> {
        if self.is_short() {
            return Vec::new();
        }
        let mut list: Vec<(usize, f64)> = contributions.map(f64::abs).enumerate().collect();
        let total: f64 = list.iter().map(|(_, c)| c * c).sum();
        list.retain(|(_, c)| c * c > LEAST_SHARE * total);
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list.truncate(MOST_CONTRIBUTIONS);
        list.into_iter()
            .map(|(number, c)| {
                let input = self.evaluation.inputs.numbered(number);
                Contribution {
                    what: self.input_name(input),
                    from: self.input_origin(input).to_owned(),
                    plus_minus: COVERAGE_FACTOR * c,
                }
            })
            .collect()
    }

    /// An input for people: `new fork: axle-to-crown`.
    pub(crate) fn input_name(&self, input: &Input) -> String {
        wording::input_name(self.ground, input.owner, input.attribute, input.figure)
    }

    /// Where the number of an input comes from.
    fn input_origin(&self, input: &Input) -> &'static str {
        if input.figure.is_some() {
            return Origin::Standard.word();
        }
        let of = |after: bool| if after { self.after } else { self.before };
        let stated = match input.owner {
            Owner::Chart { after } => of(after).chart.quantity(input.attribute),
            Owner::Rider { after } => of(after).rider.quantity(input.attribute),
            Owner::Setup { after } => of(after).setup.quantity(input.attribute),
            Owner::Part { slot, after } => of(after).part(slot).and_then(|part| part.quantity(input.attribute)),
        };
        stated.map_or("assumed", |quantity| quantity.origin().word())
    }

    fn not_checked(&self) -> Vec<NotChecked> {
        if self.is_short() {
            return Vec::new();
        }
        let touched: Vec<_> = self.swap.set.iter().map(|s| s.0).collect();
        let mut list: Vec<NotChecked> = Vec::new();
        for (rule, margin) in self.ground.knowledge.margins.iter().enumerate() {
            if self.evaluation.margins_after.iter().any(|t| t.rule == rule) {
                continue;
            }
            let needs = wording::missing_terms(self.ground, self.after, margin);
            // A check is of interest if the swap touches one of its parts; on a bike as it stands, if its parts are there.
            let of_interest = if touched.is_empty() { true } else { margin.slots().any(|s| touched.contains(&s)) };
            if of_interest && !needs.is_empty() {
                list.push(NotChecked { label: margin.name.clone(), needs });
            }
        }
        list
    }

    fn assumptions(&self, citations: &mut Citations<'_>) -> Vec<Assumption> {
        if self.is_short() {
            return Vec::new();
        }
        let mut list: Vec<Assumption> = Vec::new();
        for assumed in self.evaluation.after.assembly.assumed.iter().chain(&self.evaluation.before.side.assembly.assumed) {
            let what = wording::input_name(self.ground, assumed.owner, assumed.attribute, None);
            if list.iter().any(|a| a.what == what) {
                continue;
            }
            let quantity = assumed.quantity;
            // What is exactly nothing (no angle change, no travel) is no assumption a reader needs.
            if quantity.value() == 0.0 && quantity.standard_uncertainty() == 0.0 {
                continue;
            }
            list.push(Assumption {
                what,
                value: print::value(quantity.value(), quantity.spread().plus_minus(), quantity.dimension(), self.telling.units)
                    .to_string(),
                dimension: quantity.dimension().word().to_owned(),
                number: quantity.value(),
                plus_minus: quantity.expanded_uncertainty(),
                because: self.ground.reason_of(assumed.owner, assumed.attribute),
                source: citations.number(assumed.source),
            });
        }
        list
    }

    fn cautions(&self, citations: &mut Citations<'_>) -> Vec<Caution> {
        let touched: Vec<_> = self.swap.set.iter().map(|s| s.0).chain(self.swap.unset.iter().copied()).collect();
        self.ground
            .knowledge
            .cautions
            .iter()
            .filter(|caution| caution.slots.iter().any(|s| touched.contains(s)))
            .map(|caution| Caution { text: caution.text.clone(), source: citations.number(caution.source) })
            .collect()
    }

    fn cost(&self) -> Cost {
        let prices: Option<Vec<f64>> = self.swap.set.iter().map(|(_, part)| part.price).collect();
        let mass = |build: &Build, slot| build.part(slot).map_or(Some(0.0), |p| p.mass.map(quantity::Quantity::value));
        let slots: Vec<_> = self.swap.set.iter().map(|s| s.0).chain(self.swap.unset.iter().copied()).collect();
        let mass_change: Option<f64> = slots.iter().map(|&slot| Some(mass(self.after, slot)? - mass(self.before, slot)?)).sum();
        Cost {
            parts: prices.filter(|p| !p.is_empty()).map(|p| p.iter().sum()),
            currency: self.telling.currency.map(ToOwned::to_owned),
            mass_change_kg: mass_change.filter(|_| !slots.is_empty()),
        }
    }

    fn side_views(&self) -> Vec<SideViews> {
        POSES
            .into_iter()
            .filter_map(|pose| {
                Some(SideViews {
                    pose,
                    before: side_view(self.ground, self.before, &self.evaluation.before.side.assembly, pose)?,
                    after: side_view(self.ground, self.after, &self.evaluation.after.assembly, pose)?,
                })
            })
            .collect()
    }
}

/// Expanded uncertainty, k = 2, from contributions.
fn expanded(contributions: impl Iterator<Item = f64>) -> f64 {
    COVERAGE_FACTOR * quantity::gum::combined(contributions)
}

/// What a chart says of itself.
pub(crate) fn chart_report(ground: &Ground, chart: &ReadChart, units: Units) -> ChartReport {
    let knowledge = &ground.knowledge;
    let entry = |attribute: AttributeId, which: Entry, number: Option<&frame_chart::ChartNumber>| {
        let about = knowledge.attribute_of(attribute);
        let (adjusted, u) = chart.reconciled.entry(which);
        let per_base = frame_chart::per_base(which);
        let dimension = if which == Entry::HeadAngle { Dimension::Angle } else { Dimension::Length };
        ChartEntry {
            id: about.id.clone(),
            label: about.says.clone(),
            dimension: dimension.word().to_owned(),
            given: number.map(|n| n.quantity.value()),
            given_plus_minus: number.map(|n| n.quantity.spread().plus_minus()),
            adjusted: adjusted / per_base,
            plus_minus: COVERAGE_FACTOR * u / per_base,
            disagrees_by: number.and_then(|n| n.disagreement).map(|d| d.0),
            sigmas: number.and_then(|n| n.disagreement).map(|d| d.1),
            set_aside: number.is_some_and(|n| n.set_aside),
            suspected: number.is_some_and(|n| n.suspected),
            assumed: number.is_some_and(|n| n.assumed),
        }
    };
    let entries: Vec<ChartEntry> = chart.numbers.iter().map(|n| entry(n.attribute, n.entry, Some(n))).collect();
    let derived = ground
        .names
        .chart
        .iter()
        .filter(|(which, _)| chart.numbers.iter().all(|n| n.entry != *which))
        .map(|&(which, attribute)| entry(attribute, which, None))
        .collect();
    let redundancy = u32::try_from(chart.reconciled.redundancy).unwrap_or(0);
    ChartReport { finding: wording::chart_finding(&entries, redundancy, units), redundancy, entries, derived }
}

pub(crate) fn severity(severity: knowledge::Severity) -> Severity {
    match severity {
        knowledge::Severity::Felt => Severity::Felt,
        knowledge::Severity::WorksBadly => Severity::WorksBadly,
        knowledge::Severity::DoesNotGo => Severity::DoesNotGo,
        knowledge::Severity::Hurts => Severity::Hurts,
    }
}

/// Whose a part or table is, for sorting and naming.
pub(crate) fn is_new(owner: Owner) -> bool {
    match owner {
        Owner::Chart { after } | Owner::Rider { after } | Owner::Setup { after } | Owner::Part { after, .. } => after,
    }
}
