//! One swap evaluated in numbers: both assemblies, two poses each, all figures and margins with their contributions.
//!
//! No words here and no text built: this is what runs for every candidate of a long list. [`crate::report`] makes the answer of it.

use bike::Build;
use knowledge::{MarginKind, Pose as KnownPose, Term, TermOf};

use crate::{
    answer::{Pose, State},
    assembly::{self, Assembly, Source},
    figures::{self, COUNT},
    frame_chart::ReadChart,
    ground::Ground,
    inputs::Inputs,
    parameters::PARAMETERS,
    problem::StandProblem,
};

/// Poses in which figures are taken.
pub(crate) const POSES: [Pose; 2] = [Pose::Unladen, Pose::Sagged];

/// A value with its contributions `c_i u_i`, one for each input.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// Base unit.
    pub value: f64,
    /// Base unit; its place is the number of the input.
    pub contributions: Vec<f64>,
}

impl Uncertain {
    /// Standard uncertainty (JCGM 100:2008, equation 11a).
    pub fn standard_uncertainty(&self) -> f64 {
        quantity::gum::combined(self.contributions.iter().copied())
    }

    /// Expanded uncertainty, k = 2.
    pub fn plus_minus(&self) -> f64 {
        quantity::gum::COVERAGE_FACTOR * self.standard_uncertainty()
    }
}

/// One side of the swap.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    pub(crate) assembly: Assembly,
    pub(crate) poses: [PoseResult; 2],
}

/// The figures of a pose, resting on inputs.
#[derive(Clone, Debug)]
pub(crate) struct PoseResult {
    pub(crate) values: [Option<f64>; COUNT],
    /// `c_i u_i` of each figure, a row an input.
    contributions: Vec<[f64; COUNT]>,
}

impl PoseResult {
    /// Adds `factor` times a figure's contributions.
    fn add_to(&self, figure: usize, factor: f64, sum: &mut [f64]) {
        if factor == 0.0 {
            return;
        }
        for (sum, row) in sum.iter_mut().zip(&self.contributions) {
            *sum += factor * row[figure];
        }
    }

    /// A figure with its contributions.
    pub(crate) fn figure(&self, figure: usize, inputs: usize) -> Option<Uncertain> {
        let value = self.values[figure]?;
        let mut contributions = vec![0.0; inputs];
        self.add_to(figure, 1.0, &mut contributions);
        Some(Uncertain { value, contributions })
    }
}

/// A margin as taken.
#[derive(Clone, Debug)]
pub(crate) struct Taken {
    /// Place in the knowledge's list.
    pub(crate) rule: usize,
    pub(crate) margin: Uncertain,
    /// Sum of what there is, and of what it takes, for the sentence.
    pub(crate) room: f64,
    pub(crate) need: f64,
}

/// A whole evaluation.
#[derive(Clone, Debug)]
pub struct Evaluation {
    pub(crate) inputs: Inputs,
    pub(crate) before: Side,
    pub(crate) after: Side,
    pub(crate) margins_before: Vec<Taken>,
    pub(crate) margins_after: Vec<Taken>,
}

/// Reads the state of a margin: the tolerance straddles zero, or it does not.
pub fn state(margin: f64, plus_minus: f64) -> State {
    if margin - plus_minus >= 0.0 {
        State::Clear
    } else if margin + plus_minus < 0.0 {
        State::Short
    } else {
        State::Unsure
    }
}

/// Evaluates.
pub(crate) fn evaluate(
    ground: &Ground,
    before: (&Build, &ReadChart),
    after: (&Build, &ReadChart),
) -> Result<Evaluation, StandProblem> {
    let mut inputs = Inputs::with_capacity(96);
    let old = Source { ground, build: before.0, chart: before.1, before: None };
    let new = Source { ground, build: after.0, chart: after.1, before: Some(before.0) };
    let old_assembly = assembly::assemble(&old, &mut inputs)?;
    let new_assembly = assembly::assemble(&new, &mut inputs)?;
    let before = pose(old_assembly, inputs.len(), false)?;
    let after = pose(new_assembly, inputs.len(), true)?;
    let margins_before = margins(&old, &before, None, &mut inputs);
    let margins_after = margins(&new, &after, Some(&before), &mut inputs);
    Ok(Evaluation { inputs, before, after, margins_before, margins_after })
}

fn pose(mut assembly: Assembly, inputs: usize, after: bool) -> Result<Side, StandProblem> {
    // What rests on a parameter stands together, so that each of its slopes finds its inputs at once.
    assembly.rests.sort_unstable_by_key(|rest| rest.parameter as usize);
    let mut active: Vec<usize> = assembly.rests.iter().map(|rest| rest.parameter as usize).collect();
    active.dedup();
    let mut ranges = [(0, 0); PARAMETERS];
    for (place, rest) in assembly.rests.iter().enumerate() {
        let range = &mut ranges[rest.parameter as usize];
        if range.1 == 0 {
            range.0 = place;
        }
        range.1 = place + 1;
    }
    let mut contributions = POSES.map(|_| vec![[0.0; COUNT]; inputs]);
    let values = figures::take(&assembly.row, POSES, &active, |pose, parameter, slopes| {
        let (start, end) = ranges[parameter];
        for rest in &assembly.rests[start..end] {
            for (sum, slope) in contributions[pose][rest.input].iter_mut().zip(slopes) {
                *sum += slope * rest.contribution;
            }
        }
    })
    .map_err(|error| StandProblem::CannotStand { after, error })?;
    let [unladen, sagged] = contributions;
    let poses =
        [PoseResult { values: values[0], contributions: unladen }, PoseResult { values: values[1], contributions: sagged }];
    Ok(Side { assembly, poses })
}

