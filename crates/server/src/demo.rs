//! The invented workshop that is shown if none is named: what `demo/` holds, built in.

use source_file::SourceFile;

macro_rules! texts {
    ($($name:literal),* $(,)?) => {
        [$(($name, include_str!(concat!("../../../demo/", $name)))),*]
    };
}

const BIKES: [(&str, &str); 5] = texts!["heron.toml", "bittern.toml", "fieldfare.toml", "moorhen.toml", "wheatear.toml"];

const PARTS: [(&str, &str); 10] = texts![
    "parts/brakes_and_shocks.toml",
    "parts/cockpit.toml",
    "parts/drivetrain.toml",
    "parts/forks.toml",
    "parts/frames.toml",
    "parts/gears.toml",
    "parts/seats.toml",
    "parts/small_parts.toml",
    "parts/tyres.csv",
    "parts/wheels.toml",
];

/// Its bikes, as files.
pub(crate) fn bikes() -> Vec<SourceFile> {
    files(&BIKES)
}

/// Its catalogue, as files.
pub(crate) fn parts() -> Vec<SourceFile> {
    files(&PARTS)
}

fn files(texts: &[(&str, &str)]) -> Vec<SourceFile> {
    texts.iter().map(|(name, text)| SourceFile::from_text(format!("demo/{name}"), *text)).collect()
}

#[cfg(test)]
mod tests {
    use std::{collections::BTreeSet, fs, path::Path};

    use super::*;

    /// A file added to the folder would otherwise be missing from the program without a word.
    #[test]
    fn every_file_of_the_folder_is_built_in() {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
        let names = |folder: &str| -> BTreeSet<String> {
            let entries = fs::read_dir(demo.join(folder)).unwrap().map(|entry| entry.unwrap());
            let files = entries.filter(|entry| entry.path().extension().is_some_and(|e| e == "toml" || e == "csv"));
            files.map(|entry| format!("{folder}{}", entry.file_name().to_string_lossy())).collect()
        };
        assert_eq!(names(""), BIKES.iter().map(|file| file.0.to_owned()).collect());
        assert_eq!(names("parts/"), PARTS.iter().map(|file| file.0.to_owned()).collect());
    }
}
