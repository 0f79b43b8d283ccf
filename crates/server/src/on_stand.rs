//! What is on the stand: the words of an address looked up.

use std::sync::Arc;

use bike::{
    Build, Catalogue, Part, Swap,
    read::{adjust, build_from, parse_set, parse_unset},
};
use knowledge::{Knowledge, SlotId};
use quantity::print::Units;
use source_file::{Problem, Problems, SourceFile, closest};
use stand::{
    Limits, Mounted, StandProblem, Telling, Used,
    answer::{Answer, Extras, Fits, Pose},
};

use crate::{
    asked::{Asked, Which},
    mistake::Mistake,
    packed::unpacked,
    told,
    workshop::{Offered, Workshop},
};

/// The most that is looked up at once: more than there are places and numbers to change on a bicycle would only take time.
const MOST_SAID: usize = 400;

/// A bike with a swap to try.
#[derive(Debug)]
pub(crate) struct OnStand<'w> {
    pub(crate) workshop: &'w Workshop,
    /// If it is one of the workshop's.
    offered: Option<&'w Offered>,
    pub(crate) build: Arc<Build>,
    pub(crate) catalogue: Arc<Catalogue>,
    pub(crate) swap: Swap,
    /// Parts of the swap as the catalogue has them, before numbers of theirs are changed.
    pub(crate) fitted: Vec<(SlotId, Arc<Part>)>,
    pub(crate) limits: Limits,
    pub(crate) units: Units,
    pub(crate) pose: Pose,
    /// What was made of the draft.
    pub(crate) kept: Option<writing::Kept>,
}

impl<'w> OnStand<'w> {
    /// Looks the words up.
    pub(crate) fn new(asked: &Asked, workshop: &'w Workshop) -> Result<Self, Mistake> {
        let said = asked.set.len() + asked.off.len() + asked.adjust.len() + asked.keep.len();
        if said > MOST_SAID {
            let much = Problem::new(format!("{said} words are said of one bike"));
            return Err(much.help(format!("say no more than {MOST_SAID}")).into());
        }
        let knowledge = workshop.knowledge();
        let offered = match &asked.bike {
            Which::Offered(id) => Some(offered(id, workshop)?),
            Which::None | Which::Own(_) => None,
        };
        let (build, catalogue) = bike(asked, offered, workshop)?;
        let mut problems = Problems::new();
        let mut swap = Swap::default();
        for (slot, part) in &asked.set {
            swap.set.extend(problems.keep(parse_set(&format!("{slot}={part}"), knowledge, &catalogue)));
        }
        for slot in &asked.off {
            swap.unset.extend(problems.keep(parse_unset(slot, knowledge)));
        }
        let fitted = swap.set.clone();
        for (name, value) in &asked.adjust {
            problems.keep(adjust(&format!("{name}={value}"), &build, &mut swap, knowledge));
        }
        let kept = asked.text.as_deref().and_then(|text| problems.keep(told::kept(text)));
        let limits = Limits {
            budget: sum(asked.budget.as_deref(), "budget", &mut problems),
            rate: sum(asked.rate.as_deref(), "rate", &mut problems),
            keep: asked.keep.iter().filter_map(|word| problems.keep(slot(word, knowledge))).collect(),
            used: if asked.new_only { Used::No } else { Used::Allowed },
        };
        problems.unless_any(())?;
        let units = if asked.imperial { Units::Imperial } else { Units::Metric };
        let pose = if asked.aboard { Pose::Sagged } else { Pose::Unladen };
        Ok(Self { workshop, offered, build, catalogue, swap, fitted, limits, units, pose, kept })
    }

    /// The part a slot has on the bench, its numbers unchanged.
    pub(crate) fn part(&self, slot: SlotId) -> Option<&Arc<Part>> {
        let fitted = self.fitted.iter().find(|fitted| fitted.0 == slot).map(|fitted| &fitted.1);
        fitted.or_else(|| self.build.part(slot).filter(|_| !self.swap.unset.contains(&slot)))
    }

