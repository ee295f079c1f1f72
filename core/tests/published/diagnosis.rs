//! What a fallen wire and a wrong wire do to a reading.

use overwire_core::diagnosis::fallen_wire_drop;
use overwire_core::judge::Judge;
use overwire_core::plane::{plane_over_wires, wire_coefficient};
use overwire_core::thread::designation;
use overwire_core::units::Length;

use crate::{Row, check, equal_wires, mm, rows, symmetric};

const INCH: f64 = 25.4;

fn drop_on_a_plane_thread(row: &Row) -> f64 {
    let inches = |name: &str| mm(row.number(name) * INCH);
    let geometry = symmetric(row.number("P") * INCH, 60.0);
    let wires = equal_wires(row.number("wire") * INCH);
    let over_wires = plane_over_wires(&geometry, &wires, inches("E"));
    fallen_wire_drop(over_wires, inches("D")).inches()
}

/// How far above the maximum a thread may be and still read as this limit with a wire gone.
fn hidden_above_maximum(row: &Row, limit: impl Fn((Length, Length)) -> Length) -> f64 {
    let thread = designation::parse(row.text("thread")).expect("a thread");
    let wires = equal_wires(row.number("wire") * INCH);
    let window = Judge::new(&thread, &wires)
        .expect("usable wires")
        .window()
        .expect("a window");
    let crest = mm(row.number("D") * INCH);
    let mut over_wires = limit(window);
    // Half of what stands above the crest is lost: look for the reading that falls to the limit.
    for _ in 0..60 {
        over_wires = limit(window) + fallen_wire_drop(over_wires, crest);
    }
    (over_wires - window.1).inches()
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "fallen_wire_drop_of_M" => drop_on_a_plane_thread(row),
        "hidden_above_maximum_from" => hidden_above_maximum(row, |window| window.0),
        "hidden_above_maximum_to" => hidden_above_maximum(row, |window| window.1),
        "wire_error_effect" => {
            let flanks = symmetric(1.0, row.number("included_deg")).flanks;
            -wire_coefficient(&flanks) * row.number("dw")
        }
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn fallen_and_wrong_wires() {
    let table = rows(include_str!("diagnosis.csv"));
    check(&table, 5, computed, |row| row.differs_by);
}
