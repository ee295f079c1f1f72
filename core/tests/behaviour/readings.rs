//! Sets of readings: counts and numbers, few and many, and figures that cannot be had.

use overwire_core::decimal::Decimal;
use overwire_core::stats::constants::{Constants, MeanRange, c4, d2, d3};
use overwire_core::stats::describe::{Description, Quartiles, Settings, quantile};
use overwire_core::stats::line::{Line, lack_of_fit};
use overwire_core::stats::moments::{Moments, pooled};
use overwire_core::stats::normality::{AndersonDarling, Caution, shapiro_wilk};
use overwire_core::stats::resolution::{
    Adequacy, Fineness, Use, displayed, reading_uncertainty, spread_for_budget, without_display,
};
use overwire_core::stats::rounding::{Comparison, Place, Ties, place, places_to_report, round_to};
use overwire_core::stats::{Readings, Undefined};
use proptest::prelude::*;

use crate::{mm, normal_numbers};

fn numbers(numbers: &[f64]) -> Readings<'_> {
    Readings::of_numbers(numbers).expect("readings")
}

fn described(readings: &Readings) -> Description {
    Description::of(readings, Settings::default()).expect("a description")
}

fn too_few(of: &'static str, needed: usize, found: usize) -> Undefined {
    Undefined::TooFew { of, needed, found }
}

#[test]
fn one_reading_has_a_mean_and_no_spread() {
    let one = described(&numbers(&[12.003]));
    assert!((one.moments.mean - 12.003).abs() < 1e-12 && (one.median - 12.003).abs() < 1e-12);
    assert_eq!(one.standard_deviation, Err(too_few("readings", 2, 1)));
    assert_eq!(one.mean_interval, Err(too_few("readings", 2, 1)));
    assert_eq!(one.following, Err(too_few("readings", 2, 1)));
    let message = "needs 2 readings at least, has 1";
    assert_eq!(one.standard_deviation.unwrap_err().to_string(), message);
    assert_eq!(one.standard_deviation.unwrap_err().code(), "too-few");
}

#[test]
fn no_reading_is_refused_and_equal_ones_have_no_shape() {
    let settings = Settings::default();
    let none = Description::of(&numbers(&[]), settings);
    assert_eq!(none.unwrap_err(), too_few("readings", 1, 0));
    let equal = described(&numbers(&[1.25; 5]));
    assert_eq!(equal.standard_deviation, Ok(0.0));
    assert_eq!(equal.skewness, Err(Undefined::NoSpread));
    assert_eq!(equal.excess_kurtosis, Err(Undefined::NoSpread));
    assert_eq!(equal.moments.student_against(1.0), Err(Undefined::NoSpread));
    assert_eq!(equal.different, 1);
}

#[test]
fn what_is_no_reading_is_named() {
    let at = |at| Err(Undefined::NotAReading { at });
    assert_eq!(Readings::of_numbers(&[1.0, f64::NAN]), at(1));
    assert_eq!(Readings::of_numbers(&[f64::INFINITY]), at(0));
    assert_eq!(Readings::of_steps(&[5, i64::MIN], mm(0.001)), at(1));
    assert!(Readings::of_steps(&[5], mm(0.0)).is_err());
    assert!(Readings::of_steps(&[5], mm(-0.001)).is_err());
}

/// A spread a hundred million times smaller than the readings.
#[test]
fn counts_keep_a_spread_that_squares_would_swallow() {
    let counts: Vec<i64> = (0..1001)
        .map(|index| 10_000_000_000_000 + index % 3)
        .collect();
    let moments = Moments::of(&Readings::of_steps(&counts, mm(1e-6)).expect("readings"));
    let variance = moments.expect("moments").variance().expect("a variance");
    // 334, 334 and 333 readings of 0, 1 and 2 steps.
    let expected = (334.0 + 4.0 * 333.0 - 1000.0 * 1000.0 / 1001.0) / 1000.0 * 1e-12;
    assert!((variance / expected - 1.0).abs() < 1e-13, "{variance}");
}

