//! `check`: a bike on the stand as it is.

use bike::{Swap, read::read_build};
use knowledge::Knowledge;
use stand::Telling;

use crate::{arguments::Check, outcome::Failure, printer::Printer, trial};

pub(crate) fn run(request: &Check, knowledge: Knowledge, printer: Printer) -> Result<(), Failure> {
    trial::outputs_named_well(&request.output)?;
    let (build, catalogue) = read_build(&request.build, &knowledge)?;
    let telling = Telling { units: request.output.units.into(), currency: catalogue.currency() };
    let answer = trial::answer(&request.build, &build, &Swap::default(), telling, knowledge, None)?;
    trial::give(&answer, &request.output, printer, true)
}
