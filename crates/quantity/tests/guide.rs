//! The guide's own worked examples.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use quantity::{
    Spread,
    gum::{Estimate, combined, covariance, effective_degrees_of_freedom},
};

/// JCGM 100:2008, H.1 (end-gauge calibration), table H.1: contributions in nm with their degrees of freedom (from memory).
#[test]
fn h1_end_gauge() {
    let contributions = [(25.0, 18.0), (5.8, 24.0), (3.9, 5.0), (6.7, 8.0), (2.9, 50.0), (16.6, 2.0)];
    let u = combined(contributions.iter().map(|c| c.0));
    // The guide gives u_c = 32 nm and ν_eff = 16.
    assert!((u - 32.0).abs() < 0.5, "{u}");
    // ν_eff is rounded down to a whole number in the guide (H.1.6).
    let nu = effective_degrees_of_freedom(&contributions);
    assert!((16.0..17.9).contains(&nu), "{nu}");
}

/// JCGM 100:2008, H.2 (resistance, reactance and impedance measured together), approach 1: the five observations of table H.2,
/// results of table H.4 (from memory; the means agree with those printed).
#[test]
fn h2_resistance_and_reactance() {
    let observed = [
        [5.007, 4.994, 5.005, 4.990, 4.999_f64],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ];
    let mean = observed.map(|o| o.iter().sum::<f64>() / 5.0);
    // Covariance of the means (equation 17).
    let shared =
        |a: usize, b: usize| (0..5).map(|k| (observed[a][k] - mean[a]) * (observed[b][k] - mean[b])).sum::<f64>() / (5.0 * 4.0);
    let u = [0, 1, 2].map(|i| shared(i, i).sqrt());
    let r = |a: usize, b: usize| shared(a, b) / (u[a] * u[b]);
    let [v, i, phi] = mean;
    let resistance = [phi.cos() / i * u[0], -v * phi.cos() / (i * i) * u[1], -v * phi.sin() / i * u[2]];
    let reactance = [phi.sin() / i * u[0], -v * phi.sin() / (i * i) * u[1], v * phi.cos() / i * u[2]];
    let impedance = [u[0] / i, -v / (i * i) * u[1], 0.0];
    let uncertainty = |c: &[f64]| covariance(c, c, r).sqrt();
    let correlation = |a: &[f64], b: &[f64]| covariance(a, b, r) / (uncertainty(a) * uncertainty(b));
    let near = |got: f64, want: f64, by: f64| assert!((got - want).abs() < by, "{got} {want}");
    near(v / i * phi.cos(), 127.732, 5e-4);
    near(v / i * phi.sin(), 219.847, 5e-4);
    near(v / i, 254.260, 5e-4);
    near(uncertainty(&resistance), 0.071, 5e-4);
    near(uncertainty(&reactance), 0.295, 1e-3);
    near(uncertainty(&impedance), 0.236, 5e-4);
    near(correlation(&resistance, &reactance), -0.588, 5e-4);
    near(correlation(&resistance, &impedance), -0.485, 5e-4);
    near(correlation(&reactance, &impedance), 0.993, 5e-4);
}

/// JCGM 101:2008, 9.2.2: the sum of four inputs of mean 0 and standard uncertainty 1 has u = 2.0; 9.2.3 takes them rectangular.
#[test]
fn supplement_1_additive_model() {
    let half_width = 3.0_f64.sqrt();
    let sum = (0..4)
        .map(|n| Estimate::input(n, 0.0, Spread::Limits(half_width).standard_uncertainty()))
        .reduce(|a, b| &a + &b)
        .unwrap();
    assert!((sum.standard_uncertainty() - 2.0).abs() < 1e-12);
}
