//! `check`: a bike on the stand as it is.

use bike::{Swap, read::read_build};
use knowledge::Knowledge;
use stand::Stand;

use crate::{arguments::Check, outcome::Failure, printer::Printer, trial};

pub(crate) fn run(request: &Check, knowledge: Knowledge, printer: Printer) -> Result<(), Failure> {
    trial::outputs_named_well(&request.output)?;
    let (build, catalogue) = read_build(&request.build, &knowledge)?;
    let stand = Stand::new(knowledge).map_err(|p| Failure::stand(&request.build, &p))?;
    let mounted = stand.mount(build).map_err(|p| Failure::stand(&request.build, &p))?;
    let answer = mounted.answer(&Swap::default(), catalogue.currency()).map_err(|p| Failure::stand(&request.build, &p))?;
    trial::give(&answer, &request.output, printer, true)
}
