//! The program as its user meets it: the real binary, exit status and both outputs together.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
};

use insta::assert_snapshot;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_swapstand"))
        .args(arguments)
        .current_dir(root())
        .env("NO_COLOR", "1")
        .env("COLUMNS", "100")
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// Everything the user sees of a run.
fn seen(arguments: &[&str]) -> String {
    let output = run(arguments);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap().replace('\u{a0}', " ");
    format!("status {}\n--- out\n{}--- err\n{}", output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

#[test]
fn a_first_visitor_is_greeted() {
    assert_snapshot!(seen(&[]));
}

#[test]
fn help_screens() {
    assert_snapshot!("help", seen(&["--help"]));
    for command in ["try", "fits", "check", "parts", "schema", "completions", "man"] {
        assert_snapshot!(format!("help_{command}"), seen(&[command, "--help"]));
    }
}

#[test]
fn a_longer_fork_on_a_hardtail() {
    assert_snapshot!("heron_150", seen(&["try", "demo/heron.toml", "--set", "fork=tarn-150"]));
    assert_snapshot!("heron_150_full", seen(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--full"]));
    assert_snapshot!("heron_150_imperial", seen(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--units", "imperial"]));
}

#[test]
fn a_swap_that_takes_more_than_itself() {
    assert_snapshot!("extras_pack", seen(&["try", "demo/heron.toml", "--set", "cassette=oxbow-11s-11-42", "--rate", "60"]));
    assert_snapshot!("extras_budget", seen(&["try", "demo/heron.toml", "--set", "bar=yoke-20", "--budget", "100", "--new"]));
    assert_snapshot!("extras_keep", seen(&["try", "demo/heron.toml", "--set", "bar=yoke-20", "--keep", "stem"]));
    assert_snapshot!("extras_rotor", seen(&["try", "demo/heron.toml", "--set", "front_rotor=quern-203"]));
    assert_snapshot!("extras_work", seen(&["try", "demo/heron.toml", "--set", "fork=tarn-140"]));
}

#[test]
fn everything_for_one_place() {
    assert_snapshot!("fits_forks", seen(&["fits", "demo/heron.toml", "--slot", "fork", "--most", "6"]));
    assert_snapshot!("fits_by_name", seen(&["fits", "demo/fieldfare.toml", "--slot", "Front tyre", "--new", "--rate", "55"]));
    let output = run(&["fits", "demo/heron.toml", "--slot", "fork", "--json"]);
    assert!(output.status.success() && output.stderr.is_empty());
    let fits: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((fits["format"].as_str(), fits["slot"].as_str()), (Some("swapstand-fits-0"), Some("fork")));
    let rows = fits["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 11);
    // The best first: what fits stands before what does not.
    let verdicts: Vec<&str> = rows.iter().map(|row| row["verdict"].as_str().unwrap()).collect();
    let last_that_goes = verdicts.iter().rposition(|verdict| verdict.starts_with("fits")).unwrap();
    assert!(verdicts[..=last_that_goes].iter().all(|verdict| verdict.starts_with("fits")), "{verdicts:?}");
}

#[test]
fn wrong_terms_are_pointed_out() {
    assert_snapshot!("wrong_place", seen(&["fits", "demo/heron.toml", "--slot", "forc"]));
    assert_snapshot!("wrong_terms", seen(&["try", "demo/heron.toml", "--set", "bar=yoke-20", "--budget=-5", "--keep", "stm"]));
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("joints")).unwrap();
    let joint = "[[joint]]\nid = \"bell.bar\"\nname = \"Bell\"\nslot = \"bar\"\nseverity = \"works badly\"\nsame = [\"bar.diameter\", \"bar.rise.x\"]\nwithin = \"1 deg\"\nclear = \"a\"\nshort = \"b\"\n";
    fs::write(folder.path().join("joints/bells.toml"), joint).unwrap();
    let output = run(&["check", "demo/heron.toml", "--knowledge", folder.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    let report = String::from_utf8(output.stderr).unwrap();
    assert!(report.contains("joints/bells.toml:6:") && report.contains("has no figures"), "{report}");
    assert!(report.contains("has no `source`"), "{report}");
}

#[test]
fn the_other_demo_swaps() {
    for (bike, swap) in [
        ("heron", "heron-140-fork"),
        ("fieldfare", "fieldfare-584-wheels"),
        ("fieldfare", "fieldfare-584-wider"),
        ("bittern", "bittern-small-rear-wheel"),
        ("bittern", "bittern-small-rear-wheel-short-cranks"),
        ("wheatear", "wheatear-slacker"),
        ("moorhen", "moorhen-wide-tyres"),
    ] {
        assert_snapshot!(swap, seen(&["try", &format!("demo/{bike}.toml"), "--swap", &format!("demo/swaps/{swap}.toml")]));
    }
}

#[test]
fn a_bike_as_it_stands() {
    assert_snapshot!("check_moorhen", seen(&["check", "demo/moorhen.toml"]));
    assert_snapshot!("check_heron", seen(&["check", "demo/heron.toml"]));
}

#[test]
fn the_catalogue() {
    assert_snapshot!("parts_forks", seen(&["parts", "demo/heron.toml", "--kind", "fork"]));
    assert_snapshot!("parts_found", seen(&["parts", "demo/parts", "--find", "tarn"]));
    assert_snapshot!("parts_none", seen(&["parts", "demo/parts", "--find", "unicycle"]));
    let json: serde_json::Value = serde_json::from_slice(&run(&["parts", "demo/parts", "--json"]).stdout).unwrap();
    assert!(json["parts"].as_array().unwrap().len() >= 40);
    assert_eq!(json["currency"], "EUR");
}

#[test]
fn wrong_input_is_told_where_and_what_would_be_right() {
    assert_snapshot!("wrong_part", seen(&["try", "demo/heron.toml", "--set", "fork=tarn-510"]));
    assert_snapshot!(
        "wrong_slot",
        seen(&["try", "demo/heron.toml", "--set", "frok=tarn-150", "--adjust", "stem_spacers=10 deg"])
    );
    assert_snapshot!("wrong_file", seen(&["try", "demo/herron.toml", "--set", "fork=tarn-150"]));
    assert_snapshot!("wrong_sheet", seen(&["try", "demo/heron.toml", "--sheet", "x.doc", "--drawing", "y.gif"]));
    assert_snapshot!(
        "wrong_card",
        seen(&["try", "demo/heron.toml", "--card", "x.jpg", "--animation", "y.gif", "--paper", "dark"])
    );
    assert_snapshot!("wrong_paper", seen(&["try", "demo/heron.toml", "--card", "x.png", "--paper", "plaid"]));
    assert_snapshot!("wrong_nothing", seen(&["try", "demo/heron.toml"]));
    assert_snapshot!("wrong_kind", seen(&["parts", "demo/heron.toml", "--kind", "frok"]));
    assert_snapshot!("wrong_command", seen(&["tri", "demo/heron.toml"]));
    assert_snapshot!("wrong_knowledge", seen(&["check", "demo/heron.toml", "--knowledge", "no/such/folder"]));
}

#[test]
fn a_chart_that_leaves_numbers_open_is_refused_with_what_would_do() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("open.toml");
    let text = "name = \"Open\"\n[frame.chart]\nstack = 610\nhead_angle = 69\nhead_tube = 105\nrear_centre = 437\n\
                drawn_with = { axle_to_crown = 524, fork_offset = 44, lower_headset_stack = 0, front_radius = 368 }\n\
                [slots]\nfork = { name = \"F\", axle_to_crown = 524, offset = 44, travel = 130 }\n";
    fs::write(&file, text).unwrap();
    let shown = seen(&["check", file.to_str().unwrap()]).replace(folder.path().to_str().unwrap(), "FOLDER");
    assert!(shown.starts_with("status 2"), "{shown}");
    let none = folder.path().join("none.toml");
    fs::write(&none, "name = \"None\"\n[slots]\n").unwrap();
    let shown_none = seen(&["check", none.to_str().unwrap()]).replace(folder.path().to_str().unwrap(), "FOLDER");
    assert_snapshot!("open_chart", format!("{shown}\n{shown_none}"));
}

/// Numbers each possible by itself that make no bicycle: shown at the number they are about. (The bounds of the part kinds leave
/// little room for such a bicycle: a saddle that low, on a seat tube that flat, is one.)
#[test]
fn an_impossible_bicycle_is_refused_at_the_number() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("low.toml");
    let text = "name = \"Low\"\n\n[setup]\nsaddle_height = 300\nsaddle_back = -40\n\n[frame.chart]\nstack = 610\nreach = 440\n\
                head_angle = 69\nseat_angle = 89\nactual_seat_angle = 50\nhead_tube = 105\nrear_centre = 437\nbb_drop = 40\n\
                drawn_with = { axle_to_crown = 524, fork_offset = 44, lower_headset_stack = 0, front_radius = 368, rear_radius = 368 }\n\n\
                [slots]\nfork = { name = \"F\", axle_to_crown = 524, offset = 44, travel = 130 }\n";
    fs::write(&file, text).unwrap();
    assert_snapshot!("impossible", seen(&["check", file.to_str().unwrap()]).replace(folder.path().to_str().unwrap(), "FOLDER"));
}

/// The program's own types are not used: what is published is read as a stranger would.
#[test]
fn the_json_answer_holds_what_is_promised() {
    let output = run(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--json"]);
    assert!(output.status.success() && output.stderr.is_empty());
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["format"], "swapstand-answer-0");
    assert_eq!(answer["verdict"], "unsafe");
    let keys: Vec<&str> = answer.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(
        keys,
        [
            "format",
            "program",
            "bike",
            "rider",
            "verdict",
            "headline",
            "summary",
            "parts",
            "adjustments",
            "changes",
            "margins",
            "extras",
            "alternatives",
            "measure_first",
            "not_checked",
            "assumptions",
            "chart",
            "cost",
            "cautions",
            "sources",
            "side_views"
        ]
    );
    let longest = answer["margins"].as_array().unwrap().iter().find(|m| m["id"] == "fork.longest").unwrap();
    assert_eq!((longest["state"].as_str(), longest["severity"].as_str()), (Some("short"), Some("hurts")));
    assert!(longest["caution"].is_string());
    let head = answer["changes"].as_array().unwrap().iter().find(|c| c["id"] == "head_angle" && c["pose"] == "unladen").unwrap();
    let (before, after, change) =
        (head["before"].as_f64().unwrap(), head["after"].as_f64().unwrap(), head["change"].as_f64().unwrap());
    assert!((after - before - change).abs() < 1e-12 && change < -0.8);
}

#[test]
fn sheets_and_drawings_are_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (option, name, begins) in [
        ("--sheet", "sheet.html", "<!DOCTYPE html>".as_bytes()),
        ("--sheet", "sheet.PDF", b"%PDF-"),
        ("--drawing", "view.svg", b"<"),
        ("--drawing", "view.png", b"\x89PNG"),
        ("--card", "card.svg", b"<svg"),
        ("--card", "card.PNG", b"\x89PNG"),
        ("--animation", "moves.svg", b"<svg"),
        ("--animation", "moves.png", b"\x89PNG"),
    ] {
        let output = run(&["try", "demo/heron.toml", "--set", "fork=tarn-150", option, &path(name)]);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let written = fs::read(path(name)).unwrap();
        assert!(written.starts_with(begins), "{name}");
        assert!(written.len() > 4_000, "{name}: {} bytes", written.len());
        assert!(String::from_utf8_lossy(&output.stderr).contains("wrote"));
    }
    let html = fs::read_to_string(path("sheet.html")).unwrap();
    for needle in ["Heron trail bike", "Caution", "ISO 4210", "axle-to-crown"] {
        assert!(html.contains(needle), "no {needle} on the sheet");
    }
    assert!(
        !html.contains("http://") || html.matches("http://").count() == html.matches("http://www.w3.org").count(),
        "nothing from outside"
    );
    let output = run(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--sheet", &path("none/sheet.html")]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn completions_manual_and_schemas_are_what_their_readers_expect() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let text = String::from_utf8(run(&["completions", shell]).stdout).unwrap();
        assert!(text.contains("swapstand") && text.contains("sheet"), "{shell}");
    }
    let man = String::from_utf8(run(&["man"]).stdout).unwrap();
    assert!(man.contains(".TH swapstand") || man.contains(".TH SWAPSTAND"), "{}", &man[..200]);
    for of in ["build", "catalogue", "swap"] {
        let printed: serde_json::Value = serde_json::from_slice(&run(&["schema", of]).stdout).unwrap();
        let committed: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(root().join(format!("schema/{of}.schema.json"))).unwrap()).unwrap();
        assert!(printed == committed, "schema/{of}.schema.json is not what the program prints");
    }
}

#[test]
fn a_reader_who_leaves_early_is_no_failure() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_swapstand"))
        .args(["parts", "demo/parts"])
        .current_dir(root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    // And the terminal's own output works at all.
    std::io::stderr().flush().unwrap();
}

#[test]
fn colour_comes_when_asked_for_and_never_carries_meaning_alone() {
    let plain = run(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--colour", "never"]).stdout;
    let coloured = run(&["try", "demo/heron.toml", "--set", "fork=tarn-150", "--colour", "always"]).stdout;
    assert!(!plain.contains(&0x1b) && coloured.contains(&0x1b));
    let mut stripped = String::new();
    let text = String::from_utf8(coloured).unwrap();
    let mut rest = text.as_str();
    while let Some(start) = rest.find('\u{1b}') {
        stripped.push_str(&rest[..start]);
        rest = &rest[start + rest[start..].find('m').unwrap() + 1..];
    }
    stripped.push_str(rest);
    assert_eq!(stripped, String::from_utf8(plain).unwrap());
}
