//! The built-in knowledge loads; a folder replaces files; every kind of mistake is reported with its line.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::fmt::Write;
use std::fs;

use knowledge::{FILES, Knowledge, MarginKind, Severity};
use quantity::{Dimension, Origin};

#[test]
fn the_built_in_knowledge_is_sound() {
    let knowledge = Knowledge::embedded().unwrap_or_else(|p| panic!("{p}"));
    assert!(knowledge.margins.len() >= 30, "{}", knowledge.margins.len());
    assert!(knowledge.attributes.len() > 100);
    // A check that protects somebody, and is not a plain misfit of sizes, carries its warning.
    for margin in knowledge.margins.iter().filter(|m| m.severity == Severity::Hurts) {
        assert!(margin.caution.is_some(), "{} can hurt and has no caution", margin.id);
    }
    for margin in &knowledge.margins {
        assert!(margin.clear.ends_with('.') && margin.short.ends_with('.'), "{}", margin.id);
        if let MarginKind::Room { room, need } = &margin.kind {
            assert!(!room.is_empty() && !need.is_empty(), "{}", margin.id);
        }
    }
    for caution in &knowledge.cautions {
        assert!(!caution.text.to_lowercase().contains("safe"), "{}", caution.id);
    }
    // Every quantity of part, rider, set-up or chart gets some ± from a maker's sheet or a measurement.
    for (i, attribute) in knowledge.attributes.iter().enumerate() {
        if attribute.dimension().is_some() {
            let id = knowledge.attribute(attribute.kind, &attribute.id).unwrap();
            assert_eq!(id.index(), i);
            for origin in Origin::ALL.into_iter().filter(|origin| *origin != Origin::Computed) {
                assert!(knowledge.default_tolerance(id, origin, 100.0).is_some(), "{} from {}", attribute.id, origin.word());
            }
        }
    }
}

#[test]
fn the_most_specific_tolerance_wins() {
    let knowledge = Knowledge::embedded().unwrap();
    let of = |kind: &str, id: &str| {
        let attribute = knowledge.attribute(knowledge.kind(kind).unwrap(), id).unwrap();
        knowledge.default_tolerance(attribute, Origin::MakersSheet, 50.0).unwrap().0.plus_minus()
    };
    let near = |got: f64, want: f64| assert!((got - want).abs() < 1e-12, "{got} {want}");
    near(of("stem", "length"), 0.5);
    near(of("chart", "stack"), 2.0);
    near(of("fork", "axle_to_crown"), 2.0);
    near(of("tyre", "width"), 2.0);
    near(of("frame", "longest_fork"), 0.0);
}

#[test]
fn a_folder_replaces_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let text = include_str!("../../../knowledge/defaults.toml").replace("22 ± 6 %", "30 ± 5 %");
    fs::write(folder.path().join("defaults.toml"), text).unwrap();
    let knowledge = Knowledge::load(folder.path()).unwrap_or_else(|p| panic!("{p}"));
    let setup = knowledge.kind("setup").unwrap();
    let sag = knowledge.default_of_table(knowledge.attribute(setup, "front_sag").unwrap()).unwrap();
    assert_eq!((sag.value.value(), sag.value.dimension()), (30.0, Dimension::Share));
    fs::write(folder.path().join("margin.toml"), "").unwrap();
    let message = Knowledge::load(folder.path()).unwrap_err().to_string();
    assert!(message.contains("did you mean `margins.toml`?"), "{message}");
    assert!(Knowledge::load(&folder.path().join("none")).unwrap_err().to_string().contains("there is no knowledge folder"));
}

