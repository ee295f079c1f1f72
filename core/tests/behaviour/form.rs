//! Taper and out-of-round. The readings are made up; what follows from them is plain arithmetic.

use overwire_core::form::{Caution, Form, Oval, Placed, Position, TaperFinding, range_by_chance};
use overwire_core::stats::Undefined;
use overwire_core::units::Unit;
use proptest::prelude::*;

use crate::mm;

fn placed(readings: &[(&str, f64)]) -> Vec<Placed> {
    readings
        .iter()
        .map(|(position, diameter)| Placed {
            position: Position::parse(position).expect("a position"),
            pitch_diameter: mm(*diameter),
        })
        .collect()
}

fn form(readings: &[(&str, f64)]) -> Form {
    Form::of(&placed(readings), 1).expect("form")
}

#[test]
fn taper_and_out_of_round_are_told_apart() {
    let form = form(&[
        ("head, 0 deg", 32.740),
        ("head, 90 deg", 32.734),
        ("middle, 0 deg", 32.725),
        ("middle, 90 deg", 32.715),
        ("tail, 0 deg", 32.710),
        ("tail, 90 deg", 32.704),
    ]);
    let taper = form.taper.as_ref().expect("a taper");
    assert!((taper.difference.mm() - 0.030).abs() < 1e-12);
    assert_eq!(
        (taper.larger_at.as_str(), taper.smaller_at.as_str()),
        ("head", "tail")
    );
    assert_eq!((taper.places, taper.rate), (3, None));
    let round = form.out_of_round.as_ref().expect("an oval");
    assert!((round.difference.mm() - 0.010).abs() < 1e-12);
    assert_eq!(round.place.as_deref(), Some("middle"));
    assert_eq!(form.cautions, [Caution::ThreeLobesUnseen]);
    assert_eq!(
        form.sentence(Unit::Millimetre, 3),
        "Taper of 0.030 mm, largest: head, smallest: tail. Out of round by 0.010 mm (middle): \
         largest at 0 degrees, smallest at 90."
    );
}

#[test]
fn distances_give_a_slope() {
    let form = form(&[
        ("at 10 mm", 20.000),
        ("at 60 mm", 20.010),
        ("at 110 mm", 20.020),
    ]);
    let rate = form.taper.expect("a taper").rate.expect("a slope");
    assert!((rate.diameter_for_distance - 0.0002).abs() < 1e-12);
    assert!((rate.over.mm() - 100.0).abs() < 1e-12);
    assert_eq!(rate.places, 3);
    assert!(form.cautions.contains(&Caution::OneAngleOnly));
}

/// Two places always differ; three on a line are a taper; three that jump about are none.
#[test]
fn a_taper_is_told_from_none() {
    let finding = |readings: &[(&str, f64)]| {
        let rate = form(readings)
            .taper
            .expect("a taper")
            .rate
            .expect("a slope");
        (rate.finding(mm(0.001)), rate)
    };
    let (two, rate) = finding(&[("at 0 mm", 20.0), ("at 10 mm", 20.005)]);
    assert_eq!(two, TaperFinding::TwoPlacesOnly);
    assert_eq!(rate.interval_sentence(Unit::Millimetre, 4), None);
    let line = [
        ("at 0 mm", 20.0),
        ("at 10 mm", 20.005),
        ("at 20 mm", 20.0101),
        ("at 30 mm", 20.015),
    ];
    let (tapered, rate) = finding(&line);
    assert_eq!(tapered, TaperFinding::Tapered);
    assert!(rate.chance.is_ok_and(|chance| chance < 0.001));
    let sentence = rate
        .interval_sentence(Unit::Millimetre, 4)
        .expect("a sentence");
    assert_eq!(
        sentence,
        "Over 30.0000 mm it is between 0.0147 mm and 0.0154 mm (95 %, 4 places)."
    );
    let jumps = [
        ("at 0 mm", 20.0),
        ("at 10 mm", 20.005),
        ("at 20 mm", 20.001),
    ];
    assert_eq!(finding(&jumps).0, TaperFinding::NotDistinguishable);
    // Straight beyond doubt, and less than the display can show.
    let little = line.map(|(place, diameter)| (place, 20.0 + (diameter - 20.0) / 100.0));
    assert_eq!(finding(&little).0, TaperFinding::NotDistinguishable);
}

