//! How long reading takes: a build with the demo's catalogue, and a list of 20 000 parts.

use std::fmt::Write;
use std::hint::black_box;
use std::path::PathBuf;

use bike::read::{build_from, catalogue_from, read_build};
use bike::{Catalogue, write_build};
use criterion::{Criterion, criterion_group, criterion_main};
use knowledge::Knowledge;
use source_file::SourceFile;

fn reading(criterion: &mut Criterion) {
    let knowledge = Knowledge::embedded().unwrap_or_else(|problems| panic!("{problems}"));
    let heron = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo/heron.toml");
    criterion.bench_function("a build with its catalogue of 107 parts", |bencher| {
        bencher.iter(|| read_build(black_box(&heron), &knowledge).is_ok());
    });

    let mut list = String::from("id,kind,name,maker,mass (g),price,bead_seat_diameter (mm),width (mm),measured_on_rim\n");
    for number in 0..20_000 {
        let width = 28 + number % 40;
        let _ =
            writeln!(list, "tyre-{number},tyre,Tyre {number},Teasel,~{},{}.90,622,{width} ± 1,25", 400 + width, 20 + number % 60);
    }
    let list = SourceFile::from_text("tyres.csv", list);
    assert_eq!(catalogue_from(&list, &knowledge).map(|catalogue| catalogue.len()), Ok(20_000));
    let mut group = criterion.benchmark_group("large");
    group.sample_size(20);
    group.bench_function("a list of 20 000 parts", |bencher| {
        bencher.iter(|| catalogue_from(black_box(&list), &knowledge).is_ok());
    });
    group.finish();

    let Ok((build, _)) = read_build(&heron, &knowledge) else { return };
    let written = SourceFile::from_text("heron.toml", write_build(&build, &knowledge));
    criterion.bench_function("a build written out", |bencher| {
        bencher.iter(|| build_from(black_box(&written), &Catalogue::new(), &knowledge).is_ok());
    });
}

criterion_group!(benches, reading);
criterion_main!(benches);
