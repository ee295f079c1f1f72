//! Which wires may be used on which thread.

use overwire_core::judge::{JudgeError, Purpose, Verdict};
use overwire_core::seat::wire_range;
use overwire_core::thread::custom::TypedLimits;
use overwire_core::thread::{Flanks, Hand};
use overwire_core::units::{Length, Pitch, Unit};
use overwire_core::wires::Wires;
use overwire_core::{Judge, Seat, Thread, ThreadError};

use crate::{drawing, equal_wires, inches, mm, pitch_diameter_limits, thread, wire};

fn refusal(thread: &Thread, wires: &Wires) -> JudgeError {
    Judge::new(thread, wires).expect_err("unusable wires")
}

/// Range from an independent 40-digit solution: 0.0405088 stands level with the crest on the
/// smallest thread, 0.0768413 touches its neighbour, 0.0443344 touches on the pitch cylinder.
#[test]
fn a_wire_outside_the_range_is_refused_with_the_range() {
    let stud = thread("1/2-13 UNC-2A");
    let thin = refusal(&stud, &equal_wires(inches(0.0350)));
    assert_eq!(
        thin.to_string(),
        "wire diameter 0.03500 in is too small for 1/2-13 UNC-2A: usable from 0.04051 to 0.07684 in, \
         best 0.04433 in"
    );
    assert_eq!(thin.code(), "wire-too-small");
    let thick = refusal(&stud, &equal_wires(inches(0.0800)));
    assert!(
        thick
            .to_string()
            .contains("too large for 1/2-13 UNC-2A: usable from 0.04051")
    );
    assert_eq!(thick.code(), "wire-too-large");
}

/// The sizes named in a refusal can be used; a step beyond them cannot.
#[test]
fn the_range_is_the_edge_of_use() {
    for text in [
        "1/2-13 UNC-2A",
        "M10x1.5-6g",
        "10-32 UNF-3A",
        "1 1/16-12 UN-2A",
        "M16xPh3P1.5-6g",
    ] {
        let thread = thread(text);
        let (smallest, largest) = thread.pitch_diameter_zone();
        let range = wire_range(&thread.geometry, smallest, largest);
        let (min, max) = (range.min.expect("a crest"), range.max.expect("a crest"));
        let hair = mm(1e-6);
        let usable = |wire: Length| Judge::new(&thread, &equal_wires(wire)).is_ok();
        assert!(usable(min + hair) && usable(max - hair), "{text}");
        assert!(!usable(min - hair) && !usable(max + hair), "{text}");
        let best = range.best.expect("a best size");
        assert!(min < best && best < max, "{text}");
        for size in [min + hair, best, max - hair] {
            let judge = Judge::new(&thread, &equal_wires(size)).expect("usable wires");
            let (lowest, highest) = judge.window().expect("limits");
            for reading in [lowest, highest] {
                let judgement = judge.judge(reading, Purpose::Inspecting);
                assert_eq!(
                    (judgement.seat, judgement.verdict),
                    (Seat::Ok, Verdict::Pass),
                    "{text}"
                );
            }
        }
    }
}

#[test]
fn a_mixed_set_is_refused() {
    let stud = thread("M10x1.5-6g");
    let odd = Wires::three(wire(mm(0.866)), wire(mm(0.866)), wire(mm(0.895)));
    let error = refusal(&stud, &odd);
    assert_eq!(error.code(), "mixed-wires");
    assert!(
        error
            .to_string()
            .contains("0.8660 mm and 0.8950 mm are not one set"),
        "{error}"
    );
}

#[test]
fn wires_of_a_set_that_differ_a_little_are_used_each_in_its_seat() {
    let stud = thread("M10x1.5-6g");
    let wires = Wires::three(wire(mm(0.8660)), wire(mm(0.8655)), wire(mm(0.8665)));
    let judge = Judge::new(&stud, &wires).expect("usable wires");
    let reading = judge.window().expect("limits").0;
    let judgement = judge.judge(reading, Purpose::Inspecting);
    assert_eq!(judgement.verdict, Verdict::Pass);
    let [warning] = judgement.warnings.as_slice() else {
        panic!("one warning")
    };
    assert_eq!(warning.code(), "wires_differ");
    assert!(
        warning
            .sentence(Unit::Millimetre, 3)
            .contains("differ by 0.00100 mm")
    );
    assert_eq!(wires.mean().to_text(Unit::Millimetre, 4), "0.8660 mm");
    assert_eq!(
        wires.seated_mean().to_text(Unit::Millimetre, 4),
        "0.8660 mm"
    );
}

