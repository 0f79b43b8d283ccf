//! Where the knowledge is written.

use std::path::Path;

use source_file::{Problem, Problems, SourceFile, closest};

/// Names of the files, in the order they are read: each refers only to those before it.
pub const FILES: [&str; 7] =
    ["sources.toml", "tools.toml", "part_kinds.toml", "outputs.toml", "cautions.toml", "margins.toml", "defaults.toml"];

const TEXTS: [&str; 7] = [
    include_str!("../../../knowledge/sources.toml"),
    include_str!("../../../knowledge/tools.toml"),
    include_str!("../../../knowledge/part_kinds.toml"),
    include_str!("../../../knowledge/outputs.toml"),
    include_str!("../../../knowledge/cautions.toml"),
    include_str!("../../../knowledge/margins.toml"),
    include_str!("../../../knowledge/defaults.toml"),
];

/// The built-in files.
pub(crate) fn embedded() -> Vec<SourceFile> {
    FILES.iter().zip(TEXTS).map(|(name, text)| SourceFile::from_text(format!("knowledge/{name}"), text)).collect()
}

/// The built-in files with those of a folder in their place.
pub(crate) fn with_folder(folder: &Path, problems: &mut Problems) -> Vec<SourceFile> {
    let mut files = embedded();
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(_) => {
            problems.push(
                Problem::new(format!("there is no knowledge folder `{}`", folder.display()))
                    .help(format!("name a folder with one or more of: {}", FILES.join(", "))),
            );
            return files;
        }
    };
    let mut names: Vec<String> =
        entries.flatten().filter_map(|e| e.file_name().into_string().ok()).filter(|n| n.ends_with(".toml")).collect();
    names.sort();
    for name in names {
        match FILES.iter().position(|f| *f == name) {
            Some(place) => {
                files[place] = problems.keep(SourceFile::read(&folder.join(&name))).unwrap_or_else(|| files[place].clone())
            }
            None => {
                let help = closest(&name, FILES.into_iter()).map_or_else(
                    || format!("knowledge files are: {}", FILES.join(", ")),
                    |near| format!("did you mean `{near}`?"),
                );
                problems.push(Problem::new(format!("no knowledge is read from `{}`", folder.join(&name).display())).help(help));
            }
        }
    }
    files
}
