//! A swap file.

use std::path::Path;

use knowledge::{About, AttributeType, KindId, Knowledge, SlotId};
use quantity::Origin;
use source_file::toml_table::{self, Table, Value as TomlValue, What};
use source_file::{Place, Problem, Problems, SourceFile, Text, closest, quoted};

use super::catalogue_file::other_sort;
use super::quantity_text::Wanted;
use super::values::Names;
use super::{Known, Reader, list};
use crate::build::Swap;
use crate::catalogue::Catalogue;
use crate::kinds;

/// Reads a swap; the parts it names stand in the catalogue.
///
/// # Errors
/// All that is wrong in it; see [`crate::read`].
pub fn read_swap(path: &Path, knowledge: &Knowledge, catalogue: &Catalogue) -> Result<Swap, Problems> {
    swap_from(&SourceFile::read(path)?, knowledge, catalogue)
}

/// As [`read_swap`], from a text at hand.
///
/// # Errors
/// All that is wrong in it; see [`crate::read`].
pub fn swap_from(file: &SourceFile, knowledge: &Knowledge, catalogue: &Catalogue) -> Result<Swap, Problems> {
    let mut reader = Reader::new(knowledge);
    let root = toml_table::parse(file, &mut reader.problems);
    let swap = reader.swap(root, file, catalogue);
    reader.done(swap)
}

/// The keys at the top of a swap.
const KEYS: [&str; 5] = ["name", "notes", "set", "unset", "adjust"];

/// The tables whose values a swap may adjust, in the order in which a bare name is looked up.
const ADJUSTABLE: [(&str, About); 3] = [("setup", About::Setup), ("rider", About::Rider), ("chart", About::Chart)];

