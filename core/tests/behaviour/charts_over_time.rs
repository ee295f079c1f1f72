//! Charts over time: averages and sums with a memory, wear, short runs, runs without limits, frozen limits.
//!
//! Values marked scipy were computed with scipy 1.17.1.

use std::collections::BTreeMap;

use overwire_core::stats::Undefined;
use overwire_core::stats::cusum::{Cusum, CusumSettings};
use overwire_core::stats::ewma::{Ewma, EwmaSettings};
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::limits::{ControlLimits, Standing};
use overwire_core::stats::phases::{Freezing, FrozenBy, FrozenLimits, Phases};
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::{RunRules, Side};
use overwire_core::stats::short_run::{Deviations, PartChange, Run, SpreadsCompared, Standardised};
use overwire_core::stats::trend::Trend;
use overwire_core::units::Unit;

use crate::{close, series};

#[test]
fn averages_and_sums_carry_on_over_a_missing_reading_and_start_anew_at_a_fresh_start() {
    let mut readings = series(&[1.0, 1.0]);
    readings.push_missing();
    readings.push(1.0).expect("finite");
    readings.push_fresh_start("new insert");
    readings.push(1.0).expect("finite");
    let settings = EwmaSettings {
        weight: 0.5,
        width: 3.0,
    };
    let chart = Ewma::new(0.0, 1.0, settings).expect("a chart");
    let averages: Vec<f64> = chart
        .points(&readings)
        .iter()
        .map(|point| point.average)
        .collect();
    assert_eq!(averages, [0.5, 0.75, 0.875, 0.5]);
    let settings = CusumSettings {
        allowance: 0.25,
        decision: 2.0,
        head_start: 0.0,
    };
    let chart = Cusum::new(0.0, 1.0, settings).expect("a chart");
    let points = chart.points(&readings);
    let sums: Vec<f64> = points.iter().map(|point| point.high.sum).collect();
    assert_eq!(sums, [0.75, 1.5, 2.25, 0.75]);
    assert_eq!(points[2].signal, Some(Side::Above));
    close(points[2].new_mean.expect("a mean"), 1.0);
    assert_eq!(
        points[2].sentence(3, Unit::Millimetre, 2).as_deref(),
        Some(
            "At point 3 the readings since about point 1 add up to a signal above the target: their mean is about \
             1.00 mm."
        )
    );
    assert!(Ewma::new(0.0, 0.0, EwmaSettings::default()).is_err());
    assert!(
        Ewma::new(
            0.0,
            1.0,
            EwmaSettings {
                weight: 1.5,
                width: 3.0
            }
        )
        .is_err()
    );
    assert!(Cusum::new(f64::NAN, 1.0, CusumSettings::default()).is_err());
    assert!(
        Cusum::new(
            0.0,
            1.0,
            CusumSettings {
                decision: 0.0,
                ..settings
            }
        )
        .is_err()
    );
}

/// A signal must be strictly beyond.
#[test]
fn a_sum_on_the_decision_limit_is_no_signal() {
    let settings = CusumSettings {
        allowance: 0.5,
        decision: 1.0,
        head_start: 0.0,
    };
    let mut chart = Cusum::new(0.0, 1.0, settings).expect("a chart");
    assert_eq!(chart.next(1.5).signal, None);
    assert_eq!(chart.next(0.75).signal, Some(Side::Above));
}

