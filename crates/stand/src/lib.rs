//! The heart: assemble a build before and after a swap, take the margins, read the verdict.
//!
//! ```text
//! build ─┬─ chart read and reconciled (frame_chart) ─┐
//!        └─ parts, rider, set-up ────────────────────┴─ assembly: a row of numbers, each resting on inputs
//!             row ─ mechanics with exact derivatives ─ figures, a set a pose
//!             figures and inputs ─ margins (rules are knowledge) ─ evaluation: numbers only
//!             evaluation + catalogue ─ extras, candidates: what else it takes, what else could be done
//!             evaluation ─ report: words, sources, verdict ─ Answer
//! ```
//!
//! A [`Stand`] is made once from the knowledge; a [`Mounted`] bike once from a build; trying a swap on it is quick.

pub mod answer;
mod assembly;
mod candidates;
mod consequence;
mod evaluation;
mod extras;
mod figures;
mod frame_chart;
mod ground;
mod inputs;
mod margins;
mod measure;
mod names;
mod parameters;
mod problem;
mod report;
mod side_view;
mod sources;
mod verdict;
mod wording;

use std::sync::{Arc, OnceLock};

use bike::{Build, Catalogue, Swap, WrittenAt};
use knowledge::{Knowledge, SlotId};
use quantity::print::Units;

pub use evaluation::{Evaluation, Uncertain, state};
pub use extras::{Limits, Used};
pub use problem::StandProblem;

use answer::{Answer, ChartReport, Extras, Fits, Verdict};
use evaluation::Before;
use extras::{Case, Offer};
use frame_chart::ReadChart;
use ground::Ground;
use report::{Depth, Market, Report};

/// The stand: knowledge made ready for any number of bikes.
#[derive(Debug)]
pub struct Stand {
    ground: Arc<Ground>,
}

/// How an answer is told; its numbers are in base units whatever its sentences say.
#[derive(Clone, Copy, Debug, Default)]
pub struct Telling<'a> {
    /// Units of the sentences.
    pub units: Units,
    /// Currency of the catalogue's prices.
    pub currency: Option<&'a str>,
}

/// A bike on the stand.
#[derive(Debug)]
pub struct Mounted {
    ground: Arc<Ground>,
    build: Arc<Build>,
    chart: ReadChart,
    before: OnceLock<Result<Arc<Before>, StandProblem>>,
}

impl Stand {
    /// Makes the stand.
    ///
    /// # Errors
    /// [`StandProblem::Unknown`] if the knowledge lacks an attribute, slot or output that the mechanics need.
    pub fn new(knowledge: Knowledge) -> Result<Self, StandProblem> {
        Ok(Self { ground: Arc::new(Ground::new(knowledge)?) })
    }

    /// The knowledge it was made from.
    pub fn knowledge(&self) -> &Knowledge {
        &self.ground.knowledge
    }

    /// Where the number stands that a problem is about: the value that cannot be, or the first entry of the chart.
    pub fn place_of(&self, problem: &StandProblem, build: &Build) -> Option<WrittenAt> {
        use mechanics::planar::PlanarError as Cannot;
        let names = &self.ground.names;
        let of_part = |slot, attribute| build.part(slot).and_then(|part| part.values.place(attribute));
        let of_chart = || names.chart.iter().find_map(|&(_, attribute)| build.chart.place(attribute));
        match problem {
            StandProblem::CannotStand { error, .. } => match error {
                Cannot::OffsetBeyondFork { .. } => of_part(names.fork, names.fork_offset),
                Cannot::SagBeyondFork { .. } => of_part(names.fork, names.fork_travel),
                Cannot::RearTravelBeyondArc { .. } => of_part(names.frame, names.pivot_forward),
                Cannot::SaddleTooLow { .. } => build.setup.place(names.saddle_height),
                Cannot::AxlesTooClose { .. } => of_part(names.front_tyre, names.tyre_radius).or_else(of_chart),
            },
            StandProblem::Chart { .. } | StandProblem::NoChart => of_chart(),
            StandProblem::Unknown { .. } | StandProblem::Missing { .. } => None,
        }
        .cloned()
    }

