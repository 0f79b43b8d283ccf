//! What good files say, value by value: units, tolerances, origins, places; which value goes before which.

#![allow(clippy::float_cmp, reason = "numbers written in a file come back to the last bit")]

use bike::read::{adjust, build_from, catalogue_from, parse_adjust, parse_set, parse_unset, read_catalogue, swap_from};
use bike::{Build, Catalogue, Part, Swap, Value};
use knowledge::{About, AttributeId, Knowledge};
use quantity::{Dimension, Origin, Quantity, Spread};
use source_file::SourceFile;

/// The knowledge, and names looked up in it.
struct Known {
    knowledge: Knowledge,
}

impl Known {
    fn new() -> Self {
        Self { knowledge: Knowledge::embedded().unwrap_or_else(|problems| panic!("{problems}")) }
    }

    /// `fork.offset`, `chart.stack`.
    fn attribute(&self, name: &str) -> AttributeId {
        let found = name.split_once('.').and_then(|(kind, id)| self.knowledge.attribute(self.knowledge.kind(kind)?, id));
        found.unwrap_or_else(|| panic!("no {name}"))
    }

    fn build(&self, text: &str, catalogue: &Catalogue) -> Build {
        build_from(&SourceFile::from_text("a.toml", text), catalogue, &self.knowledge)
            .unwrap_or_else(|problems| panic!("{problems}"))
    }

    fn catalogue(&self, name: &str, text: &str) -> Catalogue {
        catalogue_from(&SourceFile::from_text(name, text), &self.knowledge).unwrap_or_else(|problems| panic!("{problems}"))
    }

    fn part<'b>(&self, build: &'b Build, slot: &str) -> &'b Part {
        self.knowledge.slot(slot).and_then(|slot| build.part(slot)).unwrap_or_else(|| panic!("nothing in {slot}"))
    }

    fn chart(&self, build: &Build, id: &str) -> Quantity {
        build.chart.quantity(self.attribute(&format!("chart.{id}"))).unwrap_or_else(|| panic!("no {id}"))
    }
}

fn length(value_mm: f64, spread: Spread, origin: Origin) -> Quantity {
    Quantity::new(value_mm, Dimension::Length, spread, origin)
}

const FORKS: &str = r#"
currency = "EUR"
[[part]]
id = "tarn-130"
kind = "fork"
name = "Tarn 130"
maker = "Hailstone"
mass = "1980 g"
price = 420
axle_to_crown = "524 ± 1 mm"
offset = 44
travel = "130 mm"
steerer_length = "220 mm"
"#;

