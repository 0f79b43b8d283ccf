//! Reading a build's geometry chart: stated entries and what has to be assumed, reconciled; wrong entries set aside.

use bike::Build;
use knowledge::{AttributeId, Knowledge};
use mechanics::chart::{self, ChartError, Entry, Observation, Reconciled};
use quantity::{Dimension, Origin, Quantity, Spread};

use crate::{
    names::{Names, part_quantity},
    problem::StandProblem,
};

/// Uncertainty below which a stated length or angle is not believed: nobody draws a frame to a hundredth (judgement).
const LEAST_U_MM: f64 = 0.05;
const LEAST_U_DEG: f64 = 0.005;

/// How far the parts on the bike may differ from those the chart was drawn with, where it does not say (judgement): ± mm.
const FORK_OF_THE_BIKE: f64 = 6.0;
const OFFSET_OF_THE_BIKE: f64 = 3.0;
const STACK_OF_THE_BIKE: f64 = 3.0;
const WHEEL_OF_THE_BIKE: f64 = 6.0;

/// Wrong entries looked for one after another, at most.
const MOST_SET_ASIDE: usize = 3;

/// An entry of the chart as it went into the adjustment.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ChartNumber {
    pub(crate) attribute: AttributeId,
    pub(crate) entry: Entry,
    /// As stated or assumed, base unit (mm, deg).
    pub(crate) quantity: Quantity,
    /// Nobody stated it.
    pub(crate) assumed: bool,
    /// Found wrong and left out of the adjustment.
    pub(crate) set_aside: bool,
    /// One of several that may be wrong.
    pub(crate) suspected: bool,
    /// By how much it disagrees with the others (mm, deg) and the same in standard deviations, from the adjustment in which it was
    /// last part.
    pub(crate) disagreement: Option<(f64, f64)>,
}

/// A chart read and reconciled.
#[derive(Clone, Debug)]
pub(crate) struct ReadChart {
    pub(crate) numbers: Vec<ChartNumber>,
    /// The final adjustment; its observations are the numbers that are not set aside, in order.
    pub(crate) reconciled: Reconciled,
    /// Place of each observation in `numbers`.
    pub(crate) observed: Vec<usize>,
}

/// Radians per unit of an entry's base unit (degrees for angles), or 1 for lengths.
pub(crate) fn per_base(entry: Entry) -> f64 {
    if entry == Entry::HeadAngle { 1.0_f64.to_radians() } else { 1.0 }
}

/// Reads the chart of a build.
pub(crate) fn read(build: &Build, names: &Names, knowledge: &Knowledge) -> Result<ReadChart, StandProblem> {
    let mut numbers: Vec<ChartNumber> = names
        .chart
        .iter()
        .filter_map(|&(entry, attribute)| Some(number(entry, attribute, build.chart.quantity(attribute)?, false)))
        .collect();
    if numbers.is_empty() {
        return Err(StandProblem::NoChart);
    }
    for entry in [Entry::ForkOffset, Entry::LowerHeadsetStack, Entry::FrontRadius, Entry::RearRadius] {
        assume(entry, &mut numbers, build, names, knowledge);
    }
    match adjust(numbers.clone()) {
        Err(ChartError::Undetermined { would_help, .. }) if would_help.contains(&Entry::AxleToCrown) => {
            assume(Entry::AxleToCrown, &mut numbers, build, names, knowledge);
            adjust(numbers)
        }
        other => other,
    }
    .map_err(|error| StandProblem::Chart { error, would_help: Vec::new() }.with_names(names, knowledge))
}

fn number(entry: Entry, attribute: AttributeId, quantity: Quantity, assumed: bool) -> ChartNumber {
    ChartNumber { attribute, entry, quantity, assumed, set_aside: false, suspected: false, disagreement: None }
}

