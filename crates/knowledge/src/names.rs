//! Looking entries up by id, and saying so if there is no such entry.

use std::collections::BTreeMap;

use source_file::{Place, Problems, Text, closest};

use crate::ids::{AttributeId, CautionId, FamilyId, KindId, OutputId, SlotId, SourceId, ToolId};

/// The ids of one list.
#[derive(Clone, Debug)]
pub(crate) struct Register<T> {
    /// What its entries are called: "source".
    what: &'static str,
    /// In alphabetical order, so that of two suggestions as near the same is given every time.
    ids: BTreeMap<String, (T, Place)>,
    /// An entry could not be read, so that what seems to be missing may be there.
    incomplete: bool,
}

impl<T: Copy> Register<T> {
    pub(crate) const fn of(what: &'static str) -> Self {
        Self { what, ids: BTreeMap::new(), incomplete: false }
    }

    /// What an id stands for.
    pub(crate) fn get(&self, id: &str) -> Option<T> {
        self.ids.get(id).map(|found| found.0)
    }

    /// Enters an id. One that is there already is a problem, and so is one too many (`entry` is then none).
    pub(crate) fn enter(&mut self, id: &Text<'_>, entry: Option<T>, problems: &mut Problems) {
        let what = self.what;
        let Some(entry) = entry else {
            // One of these says it for all that follow.
            if !self.incomplete {
                problems.push(id.problem(format!("there are more than {} of {what}", u16::MAX)).label("one too many"));
            }
            self.incomplete = true;
            return;
        };
        if let Some((_, first)) = self.ids.get(id.as_str()) {
            let problem = id.problem(format!("a second {what} `{}`", id.as_str())).label("again");
            problems.push(problem.also(first.clone().label("first here")).help("give it another id"));
        } else {
            self.ids.insert(id.as_str().to_owned(), (entry, id.place()));
        }
    }

    /// Notes that an entry could not be read: what speaks of it is not wrong on top.
    pub(crate) fn spoil(&mut self) {
        self.incomplete = true;
    }

    /// True if what seems to be missing may be there.
    pub(crate) const fn is_incomplete(&self) -> bool {
        self.incomplete
    }

    /// What a text stands for, with a suggestion if it is nothing.
    pub(crate) fn known(&self, text: &Text<'_>, problems: &mut Problems) -> Option<T> {
        self.known_as(text, text.as_str(), problems)
    }

    /// What a word of a text stands for, with a suggestion if it is nothing.
    pub(crate) fn known_as(&self, text: &Text<'_>, word: &str, problems: &mut Problems) -> Option<T> {
        let found = self.get(word);
        if found.is_none() && !self.incomplete {
            let near = closest(word, self.ids());
            let problem = text.problem(format!("there is no {} `{word}`", self.what));
            problems.push(problem.help_if(near.map(|near| format!("did you mean `{near}`?"))));
        }
        found
    }

    /// All ids, in alphabetical order.
    pub(crate) fn ids(&self) -> impl Iterator<Item = &str> {
        self.ids.keys().map(String::as_str)
    }
}

/// The ids of all lists.
#[derive(Clone, Debug)]
pub(crate) struct Names {
    pub(crate) kinds: Register<KindId>,
    pub(crate) slots: Register<SlotId>,
    /// By kind.
    pub(crate) attributes: Vec<Register<AttributeId>>,
    pub(crate) sources: Register<SourceId>,
    pub(crate) tools: Register<ToolId>,
    pub(crate) outputs: Register<OutputId>,
    pub(crate) cautions: Register<CautionId>,
    pub(crate) families: Register<FamilyId>,
    pub(crate) margins: Register<usize>,
    pub(crate) works: Register<usize>,
}

impl Default for Names {
    fn default() -> Self {
        Self {
            kinds: Register::of("kind"),
            slots: Register::of("slot"),
            attributes: Vec::new(),
            sources: Register::of("source"),
            tools: Register::of("tool"),
            outputs: Register::of("output"),
            cautions: Register::of("caution"),
            families: Register::of("family"),
            margins: Register::of("rule"),
            works: Register::of("work"),
        }
    }
}
