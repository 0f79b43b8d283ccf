//! What is written reads back equal.

use std::path::PathBuf;
use std::sync::Arc;

use bike::read::{build_from, read_build, read_swap};
use bike::{Build, Catalogue, Condition, Named, Part, Value, Values, write_build};
use knowledge::{About, AttributeType, FamilyId, KindId, Knowledge, Standard};
use proptest::prelude::*;
use quantity::{Dimension, Origin, Quantity, Spread};
use source_file::SourceFile;

fn assert_reads_back(build: &Build, knowledge: &Knowledge) {
    let text = write_build(build, knowledge);
    let file = SourceFile::from_text("written.toml", text.as_str());
    let back = build_from(&file, &Catalogue::new(), knowledge).unwrap_or_else(|problems| panic!("{problems}\n\n{text}"));
    assert_eq!(&back, build, "{text}");
    assert_eq!(write_build(&back, knowledge), text, "the second writing differs");
}

#[test]
fn the_demo_bikes_read_back_before_and_after_their_swaps() {
    let knowledge = Knowledge::embedded().unwrap();
    let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    for (bike, swap) in [
        ("heron", "heron-140-fork"),
        ("fieldfare", "fieldfare-584-wheels"),
        ("bittern", "bittern-small-rear-wheel-short-cranks"),
        ("wheatear", "wheatear-slacker"),
        ("moorhen", "moorhen-wide-tyres"),
    ] {
        let (build, catalogue) = read_build(&demo.join(bike).with_extension("toml"), &knowledge).unwrap();
        let swap = read_swap(&demo.join("swaps").join(swap).with_extension("toml"), &knowledge, &catalogue).unwrap();
        assert_reads_back(&build, &knowledge);
        assert_reads_back(&build.with(&swap, &knowledge), &knowledge);
    }
}

/// A name as a person could write one, and a little worse.
fn name() -> impl Strategy<Value = String> {
    "[^\\p{C}\\p{Z}]([^\\p{C}\\p{Z}]| |\"|\\\\|#){0,20}[^\\p{C}\\p{Z}]"
}

/// Any spread up to `widest`.
fn spread(widest: f64) -> impl Strategy<Value = Spread> {
    let width = prop_oneof![1e-9..1.0, Just(0.25), Just(0.5)].prop_map(move |share| share * widest);
    prop_oneof![
        Just(Spread::Exact),
        width.clone().prop_map(Spread::Limits),
        width.clone().prop_map(Spread::Expanded),
        width.prop_map(|width| Spread::Standard(width / 2.0)),
    ]
}

fn quantity(dimension: Dimension, least: f64, most: f64) -> impl Strategy<Value = Quantity> {
    let value = prop_oneof![least..=most, Just(least), Just(most), (least..=most).prop_map(f64::round)];
    (value, spread(most - least), prop::sample::select(Origin::ALL.as_slice()))
        .prop_map(move |(value, spread, origin)| Quantity::new(value.clamp(least, most), dimension, spread, origin))
}

/// Members of a family, and a designation where one can be read.
fn standards(knowledge: &Knowledge, family: FamilyId) -> Vec<Arc<Standard>> {
    let read = ["57-622", "622x25TC", "ZS44/28.6"].into_iter().filter_map(|code| knowledge.standard(family, code).ok());
    knowledge.family_of(family).members.iter().cloned().chain(read).collect()
}

fn value(knowledge: &Knowledge, what: AttributeType) -> BoxedStrategy<Value> {
    match what {
        AttributeType::Standard { family } => (prop::sample::select(standards(knowledge, family)), any::<bool>())
            .prop_map(|(standard, guess)| Value::Standard(Named { standard, guess }))
            .boxed(),
        AttributeType::Standards { family } => {
            prop::collection::vec(prop::sample::select(standards(knowledge, family)), 1..4).prop_map(Value::Standards).boxed()
        }
        AttributeType::Quantity { dimension, least, most } => quantity(dimension, least, most).prop_map(Value::Quantity).boxed(),
        AttributeType::Count { least, most } => (least..=most).prop_map(Value::Count).boxed(),
        AttributeType::Word => name().prop_map(Value::Word).boxed(),
        AttributeType::Flag => any::<bool>().prop_map(Value::Flag).boxed(),
        AttributeType::Numbers { least, most } => prop::collection::vec(least..=most, 1..14).prop_map(Value::Numbers).boxed(),
    }
}

/// Any attributes of a kind; those it requires always.
fn values(knowledge: &Knowledge, kind: KindId) -> impl Strategy<Value = Values> + use<> {
    let each: Vec<_> = knowledge
        .attributes_of(kind)
        .map(|(id, attribute)| {
            let stated = value(knowledge, attribute.what).prop_map(move |value| Some((id, value)));
            if attribute.required { stated.boxed() } else { prop_oneof![stated, Just(None)].boxed() }
        })
        .collect();
    let fills: Vec<_> = knowledge.attributes_of(kind).map(|(id, attribute)| (id, attribute.fills.clone())).collect();
    each.prop_map(move |stated| {
        let mut values = Values::new();
        for (id, value) in stated.into_iter().flatten() {
            values.set(id, value);
        }
        // A build that was read states what follows from its standards; one that does not was never read.
        for (id, fills) in &fills {
            if fills.iter().any(|fill| values.get(fill.attribute).is_none()) {
                values.remove(*id);
            }
        }
        values
    })
}

fn part(knowledge: &Knowledge, kind: KindId) -> impl Strategy<Value = Part> + use<> {
    let mass = prop::option::of(quantity(Dimension::Mass, 0.0, 50.0));
    let id = prop::option::of("[a-z0-9._-]{1,12}");
    let condition = prop::sample::select(vec![Condition::New, Condition::Used, Condition::Reconditioned]);
    let age = prop::option::of((0..600_u32).prop_map(|months| f64::from(months) / 12.0));
    (id, name(), prop::option::of(name()), mass, prop::option::of(0.0..1e5), values(knowledge, kind), condition, age).prop_map(
        move |(id, name, maker, mass, price, values, condition, age_years)| Part {
            id,
            maker,
            mass,
            price,
            values,
            condition,
            age_years,
            ..Part::new(kind, name)
        },
    )
}

fn build(knowledge: &Knowledge) -> impl Strategy<Value = Build> + use<> {
    let kind = |about: About| values(knowledge, knowledge.table(about).unwrap_or_else(|| panic!("no kind about {about:?}")));
    let parts: Vec<_> = knowledge.slots.iter().map(|slot| prop::option::of(part(knowledge, slot.kind))).collect();
    let notes = prop::collection::vec(any::<String>(), 0..3);
    (name(), notes, kind(About::Rider), kind(About::Setup), kind(About::Chart), parts).prop_map(
        |(name, notes, rider, setup, chart, parts)| {
            let has_frame = parts.first().is_some_and(Option::is_some);
            let parts = parts.into_iter().map(|part| part.map(Arc::new)).collect();
            // A chart belongs to a frame.
            let chart = if has_frame { chart } else { Values::new() };
            Build { name, notes, parts, chart, rider, setup }
        },
    )
}

#[test]
fn any_build_reads_back_equal() {
    let knowledge = Knowledge::embedded().unwrap();
    assert_eq!(knowledge.slots[0].id, "frame", "the frame comes first");
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) };
    proptest!(config, |(build in build(&knowledge))| {
        assert_reads_back(&build, &knowledge);
    });
}
