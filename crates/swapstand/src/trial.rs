//! `try`: a swap on a bike.

use std::path::Path;

use bike::{
    Build, Catalogue, Swap,
    read::{adjust, parse_set, parse_unset, read_build, read_swap},
};
use knowledge::Knowledge;
use source_file::{Problem, Problems};
use stand::{Limits, Stand, Telling, answer::Answer};

use crate::{
    arguments::{Output, Try},
    outcome::Failure,
    printer::Printer,
    terms, text,
};

pub(crate) fn run(request: &Try, knowledge: Knowledge, printer: Printer) -> Result<(), Failure> {
    outputs_named_well(&request.output)?;
    let (build, catalogue) = read_build(&request.build, &knowledge)?;
    let mut problems = Problems::new();
    let mut swap = Swap::default();
    if let Some(path) = &request.swap {
        swap = read_swap(path, &knowledge, &catalogue)?;
    }
    for text in &request.set {
        if let Some((slot, part)) = problems.keep(parse_set(text, &knowledge, &catalogue)) {
            swap.set.retain(|s| s.0 != slot);
            swap.set.push((slot, part));
        }
    }
    for text in &request.unset {
        swap.unset.extend(problems.keep(parse_unset(text, &knowledge)));
    }
    for text in &request.adjust {
        problems.keep(adjust(text, &build, &mut swap, &knowledge));
    }
    let limits = terms::limits(&request.terms, &knowledge, &mut problems);
    problems.unless_any(())?;
    if swap.is_nothing() {
        let nothing = Problem::new("there is nothing to try")
            .help("name a part to fit, `--set fork=PART`, a number to change, `--adjust \"stem_spacers=10 mm\"`, or a swap file, `--swap FILE`")
            .help(format!("`swapstand check {}` reads the bike as it stands", request.build.display()));
        return Err(nothing.into());
    }
    let telling = Telling { units: request.output.units.into(), currency: catalogue.currency() };
    let answer = answer(&request.build, &build, &swap, telling, knowledge, Some((&catalogue, &limits)))?;
    give(&answer, &request.output, printer, false)
}

/// Puts a bike on the stand and tries a swap.
pub(crate) fn answer(
    path: &Path,
    build: &Build,
    swap: &Swap,
    telling: Telling<'_>,
    knowledge: Knowledge,
    market: Option<(&Catalogue, &Limits)>,
) -> Result<Answer, Failure> {
    let stand = Stand::new(knowledge).map_err(|problem| Failure::knowledge(&problem))?;
    let after = build.with(swap, stand.knowledge());
    let mounted = stand.mount(build.clone()).map_err(|problem| Failure::stand(path, &stand, build, &problem))?;
    let answer = match market {
        Some((catalogue, limits)) => mounted.answer_from(swap, telling, catalogue, limits),
        None => mounted.answer(swap, telling),
    };
    answer.map_err(|problem| Failure::stand(path, &stand, &after, &problem))
}

/// Prints an answer and writes the files asked for.
pub(crate) fn give(answer: &Answer, output: &Output, printer: Printer, as_it_stands: bool) -> Result<(), Failure> {
    let units = output.units.into();
    if output.json {
        let json = serde_json::to_string_pretty(answer).map_err(|error| Failure::Program(error.to_string()))?;
        printer.result(&format!("{json}\n"))?;
    } else {
        let detail = if output.full { text::Detail::Full } else { text::Detail::Short };
        printer.result(&text::answer(answer, units, detail, as_it_stands, printer))?;
    }
    for (what, path) in files(output) {
        let bytes = what.written(answer, output, path)?;
        std::fs::write(path, bytes).map_err(|error| Failure::cannot_write(path, &error))?;
        printer.message(&format!("wrote {}\n", path.display()))?;
    }
    Ok(())
}

/// Width of a drawing as PNG: wide enough to print across a page.
const PICTURE_WIDTH: u32 = 1600;

/// What an answer can be written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Document {
    Sheet,
    Drawing,
    Card,
    Animation,
}

/// The files asked for.
fn files(output: &Output) -> impl Iterator<Item = (Document, &Path)> {
    let all = [
        (Document::Sheet, &output.sheet),
        (Document::Drawing, &output.drawing),
        (Document::Card, &output.card),
        (Document::Animation, &output.animation),
    ];
    all.into_iter().filter_map(|(what, path)| path.as_deref().map(|path| (what, path)))
}

impl Document {
    /// What it is called, with its article, and the endings it is known by.
    fn name_and_endings(self) -> (&'static str, [&'static str; 2]) {
        match self {
            Self::Sheet => ("a sheet", ["html", "pdf"]),
            Self::Drawing => ("a drawing", ["svg", "png"]),
            Self::Card => ("a card", ["svg", "png"]),
            Self::Animation => ("an animation", ["svg", "png"]),
        }
    }

    fn written(self, answer: &Answer, output: &Output, path: &Path) -> Result<Vec<u8>, Failure> {
        let (units, paper) = (output.units.into(), output.paper.into());
        let pose = if output.sagged { stand::answer::Pose::Sagged } else { stand::answer::Pose::Unladen };
        let failed = |error: &dyn std::fmt::Display| Failure::Program(error.to_string());
        let first = ending(path).as_deref() == Some(self.name_and_endings().1[0]);
        let picture = match (self, first) {
            (Self::Sheet, true) => return Ok(drawing::sheet::sheet(answer, units, None).into_bytes()),
            (Self::Sheet, false) => return drawing::sheet_pdf::sheet_pdf(answer, units, None).map_err(|error| failed(&error)),
            (Self::Drawing, true) => drawing::picture::svg(answer, pose, units).map(String::into_bytes),
            (Self::Drawing, false) => drawing::picture::png(answer, pose, units, PICTURE_WIDTH),
            (Self::Card, true) => Ok(drawing::card::svg(answer, pose, units, paper).into_bytes()),
            (Self::Card, false) => drawing::card::png(answer, pose, units, paper),
            (Self::Animation, true) => drawing::animation::svg(answer, pose, units, paper).map(String::into_bytes),
            (Self::Animation, false) => drawing::animation::png(answer, pose, units, paper),
        };
        picture.map_err(|error| failed(&error))
    }
}

/// Refuses unknown endings before any work is done.
pub(crate) fn outputs_named_well(output: &Output) -> Result<(), Failure> {
    let mut problems = Problems::new();
    for (what, path) in files(output) {
        let (name, endings) = what.name_and_endings();
        if !ending(path).is_some_and(|e| endings.contains(&e.as_str())) {
            let message = format!("{name} cannot be written as `{}`", path.display());
            problems.push(Problem::new(message).help(format!("end its name in .{} or .{}", endings[0], endings[1])));
        }
    }
    Ok(problems.unless_any(())?)
}

fn ending(path: &Path) -> Option<String> {
    path.extension().map(|e| e.to_string_lossy().to_lowercase())
}
