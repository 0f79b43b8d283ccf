//! What else a swap takes, from a catalogue of 20,000 parts; and 20,000 forks tried on one bike.

#![allow(clippy::unwrap_used, missing_docs, reason = "a benchmark stops at the first thing that is not there")]

use std::{hint::black_box, sync::Arc};

use bike::{Build, Swap, read::read_build};
use criterion::{Criterion, criterion_group, criterion_main};
use knowledge::Knowledge;
use stand::{Limits, Stand, Telling};

mod large_catalogue;
use large_catalogue::{demo, large};

const PARTS: usize = 20_000;

fn build(knowledge: &Knowledge, name: &str) -> Build {
    read_build(&demo().join(name), knowledge).unwrap_or_else(|problems| panic!("{problems}")).0
}

fn swap(knowledge: &Knowledge, slot: &str, part: &str) -> Swap {
    let catalogue =
        bike::read::read_catalogue(&[demo().join("parts")], knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    let slot = knowledge.slot(slot).unwrap();
    Swap { set: vec![(slot, Arc::clone(catalogue.get(part).unwrap()))], ..Swap::default() }
}

fn extras(criterion: &mut Criterion) {
    let stand = Stand::new(Knowledge::embedded().unwrap()).unwrap();
    let knowledge = stand.knowledge();
    let catalogue = large(knowledge, None, PARTS, 1);
    let limits = Limits { rate: Some(60.0), ..Limits::default() };
    let mut group = criterion.benchmark_group("extras from 20,000 parts");
    group.sample_size(10);
    for (bike, slot, part) in [
        ("heron.toml", "cassette", "oxbow-11s-11-42"),
        ("heron.toml", "fork", "weir-392"),
        ("heron.toml", "fork", "corrie-170"),
        ("heron.toml", "rear_wheel", "osier-622-25-rear"),
        ("fieldfare.toml", "front_wheel", "withy-622-30-front"),
        ("bittern.toml", "rear_wheel", "withy-584-30-rear-wide"),
    ] {
        let mounted = stand.mount(build(knowledge, bike)).unwrap();
        let swap = swap(knowledge, slot, part);
        group.bench_function(format!("{bike} {slot}={part}"), |b| {
            b.iter(|| black_box(mounted.extras(black_box(&swap), Telling::default(), &catalogue, &limits).unwrap()));
        });
    }
    group.finish();
}

fn fits(criterion: &mut Criterion) {
    let stand = Stand::new(Knowledge::embedded().unwrap()).unwrap();
    let knowledge = stand.knowledge();
    let slot = knowledge.slot("fork").unwrap();
    let forks = large(knowledge, Some(knowledge.slot_of(slot).kind), PARTS, 2);
    // Extras come from the demo's own parts, beside the forks.
    let mut catalogue = forks;
    let demo_parts =
        bike::read::read_catalogue(&[demo().join("parts")], knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    for part in demo_parts.iter() {
        assert!(catalogue.add(bike::Part::clone(part)).is_ok(), "ids differ");
    }
    let mounted = stand.mount(build(knowledge, "heron.toml")).unwrap();
    let mut group = criterion.benchmark_group("fits");
    group.sample_size(10);
    group.bench_function("20,000 forks on one bike", |b| {
        b.iter(|| black_box(mounted.fits(slot, Telling::default(), &catalogue, &Limits::default()).unwrap()));
    });
    group.finish();
}

criterion_group!(benches, extras, fits);
criterion_main!(benches);
