//! Charts in phases, and runs up and down where neighbours read the same.
//!
//! Readings: NIST/SEMATECH e-Handbook 6.3.2.2 to 6.3.2.4 (as in `core/tests/published/stats/control_charts.json`).
//! Expected figures: those the handbook prints where it says so, else numpy and scipy.

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::individuals::{Factors, Individuals, IndividualsSettings};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::phases::{Freezing, Phased};
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::RunRules;
use overwire_core::stats::series::{Gap, Series};
use overwire_core::units::Unit;

use crate::{close, series};

/// 6.3.2.4; its last ten are the readings of 6.3.2.2.
const WEIGHTED: [f64; 20] = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2,
    52.6, 52.4, 53.6, 52.1,
];

/// 6.3.2.3, which jumps at the thirteenth.
const SUMMED: [f64; 20] = [
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
];

const NONE: [usize; 0] = [];

fn limits(phased: &Phased, phase: usize) -> ControlLimits {
    phased.parts[phase].chart.expect("limits").limits
}

/// The indices that stand out, phase by phase.
fn hits(phased: &Phased) -> Vec<Vec<usize>> {
    let phases = phased.phases(|_| Freezing::default());
    let found = phases.signals(&phased.series, RunRules::usual());
    let indices = |signals: &overwire_core::stats::run_rules::Signals| {
        signals.hits.iter().map(|hit| hit.index).collect()
    };
    found.iter().map(indices).collect()
}

/// The handbook prints 45.8159 and 55.8041 about 50.81 for the last ten, with factors as tables have them.
#[test]
fn the_second_phase_has_the_handbook_s_limits() {
    let settings = IndividualsSettings {
        factors: Factors::AsPrinted,
        ..IndividualsSettings::default()
    };
    let phased = Phased::of(&series(&WEIGHTED), &[(10, "later")], None, settings);
    let second = limits(&phased, 1);
    assert!((second.centre - 50.81).abs() < 6e-5);
    assert!((second.lower.expect("a limit") - 45.8159).abs() < 6e-5);
    assert!((second.upper.expect("a limit") - 55.8041).abs() < 6e-5);
    // numpy: mean, mean difference of neighbours over 2/√π.
    let phased = Phased::of(
        &series(&WEIGHTED),
        &[(10, "later")],
        None,
        IndividualsSettings::default(),
    );
    let first = limits(&phased, 0);
    close(first.lower.expect("a limit"), 42.646_152_928_681_74);
    close(first.upper.expect("a limit"), 57.593_847_071_318_26);
    assert_eq!(hits(&phased), [NONE, NONE]);
}

/// numpy: 323.5409 and 326.0425 from the first twelve, 324.8008 and 330.5929 from the last eight. All eight lie
/// above the frozen limits; in a phase of their own none stands out.
#[test]
fn a_jump_stands_out_against_frozen_limits_and_not_in_a_phase_of_its_own() {
    let readings = series(&SUMMED);
    let settings = IndividualsSettings::default();
    let frozen = Phased::of(&readings, &[], Some(12), settings);
    let kept = limits(&frozen, 0);
    close(kept.lower.expect("a limit"), 323.540_878_210_516_3);
    close(kept.upper.expect("a limit"), 326.042_455_122_817_05);
    assert_eq!(hits(&frozen), [(12..20).collect::<Vec<_>>()]);
    assert!(frozen.parts[0].is_frozen());
    let phased = Phased::of(&readings, &[(12, "new wires")], None, settings);
    let second = limits(&phased, 1);
    close(second.lower.expect("a limit"), 324.800_812_011_466_9);
    close(second.upper.expect("a limit"), 330.592_937_988_533_1);
    assert_eq!(hits(&phased), [NONE, NONE]);
    // The limits of a phase are those of a chart of its readings alone.
    let alone = Individuals::of(&series(&SUMMED[12..]), settings).expect("limits");
    assert_eq!(second, alone.limits);
}

#[test]
fn nothing_reaches_from_one_phase_into_the_next() {
    // Nine above the middle of both, five before the break and four behind it.
    let mut readings = vec![-1.0, 1.0, -1.0, 1.0, -2.5, 1.0, 1.1, 1.0, 1.1, 1.0];
    readings.extend([1.0, 1.1, 1.0, 1.1, -1.0, -1.1, 0.0, -1.0, -1.5]);
    let settings = IndividualsSettings::default();
    let whole = Phased::of(&series(&readings), &[], None, settings);
    assert_eq!(hits(&whole), [vec![13]]);
    let parted = Phased::of(&series(&readings), &[(10, "tool")], None, settings);
    assert_eq!(hits(&parted), [NONE, NONE]);
    let starts = parted.series.gaps().iter();
    let starts = starts.filter(|at| matches!(at.gap, Gap::FreshStart { .. }));
    assert_eq!(starts.map(|at| at.before).collect::<Vec<_>>(), [10]);
    // No moving range is taken across the break.
    let ranges: usize = parted
        .parts
        .iter()
        .map(|part| part.chart.expect("limits").moving_ranges)
        .sum();
    assert_eq!(ranges, readings.len() - 2);
}