    /// Puts a bike on the stand: reads and reconciles its frame's chart.
    ///
    /// # Errors
    /// [`StandProblem`] if the chart does not determine the frame.
    pub fn mount(&self, build: impl Into<Arc<Build>>) -> Result<Mounted, StandProblem> {
        let build = build.into();
        let chart = frame_chart::read(&build, &self.ground.names, &self.ground.knowledge)?;
        Ok(Mounted { ground: Arc::clone(&self.ground), build, chart, before: OnceLock::new() })
    }

    /// What the chart of a frame says of itself, before there is a bike that could stand.
    ///
    /// # Errors
    /// [`StandProblem`] if the chart does not determine the frame.
    pub fn chart(&self, build: &Build, units: Units) -> Result<ChartReport, StandProblem> {
        let chart = frame_chart::read(build, &self.ground.names, &self.ground.knowledge)?;
        Ok(report::chart_report(&self.ground, &chart, units))
    }
}

impl Mounted {
    /// The bike as it is.
    pub fn build(&self) -> &Build {
        &self.build
    }

    /// The bike as it is, evaluated once.
    fn before(&self) -> Result<&Arc<Before>, StandProblem> {
        let before = self.before.get_or_init(|| evaluation::before(&self.ground, &self.build, &self.chart).map(Arc::new));
        before.as_ref().map_err(Clone::clone)
    }

    /// Evaluates a swap in numbers.
    ///
    /// # Errors
    /// [`StandProblem`] if the bike cannot stand before or after it.
    pub fn evaluate(&self, swap: &Swap) -> Result<Evaluation, StandProblem> {
        let after = self.build.with(swap, &self.ground.knowledge);
        let chart = self.chart_of(&after)?;
        evaluation::evaluate(&self.ground, (&self.build, self.before()?), (&after, chart.as_ref().unwrap_or(&self.chart)))
    }

    /// Tries a swap and writes the answer. An empty swap gives the bike as it stands.
    ///
    /// # Errors
    /// As [`Mounted::evaluate`].
    pub fn answer(&self, swap: &Swap, telling: Telling<'_>) -> Result<Answer, StandProblem> {
        self.answered(swap, telling, None, Depth::Whole)
    }

    /// The same in short: without what each ± comes from (`depends_on`), what was assumed, what was not checked, and figures of parts.
    /// All that takes a third of the time, and somebody who moves a slider does not read it meanwhile.
    ///
    /// # Errors
    /// As [`Mounted::evaluate`].
    pub fn answer_in_short(&self, swap: &Swap, telling: Telling<'_>) -> Result<Answer, StandProblem> {
        self.answered(swap, telling, None, Depth::Short)
    }

    /// The same, with what else it takes from a catalogue, and what could be done instead.
    ///
    /// # Errors
    /// As [`Mounted::evaluate`].
    pub fn answer_from(
        &self,
        swap: &Swap,
        telling: Telling<'_>,
        catalogue: &Catalogue,
        limits: &Limits,
    ) -> Result<Answer, StandProblem> {
        self.answered(swap, telling, Some((catalogue, limits)), Depth::Whole)
    }

    /// What else a swap takes, alone: without the rest of the answer.
    ///
    /// # Errors
    /// As [`Mounted::evaluate`].
    pub fn extras(
        &self,
        swap: &Swap,
        telling: Telling<'_>,
        catalogue: &Catalogue,
        limits: &Limits,
    ) -> Result<Extras, StandProblem> {
        let after = self.build.with(swap, &self.ground.knowledge);
        let evaluation = self.evaluate_build(&after, |_| true)?;
        let offer = Offer::new(self, catalogue, limits)?;
        Ok(self.extras_of(swap, &after, &evaluation, &offer, limits, telling).0)
    }

    /// What else a swap takes, and how the bike reads with the best set on.
    fn extras_of(
        &self,
        swap: &Swap,
        after: &Build,
        evaluation: &Evaluation,
        offer: &Offer,
        limits: &Limits,
        telling: Telling<'_>,
    ) -> (Extras, Option<Verdict>) {
        if !extras::is_needed(self, evaluation) {
            return (extras::nothing_needed(offer), None);
        }
        let fixed = offer.fixed_by(self, swap, after);
        let mut case = Case::new(self, swap, after, evaluation, offer, &fixed, limits);
        let outcome = case.solve();
        let best = outcome.solutions.first();
        let verdict = best.and_then(|best| candidates::with_extras(self, &case.with(&best.changes)));
        (extras::tell(&case, &outcome, swap, offer, telling), verdict)
    }

