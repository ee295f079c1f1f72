//! Handbook constants and readings without the lead.

use overwire_core::plane::{
    pitch_coefficient, plane_over_wires, plane_pitch_diameter, wire_coefficient,
};
use overwire_core::thread::Flanks;

use crate::{Row, check, equal_wires, geometry, mm, rows, symmetric};

const INCH: f64 = 25.4;

fn flanks(row: &Row) -> Flanks {
    let (one, other) = match row.has("a1") {
        true => (row.number("a1"), row.number("a2")),
        false => (
            row.number("included_deg") / 2.0,
            row.number("included_deg") / 2.0,
        ),
    };
    Flanks::from_degrees(one, other).expect("flanks")
}

/// The reading over a thread of basic size, in inches. `addendum` is what the handbook takes off
/// the major diameter for the pitch diameter, in pitches.
fn reading_at_basic_size(row: &Row) -> f64 {
    let (diameter, pitch) = (row.number("D"), 1.0 / row.number("tpi"));
    let best = pitch / 3.0_f64.sqrt();
    let wire = row.inputs["wire"].as_f64().unwrap_or(best);
    let thread = symmetric(pitch * INCH, 60.0);
    let pitch_diameter = mm((diameter - 0.649_519 * pitch) * INCH);
    plane_over_wires(&thread, &equal_wires(wire * INCH), pitch_diameter).inches()
}

/// What one degree of half angle does to the pitch diameter, in inches.
fn change_for_one_degree(row: &Row) -> f64 {
    let wires = equal_wires(row.number("w") * INCH);
    let step = 1e-4;
    let at = |half: f64| {
        let thread = symmetric(row.number("P") * INCH, 2.0 * half);
        plane_pitch_diameter(&thread, &wires, mm(30.0)).inches()
    };
    let half = row.number("included_deg") / 2.0;
    (at(half + step) - at(half - step)) / (2.0 * step)
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "wire_coefficient" | "buttress_7_45_wire_coefficient" => wire_coefficient(&flanks(row)),
        "pitch_coefficient" | "buttress_7_45_pitch_coefficient" => pitch_coefficient(&flanks(row)),
        "pitch_term_60" => pitch_coefficient(&symmetric(1.0, 60.0).flanks) / row.number("tpi"),
        "pitch_term_55" => pitch_coefficient(&symmetric(1.0, 55.0).flanks) / row.number("tpi"),
        "mow_us_standard" | "mow" => reading_at_basic_size(row),
        "lead_angle" => geometry(INCH / row.number("tpi"), 1, (30.0, 30.0))
            .lead_angle_at(mm(row.number("E") * INCH))
            .degrees(),
        "dE_per_deg_mean_half_angle" => change_for_one_degree(row),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn handbook_constants_and_readings() {
    let table = rows(include_str!("plane_over_wires.csv"));
    check(&table, 50, computed, |row| row.differs_by);
}
