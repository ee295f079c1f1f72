//! Verdicts, what is left to cut, and warnings.

use overwire_core::acceptance::{Acceptance, DecisionRule};
use overwire_core::judge::{NOT_FUNCTIONAL_SIZE, Purpose, Verdict, Warning, left_in_words};
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::designation;
use overwire_core::uncertainty::{Coverage, Uncertainty};
use overwire_core::units::{Length, Unit, WireDiameter};
use overwire_core::wires::Wires;
use overwire_core::{Judge, Seat};

use crate::{drawing, equal_wires, inches, judge, mm, pitch_diameter_limits, thread};

/// A trade article adds the wire constant of the basic size to the major diameter limits of
/// 9/16-18 UNF and arrives at 0.595 and 0.586 over 0.0395 in wires. Counted from the pitch
/// diameter limits of class 2A, 0.5250 and 0.5205 (ASME B1.1 formulas), the window is
/// 0.5954 to 0.5909: the shortcut would pass threads that are under by more than the whole
/// tolerance.
#[test]
fn a_constant_added_to_the_major_diameter_passes_scrap() {
    let judge = judge("9/16-18 UNF-2A", inches(0.0395));
    let (smallest, largest) = judge.window().expect("a window");
    assert_eq!(smallest.to_text(Unit::Inch, 4), "0.5909 in");
    assert_eq!(largest.to_text(Unit::Inch, 4), "0.5954 in");

    let by_the_shortcut = judge.judge(inches(0.5860), Purpose::Inspecting);
    assert_eq!(by_the_shortcut.verdict, Verdict::FailUnder);
    let under = -by_the_shortcut.to_min.expect("limits").inches();
    let tolerance = judge.thread().limits.expect("limits").tolerance().inches();
    assert!(
        under > tolerance,
        "{under} under, with a tolerance of {tolerance}"
    );
}

/// Windows of five jobs. Source: an independent 40-digit solution, no printed values.
#[test]
fn windows_of_five_jobs() {
    let in_mm = |min, max| pitch_diameter_limits(mm(min), mm(max));
    let acme_limits = pitch_diameter_limits(inches(0.8726), inches(0.892));
    let custom = |thread: CustomThread| thread.build().expect("a thread");
    let jobs = [
        (
            thread("1 1/16-12 UN-2A"),
            inches(0.04811),
            Unit::Inch,
            1.0731859550469,
            1.0788856790026,
        ),
        (
            thread("M40x1.5-4h"),
            mm(0.866),
            Unit::Millimetre,
            40.230058511306,
            40.325058044085,
        ),
        (
            custom(drawing(6.0, 1, 15.0, 36.0, in_mm(32.55, 32.88))),
            mm(3.106),
            Unit::Millimetre,
            36.479281786183,
            36.808912244017,
        ),
        (
            custom(drawing(5.08, 1, 14.5, 25.4, acme_limits)),
            inches(0.10329),
            Unit::Inch,
            1.0027475782806,
            1.0221055107983,
        ),
        (
            custom(drawing(3.0, 4, 15.0, 24.0, in_mm(22.203, 22.415))),
            mm(1.553),
            Unit::Millimetre,
            24.238493547213,
            24.449021681275,
        ),
    ];
    for (thread, wire, unit, smallest, largest) in jobs {
        let judge = Judge::new(&thread, &equal_wires(wire)).expect("usable wires");
        let window = judge.window().expect("a window");
        let name = &thread.designation;
        assert!(
            (window.0.in_unit(unit) - smallest).abs() < 1e-11,
            "{name}: {:?}",
            window.0
        );
        assert!(
            (window.1.in_unit(unit) - largest).abs() < 1e-11,
            "{name}: {:?}",
            window.1
        );
    }
}

#[test]
fn verdicts_follow_limits_and_purpose() {
    let judge = judge("1/2-13 UNC-2A", inches(0.04441));
    let (smallest, largest) = judge.window().expect("a window");
    let step = inches(0.0001);
    let verdict = |reading, purpose| judge.judge(reading, purpose).verdict;
    for purpose in [Purpose::Cutting, Purpose::Inspecting] {
        assert_eq!(verdict(smallest - step, purpose), Verdict::FailUnder);
        assert_eq!(verdict(smallest, purpose), Verdict::Pass);
        assert_eq!(verdict((smallest + largest) * 0.5, purpose), Verdict::Pass);
        assert_eq!(verdict(largest, purpose), Verdict::Pass);
    }
    assert_eq!(
        verdict(largest + step, Purpose::Inspecting),
        Verdict::FailOver
    );
    assert_eq!(
        verdict(largest + step, Purpose::Cutting),
        Verdict::StillToCut
    );
    for reading in [smallest - step, smallest, largest + step, Length::ZERO] {
        let judgement = judge.judge(reading, Purpose::Zero);
        assert_eq!(judgement.verdict, Verdict::None);
        assert!(judgement.warnings.is_empty() && judgement.to_max.is_none());
    }
}

