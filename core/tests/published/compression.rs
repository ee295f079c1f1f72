//! Compression under the measuring force, and the recommended force.

use overwire_core::compression::{
    Compression, Force, Material, Pressing, compression, recommended_force,
};
use overwire_core::seat::wire_range;
use overwire_core::units::Pitch;

use crate::{Row, check, equal_wires, geometry, mm, rows};

fn steel(newtons: f64) -> Pressing {
    let force = Force::from_newtons(newtons).expect("a force");
    Pressing::on(Material::HardenedSteel, force)
}

/// On the wire named, or on the best wire of the plane formula.
fn found(row: &Row) -> Compression {
    let half = row.inputs["included_deg"].as_f64().map(|angle| angle / 2.0);
    let (one, other) = match half {
        Some(half) => (half, half),
        None => (row.number("a1"), row.number("a2")),
    };
    let thread = geometry(row.number("P_mm"), 1, (one, other));
    let diameter = mm(row.number("E_mm"));
    let wire = match row.has("w_mm") {
        true => row.number("w_mm"),
        false => wire_range(&thread, diameter, diameter).best_plane.mm(),
    };
    let pressing = steel(row.number("F_N"));
    compression(&thread, &equal_wires(wire), diameter, &pressing).expect("a compression")
}

/// The recommended force at a pitch inside the row's range, in ounces.
fn force(row: &Row) -> f64 {
    let threads_per_inch = match row.text("tpi_range") {
        "<=20" => 20.0,
        ">20..40" => 40.0,
        ">40..80" => 41.0,
        ">80..140" => 81.0,
        ">140" => 141.0,
        _ => row.number("tpi"),
    };
    let pitch = Pitch::from_threads_per_inch(threads_per_inch).expect("a pitch");
    let recommended = recommended_force(pitch);
    assert_eq!(recommended.from_memory, !row.printed, "{}", row.label());
    assert!(recommended.covers(recommended.force));
    // The tolerance column is the standard's own ten per cent.
    assert!((recommended.within * recommended.force.in_ounces() - row.tolerance).abs() < 1e-9);
    let off = (recommended.force.in_ounces() - row.expected).abs();
    assert!(off < 1e-9, "{}: exactly the printed force", row.label());
    recommended.force.in_ounces()
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "elastic_shortening_of_M" | "best_wire_compression" => found(row).total().mm() * 1e3,
        "beyond_elastic" => f64::from(u8::from(found(row).is_beyond_elastic())),
        "wire_force" => force(row),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn compression_and_force() {
    let table = rows(include_str!("compression.csv"));
    check(&table, 24, computed, |row| row.differs_by);
}

/// At a quarter of the force about 0.39 of the compression is left, and an anvil yields by 0.08
/// micrometres under 10 N. Source: an independent calculation, no printed value.
#[test]
fn compression_goes_with_the_force() {
    let thread = geometry(1.25, 1, (30.0, 30.0));
    let at = |newtons| {
        let wires = equal_wires(0.7217);
        compression(&thread, &wires, mm(7.188), &steel(newtons)).expect("a compression")
    };
    let (full, quarter) = (at(10.0), at(2.5));
    let share = quarter.total().mm() / full.total().mm();
    assert!((share - 0.39).abs() < 0.005, "{share}");
    assert!((full.single.anvil.mm() - 8e-5).abs() < 5e-6);
    let flanks = full.single.flanks + full.pair.flanks;
    assert!(flanks.mm() / full.total().mm() > 0.95);
}