#[test]
fn every_way_to_write_a_length_says_the_same() {
    let known = Known::new();
    let near = |text: &str, expected: Quantity| {
        let build = known.build(&format!("name = \"a\"\n[frame.chart]\nwheelbase = {text}\n"), &Catalogue::new());
        let found = known.chart(&build, "wheelbase");
        assert!((found.value() - expected.value()).abs() < 1e-9, "{text}: {found:?}");
        assert!((found.spread().plus_minus() - expected.spread().plus_minus()).abs() < 1e-9, "{text}: {found:?}");
        assert_eq!(found.origin(), expected.origin(), "{text}");
    };
    // Nobody states a ±: the usual one of a maker's chart, 2 mm, or of a guess (knowledge/sources.toml).
    for text in [
        "1143",
        "1143.0",
        "\"1143\"",
        "\"1143 mm\"",
        "\"114.3 cm\"",
        "\"1.143 m\"",
        "\"45 in\"",
        "{ value = 1143 }",
        "{ value = \"45 in\" }",
    ] {
        near(text, length(1143.0, Spread::Limits(2.0), Origin::MakersSheet));
    }
    near("\"~1143 mm\"", length(1143.0, Spread::Limits(0.03 * 1143.0), Origin::Guess));
    near("{ value = 1143, from = \"guess\" }", length(1143.0, Spread::Limits(0.03 * 1143.0), Origin::Guess));
    // Measured without a word on how well: what the tape reaches (knowledge/tools.toml).
    near("{ value = \"1143 mm\", from = \"measured\" }", length(1143.0, Spread::Limits(1.0), Origin::Measured));
    // Somebody does.
    near("\"1143 ± 5 mm\"", length(1143.0, Spread::Limits(5.0), Origin::MakersSheet));
    near("\"1143 ± 0 mm\"", length(1143.0, Spread::Exact, Origin::MakersSheet));
    near("\"45 in ± 5 mm\"", length(1143.0, Spread::Limits(5.0), Origin::MakersSheet));
    near("{ value = \"1143 ± 5 mm\", from = \"measured\" }", length(1143.0, Spread::Limits(5.0), Origin::Measured));
    near("{ value = 1143, plus_minus = 5 }", length(1143.0, Spread::Limits(5.0), Origin::MakersSheet));
    near("{ value = 1143, plus_minus = \"0.5 cm\" }", length(1143.0, Spread::Limits(5.0), Origin::MakersSheet));
    near("{ value = 1143, plus_minus = \"1 %\" }", length(1143.0, Spread::Limits(11.43), Origin::MakersSheet));
    near("{ value = 1143, plus_minus = 0 }", length(1143.0, Spread::Exact, Origin::MakersSheet));
    near("{ value = 1143, from = \"computed\", expanded = 5 }", length(1143.0, Spread::Expanded(5.0), Origin::Computed));
    near("{ value = \"~1143\", standard_deviation = \"2.5 mm\" }", length(1143.0, Spread::Standard(2.5), Origin::Guess));
}

#[test]
fn values_of_a_rider_are_measured_and_those_of_a_part_are_the_makers() {
    let known = Known::new();
    let catalogue = known.catalogue("forks.toml", FORKS);
    let build = known.build(
        "name = \"a\"\n[rider]\nmass = \"13 st 3 lb\"\n[setup]\nfront_sag = 25\nstem_spacers = 10\n[slots]\nfork = \"tarn-130\"\n",
        &catalogue,
    );
    let mass = build.rider.quantity(known.attribute("rider.mass")).unwrap();
    assert!((mass.value() - 185.0 * 0.453_592_37).abs() < 1e-9, "{mass:?}");
    assert_eq!(mass.origin(), Origin::Measured);
    let spacers = build.setup.quantity(known.attribute("setup.stem_spacers"));
    assert_eq!(spacers, Some(length(10.0, Spread::Limits(0.5), Origin::Measured)));
    let fork = known.part(&build, "fork");
    assert_eq!(
        fork.quantity(known.attribute("fork.axle_to_crown")),
        Some(length(524.0, Spread::Limits(1.0), Origin::MakersSheet))
    );
    assert_eq!(fork.quantity(known.attribute("fork.travel")), Some(length(130.0, Spread::Exact, Origin::MakersSheet)));
    let mass = fork.mass.unwrap();
    assert!((mass.value() - 1.98).abs() < 1e-12 && (mass.spread().plus_minus() - 0.0594).abs() < 1e-12, "{mass:?}");
    assert_eq!((fork.price, fork.maker.as_deref(), catalogue.currency()), (Some(420.0), Some("Hailstone"), Some("EUR")));
}

#[test]
fn values_of_its_own_go_before_those_of_the_catalogue_part() {
    let known = Known::new();
    let catalogue = known.catalogue("forks.toml", FORKS);
    let text = "name = \"a\"\n[slots]\nfork = { part = \"tarn-130\", name = \"cut down\", steerer_length = { value = 178, from = \"measured\" } }\n";
    let build = known.build(text, &catalogue);
    let fork = known.part(&build, "fork");
    let steerer = known.attribute("fork.steerer_length");
    assert_eq!(fork.quantity(steerer), Some(length(178.0, Spread::Limits(1.0), Origin::Measured)));
    assert_eq!((fork.id.as_deref(), fork.name.as_str(), fork.price), (Some("tarn-130"), "cut down", Some(420.0)));
    assert_eq!(fork.quantity(known.attribute("fork.offset")).map(Quantity::value), Some(44.0));
    // Each value knows where it stands.
    let place = |id: &str| fork.values.place(known.attribute(id)).map(ToString::to_string);
    assert_eq!(place("fork.steerer_length").as_deref(), Some("a.toml:3"));
    assert_eq!(place("fork.offset").as_deref(), Some("forks.toml:11"));
    // The part in the catalogue stays as it was.
    assert_eq!(catalogue.get("tarn-130").unwrap().quantity(steerer).map(Quantity::value), Some(220.0));
}

