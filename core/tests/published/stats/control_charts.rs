//! Limits and points of control charts, and average run lengths.

use std::collections::BTreeMap;

use overwire_core::stats::cusum::{Cusum, CusumPoint, CusumSettings};
use overwire_core::stats::ewma::{Ewma, EwmaSettings};
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups};
use overwire_core::stats::individuals::{Factors, Individuals, IndividualsSettings};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::phases::PhasedGroups;
use overwire_core::stats::series::Series;
use overwire_core::stats::short_run::{Deviations, PartChange, Run, Standardised};
use overwire_core::stats::trend::Trend;
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    let sigmas = |runs: &Value| runs[0]["sigma"].is_number();
    match () {
        () if case.has("runs") && sigmas(&case.inputs["runs"]) => standardised(case),
        () if case.has("runs") => deviations(case),
        () if case.has("subgroups") => groups(case),
        () if case.has("t") => trend(case),
        () if case.has("lam") && case.has("x") => ewma(case),
        () if case.has("lam") => shifts(|shift| {
            ewma_settings(case)
                .points_to_signal(shift)
                .expect("a run length")
        }),
        () if case.has("h") && case.has("x") => cusum(case),
        () if case.has("h") => shifts(|shift| {
            cusum_settings(case)
                .points_to_signal(shift)
                .expect("a run length")
        }),
        () => individuals(case),
    }
}

fn series(readings: Vec<f64>) -> Series {
    Series::from_readings(readings).expect("finite readings")
}

/// Zero where a lower limit is none: tables print it so.
fn limits(limits: ControlLimits) -> (f64, f64) {
    (
        limits.lower.unwrap_or(0.0),
        limits.upper.expect("an upper limit"),
    )
}

fn individuals(case: &Case) -> Value {
    let settings = IndividualsSettings {
        factors: Factors::AsPrinted,
        ..IndividualsSettings::default()
    };
    assert!((case.number("d2") - 1.128).abs() < 1e-12, "{}", case.id);
    let chart = Individuals::of(&series(case.readings()), settings).expect("a chart");
    let (lower, upper) = limits(chart.limits);
    json!({
        "mean": chart.moments.mean,
        "mr_bar": chart.range_limits.centre,
        "ucl": upper,
        "lcl": lower,
    })
}

fn groups(case: &Case) -> Value {
    let listed = case.rows("subgroups");
    let chart = |spread: GroupSpread| {
        let groups = Groups::of(&listed, spread).expect("groups");
        let chart = GroupChart::of(&groups).expect("a chart");
        limits_stand_in_phases(&listed, spread, &chart);
        (groups, chart)
    };
    let (by_mean, mean) = chart(GroupSpread::Deviation);
    let (_, pooled) = chart(GroupSpread::PooledDeviation);
    let spreads = by_mean.spreads.readings();
    let nu = pooled.sigma.degrees_of_freedom as u32;
    let c4 = overwire_core::stats::constants::c4(nu + 1).expect("c4");
    let mut answer = json!({
        "center": pooled.centre,
        "xbarbar": mean.centre,
        "sbar": spreads.iter().sum::<f64>() / spreads.len() as f64,
        "sigma_sbar_c4": mean.sigma.sigma,
        "s_pooled": pooled.sigma.sigma * c4,
        "sigma_pooled_unbiased": pooled.sigma.sigma,
        "sigma": pooled.sigma.sigma,
    });
    if case.id.starts_with("unequal") {
        let each = |of: &dyn Fn(u32) -> f64| by_mean.each_size().map(of).collect::<Vec<f64>>();
        let means = |size| limits(pooled.mean_limits(size).expect("limits"));
        let spreads = |size| pooled.spread_limits(size).expect("limits");
        answer["lcl"] = json!(each(&|size| means(size).0));
        answer["ucl"] = json!(each(&|size| means(size).1));
        answer["s_cl"] = json!(each(&|size| spreads(size).centre));
        answer["s_ucl"] = json!(each(&|size| limits(spreads(size)).1));
        return answer;
    }
    let size = listed[0].len() as u32;
    let (lower, upper) = limits(mean.mean_limits(size).expect("limits"));
    let (spread_lower, spread_upper) = limits(mean.spread_limits(size).expect("limits"));
    answer["lcl"] = json!(lower);
    answer["ucl"] = json!(upper);
    answer["s_lcl"] = json!(spread_lower);
    answer["s_ucl"] = json!(spread_upper);
    answer
}

/// The published limits hold behind a phase of another level, and frozen before groups of another level.
fn limits_stand_in_phases(listed: &[Vec<f64>], spread: GroupSpread, alone: &GroupChart) {
    let count = listed.len();
    let away: Vec<Vec<f64>> = listed
        .iter()
        .map(|group| group.iter().map(|reading| reading * 3.0 + 7.0).collect())
        .collect();
    let behind = [&away[..], listed].concat();
    let phased = PhasedGroups::of(&behind, spread, &[(count, "another level")], None);
    let phased = phased.expect("groups");
    assert_eq!(phased.parts.len(), 2);
    assert_eq!(phased.parts[1].chart.as_ref(), Ok(alone));
    let before = [listed, &away[..]].concat();
    let frozen = PhasedGroups::of(&before, spread, &[], Some(count)).expect("groups");
    assert_eq!(frozen.chart_of(2 * count - 1), Ok(alone));
}

