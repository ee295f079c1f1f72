//! Sensitivities, budgets, and how many digits a result is worth.

use overwire_core::compression::{Force, Material, Pressing};
use overwire_core::helix;
use overwire_core::seat::wire_range;
use overwire_core::thread::{Flanks, Geometry};
use overwire_core::uncertainty::{
    Budget, Contribution, Coverage, Sensitivities, Shown, Source, Spread, TemperatureSensitivities,
    Uncertainty, force_sensitivity,
};
use overwire_core::units::{Length, Unit};
use overwire_core::wires::Wires;
use proptest::prelude::*;

use crate::properties::cases;
use crate::{equal_wires, mm, thread};

fn at(geometry: &Geometry, wires: &Wires, pitch_diameter: Length) -> Sensitivities {
    let seated = helix::over_wires(geometry, wires, pitch_diameter).expect("a seat");
    Sensitivities::at(geometry, wires, seated.over_wires).expect("sensitivities")
}

fn line(source: Source, spread: Spread, sensitivity: f64) -> Contribution {
    Contribution {
        source,
        spread,
        sensitivity,
    }
}

fn even(half_width: f64) -> Spread {
    Spread::Rectangular { half_width }
}

#[test]
fn the_lone_wire_weighs_twice_as_much_as_each_of_the_pair() {
    let found = at(
        &thread("M8x1.25-6g").geometry,
        &equal_wires(mm(0.7217)),
        mm(7.1),
    );
    let shares = found.wires.map(|one| one / found.wires_together);
    for (share, expected) in shares.into_iter().zip([0.5, 0.25, 0.25]) {
        assert!((share - expected).abs() < 1e-6, "{shares:?}");
    }
}

#[test]
fn off_the_best_wire_the_flank_angle_counts() {
    let geometry = thread("M8x1.25-6g").geometry;
    let best = wire_range(&geometry, mm(7.1), mm(7.1))
        .best
        .expect("a best size");
    let both = |share: f64| at(&geometry, &equal_wires(best * share), mm(7.1)).both_flanks;
    assert!(both(0.9) < -0.2 && both(1.1) > 0.2);
    assert!(both(1.0).abs() < 1e-8, "{}", both(1.0));
}

/// What force and warmth do, against the plain rules.
#[test]
fn force_and_warmth() {
    let geometry = thread("M10x1.5-6g").geometry;
    let wires = equal_wires(mm(0.866));
    let reading = mm(10.2);
    let force = Force::from_newtons(10.0).expect("a force");
    let pressing = Pressing::on(Material::HardenedSteel, force);
    let for_one_newton = force_sensitivity(&geometry, &wires, reading, &pressing).expect("a force");
    // Two thirds of the compression for the whole of the force.
    assert!((for_one_newton / (2.0 / 3.0 * 3.93e-3 / 10.0) - 1.0).abs() < 0.03);
    let steel = Material::HardenedSteel.elasticity().expansion();
    let warmth = TemperatureSensitivities::at(&geometry, &wires, reading, steel, steel);
    let warmth = warmth.expect("temperatures");
    let together = warmth.part + warmth.wires + warmth.micrometer;
    assert!(together.abs() < 1e-9, "all of one material: {together:e}");
    assert!((warmth.micrometer / (10.2 * 11.5e-6) - 1.0).abs() < 1e-3);
    assert!((warmth.wires / (-3.0 * 0.866 * 11.5e-6) - 1.0).abs() < 2e-3);
    assert!(warmth.part < 0.0);
}

#[test]
fn every_source_finds_its_sensitivity() {
    let geometry = thread("M8x1.25-6g").geometry;
    let found = at(&geometry, &equal_wires(mm(0.75)), mm(7.1));
    assert_eq!(found.to(&Source::Repeatability), Some(found.reading));
    assert_eq!(found.to(&Source::Wire(0)), Some(found.wires[0]));
    assert_eq!(found.to(&Source::Wire(2)), Some(found.wires[2]));
    assert_eq!(found.to(&Source::Wire(3)), None);
    assert_eq!(found.to(&Source::BothFlanks), Some(found.both_flanks));
    assert_eq!(found.to(&Source::Force), None);
}