#[test]
fn entries_of_the_build_go_before_the_chart_of_the_catalogue_frame() {
    let known = Known::new();
    let frames = "[[part]]\nid = \"heron\"\nkind = \"frame\"\nname = \"Heron\"\n[part.chart]\nstack = 610\nreach = 440\ndrawn_with = { front_radius = 368 }\n";
    let catalogue = known.catalogue("frames.toml", frames);
    let text = "name = \"a\"\n[frame]\npart = \"heron\"\n[frame.chart]\nreach = { value = 443, from = \"measured\" }\n[frame.chart.drawn_with]\nfork_offset = 44\n";
    let build = known.build(text, &catalogue);
    assert_eq!(known.chart(&build, "stack").value(), 610.0);
    assert_eq!(known.chart(&build, "reach"), length(443.0, Spread::Limits(2.0), Origin::Measured));
    assert_eq!(known.chart(&build, "front_radius").value(), 368.0);
    assert_eq!(known.chart(&build, "fork_offset").value(), 44.0);
    assert_eq!(build.chart.len(), 4);
}

#[test]
fn a_part_written_out_is_called_as_its_kind_until_it_has_a_name() {
    let known = Known::new();
    let text = "name = \"a\"\n[slots]\ncassette = { kind = \"cassette\", speeds = 3, sprockets = [11, 15.5, 20] }\npedals = { foot_retention = true }\n[slots.headset]\nlower_stack = 1\nupper_stack = 9\nlower_seat = \" IS52 \"\n";
    let build = known.build(text, &Catalogue::new());
    let cassette = known.part(&build, "cassette");
    assert_eq!((cassette.name.as_str(), cassette.id.as_deref()), ("sprocket pack", None));
    assert_eq!(cassette.values.get(known.attribute("cassette.speeds")), Some(&Value::Count(3)));
    assert_eq!(cassette.values.numbers(known.attribute("cassette.sprockets")), Some([11.0, 15.5, 20.0].as_slice()));
    assert_eq!(known.part(&build, "pedals").values.flag(known.attribute("pedal.foot_retention")), Some(true));
    let seat = known.part(&build, "headset").values.standard(known.attribute("headset.lower_seat")).unwrap();
    assert_eq!((seat.standard.id.as_str(), seat.guess), ("IS52", false));
}

