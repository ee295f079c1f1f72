//! Acme, stub Acme, trapezoidal, buttress, Whitworth, pipe, BA and worm threads against print.
//!
//! For these no printed row is had, and they stand as written down from memory: centralizing Acme
//! limits beyond the allowances, tolerances of ISO 228-1 and of BS 93, limits of BS 84, tolerances
//! of trapezoidal threads with several starts, the dimensions of DIN 513, modified stub Acme forms.

use overwire_core::decimal::Decimal;
use overwire_core::helix;
use overwire_core::thread::acme::{self, Grade};
use overwire_core::thread::buttress::{self, Class};
use overwire_core::thread::designation::parse;
use overwire_core::thread::inch_size::InchSize;
use overwire_core::{Length, Thread};

use crate::{Row, check, equal_wires, geometry, mm, rows};

const INCH: f64 = 25.4;

fn thread(text: &str) -> Thread {
    parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// The number a row asks of a thread, in the thread's own unit.
fn asked(thread: &Thread, quantity: &str) -> f64 {
    let limits = || thread.limits.expect("limits");
    let (_, what) = quantity.split_once('_').expect("a system and a quantity");
    let length: Length = match what {
        "pd_max" | "bolt_pd_max" => limits().pitch_diameter_max,
        "pd_min" | "bolt_pd_min" => limits().pitch_diameter_min,
        "minor_max" | "minor_basic" => thread.geometry.root_diameter.expect("a root"),
        "pd_basic" | "effective_basic" => thread.basic_pitch_diameter,
        "major" => thread.nominal_diameter,
        other => panic!("nothing computes `{other}`"),
    };
    length.in_unit(thread.unit)
}

fn size_and_pitch(row: &Row) -> String {
    format!("{:.5}-{}", row.number("D"), row.number("tpi"))
}

/// Root diameters are computed unrounded; tables print four places, ties going to the even one.
fn to_four_places(number: f64) -> f64 {
    ((number * 1e10).round() / 1e6).round_ties_even() / 1e4
}

fn grade(row: &Row) -> Grade {
    match (row.text("class"), row.inputs["k"].as_f64()) {
        ("2G", _) | ("", Some(0.008)) => Grade::Two,
        ("3G", _) | ("", Some(0.006)) => Grade::Three,
        _ => Grade::Four,
    }
}

/// The smallest minor diameter, which shows the tolerance of the pitch diameter.
fn smallest_minor_diameter(row: &Row, thread: &Thread) -> f64 {
    let diameter = Decimal::parse(&format!("{}", row.number("D"))).expect("a size");
    let size = InchSize::from_decimal(diameter);
    let tolerance = acme::tolerance(size, row.number("tpi"), grade(row));
    let largest = to_four_places(asked(thread, "acme_minor_max"));
    to_four_places(largest - 1.5 * tolerance)
}

fn acme_number(row: &Row) -> f64 {
    let size = size_and_pitch(row);
    match row.quantity.as_str() {
        "acme_pd_allowance" => {
            let middle = format!("{}", row.number("D_mid"));
            let size = InchSize::from_decimal(Decimal::parse(&middle).expect("a size"));
            acme::zone(size, 4.0, grade(row)).allowance as f64 / 1e4
        }
        quantity if quantity.starts_with("stub") => {
            to_four_places(asked(&thread(&format!("{size} STUB ACME-2G")), quantity))
        }
        quantity => {
            let thread = thread(&format!("{size} ACME-{}", row.text("class")));
            if quantity == "acme_minor_min" {
                return smallest_minor_diameter(row, &thread);
            }
            to_four_places(asked(&thread, quantity))
        }
    }
}

#[test]
fn acme_and_stub_acme() {
    let mut table = rows(include_str!("acme_limits.csv"));
    // Allowances have no pitch of their own.
    for row in &mut table {
        if row.quantity == "acme_pd_allowance" {
            row.inputs["D"] = row.inputs["D_mid"].clone();
            row.inputs["tpi"] = 4.into();
        }
    }
    check(&table, 118, acme_number, |row| row.differs_by);
}

#[test]
fn centralizing_acme_has_the_pitch_diameters_of_general_purpose() {
    for (general, centralizing) in [("2G", "2C"), ("3G", "3C"), ("4G", "4C")] {
        for size in ["1/2-10", "1-5", "3-2"] {
            let one = thread(&format!("{size} ACME-{general}"));
            let other = thread(&format!("{size} ACME-{centralizing}"));
            assert_eq!(one.limits, other.limits, "{size}");
        }
    }
}

fn trapezoidal_number(row: &Row) -> f64 {
    let (diameter, pitch) = (row.number("d"), row.number("P"));
    let text = format!("Tr{diameter}x{pitch}-{}", row.text("class"));
    asked(&thread(&text), &row.quantity)
}

#[test]
fn trapezoidal() {
    let table = rows(include_str!("trapezoidal_limits.csv"));
    check(&table, 66, trapezoidal_number, |row| row.differs_by);
}

fn buttress_number(row: &Row) -> f64 {
    let tolerance = |diameter, count| {
        buttress::tolerance(diameter, count, Class::Two).expect("a tolerance") as f64 / 1e4
    };
    match row.quantity.as_str() {
        "buttress_td2_class_2" => tolerance(row.number("D"), row.number("tpi")),
        // What is left of the tolerance without the part of the size, 0.002 in for 1 in cubed.
        "buttress_pitch_increment" => tolerance(0.6, row.number("tpi")) - 0.002 * 0.6_f64.cbrt(),
        "buttress_td2_reduced_coeff" => tolerance(20.0, 1.0) - 0.002 * 20_f64.cbrt(),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn buttress_tolerances() {
    let table = rows(include_str!("buttress_limits.csv"));
    check(&table, 23, buttress_number, |row| row.differs_by);
}

fn british_number(row: &Row) -> f64 {
    let class = row.inputs["class"].as_str().unwrap_or("close");
    let text = match row.quantity.as_str() {
        "ba_effective_basic" => {
            let number = row.text("size").trim_end_matches("BA");
            format!("{number} BA close")
        }
        quantity if quantity.starts_with("bsw") => {
            format!("{} BSW {class}", size_and_pitch(row))
        }
        _ => format!("G {} A", row.text("size")),
    };
    asked(&thread(&text), &row.quantity)
}

#[test]
fn british_association_whitworth_and_pipe() {
    let table = rows(include_str!("british_limits.csv"));
    check(&table, 63, british_number, |row| row.differs_by);
}

fn reading_over_straight_flanks(row: &Row) -> f64 {
    let half = row.number("included_deg") / 2.0;
    let starts = row.number("starts") as u32;
    let thread = geometry(row.number("P") * INCH, starts, (half, half));
    let wires = equal_wires(row.number("wire") * INCH);
    let seated = helix::over_wires(&thread, &wires, mm(row.number("E") * INCH));
    seated.expect("a seat").over_wires.inches()
}

#[test]
fn worms_of_another_flank_form() {
    let table = rows(include_str!("worm.csv"));
    check(&table, 3, reading_over_straight_flanks, |row| {
        row.differs_by
    });
}
