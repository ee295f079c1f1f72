//! Capability indices, their intervals, and what can be claimed from so many pieces.

use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Evidence, Fitted, Indices, IntervalMethod, PercentileIndices,
    Shape, Steadiness, Tolerance, ToleranceFactors, bissell, chi_squared_interval, index_factors,
    index_needed, one_sided_interval, overall,
};
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups};
use overwire_core::stats::limits::{Sigma, SigmaBasis};
use overwire_core::stats::running::Running;
use overwire_core::stats::{Interval, Moments};
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    match () {
        () if case.has("c_hat") => lower_bound(case),
        () if case.has("coverage") => tolerance_factors(case),
        () if case.has("subgroups") => from_groups(case),
        () if case.has("mean") => from_figures(case),
        () if case.has("s") => one_index(case),
        () if case.function.contains("log-normal") => log_normal(case),
        () if case.has("x") => from_readings(case),
        () => pieces_needed(case),
    }
}

fn tolerance(case: &Case) -> Tolerance {
    let limit = |name: &str| case.inputs[name].as_f64();
    Tolerance::new(limit("lsl"), limit("usl")).expect("a tolerance")
}

fn ends(interval: Interval) -> Value {
    json!([interval.low, interval.high])
}

fn moments(readings: &[f64]) -> (Moments, (f64, f64)) {
    let mut sums = Running::default();
    sums.take(readings);
    (
        sums.moments().expect("readings"),
        sums.extremes().expect("readings"),
    )
}

/// The lower end of the exact interval and of the approximation, with all of alpha on one side.
fn lower_bound(case: &Case) -> Value {
    let (value, pieces) = (case.number("c_hat"), case.count("n"));
    let confidence = 1.0 - 2.0 * case.number("alpha");
    let exact = one_sided_interval(value, pieces, confidence).expect("an interval");
    let close = bissell(value, pieces, (pieces - 1) as f64, confidence).expect("an interval");
    json!({ "lower": exact.low, "bissell_lower": close.low })
}

fn tolerance_factors(case: &Case) -> Value {
    let (share, confidence) = (case.number("coverage"), case.number("confidence"));
    let factors = ToleranceFactors::of(case.count("n"), share, confidence).expect("factors");
    json!({ "k1": factors.one_sided, "k2_howe": factors.two_sided })
}

fn from_groups(case: &Case) -> Value {
    let groups = Groups::of(&case.rows("subgroups"), GroupSpread::Range).expect("groups");
    let chart = GroupChart::of(&groups).expect("a chart");
    let evidence = Evidence::of(
        groups.sums.moments().expect("readings"),
        groups.sums.extremes().expect("readings"),
        chart.sigma,
        Steadiness::Steady { hits: 0 },
    );
    let settings = CapabilitySettings::default();
    let found = Capability::of(&evidence, &tolerance(case), settings).expect("indices");
    let within = found.within.expect("a sigma within");
    let both = within.both.expect("two limits");
    json!({
        "sigma_within": within.sigma.sigma,
        "Cp": both.value,
        "Cpk": within.least.value,
        "nu": within.sigma.degrees_of_freedom,
        "Cp_ci95": ends(both.interval),
        "Ppk": found.overall.least.value,
    })
}

/// A mean and a sigma as they stand in the book; how many readings it had is not said.
fn from_figures(case: &Case) -> Value {
    let sigma = Sigma {
        sigma: case.number("sigma"),
        basis: SigmaBasis::MeanRange,
        degrees_of_freedom: 99.0,
        count: 100,
    };
    let settings = CapabilitySettings::default();
    let indices = Indices::of(case.number("mean"), sigma, &tolerance(case), &settings);
    let indices = indices.expect("indices");
    json!({
        "Cp": indices.both.expect("two limits").value,
        "Cpu": indices.upper.expect("an upper limit").value,
        "Cpl": indices.lower.expect("a lower limit").value,
        "Cpk": indices.least.value,
    })
}

fn one_index(case: &Case) -> Value {
    let index = tolerance(case).width().expect("two limits") / (6.0 * case.number("s"));
    let degrees = (case.count("n") - 1) as f64;
    let interval = chi_squared_interval(index, degrees, case.number("confidence"));
    json!({ "Cp": index, "ci": ends(interval.expect("an interval")) })
}

fn from_readings(case: &Case) -> Value {
    let (moments, extremes) = moments(&case.readings());
    let settings = CapabilitySettings {
        confidence: case.number("confidence"),
        one_limit: IntervalMethod::Bissell,
    };
    let evidence = Evidence::without_chart(moments, extremes);
    let found = Capability::of(&evidence, &tolerance(case), settings).expect("indices");
    let sigma = overall(&moments).expect("a spread");
    let outside = found.expected_outside.0 + found.expected_outside.1;
    let mut answer = json!({
        "mean": found.mean,
        "sd_overall": sigma.sigma,
        "Ppk": found.overall.least.value,
        "Ppk_ci95_bissell": ends(found.overall.least.interval),
        "ppm_out_normal": outside * 1e6,
    });
    for (name, index) in [
        ("Pp", found.overall.both),
        ("Ppu", found.overall.upper),
        ("Ppl", found.overall.lower),
    ] {
        if let Some(index) = index {
            answer[name] = json!(index.value);
        }
    }
    if let Some(both) = found.overall.both {
        answer["Pp_ci95"] = ends(both.interval);
    }
    answer
}

fn log_normal(case: &Case) -> Value {
    let readings = case.readings();
    let indices = PercentileIndices::of(Shape::LogNormal, &readings, &tolerance(case));
    let indices = indices.expect("indices");
    let Some(Fitted::LogNormal {
        log_mean,
        log_deviation,
    }) = indices.fitted
    else {
        panic!("{}: not log-normal", case.id);
    };
    json!({
        "log_mean": log_mean,
        "log_sd": log_deviation,
        "q": [indices.low, indices.middle, indices.high],
        "Pp": indices.both.expect("two limits"),
        "Ppu": indices.upper.expect("an upper limit"),
        "Ppl": indices.lower.expect("a lower limit"),
        "Ppk": indices.least,
    })
}

fn pieces_needed(case: &Case) -> Value {
    let pieces = case.count("n");
    let both = index_factors(pieces, 0.95).expect("factors");
    let one_side = index_factors(pieces, 0.90).expect("factors");
    json!({
        "lo": both.low,
        "hi": both.high,
        "lower_one_sided": one_side.low,
        "needed": index_needed(pieces, 1.33, 0.95).expect("an index"),
    })
}