#[test]
fn a_standard_is_named_in_any_spelling_and_fills_in_what_follows_from_it() {
    let known = Known::new();
    let text = "name = \"a\"\n[slots]\nfront_tyre = { size = \"57 - 622\" }\nrear_tyre = { size = \"29x2.25\", width = 55 }\nfront_wheel = { rim = \"622 × 30 TC\", axle = \"~110X15\" }\nfork = { axle_to_crown = 500, offset = 44, travel = 100, steerer = \"Tapered\" }\n[slots.cassette]\nspeeds = 2\nsprockets = [11, 12]\ndriver_body = [\"9-spline\", \"small-cog\"]\n";
    let build = known.build(text, &Catalogue::new());
    let of = |slot: &str, name: &str| known.part(&build, slot).values.quantity(known.attribute(name)).unwrap().value();
    assert_eq!((of("front_tyre", "tyre.width"), of("front_tyre", "tyre.bead_seat_diameter")), (57.0, 622.0));
    // What is stated goes before what follows.
    assert_eq!((of("rear_tyre", "tyre.width"), of("rear_tyre", "tyre.bead_seat_diameter")), (55.0, 622.0));
    assert_eq!((of("front_wheel", "wheel.rim_inner_width"), of("front_wheel", "wheel.bead_seat_diameter")), (30.0, 622.0));
    assert_eq!((of("fork", "fork.steerer_diameter"), of("fork", "fork.crown_race_diameter")), (28.6, 39.8));
    let axle = known.part(&build, "front_wheel").values.standard(known.attribute("wheel.axle")).unwrap();
    assert_eq!((axle.standard.id.as_str(), axle.guess), ("110x15", true));
    // What follows from a guess is a guess.
    let width = known.part(&build, "front_wheel").values.quantity(known.attribute("wheel.hub_width")).unwrap();
    assert_eq!((width.value(), width.origin()), (110.0, Origin::Guess));
    let bodies = known.part(&build, "cassette").values.standards(known.attribute("cassette.driver_body")).unwrap();
    assert_eq!(bodies.iter().map(|body| body.id.as_str()).collect::<Vec<_>>(), ["9-spline", "small-cog"]);
}

#[test]
fn a_table_of_parts_reads_as_the_same_parts_written_out() {
    let known = Known::new();
    let table = "\
id;kind;name;maker;mass (g);price;axle_to_crown (cm);offset;travel;steerer_length;teeth;chart.stack;chart.front_radius
tarn-130;fork;Tarn 130;Hailstone;1980;420;52.4 ± 0.1;44;130 mm;220;;;
oxbow-32;chainring;\"Oxbow; 32\";;;;;;;;32;;
heron;frame;Heron;;~2.4 kg;;;;;;;610 ± 1;368
";
    let catalogue = known.catalogue("parts.csv", table);
    assert_eq!(catalogue.len(), 3);
    let fork = catalogue.get("tarn-130").unwrap();
    let written = known.catalogue("forks.toml", FORKS);
    let written = written.get("tarn-130").unwrap();
    assert_eq!(fork.quantity(known.attribute("fork.axle_to_crown")).map(Quantity::value), Some(524.0));
    for id in ["offset", "travel", "steerer_length"] {
        let attribute = known.attribute(&format!("fork.{id}"));
        assert_eq!(fork.values.get(attribute), written.values.get(attribute), "{id}");
    }
    assert_eq!((fork.mass, fork.price, &fork.maker), (written.mass, written.price, &written.maker));
    assert_eq!(fork.values.place(known.attribute("fork.travel")).map(ToString::to_string).as_deref(), Some("parts.csv:2"));
    assert_eq!(catalogue.get("oxbow-32").map(|ring| ring.name.as_str()), Some("Oxbow; 32"));
    let frame = catalogue.get("heron").unwrap();
    assert_eq!(frame.mass.map(Quantity::origin), Some(Origin::Guess));
    let chart = frame.chart.as_ref().unwrap();
    assert_eq!(chart.quantity(known.attribute("chart.stack")), Some(length(610.0, Spread::Limits(1.0), Origin::MakersSheet)));
    assert_eq!(chart.quantity(known.attribute("chart.front_radius")).map(Quantity::value), Some(368.0));
    assert_eq!(catalogue.get("oxbow-32").unwrap().chart, None);
}

#[test]
fn a_file_that_several_include_is_read_once() {
    let known = Known::new();
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("a.toml", "include = [\"b.toml\", \"c.toml\"]\n");
    write("b.toml", "include = \"forks.toml\"\n");
    write("c.toml", "include = [\"forks.toml\"]\n");
    write("forks.toml", FORKS);
    write("readme.txt", "no catalogue\n");
    for paths in [vec![folder.path().join("a.toml")], vec![folder.path().to_path_buf(), folder.path().join("forks.toml")]] {
        let catalogue = read_catalogue(&paths, &known.knowledge).unwrap_or_else(|problems| panic!("{problems}"));
        assert_eq!(catalogue.len(), 1);
    }
}