    /// Every part of a catalogue that may go in a slot, tried on the bike with full physics; the best first.
    ///
    /// # Errors
    /// [`StandProblem`] if the bike as it is cannot stand; a part with which it cannot is a row that says so.
    pub fn fits(&self, slot: SlotId, telling: Telling<'_>, catalogue: &Catalogue, limits: &Limits) -> Result<Fits, StandProblem> {
        candidates::fits(self, slot, catalogue, limits, telling)
    }

    fn answered(
        &self,
        swap: &Swap,
        telling: Telling<'_>,
        market: Option<(&Catalogue, &Limits)>,
        depth: Depth,
    ) -> Result<Answer, StandProblem> {
        let after = self.build.with(swap, &self.ground.knowledge);
        let chart = self.chart_of(&after)?;
        let chart = chart.as_ref().unwrap_or(&self.chart);
        let mut evaluation = evaluation::evaluate(&self.ground, (&self.build, self.before()?), (&after, chart))?;
        // What to measure first is found from what the ± of an unsure margin comes from.
        evaluation.explain(&self.ground, &self.build, &after, chart, |taken| {
            depth == Depth::Whole || taken.state() == answer::State::Unsure
        });
        let market = match market {
            Some((catalogue, limits)) if !swap.is_nothing() => {
                Some(self.market(swap, &after, &evaluation, catalogue, limits, telling)?)
            }
            _ => None,
        };
        let report = Report {
            ground: &self.ground,
            before: &self.build,
            after: &after,
            chart,
            swap,
            telling,
            evaluation: &evaluation,
            market,
            depth,
        };
        Ok(report.answer())
    }

    /// What a catalogue has to say about a swap.
    fn market(
        &self,
        swap: &Swap,
        after: &Build,
        evaluation: &Evaluation,
        catalogue: &Catalogue,
        limits: &Limits,
        telling: Telling<'_>,
    ) -> Result<Market, StandProblem> {
        let offer = Offer::new(self, catalogue, limits)?;
        let (extras, with_extras) = self.extras_of(swap, after, evaluation, &offer, limits, telling);
        let alternatives = candidates::alternatives(self, swap, catalogue, &offer, limits, telling);
        Ok(Market { extras, with_extras, alternatives })
    }

    /// Evaluates a bike as it would be after a swap, of the rules that are wanted.
    fn evaluate_build(&self, after: &Build, wanted: impl Fn(usize) -> bool) -> Result<Evaluation, StandProblem> {
        let chart = self.chart_of(after)?;
        evaluation::evaluate_rules(
            &self.ground,
            (&self.build, self.before()?),
            (after, chart.as_ref().unwrap_or(&self.chart)),
            wanted,
        )
    }

    /// Numbers of chart, rider and set-up with their standard uncertainty, by attribute.
    fn tables(&self, after: &Build, assembly: &assembly::Assembly) -> Vec<Option<(f64, f64)>> {
        let knowledge = &self.ground.knowledge;
        // The chart itself is asked only for what the assembly has reconciled.
        let source = assembly::Source { ground: &self.ground, build: after, chart: &self.chart, before: None };
        let is_table = |attribute: &knowledge::Attribute| knowledge.kind_of(attribute.kind).about != knowledge::About::Part;
        let ids =
            knowledge.kinds.iter().filter_map(|kind| knowledge.kind(&kind.id)).flat_map(|kind| knowledge.attributes_of(kind));
        let mut tables = vec![None; knowledge.attributes.len()];
        for (id, _) in ids.filter(|(_, attribute)| is_table(attribute)) {
            tables[id.index()] = source.table_number(assembly, id);
        }
        tables
    }

    /// The chart after a swap, if it is another one.
    fn chart_of(&self, after: &Build) -> Result<Option<ReadChart>, StandProblem> {
        if after.chart == self.build.chart {
            return Ok(None);
        }
        frame_chart::read(after, &self.ground.names, &self.ground.knowledge).map(Some)
    }
}