/// File, what is replaced in it (the first time it occurs), by what, and what the report must say.
const MISTAKES: [(&str, &str, &str, &str); 96] = [
    ("sources.toml", "standing = \"published\"", "standing = \"hearsay\"", "`hearsay` is no standing"),
    ("sources.toml", "id = \"judgement\"", "id = \"common-practice\"", "a second source `common-practice`"),
    ("sources.toml", "origin = \"maker's sheet\"", "origin = \"brochure\"", "`brochure` is no origin"),
    ("sources.toml", "kind = \"chart\"", "kind = \"charts\"", "there is no kind `charts`"),
    ("sources.toml", "attribute = \"fork.axle_to_crown\"", "attribute = \"fork.length\"", "there is no attribute `fork.length`"),
    ("sources.toml", "plus_minus = \"0.5 mm\"", "plus_minus = \"0.5 deg\"", "an angle where a length is expected"),
    ("sources.toml", "relative = \"4 %\"", "relative = \"4 mm\"", "a length where a share is expected"),
    ("sources.toml", "relative = \"4 %\"", "relative = \"4 %\"\nplus_minus = \"2 mm\"", "a tolerance needs one size"),
    ("sources.toml", "dimension = \"length\"\nplus_minus = \"0.5 mm\"", "plus_minus = \"0.5 mm\"", "a tolerance for nothing"),
    ("sources.toml", "text = \"Judgement", "txt = \"Judgement", "`txt`"),
    ("tools.toml", "dimension = \"length\"", "dimension = \"lenght\"", "`lenght` is no dimension"),
    ("tools.toml", "source = \"judgement\"", "source = \"judgment\"", "did you mean `judgement`?"),
    ("part_kinds.toml", "about = \"rider\"", "about = \"person\"", "`person` is no sort of thing"),
    ("part_kinds.toml", "tool = \"scales\"", "tool = \"scale\"", "did you mean `scales`?"),
    ("part_kinds.toml", "least = \"15 kg\"", "least = \"15 mm\"", "a length where a mass is expected"),
    ("part_kinds.toml", "least = \"15 kg\"", "least = \"500 kg\"", "the least is more than the most"),
    ("part_kinds.toml", "dimension = \"mass\"\n", "", "an attribute needs one type"),
    ("part_kinds.toml", "kind = \"fork\"", "kind = \"forks\"", "did you mean `fork`?"),
    ("part_kinds.toml", "id = \"height\"", "id = \"mass\"", "a second attribute `mass`"),
    ("outputs.toml", "shown = \"always\"", "shown = \"sometimes\"", "`sometimes` is no way to be shown"),
    ("outputs.toml", "noticed = \"0.5 deg\"", "noticed = \"half\"", "no number where an angle is expected"),
    ("cautions.toml", "\"headset\"", "\"headsets\"", "did you mean `headset`?"),
    ("margins.toml", "room = [\"frame.longest_fork\"]", "room = [\"frame.longest_frok\"]", "did you mean `frame.longest_fork`?"),
    ("margins.toml", "room = [\"frame.longest_fork\"]", "room = [\"unladen.head_angle\"]", "do not add up"),
    ("margins.toml", "\"change.unladen.head_angle\"", "\"change.unladen.head_angel\"", "did you mean `head_angle`?"),
    ("margins.toml", "severity = \"hurts\"", "severity = \"bad\"", "`bad` is no severity"),
    ("margins.toml", "{room} axle-to-crown; this one", "{rooom} axle-to-crown; this one", "nothing to fill in for `{rooom}`"),
    ("margins.toml", "unless = [\"pedals.foot_retention\"]", "unless = [\"pedals.thickness\"]", "is not a yes-or-no attribute"),
    ("defaults.toml", "value = \"22 ± 6 %\"", "value = \"22 ± 6 mm\"", "expected a share"),
    ("defaults.toml", "of = \"setup.rear_sag\"", "of = \"setup.front_sag\"", "a second default for `setup.front_sag`"),
    ("sources.toml", "id = \"guess\"", "id = \"measured\"", "a second origin `measured`"),
    ("sources.toml", "says = \"a guess\"", "says = \" \"", "`says` is empty"),
    ("sources.toml", "id = \"maker\"", "id = \"Maker!\"", "`Maker!` cannot be an id"),
    ("sources.toml", "plus_minus = \"0.5 mm\"", "plus_minus = \"-0.5 mm\"", "expected zero or more"),
    (
        "sources.toml",
        "attribute = \"fork.axle_to_crown\"",
        "attribute = \"fork.axle_to_crwon\"",
        "did you mean `fork.axle_to_crown`?",
    ),
    ("sources.toml", "attribute = \"fork.axle_to_crown\"", "attribute = \"axle_to_crown\"", "names no attribute"),
    ("sources.toml", "attribute = \"fork.axle_to_crown\"", "attribute = \"pedal.foot_retention\"", "is not a quantity"),
    (
        "sources.toml",
        "attribute = \"fork.axle_to_crown\"",
        "attribute = \"fork.travel\"",
        "a second tolerance for the same values",
    ),
    (
        "sources.toml",
        "attribute = \"fork.axle_to_crown\"",
        "attribute = \"fork.axle_to_crown\"\nkind = \"fork\"",
        "for several things",
    ),
    (
        "sources.toml",
        "origin = \"guess\"\ndimension = \"angle\"",
        "origin = \"guess\"\nkind = \"chart\"\ndimension = \"angle\"",
        "there is no tolerance for an angle whose origin is `guess`",
    ),
    ("tools.toml", "plus_minus = \"1 mm\"", "plus_minus = \"0 mm\"", "expected more than zero"),
    ("tools.toml", "reach = [{ dimension = \"angle\", plus_minus = \"0.1 deg\" }]", "reach = []", "a tool that measures nothing"),
    ("part_kinds.toml", "about = \"setup\"", "about = \"rider\"", "a second kind about `rider`"),
    ("part_kinds.toml", "figure = \"{}\"", "figure = \"long\"", "a figure shows its value once"),
    ("part_kinds.toml", "kind = \"fork\"", "kind = \"rider\"", "`rider` is not a kind of part"),
    ("part_kinds.toml", "id = \"rear_rotor\"", "id = \"sagged\"", "a slot cannot be called `sagged`"),
    ("part_kinds.toml", "id = \"rear_rotor\"", "id = \"setup\"", "a slot cannot be called `setup`"),
    ("part_kinds.toml", "id = \"rear_rotor\"", "id = \"2nd_rotor\"", "`2nd_rotor` cannot be an id"),
    ("outputs.toml", "noticed = \"0.5 deg\"", "noticed = \"-0.5 deg\"", "expected more than zero"),
    ("outputs.toml", "id = \"reach\"", "id = \"stack\"", "a second output `stack`"),
    ("outputs.toml", "tool = \"angle_gauge\"", "tool = \"tape\"", "`tape` does not measure an angle"),
    ("cautions.toml", "[[caution]]\nid = \"work\"", "[[cautions]]\nid = \"work\"", "nothing is called `cautions` here"),
    ("margins.toml", "caution = \"head-tube\"", "caution = \"headtube\"", "did you mean `head-tube`?"),
    ("margins.toml", "need = [\"fork.axle_to_crown\"]", "need = []", "a margin of nothing"),
    ("margins.toml", "\"fork.gap\", times = 0.5", "\"fork.gap\", times = 0", "counts zero times"),
    ("margins.toml", "\"fork.gap\", times = 0.5", "\"fork.gap\", time = 0.5", "did you mean `times`?"),
    ("margins.toml", "room = [\"0.5 deg\"]", "room = [\"0.5\"]", "terms of different dimensions"),
    ("margins.toml", "room = [\"0.5 deg\"]", "room = [\"0.5 dge\"]", "did you mean `deg`?"),
    ("margins.toml", "\"change.unladen.head_angle\"", "\"change.standing.head_angle\"", "there is no pose `standing`"),
    ("margins.toml", "\"change.unladen.head_angle\"", "\"head_angle\"", "`head_angle` is no term"),
    ("margins.toml", "room = [\"frame.longest_fork\"]", "room = [\"frame.bb_shell\"]", "`frame.bb_shell` is not a quantity"),
    ("margins.toml", "within = \"0.3 mm\"", "within = \"-0.3 mm\"", "expected zero or more"),
    ("margins.toml", ", \"stem.steerer_diameter\"]", "]", "`same` compares two terms"),
    ("margins.toml", "source = \"maker\"", "source = []", "`source` names none"),
    ("defaults.toml", "value = \"22 ± 6 %\"", "value = \"99 %\"", "out of its bounds"),
    // Standards.
    ("standards/hubs.toml", "id = \"148x12\"", "id = \"148 x 12\"", "expected no spaces"),
    ("standards/hubs.toml", "id = \"148x12\"", "id = \"142x12\"", "a second member `142x12`"),
    ("standards/hubs.toml", "width = \"148 mm\"", "width = \"148 deg\"", "an angle where a length is expected"),
    ("standards/hubs.toml", "width = \"148 mm\"", "widht = \"148 mm\"", "nothing is called `widht` here"),
    ("standards/hubs.toml", "id = \"axle_thread\"", "id = \"axle\"", "a second family `axle`"),
    ("standards/steering.toml", "code = \"s.h.i.s.\"", "code = \"shis\"", "`shis` is no designation that can be read"),
    ("standards/steering.toml", "id = \"seat\"", "id = \"size\"", "this designation gives a figure `seat`, a length"),
    ("standards/cranks.toml", "bolts = 5", "bolts = \"five\"", "no number where a bare number is expected"),
    ("part_kinds.toml", "family = \"axle\"", "family = \"axel\"", "did you mean `axle`?"),
    ("part_kinds.toml", "hub_width = \"width\"", "hub_width = \"breadth\"", "has no figure `breadth`"),
    ("part_kinds.toml", "hub_width = \"width\"", "hubwidth = \"width\"", "did you mean `rear_hub_width`?"),
    // Joints.
    ("joints/steering.toml", "alike = [", "alikes = [", "a rule that compares nothing"),
    (
        "joints/steering.toml",
        "within = \"0.2 mm\"",
        "within = \"0.2 mm\"\nroom = [\"1 mm\"]",
        "a rule of two kinds: `room` and `same`",
    ),
    ("joints/steering.toml", "\"headset.upper_seat.seat\"", "\"headset.upper_seat.sit\"", "has no figure `sit`"),
    ("joints/steering.toml", "\"headset.upper_seat.seat\"", "\"headset.upper_seat\"", "its figures are"),
    (
        "joints/steering.toml",
        "\"headset.upper_seat.kind\"]",
        "\"headset.upper_seat.bore\"]",
        "`headset.upper_seat.bore` is a quantity",
    ),
    ("joints/steering.toml", "when = [\"crown_race\"]", "when = [\"crown_rase\"]", "did you mean `crown_race`?"),
    ("joints/steering.toml", "fork.steerer.form = threaded", "fork.steerer.form.x = threaded", "is no name of a part"),
    ("joints/steering.toml", "id = \"stem.form\"", "id = \"stem.steerer\"", "a second rule `stem.steerer`"),
    ("joints/bottom_bracket.toml", "\"bottom_bracket.shells\"", "\"bottom_bracket.spindles\"", "names of different sorts"),
    ("joints/bottom_bracket.toml", "\"bottom_bracket.shells\"", "\"crank.ring_mount\"", "expected a list of standards"),
    ("joints/bottom_bracket.toml", "least = \"0.05 mm\"", "least = \"0.05 deg\"", "terms of different dimensions"),
    ("joints/drivetrain.toml", "of = 2", "of = 1", "nothing to be a multiple of"),
    ("joints/drivetrain.toml", "cassette.sprockets.smallest", "cassette.sprockets.tiniest", "a row of numbers has no `tiniest`"),
    (
        "joints/shifting.toml",
        "times = \"rear_derailleur.actuation_ratio\"",
        "times = \"frame.rear_gap\"",
        "expected a bare number",
    ),
    ("joints/shifting.toml", "source = [\"dial-gauge-pulls\", \"workshop-tables\"]", "", "has no `source`"),
    // Shop.
    ("shop.toml", "kind = \"frame\"", "kind = \"frames\"", "did you mean `frame`?"),
    ("shop.toml", "time = \"360 min\"", "time = \"360 mm\"", "a length where a duration is expected"),
    ("shop.toml", "changes = \"frame.rear_hub_width\"", "changes = \"frame.material\"", "work cannot change `frame.material`"),
    ("shop.toml", "by = [\"4 mm\", \"5 mm\"]", "by = []", "work that changes nothing"),
    ("shop.toml", "attribute = \"stem.length\"", "attribute = \"tyre.width\"", "a second likeness of `tyre.width`"),
];

