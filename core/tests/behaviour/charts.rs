//! Charts: gaps in the open, sums that can be kept, limits of individuals, groups and pieces.
//!
//! Values marked numpy were computed with numpy 2.4.6.

use overwire_core::stats::Undefined;
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups, Sizes};
use overwire_core::stats::individuals::{
    Factors, Individuals, IndividualsSettings, MovingRange, moving_ranges, sums,
};
use overwire_core::stats::limits::{SigmaBasis, Standing};
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::{Rule, RunRules};
use overwire_core::stats::running::Running;
use overwire_core::stats::series::Series;
use overwire_core::units::Unit;
use proptest::prelude::*;

use crate::{close, mm, series};

#[test]
fn gaps_keep_their_places_and_break_chains() {
    let mut readings = series(&[9.70, 9.72]);
    readings.push_missing();
    readings.push(9.75).expect("finite");
    readings
        .push_excluded(9.99, "wire slipped")
        .expect("finite");
    readings.push_fresh_start("new insert");
    readings.push(9.71).expect("finite");
    readings.push(9.74).expect("finite");
    assert_eq!(
        (readings.places(), readings.missing(), readings.excluded()),
        (7, 1, 1)
    );
    assert_eq!(
        [0, 1, 2, 3, 4].map(|index| readings.place(index)),
        [1, 2, 4, 6, 7]
    );
    let ranges: Vec<bool> = moving_ranges(&readings)
        .map(|range| range.is_some())
        .collect();
    assert_eq!(ranges, [false, true, false, false, true]);
    let chart = Individuals::of(&readings, IndividualsSettings::default()).expect("limits");
    assert_eq!(chart.moving_ranges, 2);
    close(chart.range_limits.centre, 0.025);
    assert_eq!(
        chart.standing,
        Standing::Provisional {
            found: 5,
            needed: 25
        }
    );
    assert!(
        chart
            .sentence(Unit::Millimetre, 3)
            .contains("provisional: 5 of 25 points")
    );
    assert_eq!(
        readings.push(f64::NAN),
        Err(Undefined::NotAReading { at: 7 })
    );
    assert!(Series::from_readings(vec![1.0, f64::INFINITY]).is_err());
}

#[test]
fn equal_counts_are_equal_readings() {
    let counts = [97_123, 97_125, 97_123];
    let readings = Series::from_counts(&counts, mm(0.0001));
    let chart = RunChart::of(&readings).expect("figures");
    assert_eq!((chart.on_median, chart.above, chart.below), (2, 1, 0));
}

proptest! {
    /// Fed in any portions, at any distance from zero.
    #[test]
    fn running_sums_are_those_of_two_passes(
        steps in prop::collection::vec(-500..500_i32, 2..3000),
        portion in 1..700_usize,
        far in prop::sample::select(vec![0.0, 0.46755, 9.7, 1e6]),
    ) {
        let readings: Vec<f64> = steps.iter().map(|&step| far + f64::from(step) / 8192.0).collect();
        let mut sums = Running::default();
        for part in readings.chunks(portion) {
            sums.take(part);
        }
        // All differences here are exact, so that plain sums are too.
        let count = steps.len() as f64;
        let sum: i64 = steps.iter().map(|&step| i64::from(step)).sum();
        let squares: i64 = steps.iter().map(|&step| i64::from(step).pow(2)).sum();
        let squares = (squares as f64 - (sum as f64).powi(2) / count) / 8192.0 / 8192.0;
        let ranges: i32 = steps.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
        let moments = sums.moments().expect("readings");
        let noise = far * 1e-15 + 1e-15;
        prop_assert!((moments.mean - far - sum as f64 / count / 8192.0).abs() < noise);
        prop_assert!((moments.sum_of_squares - squares).abs() <= 1e-11 * squares + noise);
        let mean_range = sums.mean_moving_range().expect("neighbours");
        prop_assert!((mean_range - f64::from(ranges) / 8192.0 / (count - 1.0)).abs() < 1e-12);
        let ends = steps.iter().min().zip(steps.iter().max()).expect("readings");
        let ends = (far + f64::from(*ends.0) / 8192.0, far + f64::from(*ends.1) / 8192.0);
        prop_assert_eq!(sums.extremes(), Some(ends));
        let kept = serde_json::to_string(&sums).expect("JSON");
        prop_assert_eq!(serde_json::from_str::<Running>(&kept).expect("sums"), sums);
    }
}