/// The absolute method: a hair outside is outside, whatever the display rounds it to.
#[test]
fn limits_are_compared_unrounded() {
    for (designation, wire) in [
        ("1/2-13 UNC-2A", inches(0.04441)),
        ("M10x1.5-6g", mm(0.866)),
    ] {
        let judge = judge(designation, wire);
        let (smallest, largest) = judge.window().expect("a window");
        let hair = mm(1e-7);
        let verdict = |reading| judge.judge(reading, Purpose::Inspecting).verdict;
        assert_eq!(verdict(smallest - hair), Verdict::FailUnder);
        assert_eq!(verdict(smallest + hair), Verdict::Pass);
        assert_eq!(verdict(largest - hair), Verdict::Pass);
        assert_eq!(verdict(largest + hair), Verdict::FailOver);
    }
}

/// A reading on the display that stands for a limit, converted from its decimal, is inside.
#[test]
fn typed_limits_over_wires_hold_to_the_last_digit_of_the_display() {
    let wires = equal_wires(inches(0.11));
    for step in 0..40 {
        let (min, max) = (inches(1.0270 + f64::from(step) * 1e-4), inches(1.05));
        let limits = TypedLimits::OverWires { min, max, wires };
        let thread = drawing(5.08, 2, 14.5, 25.4, limits)
            .build()
            .expect("a thread");
        let judge = Judge::new(&thread, &wires).expect("usable wires");
        assert_eq!(judge.judge(min, Purpose::Inspecting).verdict, Verdict::Pass);
        assert_eq!(judge.judge(max, Purpose::Inspecting).verdict, Verdict::Pass);
        let below = judge.judge(min - inches(0.00005), Purpose::Inspecting);
        assert_eq!(below.verdict, Verdict::FailUnder);
        assert_eq!(
            thread.basis.sentence().split(',').next(),
            Some("Limits over wires as typed for this job")
        );
    }
}

#[test]
fn what_is_left_adds_up() {
    let judge = judge("1/2-13 UNC-2A", inches(0.04441));
    let judgement = judge.judge(inches(0.5200), Purpose::Cutting);
    let seated = judgement.seated.expect("a seat");
    let limits = judge.thread().limits.expect("limits");
    let to_max = judgement.to_max.expect("limits");
    assert_eq!(to_max, seated.pitch_diameter - limits.pitch_diameter_max);
    let gap = judgement.to_min.expect("limits") - to_max;
    assert!((gap - limits.tolerance()).abs() < mm(1e-12));
    let infeed = judgement.radial_infeed_to_middle().expect("limits");
    assert_eq!(infeed + infeed, judgement.to_middle.expect("limits"));
}

#[test]
fn what_is_left_is_said_in_words() {
    let judge = judge("1 1/16-12 UN-2A", inches(0.04811));
    let (smallest, largest) = judge.window().expect("a window");
    let middle = (smallest + largest) * 0.5;
    let words =
        |reading, purpose| left_in_words(&judge.judge(reading, purpose), purpose, Unit::Inch, 4);
    let cases = [
        (
            largest + inches(0.004_23),
            Purpose::Cutting,
            "0.0071 in to go to the middle, 0.0042 to the maximum",
        ),
        (
            largest + inches(0.004_23),
            Purpose::Inspecting,
            "0.0042 in over maximum: can still be cut",
        ),
        (
            largest + inches(0.000_03),
            Purpose::Inspecting,
            "less than 0.0001 in over maximum: can still be cut",
        ),
        (
            smallest - inches(0.001_12),
            Purpose::Cutting,
            "0.0011 in under minimum: no way back",
        ),
        (
            smallest - inches(0.001_12),
            Purpose::Inspecting,
            "0.0011 in under minimum: no way back",
        ),
        (
            smallest - inches(0.000_02),
            Purpose::Inspecting,
            "less than 0.0001 in under minimum: no way back",
        ),
        (
            middle + inches(0.001_03),
            Purpose::Cutting,
            "inside: 0.0010 in to go to the middle, 0.0039 to the minimum",
        ),
        (
            middle - inches(0.001_03),
            Purpose::Cutting,
            "inside, at or past the middle: 0.0018 in left to the minimum",
        ),
        (
            middle + inches(0.000_02),
            Purpose::Inspecting,
            "inside: 0.0028 in below the maximum, 0.0029 above the minimum",
        ),
        (middle, Purpose::Zero, ""),
    ];
    for (reading, purpose, expected) in cases {
        let said = words(reading, purpose);
        assert_eq!(said, expected);
        assert!(!said.contains('-'), "no bare minus: {said}");
    }
}

