//! A build file on the stand for a moment: whether it is one, and whether the bike stands.

use bike::{Build, Catalogue, Swap, read::build_from};
use quantity::print::Units;
use source_file::{Problem, Problems, SourceFile};
use stand::{StandProblem, Telling};

use crate::{
    asked::{Asked, Which},
    mistake::Mistake,
    packed::{MOST_PACKED, packed},
    workshop::Workshop,
};

/// Why it does not stand.
#[derive(Debug)]
pub(crate) enum Wrong {
    /// The file is no build.
    File(Problems),
    /// It is, and the bike cannot stand; with the line of the number that the problem is about.
    Stand(StandProblem, Option<usize>),
}

impl Wrong {
    /// All of it, with the lines it is about.
    pub(crate) fn problems(self, file: &SourceFile) -> Problems {
        match self {
            Self::File(problems) => problems,
            Self::Stand(problem, line) => {
                let help = problem.help();
                let message = problem.to_string();
                let problem = match line {
                    Some(line) => {
                        let before: usize = file.text().split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
                        let length = file.text()[before..].lines().next().map_or(0, str::len);
                        Problem::at(file, before..before + length, message)
                    }
                    None => Problem::new(message),
                };
                problem.help_if(help).into()
            }
        }
    }
}

/// Reads a build file and has the bike stand as it is.
pub(crate) fn tried(file: &SourceFile, catalogue: &Catalogue, workshop: &Workshop) -> Result<Build, Wrong> {
    let build = build_from(file, catalogue, workshop.knowledge()).map_err(Wrong::File)?;
    let telling = Telling { units: Units::Metric, currency: catalogue.currency() };
    let answered = workshop.stand.mount(build.clone()).and_then(|mounted| mounted.answer(&Swap::default(), telling));
    match answered {
        Ok(_) => Ok(build),
        Err(problem) => {
            let place = workshop.stand.place_of(&problem, &build).filter(|place| *place.file == *file.name());
            Err(Wrong::Stand(problem, place.map(|place| place.line as usize)))
        }
    }
}

/// A bike of one's own as an address has it.
///
/// # Errors
/// If it is too long for any address.
pub(crate) fn own(text: &str) -> Result<Which, Mistake> {
    let packed = packed(text);
    if packed.len() > MOST_PACKED {
        let long = Problem::new(format!("the bike takes {} bytes of an address", packed.len()));
        let long = long.label("too long").note(format!("{MOST_PACKED} are the most that programs pass on"));
        return Err(long.help("shorten its notes, and leave out what the catalogue says already").into());
    }
    Ok(Which::Own(packed))
}

/// The address of its bench.
pub(crate) fn bench_of(which: Which, bench: &Asked) -> String {
    Asked { bike: which, ..bench.clone() }.address("/bench")
}