#[test]
fn a_few_readings_by_their_range() {
    let few = described(&numbers(&[12.003, 12.001]));
    // d2* of one range of two is √2, so that both ways agree.
    let (by_range, by_squares) = (few.deviation_from_range(), few.standard_deviation);
    assert!((by_range.expect("a figure") - by_squares.expect("a figure")).abs() < 1e-12);
}

#[test]
fn quartiles_differ_by_their_name() {
    let readings = [1.0, 2.0, 3.0, 4.0];
    let at = |quartiles| quantile(&numbers(&readings), 0.25, quartiles).expect("a quartile");
    assert!((at(Quartiles::Six) - 1.25).abs() < 1e-15);
    assert!((at(Quartiles::Seven) - 1.75).abs() < 1e-15);
    assert_ne!(Quartiles::Six.words(), Quartiles::Seven.words());
    assert!(
        described(&numbers(&readings))
            .settings_words()
            .contains("type 7")
    );
    assert!(quantile(&numbers(&readings), 1.0, Quartiles::Six).is_err());
}

#[test]
fn pooled_sets_leave_out_single_readings() {
    let sets = [[1.0, 3.0].as_slice(), &[5.0], &[2.0, 2.0, 5.0]];
    let sets = sets.map(|set| Moments::of(&numbers(set)).expect("moments"));
    let within = pooled(&sets).expect("a spread");
    assert_eq!(
        (within.degrees_of_freedom, within.sets, within.count),
        (3, 2, 5)
    );
    // (2 + 6) / 3
    assert!((within.standard_deviation - (8.0_f64 / 3.0).sqrt()).abs() < 1e-12);
    assert_eq!(pooled(&sets[1..2]), Err(too_few("repeat readings", 1, 0)));
}

#[test]
fn a_line_says_what_it_is_worth() {
    let two = Line::through(&[0.0, 1.0], &[1.0, 3.0]).expect("a line");
    assert!((two.slope - 2.0).abs() < 1e-15 && (two.at(2.0) - 5.0).abs() < 1e-14);
    assert_eq!(two.slope_interval(0.95), Err(too_few("points", 3, 2)));
    assert_eq!(
        Line::through(&[1.0, 1.0], &[1.0, 3.0]),
        Err(Undefined::NoSpread)
    );
    assert!(Line::through(&[1.0], &[1.0, 3.0]).is_err());
    let three = Line::through(&[0.0, 1.0, 2.0], &[0.0, 1.1, 1.9]).expect("a line");
    let (height, forecast) = (three.height_error(5.0), three.forecast_error(5.0));
    assert!(forecast.expect("an error") > height.expect("an error"));
    let interval = three.height_interval(1.0, 0.95).expect("an interval");
    assert!(interval.holds(1.0) && three.slope_interval(1.5).is_err());
}

/// A barrel: no slope at all, and bent for certain.
#[test]
fn bending_is_seen_against_repeats() {
    let bent: [(f64, &[f64]); 3] = [
        (0.0, &[10.000, 10.001]),
        (5.0, &[10.020, 10.021]),
        (10.0, &[10.000, 10.001]),
    ];
    let bending = lack_of_fit(&bent).expect("a test");
    assert_eq!((bending.upper, bending.lower), (1, 3));
    assert!(bending.chance < 0.001, "{bending:?}");
    let straight: [(f64, &[f64]); 3] = [(0.0, &[1.0, 1.2]), (1.0, &[2.0, 2.2]), (2.0, &[3.0, 3.2])];
    assert!(lack_of_fit(&straight).expect("a test").chance > 0.999);
    let once: [(f64, &[f64]); 3] = [(0.0, &[1.0]), (1.0, &[2.0]), (2.0, &[3.0])];
    assert!(lack_of_fit(&once).is_err());
}

