//! `parts`: looking parts up.

use std::{path::PathBuf, sync::Arc};

use bike::{
    Catalogue, Part,
    read::{is_build, read_build, read_catalogue},
};
use knowledge::Knowledge;
use serde_json::json;
use source_file::{Problem, Problems, closest};

use crate::{arguments::Parts, outcome::Failure, printer::Printer, text};

pub(crate) fn run(request: &Parts, knowledge: &Knowledge, printer: Printer) -> Result<(), Failure> {
    let kind = request.kind.as_deref().map(|word| kind(word, knowledge)).transpose()?;
    let catalogue = load(&request.files, knowledge)?;
    let words: Vec<String> = request.find.iter().flat_map(|w| w.split_whitespace()).map(str::to_lowercase).collect();
    let found: Vec<&Arc<Part>> = catalogue
        .iter()
        .filter(|part| kind.is_none_or(|k| part.kind == k))
        .filter(|part| {
            let id = part.id.as_deref().unwrap_or_default();
            let about = format!("{id} {} {}", part.name, part.maker.as_deref().unwrap_or_default()).to_lowercase();
            words.iter().all(|w| about.contains(w))
        })
        .collect();
    if request.json {
        let list: Vec<_> = found
            .iter()
            .map(|part| {
                json!({
                    "id": part.id, "kind": knowledge.kind_of(part.kind).id, "name": part.name, "maker": part.maker,
                    "figures": part.figures(knowledge), "price": part.price, "mass_kg": part.mass.map(quantity::Quantity::value),
                })
            })
            .collect();
        let json = serde_json::to_string_pretty(&json!({ "currency": catalogue.currency(), "parts": list }))
            .map_err(|error| Failure::Program(error.to_string()))?;
        printer.result(&format!("{json}\n"))?;
    } else {
        printer.result(&text::parts(&found, knowledge, catalogue.currency(), request.units.into(), printer))?;
    }
    Ok(())
}

/// A kind by its id, or the kind that goes into a slot.
fn kind(word: &str, knowledge: &Knowledge) -> Result<knowledge::KindId, Failure> {
    knowledge.kind(word).or_else(|| knowledge.slot(word).map(|s| knowledge.slot_of(s).kind)).ok_or_else(|| {
        let known = knowledge.kinds.iter().map(|k| k.id.as_str());
        let help = closest(word, known.clone()).map_or_else(
            || format!("kinds are: {}", known.clone().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        Failure::from(Problem::new(format!("there is no kind of part `{word}`")).help(help))
    })
}

/// The catalogue of a build, or catalogue files and folders themselves.
fn load(files: &[PathBuf], knowledge: &Knowledge) -> Result<Catalogue, Failure> {
    if let [only] = files
        && only.extension().is_some_and(|e| e == "toml")
        && is_build(only)
    {
        return Ok(read_build(only, knowledge)?.1);
    }
    read_catalogue(files, knowledge).map_err(|problems: Problems| problems.into())
}