#[test]
fn limits_of_individuals_by_setting() {
    let readings = series(&[49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]);
    let of = |settings| Individuals::of(&readings, settings).expect("limits");
    let usual = IndividualsSettings::default();
    let computed = of(usual);
    let printed = of(IndividualsSettings {
        factors: Factors::AsPrinted,
        ..usual
    });
    let median = of(IndividualsSettings {
        moving_range: MovingRange::Median,
        ..usual
    });
    let upper = |chart: &Individuals| chart.limits.upper.expect("an upper limit");
    // 2.6587 and 2.6596 times the mean moving range of 1.8778; the median one is 1.4.
    close(
        upper(&computed) - 50.81,
        3.0 * 16.9 / 9.0 * std::f64::consts::PI.sqrt() / 2.0,
    );
    close(upper(&printed) - 50.81, 3.0 * 16.9 / 9.0 / 1.128);
    close(upper(&median) - 50.81, 3.0 * 1.5 / 0.953_872_552_416_637_6);
    close(
        printed.range_limits.upper.expect("a limit"),
        3.267 * 16.9 / 9.0,
    );
    assert_eq!(median.sigma.basis, SigmaBasis::MedianMovingRange);
    assert_ne!(usual.settings_words(), printed.settings.settings_words());
    let kept = Individuals::from_sums(&sums(&readings), usual).expect("limits");
    assert_eq!(kept, computed);
    let narrow = IndividualsSettings {
        width: 0.0,
        ..usual
    };
    assert!(Individuals::of(&readings, narrow).is_err());
    assert_eq!(
        Individuals::of(&series(&[1.0; 30]), usual),
        Err(Undefined::NoSpread)
    );
    let one = Individuals::of(&series(&[1.0]), usual);
    assert!(matches!(one, Err(Undefined::TooFew { .. })));
    // A simulation of 200,000 charts of normal readings: 5.88 and 18.04 degrees (numpy, seed 5).
    close_to(&of_length(10), 5.88, 0.05);
    close_to(&of_length(30), 18.04, 0.1);
}

fn of_length(count: usize) -> Individuals {
    let readings: Vec<f64> = (0..count).map(|index| (index * 7 % 5) as f64).collect();
    Individuals::of(&series(&readings), IndividualsSettings::default()).expect("limits")
}

fn close_to(chart: &Individuals, degrees: f64, within: f64) {
    let found = chart.sigma.degrees_of_freedom;
    assert!((found - degrees).abs() < within, "{found}");
}

#[test]
fn wide_steps_are_found_where_they_are() {
    let mut readings = series(&[0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 1.1, 1.0, 1.1]);
    readings.push_missing();
    readings.push(0.0).expect("finite");
    let chart = Individuals::of(&readings, IndividualsSettings::default()).expect("limits");
    assert_eq!(chart.wide_steps(&readings), [8]);
}

#[test]
fn groups_leave_over_what_makes_no_whole_group() {
    let mut readings = series(&[1.0, 2.0, 3.0, 4.0, 5.0]);
    readings.push_missing();
    for reading in [6.0, 7.5, 8.0] {
        readings.push(reading).expect("finite");
    }
    let groups = Groups::of_size(&readings, 2, GroupSpread::Range).expect("groups");
    assert_eq!(groups.means.readings(), [1.5, 3.5, 6.75]);
    assert_eq!(groups.left_over, 2);
    assert_eq!(groups.means.stretches().count(), 2);
    assert_eq!(groups.sums.count(), 6);
    assert!(
        groups
            .settings_words()
            .ends_with("2 readings made no whole group and are left out.")
    );
    assert!(Groups::of_size(&readings, 1, GroupSpread::Range).is_err());
    assert!(Groups::of_size(&readings, 9, GroupSpread::Range).is_err());
    assert!(Groups::of(&[vec![1.0], vec![]], GroupSpread::Range).is_err());
}

