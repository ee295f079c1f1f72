//! One piece, linearity, stability, wires, agreement: what is refused and what is said.

use overwire_core::stats::Undefined;
use overwire_core::study::{
    Agreement, AgreementPiece, BlandAltman, Design, GaugeConvention, Level, LimitsFactor,
    Linearity, MethodReadings, OnePiece, OnePieceSettings, Order, Pairing, Pieces, Stability,
    Study, Visit, WireStudy, lone_wire_gain,
};
use overwire_core::uncertainty::{Budget, Coverage, Sensitivities};
use overwire_core::units::Unit;

use super::{equal_wires, mm, thread};

#[test]
fn what_one_piece_says() {
    let readings: Vec<f64> = (0..30)
        .map(|n| 12.001 + f64::from(n % 3 - 1) * 0.001)
        .collect();
    let settings = OnePieceSettings {
        reference_standard_mm: 0.0003,
        ..OnePieceSettings::usual(Some(12.0005), Some(0.06))
    };
    let study = OnePiece::of(&readings, settings).expect("a study");
    assert_eq!(study.suits(), Some(true));
    assert_eq!(
        study.sentences(Unit::Millimetre, 3),
        [
            "30 readings repeat with a standard deviation of 0.0008 mm (0.0007 mm to 0.0011 mm).",
            "Their mean reads 0.0005 mm higher than the reference (+0.0002 mm to +0.0008 mm, 0.83 % of the \
             tolerance); that is more than chance (probability 0.0026). The reference itself is known \
             to ±0.0003 mm (one standard uncertainty).",
            "Repeatability index 2.41, with the bias 2.21: the instrument suits this tolerance (at \
             least 1.33)."
        ]
    );
    assert_eq!(
        study.settings.settings_words(),
        "20 % of the tolerance over 6 deviations, less the bias over 3; at least 1.33; intervals 95 %."
    );
    let bias = study.bias.expect("a bias").bias();
    assert!(
        (bias.standard_mm - 0.0003_f64.hypot(study.deviation.deviation / 30.0_f64.sqrt())).abs()
            < 1e-12
    );
    assert!(bias.degrees_of_freedom > 29.0);
}

/// A good index from two readings shows nothing: their deviation may be many times as large.
#[test]
fn two_readings_do_not_show_that_an_instrument_suits() {
    let settings = OnePieceSettings::usual(None, Some(0.05));
    let study = OnePiece::of(&[12.000, 12.001], settings).expect("a study");
    let fit = study.fit.expect("a fit");
    assert!(fit.repeat_index.expect("an index") > 2.35);
    assert_eq!(study.suits(), None);
    assert_eq!(
        study.sentences(Unit::Millimetre, 3)[1],
        "Repeatability index 2.36: not yet shown to suit this tolerance, as it may be as low as 0.15 \
         (at least 1.33): take more readings."
    );
    let steady: Vec<f64> = (0..30).map(|n| 12.0 + f64::from(n % 2) * 0.001).collect();
    let study = OnePiece::of(&steady, settings).expect("a study");
    assert_eq!(study.suits(), Some(true));
}

#[test]
fn a_narrow_tolerance_and_few_readings() {
    let settings = OnePieceSettings {
        convention: GaugeConvention::FourDeviations,
        ..OnePieceSettings::usual(Some(12.000), Some(0.008))
    };
    let study = OnePiece::of(&[12.001, 12.002, 12.001, 12.000], settings).expect("a study");
    assert_eq!(study.suits(), Some(false));
    let sentences = study.sentences(Unit::Millimetre, 3);
    assert!(sentences[3].starts_with("Only 4 readings"), "{sentences:?}");
    // More bias than room: no share of the tolerance would do.
    let fit = study.fit.expect("a fit");
    assert!(fit.whole_share.expect("a reference").is_err());
    let same = OnePiece::of(&[12.0; 5], OnePieceSettings::usual(None, Some(0.1))).expect("a study");
    assert_eq!(same.suits(), None);
    assert_eq!(
        same.sentences(Unit::Millimetre, 3)[0],
        "All 5 readings are the same: how they repeat is not known from them."
    );
    assert!(OnePiece::of(&[12.0], OnePieceSettings::usual(None, None)).is_err());
}

