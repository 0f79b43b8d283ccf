//! Catalogues: files and folders, TOML and CSV, with what they include.

use std::collections::HashMap;
use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use knowledge::Knowledge;
use source_file::toml_table::{self, FromValue, Table, Value, What};
use source_file::{Place, Problem, Problems, SourceFile, Text, closest, quoted};

use super::Reader;
use super::values::Names;
use crate::catalogue::Catalogue;
use crate::part::Part;

/// How deep catalogues may include each other. Nobody needs more than two; this ends a chain that a program wrote.
pub const MOST_INCLUDE_DEPTH: usize = 16;

/// Reads catalogues: `.toml` and `.csv` files, and folders of these (not the folders in them). A file that is named twice, or
/// included by several, is read once.
///
/// # Errors
/// All that is wrong in any of the files; see [`crate::read`].
pub fn read_catalogue<P: AsRef<Path>>(paths: &[P], knowledge: &Knowledge) -> Result<Catalogue, Problems> {
    let mut reader = Reader::new(knowledge);
    let mut shelf = Shelf::default();
    for path in paths {
        reader.catalogue_path(path.as_ref(), None, &mut shelf);
    }
    reader.done(Some(shelf.catalogue))
}

/// Reads one catalogue from a text at hand: CSV if its name ends in `.csv`, else TOML. It stands in no folder, so it can include
/// nothing.
///
/// # Errors
/// All that is wrong in it; see [`crate::read`].
pub fn catalogue_from(file: &SourceFile, knowledge: &Knowledge) -> Result<Catalogue, Problems> {
    catalogue_of(std::slice::from_ref(file), knowledge)
}

/// The same of several texts, which together are one catalogue.
///
/// # Errors
/// All that is wrong in them; see [`crate::read`].
pub fn catalogue_of(files: &[SourceFile], knowledge: &Knowledge) -> Result<Catalogue, Problems> {
    let mut reader = Reader::new(knowledge);
    let mut shelf = Shelf::default();
    for file in files {
        if is_csv(Path::new(file.name())) {
            reader.catalogue_csv(file, &mut shelf);
        } else {
            reader.catalogue_toml(file, None, &mut shelf);
        }
    }
    reader.done(Some(shelf.catalogue))
}

/// What is read so far.
#[derive(Default)]
pub(super) struct Shelf {
    pub(super) catalogue: Catalogue,
    /// Where each id stands, to show both places of a double one.
    places: HashMap<String, Place>,
    /// Where the currency was stated first.
    currency: Option<Place>,
    /// Files that were read, or are being read, by their true path.
    read: HashSet<PathBuf>,
    /// The files that are being read, each included by the one before: true path and name.
    chain: Vec<(PathBuf, String)>,
}