/// A group size that is known when compiled and one that is not go the same way.
#[test]
fn means_and_ranges_of_every_size() {
    let readings: Vec<f64> = (0..840).map(|index| f64::from(index * 37 % 101)).collect();
    for size in 2..=12_u32 {
        for spread in [GroupSpread::Range, GroupSpread::Deviation] {
            let at_once = Groups::of_size(&series(&readings), size, spread).expect("groups");
            let chunks: Vec<&[f64]> = readings.chunks_exact(size as usize).collect();
            let listed = Groups::of(&chunks, spread).expect("groups");
            assert_eq!(at_once.means, listed.means);
            assert_eq!(at_once.spreads, listed.spreads);
            assert_eq!(at_once.sizes, Sizes::Equal(size));
            let charts = [&at_once, &listed].map(|groups| GroupChart::of(groups).expect("limits"));
            assert_eq!(charts[0].sigma, charts[1].sigma);
            close(charts[0].centre, charts[1].centre);
        }
    }
}

#[test]
fn signals_of_groups_of_one_size_and_of_many_agree() {
    let mut groups: Vec<Vec<f64>> = (0..30_i32)
        .map(|group| {
            (0..4_i32)
                .map(|piece| f64::from((group * 7 + piece * 5) % 11))
                .collect()
        })
        .collect();
    groups[20] = vec![30.0, 31.0, 29.0, 60.0];
    let check = |groups: &[Vec<f64>], spread| {
        let groups = Groups::of(groups, spread).expect("groups");
        let chart = GroupChart::of(&groups).expect("limits");
        let means = chart
            .mean_signals(&groups, RunRules::usual())
            .expect("signals");
        let spreads = chart
            .spread_signals(&groups, RunRules::usual())
            .expect("signals");
        let out = |signals: &overwire_core::stats::run_rules::Signals| -> Vec<usize> {
            let beyond = signals
                .hits
                .iter()
                .filter(|hit| hit.rules.contains(Rule::BeyondLimit));
            beyond.map(|hit| hit.index).collect()
        };
        assert_eq!((out(&means), out(&spreads)), (vec![20], vec![20]));
        assert!(!chart.looks_like_repeats(&means));
    };
    for spread in [
        GroupSpread::Range,
        GroupSpread::Deviation,
        GroupSpread::PooledDeviation,
    ] {
        check(&groups, spread);
        let mut uneven = groups.clone();
        uneven[3].truncate(2);
        uneven[5].push(4.0);
        check(&uneven, spread);
    }
}

#[test]
fn repeats_of_single_pieces_give_themselves_away() {
    let repeats: Vec<Vec<f64>> = (0..25_i32)
        .map(|piece| {
            let level = f64::from(piece * 13 % 25);
            vec![level, level + 0.1, level - 0.1]
        })
        .collect();
    let groups = Groups::of(&repeats, GroupSpread::Range).expect("groups");
    let chart = GroupChart::of(&groups).expect("limits");
    let signals = chart
        .mean_signals(&groups, RunRules::usual())
        .expect("signals");
    assert!(chart.looks_like_repeats(&signals));

    // The same readings as pieces: means as individuals, ranges for the gauge.
    let listed = repeats.iter().enumerate();
    let listed =
        listed.flat_map(|(piece, readings)| readings.iter().map(move |&reading| (piece, reading)));
    let pieces = Pieces::of(listed.chain([(25, 3.0)])).expect("pieces");
    let means = pieces.means();
    assert_eq!(means.readings().len(), 26);
    let chart = Individuals::of(&means, IndividualsSettings::default()).expect("limits");
    assert!(chart.signals(&means, RunRules::usual()).hits.is_empty());
    let gauge = pieces.gauge().expect("repeats");
    assert_eq!(gauge.ranges.len(), 26);
    assert_eq!(gauge.ranges[25], None);
    assert!(gauge.signals().is_empty());
    close(gauge.sigma.sigma, 0.2 / 1.692_568_750_643_269);
    assert_eq!(gauge.sigma.count, 75);
    assert!(
        Pieces::of([("a", 1.0), ("b", 2.0)])
            .expect("pieces")
            .gauge()
            .is_err()
    );
}
