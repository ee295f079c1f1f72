//! Readings that stand apart.

use overwire_core::stats::describe::Quartiles;
use overwire_core::stats::outliers::{
    Esd, ScoreSettings, Side, Yardstick, asks_to_repeat, fences, generalised_esd, grubbs,
    grubbs_critical, median_scores, several,
};
use overwire_core::stats::{Readings, Undefined};
use proptest::prelude::*;

use crate::mm;

fn numbers(numbers: &[f64]) -> Readings<'_> {
    Readings::of_numbers(numbers).expect("readings")
}

/// Three readings never lie farther than 2/√3 standard deviations from their mean.
#[test]
fn three_readings_cannot_accuse_one_another() {
    let test = grubbs(&numbers(&[1.0, 1.0, 9.0]), 0.05, Side::Either).expect("a test");
    assert!((test.distance - 2.0 / 3.0_f64.sqrt()).abs() < 1e-12);
    assert!(
        test.is_suspect(),
        "an exact tie of two is as unlikely as it gets"
    );
    let honest = grubbs(&numbers(&[1.0, 1.1, 9.0]), 0.01, Side::Either).expect("a test");
    assert!(!honest.is_suspect() && honest.is_nearly_blind());
    assert!(
        honest
            .sentence()
            .ends_with("With so few readings a stray could hardly be told.")
    );
    assert_eq!(
        grubbs_critical(2, 0.05, Side::Either)
            .unwrap_err()
            .to_string(),
        "needs 3 readings at least, has 2"
    );
    assert!(grubbs_critical(9, 0.0, Side::Either).is_err());
}

#[test]
fn the_odds_turn_at_the_critical_value() {
    for count in [4, 7, 20, 60] {
        let mut readings: Vec<f64> = (0..count).map(|index| f64::from(index % 5)).collect();
        for far in [6.0, 8.0, 12.0, 20.0] {
            readings[0] = far;
            for side in [Side::Either, Side::Largest] {
                let test = grubbs(&numbers(&readings), 0.05, side).expect("a test");
                assert_eq!(test.is_suspect(), test.chance < 0.05, "{count} {far}");
            }
        }
    }
    let smallest = grubbs(
        &numbers(&[5.0, 5.1, 4.9, 5.0, 5.1, 1.0]),
        0.05,
        Side::Smallest,
    );
    assert_eq!(smallest.expect("a test").index, 5);
}

#[test]
fn a_sentence_gives_the_odds() {
    let shown = [12.003, 12.004, 12.002, 12.003, 12.004, 12.002, 12.031];
    let test = grubbs(&numbers(&shown), 0.05, Side::Either).expect("a test");
    let sentence = test.sentence();
    assert!(
        sentence.starts_with("Reading 7 of 7 lies 2.26 standard deviations"),
        "{sentence}"
    );
    assert!(sentence.ends_with("Ask what happened there."), "{sentence}");
    assert!(test.settings_words().contains("either side"));
}

fn esd(readings: &[f64], most: usize) -> Result<Esd, Undefined> {
    generalised_esd(&numbers(readings), 0.05, most)
}

#[test]
fn several_strays_are_counted_to_the_last_that_stands_out() {
    let mut readings: Vec<f64> = (0..30).map(|index| f64::from(index % 7)).collect();
    readings.extend([60.0, 61.0]);
    let test = esd(&readings, 4).expect("a test");
    assert_eq!((test.suspects, test.suspect_indices()), (2, vec![31, 30]));
    assert!(!test.is_short_of_readings());
    assert!(test.settings_words().contains("up to 4 strays"));
    assert!(esd(&readings[..5], 4).is_err());
    // What is left has no spread: the test ends there.
    let ended = esd(&[1.0, 1.0, 1.0, 1.0, 1.0, 5.0], 3).expect("a test");
    assert_eq!(ended.steps.len(), 1);
    assert_eq!(esd(&[1.0; 6], 2).unwrap_err(), Undefined::NoSpread);
    assert_eq!(
        esd(&[1.0, 2.0, 3.0, 4.0], 0).map(|test| test.suspects),
        Ok(0)
    );
}