#[test]
fn mistakes_in_knowledge_files_are_reported_where_they_are() {
    let mut missed = Vec::new();
    for (file, from, to, expected) in MISTAKES {
        let folder = tempfile::tempdir().unwrap();
        let original = fs::read_to_string(format!("{}/../../knowledge/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
        assert!(original.contains(from), "{file} no longer contains `{from}`");
        write(folder.path(), file, original.replacen(from, to, 1).as_bytes());
        let report = Knowledge::load(folder.path()).map_or_else(|p| p.to_string(), |_| "nothing wrong".to_owned());
        if !report.contains(expected) || !report.contains(&format!("{file}:")) {
            missed.push(format!("{file}, `{to}`: expected `{expected}` in\n{report}"));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n\n"));
}

/// Writes a file of the knowledge, in its room.
fn write(folder: &std::path::Path, file: &str, text: &[u8]) {
    let path = folder.join(file);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

#[test]
fn a_folder_may_add_standards_and_joints_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let standards = "[[family]]\nid = \"bell_mount\"\nname = \"bell mount\"\n[[family.figure]]\nid = \"diameter\"\ndimension = \"length\"\nsays = \"diameter\"\n[[family.member]]\nid = \"22\"\nname = \"22 mm\"\nsource = \"common-practice\"\ndiameter = \"22.2 mm\"\n";
    write(folder.path(), "standards/bells.toml", standards.as_bytes());
    let joint = "[[joint]]\nid = \"bell.bar\"\nname = \"Bell on the bar\"\nslot = \"bar\"\nseverity = \"works badly\"\nroom = [\"bar.width\"]\nneed = [\"300 mm\"]\nclear = \"Room for a bell.\"\nshort = \"No room for a bell.\"\nsource = \"judgement\"\n";
    write(folder.path(), "joints/bells.toml", joint.as_bytes());
    let (plain, own) = (Knowledge::embedded().unwrap(), Knowledge::load(folder.path()).unwrap_or_else(|p| panic!("{p}")));
    assert_eq!((own.families.len(), own.margins.len()), (plain.families.len() + 1, plain.margins.len() + 1));
    let family = own.family("bell_mount").unwrap();
    assert!((own.standard(family, " 22 ").unwrap().quantity(0).unwrap().value() - 22.2).abs() < 1e-12);
    assert!(own.margins.iter().any(|rule| rule.id == "bell.bar"));
}

/// The counts this knowledge was asked to reach: a hundred and twenty joint rules, twenty-five families, each with its source.
#[test]
fn joints_and_families_are_many_and_every_one_names_its_source() {
    let knowledge = Knowledge::embedded().unwrap();
    let joints = knowledge.margins.iter().filter(|rule| !rule.is_of_the_whole()).count();
    assert!(joints >= 120, "{joints}");
    assert!(knowledge.families.len() >= 25, "{}", knowledge.families.len());
    assert!(knowledge.margins.iter().all(|rule| !rule.sources.is_empty()));
    let members = || knowledge.families.iter().flat_map(|family| &family.members);
    assert!(members().all(|member| !member.sources.is_empty()));
    assert!(members().count() > 500);
    // What is not published says so.
    let common = knowledge.sources.iter().find(|source| source.id == "common-practice").unwrap();
    assert_eq!(common.text, "Common practice, no source");
}

#[test]
fn all_mistakes_of_all_files_are_reported_at_once() {
    let folder = tempfile::tempdir().unwrap();
    for (file, from, to, _) in [MISTAKES[11], MISTAKES[19], MISTAKES[25], MISTAKES[29]] {
        let original = fs::read_to_string(format!("{}/../../knowledge/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
        fs::write(folder.path().join(file), original.replacen(from, to, 1)).unwrap();
    }
    let problems = Knowledge::load(folder.path()).unwrap_err();
    let files: Vec<bool> = ["tools.toml", "outputs.toml", "margins.toml", "defaults.toml"]
        .iter()
        .map(|f| problems.to_string().contains(f))
        .collect();
    assert_eq!(files, [true; 4], "{problems}");
}

/// What the knowledge of a folder with one such file has to say.
fn report(file: &str, text: &str) -> source_file::Problems {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(file), text).unwrap();
    Knowledge::load(folder.path()).unwrap_err()
}

#[test]
fn what_speaks_of_a_wrong_entry_is_not_wrong_on_top() {
    let sources = include_str!("../../../knowledge/sources.toml");
    let wrong = sources.replacen("id = \"judgement\"\ntext = \"Judgement", "id = \"judgement\"\ntxt = \"Judgement", 1);
    assert_ne!(wrong, sources);
    let problems = report("sources.toml", &wrong);
    assert_eq!(problems.len(), 2, "`text` is missing and `txt` unknown, and no more:\n{problems}");
    let kinds = include_str!("../../../knowledge/part_kinds.toml").replacen("dimension = \"mass\"", "dimension = \"mas\"", 1);
    assert_eq!(report("part_kinds.toml", &kinds).len(), 1);
    let garbled = include_str!("../../../knowledge/outputs.toml").replacen("id = \"head_angle\"", "id = head_angle", 1);
    assert_eq!(report("outputs.toml", &garbled).len(), 1);
}

#[test]
fn an_empty_file_says_what_is_missing_unless_none_is_wanted() {
    let problems = report("defaults.toml", "");
    assert_eq!(problems.len(), 1);
    assert!(problems.to_string().contains("there is no `[[default]]`"), "{problems}");
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("defaults.toml"), "default = []\n").unwrap();
    assert!(Knowledge::load(folder.path()).unwrap_or_else(|p| panic!("{p}")).defaults.is_empty());
}

#[test]
fn a_file_that_cannot_be_read_does_not_hide_what_is_wrong_in_others() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("sources.toml"), b"\xff").unwrap();
    fs::write(folder.path().join("tool.toml"), "").unwrap();
    let defaults = include_str!("../../../knowledge/defaults.toml").replacen("22 ± 6 %", "22 ± 6 mm", 1);
    fs::write(folder.path().join("defaults.toml"), defaults).unwrap();
    let problems = Knowledge::load(folder.path()).unwrap_err();
    assert_eq!(problems.len(), 3, "{problems}");
}

#[test]
fn more_entries_than_an_id_can_count_are_refused_in_one_line() {
    let mut text = include_str!("../../../knowledge/sources.toml").to_owned();
    for number in 0..70_000 {
        write!(
            text,
            "
[[source]]
id=\"s{number}\"
text=\"t\"
standing=\"memory\"
"
        )
        .unwrap();
    }
    let problems = report("sources.toml", &text);
    assert_eq!(problems.iter().filter(|p| p.message.contains("more than 65535")).count(), 1);
}

#[test]
fn files_cut_off_anywhere_are_reported_without_a_crash() {
    for file in FILES {
        let text = fs::read_to_string(format!("{}/../../knowledge/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
        let folder = tempfile::tempdir().unwrap();
        // Loading reads everything each time, so only some places are tried.
        for cut in (0..text.len()).step_by(text.len() / 12 + 1) {
            write(folder.path(), file, &text.as_bytes()[..cut]);
            // Some cuts leave a sound file; none may panic, and what is wrong can be shown.
            if let Err(problems) = Knowledge::load(folder.path()) {
                assert!(!problems.to_string().is_empty());
            }
        }
    }
}

/// The limits in the margins are those of the standards (`tests/references/safety_limits.toml`).
#[test]
fn limits_that_protect_somebody_are_those_of_the_standards() {
    let knowledge = Knowledge::embedded().unwrap();
    let table: toml::Table = include_str!("../../../tests/references/safety_limits.toml").parse().unwrap();
    let cases = table["case"].as_array().unwrap();
    assert_eq!(cases.len(), 7);
    for case in cases {
        let id = case["margin"].as_str().unwrap();
        let margin = knowledge.margins.iter().find(|m| m.id == id).unwrap_or_else(|| panic!("no margin {id}"));
        let MarginKind::Room { need, .. } = &margin.kind else { panic!("{id} compares no room") };
        let limit = quantity::parse(case["limit"].as_str().unwrap(), margin.dimension).unwrap().quantity;
        let stated: Vec<f64> = need
            .iter()
            .filter_map(|t| if let knowledge::TermOf::Literal(q) = t.of { Some(q.value() * t.times) } else { None })
            .collect();
        assert_eq!(stated, [limit.value()], "{id}");
        assert_eq!(margin.severity, Severity::Hurts, "{id}");
    }
}