/// Read twice at each place, a barrel is not taken for straight.
#[test]
fn a_barrel_bends_the_line() {
    let barrel = [
        ("at 0 mm", 20.000),
        ("at 0 mm", 20.001),
        ("at 10 mm", 20.010),
        ("at 10 mm", 20.011),
        ("at 20 mm", 20.001),
        ("at 20 mm", 20.000),
    ];
    let rate = form(&barrel).taper.expect("a taper").rate.expect("a slope");
    assert!(rate.bending.is_ok_and(|bending| bending.chance < 0.01));
    let round = [
        ("at 0 mm, 0 deg", 20.0),
        ("at 0 mm, 90 deg", 20.0),
        ("at 9 mm, 0 deg", 20.0),
    ];
    let rate = form(&round).taper.expect("a taper").rate.expect("a slope");
    assert!(matches!(
        rate.bending,
        Err(Undefined::TooMany { found: 2, .. })
    ));
}

/// An ellipse by its own formula, to first order, at any angles.
#[test]
fn an_oval_is_found_from_any_angles() {
    let at = |degrees: f64| {
        let turned = 2.0 * (degrees - 30.0).to_radians();
        (degrees, mm(20.0 + 0.004 * turned.cos()))
    };
    for angles in [vec![0.0, 50.0, 100.0], vec![3.0, 20.0, 77.0, 110.0, 260.0]] {
        let diameters: Vec<_> = angles.iter().map(|&angle| at(angle)).collect();
        let oval = Oval::through(&diameters).expect("an oval");
        assert!((oval.ovality.mm() - 0.008).abs() < 1e-9, "{oval:?}");
        assert!((oval.largest_at_deg - 30.0).abs() < 1e-5 && (oval.mean.mm() - 20.0).abs() < 1e-9);
        assert_eq!(oval.straying.is_ok(), angles.len() > 3);
    }
    let opposite = [at(10.0), at(190.0), at(60.0)];
    assert_eq!(Oval::through(&opposite), Err(Undefined::NoSpread));
    assert!(Oval::through(&opposite[..2]).is_err());
    let three = Oval::through(&[at(0.0), at(60.0), at(120.0)]).expect("an oval");
    assert_eq!(
        three.sentence(Unit::Millimetre, 4),
        "The oval through 3 angles is 0.0080 mm out of round, largest at 30 degrees."
    );
}

/// Four places read four times each with a repeatability of 2 µm: 2.059 µm (d2 of four, ASTM practice, from
/// memory).
#[test]
fn chance_alone_has_a_range() {
    let range = range_by_chance(4, mm(0.002), 4).expect("a range");
    assert!((range.mm() - 0.002_059).abs() < 1e-6);
    assert!(range_by_chance(1, mm(0.002), 4).is_err() && range_by_chance(4, mm(0.002), 0).is_err());
}

/// Every place with its own diameters; the extremes are those of all.
#[test]
fn stations_keep_their_extremes() {
    let form = form(&[
        ("head, 0 deg", 20.000),
        ("head, 0 deg", 20.002),
        ("head, 90 deg", 20.006),
        ("tail, 0 deg", 19.990),
    ]);
    assert_eq!(form.stations.len(), 2);
    assert!((form.stations[0].out_of_round().mm() - 0.005).abs() < 1e-9);
    assert_eq!((form.stations[0].angles, form.stations[1].angles), (2, 1));
    assert!((form.least.mm() - 19.990).abs() < 1e-9 && (form.greatest.mm() - 20.006).abs() < 1e-9);
}

/// Half a turn on, the anvils meet the same diameter from the other side.
#[test]
fn opposite_angles_are_one_angle() {
    let opposite = placed(&[("head, 10 deg", 20.0), ("head, 190 deg", 20.004)]);
    let error = Form::of(&opposite, 1).unwrap_err();
    assert_eq!(error.code(), "too-few-positions");
    assert_eq!(
        error.to_string(),
        "form needs readings at two positions at least, found 1"
    );
}

