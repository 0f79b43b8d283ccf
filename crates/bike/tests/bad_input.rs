//! Wrong input, and what is said about it: the cases stand in `bad_input/*.txt`, the answers in the snapshots beside them.
//!
//! A snapshot is read as a technician would read it: does it say what is wrong, where, and what would be right? None of these may
//! end in a panic, and none may be accepted.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "the helpers of a test are a test")]

use std::fmt::Write;
use std::fs;
use std::path::Path;

use bike::read::{
    adjust, build_from, catalogue_from, parse_adjust, parse_set, parse_unset, read_build, read_catalogue, read_swap, swap_from,
};
use bike::{Catalogue, Swap};
use knowledge::Knowledge;
use source_file::{Problem, Problems, SourceFile, render};

/// Parts that the cases name.
const PARTS: &str = r#"
[[part]]
id = "tarn-130"
kind = "fork"
name = "Tarn 130"
axle_to_crown = "524 mm"
offset = "44 mm"
travel = "130 mm"

[[part]]
id = "tarn-150"
kind = "fork"
name = "Tarn 150"
axle_to_crown = "544 mm"
offset = "44 mm"
travel = "150 mm"

[[part]]
id = "quern-180"
kind = "rotor"
name = "Quern 180"
diameter = "180 mm"

[[part]]
id = "saltmarsh-heron-l"
kind = "frame"
name = "Heron, size L"

[[part]]
id = "lintel-35"
kind = "stem"
name = "Lintel 35"
length = "35 mm"
"#;

fn knowledge() -> Knowledge {
    Knowledge::embedded().unwrap_or_else(|problems| panic!("{problems}"))
}

fn parts(knowledge: &Knowledge) -> Catalogue {
    catalogue_from(&SourceFile::from_text("parts.toml", PARTS), knowledge).unwrap_or_else(|problems| panic!("{problems}"))
}

/// What is said about each case of a file: `=== what is wrong` and then the text, to the next of these.
fn answers(cases: &str, name: &str, read: impl Fn(&SourceFile) -> Result<(), Problems>) -> (String, usize) {
    let mut answers = String::new();
    let mut count = 0;
    let cases = format!("\n{cases}");
    for case in cases.split("\n=== ").skip(1) {
        let (title, text) = case.split_once('\n').unwrap_or((case, ""));
        let text = if text.is_empty() { String::new() } else { format!("{}\n", text.trim_end()) };
        let problems = read(&SourceFile::from_text(name, text)).expect_err(title);
        let _ = write!(answers, "=== {title}\n\n{}\n", render(&problems, false));
        count += 1;
    }
    (answers, count)
}

/// What is said about each line of a file, taken as a command-line argument.
fn answers_by_line(cases: &str, read: impl Fn(&str) -> Result<(), Problem>) -> (String, usize) {
    let mut answers = String::new();
    for argument in cases.lines() {
        let problem = read(argument).expect_err(argument);
        let _ = write!(answers, "=== {argument:?}\n\n{problem}\n\n");
    }
    (answers, cases.lines().count())
}

macro_rules! check {
    ($name:literal, $least:literal, $answers:expr) => {
        let (answers, count) = $answers;
        assert!(count >= $least, "only {count} cases ran");
        insta::with_settings!({ snapshot_path => "bad_input", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!($name, answers);
        });
    };
}

#[test]
fn builds() {
    let knowledge = knowledge();
    let catalogue = parts(&knowledge);
    let read = |file: &SourceFile| build_from(file, &catalogue, &knowledge).map(drop);
    check!("build", 40, answers(include_str!("bad_input/build.txt"), "heron.toml", read));
}

#[test]
fn catalogues() {
    let knowledge = knowledge();
    let read = |file: &SourceFile| catalogue_from(file, &knowledge).map(drop);
    check!("catalogue", 15, answers(include_str!("bad_input/catalogue.txt"), "parts.toml", read));
}

#[test]
fn tables_of_parts() {
    let knowledge = knowledge();
    let read = |file: &SourceFile| catalogue_from(file, &knowledge).map(drop);
    check!("catalogue_csv", 12, answers(include_str!("bad_input/catalogue_csv.txt"), "parts.csv", read));
}

#[test]
fn swaps() {
    let knowledge = knowledge();
    let catalogue = parts(&knowledge);
    let read = |file: &SourceFile| swap_from(file, &knowledge, &catalogue).map(drop);
    check!("swap", 12, answers(include_str!("bad_input/swap.txt"), "swap.toml", read));
}

