//! What errors of pitch and angle amount to, as printed.

use overwire_core::functional::{FlankErrors, FormErrors, equivalent};
use overwire_core::units::Angle;

use crate::{Row, check, geometry, mm, rows, symmetric};

/// On a thread of 10 mm pitch, for one unit of pitch.
const PITCH: f64 = 10.0;

fn for_pitch(row: &Row) -> f64 {
    let errors = FormErrors {
        pitch: Some(mm(-0.001)),
        flanks: None,
    };
    let thread = symmetric(PITCH, row.number("included_deg"));
    let found = equivalent(&thread, &errors).expect("an equivalent");
    found.total().mm() / 0.001
}

fn for_flanks(half: f64, depth_over_pitch: f64, errors: (Angle, Angle)) -> f64 {
    let errors = FormErrors {
        pitch: None,
        flanks: Some(FlankErrors {
            leading: errors.0,
            trailing: errors.1,
            depth: mm(depth_over_pitch * PITCH),
        }),
    };
    let thread = geometry(PITCH, 1, (half, half));
    equivalent(&thread, &errors)
        .expect("an equivalent")
        .total()
        .mm()
        / PITCH
}

fn degrees(number: f64) -> Angle {
    Angle::from_degrees(number).expect("an angle")
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "virtual_dia_per_pitch_error" => for_pitch(row),
        "virtual_dia_angle_coeff_per_deg" => {
            let half = match row.text("form") {
                "BA" => 23.75,
                _ => 27.5,
            };
            let depth = row.number("straight_flank_depth_over_P");
            // One degree shared out with opposite signs: signs do not matter.
            for_flanks(half, depth, (degrees(0.4), degrees(-0.6)))
        }
        "virtual_dia_angle_coeff" => {
            let small = Angle::from_radians(0.001).expect("an angle");
            for_flanks(30.0, 0.649_519, (small, small)) / small.tan()
        }
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn equivalents_of_errors() {
    let table = rows(include_str!("functional.csv"));
    check(&table, 7, computed, |row| row.differs_by);
}
