//! What may be spent and changed, from the command line.

use knowledge::{Knowledge, SlotId};
use source_file::{Problem, Problems, closest};
use stand::{Limits, Used};

use crate::arguments::Terms;

/// Reads the limits; what is wrong is reported.
pub(crate) fn limits(terms: &Terms, knowledge: &Knowledge, problems: &mut Problems) -> Limits {
    let mut keep = Vec::new();
    for word in &terms.keep {
        keep.extend(problems.keep(slot(word, knowledge)));
    }
    Limits {
        budget: sum(terms.budget, "--budget", problems),
        keep,
        used: if terms.new { Used::No } else { Used::Allowed },
        rate: sum(terms.rate, "--rate", problems),
    }
}

/// A sum of money that can be.
fn sum(sum: Option<f64>, option: &str, problems: &mut Problems) -> Option<f64> {
    let value = sum?;
    if !value.is_finite() || !(0.0..=1e7).contains(&value) {
        problems.push(Problem::new(format!("`{option}` cannot be {value}")).help("write a sum of money from 0, for example 250"));
    }
    Some(value)
}

/// A place on the bicycle by its id or its name.
pub(crate) fn slot(word: &str, knowledge: &Knowledge) -> Result<SlotId, Problem> {
    let by_name = || knowledge.slots().find(|(_, slot)| slot.name.eq_ignore_ascii_case(word)).map(|slot| slot.0);
    knowledge.slot(word).or_else(by_name).ok_or_else(|| {
        let known = knowledge.slots.iter().map(|slot| slot.id.as_str());
        let problem = Problem::new(format!("there is no place on a bicycle called `{word}`"));
        match closest(word, known.clone()) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem.help(format!("places are: {}", known.collect::<Vec<_>>().join(", "))),
        }
    })
}