#[test]
fn a_budget_is_ready_to_print() {
    let repeated = Spread::Repeated {
        deviation: 0.003,
        readings: 5,
        averaged: 1,
    };
    let lines = [
        line(Source::Micrometer, even(0.002), 1.0),
        line(
            Source::Wire(0),
            Spread::Triangular { half_width: 0.001 },
            -1.5,
        ),
        line(Source::Repeatability, repeated, 1.0),
    ];
    let budget = Budget::new(&lines, Coverage::default()).expect("a budget");
    let shares: f64 = budget.rows.iter().map(|row| row.share).sum();
    assert!((shares - 1.0).abs() < 1e-12);
    assert_eq!(budget.rows[2].source.words(), "repeatability");
    assert_eq!(budget.rows[0].spread.words(), "rectangular, divided by √3");
    assert!((budget.rows[1].standard - 0.001 / 6_f64.sqrt()).abs() < 1e-15);
    assert!((budget.rows[1].contribution.mm() - 0.0015 / 6_f64.sqrt()).abs() < 1e-15);
    // Four degrees of freedom in the largest part: the factor is well above two.
    let known = budget.uncertainty;
    assert!((5.0..7.5).contains(&known.degrees_of_freedom), "{known:?}");
    assert!((2.36..2.58).contains(&known.factor), "{known:?}");
    let said = known.sentence(Unit::Millimetre);
    assert!(
        said.contains("for 95.00 %") && said.contains("degrees of freedom"),
        "{said}"
    );
}

#[test]
fn budgets_that_make_no_sense_are_refused() {
    let refuse = |contribution: Contribution, coverage| {
        Budget::new(&[contribution], coverage)
            .expect_err("nonsense")
            .to_string()
    };
    let once = Spread::Repeated {
        deviation: 0.001,
        readings: 1,
        averaged: 1,
    };
    let usual = Coverage::default();
    let said = refuse(line(Source::Repeatability, once, 1.0), usual);
    assert!(
        said.starts_with("repeatability: expected a spread"),
        "{said}"
    );
    refuse(line(Source::Zero, even(-0.001), 1.0), usual);
    refuse(line(Source::Zero, even(f64::NAN), 1.0), usual);
    refuse(line(Source::Zero, even(0.001), f64::INFINITY), usual);
    let zero_factor = Spread::Expanded {
        expanded: 0.001,
        factor: 0.0,
    };
    refuse(line(Source::Zero, zero_factor, 1.0), usual);
    let good = || line(Source::Zero, even(0.001), 1.0);
    for found in [0.0, 1.0, f64::NAN] {
        refuse(good(), Coverage::Probability(found));
        let factor = if found > 0.5 { -1.0 } else { found };
        refuse(good(), Coverage::Factor(factor));
    }
    let nothing = Budget::new(&[], usual).expect("an empty budget");
    assert_eq!(nothing.uncertainty.expanded(), Length::ZERO);
    assert!(Uncertainty::stated(mm(-0.001), usual).is_err());
}

