//! The guides' own worked examples (`tests/references/gum.toml`, each with its source).

#![allow(clippy::float_cmp, reason = "what has to be exact, as x − x, is compared exactly")]
#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use proptest::prelude::*;
use quantity::Spread;
use quantity::gum::{
    COVERAGE_FACTOR, Estimate, combined, combined_correlated, covariance, coverage_factor, effective_degrees_of_freedom,
};
use rand::{Rng, SeedableRng, rngs::StdRng};
use rand_distr::{Distribution, Normal};
use toml::{Table, Value};

fn example(name: &str) -> Table {
    let text = include_str!("../../../tests/references/gum.toml");
    let table: Table = text.parse().unwrap();
    table[name].as_table().unwrap().clone()
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

/// Value and standard uncertainty of `{ value = …, u = … }` or `{ value = …, half_width = … }`.
fn stated(value: &Value) -> (f64, f64) {
    let spread = match value.get("half_width") {
        Some(half_width) => Spread::Limits(number(half_width)),
        None => Spread::Standard(number(&value["u"])),
    };
    (number(&value["value"]), spread.standard_uncertainty())
}

/// A result agrees with a printed one if it rounds to its last digit: half of that digit, and a rounding on top.
#[track_caller]
fn agrees(what: &str, got: f64, printed: f64, last_digit: f64) {
    assert!((got - printed).abs() <= 0.5 * last_digit * (1.0 + 1e-9), "{what}: {got}, printed {printed}");
}

/// H.1: a length with its budget, effective degrees of freedom and expanded uncertainty.
#[test]
fn h1_end_gauge() {
    let e = example("end_gauge");
    let mut next = 0..;
    let mut freedom = Vec::new();
    let mut input = |value: &Value| {
        let (mean, u) = stated(value);
        freedom.push(value.get("degrees_of_freedom").map_or(f64::INFINITY, number));
        Estimate::input(next.next().unwrap(), mean, u)
    };
    let standard = input(&e["standard_nm"]);
    let differences: Vec<Estimate> = e["difference_nm"].as_array().unwrap().iter().map(&mut input).collect();
    let expansion_difference = input(&e["expansion_difference"]);
    let temperature_difference = input(&e["temperature_difference"]);
    let temperature = input(&e["temperature"]);
    let expansion = input(&e["expansion"]);

    let difference = differences.into_iter().reduce(|a, b| a + b).unwrap();
    let length =
        &standard + &difference - &standard * (&expansion_difference * &temperature + &expansion * &temperature_difference);

    agrees("length", length.value, number(&e["length_nm"]), 1.0);
    agrees("u", length.standard_uncertainty(), number(&e["u_nm"]), 1.0);
    let printed = &e["contributions_nm"];
    let shares: Vec<f64> = length.contributions().iter().map(|c| c.1.abs()).collect();
    agrees("standard", shares[0], number(&printed["standard"]), 1.0);
    agrees("difference", combined(shares[1..4].iter().copied()), number(&printed["difference"]), 0.1);
    agrees("difference of expansions", shares[4], number(&printed["expansion_difference"]), 0.1);
    agrees("difference of temperatures", shares[5], number(&printed["temperature_difference"]), 0.1);
    assert_eq!(shares[6..], [0.0, 0.0], "flat at the estimate");

    let with_freedom: Vec<(f64, f64)> = shares.iter().copied().zip(freedom).collect();
    let effective = effective_degrees_of_freedom(&with_freedom);
    // 16.75 from unrounded contributions; the guide has 16.7 from rounded ones. Both are cut to 16.
    agrees("degrees of freedom", effective, number(&e["effective_degrees_of_freedom"]), 0.2);
    assert_eq!(effective.floor(), number(&e["effective_degrees_of_freedom"]).floor());
    let k = coverage_factor(0.99, effective);
    agrees("k", k, number(&e["coverage_factor_99"]), 0.01);
    // The guide takes u as printed, 32 nm: 2.92 × 32 = 93.
    agrees("U", k * number(&e["u_nm"]), number(&e["expanded_99_nm"]), 1.0);
}

/// H.2, approach 1: three results of three correlated means, and their correlations.
#[test]
fn h2_resistance_and_reactance() {
    let e = example("impedance");
    let observed: Vec<Vec<f64>> = e["observed"].as_array().unwrap().iter().map(numbers).collect();
    let count = observed.len() as f64;
    let mean = |of: usize| observed.iter().map(|o| o[of]).sum::<f64>() / count;
    // Covariance of two means (equation 17): every joint observation is one independent input, contributing (x_k − x̄)/√(n (n − 1)).
    let scale = (count * (count - 1.0)).sqrt();
    let estimate = |of: usize| {
        Estimate::with_contributions(mean(of), observed.iter().enumerate().map(|(k, o)| (k, (o[of] - mean(of)) / scale)))
    };
    let inputs = [0, 1, 2].map(estimate);
    let last = [1e-4, 1e-4, 1e-5];
    for (of, (printed, u)) in numbers(&e["mean"]).into_iter().zip(numbers(&e["u"])).enumerate() {
        agrees("mean", inputs[of].value, printed, last[of]);
        agrees("u of a mean", inputs[of].standard_uncertainty(), u, last[of]);
    }
    let [voltage, current, phase] = &inputs;
    let r = &e["correlation"];
    agrees("r(V, I)", voltage.correlation(current), number(&r["voltage_current"]), 0.01);
    agrees("r(V, φ)", voltage.correlation(phase), number(&r["voltage_phase"]), 0.01);
    agrees("r(I, φ)", current.correlation(phase), number(&r["current_phase"]), 0.01);

    let milliampere = 1e-3;
    let impedance = voltage / (current * milliampere);
    let results = [&impedance * phase.cos(), &impedance * phase.sin(), impedance];
    for (result, (printed, u)) in results.iter().zip(numbers(&e["result"]).into_iter().zip(numbers(&e["u_result"]))) {
        agrees("result", result.value, printed, 1e-3);
        // The guide's own intermediates are rounded: 0.295 58 is printed as 0.295. A whole last digit is allowed.
        agrees("u of a result", result.standard_uncertainty(), u, 2e-3);
    }
    let [resistance, reactance, impedance] = &results;
    let r = &e["correlation_result"];
    agrees("r(R, X)", resistance.correlation(reactance), number(&r["resistance_reactance"]), 1e-3);
    agrees("r(R, Z)", resistance.correlation(impedance), number(&r["resistance_impedance"]), 1e-3);
    agrees("r(X, Z)", reactance.correlation(impedance), number(&r["reactance_impedance"]), 1e-3);
    // Resistance and reactance are the legs of the impedance, whichever way one goes.
    let again = resistance.hypot(reactance);
    assert!((again.value - impedance.value).abs() < 1e-10);
    assert!((&again - impedance).standard_uncertainty() < 1e-12);
    assert!((reactance.atan2(resistance) - phase).standard_uncertainty() < 1e-14);
}

/// H.2 by the other road: printed means, uncertainties and correlations of the inputs, through equation 13. The correlations have two
/// digits, so the results have fewer than above.
#[test]
fn h2_by_correlation_coefficients() {
    let e = example("impedance");
    let (mean, u) = (numbers(&e["mean"]), numbers(&e["u"]));
    let r = &e["correlation"];
    let correlation = |i: usize, j: usize| match (i.min(j), i.max(j)) {
        (0, 1) => number(&r["voltage_current"]),
        (0, 2) => number(&r["voltage_phase"]),
        (1, 2) => number(&r["current_phase"]),
        _ => 1.0,
    };
    let (v, i, phi) = (mean[0], mean[1] * 1e-3, mean[2]);
    let (u_v, u_i, u_phi) = (u[0], u[1] * 1e-3, u[2]);
    let contributions = [
        [phi.cos() / i * u_v, -v * phi.cos() / (i * i) * u_i, -v * phi.sin() / i * u_phi],
        [phi.sin() / i * u_v, -v * phi.sin() / (i * i) * u_i, v * phi.cos() / i * u_phi],
        [u_v / i, -v / (i * i) * u_i, 0.0],
    ];
    for (c, printed) in contributions.iter().zip(numbers(&e["u_result"])) {
        let u = combined_correlated(c, correlation);
        assert!((u / printed - 1.0).abs() < 0.02, "{u}, printed {printed}");
    }
    let r_of = |a: usize, b: usize| {
        let (a, b) = (&contributions[a], &contributions[b]);
        covariance(a, b, correlation) / (combined_correlated(a, correlation) * combined_correlated(b, correlation))
    };
    let printed = &e["correlation_result"];
    assert!((r_of(0, 1) - number(&printed["resistance_reactance"])).abs() < 0.02);
    assert!((r_of(0, 2) - number(&printed["resistance_impedance"])).abs() < 0.02);
    assert!((r_of(1, 2) - number(&printed["reactance_impedance"])).abs() < 0.02);
}

/// H.3: a straight line fitted to a thermometer's corrections, and the correction far from the readings, where the correlation of
/// intercept and slope decides.
#[test]
fn h3_thermometer() {
    let e = example("thermometer");
    let reference = number(&e["reference"]);
    let theta: Vec<f64> = numbers(&e["reading"]).into_iter().map(|t| t - reference).collect();
    let b = numbers(&e["correction"]);
    let count = b.len() as f64;
    let sum = |f: &dyn Fn(usize) -> f64| (0..b.len()).map(f).sum::<f64>();
    let (s, s_theta, s_theta2) = (count, sum(&|k| theta[k]), sum(&|k| theta[k] * theta[k]));
    let determinant = s * s_theta2 - s_theta * s_theta;
    // The fit is linear in the corrections: intercept Σ p_k b_k, slope Σ q_k b_k (equations H.13a and H.13b).
    let p = |k: usize| (s_theta2 - s_theta * theta[k]) / determinant;
    let q = |k: usize| (s * theta[k] - s_theta) / determinant;
    let (y1, y2) = (sum(&|k| p(k) * b[k]), sum(&|k| q(k) * b[k]));
    // Scatter about the line (H.13f); each correction is an independent input with it.
    let scatter = (sum(&|k| (b[k] - y1 - y2 * theta[k]).powi(2)) / (count - 2.0)).sqrt();
    let corrections: Vec<Estimate> = b.iter().enumerate().map(|(k, b)| Estimate::input(k, *b, scatter)).collect();
    let weighted =
        |weight: &dyn Fn(usize) -> f64| corrections.iter().enumerate().map(|(k, b)| weight(k) * b).reduce(|a, b| a + b).unwrap();
    let (intercept, slope) = (weighted(&p), weighted(&q));
    let check = |what: &str, got: &Estimate, printed: &Value, last_digit: f64| {
        let (value, u) = stated(printed);
        agrees(what, got.value, value, last_digit);
        agrees(what, got.standard_uncertainty(), u, last_digit);
    };
    check("intercept", &intercept, &e["intercept"], 1e-4);
    check("slope", &slope, &e["slope"], 1e-5);
    agrees("r", intercept.correlation(&slope), number(&e["correlation"]), 1e-3);
    check("at 30 °C", &(&intercept + &slope * (30.0 - reference)), &e["at_30"], 1e-4);
}

/// JCGM 101:2008, 9.2: u = 2.0 whatever the distribution, and the interval of four rectangular ones by random draws.
#[test]
fn supplement_1_additive_model() {
    let e = example("additive");
    let (count, u_input) = (usize::try_from(e["inputs"].as_integer().unwrap()).unwrap(), number(&e["u_input"]));
    let half_width = u_input * 3.0_f64.sqrt();
    for spread in [Spread::Limits(half_width), Spread::Standard(u_input), Spread::Expanded(COVERAGE_FACTOR * u_input)] {
        let inputs = (0..count).map(|n| Estimate::input(n, 0.0, spread.standard_uncertainty()));
        let sum = inputs.reduce(|a, b| a + b).unwrap();
        assert_eq!(sum.value, 0.0);
        assert!((sum.standard_uncertainty() - number(&e["u"])).abs() < 1e-12);
        assert!((sum.expanded_uncertainty() - 2.0 * number(&e["u"])).abs() < 1e-12);
    }
    // Our reading of "± a is anywhere within" against what such draws do.
    let mut random = StdRng::seed_from_u64(20_081);
    let mut sums: Vec<f64> =
        (0..200_000).map(|_| (0..count).map(|_| random.random_range(-half_width..half_width)).sum()).collect();
    let u = (sums.iter().map(|s| s * s).sum::<f64>() / sums.len() as f64).sqrt();
    // The standard deviation of 2e5 draws is known to about 1/√(4e5) = 0.16 %; four times that.
    assert!((u / number(&e["u"]) - 1.0).abs() < 0.0064, "{u}");
    sums.sort_by(f64::total_cmp);
    let half_width_95 = (sums[sums.len() * 39 / 40] - sums[sums.len() / 40]) / 2.0;
    assert!((half_width_95 - number(&e["half_width_95"])).abs() < 0.03, "{half_width_95}");
}

/// JCGM 101:2008, 9.3: a mass calibration where first order sees none of the densities, and random draws do. It shows what this
/// room's arithmetic cannot do.
#[test]
fn supplement_1_mass_calibration() {
    let e = example("mass");
    let keys = ["reference_mg", "added_mg", "air", "weight", "reference_density"];
    let inputs: Vec<Estimate> = keys
        .iter()
        .enumerate()
        .map(|(n, key)| {
            let (value, u) = stated(&e[*key]);
            Estimate::input(n, value, u)
        })
        .collect();
    let [reference, added, air, weight, density] = inputs.try_into().unwrap();
    let (conventional, nominal) = (number(&e["conventional_air"]), number(&e["nominal_mg"]));
    let buoyancy = (&air - conventional) * (1.0 / &weight - 1.0 / &density);
    let difference = (&reference + &added) * (1.0 + buoyancy) - nominal;
    agrees("δm", difference.value, number(&e["difference_mg"]), 1e-4);
    agrees("u", difference.standard_uncertainty(), number(&e["u_first_order_mg"]), 1e-4);

    let mut random = StdRng::seed_from_u64(20_082);
    let draws = 200_000;
    let mut squares = 0.0;
    for _ in 0..draws {
        let mut normal = |key: &str| Normal::new(stated(&e[key]).0, stated(&e[key]).1).unwrap().sample(&mut random);
        let masses = normal("reference_mg") + normal("added_mg");
        let mut uniform = |key: &str| {
            let half_width = number(&e[key]["half_width"]);
            number(&e[key]["value"]) + random.random_range(-half_width..half_width)
        };
        let (air, weight, density) = (uniform("air"), uniform("weight"), uniform("reference_density"));
        let drawn = masses * (1.0 + (air - conventional) * (1.0 / weight - 1.0 / density)) - nominal;
        squares += (drawn - difference.value).powi(2);
    }
    let u = (squares / f64::from(draws)).sqrt();
    assert!((u / number(&e["u_monte_carlo_mg"]) - 1.0).abs() < 0.01, "{u}");
}

/// Table G.2, rounded to its digits; and the k = 2 that we print.
#[test]
fn coverage_factors_are_those_of_table_g2() {
    let e = example("coverage");
    let probabilities = numbers(&e["probability"]);
    let rows = e["factor"].as_array().unwrap();
    assert_eq!((probabilities.len(), rows.len()), (6, 14));
    for row in rows {
        let nu = number(&row["degrees_of_freedom"]);
        // ν = ∞ is printed with three decimals.
        let last_digit = if nu.is_infinite() { 1e-3 } else { 1e-2 };
        for (p, t) in probabilities.iter().zip(numbers(&row["t"])) {
            agrees(&format!("p = {p}, ν = {nu}"), coverage_factor(*p, nu), t, last_digit);
        }
    }
    assert!((coverage_factor(0.9545, f64::INFINITY) - COVERAGE_FACTOR).abs() < 5e-4);
}

/// A function of one or two estimates, and the same of plain numbers.
type Case = (&'static str, fn(&Estimate, &Estimate) -> Estimate, fn(f64, f64) -> f64);

const FUNCTIONS: [Case; 18] = [
    ("x + y", |x, y| x + y, |x, y| x + y),
    ("x - y", |x, y| x - y, |x, y| x - y),
    ("x y", |x, y| x * y, |x, y| x * y),
    ("x / y", |x, y| x / y, |x, y| x / y),
    ("-x", |x, _| -x, |x, _| -x),
    ("2 - x", |x, _| 2.0 - x, |x, _| 2.0 - x),
    ("1 / x", |x, _| 1.0 / x, |x, _| 1.0 / x),
    ("x³", |x, _| x.powi(3), |x, _| x.powi(3)),
    ("√x", |x, _| x.sqrt(), |x, _| x.sqrt()),
    ("exp x", |x, _| x.exp(), |x, _| x.exp()),
    ("ln x", |x, _| x.ln(), |x, _| x.ln()),
    ("sin x", |x, _| x.sin(), |x, _| x.sin()),
    ("cos x", |x, _| x.cos(), |x, _| x.cos()),
    ("tan x", |x, _| x.tan(), |x, _| x.tan()),
    ("asin(x/4)", |x, _| (x / 4.0).asin(), |x, _| (x / 4.0).asin()),
    ("acos(x/4)", |x, _| (x / 4.0).acos(), |x, _| (x / 4.0).acos()),
    ("atan2(x, y)", |x, y| x.atan2(y), f64::atan2),
    ("hypot(x, y) + atan y + |x|", |x, y| x.hypot(y) + y.atan() + x.abs(), |x, y| x.hypot(y) + y.atan() + x.abs()),
];

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Contributions are derivatives times uncertainties, by central differences.
    #[test]
    fn contributions_are_derivatives(x in 0.2..1.4_f64, y in 0.2..1.4_f64, u_x in 0.1..2.0_f64, u_y in 0.1..2.0_f64) {
        let (a, b) = (Estimate::input(4, x, u_x), Estimate::input(2, y, u_y));
        for (name, of_estimates, of_numbers) in FUNCTIONS {
            let result = of_estimates(&a, &b);
            prop_assert!((result.value - of_numbers(x, y)).abs() < 1e-12 * result.value.abs().max(1.0), "{name}");
            // Truncation h² f'''/6 and rounding ε f/h are both below 1e-8 of what these functions reach.
            let h = 1e-5;
            let along_x = (of_numbers(x + h, y) - of_numbers(x - h, y)) / (2.0 * h) * u_x;
            let along_y = (of_numbers(x, y + h) - of_numbers(x, y - h)) / (2.0 * h) * u_y;
            let of = |input| result.contributions().iter().find(|c| c.0 == input).map_or(0.0, |c| c.1);
            let near = |got: f64, expected: f64| (got - expected).abs() < 1e-6 * expected.abs().max(1.0);
            prop_assert!(near(of(4), along_x) && near(of(2), along_y), "{name}: {:?}, {along_x} {along_y}", result);
            prop_assert!(result.contributions().is_sorted_by_key(|c| c.0));
        }
    }

    #[test]
    fn a_thing_less_itself_is_nothing(value in -1e3..1e3_f64, u in 0.0..10.0_f64, other in 0.1..9.0_f64) {
        let (x, y) = (Estimate::input(7, value, u), Estimate::input(3, other, 0.5));
        let zero = &x - &x;
        prop_assert_eq!((zero.value, zero.standard_uncertainty()), (0.0, 0.0));
        // However it was made.
        let made = (&x + &y) * &y;
        let zero = &made - &made;
        prop_assert_eq!((zero.value, zero.standard_uncertainty()), (0.0, 0.0));
        let one = &made / &made;
        if made.value != 0.0 {
            prop_assert!((one.value - 1.0).abs() < 1e-15);
            prop_assert_eq!(one.standard_uncertainty(), 0.0);
        }
        prop_assert!((&x + &x).standard_uncertainty() == 2.0 * u, "the same input adds up");
        prop_assert_eq!(x.correlation(&y), 0.0);
        prop_assert!(u == 0.0 || (x.correlation(&(-&x)) + 1.0).abs() < 1e-15);
    }

    #[test]
    fn effective_freedom_lies_between(contributions in prop::collection::vec((0.1..9.0_f64, 1.0..60.0_f64), 1..8)) {
        let effective = effective_degrees_of_freedom(&contributions);
        let least = contributions.iter().map(|c| c.1).fold(f64::INFINITY, f64::min);
        let sum: f64 = contributions.iter().map(|c| c.1).sum();
        // Equation G.2c: not more than the sum of all, nor less than the smallest.
        prop_assert!(effective <= sum * (1.0 + 1e-12) && effective >= least * (1.0 - 1e-12));
    }
}

#[test]
fn an_exact_number_stays_exact() {
    let root = Estimate::exact(0.0).sqrt();
    assert_eq!((root.value, root.standard_uncertainty()), (0.0, 0.0));
    let root = Estimate::input(1, 0.0, 0.0).sqrt();
    assert_eq!(root.standard_uncertainty(), 0.0, "nothing times an infinite derivative is nothing here");
    assert_eq!(Estimate::from(2.0) * Estimate::exact(3.0), Estimate::exact(6.0));
    let twice = Estimate::with_contributions(1.0, [(5, 2.0), (1, 1.0), (5, 3.0)]);
    assert_eq!(twice.contributions(), [(1, 1.0), (5, 5.0)]);
    assert_eq!(effective_degrees_of_freedom(&[]), f64::INFINITY);
    let derived = twice.through_with(&Estimate::input(5, 1.0, 1.0), 7.0, 2.0, -10.0);
    assert_eq!((derived.value, derived.contributions()), (7.0, &[(1, 2.0), (5, 0.0)][..]));
}