impl Reader<'_> {
    /// A file, or a folder of files. `named` is the text that names it in another file.
    pub(super) fn catalogue_path(&mut self, path: &Path, named: Option<&Text<'_>>, shelf: &mut Shelf) {
        if !path.is_dir() {
            self.catalogue_file(path, named, shelf);
            return;
        }
        let shown = quoted(&path.display().to_string());
        let files = match files_in(path) {
            Ok(files) => files,
            Err(error) => {
                self.catalogue_is_missing = true;
                self.push(placed(Problem::new(format!("cannot read the folder {shown}: {error}")), named));
                return;
            }
        };
        if files.is_empty() {
            let problem = Problem::new(format!("there is no catalogue in the folder {shown}"));
            self.push(placed(problem, named).help("a catalogue is a `.toml` or a `.csv` file"));
            self.catalogue_is_missing = true;
        }
        for file in files {
            self.catalogue_file(&file, named, shelf);
        }
    }

    fn catalogue_file(&mut self, path: &Path, named: Option<&Text<'_>>, shelf: &mut Shelf) {
        if path.exists() && !is_catalogue(path) {
            let problem = Problem::new(format!("{} is no catalogue", quoted(&path.display().to_string())));
            self.push(placed(problem, named).help("a catalogue is a `.toml` or a `.csv` file, or a folder of these"));
            self.catalogue_is_missing = true;
            return;
        }
        if !path.exists() && !is_catalogue(path) {
            self.catalogue_is_missing = true;
            self.push(placed(nothing_called(path), named));
            return;
        }
        // A path that cannot be resolved cannot be read either, and reading it says why.
        let true_path = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
        if let Some(start) = shelf.chain.iter().position(|(open, _)| *open == true_path) {
            let around: Vec<&str> = shelf.chain[start..].iter().map(|(_, name)| name.as_str()).collect();
            let problem = Problem::new("these catalogues include each other in a circle").note(circle(&around));
            self.push(placed(problem, named).label("closes the circle").help("leave this `include` out"));
            return;
        }
        if shelf.chain.len() > MOST_INCLUDE_DEPTH {
            let problem = Problem::new(format!("catalogues include each other more than {MOST_INCLUDE_DEPTH} deep"));
            self.push(placed(problem, named).help("let one file include all the others"));
            return;
        }
        if !shelf.read.insert(true_path.clone()) {
            return;
        }
        let file = match SourceFile::read(path) {
            Ok(file) => file,
            Err(problem) => {
                self.catalogue_is_missing = true;
                self.push(placed(problem, named));
                return;
            }
        };
        shelf.chain.push((true_path, file.name().to_owned()));
        if is_csv(path) {
            self.catalogue_csv(&file, shelf);
        } else {
            self.catalogue_toml(&file, path.parent(), shelf);
        }
        shelf.chain.pop();
    }

    /// `folder` is where includes are looked for.
    fn catalogue_toml(&mut self, file: &SourceFile, folder: Option<&Path>, shelf: &mut Shelf) {
        let before = self.problems.len();
        let mut root = toml_table::parse(file, &mut self.problems);
        let garbled = self.problems.len() > before;
        if let Some(problem) = other_sort(&root, "a catalogue", &[("slots", "a build"), ("set", "a swap")]) {
            self.push(problem);
            self.catalogue_is_missing = true;
            return;
        }
        if let Some(currency) = root.get::<Text<'_>>("currency", &mut self.problems) {
            self.currency(&currency, shelf);
        }
        if let Some(includes) = self.paths(&mut root, "include") {
            for include in &includes {
                match folder {
                    Some(folder) => self.catalogue_path(&folder.join(include.as_str()), Some(include), shelf),
                    None => self.push(include.problem("nothing can be included here").label("this text stands in no folder")),
                }
            }
        }
        let names = Names::new(file);
        let has_parts = root.has("part");
        for table in self.part_tables(&mut root) {
            if let Some((part, span)) = self.catalogue_part(table, &names) {
                self.shelve(part, file.place(span), shelf);
            }
        }
        let said_nothing = self.problems.len() == before && !has_parts;
        root.also_known(["part"]);
        root.finish(&mut self.problems);
        self.catalogue_is_missing |= garbled;
        if said_nothing && file.text().trim().is_empty() {
            self.push(Problem::at(file, 0..0, "the catalogue is empty").help("start a part with `[[part]]`"));
        }
    }

    /// The tables under `[[part]]`.
    fn part_tables<'f>(&mut self, root: &mut Table<'f>) -> Vec<Table<'f>> {
        let Some(value) = root.get::<Value<'_>>("part", &mut self.problems) else { return Vec::new() };
        let wrong_kind = value.wrong_kind("parts, each under `[[part]]`");
        match value.what(&mut self.problems) {
            Some(What::List(entries)) => {
                entries.into_iter().filter_map(|entry| Table::from_value(entry, &mut self.problems)).collect()
            }
            Some(What::Table(_)) => {
                self.push(wrong_kind.help("write `[[part]]`, with two brackets"));
                Vec::new()
            }
            Some(_) => {
                self.push(wrong_kind);
                Vec::new()
            }
            None => Vec::new(),
        }
    }

    fn currency(&mut self, currency: &Text<'_>, shelf: &mut Shelf) {
        let Some(word) = self.line_of_text("currency", currency) else { return };
        match (shelf.catalogue.currency(), &shelf.currency) {
            (Some(before), Some(place)) if before != word => {
                let problem = currency.problem("two catalogues state prices in two currencies").label(format!("{word} here"));
                let problem = problem.also(place.clone().label(format!("{before} here")));
                self.push(problem.help("state all prices in one currency"));
            }
            (Some(_), _) => {}
            (None, _) => {
                shelf.catalogue.set_currency(word);
                shelf.currency = Some(currency.place());
            }
        }
    }

    /// Puts a part on the shelf, unless its id is taken.
    pub(super) fn shelve(&mut self, part: Part, place: Place, shelf: &mut Shelf) {
        let Some(id) = part.id.clone() else { return };
        if shelf.catalogue.add(part).is_ok() {
            shelf.places.insert(id, place);
            return;
        }
        let shown = quoted(&id);
        let mut problem = Problem { place: Some(Box::new(place)), ..Problem::new(format!("two parts have the id {shown}")) };
        problem = problem.label("the second");
        if let Some(first) = shelf.places.get(&id) {
            problem = problem.also(first.clone().label("the first"));
        }
        self.push(problem.help("give one of them another id"));
    }
}

fn is_csv(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"))
}

fn is_catalogue(path: &Path) -> bool {
    is_csv(path) || path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"))
}

/// The catalogue files of a folder, by name.
fn files_in(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_file() && is_catalogue(&path) {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Neither a file nor a folder: names the one beside it that was probably meant.
fn nothing_called(path: &Path) -> Problem {
    let problem = Problem::new(format!("there is no file or folder {}", quoted(&path.display().to_string())));
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| entry.path().is_dir() || is_catalogue(&entry.path()))
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    let wanted = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    match closest(&wanted, beside.iter().map(String::as_str)) {
        Some(meant) => problem.help(format!("did you mean {}?", quoted(meant))),
        None => problem,
    }
}

/// The same problem at the text that names the file, unless it has a place in the file itself.
fn placed(problem: Problem, named: Option<&Text<'_>>) -> Problem {
    match named {
        Some(named) if problem.place.is_none() => Problem { place: Some(Box::new(named.place())), ..problem },
        Some(named) => problem.also(named.place().label("named here")),
        None => problem,
    }
}

/// "a.toml → b.toml → a.toml".
fn circle(names: &[&str]) -> String {
    let around = names.iter().chain(names.first());
    around.copied().collect::<Vec<_>>().join(" → ")
}

/// A file that is plainly of another sort than the one that is read: one problem says so, instead of one for each line of it.
pub(super) fn other_sort(root: &Table<'_>, wanted: &str, signs: &[(&str, &str)]) -> Option<Problem> {
    let (key, sort) = signs.iter().find(|(key, _)| root.has(key))?;
    let span = root.key_span(key)?;
    let name = quoted(root.file().name());
    Some(Problem::at(root.file(), span, format!("{name} is {sort}, not {wanted}")).label(format!("only {sort} has `{key}`")))
}