#[test]
fn a_shallow_groove_lets_the_wire_ride_on_the_crest_edge() {
    let judge = judge("1/2-13 UNC-2A", inches(0.04441));
    let judgement = judge.judge(inches(0.5700), Purpose::Cutting);
    assert_eq!(judgement.seat.code(), "rides_crest_edge");
    assert_eq!(judgement.verdict, Verdict::None);
    assert!(judgement.seated.is_some() && judgement.to_max.is_none());
    let [warning] = judgement.warnings.as_slice() else {
        panic!("one warning")
    };
    assert_eq!(warning.code(), "rides_crest_edge");
    assert!(warning.sentence(Unit::Inch, 4).contains("Cut deeper"));
    assert_eq!(
        left_in_words(&judgement, Purpose::Cutting, Unit::Inch, 4),
        ""
    );
}

#[test]
fn a_reading_on_the_crest_says_so() {
    let judge = judge("1/2-13 UNC-2A", inches(0.04441));
    for reading in [0.4985, 0.4700, 0.1, 0.0] {
        let judgement = judge.judge(inches(reading), Purpose::Inspecting);
        assert_eq!(judgement.seat.code(), "below_crest", "{reading}");
        assert_eq!(judgement.verdict, Verdict::None);
        let sentence = judgement.warnings[0].sentence(Unit::Inch, 4);
        assert!(
            sentence.contains("all three wires are in place"),
            "{sentence}"
        );
    }
}

#[test]
fn a_reading_that_fits_nothing_is_beyond_the_model() {
    let mut thread = drawing(
        1.5,
        1,
        30.0,
        10.0,
        pitch_diameter_limits(mm(8.862), mm(8.994)),
    );
    thread.major_diameter = None;
    let thread = thread.build().expect("a thread");
    let judge = Judge::new(&thread, &equal_wires(mm(0.866))).expect("usable wires");
    let judgement = judge.judge(mm(1.0), Purpose::Inspecting);
    assert_eq!(
        (judgement.seat, judgement.verdict),
        (Seat::BeyondModel, Verdict::None)
    );
    assert_eq!(judgement.warnings, [Warning::WireSeat(Seat::BeyondModel)]);
    assert!(judgement.seated.is_none());
}

#[test]
fn a_lead_worth_a_tenth_of_the_tolerance_is_named() {
    let limits = pitch_diameter_limits(inches(0.8726), inches(0.892));
    let named = |starts: u32| {
        let thread = drawing(5.08, starts, 14.5, 25.4, limits)
            .build()
            .expect("a thread");
        let judge = Judge::new(&thread, &equal_wires(inches(0.1029))).expect("usable wires");
        let reading = judge.window().expect("a window").0;
        judge.judge(reading, Purpose::Inspecting).warnings
    };
    // One start: 4.8 % of the tolerance. Two: 19 % (independent calculation).
    assert!(named(1).is_empty());
    let two_starts = named(2);
    let [
        Warning::LeadMatters {
            correction,
            tolerance,
        },
    ] = two_starts.as_slice()
    else {
        panic!("one warning, not {two_starts:?}");
    };
    let share = correction.mm() / tolerance.mm();
    assert!((0.185..0.205).contains(&share), "{share}");
    assert!(two_starts[0].sentence(Unit::Inch, 4).contains("0.0194 in"));
}

#[test]
fn without_limits_there_is_a_pitch_diameter_but_no_verdict() {
    let thread = drawing(1.5, 1, 30.0, 10.0, TypedLimits::None)
        .build()
        .expect("a thread");
    let judge = Judge::new(&thread, &equal_wires(mm(0.866))).expect("usable wires");
    assert_eq!(judge.window(), None);
    let judgement = judge.judge(mm(10.2), Purpose::Inspecting);
    assert_eq!(
        (judgement.seat, judgement.verdict),
        (Seat::Ok, Verdict::None)
    );
    assert!(judgement.seated.is_some() && judgement.warnings.is_empty());
}

#[test]
fn codes_and_words_are_stable() {
    let verdicts = [
        (Verdict::Pass, "pass", "PASS"),
        (Verdict::FailUnder, "fail_under", "FAIL under"),
        (Verdict::FailOver, "fail_over", "FAIL over"),
        (Verdict::StillToCut, "still_to_cut", "STILL TO CUT"),
        (Verdict::Undecided, "undecided", "UNDECIDED"),
        (Verdict::None, "none", "NO VERDICT"),
    ];
    for (verdict, code, words) in verdicts {
        assert_eq!((verdict.code(), verdict.words()), (code, words));
        assert_eq!(serde_json::to_value(verdict).expect("a value"), code);
    }
    for purpose in [Purpose::Cutting, Purpose::Inspecting, Purpose::Zero] {
        assert_eq!(Purpose::parse(purpose.code()), Some(purpose));
        assert_eq!(
            serde_json::to_value(purpose).expect("a value"),
            purpose.code()
        );
    }
    assert_eq!(Purpose::parse("guessing"), None);
    let standing = Warning::NotFunctionalSize;
    assert_eq!(standing.code(), "not_functional_size");
    assert_eq!(standing.sentence(Unit::Inch, 4), NOT_FUNCTIONAL_SIZE);
    assert!(NOT_FUNCTIONAL_SIZE.contains("go gauge"));
}