impl<'k> Reader<'k> {
    fn swap(&mut self, mut root: Table<'_>, file: &SourceFile, catalogue: &Catalogue) -> Option<Swap> {
        if let Some(problem) = other_sort(&root, "a swap", &[("part", "a catalogue"), ("slots", "a build"), ("frame", "a build")])
        {
            return self.refuse(problem);
        }
        let before = self.problems.len();
        let names = Names::new(file);
        let mut swap = Swap::default();
        if let Some(name) = root.get::<Text<'_>>("name", &mut self.problems) {
            swap.name = self.line_of_text("name", &name);
        }
        swap.notes = self.notes(&mut root);
        let mut places: Vec<(SlotId, Place)> = Vec::new();
        let set: Option<Table<'_>> = root.get("set", &mut self.problems);
        let unset: Option<Vec<Text<'_>>> = root.get("unset", &mut self.problems);
        let adjust: Option<Table<'_>> = root.get("adjust", &mut self.problems);
        if let Some(mut table) = set {
            for (key, value) in table.take_rest() {
                let Some(slot) = self.knowledge.slot(&key) else {
                    let problem = self.unknown_slot(&key);
                    self.push(problem);
                    continue;
                };
                places.push((slot, key.place()));
                if let Some(part) = self.slot_part(slot, &key, value, catalogue, &names) {
                    swap.set.push((slot, part));
                }
            }
        }
        for word in unset.unwrap_or_default() {
            let Some(slot) = self.slot_to_empty(&word) else { continue };
            if let Some((_, place)) = places.iter().find(|(taken, _)| *taken == slot) {
                let problem = word.problem(format!("{} is named twice", quoted(&word))).label("left empty here");
                self.push(problem.also(place.clone().label("named here")).help("leave one of them out"));
                continue;
            }
            places.push((slot, word.place()));
            swap.unset.push(slot);
        }
        if let Some(table) = adjust {
            self.adjust_table(table, &mut swap);
        }
        let unreliable = root.is_unreliable();
        self.finish_root(root, &KEYS, ("`[adjust]`", "`[set]`"));
        let idle = swap.set.is_empty() && swap.unset.is_empty() && swap.adjust.is_empty();
        if idle && self.problems.len() == before && !unreliable {
            let problem = Problem::at(file, 0..file.text().lines().next().map_or(0, str::len), "the swap changes nothing");
            self.push(problem.help("name a part to fit under `[set]`, for example `fork = \"…\"`, or a value under `[adjust]`"));
        }
        Some(swap)
    }

    /// The slot a word names, if it may be left empty.
    pub(super) fn slot_to_empty(&mut self, word: &Text<'_>) -> Option<SlotId> {
        let Some(slot) = self.knowledge.slot(word) else {
            let problem = self.unknown_slot(word);
            return self.refuse(problem);
        };
        if Some(slot) == kinds::frame_slot(self.knowledge) {
            let problem = word.problem("a bike cannot stand without its frame").label("cannot be left empty");
            return self.refuse(problem.help("to try another frame, fit that one instead"));
        }
        Some(slot)
    }

    fn adjust_table(&mut self, mut table: Table<'_>, swap: &mut Swap) {
        for (key, value) in table.take_rest() {
            match ADJUSTABLE.iter().find(|(name, _)| *name == key.as_str()) {
                Some((_, about)) => {
                    let wrong_kind = value.wrong_kind("a table");
                    match value.what(&mut self.problems) {
                        Some(What::Table(mut inner)) => {
                            for (key, value) in inner.take_rest() {
                                self.adjust(&key, Some(*about), value, swap);
                            }
                        }
                        Some(_) => self.push(wrong_kind),
                        None => {}
                    }
                }
                None => self.adjust(&key, None, value, swap),
            }
        }
    }

    fn adjust(&mut self, key: &Text<'_>, within: Option<About>, value: TomlValue<'_>, swap: &mut Swap) {
        let Some((known, wanted, origin)) = self.adjustable(key, key, within) else { return };
        let Some(sourced) = wanted.toml(value, origin, &mut self.problems) else { return };
        let quantity = self.with_default_spread(known.id, sourced);
        if swap.adjust.iter().any(|(taken, _)| *taken == known.id) {
            self.push(
                key.problem(format!("{} is adjusted twice", quoted(key))).label("the second time").help("leave one of them out"),
            );
            return;
        }
        swap.adjust.push((known.id, quantity));
    }

    /// The attribute a word adjusts, what is wanted of it, and where its value comes from: within one table, or of the set-up
    /// first and then of rider and chart. `whole` is what messages show ("chart.stak"), `word` the end of it ("stak").
    pub(super) fn adjustable(
        &mut self,
        whole: &Text<'_>,
        word: &str,
        within: Option<About>,
    ) -> Option<(Known<'k>, Wanted<'k>, Origin)> {
        let tables: Vec<(&str, About)> =
            ADJUSTABLE.into_iter().filter(|(_, about)| within.is_none_or(|within| within == *about)).collect();
        let mut names: Vec<String> = Vec::new();
        for (table, about) in tables {
            let Some(kind) = self.knowledge.table(about) else { continue };
            for known in self.known(kind) {
                let AttributeType::Quantity { dimension, least, most } = known.attribute.what else { continue };
                if known.attribute.id == word {
                    let attribute = known.attribute;
                    let wanted = Wanted::of(attribute, dimension, least, most);
                    let origin = if about == About::Chart { Origin::MakersSheet } else { Origin::Measured };
                    return Some((*known, wanted, origin));
                }
                // A bare name of the set-up is enough; the others are told by their table.
                let bare = within.is_some() || about == About::Setup;
                names.push(if bare { known.attribute.id.clone() } else { format!("{table}.{}", known.attribute.id) });
            }
        }
        let problem = whole.problem(format!("nothing called {} can be adjusted", quoted(whole)));
        // Among the longer names, the end is what was meant: `stac` for `chart.stack`.
        let ends = names.iter().map(|name| name.rsplit('.').next().unwrap_or(name));
        let meant = closest(word, ends).and_then(|end| names.iter().find(|name| name.rsplit('.').next() == Some(end)));
        let prefix = whole.strip_suffix(word).unwrap_or_default();
        self.refuse(match (meant, self.slot_with(word)) {
            (Some(meant), _) => problem.label(format!("did you mean `{prefix}{meant}`?")),
            (None, Some(slot)) => problem.label("belongs to a part").help(format!(
                "to change a value of a part, name its place, `--adjust {slot}.{word}=…`; in a file, fit the part with it under `[set]`: `{slot} = {{ part = \"…\", {word} = \"…\" }}`"
            )),
            (None, None) => problem.label("unknown").help(format!("can be adjusted: {}", list(names.iter().map(String::as_str)))),
        })
    }

    /// The first slot whose part has an attribute of this name.
    fn slot_with(&self, word: &str) -> Option<&str> {
        let has = |kind: KindId| self.known(kind).iter().any(|known| known.attribute.id == word);
        self.knowledge.slots().find(|(_, slot)| has(slot.kind)).map(|(_, slot)| slot.id.as_str())
    }
}