fn margins(source: &Source<'_>, side: &Side, before: Option<&Side>, inputs: &mut Inputs) -> Vec<Taken> {
    let rules = &source.ground.knowledge.margins;
    let mut taken = Vec::with_capacity(rules.len());
    for (rule, margin) in rules.iter().enumerate() {
        let holds =
            |flag: &knowledge::Flag| source.build.part(flag.slot).and_then(|p| p.values.flag(flag.attribute)).unwrap_or(false);
        if !margin.when.iter().all(holds) || margin.unless.iter().any(holds) {
            continue;
        }
        let mut terms = Terms { source, side, before, inputs, sum: vec![0.0; 64] };
        let found = match &margin.kind {
            MarginKind::Room { room, need } => terms.sum(room, 1.0).zip(terms.sum(need, -1.0)).map(|(r, n)| (r - n, r, n)),
            MarginKind::Same { one, other, within } => {
                terms.difference(one, other).map(|(a, b)| (within.value() - (a - b).abs(), a, b))
            }
        };
        if let Some((value, room, need)) = found {
            let mut contributions = terms.sum;
            contributions.truncate(inputs.len());
            taken.push(Taken { rule, margin: Uncertain { value, contributions }, room, need });
        }
    }
    taken
}

/// Adding the terms of one margin up.
struct Terms<'t, 'a> {
    source: &'t Source<'a>,
    side: &'t Side,
    before: Option<&'t Side>,
    inputs: &'t mut Inputs,
    sum: Vec<f64>,
}

impl Terms<'_, '_> {
    /// Σ times · term, its contributions added with `sign`; `None` if a term is missing.
    fn sum(&mut self, terms: &[Term], sign: f64) -> Option<f64> {
        let mut sum = 0.0;
        for term in terms {
            sum += term.times * self.term(&term.of, sign * term.times)?;
        }
        Some(sum)
    }

    /// Both terms, the contributions of −|a − b| added.
    fn difference(&mut self, one: &Term, other: &Term) -> Option<(f64, f64)> {
        // The sign of the difference decides that of the contributions, so the values are looked at first (adding none of them).
        let a = one.times * self.term(&one.of, 0.0)?;
        let b = other.times * self.term(&other.of, 0.0)?;
        let sign = if a >= b { -1.0 } else { 1.0 };
        self.term(&one.of, sign * one.times)?;
        self.term(&other.of, -sign * other.times)?;
        Some((a, b))
    }

    /// A term's value; adds `factor` times its contributions.
    fn term(&mut self, of: &TermOf, factor: f64) -> Option<f64> {
        match of {
            TermOf::Literal(quantity) => Some(quantity.value()),
            TermOf::Part { slot, attribute } => {
                let (owner, quantity, _) = self.source.of_part(*slot, *attribute)?;
                {
                    let known = assembly::known(self.inputs, owner, *attribute, quantity);
                    Some(self.input(known, factor))
                }
            }
            TermOf::Table { attribute } => self.table(*attribute, factor),
            TermOf::Output { pose, output } => {
                let figure = self.source.ground.figure_of(*output)?;
                let result = &self.side.poses[place(*pose)];
                result.add_to(figure, factor, &mut self.sum);
                result.values[figure]
            }
            TermOf::Change { pose, output } => {
                let figure = self.source.ground.figure_of(*output)?;
                let (old, new) = (&self.before?.poses[place(*pose)], &self.side.poses[place(*pose)]);
                let change = new.values[figure]? - old.values[figure]?;
                let sign = if change < 0.0 { -factor } else { factor };
                new.add_to(figure, sign, &mut self.sum);
                old.add_to(figure, -sign, &mut self.sum);
                Some(change.abs())
            }
        }
    }

    /// A number of chart, rider or set-up; the chart's head tube as reconciled.
    fn table(&mut self, attribute: knowledge::AttributeId, factor: f64) -> Option<f64> {
        let ground = self.source.ground;
        if let Some(parameter) = ground.chart_parameter(attribute) {
            for rest in self.side.assembly.rests.iter().filter(|r| r.parameter == parameter) {
                self.sum[rest.input] += factor * rest.contribution;
            }
            return Some(self.side.assembly.row.at(parameter));
        }
        let (owner, quantity, _) = self.source.of_table(attribute)?;
        let known = assembly::known(self.inputs, owner, attribute, quantity);
        Some(self.input(known, factor))
    }

    fn input(&mut self, known: assembly::Known, factor: f64) -> f64 {
        if let Some((input, u)) = known.input {
            if input >= self.sum.len() {
                self.sum.resize(input + 1, 0.0);
            }
            self.sum[input] += factor * u;
        }
        known.value
    }
}

/// Place of a pose in [`POSES`].
pub(crate) fn place(pose: KnownPose) -> usize {
    match pose {
        KnownPose::Unladen => 0,
        KnownPose::Sagged => 1,
    }
}