#[test]
fn a_forecast_is_where_the_interval_of_the_line_meets_the_limit() {
    let pieces: Vec<f64> = (1..=15).map(f64::from).collect();
    let wobble = [
        0.3, -0.8, 0.1, 0.9, -0.4, -0.7, 1.0, 0.2, -0.3, 0.5, -0.9, 0.4, 0.6, -0.6, -0.3,
    ];
    for direction in [1.0, -1.0] {
        let diameters: Vec<f64> = pieces
            .iter()
            .zip(wobble)
            .map(|(piece, wobble)| 12.0 + direction * (0.001 * piece + 0.001 * wobble))
            .collect();
        let trend = Trend::of(&pieces, &diameters).expect("a trend");
        let limits = (Some(11.97), Some(12.03));
        let forecast = trend
            .forecast_within(limits.0, limits.1)
            .expect("a forecast");
        close(forecast.limit, 12.0 + direction * 0.03);
        let reach = direction * 3.0 * trend.sigma.sigma;
        close(trend.line.at(forecast.piece) + reach, forecast.limit);
        // At the ends of the interval an end of the line's own interval lies on that height.
        for end in [forecast.earliest, forecast.latest] {
            let interval = trend
                .line
                .height_interval(end.expect("an end"), 0.95)
                .expect("an interval");
            let height = forecast.limit - reach;
            let off = (interval.low - height)
                .abs()
                .min((interval.high - height).abs());
            assert!(off < 1e-9, "{off}");
        }
        let (earliest, latest) = (
            forecast.earliest.expect("an end"),
            forecast.latest.expect("an end"),
        );
        assert!(earliest < forecast.piece && forecast.piece < latest);
        assert!(
            trend.forecast(12.0 - direction * 0.03).is_err(),
            "the other way"
        );
        assert!(trend.signals(RunRules::nelson()).hits.is_empty());
        assert!(
            forecast
                .sentence()
                .starts_with("The line with its spread meets the limit about piece")
        );
    }
}

#[test]
fn wear_too_uncertain_for_a_latest_piece() {
    let trend = Trend::of(&[1.0, 2.0, 3.0, 4.0], &[12.0, 12.003, 11.999, 12.004]).expect("a trend");
    let forecast = trend.forecast(12.05).expect("a forecast");
    assert_eq!(forecast.latest, None);
    assert!(
        trend
            .sentence(Unit::Millimetre, 3)
            .starts_with("No trend is proven by 4 readings.")
    );
    assert!(
        trend
            .sentence(Unit::Millimetre, 3)
            .contains("Provisional: 4 of 10 pieces.")
    );
    // A line that is no line at all.
    assert!(Trend::of(&[1.0, 2.0, 3.0], &[1.0, 2.0, 3.0]).is_err());
    assert!(Trend::of(&[1.0, 2.0], &[1.0, 2.0]).is_err());
}

#[test]
fn a_new_insert_begins_a_new_line() {
    let mut readings = series(&[12.010, 12.011, 12.013, 12.014]);
    readings.push_fresh_start("new insert");
    for reading in [12.000, 12.002, 12.003, 12.005] {
        readings.push(reading).expect("finite");
    }
    let trend = Trend::since_fresh_start(&readings).expect("a trend");
    assert_eq!(trend.line.count, 4);
    close(trend.line.at(6.5), 12.0025);
    readings.push_missing();
    readings.push(12.009).expect("finite");
    let trend = Trend::since_fresh_start(&readings).expect("a trend");
    // The missing piece is counted and no chain reaches across it.
    close(trend.line.x_mean, (5.0 + 6.0 + 7.0 + 8.0 + 10.0) / 5.0);
    assert_eq!(trend.residuals.stretches().count(), 2);
    assert_eq!(trend.signals(RunRules::nelson()).coarseness.steps, 3);
}

#[test]
fn short_runs_with_and_without_steps_between_parts() {
    let run = |part: &str, nominal: f64, deviations: &[f64]| Run {
        part: part.to_owned(),
        nominal,
        readings: deviations
            .iter()
            .map(|deviation| nominal + deviation)
            .collect(),
    };
    let runs = [
        run("A", 25.0, &[0.003, 0.001, 0.004, -0.002, 0.002]),
        run("B", 12.7, &[-0.001, 0.002, 0.001, 0.0, -0.003, 0.0025]),
        run("C", 8.0, &[0.009, -0.006, 0.001, -0.008, 0.004]),
    ];
    let count = |part_change| {
        let chart = Deviations::of(&runs, part_change).expect("a chart");
        assert_eq!(chart.changes, [5, 11]);
        chart.limits().expect("limits").moving_ranges
    };
    assert_eq!(count(PartChange::Counts), 15);
    assert_eq!(count(PartChange::Breaks), 13);
    // scipy.stats.levene(center='median').
    let compared = SpreadsCompared::of(&runs).expect("spreads");
    assert!((compared.levene - 4.464_973_315_735_108).abs() < 1e-9);
    assert!((compared.chance - 0.033_410_852_254_689_656).abs() < 1e-10);
    assert!(compared.differ() && compared.sentence().contains("divide"));
    let missing = Standardised::of(&runs, &BTreeMap::new(), PartChange::Breaks);
    assert!(missing.is_err());
    assert!(SpreadsCompared::of(&runs[..1]).is_err());
}

