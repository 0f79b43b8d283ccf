//! `fits`: every part of the catalogue for one place.

use bike::read::read_build;
use knowledge::Knowledge;
use source_file::{Problem, Problems};
use stand::{Stand, Telling};

use crate::{arguments::Fits, outcome::Failure, printer::Printer, terms, text};

pub(crate) fn run(request: &Fits, knowledge: Knowledge, printer: Printer) -> Result<(), Failure> {
    let mut problems = Problems::new();
    let slot = problems.keep(terms::slot(&request.slot, &knowledge));
    let limits = terms::limits(&request.terms, &knowledge, &mut problems);
    let slot = problems.unless_any(slot)?;
    let (build, catalogue) = read_build(&request.build, &knowledge)?;
    let Some(slot) = slot else { return Ok(()) };
    let kind = knowledge.slot_of(slot).kind;
    if catalogue.of_kind(kind).len() == 0 {
        let nothing = Problem::new(format!("there is no {} in the catalogue of this bike", knowledge.kind_of(kind).name));
        return Err(nothing.help("name a catalogue that has some at the top of the build: `catalogue = [\"parts\"]`").into());
    }
    let telling = Telling { units: request.units.into(), currency: catalogue.currency() };
    let stand = Stand::new(knowledge).map_err(|problem| Failure::knowledge(&problem))?;
    let mounted = stand.mount(build.clone()).map_err(|problem| Failure::stand(&request.build, &stand, &build, &problem))?;
    let fits = mounted
        .fits(slot, telling, &catalogue, &limits)
        .map_err(|problem| Failure::stand(&request.build, &stand, &build, &problem))?;
    if request.json {
        let json = serde_json::to_string_pretty(&fits).map_err(|error| Failure::Program(error.to_string()))?;
        printer.result(&format!("{json}\n"))?;
    } else {
        printer.result(&text::fits(&fits, request.most, telling.units, printer))?;
    }
    Ok(())
}
