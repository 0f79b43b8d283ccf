//! A build file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use knowledge::{About, Knowledge};
use quantity::Origin;
use source_file::toml_table::{self, Table, Value as TomlValue, What, unknown_key};
use source_file::{Problem, Problems, SourceFile, Text, closest, quoted};

use super::Reader;
use super::catalogue_file::{Shelf, other_sort};
use super::values::Names;
use crate::build::Build;
use crate::catalogue::Catalogue;
use crate::kinds;
use crate::value::Values;

/// The keys at the top of a build.
const KEYS: [&str; 7] = ["name", "notes", "catalogue", "rider", "setup", "frame", "slots"];

/// The longest remark that is kept, in bytes.
const LONGEST_NOTE_BYTES: usize = 4000;

/// Reads a build and the catalogues it names (`catalogue = ["parts"]`, relative to the build file).
///
/// # Errors
/// All that is wrong in the build or in its catalogues; see [`crate::read`].
pub fn read_build(path: &Path, knowledge: &Knowledge) -> Result<(Build, Catalogue), Problems> {
    let file = SourceFile::read(path)?;
    let mut reader = Reader::new(knowledge);
    let mut root = toml_table::parse(&file, &mut reader.problems);
    let mut shelf = Shelf::default();
    if let Some(paths) = reader.paths(&mut root, "catalogue") {
        let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
        for named in &paths {
            reader.catalogue_path(&folder.join(named.as_str()), Some(named), &mut shelf);
        }
    }
    let build = reader.build(root, &file, &shelf.catalogue);
    reader.done(build.map(|build| (build, shelf.catalogue)))
}

/// Whether a file looks like a build: it names a frame or slots, and lists no parts as a catalogue does.
pub fn is_build(path: &Path) -> bool {
    std::fs::read_to_string(path).is_ok_and(|text| {
        text.lines().any(|line| line.starts_with("[frame") || line.starts_with("[slots"))
            && !text.lines().any(|line| line.starts_with("[[part]]"))
    })
}

/// Reads a build against a catalogue at hand. A `catalogue` that the build names is not read: the one at hand stands for it.
///
/// # Errors
/// All that is wrong in the build; see [`crate::read`].
pub fn build_from(file: &SourceFile, catalogue: &Catalogue, knowledge: &Knowledge) -> Result<Build, Problems> {
    let mut reader = Reader::new(knowledge);
    let mut root = toml_table::parse(file, &mut reader.problems);
    reader.paths(&mut root, "catalogue");
    let build = reader.build(root, file, catalogue);
    reader.done(build)
}

