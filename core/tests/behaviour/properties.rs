//! What must hold for every thread a wire can sit on.

use std::f64::consts::PI;

use overwire_core::helix::{self, HelixError};
use overwire_core::seat::wire_range;
use overwire_core::thread::{Flanks, Geometry, Hand};
use overwire_core::units::Pitch;
use overwire_core::wires::Wires;
use proptest::prelude::*;

use crate::{equal_wires, mm, wire};

#[derive(Debug, Clone, Copy)]
pub struct Case {
    pub geometry: Geometry,
    pub pitch_diameter: f64,
    pub wire: f64,
}

fn equal_flanks() -> impl Strategy<Value = (f64, f64)> {
    let usual = prop::sample::select(vec![30.0, 27.5, 23.75, 15.0, 14.5]);
    prop_oneof![usual, 5.0..40.0].prop_map(|half| (half, half))
}

fn any_flanks() -> impl Strategy<Value = (f64, f64)> {
    prop_oneof![
        2 => equal_flanks(),
        1 => (0.0..30.0, 25.0..50.0),
        1 => (25.0..50.0, 0.0..30.0),
    ]
}

/// Threads with lead angles up to 30 degrees and wires from somewhat thin to somewhat thick.
pub fn cases() -> impl Strategy<Value = Case> {
    cases_with(any_flanks())
}

fn cases_with(flanks: impl Strategy<Value = (f64, f64)>) -> impl Strategy<Value = Case> {
    (
        0.2..12.0,
        1_u32..=8,
        flanks,
        0.5..30.0,
        0.93..1.35,
        any::<bool>(),
    )
        .prop_map(
            |(pitch, starts, (leading, trailing), lead_deg, size, left): (
                f64,
                u32,
                _,
                f64,
                f64,
                bool,
            )| {
                let lead = pitch * f64::from(starts);
                let by_lead = lead / (PI * lead_deg.to_radians().tan());
                let geometry = Geometry::checked(
                    Pitch::from_length(mm(pitch)).expect("a pitch"),
                    starts,
                    if left { Hand::Left } else { Hand::Right },
                    Flanks::from_degrees(leading, trailing).expect("flanks"),
                    None,
                    None,
                )
                .expect("a geometry");
                // Deep enough for the groove's bottom to stay clear of the axis.
                let depth = pitch / (leading.to_radians().tan() + trailing.to_radians().tan());
                let pitch_diameter = by_lead.max(1.5 * depth + 2.0 * pitch);
                let best = wire_range(&geometry, mm(pitch_diameter), mm(pitch_diameter)).best_plane;
                Case {
                    geometry,
                    pitch_diameter,
                    wire: best.mm() * size,
                }
            },
        )
}

fn reading(case: &Case) -> Result<f64, HelixError> {
    let wires = equal_wires(mm(case.wire));
    helix::over_wires(&case.geometry, &wires, mm(case.pitch_diameter))
        .map(|seated| seated.over_wires.mm())
}