/// The lone wire counts double: 10 micrometres on it move the pitch diameter by 15, on one of
/// the pair by 7.5 (60 degrees, wire coefficient 3).
#[test]
fn the_lone_wire_counts_double() {
    let thread = thread("M40x1.5-4h");
    let at = |wires: Wires| {
        let seated = overwire_core::helix::pitch_diameter(&thread.geometry, &wires, mm(40.3));
        seated.expect("a seat").pitch_diameter.mm()
    };
    let (usual, thick) = (wire(mm(0.866)), wire(mm(0.876)));
    let base = at(Wires::equal(usual));
    let lone = base - at(Wires::three(thick, usual, usual));
    let one_of_pair = base - at(Wires::three(usual, usual, thick));
    assert!((lone - 0.015).abs() < 2e-5, "{lone}");
    assert!((one_of_pair - 0.0075).abs() < 1e-5, "{one_of_pair}");
}

#[test]
fn wires_that_touch_their_neighbour_are_refused() {
    // On 55 and 60 degree threads a thick wire meets its neighbour before the crest's edge.
    let mut open = drawing(
        1.5,
        1,
        30.0,
        10.0,
        pitch_diameter_limits(mm(8.862), mm(8.994)),
    );
    open.major_diameter = None;
    let open = open.build().expect("a thread");
    let error = refusal(&open, &equal_wires(mm(1.5)));
    assert!(error.to_string().contains("usable up to 1.49"), "{error}");
    assert!(Judge::new(&open, &equal_wires(mm(1.45))).is_ok());
}

#[test]
fn a_wire_that_would_bottom_is_refused() {
    let limits = pitch_diameter_limits(mm(8.862), mm(8.994));
    let mut filled = drawing(1.5, 1, 30.0, 9.2, limits);
    let thin = equal_wires(mm(0.62));
    assert!(Judge::new(&filled.build().expect("a thread"), &thin).is_ok());
    filled.root_diameter = Some(mm(8.6));
    let filled = filled.build().expect("a thread");
    assert_eq!(refusal(&filled, &thin).code(), "wire-too-small");
}

#[test]
fn asymmetric_threads_have_a_range_too() {
    let buttress = overwire_core::thread::custom::CustomThread {
        unit: Unit::Millimetre,
        pitch: Pitch::from_length(mm(3.0)).expect("a pitch"),
        starts: 1,
        hand: Hand::Left,
        flanks: Flanks::from_degrees(7.0, 45.0).expect("flanks"),
        major_diameter: Some(mm(30.0)),
        root_diameter: None,
        limits: pitch_diameter_limits(mm(28.0), mm(28.2)),
    };
    let thread = buttress.build().expect("a thread");
    assert_eq!(
        thread.designation,
        "7/45 degree thread, major diameter 30 mm, pitch 3 mm, left hand"
    );
    let judge = Judge::new(&thread, &equal_wires(mm(1.624))).expect("usable wires");
    let range = judge.wire_range();
    let best = range.best.expect("a best size");
    assert!(range.min < range.best && range.best < range.max);
    assert!((best - range.best_plane).abs() < mm(0.002));
}

#[test]
fn custom_threads_that_cannot_exist_are_refused() {
    let code = |thread: &overwire_core::thread::custom::CustomThread| {
        thread
            .build()
            .map(|_| "fine")
            .unwrap_or_else(|error: ThreadError| error.code())
    };
    let limits = pitch_diameter_limits(mm(8.862), mm(8.994));
    let good = drawing(1.5, 1, 30.0, 10.0, limits);
    assert_eq!(code(&good), "fine");
    let mut changed = good;
    changed.starts = 0;
    assert_eq!(code(&changed), "starts-out-of-range");
    changed = good;
    changed.limits = pitch_diameter_limits(mm(9.0), mm(8.9));
    assert_eq!(code(&changed), "limits-out-of-order");
    changed.limits = pitch_diameter_limits(mm(9.0), mm(10.5));
    assert_eq!(code(&changed), "pitch-diameter-above-crest");
    changed = good;
    changed.root_diameter = Some(mm(11.0));
    assert_eq!(code(&changed), "root-above-crest");
    changed = good;
    changed.major_diameter = None;
    changed.limits = TypedLimits::None;
    assert_eq!(code(&changed), "size-unknown");
    changed.limits = TypedLimits::OverWires {
        min: mm(1.0),
        max: mm(1.1),
        wires: equal_wires(mm(0.866)),
    };
    assert_eq!(code(&changed), "limits-not-convertible");
    changed = good;
    changed.flanks = Flanks::symmetric(overwire_core::Angle::from_degrees(2.0).expect("an angle"));
    assert_eq!(code(&changed), "flanks-unusable");
    assert!(Flanks::from_degrees(80.0, 10.0).is_err());
}

#[test]
fn without_limits_the_basic_size_decides_on_wires() {
    let thread = drawing(2.0, 1, 15.0, 20.0, TypedLimits::None)
        .build()
        .expect("a thread");
    assert_eq!(thread.basic_pitch_diameter, mm(19.0));
    assert!(Judge::new(&thread, &equal_wires(mm(1.035))).is_ok());
    assert_eq!(
        refusal(&thread, &equal_wires(mm(0.5))).code(),
        "wire-too-small"
    );
}
