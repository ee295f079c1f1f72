//! Many conversions at once say what single ones say.

use overwire_core::helix::{HelixError, Laid, Seated};
use overwire_core::thread::{Flanks, Geometry, Hand};
use overwire_core::units::{Length, Pitch};
use overwire_core::wires::Wires;
use proptest::prelude::*;

use crate::{equal_wires, mm, wire};

fn geometry(pitch: f64, starts: u32, flanks: (f64, f64)) -> Geometry {
    let pitch = Pitch::from_length(mm(pitch)).expect("a pitch");
    let flanks = Flanks::from_degrees(flanks.0, flanks.1).expect("flanks");
    Geometry::checked(pitch, starts, Hand::Right, flanks, None, None).expect("a geometry")
}

fn same(one: Result<Seated, HelixError>, other: Result<Seated, HelixError>) -> bool {
    match (one, other) {
        (Ok(one), Ok(other)) => {
            // The last digit of the largest length: the number of steps may differ.
            let last_digit = 2e-15 * one.over_wires.mm().max(one.pitch_diameter.mm());
            let near = |one: f64, other: f64| (one - other).abs() <= last_digit;
            near(one.over_wires.mm(), other.over_wires.mm())
                && near(one.pitch_diameter.mm(), other.pitch_diameter.mm())
                && near(one.contact_radius[0], other.contact_radius[0])
                && near(one.contact_radius[1], other.contact_radius[1])
                && near(one.axis_radius, other.axis_radius)
        }
        (one, other) => one == other,
    }
}

fn check(laid: &Laid, lengths: &[Length]) {
    let mut diameters = lengths.iter();
    laid.pitch_diameters(lengths, |many| {
        let single = laid.pitch_diameter(*diameters.next().expect("one for each"));
        assert!(same(many, single), "{many:?} {single:?}");
    });
    assert!(diameters.next().is_none(), "one for each");
    let mut readings = lengths.iter();
    laid.readings_over_wires(lengths, |many| {
        let single = laid.over_wires(*readings.next().expect("one for each"));
        assert!(same(many, single), "{many:?} {single:?}");
    });
    assert!(readings.next().is_none(), "one for each");
}

#[test]
fn ordinary_and_not_so_ordinary_ones() {
    let spread: Vec<Length> = (0..100).map(|at| mm(f64::from(at) * 0.4 - 1.0)).collect();
    let unequal = Wires::three(wire(mm(0.866)), wire(mm(0.8655)), wire(mm(0.8662)));
    for laid in [
        Laid::new(&geometry(1.5, 1, (30.0, 30.0)), &equal_wires(mm(0.866))),
        Laid::new(&geometry(1.5, 1, (30.0, 30.0)), &unequal),
        Laid::new(&geometry(7.0, 6, (15.0, 15.0)), &equal_wires(mm(3.6))),
        Laid::new(&geometry(3.0, 1, (7.0, 45.0)), &equal_wires(mm(1.62))),
    ] {
        check(&laid, &spread);
        check(&laid, &[]);
    }
}

proptest! {
    #[test]
    fn any_thread(
        pitch in 0.2_f64..20.0,
        starts in 1_u32..9,
        flank in 5.5_f64..45.0,
        wire_share in 0.3_f64..1.2,
        first in 0.5_f64..100.0,
        step in 0.0_f64..2.0,
        count in 0_u32..30,
    ) {
        let laid = Laid::new(
            &geometry(pitch, starts, (flank, flank)),
            &equal_wires(mm(pitch * wire_share)),
        );
        let lengths: Vec<Length> = (0..count).map(|at| mm(first + step * f64::from(at))).collect();
        check(&laid, &lengths);
    }
}
