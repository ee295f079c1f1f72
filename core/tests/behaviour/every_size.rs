//! Every listed size of the leadscrew, British and worm systems: its best wire has to work.

use overwire_core::helix;
use overwire_core::plane::plane_over_wires;
use overwire_core::seat::{self, wire_range};
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Flanks, Geometry, Hand, Limits, Thread};
use overwire_core::units::{Length, Pitch, Unit};

use crate::listed::every_designation;
use crate::{equal_wires, mm, thread};

/// The best wire, or the middle of the usable ones where the best one lies below the crest or on
/// the root. That it does has to show in the plane formula too, which reads a little too little.
fn wire_to_use(thread: &Thread) -> Result<Length, String> {
    let (smallest, largest) = thread.pitch_diameter_zone();
    let range = wire_range(&thread.geometry, smallest, largest);
    let best = range.best.ok_or("no best wire")?;
    let Some(crest) = thread.geometry.major_diameter else {
        return Ok(best);
    };
    let (Some(min), Some(max)) = (range.min, range.max) else {
        return Err("no usable wires".to_owned());
    };
    if min < best && best < max {
        return Ok(best);
    }
    let plane = plane_over_wires(&thread.geometry, &equal_wires(best), smallest);
    let root = thread.geometry.root_diameter;
    let on_root = root.is_some_and(|root| plane - best * 2.0 < root);
    match min < max && best < max && (plane < crest || on_root) {
        true => Ok((min + max) * 0.5),
        false => Err(format!("best {best:?}, usable {min:?} to {max:?}")),
    }
}

/// Seats the wire on both limits and goes there and back.
fn try_wire(thread: &Thread, wire: Length) -> Result<(), String> {
    let wires = equal_wires(wire);
    let (smallest, largest) = thread.pitch_diameter_zone();
    for diameter in [smallest, largest] {
        let there = helix::over_wires(&thread.geometry, &wires, diameter);
        let there = there.map_err(|error| error.to_string())?;
        let found = seat::seat(&thread.geometry, &wires, &there);
        if !found.is_ok() {
            return Err(format!("{found:?}"));
        }
        let back = helix::pitch_diameter(&thread.geometry, &wires, there.over_wires);
        let back = back.map_err(|error| error.to_string())?;
        let off = (back.pitch_diameter - diameter).abs().mm() / diameter.mm();
        if off >= 1e-12 {
            return Err(format!("there and back differ by {off:e}"));
        }
    }
    Ok(())
}

#[test]
fn the_best_wire_seats_at_both_limits_of_every_listed_size() {
    let all = every_designation();
    assert!(all.len() > 2_000, "only {}", all.len());
    let failures: Vec<String> = all
        .iter()
        .filter_map(|text| {
            let found = thread(text);
            assert!(!found.special, "{text} should be a listed size");
            let outcome = wire_to_use(&found).and_then(|wire| try_wire(&found, wire));
            outcome.err().map(|trouble| format!("{text}: {trouble}"))
        })
        .collect();
    assert!(
        failures.is_empty(),
        "{} of {} fail:\n{}",
        failures.len(),
        all.len(),
        failures.join("\n")
    );
}

/// The groove of a stub Acme thread is shallow: a wire of the best size reaches the largest root
/// the standard allows. A thicker one still touches the flanks.
#[test]
fn the_best_wire_reaches_the_root_of_a_stub_acme_thread() {
    let stub = thread("1-5 STUB ACME-2G");
    let largest_root = stub.geometry.root_diameter.expect("a root");
    assert!((largest_root.inches() - 0.86).abs() < 1e-12);
    assert!(stub.basis.sentence().contains("thicker wire"));
    for (text, reaches) in [
        ("1-5 ACME-2G", false),
        ("1-5 STUB ACME-2G", true),
        ("1/2-20 STUB ACME-2G", true),
    ] {
        let thread = thread(text);
        let (smallest, largest) = thread.pitch_diameter_zone();
        let range = wire_range(&thread.geometry, smallest, largest);
        assert_eq!(range.best < range.min, reaches, "{text}");
        assert!(range.min < range.max, "{text}");
    }
}

/// The saw-tooth's crest stands so high over its pitch line that a wire of the best size lies
/// below it on every size; on the other forms only the loosest classes come to that.
#[test]
fn the_best_wire_lies_below_the_crest_of_a_saw_tooth_thread() {
    for text in ["S10x2", "S40x7", "S100x20"] {
        let thread = thread(text);
        let diameter = thread.basic_pitch_diameter;
        let range = wire_range(&thread.geometry, diameter, diameter);
        assert!(range.best < range.min && range.min < range.max, "{text}");
    }
}

/// What a thread reads over this wire at its middle.
fn reading(geometry: &Geometry, thread: &Thread, wire: Length) -> f64 {
    let (smallest, largest) = thread.pitch_diameter_zone();
    let seated = helix::over_wires(geometry, &equal_wires(wire), (smallest + largest) * 0.5);
    seated.expect("a seat").over_wires.mm()
}

