//! Mean, spread and order: certified to fifteen digits, and described.

use overwire_core::stats::Readings;
use overwire_core::stats::describe::{Description, Quartiles, Settings};
use serde_json::{Value, json};

use super::{Case, figure};

pub fn answer(case: &Case) -> Value {
    let readings = case.readings();
    let readings = Readings::of_numbers(&readings).expect("readings");
    let described = |quartiles| {
        let confidence = match case.has("confidence") {
            true => case.number("confidence"),
            false => 0.95,
        };
        let settings = Settings {
            quartiles,
            confidence,
        };
        Description::of(&readings, settings).expect("a description")
    };
    let (six, seven) = (described(Quartiles::Six), described(Quartiles::Seven));
    let interval = seven.mean_interval.expect("an interval");
    let reference = case.inputs["mu0"].as_f64().unwrap_or(0.0);
    if case.id.starts_with("strd") {
        certified(case);
    }
    json!({
        "n": seven.moments.count, "mean": seven.moments.mean,
        "min": seven.least, "max": seven.greatest, "range": seven.range, "median": seven.median,
        "sd": figure(seven.standard_deviation), "r1": figure(seven.following),
        "mad_scaled": seven.scaled_median_deviation(),
        "q1_type7": seven.lower_quartile, "q3_type7": seven.upper_quartile,
        "q1_type6": six.lower_quartile, "q3_type6": six.upper_quartile,
        "skewness_g1": figure(seven.skewness), "kurtosis_excess_g2": figure(seven.excess_kurtosis),
        "ci_low": interval.low, "ci_high": interval.high,
        "t": figure(seven.moments.student_against(reference)),
    })
}

/// As counts of steps of the last place readings lose nothing: every certified digit must come out.
fn certified(case: &Case) {
    let (counts, step) = case.counts();
    let readings = Readings::of_steps(&counts, step).expect("readings");
    let exact = Description::of(&readings, Settings::default()).expect("a description");
    for (key, found) in [
        ("mean", Ok(exact.moments.mean)),
        ("sd", exact.standard_deviation),
        ("r1", exact.following),
    ] {
        let certified: f64 = case.expected_text(key).parse().expect("a certified value");
        let found = found.expect(key);
        assert!(
            (found / certified - 1.0).abs() < 2e-15,
            "{} {key}: {found} against {certified}",
            case.id
        );
    }
}
