//! Steps told from drifts.

use overwire_core::stats::Undefined;
use overwire_core::stats::step::Step;
use overwire_core::stats::trend::Trend;

use crate::noise;

const RUNS: u32 = 300;

/// How many of many runs of normal pieces about a course are told to be a clear step.
fn clear_steps(count: usize, seed: u64, course: impl Fn(usize) -> f64) -> u32 {
    let mut next = noise(seed);
    let places: Vec<f64> = (0..count).map(|place| place as f64).collect();
    let mut run = || {
        let pieces: Vec<f64> = (0..count)
            .map(|at| 20.0 + 0.001 * (course(at) + next()))
            .collect();
        Trend::of(&places, &pieces).unwrap().clear_step().is_some()
    };
    (0..RUNS).map(|_| u32::from(run())).sum()
}

/// What the module's head says of 600 runs each by numpy 2.4, again with other noise: lines that rise by 0.1, 0.3 and 1
/// standard deviation a piece, and a step of four.
#[test]
fn lines_are_seldom_called_steps_and_steps_mostly() {
    for (seed, count) in (1..).zip([12, 25, 60]) {
        for rise in [0.1, 0.3, 1.0] {
            let found = clear_steps(count, seed, |at| rise * at as f64);
            assert!(
                f64::from(found) < 0.18 * f64::from(RUNS),
                "{found} of {RUNS}: {rise}, {count}"
            );
        }
        let found = clear_steps(count, seed, |at| if at >= count / 2 { 4.0 } else { 0.0 });
        assert!(
            f64::from(found) > 0.75 * f64::from(RUNS),
            "{found} of {RUNS}: {count}"
        );
    }
}

#[test]
fn the_best_step_is_where_the_sum_of_squares_is_least() {
    let pieces = [12.001, 12.003, 12.002, 12.0, 12.012, 12.011, 12.013];
    let step = Step::beside_line(&pieces, 1e-5).unwrap();
    assert_eq!(step.at, 4);
    // The means of either side, by hand: 12.0015 and 12.012.
    assert!((step.rise - 0.0105).abs() < 1e-12, "{}", step.rise);
    // Left about them: 5e-6 and 2e-6; 7 ln(1e-5 / 7e-6) / ln 7.
    let merit = 7.0 * (1e-5_f64 / 7e-6).ln() / 7.0_f64.ln();
    assert!((step.merit - merit).abs() < 1e-6, "{} {merit}", step.merit);
    assert!(!step.fits_clearly_better() && step.fits_as_well());
    assert!(matches!(
        Step::beside_line(&pieces[..5], 1e-5),
        Err(Undefined::TooFew { .. })
    ));
}