#[test]
fn factors_for_any_number() {
    assert!(c4(1).is_err() && d2(1).is_err() && d3(0).is_err() && d2(1001).is_err());
    assert!(MeanRange::of(5, 0).is_err());
    // Large samples: 1 - 1/(4n).
    let large = c4(1_000_000).expect("a factor");
    assert!((large - (1.0 - 0.25e-6)).abs() < 1e-12);
    let factors: Vec<Constants> = (2..40)
        .map(|n| Constants::of(n).expect("factors"))
        .collect();
    assert!(
        factors
            .windows(2)
            .all(|pair| pair[0].d2 < pair[1].d2 && pair[0].d3_limit <= pair[1].d3_limit)
    );
    assert!(factors[..5].iter().all(|of| of.d3_limit.abs() < 1e-300));
    // The first limit above zero is printed for seven readings; ASTM practice, from memory.
    assert!((factors[5].d3_limit - 0.076).abs() < 5e-4);
}

#[test]
fn tests_of_normality_say_when_they_are_worth_little() {
    let few = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
    let refusal = AndersonDarling::of(&numbers(&few)).unwrap_err();
    assert_eq!(refusal, too_few("readings", 8, 7));
    let counts: Vec<i64> = (0..40).map(|index| 100 + index % 4).collect();
    let coarse = Readings::of_steps(&counts, mm(0.001)).expect("readings");
    let test = AndersonDarling::of(&coarse).expect("a test");
    assert_eq!(test.cautions(), [Caution::CoarseDisplay]);
    assert_eq!(test.different, 4);
    assert!(Caution::CoarseDisplay.sentence().contains("coarse display"));
    assert_eq!(
        shapiro_wilk(&numbers(&[1.0; 9])).unwrap_err(),
        Undefined::NoSpread
    );
    assert!(shapiro_wilk(&numbers(&vec![1.0; 5001])).is_err());
    // Three evenly spaced readings could not look more normal.
    let three = shapiro_wilk(&numbers(&[1.0, 2.0, 3.0])).expect("a test");
    assert!((three.statistic - 1.0).abs() < 1e-12 && (three.chance - 1.0).abs() < 1e-6);
}

/// The share of samples that are taken for not normal after a display has rounded them to whole steps.
fn condemned(count: usize, step: Option<f64>, mut next: impl FnMut() -> f64) -> f64 {
    let samples = 300;
    let condemned = (0..samples).filter(|_| {
        let rounded: Vec<f64> = (0..count).map(|_| next().round()).collect();
        let readings = numbers(&rounded);
        let test = match step {
            Some(step) => AndersonDarling::of_rounded(&readings, step),
            None => AndersonDarling::of(&readings),
        };
        test.expect("a test").chance < 0.05
    });
    condemned.count() as f64 / f64::from(samples)
}

/// A display that rounds condemns no normal readings where its step is known, and hides no real departure.
#[test]
fn rounding_is_allowed_for_in_tests_of_normality() {
    for (count, deviation) in [(30, 2.0), (100, 1.0), (100, 2.0), (300, 5.0), (1000, 8.0)] {
        let mut normal = normal_numbers(21);
        let share = condemned(count, Some(1.0), || 0.3 + deviation * normal());
        assert!(share < 0.08, "{count}, {deviation} steps: {share}");
    }
    let mut normal = normal_numbers(22);
    let unknown = condemned(100, None, || 2.0 * normal());
    assert!(unknown > 0.9, "without its step: {unknown}");
    let exponential = condemned(100, Some(1.0), || {
        -2.0 * overwire_core::stats::distribution::normal_probability(normal()).ln()
    });
    assert!(exponential > 0.9, "exponential: {exponential}");
    let two_levels = condemned(100, Some(1.0), || {
        let level = if normal() > 0.0 { 1.8 } else { -1.8 };
        level + 0.87 * normal()
    });
    assert!(two_levels > 0.9, "two levels: {two_levels}");
}

