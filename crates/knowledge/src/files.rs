//! Where the knowledge is written.

use std::path::Path;

use source_file::{Problem, Problems, SourceFile, closest, quoted};

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

/// The built-in files with those of a folder in their place; nothing where a file of the folder cannot be read.
pub(crate) fn with_folder(folder: &Path, problems: &mut Problems) -> Vec<Option<SourceFile>> {
    let mut files: Vec<Option<SourceFile>> = embedded().into_iter().map(Some).collect();
    let Ok(entries) = std::fs::read_dir(folder) else {
        let shown = quoted(&folder.display().to_string());
        let problem = if folder.is_file() {
            Problem::new(format!("the knowledge folder {shown} is a file"))
        } else {
            Problem::new(format!("there is no knowledge folder {shown}"))
        };
        problems.push(problem.help(format!("name a folder with one or more of: {}", FILES.join(", "))));
        return files;
    };
    let is_toml = |name: &String| Path::new(name).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"));
    let mut names: Vec<String> = entries.flatten().filter_map(|e| e.file_name().into_string().ok()).filter(is_toml).collect();
    names.sort();
    for name in names {
        if let Some(place) = FILES.iter().position(|f| *f == name) {
            files[place] = problems.keep(SourceFile::read(&folder.join(&name)));
            continue;
        }
        // Passed over without a word, it would look as if it had been read.
        let problem = Problem::new(format!("no knowledge is read from {}", quoted(&folder.join(&name).display().to_string())));
        problems.push(match closest(&name, FILES.into_iter()) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem.help(format!("knowledge files are: {}", FILES.join(", "))),
        });
    }
    files
}
