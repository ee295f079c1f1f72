//! What warmth does to a diameter, as every shop reckons it.

use overwire_core::compression::{Expansion, Material};
use overwire_core::correction::{Inputs, Temperature, Temperatures, Warmth, correct};

use crate::{Row, check, equal_wires, mm, rows, symmetric};

fn expansion(material: Material) -> Expansion {
    material.elasticity().expansion()
}

fn temperature(celsius: f64) -> Temperature {
    Temperature::from_celsius(celsius).expect("a temperature")
}

/// The rows are for a plain cylinder: a pitch of next to nothing over wires of next to nothing.
fn error(row: &Row) -> f64 {
    let thread = symmetric(1e-6, 60.0);
    let steel = expansion(Material::HardenedSteel);
    let temperatures = match row.has("dT_from_20_K") {
        true => Temperatures::all_at(
            temperature(20.0 + row.number("dT_from_20_K")),
            expansion(Material::Aluminium),
            steel,
        ),
        false => Temperatures {
            part: Some(Warmth {
                temperature: temperature(28.0),
                expansion: steel,
            }),
            ..Temperatures::default()
        },
    };
    let inputs = Inputs {
        temperatures,
        ..Inputs::default()
    };
    let part = temperatures.part.expect("a part").growth();
    let gauge = temperatures
        .micrometer
        .map_or(0.0, |warmth| warmth.growth());
    // What such a micrometer shows on such a cylinder of 25 mm at 20 °C.
    let shown = row.number("E_mm") * (1.0 + part) / (1.0 + gauge);
    let corrected = correct(&thread, &equal_wires(6e-7), mm(shown), &inputs).expect("a correction");
    -corrected.total().mm() * 1e3
}

#[test]
fn warmth() {
    let table = rows(include_str!("thermal.csv"));
    check(&table, 2, error, |row| row.differs_by);
}
