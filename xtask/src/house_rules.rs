//! Rules of the house that no general tool knows: floors, headers, sources, words.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// Crates by floor, lowest first: a crate may depend on those of lower floors only, and on what is named beside it.
const FLOORS: [(&str, &[&str]); 10] = [
    ("quantity", &[]),
    ("source_file", &[]),
    ("mechanics", &[]),
    ("knowledge", &["quantity", "source_file"]),
    ("bike", &["quantity", "source_file", "knowledge"]),
    ("stand", &["quantity", "mechanics", "knowledge", "bike"]),
    ("writing", &["quantity", "stand"]),
    ("drawing", &["quantity", "stand", "writing"]),
    ("server", &["quantity", "source_file", "knowledge", "bike", "stand", "writing", "drawing"]),
    ("swapstand", &["quantity", "source_file", "knowledge", "bike", "stand", "writing", "drawing", "server"]),
];

/// Words that have no place in what the program says: it reports checks, it does not vouch.
const NEVER_SAID: [&str; 3] = ["is safe", "are safe", "perfectly safe"];

/// Checks all rules; every breach is reported.
pub(crate) fn check(root: &Path) -> Result<(), String> {
    let mut breaches = Vec::new();
    floors(root, &mut breaches);
    sources(root, &mut breaches);
    for file in files(root, &["rs"]) {
        module_header(root, &file, &mut breaches);
    }
    for file in files(root, &["rs", "toml", "md", "html"]) {
        words(root, &file, &mut breaches);
    }
    if breaches.is_empty() { Ok(()) } else { Err(format!("house rules:\n  {}", breaches.join("\n  "))) }
}

/// A crate's `[dependencies]` hold no crate of ours that is not below it, and `mechanics` reads no files.
fn floors(root: &Path, breaches: &mut Vec<String>) {
    let ours: Vec<&str> = FLOORS.iter().map(|f| f.0).collect();
    for (name, allowed) in FLOORS {
        let manifest = root.join("crates").join(name).join("Cargo.toml");
        let Ok(text) = fs::read_to_string(&manifest) else {
            breaches.push(format!("{}: missing", manifest.display()));
            continue;
        };
        let dependencies = text.split("[dependencies]").nth(1).unwrap_or("");
        let dependencies = dependencies.split("\n[").next().unwrap_or("");
        for line in dependencies.lines() {
            let dependency = line.split(['.', ' ', '=']).next().unwrap_or("");
            if ours.contains(&dependency) && !allowed.contains(&dependency) {
                breaches.push(format!("crates/{name}: depends on `{dependency}`, which is not below it"));
            }
        }
    }
    for file in files(&root.join("crates/mechanics/src"), &["rs"]) {
        let text = fs::read_to_string(&file).unwrap_or_default();
        for banned in ["std::fs", "std::env", "std::time", "std::io"] {
            if text.contains(banned) {
                breaches.push(format!("{}: `{banned}` in the mechanics, which know numbers only", shown(root, &file)));
            }
        }
    }
}

/// Every entry of the knowledge that states a fact names its source.
fn sources(root: &Path, breaches: &mut Vec<String>) {
    const FACTS: [&str; 5] = ["[[tolerance]]", "[[output]]", "[[margin]]", "[[default]]", "[[caution]]"];
    for file in files(&root.join("knowledge"), &["toml"]) {
        let text = fs::read_to_string(&file).unwrap_or_default();
        let mut open: Option<(usize, bool)> = None;
        for (number, line) in text.lines().enumerate() {
            if line.starts_with("[[") {
                if let Some((start, false)) = open {
                    breaches.push(format!("{}:{}: an entry without a source", shown(root, &file), start + 1));
                }
                open = FACTS.contains(&line.trim()).then_some((number, false));
            } else if line.starts_with("source") {
                open = open.map(|(start, _)| (start, true));
            }
        }
        if let Some((start, false)) = open {
            breaches.push(format!("{}:{}: an entry without a source", shown(root, &file), start + 1));
        }
    }
}

/// The first line of a source file says what the room is for.
fn module_header(root: &Path, file: &Path, breaches: &mut Vec<String>) {
    let text = fs::read_to_string(file).unwrap_or_default();
    if !text.starts_with("//!") {
        breaches.push(format!("{}: no `//!` header saying what this file is for", shown(root, file)));
    }
}

/// No vouching, and no marks of unfinished work.
fn words(root: &Path, file: &Path, breaches: &mut Vec<String>) {
    // This file holds the list itself.
    if file.ends_with("xtask/src/house_rules.rs") {
        return;
    }
    let text = fs::read_to_string(file).unwrap_or_default();
    for (number, line) in text.lines().enumerate() {
        let lower = line.to_lowercase();
        if NEVER_SAID.iter().any(|w| lower.contains(w)) {
            breaches.push(format!("{}:{}: the program vouches for nothing", shown(root, file), number + 1));
        }
        let timed = file.starts_with(root.join("crates")) && ["Instant::now", ".elapsed()"].iter().any(|w| line.contains(w));
        if timed {
            breaches.push(format!("{}:{}: a clock; speed is shown in benchmarks", shown(root, file), number + 1));
        }
        if file.extension().is_some_and(|e| e == "rs") && ["todo!(", "unimplemented!(", "dbg!("].iter().any(|w| line.contains(w))
        {
            breaches.push(format!("{}:{}: unfinished", shown(root, file), number + 1));
        }
    }
}

/// Files of the tree by ending, without what is built or hidden.
fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let Ok(entries) = fs::read_dir(folder) else { return found };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name();
        let hidden = name.to_string_lossy().starts_with('.') || name == "target";
        if hidden {
            continue;
        }
        if path.is_dir() {
            found.extend(files(&path, endings));
        } else if path.extension().is_some_and(|e| endings.iter().any(|ending| e == *ending)) {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn shown(root: &Path, file: &Path) -> String {
    file.strip_prefix(root).unwrap_or(file).display().to_string()
}
