//! The exact seat against a second formulation.
//!
//! The reference solves, at 40 digits, for a ball whose distance from each flank surface is
//! stationary and equal to its radius: six equations in the two contacts (radius and angle each),
//! the ball's height and its axial place. Some rows were found a third way: the lowest height of
//! a straight cylinder that is free to tilt, with the tilt found by search; it agreed to 1e-35.

use overwire_core::helix;

use crate::{equal_wires, geometry, mm};

const TABLE: &str = include_str!("helix_reference.csv");

struct Reference {
    geometry: overwire_core::Geometry,
    wires: overwire_core::Wires,
    pitch_diameter: f64,
    over_wires: f64,
}

fn references() -> Vec<Reference> {
    let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
    let rows = reader.records().map(|record| {
        let record = record.expect("a readable row");
        let number = |index: usize| record[index].parse::<f64>().expect("a number");
        assert!(record[7].contains("computed"), "no source: {record:?}");
        Reference {
            geometry: geometry(number(0), number(1) as u32, (number(2), number(3))),
            wires: equal_wires(number(4)),
            pitch_diameter: number(5),
            over_wires: number(6),
        }
    });
    rows.collect()
}

/// Two parts in 10^15. Measured: 3 in 10^16 either way, which is the last digit a number has.
const RELATIVE: f64 = 2e-15;

#[test]
fn readings_agree_with_the_second_formulation() {
    let references = references();
    assert!(references.len() >= 60);
    for (line, case) in references.iter().enumerate() {
        let seated = helix::over_wires(&case.geometry, &case.wires, mm(case.pitch_diameter));
        let found = seated.expect("a seat").over_wires.mm();
        let off = (found - case.over_wires).abs() / case.over_wires;
        assert!(off < RELATIVE, "line {}: {off:e}", line + 2);
    }
}

#[test]
fn pitch_diameters_agree_with_the_second_formulation() {
    for (line, case) in references().iter().enumerate() {
        let seated = helix::pitch_diameter(&case.geometry, &case.wires, mm(case.over_wires));
        let found = seated.expect("a seat").pitch_diameter.mm();
        let off = (found - case.pitch_diameter).abs() / case.pitch_diameter;
        assert!(off < RELATIVE, "line {}: {off:e}", line + 2);
    }
}

/// Two threads of one geometry over different wires: what three unequal wires read is put together
/// from what each reads alone.
#[test]
fn unequal_wires_read_half_the_lone_one_and_a_quarter_of_each_of_the_pair() {
    let references = references();
    let alike = |one: &Reference, other: &Reference| {
        one.geometry == other.geometry && one.pitch_diameter == other.pitch_diameter
    };
    let mut checked = 0;
    for three in references.windows(3) {
        let [single, first, second] = three else {
            unreachable!()
        };
        if !(alike(single, first) && alike(first, second)) {
            continue;
        }
        checked += 1;
        let [a, b, c] = [single, first, second].map(|case| case.wires.single);
        let wires = overwire_core::Wires::three(a, b, c);
        let expected = single.over_wires / 2.0 + (first.over_wires + second.over_wires) / 4.0;
        let diameter = mm(single.pitch_diameter);
        let seated = helix::over_wires(&single.geometry, &wires, diameter).expect("a seat");
        assert!((seated.over_wires.mm() - expected).abs() < RELATIVE * expected);
        let back = helix::pitch_diameter(&single.geometry, &wires, mm(expected)).expect("a seat");
        assert!((back.pitch_diameter - diameter).mm().abs() < RELATIVE * diameter.mm());
    }
    assert!(checked >= 10, "only {checked}");
}