fn ewma_settings(case: &Case) -> EwmaSettings {
    EwmaSettings {
        weight: case.number("lam"),
        width: case.number("L"),
    }
}

fn ewma(case: &Case) -> Value {
    let chart = Ewma::new(
        case.number("target"),
        case.number("sigma"),
        ewma_settings(case),
    );
    let chart = chart.expect("a chart");
    let points = chart.points(&series(case.readings()));
    let start = std::iter::once(case.number("target"));
    let averages: Vec<f64> = start
        .chain(points.iter().map(|point| point.average))
        .collect();
    let out = points.iter().enumerate().filter(|(_, point)| point.signal);
    let (lower, upper) = limits(chart.lasting_limits());
    json!({
        "ewma": averages,
        "lcl": lower,
        "ucl": upper,
        "out": out.map(|(index, _)| index).collect::<Vec<_>>(),
    })
}

/// Where a chart has no sigma of its own, one stands for it.
fn cusum_settings(case: &Case) -> CusumSettings {
    CusumSettings {
        allowance: case.number("k"),
        decision: case.number("h"),
        head_start: case.inputs["head_start"].as_f64().unwrap_or_default(),
    }
}

fn cusum(case: &Case) -> Value {
    let chart = Cusum::new(case.number("target"), 1.0, cusum_settings(case)).expect("a chart");
    let points = chart.points(&series(case.readings()));
    let sums = |of: fn(&CusumPoint) -> f64| points.iter().map(of).collect::<Vec<f64>>();
    let signals = points
        .iter()
        .enumerate()
        .filter(|(_, point)| point.signal.is_some());
    json!({
        "c_plus": sums(|point| point.high.sum),
        "c_minus": sums(|point| point.low.sum),
        "signals_0based": signals.map(|(index, _)| index).collect::<Vec<_>>(),
    })
}

fn trend(case: &Case) -> Value {
    let trend = Trend::of(&case.numbers("t"), &case.numbers("x")).expect("a trend");
    let forecast = trend.forecast(case.number("usl")).expect("a forecast");
    let upper_at = |piece: f64| json!([piece, limits(trend.limits_at(piece)).1]);
    json!({
        "slope": trend.line.slope,
        "intercept": trend.line.intercept,
        "slope_se": trend.line.slope_error().expect("an error"),
        "resid_sd": trend.sigma.sigma,
        "sigma_mr_resid": trend.sigma_from_neighbours().expect("a sigma"),
        "slope_p": trend.slope_chance().expect("a chance"),
        "ucl_line_at": [upper_at(1.0), upper_at(15.0)],
        "last_safe_t": forecast.last_safe_piece,
        "t_cross": forecast.piece,
    })
}

fn runs(case: &Case) -> Vec<Run> {
    let runs = case.inputs["runs"].as_array().expect("runs");
    let run = |run: &Value| Run {
        part: run["part"].as_str().expect("a part").to_owned(),
        nominal: run["nominal"].as_f64().expect("a nominal"),
        readings: super::numbers(&run["x"]),
    };
    runs.iter().map(run).collect()
}

fn deviations(case: &Case) -> Value {
    let chart = Deviations::of(&runs(case), PartChange::Counts).expect("a chart");
    let individuals = chart.limits().expect("limits");
    let (lower, upper) = limits(individuals.limits);
    json!({
        "dev": chart.series.readings(),
        "center": individuals.limits.centre,
        "mr_bar": individuals.range_limits.centre,
        "lcl": lower,
        "ucl": upper,
        "mr_ucl": limits(individuals.range_limits).1,
    })
}

fn standardised(case: &Case) -> Value {
    let listed = case.inputs["runs"].as_array().expect("runs").iter();
    let sigmas: BTreeMap<String, f64> = listed
        .map(|run| {
            let part = run["part"].as_str().expect("a part").to_owned();
            (part, run["sigma"].as_f64().expect("a sigma"))
        })
        .collect();
    let chart = Standardised::of(&runs(case), &sigmas, PartChange::Counts).expect("a chart");
    let ranges = Standardised::range_limits();
    json!({
        "z": chart.deviations.series.readings(),
        "w": chart.moving_ranges.iter().flatten().collect::<Vec<_>>(),
        "w_cl": ranges.centre,
        "w_ucl": limits(ranges).1,
    })
}

fn shifts(run_length: impl Fn(f64) -> f64) -> Value {
    for shift in [0.5, 2.0, 4.0] {
        let (up, down) = (run_length(shift), run_length(-shift));
        assert!(
            (up - down).abs() < 1e-9 * up,
            "{shift}: {up} up, {down} down"
        );
    }
    let lengths = [0.0, 0.5, 1.0, 2.0].map(run_length);
    json!({ "arl": lengths })
}