/// The rounding of a crest that touches both flanks and the crest line, by plane geometry: with the sharp
/// triangle cut off by t, `r = t / (1/sin a - 1)`, and it leaves the flank `r (1 - sin a)` below the crest.
#[test]
fn a_round_crest_ends_the_straight_flank_where_its_rounding_begins() {
    for (designation, half_angle_deg, depth) in [
        ("1/2-12 BSW medium", 27.5_f64, 0.640_327),
        ("G 1/2 A", 27.5, 0.640_327),
        ("4 BA normal", 23.75, 0.6),
    ] {
        let thread = designation::parse(designation).expect("a thread");
        let half_angle = half_angle_deg.to_radians();
        let cut_off = (1.0 / half_angle.tan() / 2.0 - depth) / 2.0;
        let radius = cut_off / (1.0 / half_angle.sin() - 1.0);
        let expected = depth - 2.0 * radius * (1.0 - half_angle.sin());
        let straight = thread.geometry.straight_above.expect("a round crest");
        let found = straight.mm() / thread.geometry.pitch.mm();
        assert!(
            (found - expected).abs() < 2e-6,
            "{designation}: {found} {expected}"
        );
    }
}

#[test]
fn a_wire_that_reaches_the_rounding_of_the_crest_is_refused() {
    let thread = designation::parse("1/2-12 BSW medium").expect("a thread");
    let (_, largest) = thread.pitch_diameter_zone();
    let pitch = thread.geometry.pitch.mm();
    let with = |pitches: f64| {
        let wire = WireDiameter::new(Length::from_mm(pitches * pitch).expect("a length"));
        Judge::new(&thread, &Wires::equal(wire.expect("a wire")))
    };
    // 0.8527 P is the largest by straight flank alone (plane geometry; from memory).
    assert!(with(0.83).is_ok(), "{largest:?}");
    assert_eq!(with(0.87).expect_err("too large").code(), "wire-too-large");
}

/// ISO 14253-1's default guard band, 1.65 u (from memory): with u = 0.0027 mm it is 0.00446 mm wide.
#[test]
fn a_guard_band_leaves_undecided_what_it_cannot_prove_and_cutting_goes_on() {
    let plain = judge("1/2-13 UNC-2A", inches(0.04441));
    let limits = plain.thread().limits.expect("limits");
    let uncertainty = Uncertainty::stated(mm(0.0027), Coverage::Factor(2.0)).expect("stated");
    let rule = DecisionRule::iso_14253();
    let acceptance = Acceptance::new(limits, rule, Some(uncertainty)).expect("a rule");
    let guarded = plain.clone().deciding_by(acceptance);
    let reading = |pitch_diameter: Length| {
        let geometry = &plain.thread().geometry;
        let seated = overwire_core::helix::over_wires(geometry, plain.wires(), pitch_diameter);
        seated.expect("a seat").over_wires
    };
    let [min, max] = [limits.pitch_diameter_min, limits.pitch_diameter_max];
    for (size, inspecting, cutting) in [
        (max - mm(0.0046), Verdict::Pass, Verdict::Pass),
        (max - mm(0.0043), Verdict::Undecided, Verdict::StillToCut),
        (max + mm(0.0043), Verdict::Undecided, Verdict::StillToCut),
        (max + mm(0.0046), Verdict::FailOver, Verdict::StillToCut),
        (min + mm(0.0043), Verdict::Undecided, Verdict::Undecided),
        (min - mm(0.0046), Verdict::FailUnder, Verdict::FailUnder),
    ] {
        let over_wires = reading(size);
        let verdict = |purpose| guarded.judge(over_wires, purpose).verdict;
        assert_eq!(verdict(Purpose::Inspecting), inspecting, "{size:?}");
        assert_eq!(verdict(Purpose::Cutting), cutting, "{size:?}");
    }
    let near = guarded.judge(reading(max - mm(0.002)), Purpose::Inspecting);
    let words = left_in_words(&near, Purpose::Inspecting, Unit::Millimetre, 3);
    assert_eq!(
        words,
        "0.002 mm below the maximum: too close to decide, by the guard band"
    );
}