/// Adds an entry that nobody stated, from the part on the bike or from common practice.
fn assume(entry: Entry, numbers: &mut Vec<ChartNumber>, build: &Build, names: &Names, knowledge: &Knowledge) {
    if numbers.iter().any(|n| n.entry == entry) {
        return;
    }
    let Some(&(_, attribute)) = names.chart.iter().find(|c| c.0 == entry) else { return };
    let from_part = match entry {
        Entry::AxleToCrown => part_quantity(build, names.fork, names.fork_axle_to_crown).map(|q| (q, FORK_OF_THE_BIKE)),
        Entry::ForkOffset => part_quantity(build, names.fork, names.fork_offset).map(|q| (q, OFFSET_OF_THE_BIKE)),
        Entry::LowerHeadsetStack => {
            part_quantity(build, names.headset, names.headset_lower_stack).map(|q| (q, STACK_OF_THE_BIKE))
        }
        Entry::FrontRadius => {
            names.nominal_wheel_radius(build, names.front_wheel, names.front_tyre).map(|q| (q, WHEEL_OF_THE_BIKE))
        }
        Entry::RearRadius => names.nominal_wheel_radius(build, names.rear_wheel, names.rear_tyre).map(|q| (q, WHEEL_OF_THE_BIKE)),
        _ => None,
    };
    let assumed = from_part
        .map(|(q, plus_minus)| Quantity::new(q.value(), Dimension::Length, Spread::Limits(plus_minus), Origin::Guess))
        .or_else(|| knowledge.default_of_table(attribute).map(|d| d.value.with_origin(Origin::CommonPractice)));
    if let Some(quantity) = assumed {
        numbers.push(number(entry, attribute, quantity, true));
    }
}

/// Adjusts; sets aside an entry that is clearly the wrong one, marks those among which the chart cannot tell, and gives these less
/// weight, until it agrees with itself.
fn adjust(mut numbers: Vec<ChartNumber>) -> Result<ReadChart, ChartError> {
    let mut rounds = 0;
    loop {
        let observed: Vec<usize> = (0..numbers.len()).filter(|&i| !numbers[i].set_aside).collect();
        let observations: Vec<Observation> = observed.iter().map(|&i| observation(&numbers[i])).collect();
        let reconciled = chart::reconcile(&observations)?;
        for (residual, &i) in reconciled.residuals.iter().zip(&observed) {
            let number = &mut numbers[i];
            if !number.suspected {
                number.disagreement =
                    residual.disagrees_by.zip(residual.sigmas).map(|(by, sigmas)| (by / per_base(number.entry), sigmas));
            }
        }
        let suspects: Vec<usize> =
            reconciled.suspects().into_iter().map(|s| observed[s]).filter(|&i| !numbers[i].assumed).collect();
        rounds += 1;
        if suspects.is_empty() || rounds > MOST_SET_ASIDE {
            return Ok(ReadChart { numbers, reconciled, observed });
        }
        if let [only] = suspects[..] {
            numbers[only].set_aside = true;
            // Without it the rest must still determine the frame; if not, it stays, in doubt.
            let rest: Vec<Observation> = numbers.iter().filter(|n| !n.set_aside).map(observation).collect();
            if chart::reconcile(&rest).is_ok() {
                continue;
            }
            numbers[only].set_aside = false;
        }
        for i in suspects {
            numbers[i].suspected = true;
        }
    }
}

/// A number as an observation. One in doubt gets the uncertainty that its disagreement shows.
fn observation(number: &ChartNumber) -> Observation {
    let least = if number.entry == Entry::HeadAngle { LEAST_U_DEG } else { LEAST_U_MM };
    let mut u = number.quantity.standard_uncertainty().max(least);
    if number.suspected
        && let Some((by, _)) = number.disagreement
    {
        u = u.max(by.abs());
    }
    Observation {
        entry: number.entry,
        value: number.quantity.value() * per_base(number.entry),
        standard_uncertainty: u * per_base(number.entry),
    }
}

/// The uncertainty a number went into the adjustment with, base unit.
pub(crate) fn standard_uncertainty(number: &ChartNumber) -> f64 {
    observation(number).standard_uncertainty / per_base(number.entry)
}