/// Two significant digits; rounded up where the display has no room for them (JCGM 100, 7.2.6, from memory).
#[test]
fn an_uncertainty_is_shown_by_two_digits_and_never_as_nothing() {
    use Unit::{Inch, Millimetre};
    for (expanded, unit, most, shown) in [
        (0.0054, Millimetre, 4, "0.0054 mm"),
        (0.012_34, Millimetre, 4, "0.012 mm"),
        (0.0054, Inch, 6, "0.00021 in"),
        (0.0996, Millimetre, 4, "0.10 mm"),
        (0.009_949, Millimetre, 4, "0.0099 mm"),
        (34.2, Millimetre, 4, "34 mm"),
        (0.000_834, Millimetre, 4, "0.0009 mm"),
        (0.0009, Millimetre, 4, "0.0009 mm"),
        (0.0004, Millimetre, 3, "0.001 mm"),
        (0.0004, Millimetre, 0, "1 mm"),
        (1e-12, Millimetre, 12, "0.00000001 mm"),
        (0.0, Millimetre, 3, "0.000 mm"),
    ] {
        let found = Shown::of(mm(expanded), unit, most).to_string();
        assert_eq!(found, shown, "{expanded} mm to {most} places");
    }
    let stated = Uncertainty::stated(mm(0.000_12), Coverage::Factor(2.0)).expect("an uncertainty");
    let sentence = stated.sentence(Millimetre);
    assert!(sentence.contains(": 0.00024 mm expanded"), "{sentence}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The parts make up the whole, on every thread.
    #[test]
    fn parts_make_up_the_whole(case in cases()) {
        let found = at(&case.geometry, &equal_wires(mm(case.wire)), mm(case.pitch_diameter));
        let wires: f64 = found.wires.iter().sum();
        prop_assert!((wires / found.wires_together - 1.0).abs() < 1e-6);
        let flanks = found.leading_flank + found.trailing_flank;
        let size = found.leading_flank.abs() + found.trailing_flank.abs() + 1e-3 * case.wire;
        prop_assert!((flanks - found.both_flanks).abs() < 1e-6 * size);
        prop_assert!(found.reading > 0.0 && found.wires_together < -1.0 && found.pitch.is_finite());
    }

    /// At the best wire an equal error of both flank angles does nothing, whatever the lead.
    #[test]
    fn the_best_wire_does_not_feel_the_flank_angle(case in cases()) {
        let flank = case.geometry.flanks;
        // A flank that stands square to the axis cannot turn both ways.
        prop_assume!(flank.leading.degrees() > 1.0 && flank.trailing.degrees() > 1.0);
        let diameter = mm(case.pitch_diameter);
        let Some(best) = wire_range(&case.geometry, diameter, diameter).best else { return Ok(()) };
        let found = at(&case.geometry, &equal_wires(best), diameter);
        let one_flank = found.leading_flank.abs().max(found.trailing_flank.abs());
        prop_assert!(found.both_flanks.abs() < 1e-6 * (one_flank + case.geometry.pitch.mm()));
    }

    /// Leading and trailing flank may be exchanged.
    #[test]
    fn flanks_may_be_exchanged(case in cases()) {
        let flanks = case.geometry.flanks;
        let exchanged = Geometry {
            flanks: Flanks { leading: flanks.trailing, trailing: flanks.leading },
            ..case.geometry
        };
        let wires = equal_wires(mm(case.wire));
        let one = at(&case.geometry, &wires, mm(case.pitch_diameter));
        let other = at(&exchanged, &wires, mm(case.pitch_diameter));
        let scale = one.leading_flank.abs() + case.pitch_diameter;
        prop_assert!((one.leading_flank - other.trailing_flank).abs() < 1e-6 * scale);
        prop_assert!((one.wires_together - other.wires_together).abs() < 1e-6);
    }

    /// Order does not matter, and nothing makes an uncertainty smaller.
    #[test]
    fn contributions_only_add(widths in prop::collection::vec(0.0..0.01, 1..8), more in 0.0..0.01) {
        let mut lines: Vec<Contribution> = widths
            .iter()
            .map(|&width| line(Source::Zero, even(width), 1.0))
            .collect();
        let combined = |lines: &[Contribution]| {
            let budget = Budget::new(lines, Coverage::Factor(2.0)).expect("a budget");
            budget.uncertainty.standard.mm()
        };
        let before = combined(&lines);
        lines.reverse();
        prop_assert!((combined(&lines) - before).abs() <= 1e-15);
        lines.push(line(Source::Form, even(more), -1.0));
        prop_assert!(combined(&lines) >= before - 1e-15);
    }
}
