//! How the crate behaves towards its callers: designations, verdicts, numbers, and properties
//! that must hold for every thread.

mod budgets;
mod capability;
mod charts;
mod charts_over_time;
mod corrections;
mod cutting;
mod deciding;
mod designations;
mod diagnosis;
mod every_size;
mod form;
mod group_phases;
mod judging;
mod listed;
mod many;
mod numbers;
mod other_designations;
mod outlook;
mod phases;
mod piece_sums;
mod plating;
mod properties;
mod readings;
mod risks;
mod run_rules;
mod standard_limits;
mod steps;
mod strays;
mod study_cautions;
mod study_gauge;
mod study_level;
mod study_measurement;
mod study_methods;
mod study_plan;
mod study_visits;
mod wire_choice;
mod wire_fit;
mod zero_check;

use overwire_core::stats::distribution::normal_quantile;
use overwire_core::stats::series::Series;
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Flanks, Hand, designation};
use overwire_core::units::{Length, Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;
use overwire_core::{Judge, Thread};

pub fn mm(number: f64) -> Length {
    Length::from_mm(number).expect("a length")
}

pub fn series(readings: &[f64]) -> Series {
    Series::from_readings(readings.to_vec()).expect("finite readings")
}

/// To nine digits.
pub fn close(found: f64, expected: f64) {
    let off = (found - expected).abs();
    assert!(
        off <= 1e-9 * expected.abs().max(1e-6),
        "{found}, not {expected}"
    );
}

pub fn inches(number: f64) -> Length {
    Length::from_inches(number).expect("a length")
}

pub fn wire(diameter: Length) -> WireDiameter {
    WireDiameter::new(diameter).expect("a wire")
}

pub fn equal_wires(diameter: Length) -> Wires {
    Wires::equal(wire(diameter))
}

pub fn thread(designation: &str) -> Thread {
    designation::parse(designation).unwrap_or_else(|error| panic!("{designation}: {error}"))
}

pub fn judge(designation: &str, wire: Length) -> Judge {
    Judge::new(&thread(designation), &equal_wires(wire)).expect("usable wires")
}

/// A thread on a drawing: everything but the limits in millimetres.
pub fn drawing(
    pitch: f64,
    starts: u32,
    flank_deg: f64,
    major: f64,
    limits: TypedLimits,
) -> CustomThread {
    CustomThread {
        unit: Unit::Millimetre,
        pitch: Pitch::from_length(mm(pitch)).expect("a pitch"),
        starts,
        hand: Hand::Right,
        flanks: Flanks::from_degrees(flank_deg, flank_deg).expect("flanks"),
        major_diameter: Some(mm(major)),
        root_diameter: None,
        limits,
    }
}

pub fn pitch_diameter_limits(min: Length, max: Length) -> TypedLimits {
    TypedLimits::PitchDiameter { min, max }
}

/// Numbers between 0 and 1 that look random; the same every time.
fn even_numbers(mut state: u64) -> impl FnMut() -> f64 {
    move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Numbers that look random, roughly normal; the same every time.
fn noise(seed: u64) -> impl FnMut() -> f64 {
    let mut uniform = even_numbers(seed);
    move || (0..12).map(|_| uniform()).sum::<f64>() - 6.0
}

/// The same, normal far out too.
fn normal_numbers(seed: u64) -> impl FnMut() -> f64 {
    let mut uniform = even_numbers(seed);
    move || normal_quantile(uniform().max(1e-18)).expect("a probability")
}
