//! Every listed size of the leadscrew, British and worm systems: its best wire has to work.

use overwire_core::helix;
use overwire_core::plane::plane_over_wires;
use overwire_core::seat::{self, wire_range};
use overwire_core::thread::{Thread, acme, pipe_parallel, trapezoidal, whitworth};
use overwire_core::units::Length;

use crate::{equal_wires, thread};

/// All listed sizes in each of these classes, as designations.
fn every_designation() -> Vec<String> {
    let mut all = Vec::new();
    let inches = |diameter: u32| f64::from(diameter) / 1e4;
    for &(diameter, count) in acme::LISTED {
        for class in [
            "ACME-2G",
            "ACME-3G",
            "ACME-4G",
            "ACME-2C",
            "ACME-3C",
            "ACME-4C",
            "STUB ACME-2G",
            "STUB ACME M1-2G",
            "STUB ACME M2-2G",
            "ACME-2G (2 STARTS)",
            "ACME-3G (3 STARTS) LH",
        ] {
            all.push(format!("{:.4}-{count} {class}", inches(diameter)));
        }
    }
    for (diameter, pitch) in trapezoidal::listed_sizes() {
        let (diameter, pitch) = (f64::from(diameter) / 1e3, f64::from(pitch) / 1e3);
        for class in ["7e", "8e", "9e", "8c", "9c"] {
            all.push(format!("Tr{diameter}x{pitch}-{class}"));
        }
        all.push(format!("Tr{diameter}x{}(P{pitch})LH-7e", 2.0 * pitch));
        all.push(format!("S{diameter}x{pitch}"));
    }
    for sixteenths in 8..=384 {
        for count in [
            "20", "16", "12", "10", "8", "6", "5", "4", "3", "2.5", "2", "1.5", "1.25", "1",
        ] {
            let diameter = f64::from(sixteenths) / 16.0;
            let text = format!("{diameter:.4}-{count} BUTT-2A");
            let parsed = overwire_core::thread::designation::parse(&text);
            if parsed.is_ok_and(|thread| !thread.special) {
                all.push(text);
                all.push(format!("{diameter:.4}-{count} PUSH-BUTT-3A LH"));
            }
        }
    }
    for class in ["close", "medium", "free"] {
        for (series, sizes) in [("BSW", whitworth::COARSE), ("BSF", whitworth::FINE)] {
            for &(diameter, count) in sizes {
                all.push(format!("{:.4}-{count} {series} {class}", inches(diameter)));
            }
        }
    }
    for size in pipe_parallel::SIZES {
        for class in ["A", "B"] {
            all.push(format!("G {} {class}", f64::from(size.sixteenths) / 16.0));
        }
    }
    all.extend((0..=10).map(|number| format!("{number} BA close")));
    all.extend((0..=16).map(|number| format!("{number} BA normal")));
    for (size, diameter, tip) in [
        ("m0.5", "6", "7"),
        ("m2", "22.4", "26.4"),
        ("m10", "90", "110"),
        ("DP10", "1.25", "1.45"),
    ] {
        for starts in [1, 2, 4] {
            all.push(format!("WORM {size} d{diameter} z{starts} 20deg tip{tip}"));
            all.push(format!("WORM {size} d{diameter} z{starts} 14.5deg"));
        }
    }
    all
}

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
