//! What held wires add to a reading, against sampled surfaces.

use overwire_core::holding::{Held, Lift, lift};
use overwire_core::seat::wire_range;
use overwire_core::units::Angle;

use crate::{Row, check, equal_wires, geometry, mm, rows};

fn found(row: &Row) -> Lift {
    let flanks = (row.number("a1"), row.number("a2"));
    let thread = geometry(row.number("P_mm"), row.number("starts") as u32, flanks);
    let diameter = mm(row.number("E_mm"));
    let best = wire_range(&thread, diameter, diameter).best_plane;
    let wire = row.inputs["w_mm"].as_f64().unwrap_or(best.mm());
    let angle = Angle::from_degrees(row.number("deg")).expect("an angle");
    let held = match row.text("how") {
        "off" => Held::Off(angle),
        "turned" => Held::Turned(angle),
        _ => Held::Square,
    };
    lift(&thread, &equal_wires(wire), diameter, held).expect("a lift")
}

#[test]
fn lifts() {
    let table = rows(include_str!("holding.csv"));
    check(
        &table,
        23,
        |row| found(row).lift.mm() * 1e3,
        |row| row.differs_by,
    );
}

/// The rule of thumb is within 17 % at one degree. Source: the same samplings.
#[test]
fn the_rule_holds_where_it_says() {
    let mut held = 0;
    for row in rows(include_str!("holding.csv")) {
        let found = found(&row);
        if !found.rule_holds() || row.number("starts") > 1.0 {
            continue;
        }
        held += 1;
        let rule = found.by_rule.expect("a rule");
        let off = (rule.mm() / found.lift.mm() - 1.0).abs();
        assert!(off < 0.17, "{}: {off}", row.label());
    }
    assert!(held >= 8, "only {held}");
}