/// With the step known a coarse display is only told of where the readings spread by less than a step.
#[test]
fn what_a_known_step_leaves_to_say_of_normality() {
    let counts: Vec<f64> = (0..40).map(|index| f64::from(index % 5)).collect();
    let test = AndersonDarling::of_rounded(&numbers(&counts), 1.0).expect("a test");
    assert_eq!(test.cautions(), []);
    assert!(
        test.settings_words()
            .contains("spread evenly over the step")
    );
    let few: Vec<f64> = (0..40).map(|index| f64::from(index % 2)).collect();
    let test = AndersonDarling::of_rounded(&numbers(&few), 1.0).expect("a test");
    assert_eq!(test.cautions(), [Caution::WithinAStep]);
    let plain = AndersonDarling::of(&numbers(&few)).expect("a test");
    assert_eq!(plain.chance_words(), "below 0.001");
    assert!(AndersonDarling::of_rounded(&numbers(&few), 0.0).is_err());
    assert!(plain.settings_words().contains("not allowed for"));
}

/// Worked by hand; the constants are those of the rule of thumb.
#[test]
fn a_display_is_fine_enough_or_not() {
    let known = Use {
        step: 0.001,
        tolerance: Some(0.009),
        range_limit: Some(0.004),
        process_deviation: Some(0.000_5),
    };
    let adequacy = Adequacy::of(&known).expect("rules");
    assert_eq!(adequacy.steps_in_tolerance, Ok((9.0, Fineness::Coarse)));
    assert_eq!(adequacy.values_within_limit, Ok((5.0, Fineness::Fine)));
    assert_eq!(adequacy.steps_in_deviation, Ok((0.5, Fineness::Coarse)));
    assert!(Adequacy::of(&Use { step: 0.0, ..known }).is_err());
    let bare = Use {
        tolerance: None,
        ..known
    };
    assert!(
        Adequacy::of(&bare)
            .expect("rules")
            .steps_in_tolerance
            .is_err()
    );
    assert!((spread_for_budget(0.0, 0.001) - reading_uncertainty(0.001)).abs() < 1e-18);
    assert!((spread_for_budget(0.01, 0.001) - 0.01).abs() < 1e-18);
    assert!(without_display(0.1, 1.0).abs() < 1e-300);
    assert!(displayed(0.0, 0.0).is_err() && displayed(1.0, f64::NAN).is_err());
}

#[test]
fn rounding_keeps_to_decimal_digits() {
    let decimal = |text: &str| Decimal::parse(text).expect("a decimal");
    let rounded = |value: &str, step: &str, ties| {
        round_to(decimal(value), decimal(step), ties).map(|found| found.to_string())
    };
    // 2.675 is below the tie in binary; on its digits it is one.
    assert_eq!(rounded("2.675", "0.01", Ties::Even).as_deref(), Ok("2.68"));
    assert_eq!(rounded("2.665", "0.01", Ties::Even).as_deref(), Ok("2.66"));
    assert_eq!(
        rounded("-2.665", "0.01", Ties::Away).as_deref(),
        Ok("-2.67")
    );
    assert_eq!(rounded("-0.004", "0.01", Ties::Even).as_deref(), Ok("0.00"));
    assert_eq!(
        rounded("0.00025", "0.00005", Ties::Even).as_deref(),
        Ok("0.00025")
    );
    assert_eq!(rounded("1", "0", Ties::Even).unwrap_err().code(), "step");
    let limits = (decimal("0.4672"), decimal("0.4680"));
    let held = |value, comparison| place(decimal(value), limits, decimal("0.0001"), comparison);
    assert_eq!(held("0.46714", Comparison::Absolute), Ok(Place::Under));
    assert_eq!(held("0.46801", Comparison::Absolute), Ok(Place::Over));
    assert_eq!(
        held("0.46804", Comparison::Rounded(Ties::Even)),
        Ok(Place::Within)
    );
    assert_ne!(
        Comparison::Absolute.words(),
        Comparison::Rounded(Ties::Away).words()
    );
}