#[test]
fn hand_changes_nothing_and_more_starts_never_read_less() {
    for text in every_designation() {
        let found = thread(&text);
        let wire = wire_to_use(&found).expect("a wire");
        let geometry = found.geometry;
        let other_hand = Geometry {
            hand: match geometry.hand {
                Hand::Left => Hand::Right,
                Hand::Right => Hand::Left,
            },
            ..geometry
        };
        let more_starts = Geometry {
            starts: geometry.starts + 1,
            ..geometry
        };
        let reads = reading(&geometry, &found, wire);
        assert!(
            (reading(&other_hand, &found, wire) - reads).abs() < 1e-15 * reads,
            "{text}"
        );
        assert!(reading(&more_starts, &found, wire) >= reads, "{text}");
    }
}

/// The same thread described in the other unit, from a drawing.
fn retold(thread: &Thread) -> Thread {
    let unit = match thread.unit {
        Unit::Inch => Unit::Millimetre,
        Unit::Millimetre => Unit::Inch,
    };
    let again = |length: Length| {
        Length::from_unit(length.in_unit(unit), unit).expect("a length of the same size")
    };
    let geometry = &thread.geometry;
    let typed = |limits: &Limits| TypedLimits::PitchDiameter {
        min: again(limits.pitch_diameter_min),
        max: again(limits.pitch_diameter_max),
    };
    CustomThread {
        unit,
        pitch: Pitch::from_length(again(geometry.pitch.length())).expect("a pitch"),
        starts: geometry.starts,
        hand: geometry.hand,
        flanks: geometry.flanks,
        major_diameter: geometry.major_diameter.map(again),
        root_diameter: geometry.root_diameter.map(again),
        limits: thread.limits.as_ref().map_or(TypedLimits::None, typed),
    }
    .build()
    .expect("the same thread")
}

#[test]
fn the_same_thread_in_the_other_unit_reads_the_same() {
    let alike = |one: f64, other: f64| (one - other).abs() <= 1e-14 * other;
    for text in every_designation() {
        let found = thread(&text);
        // Without limits a drawing does not say the pitch diameter.
        let Some(limits) = found.limits else { continue };
        let wire = wire_to_use(&found).expect("a wire");
        let again = retold(&found);
        let again_limits = again.limits.expect("limits");
        for (one, other) in [
            (again_limits.pitch_diameter_min, limits.pitch_diameter_min),
            (again_limits.pitch_diameter_max, limits.pitch_diameter_max),
        ] {
            assert!(alike(one.mm(), other.mm()), "{text}");
        }
        let (one, other) = (
            reading(&again.geometry, &again, wire),
            reading(&found.geometry, &found, wire),
        );
        assert!(alike(one, other), "{text}: {one} {other}");
    }
}

#[test]
fn a_worm_by_module_is_the_worm_by_diametral_pitch() {
    let (metric, inch) = (
        thread("WORM m2.54 d31.75 z3 20deg tip36.83"),
        thread("WORM DP10 d1.25 z3 20deg tip1.45"),
    );
    let wire = wire_to_use(&metric).expect("a wire");
    let (one, other) = (
        reading(&metric.geometry, &metric, wire),
        reading(&inch.geometry, &inch, wire),
    );
    assert!((one - other).abs() < 1e-13 * other, "{one} {other}");
}

/// Uneven flanks, several starts, left hand and both kinds of typed limits on a drawing of one's own.
#[test]
fn a_drawing_may_have_uneven_flanks_starts_and_hand() {
    let drawn = |limits| CustomThread {
        unit: Unit::Millimetre,
        pitch: Pitch::from_length(mm(5.0)).expect("a pitch"),
        starts: 3,
        hand: Hand::Left,
        flanks: Flanks::from_degrees(5.0, 40.0).expect("flanks"),
        major_diameter: Some(mm(60.0)),
        root_diameter: Some(mm(53.0)),
        limits,
    };
    let (min, max) = (mm(56.9), mm(57.1));
    let by_diameter = drawn(TypedLimits::PitchDiameter { min, max }).build();
    let by_diameter = by_diameter.expect("a thread");
    assert_eq!(
        by_diameter.designation,
        "5/40 degree thread, major diameter 60 mm, pitch 5 mm, 3 starts, left hand"
    );
    let wires = equal_wires(wire_to_use(&by_diameter).expect("a wire"));
    let reads = |diameter| {
        let seated = helix::over_wires(&by_diameter.geometry, &wires, diameter);
        seated.expect("a seat").over_wires
    };
    let over_wires = TypedLimits::OverWires {
        min: reads(min),
        max: reads(max),
        wires,
    };
    let limits = drawn(over_wires).build().expect("a thread").limits;
    let limits = limits.expect("limits");
    assert!((limits.pitch_diameter_min - min).abs().mm() < 1e-12);
    assert!((limits.pitch_diameter_max - max).abs().mm() < 1e-12);
}