impl Reader<'_> {
    /// The files and folders a file names: one text or a list of them.
    pub(super) fn paths<'f>(&mut self, root: &mut Table<'f>, key: &'static str) -> Option<Vec<Text<'f>>> {
        let value: TomlValue<'_> = root.get(key, &mut self.problems)?;
        let wrong_kind = value.wrong_kind("a file or folder in quotes, or a list of these");
        match value.what(&mut self.problems) {
            Some(What::Text(text)) => Some(vec![text]),
            Some(What::List(entries)) => {
                let mut texts = Vec::new();
                for entry in entries {
                    let wrong_kind = entry.wrong_kind("a file or folder in quotes");
                    match entry.what(&mut self.problems) {
                        Some(What::Text(text)) => texts.push(text),
                        Some(_) => self.push(wrong_kind),
                        None => {}
                    }
                }
                Some(texts)
            }
            Some(_) => self.refuse(wrong_kind),
            None => None,
        }
    }

    fn build(&mut self, mut root: Table<'_>, file: &SourceFile, catalogue: &Catalogue) -> Option<Build> {
        if let Some(problem) = other_sort(&root, "a build", &[("part", "a catalogue"), ("set", "a swap")]) {
            return self.refuse(problem);
        }
        if file.text().trim().is_empty() {
            let problem = Problem::at(file, 0..0, "the build is empty");
            return self.refuse(problem.help("a build has a `name`, a `[frame]` and its parts under `[slots]`"));
        }
        let names = Names::new(file);
        let mut build = Build::default();
        let missing =
            (!root.has("name") && !root.is_unreliable()).then(|| root.missing("name", "what the bike is called, in quotes"));
        if let Some(name) = root.get::<Text<'_>>("name", &mut self.problems) {
            build.name = self.line_of_text("name", &name).unwrap_or_default();
        }
        build.notes = self.notes(&mut root);
        build.rider = self.table_of(&mut root, "rider", About::Rider, &names);
        build.setup = self.table_of(&mut root, "setup", About::Setup, &names);
        if let Some(slot) = kinds::frame_slot(self.knowledge) {
            let key = root.key_span("frame").map(|span| Text::new(file, span, "frame"));
            if let (Some(key), Some(table)) = (key, root.get::<Table<'_>>("frame", &mut self.problems)) {
                let kind = self.knowledge.slot_of(slot).kind;
                if let Some(frame) = self.written_out(table, kind, &key, catalogue, &names) {
                    build.fit(slot, Arc::new(frame));
                }
            }
        }
        if let Some(table) = root.get::<Table<'_>>("slots", &mut self.problems) {
            self.slots(table, &mut build, catalogue, &names);
        }
        let seen = self.finish_root(root, &KEYS, ("`[setup]`", "`[slots]`"));
        if let Some(missing) = missing.filter(|_| !seen.contains(&"name")) {
            self.push(missing);
        }
        Some(build)
    }

    /// Remarks: one text or a list of texts.
    pub(super) fn notes(&mut self, root: &mut Table<'_>) -> Vec<String> {
        let Some(value) = root.get::<TomlValue<'_>>("notes", &mut self.problems) else { return Vec::new() };
        let wrong_kind = value.wrong_kind("a text in quotes, or a list of these");
        let entries = match value.what(&mut self.problems) {
            Some(What::Text(text)) => vec![text],
            Some(What::List(entries)) => {
                let mut texts = Vec::new();
                for entry in entries {
                    let wrong_kind = entry.wrong_kind("a text in quotes");
                    match entry.what(&mut self.problems) {
                        Some(What::Text(text)) => texts.push(text),
                        Some(_) => self.push(wrong_kind),
                        None => {}
                    }
                }
                texts
            }
            Some(_) => {
                self.push(wrong_kind);
                Vec::new()
            }
            None => Vec::new(),
        };
        for text in entries.iter().filter(|text| text.len() > LONGEST_NOTE_BYTES) {
            self.push(
                text.problem(format!("a note of {} bytes", text.len())).label(format!("{LONGEST_NOTE_BYTES} are the most")),
            );
        }
        entries.into_iter().map(Text::into_string).collect()
    }

    fn table_of(&mut self, root: &mut Table<'_>, key: &'static str, about: About, names: &Names<'_>) -> Values {
        match (root.get::<Table<'_>>(key, &mut self.problems), self.knowledge.table(about)) {
            (Some(table), Some(kind)) => self.values(table, kind, Origin::Measured, names, &[]).values,
            _ => Values::new(),
        }
    }

    fn slots(&mut self, mut table: Table<'_>, build: &mut Build, catalogue: &Catalogue, names: &Names<'_>) {
        for (key, value) in table.take_rest() {
            let frame = kinds::frame_slot(self.knowledge);
            match self.knowledge.slot(&key) {
                Some(slot) if Some(slot) == frame => {
                    let problem = key.problem("the frame has a table of its own").label("not among the slots");
                    self.push(problem.help("write it as `[frame]` with `part = \"…\"`, or with its chart under `[frame.chart]`"));
                }
                Some(slot) => {
                    if let Some(part) = self.slot_part(slot, &key, value, catalogue, names) {
                        build.fit(slot, part);
                    }
                }
                None => {
                    let problem = self.unknown_slot(&key);
                    self.push(problem);
                }
            }
        }
    }

    /// The problem of a word that is no slot.
    pub(super) fn unknown_slot(&self, key: &Text<'_>) -> Problem {
        // A kind is easily taken for its slot: `tyre` for `front_tyre` and `rear_tyre`.
        let of_kind: Vec<&str> = self
            .knowledge
            .slots()
            .filter(|(_, slot)| {
                let kind = self.knowledge.kind_of(slot.kind);
                kind.id == **key || kind.name.eq_ignore_ascii_case(key) || slot.name.eq_ignore_ascii_case(key)
            })
            .map(|(_, slot)| slot.id.as_str())
            .collect();
        let known: Vec<&str> = self.knowledge.slots().map(|(_, slot)| slot.id.as_str()).collect();
        let problem = unknown_key(key, known.into_iter());
        let problem = Problem { message: format!("there is no slot called {}", quoted(key)), ..problem };
        if of_kind.is_empty() {
            return problem;
        }
        let meant = of_kind.iter().map(|slot| format!("`{slot}`")).collect::<Vec<_>>().join(" or ");
        Problem { help: Vec::new(), ..problem }.label(format!("did you mean {meant}?"))
    }

    /// Reports the keys at the top of a file that nobody asked for; one that belongs in a table says in which (`homes`: that of
    /// values of the set-up, that of parts). Returns the keys that misspelt ones were meant for.
    pub(super) fn finish_root<'a>(&mut self, mut root: Table<'_>, known: &[&'a str], homes: (&str, &str)) -> Vec<&'a str> {
        let mut meant = Vec::new();
        for (key, _) in root.take_rest() {
            let home = self.home_of(&key, None).map(|home| if home == "`[setup]`" { homes.0.to_owned() } else { home });
            let home = home.or_else(|| self.knowledge.slot(&key).map(|_| homes.1.to_owned()));
            let problem = if let Some(home) = home {
                key.problem(format!("nothing is called {} here", quoted(&key))).label(format!("belongs in {home}"))
            } else {
                meant.extend(closest(&key, known.iter().copied()));
                unknown_key(&key, known.iter().copied())
            };
            self.push(problem);
        }
        meant
    }
}
