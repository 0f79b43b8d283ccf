//! Where the knowledge is written.

use std::path::Path;

use source_file::{Problem, Problems, SourceFile, closest, quoted};

/// What a file holds; also the order in which files are read: each refers only to those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Holds {
    Sources,
    Tools,
    Standards,
    PartKinds,
    Outputs,
    Cautions,
    Margins,
    Joints,
    Defaults,
    Shop,
}

macro_rules! files {
    ($($holds:ident $name:literal),* $(,)?) => {
        /// Names of the built-in files, in the order they are read. A folder of the user's own may replace any of them, and add others
        /// to the rooms `standards/` and `joints/`.
        pub const FILES: [&str; [$($name),*].len()] = [$($name),*];

        const BUILT_IN: [(Holds, &str, &str); FILES.len()] =
            [$((Holds::$holds, $name, include_str!(concat!("../../../knowledge/", $name)))),*];
    };
}

files! {
    Sources "sources.toml",
    Tools "tools.toml",
    Standards "standards/bottom_bracket.toml",
    Standards "standards/cranks.toml",
    Standards "standards/drivetrain.toml",
    Standards "standards/hubs.toml",
    Standards "standards/brakes.toml",
    Standards "standards/steering.toml",
    Standards "standards/seating.toml",
    Standards "standards/wheels.toml",
    Standards "standards/suspension.toml",
    PartKinds "part_kinds.toml",
    Outputs "outputs.toml",
    Cautions "cautions.toml",
    Margins "margins.toml",
    Joints "joints/steering.toml",
    Joints "joints/cockpit.toml",
    Joints "joints/wheels.toml",
    Joints "joints/bottom_bracket.toml",
    Joints "joints/drivetrain.toml",
    Joints "joints/shifting.toml",
    Joints "joints/brakes.toml",
    Joints "joints/seating.toml",
    Joints "joints/suspension.toml",
    Defaults "defaults.toml",
    Shop "shop.toml",
}

/// The rooms of a knowledge folder to which files of any name may be added.
const ROOMS: [(&str, Holds); 2] = [("standards", Holds::Standards), ("joints", Holds::Joints)];

/// One file and what it holds; no file if it could not be read.
pub(crate) type Held = (Holds, Option<SourceFile>);

/// The built-in files.
pub(crate) fn embedded() -> Vec<Held> {
    BUILT_IN.iter().map(|(holds, name, text)| (*holds, Some(SourceFile::from_text(format!("knowledge/{name}"), *text)))).collect()
}

/// The built-in files with those of a folder in their place or beside them; nothing where a file of the folder cannot be read.
pub(crate) fn with_folder(folder: &Path, problems: &mut Problems) -> Vec<Held> {
    let mut files = embedded();
    let Some(names) = toml_files(folder) else {
        let shown = quoted(&folder.display().to_string());
        let problem = if folder.is_file() {
            Problem::new(format!("the knowledge folder {shown} is a file"))
        } else {
            Problem::new(format!("there is no knowledge folder {shown}"))
        };
        problems.push(problem.help(format!("name a folder with one or more of: {}", FILES.join(", "))));
        return files;
    };
    for name in names {
        if let Some(place) = FILES.iter().position(|f| *f == name) {
            files[place].1 = problems.keep(SourceFile::read(&folder.join(&name)));
            continue;
        }
        // Passed over without a word, it would look as if it had been read.
        let problem = Problem::new(format!("no knowledge is read from {}", quoted(&folder.join(&name).display().to_string())));
        problems.push(match closest(&name, FILES.into_iter()) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem.help(format!("knowledge files are: {}", FILES.join(", "))),
        });
    }
    for (room, holds) in ROOMS {
        for name in toml_files(&folder.join(room)).unwrap_or_default() {
            let path = folder.join(room).join(&name);
            let file = problems.keep(SourceFile::read(&path));
            match FILES.iter().position(|f| f.strip_prefix(room).and_then(|rest| rest.strip_prefix('/')) == Some(&name)) {
                Some(place) => files[place].1 = file,
                None => files.push((holds, file)),
            }
        }
    }
    // Stable: within a room, built-in files come first.
    files.sort_by_key(|(holds, _)| *holds);
    files
}

/// Names of the TOML files in a folder, in alphabetical order; nothing if it is no folder.
fn toml_files(folder: &Path) -> Option<Vec<String>> {
    let is_toml = |name: &String| Path::new(name).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"));
    let entries = std::fs::read_dir(folder).ok()?;
    let mut names: Vec<String> = entries.flatten().filter_map(|e| e.file_name().into_string().ok()).filter(is_toml).collect();
    names.sort();
    Some(names)
}