#[test]
fn arguments() {
    let knowledge = knowledge();
    let catalogue = parts(&knowledge);
    check!(
        "set",
        12,
        answers_by_line(include_str!("bad_input/set.txt"), |text| parse_set(text, &knowledge, &catalogue).map(drop))
    );
    check!("unset", 4, answers_by_line(include_str!("bad_input/unset.txt"), |text| parse_unset(text, &knowledge).map(drop)));
    let stem = "name = \"a\"\n[slots]\nstem = { name = \"b\", length = \"50 mm\", rise = \"6 deg\" }\n";
    let build = build_from(&SourceFile::from_text("bike.toml", stem), &Catalogue::new(), &knowledge).unwrap();
    let adjusted = |text: &str| adjust(text, &build, &mut Swap::default(), &knowledge);
    check!("adjust_part", 8, answers_by_line(include_str!("bad_input/adjust_part.txt"), adjusted));
    check!("adjust", 15, answers_by_line(include_str!("bad_input/adjust.txt"), |text| parse_adjust(text, &knowledge).map(drop)));
}

/// What is said about a folder of files, with the folder's own name left out.
fn answer_in_folder(title: &str, files: &[(&str, &[u8])], read: impl Fn(&Path) -> Result<(), Problems>) -> String {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
    let problems = read(folder.path()).expect_err(title);
    let shown = render(&problems, false).replace(&format!("{}/", folder.path().display()), "");
    format!("=== {title}\n\n{shown}\n")
}

#[test]
fn files_and_folders() {
    let knowledge = knowledge();
    let build = |folder: &Path| read_build(&folder.join("heron.toml"), &knowledge).map(drop);
    let catalogue = |folder: &Path| read_catalogue(&[folder.join("a.toml")], &knowledge).map(drop);
    let swap = |folder: &Path| read_swap(&folder.join("swap.toml"), &knowledge, &Catalogue::new()).map(drop);
    let fork = b"name = \"Heron\"\ncatalogue = [\"parts\"]\n[slots]\nfork = \"tarn-130\"\n".as_slice();
    let broken_fork = b"[[part]]\nid = \"tarn-130\"\nkind = \"fork\"\nname = \"Tarn 130\"\naxle_to_crown = \"524 kg\"\noffset = 44\ntravel = 130\n";
    let include = |name: &str| format!("include = [\"{name}\"]\n").into_bytes();
    let rotor = b"[[part]]\nid = \"quern-180\"\nkind = \"rotor\"\nname = \"Quern 180\"\ndiameter = 180\n".as_slice();
    let chain: Vec<(String, Vec<u8>)> = (0..40).map(|n| (format!("c{n}.toml"), include(&format!("c{}.toml", n + 1)))).collect();
    let mut deep: Vec<(&str, &[u8])> = chain.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    let first = include("c0.toml");
    deep.push(("a.toml", &first));
    let answers = [
        answer_in_folder("no such file", &[("herom.toml", fork)], build),
        answer_in_folder("a folder", &[("heron.toml/a", b"")], build),
        answer_in_folder("ten megabytes", &[("heron.toml", &vec![b'#'; 10 << 20])], build),
        answer_in_folder("not UTF-8", &[("heron.toml", b"name = \"H\xE9ron\"\n")], build),
        answer_in_folder("zeroes", &[("heron.toml", &[0; 64])], build),
        answer_in_folder("no such catalogue", &[("heron.toml", fork)], build),
        answer_in_folder("a folder without a catalogue", &[("heron.toml", fork), ("parts/readme.txt", b"")], build),
        answer_in_folder("a broken part that the build names", &[("heron.toml", fork), ("parts/forks.toml", broken_fork)], build),
        answer_in_folder("a catalogue that is not UTF-8", &[("heron.toml", fork), ("parts/forks.toml", b"# caf\xE9\n")], build),
        answer_in_folder(
            "no catalogue by its name",
            &[("heron.toml", b"name = \"Heron\"\ncatalogue = \"parts.txt\"\n"), ("parts.txt", b"")],
            build,
        ),
        answer_in_folder("a catalogue that includes itself", &[("a.toml", &include("a.toml"))], catalogue),
        answer_in_folder(
            "three catalogues in a circle",
            &[("a.toml", &include("b.toml")), ("b.toml", &include("sub/c.toml")), ("sub/c.toml", &include("../a.toml"))],
            catalogue,
        ),
        answer_in_folder("an endless chain of catalogues", &deep, catalogue),
        answer_in_folder("an include that is not there", &[("a.toml", &include("forks.toml")), ("fork.toml", b"")], catalogue),
        answer_in_folder(
            "one id in two files",
            &[("a.toml", &[include("b.toml").as_slice(), rotor].concat()), ("b.toml", rotor)],
            catalogue,
        ),
        answer_in_folder(
            "two currencies",
            &[("a.toml", b"currency = \"EUR\"\ninclude = [\"b.toml\"]\n"), ("b.toml", b"currency = \"GBP\"\n")],
            catalogue,
        ),
        answer_in_folder("no such swap", &[("swaps.toml", b"")], swap),
    ];
    check!("files", 17, (answers.concat(), answers.len()));
}
