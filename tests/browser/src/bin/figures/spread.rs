//! Many times of one thing, told by quantiles.

/// `p50`, `p95` and `p99` of some times.
pub(crate) fn told(mut times_ms: Vec<f64>) -> String {
    times_ms.sort_by(f64::total_cmp);
    let at = |percent: usize| {
        let place = (times_ms.len() * percent).div_ceil(100).saturating_sub(1);
        times_ms.get(place).copied().unwrap_or(f64::NAN)
    };
    format!("p50 {:.1} ms, p95 {:.1} ms, p99 {:.1} ms ({} times)", at(50), at(95), at(99), times_ms.len())
}
