//! How much each quantity moves the pitch diameter.

use overwire_core::helix;
use overwire_core::seat::wire_range;
use overwire_core::thread::Geometry;
use overwire_core::uncertainty::{Budget, Contribution, Coverage, Sensitivities, Source, Spread};
use overwire_core::units::Length;
use overwire_core::wires::Wires;

use crate::{Row, check, equal_wires, mm, rows, symmetric};

/// On five metres of diameter the lead is nothing.
const NO_LEAD: f64 = 5_000.0;

fn at(thread: &Geometry, wires: &Wires, pitch_diameter: Length) -> Sensitivities {
    let seated = helix::over_wires(thread, wires, pitch_diameter).expect("a seat");
    Sensitivities::at(thread, wires, seated.over_wires).expect("sensitivities")
}

fn found(row: &Row) -> Sensitivities {
    let pitch = row.inputs["P_mm"].as_f64().unwrap_or(1.0);
    let thread = symmetric(pitch, row.number("included_deg"));
    let diameter = mm(row.inputs["E_mm"].as_f64().unwrap_or(NO_LEAD));
    let best = wire_range(&thread, diameter, diameter).best_plane;
    let share = row.inputs["share_of_best"].as_f64().unwrap_or(1.0);
    at(&thread, &equal_wires(best.mm() * share), diameter)
}

/// In inches for a degree; the lead of these rows is left out.
fn for_one_degree(row: &Row) -> f64 {
    let thread = symmetric(row.number("P") * 25.4, row.number("included_deg"));
    let found = at(&thread, &equal_wires(row.number("w") * 25.4), mm(NO_LEAD));
    found.both_flanks * 1_f64.to_radians() / 25.4
}

/// 1/2-13 over best wires in an ordinary shop: the combined uncertainty in micrometres.
fn shop_budget() -> f64 {
    let thread = symmetric(25.4 / 13.0, 60.0);
    let found = at(&thread, &equal_wires(1.128), mm(11.43));
    let line = |source, spread, sensitivity| Contribution {
        source,
        spread,
        sensitivity,
    };
    let known = |standard| Spread::Standard {
        standard,
        degrees_of_freedom: f64::INFINITY,
    };
    let even = |half_width| Spread::Rectangular { half_width };
    let repeated = Spread::Repeated {
        deviation: 2.0e-3,
        readings: 10,
        averaged: 3,
    };
    let lines = [
        line(Source::Micrometer, even(2.0e-3), found.reading),
        line(Source::Zero, even(0.5e-3), found.reading),
        line(Source::WiresTogether, known(0.4e-3), found.wires_together),
        line(Source::Repeatability, repeated, found.reading),
        line(Source::Force, known(0.7e-3), found.reading),
        line(Source::PartTemperature, known(0.25e-3), found.reading),
        line(Source::Pitch, even(3.0e-3), found.pitch),
        line(
            Source::BothFlanks,
            known(0.5_f64.to_radians()),
            found.both_flanks,
        ),
    ];
    let budget = Budget::new(&lines, Coverage::Factor(2.0)).expect("a budget");
    budget.uncertainty.standard.mm() * 1e3
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "wires_together" => found(row).wires_together,
        "reading" => found(row).reading,
        "pitch" => found(row).pitch,
        "both_flanks" => found(row).both_flanks,
        "dE_per_deg_mean_half_angle" => for_one_degree(row),
        "budget_example" => shop_budget(),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn sensitivities() {
    let table = rows(include_str!("sensitivities.csv"));
    check(&table, 34, computed, |row| row.differs_by);
}