#[test]
fn a_phase_too_short_for_limits_judges_nothing_and_borrows_none() {
    let mut readings = SUMMED[..12].to_vec();
    readings.extend([400.0]);
    readings.extend(&SUMMED[12..]);
    let phased = Phased::of(
        &series(&readings),
        &[(12, "one piece"), (13, "wires"), (0, "none"), (99, "none")],
        None,
        IndividualsSettings::default(),
    );
    assert_eq!(phased.parts.len(), 3);
    assert!(phased.parts[1].chart.is_err());
    let phases = phased.phases(|_| Freezing::default());
    assert_eq!((phases.phases().len(), phases.at(12)), (3, None));
    let found = phases.signals(&phased.series, RunRules::usual());
    assert_eq!(found.len(), 2);
    assert_eq!(Steadiness::of_all(&found), Steadiness::Steady { hits: 0 });
    assert_eq!(Steadiness::of_all([]), Steadiness::Unknown);
    // Frozen from more than a phase has.
    let few = Phased::of(
        &series(&readings),
        &[(13, "wires")],
        Some(9),
        IndividualsSettings::default(),
    );
    assert!(matches!(
        few.parts[1].chart,
        Err(Undefined::TooFew {
            needed: 9,
            found: 8,
            ..
        })
    ));
}

#[test]
fn what_was_left_out_keeps_its_place_in_its_phase() {
    let mut all: Series = series(&SUMMED[..12]);
    all.push_excluded(400.0, "chip").expect("finite");
    for reading in &SUMMED[12..16] {
        all.push(*reading).expect("finite");
    }
    all.push_excluded(500.0, "burr").expect("finite");
    for reading in &SUMMED[16..] {
        all.push(*reading).expect("finite");
    }
    let phased = Phased::of(&all, &[(12, "wires")], None, IndividualsSettings::default());
    let phases = phased.phases(|part| Freezing {
        first_reading: (part.range.start + 1).to_string(),
        last_reading: part.limits_to.to_string(),
        ..Freezing::default()
    });
    let words: Vec<Vec<String>> = phases
        .phases()
        .iter()
        .map(|phase| {
            phase
                .limits
                .as_ref()
                .expect("limits")
                .words(Unit::Millimetre, 3)
        })
        .collect();
    assert!(words[0][0].starts_with("Limits from 1 to 12, 12 points, provisional: 12 of 25"));
    assert_eq!(words[0][2..], ["Left out: point 13 (400.000 mm), chip."]);
    assert_eq!(words[1][2..], ["Left out: point 18 (500.000 mm), burr."]);
}

/// The fewest and the most runs of all ways in which ties can fall, counted one by one in Python.
#[test]
fn ties_are_broken_both_ways() {
    let cases: [(&[f64], usize, usize); 4] = [
        (&[3.0, 4.0, 1.0, 2.0, 2.0, 6.0, 7.0, 8.0, 0.0], 4, 6),
        (
            &[1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0, 3.0, 3.0, 4.0, 4.0, 4.0],
            1,
            9,
        ),
        (
            &[2.0, 2.0, 1.0, 1.0, 1.0, 3.0, 3.0, 0.0, 0.0, 0.0, 0.0, 5.0],
            4,
            9,
        ),
        (
            &[
                0.0, 1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0,
            ],
            12,
            13,
        ),
    ];
    for (readings, fewest, most) in cases {
        let found = RunChart::of(&series(readings)).expect("figures");
        let runs = found.up_and_down.expect("runs");
        assert_eq!((runs.fewest.found, runs.most.found), (fewest, most));
        close(
            runs.most.expected,
            (2.0 * readings.len() as f64 - 1.0) / 3.0,
        );
    }
}

/// A display of two values makes neighbours alternate wherever they differ: that is the display, not the process.
#[test]
fn a_coarse_display_makes_no_alternation() {
    // A shuffled process (multiplicative congruence), shown to one step.
    let mut state: u64 = 7;
    let mut shown = Vec::new();
    for _ in 0..4000 {
        state = state * 16_807 % 2_147_483_647;
        shown.push(if state < 2_147_483_647 / 2 { 0.0 } else { 1.0 });
    }
    let chart = RunChart::of(&series(&shown)).expect("figures");
    let runs = chart.up_and_down.expect("runs");
    assert!(!runs.is_unusual() && runs.is_open());
    let told = chart.sentence();
    assert!(
        told.contains("not judged, because") && !told.contains("alternation"),
        "{told}"
    );
    // Fewer ties than matter: a steady rise is one however they fall.
    let mut rising: Vec<f64> = (0..60).map(f64::from).collect();
    rising[30] = 29.0;
    let chart = RunChart::of(&series(&rising)).expect("figures");
    assert!(chart.up_and_down.expect("runs").is_unusual());
    let told = chart.sentence();
    assert!(
        told.contains("1 to 3, by how equal neighbours fall") && told.contains("a drift"),
        "{told}"
    );
}