/// Most readings the same, as on a coarse display: the mean distance stands in, and one step is no stray.
#[test]
fn a_coarse_display_makes_no_strays() {
    let settings = ScoreSettings::default();
    let counts = [100, 100, 100, 100, 100, 100, 100, 101];
    let readings = Readings::of_steps(&counts, mm(0.001)).expect("readings");
    let scores = median_scores(&readings, settings).expect("scores");
    assert_eq!(scores.yardstick, Yardstick::MeanDistance);
    assert!(scores.scores[7] > 3.5 && scores.suspects.is_empty());
    let counts = [100, 100, 100, 100, 100, 100, 100, 103];
    let readings = Readings::of_steps(&counts, mm(0.001)).expect("readings");
    let scores = median_scores(&readings, settings).expect("scores");
    assert_eq!(scores.suspects, [7]);
    assert!(
        scores
            .sentence(7)
            .expect("a sentence")
            .contains("Reading 8 of 8")
    );
    assert_eq!(scores.sentence(8), None);
    assert!(scores.settings_words().contains("mean distances"));
    let same = Readings::of_steps(&[5, 5, 5], mm(0.001)).expect("readings");
    assert_eq!(
        median_scores(&same, settings).unwrap_err(),
        Undefined::NoSpread
    );
}

#[test]
fn fences_need_quartiles_that_differ() {
    let same = fences(&numbers(&[1.0, 1.0, 1.0, 9.0]), Quartiles::Seven);
    assert!(same.is_ok_and(|found| found.extreme.is_empty()));
    let flat = fences(&numbers(&[1.0; 8]), Quartiles::Seven);
    assert_eq!(flat.unwrap_err(), Undefined::NoSpread);
    let readings = [1.0, 2.0, 3.0, 4.0, 5.0, 9.5, 40.0];
    let found = fences(&numbers(&readings), Quartiles::Seven).expect("fences");
    assert_eq!((found.mild, found.extreme), (vec![], vec![6]));
}

#[test]
fn a_reading_asks_to_be_taken_again() {
    assert!(asks_to_repeat(12.010, 12.000, 0.002));
    assert!(!asks_to_repeat(12.008, 12.000, 0.002));
}

proptest! {
    /// Whatever the readings, nothing is lost and every figure is one.
    #[test]
    fn strays_never_upset_the_tests(
        readings in prop::collection::vec(prop_oneof![-1e3..1e3_f64, Just(0.0), Just(1e59)], 0..40),
        most in 0_usize..6,
    ) {
        let of = numbers(&readings);
        for side in [Side::Either, Side::Largest, Side::Smallest] {
            if let Ok(test) = grubbs(&of, 0.05, side) {
                prop_assert!(test.index < readings.len() && test.distance.is_finite());
                prop_assert!((0.0..=1.0).contains(&test.chance));
            }
        }
        if let Ok(test) = generalised_esd(&of, 0.05, most) {
            prop_assert!(test.suspects <= most && test.steps.len() <= most);
        }
        if let Ok(scores) = median_scores(&of, ScoreSettings::default()) {
            prop_assert_eq!(scores.scores.len(), readings.len());
            prop_assert!(scores.scores.iter().all(|score| !score.is_nan()));
        }
    }
}

/// By construction: three readings, two of which a display rounds alike, say nothing of odds; nor do eight
/// that it rounds alike but for one.
#[test]
fn no_odds_where_none_can_be_told() {
    let said = |shown: &[f64]| {
        let test = grubbs(&numbers(shown), 0.05, Side::Either).expect("a test");
        test.sentence()
    };
    for shown in [
        vec![12.000, 12.000, 12.003],
        vec![12.000, 12.001, 12.000, 12.001, 12.000, 12.009],
        [vec![12.000; 8], vec![12.003]].concat(),
    ] {
        let said = said(&shown);
        assert!(!said.contains("sets like this"), "{said}");
        assert!(
            said.contains("measure again") || said.contains("Ask what happened"),
            "{said}"
        );
    }
    let spread = [12.0, 12.001, 12.002, 12.0, 12.001, 12.002, 12.03];
    assert!(said(&spread).contains("in 1 of "));
}

/// Eight readings within 0.3 µm and two 9 µm above them: each of the two hides the other from Grubbs' test.
#[test]
fn two_strays_do_not_hide_each_other() {
    let mut shown = vec![
        12.0001, 12.0002, 12.0000, 12.0003, 12.0001, 12.0002, 12.0002, 12.0000,
    ];
    assert_eq!(several(&numbers(&shown), 0.05), Ok(None));
    shown.extend([12.0092, 12.0090]);
    let alone = grubbs(&numbers(&shown), 0.05, Side::Either).expect("a test");
    assert!(!alone.is_suspect());
    let found = several(&numbers(&shown), 0.05)
        .expect("a test")
        .expect("two");
    assert_eq!(found.suspects, 2);
    let said = found.sentence().expect("a sentence");
    assert!(
        said.starts_with("Readings 9 and 10 of 10 stand apart: "),
        "{said}"
    );
    assert!(said.contains("sets like this"), "{said}");
}