/// However a position is written, it is one: no out-of-round between 12.5 and 12.50 mm.
#[test]
fn one_spot_written_in_two_ways_is_averaged() {
    let form = form(&[
        ("12.5 mm, 0 deg", 20.000),
        ("at 12.50 mm, 0.0 deg", 20.004),
        ("40 mm, 0 deg", 20.010),
    ]);
    assert_eq!(form.out_of_round, None);
    let taper = form.taper.expect("a taper");
    assert!((taper.difference.mm() - 0.008).abs() < 1e-12);
}

/// An oval measured at different angles looks like taper.
#[test]
fn different_angles_at_different_places_are_cautioned() {
    let form = form(&[("head, 0 deg", 20.0), ("tail, 90 deg", 20.01)]);
    assert!(form.cautions.contains(&Caution::AnglesDiffer));
}

/// A three-lobed thread of constant diameter: nothing shows, and that is said every time.
#[test]
fn three_lobes_do_not_show() {
    let round = form(&[
        ("head, 0 deg", 20.0),
        ("head, 60 deg", 20.0),
        ("head, 120 deg", 20.0),
    ]);
    let found = round.out_of_round.expect("measured");
    assert!(found.difference.mm().abs() < 1e-12);
    assert_eq!(round.cautions[0], Caution::ThreeLobesUnseen);
    assert!(round.cautions[0].sentence().contains("three lobes"));
    assert!(round.cautions.contains(&Caution::OnePlaceOnly));
}

#[test]
fn starts_may_differ_on_a_multi_start() {
    let readings = placed(&[("head, 0 deg", 20.0), ("head, 90 deg", 20.02)]);
    let cautions = |starts| Form::of(&readings, starts).expect("form").cautions;
    assert!(cautions(2).contains(&Caution::StartsMayDiffer));
    assert!(!cautions(1).contains(&Caution::StartsMayDiffer));
}

#[test]
fn what_is_not_understood_is_pointed_at() {
    let refused = |text: &str| {
        let error = Position::parse(text).expect_err(text);
        (error.at, error.expected)
    };
    assert_eq!(refused(""), (0, "a place, a distance or an angle"));
    assert_eq!(refused("head,"), (5, "a place, a distance or an angle"));
    assert_eq!(
        refused("head, 360 deg"),
        (6, "an angle from 0 to below 360")
    );
    assert_eq!(refused("head, -5 deg"), (6, "an angle from 0 to below 360"));
    assert_eq!(refused("head, tail"), (6, "one place or distance only"));
    assert_eq!(refused("0 deg, 90 deg"), (7, "one angle only"));
    assert_eq!(
        refused("head, 12"),
        (6, "`deg`, `mm` or `in` after the number")
    );
    assert_eq!(refused("head, 1.2.3 deg"), (6, "a number"));
    assert_eq!(refused("he@d"), (2, "letters or digits"));
    assert_eq!(refused("99999 mm"), (0, "a distance of at most ten metres"));
    let long = "a".repeat(81);
    assert_eq!(refused(&long).0, 80);
    let words = Position::parse("head; 0 deg").unwrap_err().to_string();
    assert_eq!(
        words,
        "expected letters or digits, found `; 0 deg` at character 5"
    );
}

proptest! {
    /// What is understood prints as something that is understood in the same way.
    #[test]
    fn a_position_survives_printing(text in "[ a-zA-Z0-9.,°@-]{0,30}") {
        if let Ok(position) = Position::parse(&text) {
            prop_assert_eq!(Position::parse(&position.to_string()), Ok(position));
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        if let Ok(position) = Position::parse(&text) {
            prop_assert_eq!(Position::parse(&position.to_string()), Ok(position));
        }
    }

    #[test]
    fn written_positions_are_read(
        place in "(head|near shoulder|tail)",
        steps in 0_u32..3600,
        first in any::<bool>(),
    ) {
        let angle = format!("{}.{} degrees", steps / 10, steps % 10);
        let text = if first { format!("{angle}, {place}") } else { format!("{place}, {angle}") };
        let position = Position::parse(&text).expect("a position");
        prop_assert_eq!(position.place_text(), Some(place));
        prop_assert_eq!(position.angle_deg(), Some(f64::from(steps) / 10.0));
    }
}