/// What a study hands over goes into a budget as it is.
#[test]
fn a_study_feeds_the_budget() {
    let readings: Vec<f64> = (0..30)
        .map(|n| 12.001 + f64::from(n % 3 - 1) * 0.001)
        .collect();
    let settings = OnePieceSettings::usual(Some(12.0005), Some(0.06));
    let study = OnePiece::of(&readings, settings).expect("a study");
    let repeats = study.repeatability();
    let bias = study.bias.expect("a bias").bias();
    let lines = [repeats.contribution(3), bias.contribution("grease")];
    let budget = Budget::new(&lines, Coverage::default()).expect("a budget");
    let expected = (repeats.deviation_mm / 3.0_f64.sqrt()).hypot(bias.standard_mm);
    assert!((budget.uncertainty.standard.mm() - expected).abs() < 1e-15);
    assert!(budget.uncertainty.degrees_of_freedom > 29.0);
}

#[test]
fn what_linearity_and_stability_say() {
    let level = |reference: f64, off: [f64; 3]| Level {
        reference,
        readings: off.map(|off| reference + off).to_vec(),
    };
    let levels = [
        level(5.0, [0.001, 0.000, 0.001]),
        level(10.0, [0.003, 0.002, 0.003]),
        level(15.0, [0.004, 0.005, 0.004]),
    ];
    let found = Linearity::of(&levels, 0.95).expect("a line");
    let sentences = found.sentences(Unit::Millimetre, 3);
    assert_eq!(
        sentences[0],
        "The bias changes with size by +0.0004 mm for every 1 mm (probability by chance below \
         0.0001): one correction does not hold for all sizes."
    );
    assert_eq!(
        sentences[3],
        "At 15.000 mm it reads +0.0044 mm (+0.0037 mm to +0.0051 mm, more than chance)."
    );
    assert!(Linearity::of(&levels[..1], 0.95).is_err());
    assert!(found.share_at(10.0, 0.0).is_err());

    let visit = |day: f64, mm: f64| Visit {
        day,
        readings: vec![mm],
    };
    let steady: Vec<Visit> = [1, 3, 2, 1, 2, 3, 2, 2, 1, 3]
        .iter()
        .enumerate()
        .map(|(day, &count)| visit(day as f64, 20.0 + f64::from(count) * 0.001))
        .collect();
    let found = Stability::of(&steady, None, 0.05).expect("a course");
    assert_eq!(
        found.sentences(Unit::Millimetre, 3)[0],
        "No visit lies beyond what chance from visit to visit does."
    );
    let mut jumped = steady;
    jumped[7].readings = vec![20.020];
    let found = Stability::of(&jumped, None, 0.05).expect("a course");
    assert_eq!(found.beyond, [7]);
    assert!(found.sentences(Unit::Millimetre, 3)[0].contains("visit 8"));
    assert!(found.within.is_err());
}

