//! What one swap costs: in numbers (both assemblies, two poses, all margins, exact sensitivities), and written out as an answer.

#![allow(clippy::unwrap_used, missing_docs, reason = "a benchmark stops at the first thing that is not there")]

use std::{hint::black_box, path::Path};

use criterion::{Criterion, criterion_group, criterion_main};
use knowledge::Knowledge;
use stand::{Stand, Telling};

fn one_swap(criterion: &mut Criterion) {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let stand = Stand::new(Knowledge::embedded().unwrap()).unwrap();
    let (build, catalogue) = bike::read::read_build(&demo.join("heron.toml"), stand.knowledge()).unwrap();
    let swap = bike::read::read_swap(&demo.join("swaps/heron-150-fork.toml"), stand.knowledge(), &catalogue).unwrap();
    let mounted = stand.mount(build.clone()).unwrap();
    criterion.bench_function("evaluate one swap", |b| b.iter(|| black_box(mounted.evaluate(black_box(&swap)).unwrap())));
    criterion.bench_function("write one answer", |b| {
        b.iter(|| black_box(mounted.answer(black_box(&swap), Telling::default()).unwrap()));
    });
    criterion.bench_function("mount a bike, chart reconciled", |b| b.iter(|| black_box(stand.mount(build.clone()).unwrap())));
    criterion.bench_function("load the knowledge", |b| b.iter(|| black_box(Knowledge::embedded().unwrap())));
}

criterion_group!(benches, one_swap);
criterion_main!(benches);