fn relative(one: f64, other: f64) -> f64 {
    ((one - other) / other).abs()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn there_and_back(case in cases()) {
        let wires = equal_wires(mm(case.wire));
        let there = helix::over_wires(&case.geometry, &wires, mm(case.pitch_diameter))?;
        let back = helix::pitch_diameter(&case.geometry, &wires, there.over_wires)?;
        prop_assert!(relative(back.pitch_diameter.mm(), case.pitch_diameter) < 4e-15);
        prop_assert!(relative(back.axis_radius, there.axis_radius) < 4e-15);
        for flank in 0..2 {
            let (one, other) = (back.contact_radius[flank], there.contact_radius[flank]);
            prop_assert!(relative(one, other) < 1e-14);
        }
        let parts = back.plane_pitch_diameter - back.lead_angle_correction;
        prop_assert!(relative(parts.mm(), back.pitch_diameter.mm()) < 1e-15);
        let tilt = case.geometry.lead_angle_at(mm(2.0 * there.axis_radius));
        prop_assert!((there.tilt.radians() - tilt.radians()).abs() < 1e-15);
    }

    #[test]
    fn there_and_back_over_unequal_wires(case in cases(), off in prop::array::uniform3(-0.005..0.005)) {
        let [single, first, second] = off.map(|off: f64| wire(mm(case.wire * (1.0 + off))));
        let wires = Wires::three(single, first, second);
        let there = helix::over_wires(&case.geometry, &wires, mm(case.pitch_diameter))?;
        let back = helix::pitch_diameter(&case.geometry, &wires, there.over_wires)?;
        prop_assert!(relative(back.pitch_diameter.mm(), case.pitch_diameter) < 4e-15);
    }

    #[test]
    fn a_larger_thread_or_wire_reads_more(case in cases(), more in 1e-6..1e-2) {
        let larger_thread = Case { pitch_diameter: case.pitch_diameter * (1.0 + more), ..case };
        let larger_wire = Case { wire: case.wire * (1.0 + more), ..case };
        let reads = reading(&case)?;
        prop_assert!(reading(&larger_thread)? > reads);
        prop_assert!(reading(&larger_wire)? > reads);
    }

    #[test]
    fn hand_and_exchanged_flanks_read_the_same(case in cases()) {
        let reads = reading(&case)?;
        let flanks = case.geometry.flanks;
        let exchanged = Flanks { leading: flanks.trailing, trailing: flanks.leading };
        let hand = match case.geometry.hand { Hand::Left => Hand::Right, Hand::Right => Hand::Left };
        let other_hand = Case { geometry: Geometry { hand, ..case.geometry }, ..case };
        let mirrored = Case { geometry: Geometry { flanks: exchanged, ..case.geometry }, ..case };
        prop_assert_eq!(reading(&other_hand)?, reads);
        prop_assert!(relative(reading(&mirrored)?, reads) < 3e-15);
    }

    #[test]
    fn everything_scales(case in cases(), factor in 0.1..2.5) {
        let pitch = Pitch::from_length(case.geometry.pitch.length() * factor)?;
        let scaled = Case {
            geometry: Geometry { pitch, ..case.geometry },
            pitch_diameter: case.pitch_diameter * factor,
            wire: case.wire * factor,
        };
        prop_assert!(relative(reading(&scaled)?, reading(&case)? * factor) < 5e-15);
    }

    /// Flattening the helix leaves the plane formula. One start on a huge diameter has next to no
    /// lead: what is left of it goes with its square.
    #[test]
    fn without_lead_the_plane_formula_holds(case in cases()) {
        let geometry = Geometry { starts: 1, ..case.geometry };
        let wires = equal_wires(mm(case.wire));
        let diameter = mm(700.0 * geometry.pitch.mm());
        let seated = helix::over_wires(&geometry, &wires, diameter)?;
        let lead = geometry.lead_angle_at(diameter).tan();
        let allowed = 20.0 * case.wire * lead * lead / geometry.flanks.included().sin();
        prop_assert!(seated.lead_angle_correction.mm().abs() < allowed + 1e-11);
    }

    #[test]
    fn the_wire_that_is_best_touches_on_the_pitch_cylinder(case in cases_with(equal_flanks())) {
        let diameter = mm(case.pitch_diameter);
        let best = wire_range(&case.geometry, diameter, diameter).best.expect("a best size");
        let seated = helix::over_wires(&case.geometry, &equal_wires(best), diameter)?;
        prop_assert!(relative(2.0 * seated.contact_radius[0], case.pitch_diameter) < 1e-13);
    }

    /// Anything at all, sensible or not: a finite answer or an error.
    #[test]
    fn nonsense_gives_an_error_not_a_number(
        pitch in 1e-6..5_000.0,
        starts in 1_u32..=64,
        flanks in (0.0..75.0, 10.0..75.0),
        lengths in prop::array::uniform4(1e-9..9_999.0),
        negative in any::<bool>(),
    ) {
        let geometry = Geometry::checked(
            Pitch::from_length(mm(pitch))?, starts, Hand::Right,
            Flanks::from_degrees(flanks.0, flanks.1).expect("flanks"), None, None,
        ).expect("a geometry");
        let [single, first, second, length] = lengths.map(mm);
        let length = if negative { -length } else { length };
        for wires in [equal_wires(single), Wires::three(wire(single), wire(first), wire(second))] {
            for seated in [
                helix::over_wires(&geometry, &wires, length),
                helix::pitch_diameter(&geometry, &wires, length),
            ].into_iter().flatten() {
                prop_assert!(seated.pitch_diameter.mm() > 0.0);
                prop_assert!(seated.over_wires.mm().is_finite());
                prop_assert!(seated.contact_radius.iter().all(|&radius| radius > 0.0));
                prop_assert!(seated.contact_radius.iter().all(|&radius| radius <= seated.axis_radius));
            }
        }
    }
}

#[test]
fn a_reading_smaller_than_its_wires_is_refused() {
    let thread = crate::thread("M10x1.5-6g");
    let wires = equal_wires(mm(0.866));
    for reading in [0.0, 1.0, 1.732, -3.0] {
        let error =
            helix::pitch_diameter(&thread.geometry, &wires, mm(reading)).expect_err("no thread");
        assert!(
            ["nothing-between-wires", "no-seat"].contains(&error.code()),
            "{reading}: {error}"
        );
    }
}