    fn telling(&self) -> Telling<'_> {
        Telling { units: self.units, currency: self.catalogue.currency() }
    }

    fn mounted(&self) -> Result<Arc<Mounted>, StandProblem> {
        let stand = &self.workshop.stand;
        self.offered.map_or_else(|| stand.mount(Arc::clone(&self.build)).map(Arc::new), |offered| offered.mounted(stand))
    }

    /// The answer without what a catalogue has to say, nor what each ± comes from: what a slider waits for.
    pub(crate) fn quick_answer(&self) -> Result<Answer, Mistake> {
        Ok(self.mounted()?.answer_in_short(&self.swap, self.telling())?)
    }

    /// The whole answer.
    pub(crate) fn answer(&self) -> Result<Answer, Mistake> {
        Ok(self.mounted()?.answer_from(&self.swap, self.telling(), &self.catalogue, &self.limits)?)
    }

    /// What else the swap takes, alone.
    pub(crate) fn extras(&self) -> Result<Extras, Mistake> {
        Ok(self.mounted()?.extras(&self.swap, self.telling(), &self.catalogue, &self.limits)?)
    }

    /// Every part of the catalogue for a slot.
    pub(crate) fn fits(&self, slot: SlotId) -> Result<Fits, Mistake> {
        Ok(self.mounted()?.fits(slot, self.telling(), &self.catalogue, &self.limits)?)
    }

    /// The same, remembered: somebody narrows the list word by word.
    pub(crate) fn fits_again(&self, asked: &Asked, slot: SlotId) -> Result<Arc<Fits>, Mistake> {
        let address = asked.address_with("", &[("slot", &self.workshop.knowledge().slot_of(slot).id)]);
        self.workshop.remembered.fits(&address, || self.fits(slot))
    }
}

fn bike(asked: &Asked, offered: Option<&Offered>, workshop: &Workshop) -> Result<(Arc<Build>, Arc<Catalogue>), Mistake> {
    if let Some(offered) = offered {
        return Ok((Arc::clone(&offered.build), Arc::clone(&offered.catalogue)));
    }
    let Which::Own(packed) = &asked.bike else {
        return Err(Problem::new("no bike is named").help("choose one on the first page").into());
    };
    let build = build_from(&own_file(packed)?, &workshop.catalogue, workshop.knowledge())?;
    Ok((Arc::new(build), Arc::clone(&workshop.catalogue)))
}

/// A bike of the workshop by its name in an address.
pub(crate) fn offered<'w>(id: &str, workshop: &'w Workshop) -> Result<&'w Offered, Mistake> {
    workshop.bike(id).ok_or_else(|| {
        let near = closest(id, workshop.bikes.iter().map(|bike| bike.id.as_str()));
        Mistake::NotFound(
            Problem::new(format!("there is no bike called {}", source_file::quoted(id)))
                .help_if(near.map(|near| format!("did you mean `{near}`?"))),
        )
    })
}

/// The file of a bike of one's own.
pub(crate) fn own_file(packed: &str) -> Result<SourceFile, Mistake> {
    let text = unpacked(packed)
        .ok_or_else(|| Problem::new("the address is damaged: the bike in it cannot be read").help("copy the whole address"))?;
    Ok(SourceFile::from_text("your bike", text))
}

/// A place on the bicycle by its id.
pub(crate) fn slot(word: &str, knowledge: &Knowledge) -> Result<SlotId, Problem> {
    knowledge.slot(word).ok_or_else(|| {
        let near = closest(word, knowledge.slots.iter().map(|slot| slot.id.as_str()));
        Problem::new(format!("there is no place on a bicycle called {}", source_file::quoted(word)))
            .help_if(near.map(|near| format!("did you mean `{near}`?")))
    })
}

/// A sum of money that can be.
fn sum(word: Option<&str>, key: &str, problems: &mut Problems) -> Option<f64> {
    let word = word?;
    match word.parse::<f64>() {
        Ok(sum) if (0.0..=1e7).contains(&sum) => Some(sum),
        _ => {
            let wrong = Problem::new(format!("`{key}` cannot be {}", source_file::quoted(word)));
            problems.push(wrong.help("write a sum of money from 0, for example 250"));
            None
        }
    }
}
