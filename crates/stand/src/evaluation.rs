//! One swap evaluated in numbers: both assemblies, two poses each, all figures and margins with their contributions.
//!
//! No words here and no text built: this is what runs for every candidate of a long list. [`crate::report`] makes the answer of it.

use std::sync::Arc;

use bike::{Build, Part};
use knowledge::{NameOf, Of, Pose as KnownPose, SlotId, TermOf};

use crate::{
    answer::{Pose, State},
    assembly::{self, Assembly, Source},
    figures::{self, COUNT},
    frame_chart::ReadChart,
    ground::Ground,
    inputs::{Input, Inputs},
    margins::{self, Lookup},
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

    /// What a figure takes from each input, as far as they go.
    pub(crate) fn contributions(&self, figure: usize) -> impl Iterator<Item = f64> {
        self.contributions.iter().map(move |row| row[figure])
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
    /// The margin. Of a joint it has no contributions before it is explained.
    pub(crate) margin: Uncertain,
    /// Expanded uncertainty, k = 2.
    pub(crate) plus_minus: f64,
    /// What the sentence fills in.
    pub(crate) filled: [f64; 3],
}

impl Taken {
    /// How it reads.
    pub(crate) fn state(&self) -> State {
        state(self.margin.value, self.plus_minus)
    }
}

/// The bike as it is, evaluated: the same for every swap that is tried on it.
#[derive(Clone, Debug)]
pub(crate) struct Before {
    inputs: Inputs,
    pub(crate) side: Side,
    pub(crate) margins: Vec<Taken>,
}

/// A whole evaluation.
#[derive(Clone, Debug)]
pub struct Evaluation {
    pub(crate) inputs: Inputs,
    pub(crate) before: Arc<Before>,
    pub(crate) after: Side,
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

/// Evaluates the bike as it is.
pub(crate) fn before(ground: &Ground, build: &Build, chart: &ReadChart) -> Result<Before, StandProblem> {
    let mut inputs = Inputs::with_capacity(96);
    let source = Source { ground, build, chart, before: None };
    let assembly = assembly::assemble(&source, &mut inputs)?;
    let side = pose(assembly, inputs.len(), false)?;
    let margins = take_margins(&source, &side, None, &mut inputs, |_| true);
    Ok(Before { inputs, side, margins })
}

/// Evaluates the bike after a swap.
pub(crate) fn evaluate(
    ground: &Ground,
    old: (&Build, &Arc<Before>),
    new: (&Build, &ReadChart),
) -> Result<Evaluation, StandProblem> {
    evaluate_rules(ground, old, new, |_| true)
}

/// The same, of the rules (places in the knowledge's list) that are wanted.
pub(crate) fn evaluate_rules(
    ground: &Ground,
    (old, before): (&Build, &Arc<Before>),
    (new, chart): (&Build, &ReadChart),
    wanted: impl Fn(usize) -> bool,
) -> Result<Evaluation, StandProblem> {
    let mut inputs = before.inputs.clone();
    let source = Source { ground, build: new, chart, before: Some(old) };
    let assembly = assembly::assemble(&source, &mut inputs)?;
    let after = pose(assembly, inputs.len(), true)?;
    let margins_after = take_margins(&source, &after, Some(before), &mut inputs, wanted);
    Ok(Evaluation { inputs, before: Arc::clone(before), after, margins_after })
}

impl Evaluation {
    /// The joints of another bike that stands as this one does: one that differs in parts alone which have no say in that.
    #[cfg(test)]
    pub(crate) fn joints_of(&self, ground: &Ground, old: &Build, new: &Build, chart: &ReadChart) -> Vec<Taken> {
        let source = Source { ground, build: new, chart, before: Some(old) };
        let mut inputs = self.inputs.clone();
        take_margins(&source, &self.after, Some(&self.before), &mut inputs, |rule| !ground.is_of_the_whole(rule))
    }

    /// Finds what the ± of the joints' margins that are wanted comes from; only an answer asks.
    pub(crate) fn explain(
        &mut self,
        ground: &Ground,
        old: &Build,
        new: &Build,
        chart: &ReadChart,
        wanted: impl Fn(&Taken) -> bool,
    ) {
        let source = Source { ground, build: new, chart, before: Some(old) };
        for taken in &mut self.margins_after {
            if ground.is_of_the_whole(taken.rule) || !wanted(taken) {
                continue;
            }
            let mut lookup =
                Traced { source: &source, side: &self.after, before: None, inputs: &mut self.inputs, sum: Vec::new() };
            if margins::take(&ground.knowledge.margins[taken.rule], &mut lookup).is_some() {
                taken.margin.contributions = lookup.sum;
            }
        }
        // Later margins may rest on inputs that earlier ones had not heard of.
        let count = self.inputs.len();
        for taken in &mut self.margins_after {
            taken.margin.contributions.resize(count, 0.0);
        }
    }
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

fn take_margins(
    source: &Source<'_>,
    side: &Side,
    before: Option<&Before>,
    inputs: &mut Inputs,
    wanted: impl Fn(usize) -> bool,
) -> Vec<Taken> {
    let ground = source.ground;
    let rules = &ground.knowledge.margins;
    // A joint none of whose parts is another one reads as it did.
    let reads_as_before = |rule: usize| {
        before.is_some()
            && ground.parts_of_rule(rule).is_some_and(|slots| slots.iter().all(|slot| source.holds_what_it_did(*slot)))
    };
    let mut earlier = before.map_or(&[][..], |before| &before.margins).iter().peekable();
    let mut taken = Vec::with_capacity(rules.len());
    for (rule, margin) in rules.iter().enumerate().filter(|(rule, _)| wanted(*rule)) {
        if reads_as_before(rule) {
            // Both lists are in the order of the knowledge's rules.
            while earlier.peek().is_some_and(|earlier| earlier.rule < rule) {
                earlier.next();
            }
            taken.extend(earlier.next_if(|earlier| earlier.rule == rule).cloned());
        } else if ground.is_of_the_whole(rule) {
            let before = before.map(|before| &before.side);
            let mut lookup = Traced { source, side, before, inputs, sum: vec![0.0; 64] };
            if let Some(reading) = margins::take(margin, &mut lookup) {
                let mut contributions = lookup.sum;
                contributions.resize(inputs.len(), 0.0);
                let margin = Uncertain { value: reading.value, contributions };
                taken.push(Taken { rule, plus_minus: margin.plus_minus(), margin, filled: reading.filled });
            }
        } else {
            let mut lookup = Summed { source, side, variance: 0.0 };
            if let Some(reading) = margins::take(margin, &mut lookup) {
                let plus_minus = quantity::gum::COVERAGE_FACTOR * lookup.variance.sqrt();
                let margin = Uncertain { value: reading.value, contributions: Vec::new() };
                taken.push(Taken { rule, plus_minus, margin, filled: reading.filled });
            }
        }
    }
    taken
}

/// A lookup that keeps what each input contributes.
struct Traced<'t, 'a> {
    source: &'t Source<'a>,
    side: &'t Side,
    before: Option<&'t Side>,
    inputs: &'t mut Inputs,
    sum: Vec<f64>,
}

impl Lookup for Traced<'_, '_> {
    fn part(&self, slot: SlotId) -> Option<&Part> {
        self.source.build.part(slot).map(Arc::as_ref)
    }

    fn value(&mut self, of: &TermOf, factor: f64) -> Option<f64> {
        match of {
            TermOf::Literal(quantity) => Some(quantity.value()),
            TermOf::Part { slot, attribute, of } => {
                let (owner, quantity) = self.source.of_part_figure(*slot, *attribute, *of)?;
                let figure = if let Of::Figure(figure) = of { Some(*figure) } else { None };
                let known = assembly::known_figure(self.inputs, owner, *attribute, figure, quantity);
                Some(self.input(known, factor))
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

    fn doubt(&mut self, name: &NameOf, standard_uncertainty: f64) {
        let owner = self.source.owner_of(name.slot);
        let input = Input { owner, attribute: name.attribute, figure: None, standard_uncertainty, value: 0.0 };
        let number = self.inputs.number(input);
        self.input(assembly::Known { value: 0.0, input: Some((number, standard_uncertainty)) }, 1.0);
    }
}

impl Traced<'_, '_> {
    /// A number of chart, rider or set-up; the chart's head tube as reconciled.
    fn table(&mut self, attribute: knowledge::AttributeId, factor: f64) -> Option<f64> {
        let ground = self.source.ground;
        if let Some(parameter) = ground.chart_parameter(attribute) {
            for rest in self.side.assembly.rests.iter().filter(|r| r.parameter == parameter) {
                if rest.input >= self.sum.len() {
                    self.sum.resize(rest.input + 1, 0.0);
                }
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

/// A lookup that adds variances up: of a joint, whose numbers are each stated once and independent of each other.
struct Summed<'t, 'a> {
    source: &'t Source<'a>,
    side: &'t Side,
    variance: f64,
}

impl Lookup for Summed<'_, '_> {
    fn part(&self, slot: SlotId) -> Option<&Part> {
        self.source.build.part(slot).map(Arc::as_ref)
    }

    fn value(&mut self, of: &TermOf, factor: f64) -> Option<f64> {
        let (value, u) = match of {
            TermOf::Literal(quantity) => (quantity.value(), 0.0),
            TermOf::Part { slot, attribute, of } => {
                let quantity = self.source.of_part_figure(*slot, *attribute, *of)?.1;
                (quantity.value(), quantity.standard_uncertainty())
            }
            TermOf::Table { attribute } => self.source.table_number(&self.side.assembly, *attribute)?,
            TermOf::Output { .. } | TermOf::Change { .. } => return None,
        };
        self.variance += (factor * u) * (factor * u);
        Some(value)
    }

    fn doubt(&mut self, _: &NameOf, standard_uncertainty: f64) {
        self.variance += standard_uncertainty * standard_uncertainty;
    }
}

/// Place of a pose in [`POSES`].
pub(crate) fn place(pose: KnownPose) -> usize {
    match pose {
        KnownPose::Unladen => 0,
        KnownPose::Sagged => 1,
    }
}
