//! scratch
fn main() {
    let stand = stand::Stand::new(knowledge::Knowledge::embedded().unwrap()).unwrap();
    let (b, c) = bike::read_build(std::path::Path::new("demo/heron.toml"), stand.knowledge()).unwrap_or_else(|p| panic!("{p}"));
    let s = bike::read_swap(std::path::Path::new("demo/swaps/heron-150-fork.toml"), stand.knowledge(), &c).unwrap();
    let m = stand.mount(b).unwrap();
    for _ in 0..2000 {
        std::hint::black_box(m.evaluate(&s).unwrap());
    }
}
