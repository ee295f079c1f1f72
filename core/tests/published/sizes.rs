//! Best, smallest and largest wires, as the trade prints them.

use overwire_core::seat::{WireRange, wire_range};
use overwire_core::units::Length;

use crate::{Row, check, geometry, mm, rows};

/// Sizes are printed for a thread without lead. On five metres of diameter the lead is nothing.
const DIAMETER: f64 = 5_000.0;

fn range(pitch_mm: f64, flanks: (f64, f64), crest_above_pitch_line: f64) -> WireRange {
    let mut thread = geometry(pitch_mm, 1, flanks);
    thread.major_diameter = Some(mm(DIAMETER + 2.0 * crest_above_pitch_line));
    wire_range(&thread, mm(DIAMETER), mm(DIAMETER))
}

/// How far the crest, or for a rounded crest the end of the straight flank, stands above the
/// pitch line, in pitches. The wire must clear the crest but touch the straight flank.
fn height(row: &Row, straight_flank: bool) -> f64 {
    match (row.number("included_deg") as u32, straight_flank) {
        (60, _) => 0.649_519_053 / 2.0,
        (29, _) => 0.25,
        (55, true) => 0.246_25,
        (55, false) => 0.640_327 / 2.0,
        (other, _) => panic!("no crest known for {other} degrees"),
    }
}

fn half(row: &Row) -> (f64, f64) {
    let half = row.number("included_deg") / 2.0;
    (half, half)
}

fn computed(row: &Row) -> f64 {
    let found = |size: Option<Length>| size.expect("a size").mm();
    match row.quantity.as_str() {
        "best_wire" if row.has("P_mm") => range(row.number("P_mm"), half(row), 1.0).best_plane.mm(),
        "best_wire" => {
            let pitch = 25.4 / row.number("tpi");
            range(pitch, half(row), 1.0).best_plane.inches()
        }
        "best_wire_over_pitch" => range(1.0, half(row), 1.0).best_plane.mm(),
        "buttress_7_45_best_wire_over_pitch" => range(1.0, (7.0, 45.0), 1.0).best_plane.mm(),
        "wire_min_over_pitch" => found(range(1.0, half(row), height(row, false)).min),
        "wire_max_over_pitch" => found(range(1.0, half(row), height(row, true)).crest_edge),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn wire_sizes() {
    let table = rows(include_str!("wire_sizes.csv"));
    check(&table, 35, computed, |row| row.differs_by);
}

/// With a lead of nothing, the search for the exact best size ends at the closed form.
#[test]
fn exact_best_size_without_lead_is_the_plane_one() {
    for flanks in [(30.0, 30.0), (14.5, 14.5), (7.0, 45.0), (3.0, 30.0)] {
        let range = range(1.0, flanks, 1.0);
        let exact = range.best.expect("a best size");
        assert!((exact - range.best_plane).abs().mm() < 1e-7, "{flanks:?}");
    }
}