#[test]
fn a_swap_file_and_the_same_on_a_command_line_agree() {
    let known = Known::new();
    let catalogue = known.catalogue("forks.toml", FORKS);
    let knowledge = &known.knowledge;
    let text = "name = \"a\"\nnotes = \"b\"\nunset = [\"front_rotor\"]\n[set]\nfork = \"tarn-130\"\n[adjust]\nstem_spacers = \"1 cm\"\nrider.mass = 90\nchart.stack = \"611 ± 1 mm\"\n";
    let swap = swap_from(&SourceFile::from_text("swap.toml", text), knowledge, &catalogue)
        .unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((swap.name.as_deref(), swap.notes.as_slice()), (Some("a"), ["b".to_owned()].as_slice()));
    let set = parse_set(" fork = tarn-130 ", knowledge, &catalogue).unwrap();
    assert_eq!(swap.set, [set]);
    assert_eq!(swap.unset, [parse_unset("front_rotor", knowledge).unwrap()]);
    let adjust =
        ["stem_spacers=1 cm", "rider.mass=90", "chart.stack = 611 ± 1 mm"].map(|text| parse_adjust(text, knowledge).unwrap());
    assert_eq!(swap.adjust, adjust);
    // A bare name is enough where it is one of the set-up, the rider or the chart; the first that has it goes.
    assert_eq!(parse_adjust("setup.stem_spacers=1 cm", knowledge), Ok(adjust[0]));
    assert_eq!(parse_adjust("mass=90", knowledge), Ok(adjust[1]));
    assert_eq!(parse_adjust("stack=611 ± 1 mm", knowledge), Ok(adjust[2]));
    assert_eq!(adjust[2].1, length(611.0, Spread::Limits(1.0), Origin::MakersSheet));
    assert_eq!(adjust[1].1.origin(), Origin::Measured);
    let rider = knowledge.table(About::Rider).unwrap();
    assert_eq!(knowledge.attribute_of(adjust[1].0).kind, rider);
}

#[test]
fn a_number_of_a_part_puts_one_like_it_on_trial() {
    let known = Known::new();
    let text = "name = \"a\"\n[slots]\nfront_tyre = { name = \"Moor\", size = \"57-622\", radius = \"369 mm\", price = 40, mass = \"700 g\" }\n";
    let build = known.build(text, &Catalogue::new());
    let knowledge = &known.knowledge;
    let slot = knowledge.slot("front_tyre").unwrap();
    let kind = knowledge.slot_of(slot).kind;
    let [width, radius, size, pressure] =
        ["width", "radius", "size", "least_pressure"].map(|id| knowledge.attribute(kind, id).unwrap());
    let mut swap = Swap::default();
    for argument in
        ["front_tyre.width=60 mm", "front_tyre.width = 61 mm", "front_tyre.least_pressure=1.2 bar", "stem_spacers=10 mm"]
    {
        adjust(argument, &build, &mut swap, knowledge).unwrap();
    }
    let [(at, tyre)] = swap.set.as_slice() else { panic!("{:?}", swap.set) };
    assert_eq!((*at, tyre.name.as_str(), tyre.price, tyre.mass), (slot, "one like Moor", None, None));
    assert_eq!(tyre.quantity(width).map(Quantity::value), Some(61.0));
    assert_eq!(tyre.quantity(pressure).map(Quantity::value), Some(1.2));
    // A tyre of another width has another radius, and another size.
    assert_eq!((tyre.quantity(radius), tyre.values.get(size)), (None, None));
    assert_eq!(swap.adjust.len(), 1);
}

/// The bounds themselves are within bounds, in any unit.
#[test]
fn a_bound_can_be_written_in_another_unit() {
    let known = Known::new();
    for text in ["\"2200 mm\"", "2200", "\"220 cm\"", "\"2.2 m\"", "\"900 mm\"", "\"0.9 m\""] {
        known.build(&format!("name = \"a\"\n[rider]\nheight = {text}\n"), &Catalogue::new());
    }
}
