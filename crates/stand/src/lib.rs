//! The heart: assemble a build before and after a swap, take the margins, read the verdict.
//!
//! ```text
//! build ─┬─ chart read and reconciled (frame_chart) ─┐
//!        └─ parts, rider, set-up ────────────────────┴─ assembly: a row of numbers, each resting on inputs
//!             row ─ mechanics with exact derivatives ─ figures, a set a pose
//!             figures and inputs ─ margins (rules are knowledge) ─ evaluation: numbers only
//!             evaluation ─ report: words, sources, verdict ─ Answer
//! ```
//!
//! A [`Stand`] is made once from the knowledge; a [`Mounted`] bike once from a build; trying a swap on it is quick.

pub mod answer;
mod assembly;
mod evaluation;
mod figures;
mod frame_chart;
mod ground;
mod inputs;
mod measure;
mod names;
mod parameters;
mod problem;
mod report;
mod side_view;
mod sources;
mod verdict;
mod wording;

use bike::{Build, Swap, WrittenAt};
use knowledge::Knowledge;
use quantity::print::Units;

pub use evaluation::{Evaluation, Uncertain, state};
pub use problem::StandProblem;

use answer::Answer;
use frame_chart::ReadChart;
use ground::Ground;
use report::Report;

/// The stand: knowledge made ready for any number of bikes.
#[derive(Debug)]
pub struct Stand {
    ground: Ground,
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
pub struct Mounted<'s> {
    ground: &'s Ground,
    build: Build,
    chart: ReadChart,
}

impl Stand {
    /// Makes the stand.
    ///
    /// # Errors
    /// [`StandProblem::Unknown`] if the knowledge lacks an attribute, slot or output that the mechanics need.
    pub fn new(knowledge: Knowledge) -> Result<Self, StandProblem> {
        Ok(Self { ground: Ground::new(knowledge)? })
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
    pub fn mount(&self, build: Build) -> Result<Mounted<'_>, StandProblem> {
        let chart = frame_chart::read(&build, &self.ground.names, &self.ground.knowledge)?;
        Ok(Mounted { ground: &self.ground, build, chart })
    }
}

impl Mounted<'_> {
    /// The bike as it is.
    pub fn build(&self) -> &Build {
        &self.build
    }

    /// Evaluates a swap in numbers.
    ///
    /// # Errors
    /// [`StandProblem`] if the bike cannot stand before or after it.
    pub fn evaluate(&self, swap: &Swap) -> Result<Evaluation, StandProblem> {
        let after = self.build.with(swap, &self.ground.knowledge);
        let chart = self.chart_of(&after)?;
        evaluation::evaluate(self.ground, (&self.build, &self.chart), (&after, chart.as_ref().unwrap_or(&self.chart)))
    }

    /// Tries a swap and writes the answer. An empty swap gives the bike as it stands.
    ///
    /// # Errors
    /// As [`Mounted::evaluate`].
    pub fn answer(&self, swap: &Swap, telling: Telling<'_>) -> Result<Answer, StandProblem> {
        let after = self.build.with(swap, &self.ground.knowledge);
        let chart = self.chart_of(&after)?;
        let chart = chart.as_ref().unwrap_or(&self.chart);
        let evaluation = evaluation::evaluate(self.ground, (&self.build, &self.chart), (&after, chart))?;
        let report =
            Report { ground: self.ground, before: &self.build, after: &after, chart, swap, telling, evaluation: &evaluation };
        Ok(report.answer())
    }

    /// The chart after a swap, if it is another one.
    fn chart_of(&self, after: &Build) -> Result<Option<ReadChart>, StandProblem> {
        if after.chart == self.build.chart {
            return Ok(None);
        }
        frame_chart::read(after, &self.ground.names, &self.ground.knowledge).map(Some)
    }
}
