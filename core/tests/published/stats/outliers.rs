//! Tests for strays, as printed and as computed elsewhere.

use overwire_core::stats::describe::{Description, Quartiles, Settings};
use overwire_core::stats::outliers::{
    ScoreSettings, Side, fences, generalised_esd, grubbs, grubbs_critical, median_scores,
};
use overwire_core::stats::{Moments, Readings, Undefined};
use serde_json::{Value, json};

use super::{Case, figure, refused};

pub fn answer(case: &Case) -> Value {
    if case.has("two_sided") {
        return critical(case);
    }
    let readings = case.readings();
    let readings = Readings::of_numbers(&readings).expect("readings");
    match &case.function {
        function if function.starts_with("Grubbs") => one(case, &readings),
        function if function.starts_with("generalised") => several(case, &readings),
        function if function.starts_with("quartiles") => beyond_fences(&readings),
        function if function.starts_with("median") => by_median(case),
        function if function.starts_with("all readings") => nothing_to_see(&readings),
        other => panic!("nothing computes `{other}`"),
    }
}

fn critical(case: &Case) -> Value {
    let side = match case.inputs["two_sided"].as_bool() {
        Some(true) => Side::Either,
        _ => Side::Largest,
    };
    json!({ "critical": figure(grubbs_critical(case.count("n"), case.number("alpha"), side)) })
}

fn one(case: &Case, readings: &Readings) -> Value {
    assert_eq!(case.text("side"), "max");
    let test = grubbs(readings, case.number("alpha"), Side::Largest).expect("a test");
    // The critical value has the significance for its chance.
    assert_eq!(test.is_suspect(), test.chance < case.number("alpha"));
    json!({
        "G": test.distance, "critical": test.critical,
        "index": test.index, "outlier": test.is_suspect(),
    })
}

fn several(case: &Case, readings: &Readings) -> Value {
    let test = generalised_esd(readings, case.number("alpha"), case.count("max_outliers"));
    let test = test.expect("a test");
    assert_eq!(test.suspect_indices().len(), test.suspects);
    let distances: Vec<f64> = test.steps.iter().map(|step| step.distance).collect();
    let critical: Vec<f64> = test.steps.iter().map(|step| step.critical).collect();
    json!({ "R": distances, "critical": critical, "n_outliers": test.suspects })
}

fn beyond_fences(readings: &Readings) -> Value {
    let settings = Settings {
        quartiles: Quartiles::Six,
        ..Settings::default()
    };
    let described = Description::of(readings, settings).expect("a description");
    let fences = fences(readings, Quartiles::Six).expect("fences");
    let values = |indices: &[usize]| -> Vec<f64> {
        indices
            .iter()
            .filter_map(|&index| readings.get(index))
            .collect()
    };
    json!({
        "q1": described.lower_quartile, "median": described.median, "q3": described.upper_quartile,
        "iqr": described.quartile_range(),
        "inner": [fences.inner.0, fences.inner.1], "outer": [fences.outer.0, fences.outer.1],
        "mild": values(&fences.mild), "extreme": values(&fences.extreme),
    })
}

/// Readings as counts of steps: which of two equally far ones comes first is then certain.
fn by_median(case: &Case) -> Value {
    let (counts, step) = case.counts();
    let readings = Readings::of_steps(&counts, step).expect("readings");
    let scores = median_scores(&readings, ScoreSettings::default()).expect("scores");
    let test = grubbs(&readings, 0.05, Side::Either).expect("a test");
    json!({
        "median": scores.median, "mad": scores.median_distance, "modified_z": scores.scores,
        "flagged": scores.suspects,
        "G": test.distance, "G_index": test.index,
        "G_critical": test.critical, "G_flag": test.is_suspect(),
    })
}

fn nothing_to_see(readings: &Readings) -> Value {
    let moments = Moments::of(readings).expect("moments");
    let refusal = grubbs(readings, 0.05, Side::Either).expect_err("a refusal");
    assert_eq!(refusal, Undefined::NoSpread);
    json!({
        "sd": figure(moments.standard_deviation()),
        "G": refused(refusal), "message": refusal.to_string(),
    })
}
