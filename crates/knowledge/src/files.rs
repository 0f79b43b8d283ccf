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
    let Ok(entries) = std::fs::read_dir(folder) else {
        problems.push(
            Problem::new(format!("there is no knowledge folder `{}`", folder.display()))
                .help(format!("name a folder with one or more of: {}", FILES.join(", "))),
        );
        return files;
    };
    let is_toml = |path: &Path| path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    let mut paths: Vec<std::path::PathBuf> = entries.flatten().map(|e| e.path()).filter(|p| is_toml(p)).collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        if let Some(place) = FILES.iter().position(|f| *f == name) {
            if let Some(file) = problems.keep(SourceFile::read(&path)) {
                files[place] = file;
            }
        } else {
            let help = closest(&name, FILES.into_iter())
                .map_or_else(|| format!("knowledge files are: {}", FILES.join(", ")), |near| format!("did you mean `{near}`?"));
            problems.push(Problem::new(format!("no knowledge is read from `{}`", path.display())).help(help));
        }
    }
    files
}