/// NIST/SEMATECH e-Handbook 1.3.5.13 gives the formulas; the counts are by hand.
#[test]
fn run_chart_figures_by_hand() {
    let chart =
        RunChart::of(&series(&[3.0, 4.0, 1.0, 2.0, 2.0, 6.0, 7.0, 8.0, 0.0])).expect("figures");
    close(chart.median, 3.0);
    assert_eq!(
        (chart.above, chart.below, chart.on_median, chart.ties),
        (4, 4, 1, 1)
    );
    assert_eq!((chart.longest_run, chart.longest_trend), (3, 4));
    let about = chart.about_median.expect("runs");
    assert_eq!(about.found, 4);
    close(about.expected, 5.0);
    close(about.deviation, (32.0 * 24.0 / (64.0 * 7.0_f64)).sqrt());
    let up_and_down = chart.up_and_down.expect("runs").fewest;
    // up, down, up, (tie), up, up, up, down: the tie makes no run of its own.
    assert_eq!(up_and_down.found, 4);
    close(up_and_down.expected, (2.0 * 9.0 - 1.0) / 3.0);
    let flat = RunChart::of(&series(&[1.0, 1.0, 1.0])).expect("figures");
    assert_eq!(flat.about_median, Err(Undefined::NoSpread));
    assert!(flat.sentence().contains("no spread"));
}

fn freezing(settings: &str) -> Freezing {
    Freezing {
        said: Some(FrozenBy {
            on: "2031-04-01".to_owned(),
            by: "M. Vogt".to_owned(),
        }),
        first_reading: "1".to_owned(),
        last_reading: "26".to_owned(),
        settings: settings.to_owned(),
    }
}

#[test]
fn frozen_limits_stand_still_and_say_what_was_left_out() {
    let mut first = series(
        &(0..26_i32)
            .map(|index| f64::from(index * 7 % 5))
            .collect::<Vec<_>>(),
    );
    first.push_excluded(99.0, "burr").expect("finite");
    first.push_missing();
    let settings = IndividualsSettings::default();
    let chart = Individuals::of(&first, settings).expect("limits");
    let frozen = FrozenLimits::of_individuals(&chart, &first, freezing(&settings.settings_words()));
    assert_eq!(frozen.standing, Standing::Firm);
    let words = frozen.words(Unit::Millimetre, 1);
    assert_eq!(words[2], "Left out: point 27 (99.0 mm), burr.");
    assert_eq!(
        words[3],
        "Left out: point 28 (missing), no reading was taken."
    );
    let text = serde_json::to_string(&frozen).expect("JSON");
    assert_eq!(
        serde_json::from_str::<FrozenLimits>(&text).expect("limits"),
        frozen
    );

    // The process jumps; the limits do not follow.
    let mut all = first.clone();
    for _ in 0..12 {
        all.push(9.5).expect("finite");
    }
    let mut phases = Phases::default();
    phases.begin(0, frozen.clone());
    let beyond = |phases: &Phases| {
        let found = phases.signals(&all, RunRules::usual());
        let hits = found.iter().flat_map(|signals| &signals.hits);
        hits.map(|hit| hit.index).collect::<Vec<_>>()
    };
    assert_eq!(beyond(&phases), (26..38).collect::<Vec<_>>());
    // Somebody freezes others for what comes from there on: the level then is new, and it starts anew.
    let mut higher = frozen.clone();
    higher.limits = ControlLimits::about(9.4, 6.0);
    phases.begin(30, higher);
    assert_eq!(beyond(&phases), [26, 27, 28, 29]);
    assert_eq!(phases.at(29), Some(&frozen));
    assert_eq!(phases.phases().len(), 2);
    phases.begin(10, frozen);
    assert_eq!(phases.phases().len(), 2);
    phases.begin_without_limits(20);
    assert_eq!(beyond(&phases), Vec::<usize>::new());
    assert_eq!(phases.at(20), None);
    assert_eq!(phases.at(0).map(|limits| limits.count), Some(26));
    assert_eq!(Phases::default().at(0), None);
}