/// Readings computed from three different wires, exactly as the seat has them, give the wires back.
#[test]
fn wires_come_out_as_they_are() {
    use overwire_core::helix::over_wires;
    use overwire_core::units::WireDiameter;
    use overwire_core::wires::Wires;

    let thread = thread("M8x1.25-6g");
    let nominal = 0.7217;
    let off = [0.0006, -0.0002, -0.0004];
    let wire = |index: usize| WireDiameter::new(mm(nominal + off[index])).expect("a wire");
    let reading = |lone: usize| {
        let pair = [wire((lone + 1) % 3), wire((lone + 2) % 3)];
        let wires = Wires {
            single: wire(lone),
            pair,
        };
        let seat = over_wires(&thread.geometry, &wires, mm(7.1)).expect("a seat");
        seat.over_wires.mm()
    };
    let shaken = |lone: usize| -> Vec<f64> {
        let noise = [0.00001, -0.00001, 0.00002, 0.0, -0.00002];
        noise.iter().map(|noise| reading(lone) + noise).collect()
    };
    let seated: Vec<MethodReadings> = (0..3)
        .map(|lone| MethodReadings {
            name: format!("wire {lone} alone"),
            readings: shaken(lone),
        })
        .collect();
    let equal = equal_wires(mm(nominal));
    let sensitivities =
        Sensitivities::at(&thread.geometry, &equal, mm(reading(0))).expect("slopes");
    let gain = lone_wire_gain(&sensitivities);
    assert!((gain - 0.75).abs() < 0.01, "{gain}");
    let found = WireStudy::of(&seated, gain, Pairing::Apart, 0.95).expect("a study");
    for (wire, off) in found.wires.iter().zip(off) {
        assert!((wire.above_mean.value - off).abs() < 2e-6, "{wire:?} {off}");
        assert!(wire.interval.holds(off), "{wire:?} {off}");
    }
    assert_eq!(found.differ(), Ok(true));
    let sentences = found.sentences(Unit::Millimetre, 4);
    assert!(
        sentences[1].starts_with("wire 0 alone: +0.0006"),
        "{sentences:?}"
    );
    assert!(WireStudy::of(&seated[..2], gain, Pairing::Apart, 0.95).is_err());
    assert!(WireStudy::of(&seated, 0.0, Pairing::Apart, 0.95).is_err());
}

#[test]
fn what_agreement_over_pieces_says() {
    let first = [10.002, 10.513, 11.004, 11.498, 12.003, 12.503];
    let second = [10.001, 10.513, 11.002, 11.497, 12.001, 12.502];
    let found = BlandAltman::of_pairs(&first, &second, LimitsFactor::NinetyFive, 0.95);
    let found = found.expect("agreement");
    let sentences = found.sentences(["grease", "bare"], Unit::Millimetre, 3);
    assert_eq!(
        sentences[0],
        "grease reads 0.0012 mm higher than bare on the average of 6 pieces (+0.0004 mm to +0.0020 mm)."
    );
    assert!(found.is_shown_within(0.010) && !found.is_shown_within(0.002));
    assert!(
        BlandAltman::of_pairs(&first[..2], &second[..2], LimitsFactor::NinetyFive, 0.95).is_err()
    );
    assert!(BlandAltman::of_pairs(&first, &second[..5], LimitsFactor::NinetyFive, 0.95).is_err());
    assert!(BlandAltman::of_pairs(&first, &second, LimitsFactor::Times(0.0), 0.95).is_err());
}

/// Two methods on three pieces: only a piece that both measured says anything about agreement.
#[test]
fn agreement_from_a_planned_study() {
    let names = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect();
    let design = Design {
        pieces: Pieces::Shared(names(&["a", "b", "c"])),
        methods: names(&["bare", "clip"]),
        operators: names(&["Ann"]),
        rounds: 1,
        order: Order::AsListed,
        seed: 1,
    };
    let mut study = Study::new(design).expect("a study");
    for (number, value) in [10.0, 10.1, 11.0, 11.2, 12.0].into_iter().enumerate() {
        study.fill(&number.to_string(), value).expect("a reading");
    }
    let pieces = AgreementPiece::from_study(&study, 1, 0);
    let piece = |name: &str, first: f64, second: f64| {
        let readings = AgreementPiece {
            first: vec![first],
            second: vec![second],
        };
        (name.to_owned(), readings)
    };
    assert_eq!(pieces, [piece("a", 10.1, 10.0), piece("b", 11.2, 11.0)]);
    let many = MethodReadings::from_study(&study, Pairing::Blocks).expect_err("many pieces");
    assert_eq!(many.code(), "many-pieces");
}

#[test]
fn judges_who_never_differ_leave_kappa_out() {
    let all_good = Agreement::count([(true, true); 20]);
    assert_eq!(all_good.kappa(), Err(Undefined::NoSpread));
    assert!(all_good.missed().is_err());
    let mixed = Agreement::count([(true, true), (false, false), (false, true), (true, false)]);
    assert_eq!((mixed.missed(), mixed.false_alarms()), (Ok(0.5), Ok(0.5)));
    assert!(Agreement::count([]).agreement().is_err());
}