#[test]
fn places_follow_the_spread_but_not_for_ever() {
    assert_eq!(places_to_report(0.012, 3), Ok(3));
    assert_eq!(places_to_report(0.000_012, 3), Ok(4));
    assert_eq!(places_to_report(123.0, 3), Ok(0));
    assert_eq!(places_to_report(0.0, 3), Err(Undefined::NoSpread));
    assert!(places_to_report(f64::NAN, 3).is_err() && places_to_report(-1.0, 3).is_err());
}

proptest! {
    #[test]
    fn figures_are_figures(counts in prop::collection::vec(-1_000_000_000_000_000_i64..=1_000_000_000_000_000, 1..60)) {
        let readings = Readings::of_steps(&counts, mm(0.001)).expect("readings");
        let all = described(&readings);
        for figure in [
            all.standard_deviation, all.standard_error, all.skewness, all.excess_kurtosis,
            all.following, Ok(all.median), Ok(all.median_deviation), Ok(all.mean_deviation),
        ] {
            prop_assert!(figure.is_err() || figure.is_ok_and(f64::is_finite));
        }
        prop_assert!(all.least <= all.median && all.median <= all.greatest);
        prop_assert!(all.least <= all.lower_quartile && all.upper_quartile <= all.greatest);
    }

    /// Counts and the same readings as numbers agree, and a shift moves the mean alone.
    #[test]
    fn counts_and_numbers_agree(
        counts in prop::collection::vec(-5_000_i64..5_000, 2..80),
        shift in -1_000_000_i64..1_000_000,
    ) {
        let as_numbers: Vec<f64> = counts.iter().map(|&count| count as f64).collect();
        let shifted: Vec<i64> = counts.iter().map(|count| count + shift).collect();
        let of_steps = |counts: &[i64]| {
            Moments::of(&Readings::of_steps(counts, mm(1.0)).expect("readings")).expect("moments")
        };
        let plain = Moments::of(&numbers(&as_numbers)).expect("moments");
        let (exact, moved) = (of_steps(&counts), of_steps(&shifted));
        prop_assert!((plain.mean - exact.mean).abs() < 1e-9);
        prop_assert!((plain.sum_of_squares - exact.sum_of_squares).abs() <= 1e-12 * exact.sum_of_squares.max(1.0));
        prop_assert!((moved.mean - exact.mean - shift as f64).abs() < 1e-9);
        prop_assert!((moved.sum_of_squares - exact.sum_of_squares).abs() < 1e-9);
    }

    #[test]
    fn tests_never_give_what_is_no_number(
        readings in prop::collection::vec(prop_oneof![-1e3..1e3_f64, Just(0.0), Just(1e-300), Just(1e59)], 0..40)
    ) {
        let readings = numbers(&readings);
        if let Ok(test) = AndersonDarling::of(&readings) {
            prop_assert!(test.statistic.is_finite() && (0.0..=1.0).contains(&test.chance));
        }
        if let Ok(test) = shapiro_wilk(&readings) {
            prop_assert!(test.statistic.is_finite() && (0.0..=1.0).contains(&test.chance));
        }
    }

    #[test]
    fn rounding_moves_by_half_a_step_at_most(steps in -1_000_000_i64..1_000_000, width in 1_i64..1000) {
        let value = Decimal::from_steps(steps, 5).expect("a decimal");
        let step = Decimal::from_steps(width, 5).expect("a step");
        for ties in [Ties::Even, Ties::Away] {
            let rounded = round_to(value, step, ties).expect("a decimal").steps();
            prop_assert!(2 * (rounded - steps).abs() <= width && rounded % width == 0);
        }
    }
}
