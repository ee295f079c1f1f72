//! Limits on both sides of the plating bath.

use overwire_core::plating::{Plating, PlatingError, growth_factor, thickest_coat};
use overwire_core::thread::custom::TypedLimits;
use overwire_core::units::{Length, Unit};
use overwire_core::{Limits, Thread, helix};
use proptest::prelude::*;

use crate::{drawing, equal_wires, mm, pitch_diameter_limits, thread};

fn coat(thinnest_um: f64, thickest_um: f64) -> Plating {
    Plating::checked(mm(thinnest_um / 1000.0), mm(thickest_um / 1000.0)).expect("a range")
}

/// M10x1.5-6g is 8.862 to 8.994 mm (ISO 965-1). By the handbook rule of four times the thickness
/// a coat of 5 to 8 µm asks for 8.842 to 8.962 before it.
#[test]
fn before_limits_of_a_metric_thread() {
    let plated = coat(5.0, 8.0)
        .before(&thread("M10x1.5-6g"))
        .expect("limits");
    let text = |length: Length| length.to_text(Unit::Millimetre, 3);
    assert_eq!(text(plated.before.pitch_diameter_min), "8.842 mm");
    assert_eq!(text(plated.before.pitch_diameter_max), "8.962 mm");
    assert_eq!(
        plated.sentence(Unit::Millimetre, 3),
        "Before plating 8.842 mm to 8.962 mm, after it 8.862 mm to 8.994 mm: a coat of 0.0050 mm to \
         0.0080 mm on the surface grows the pitch diameter by 4.00 times as much."
    );
}

/// The allowance of 6g on this pitch is 0.032 mm (ISO 965-1): room for 8 µm up to the basic size.
#[test]
fn the_allowance_is_room_for_a_coat() {
    let thread = thread("M10x1.5-6g");
    let limits = thread.limits.expect("limits");
    let coat = thickest_coat(&thread.geometry, &limits, thread.basic_pitch_diameter);
    assert_eq!(coat.to_text(Unit::Millimetre, 4), "0.0080 mm");
    let none = thickest_coat(&thread.geometry, &limits, limits.pitch_diameter_max);
    assert_eq!(none, Length::ZERO);
}

#[test]
fn a_coat_that_eats_the_tolerance_is_refused() {
    let thread = thread("M10x1.5-6g");
    let error = coat(0.0, 40.0).before(&thread).unwrap_err();
    assert_eq!(error.code(), "eats-the-tolerance");
    let words = error.to_string();
    assert!(
        words.contains("varies by 0.160") && words.contains("only 0.1320 mm"),
        "{words}"
    );
    // However thick, an even coat can be allowed for.
    assert!(coat(40.0, 40.0).before(&thread).is_ok());
}

#[test]
fn ranges_and_threads_that_make_no_sense_are_refused() {
    let refused = |thin: f64, thick: f64| Plating::checked(mm(thin), mm(thick)).unwrap_err().code();
    assert_eq!(refused(-0.001, 0.005), "thickness-out-of-order");
    assert_eq!(refused(0.0, 1.5), "thickness-out-of-order");
    let unlimited = drawing(1.5, 1, 30.0, 10.0, TypedLimits::None);
    let unlimited = unlimited.build().expect("built");
    assert_eq!(
        coat(5.0, 8.0).before(&unlimited),
        Err(PlatingError::NoLimits)
    );
    let tiny = drawing(0.25, 1, 30.0, 1.0, pitch_diameter_limits(mm(0.8), mm(0.85)));
    let error = coat(900.0, 1000.0).before(&tiny.build().expect("built"));
    assert_eq!(error.unwrap_err().code(), "nothing-under-it");
}

/// A ball on a coated groove sits where a ball that is two coats thicker sits on the bare one.
/// That needs none of the formulas above, so it checks them, lead and unequal flanks included.
#[test]
fn the_exact_seat_agrees_with_the_growth() {
    let cases = [
        (thread("1/2-13 UNC-2A"), 0.9),
        (multi_start(7.0, 2, (15.0, 15.0)), 1.0),
        (multi_start(7.0, 4, (15.0, 15.0)), 1.0),
        (multi_start(6.0, 1, (7.0, 45.0)), 1.0),
    ];
    for (thread, share_of_best) in cases {
        let diameter = thread.basic_pitch_diameter;
        let range = overwire_core::seat::wire_range(&thread.geometry, diameter, diameter);
        let wire = range.best.expect("a best wire") * share_of_best;
        let thickness = mm(0.001);
        let thicker = equal_wires(wire + thickness * 2.0);
        let bare = helix::over_wires(&thread.geometry, &thicker, diameter).expect("a seat");
        let reading = mm(2.0 * bare.axis_radius) + wire;
        let coated = helix::pitch_diameter(&thread.geometry, &equal_wires(wire), reading);
        let grown = coated.expect("a seat").pitch_diameter - diameter;
        let factor = growth_factor(&thread.geometry, diameter);
        let found = grown.mm() / thickness.mm();
        assert!(
            (found / factor - 1.0).abs() < 0.004,
            "{}: {found} against {factor}",
            thread.designation
        );
    }
}

fn multi_start(pitch: f64, starts: u32, flanks: (f64, f64)) -> Thread {
    let limits = pitch_diameter_limits(mm(36.0), mm(36.4));
    let mut drawing = drawing(pitch, starts, 15.0, 40.0, limits);
    drawing.flanks =
        overwire_core::thread::Flanks::from_degrees(flanks.0, flanks.1).expect("flanks");
    drawing.build().expect("built")
}

proptest! {
    /// Every coat in the range takes every thread between the limits before to one between the
    /// limits after.
    #[test]
    fn every_coat_ends_inside(
        thin in 0.0_f64..20.0,
        varies in 0.0_f64..30.0,
        at in 0.0_f64..=1.0,
        coat_at in 0.0_f64..=1.0,
    ) {
        let thread = thread("M10x1.5-6g");
        let Ok(plated) = coat(thin, thin + varies).before(&thread) else {
            return Ok(());
        };
        let Limits { pitch_diameter_min, pitch_diameter_max } = plated.before;
        let bare = pitch_diameter_min + (pitch_diameter_max - pitch_diameter_min) * at;
        let thickness = mm((thin + varies * coat_at) / 1000.0);
        let coated = bare + thickness * plated.growth_factor;
        prop_assert!(coated >= plated.after.pitch_diameter_min - mm(1e-9));
        prop_assert!(coated <= plated.after.pitch_diameter_max + mm(1e-9));

        // And the way back: the limits after, from those before, hold the thread's own.
        let bare_thread = Thread { limits: Some(plated.before), ..thread };
        let back = coat(thin, thin + varies).after(&bare_thread).expect("limits");
        prop_assert!((back.after.pitch_diameter_max - plated.after.pitch_diameter_max).abs() < mm(1e-5));
        prop_assert!((back.after.pitch_diameter_min - plated.after.pitch_diameter_min).abs() < mm(1e-5));
    }
}
