//! What a page costs, asked in memory: the parts that follow a slider, the whole bench, choosing, comparing, writing, the files.

#![allow(clippy::unwrap_used, reason = "a benchmark stops at the first thing that is not there")]

use std::sync::Arc;

use axum::{
    Router,
    body::{Body, to_bytes},
    http::Request,
};
use criterion::{Criterion, criterion_group, criterion_main};
use knowledge::Knowledge;
use server::{Workshop, app};
use tokio::runtime::Runtime;
use tower::ServiceExt as _;

const PAGES: [(&str, &str); 10] = [
    ("live_again", "/bench/live?bike=heron&set.fork=tarn-150&adjust.stem_spacers=10+mm&room=wide"),
    ("bench", "/bench?bike=heron&set.fork=tarn-150&adjust.stem_spacers=10+mm"),
    ("choose_again", "/choose?bike=heron&slot=fork"),
    ("compare", "/compare?bike=heron&slot=fork&with=tarn-130&with=tarn-140&with=tarn-150"),
    ("write", "/write?bike=heron&set.fork=tarn-150"),
    ("answer", "/api/answer?bike=heron&set.fork=tarn-150"),
    ("sheet_pdf", "/sheet.pdf?bike=heron&set.fork=tarn-150"),
    ("card_png", "/card.png?bike=heron&set.fork=tarn-150"),
    ("animation_png", "/animation.png?bike=heron&set.fork=tarn-150"),
    ("drawing_png", "/drawing.png?bike=heron&set.fork=tarn-150"),
];

fn ask(runtime: &Runtime, app: &Router, address: &str) -> usize {
    runtime.block_on(async {
        let request = Request::get(address).body(Body::empty()).unwrap();
        let response = app.clone().oneshot(request).await.unwrap();
        assert!(response.status().is_success(), "{address}");
        to_bytes(response.into_body(), 32 << 20).await.unwrap().len()
    })
}

fn pages(criterion: &mut Criterion) {
    let runtime = Runtime::new().unwrap();
    let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap_or_else(|problems| panic!("{problems}"));
    let app = app(Arc::new(workshop));
    let mut group = criterion.benchmark_group("pages");
    // Every slider position another one, as on a first sweep; and the same one, as on the way back.
    let mut height = 0_u32;
    group.bench_function("live_first", |bench| {
        bench.iter(|| {
            height += 1;
            let mass = 60.0 + f64::from(height) / 1e4;
            ask(&runtime, &app, &format!("/bench/live?bike=heron&set.fork=tarn-150&adjust.rider.mass={mass:.4}+kg&room=wide"))
        });
    });
    for (name, address) in PAGES {
        group.bench_function(name, |bench| bench.iter(|| ask(&runtime, &app, address)));
    }
    group.finish();
}

criterion_group!(benches, pages);
criterion_main!(benches);
