//! What must hold for the limits of every Unified and metric thread, whatever the tables say.

use overwire_core::thread::custom::CustomThread;
use overwire_core::thread::designation::parse;
use overwire_core::thread::metric::{Position, Source, deviation, pitch_diameter_tolerance};
use overwire_core::thread::unified::{Class, limits_by_formula};
use overwire_core::thread::{Hand, Thread};
use overwire_core::units::{Length, Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;
use overwire_core::{Judge, Limits, Purpose};
use proptest::prelude::*;

use crate::{mm, pitch_diameter_limits, thread};

fn limits(thread: &Thread) -> Limits {
    thread.limits.expect("a standard thread has limits")
}

/// Designations without hand and class.
fn unified() -> impl Strategy<Value = String> {
    let series = prop::sample::select(vec!["UN", "UNC", "UNF", "UNS", "UNR", "UNJ"]);
    (1_u32..384, 4_u32..80, series)
        .prop_filter(
            "a pitch the diameter can carry",
            |(sixteenths, count, _)| sixteenths * count >= 40,
        )
        .prop_map(|(sixteenths, count, series)| {
            let diameter = f64::from(sixteenths) / 16.0;
            format!("{diameter:.4}-{count} {series}")
        })
}

fn metric() -> impl Strategy<Value = String> {
    (1_000_u32..355_000, 200_u32..8_000)
        .prop_filter("a pitch the diameter can carry", |(diameter, pitch)| {
            pitch * 3 <= *diameter
        })
        .prop_map(|(diameter, pitch)| {
            let number = |um: u32| f64::from(um) / 1_000.0;
            format!("M{}x{}", number(diameter), number(pitch))
        })
}

fn any_thread() -> impl Strategy<Value = String> {
    prop_oneof![
        unified().prop_map(|text| format!("{text}-2A")),
        metric().prop_map(|text| format!("{text}-6g")),
    ]
}

/// Somewhat thicker than the best size, so that they stand proud of most crests.
fn thick_wires(thread: &Thread) -> Wires {
    let diameter = thread.geometry.pitch.length() * 0.75;
    Wires::equal(WireDiameter::new(diameter).expect("a wire"))
}

/// The same numbers on a drawing in the other unit.
fn retold(thread: &Thread, unit: Unit) -> Thread {
    let again = |length: Length| {
        Length::from_unit(length.in_unit(unit), unit).expect("a length of the same size")
    };
    let limits = limits(thread);
    let geometry = thread.geometry;
    CustomThread {
        unit,
        pitch: Pitch::from_length(again(geometry.pitch.length())).expect("a pitch"),
        starts: geometry.starts,
        hand: geometry.hand,
        flanks: geometry.flanks,
        major_diameter: geometry.major_diameter.map(again),
        root_diameter: geometry.root_diameter.map(again),
        limits: pitch_diameter_limits(
            again(limits.pitch_diameter_min),
            again(limits.pitch_diameter_max),
        ),
    }
    .build()
    .expect("a thread")
}

/// Machinery's Handbook, 27th edition, page 1762 prints 5.7016 as largest pitch diameter of 5 3/4-14 UN-2A, a step
/// below the formula; ASME B1.1 gives classes 1A and 2A one allowance. 1A's tolerance is by the formula: 0.0097.
#[test]
fn an_allowance_printed_for_2a_holds_for_1a() {
    let loose = limits(&thread("5.7500-14 UN-1A"));
    let usual = limits(&thread("5.7500-14 UN-2A"));
    assert_eq!(loose.pitch_diameter_max, usual.pitch_diameter_max);
    assert_eq!(loose.pitch_diameter_max.to_text(Unit::Inch, 4), "5.7016 in");
    assert_eq!(loose.pitch_diameter_min.to_text(Unit::Inch, 4), "5.6919 in");
}

proptest! {
    /// Inch or millimetre is a way of writing: the answers are the same.
    #[test]
    fn the_unit_does_not_change_the_answer(text in any_thread(), share in -0.5..1.5) {
        let told = thread(&text);
        let wires = thick_wires(&told);
        // A fine pitch on a large diameter can have a crest no wire clears.
        let one = Judge::new(&told, &wires);
        prop_assume!(one.is_ok());
        let one = one.expect("usable wires");
        let zone = limits(&told);
        let pitch_diameter = zone.pitch_diameter_min + zone.tolerance() * share;
        let reading = overwire_core::helix::over_wires(&told.geometry, &wires, pitch_diameter)
            .expect("a seat")
            .over_wires;
        let first = one.judge(reading, Purpose::Inspecting);
        for unit in [Unit::Inch, Unit::Millimetre] {
            let other = Judge::new(&retold(&told, unit), &wires).expect("usable wires");
            let second = other.judge(reading, Purpose::Inspecting);
            // On the limit itself the last bit may decide.
            if share.abs() > 1e-6 && (share - 1.0).abs() > 1e-6 {
                prop_assert_eq!(first.verdict, second.verdict);
            }
            let pitch_diameter = |judgement: &overwire_core::Judgement| {
                judgement.seated.expect("a pitch diameter").pitch_diameter.mm()
            };
            let off = pitch_diameter(&first) - pitch_diameter(&second);
            prop_assert!(off.abs() < 1e-12 * told.nominal_diameter.mm().max(1.0));
        }
    }

    #[test]
    fn the_hand_changes_nothing_but_itself(text in any_thread()) {
        let right = thread(&text);
        let left = thread(&format!("{text} LH"));
        prop_assert_eq!(left.geometry.hand, Hand::Left);
        let mut same = left.clone();
        same.geometry.hand = Hand::Right;
        same.designation = right.designation.clone();
        prop_assert_eq!(same, right);
    }

    #[test]
    fn more_starts_keep_the_limits(text in any_thread(), starts in 2_u32..=8) {
        let single = thread(&text);
        let multi = thread(&format!("{text} ({starts} STARTS)"));
        prop_assert_eq!(multi.geometry.starts, starts);
        prop_assert_eq!(multi.geometry.pitch, single.geometry.pitch);
        prop_assert_eq!(multi.limits, single.limits);
        prop_assert!(multi.basis.sentence().contains("single-start"));
    }

    /// 1A is wider than 2A, 2A than 3A; without allowance 3A reaches up to the basic size.
    #[test]
    fn unified_classes_are_in_order(text in unified()) {
        let [loose, usual, close] = ["1A", "2A", "3A"].map(|class| {
            thread(&format!("{text}-{class}"))
        });
        let [one, two, three] = [&loose, &usual, &close].map(limits);
        prop_assert!(one.tolerance() > two.tolerance());
        prop_assert!(two.tolerance() > three.tolerance());
        prop_assert_eq!(one.pitch_diameter_max, two.pitch_diameter_max);
        prop_assert!(two.pitch_diameter_max < three.pitch_diameter_max);
        prop_assert_eq!(three.pitch_diameter_max, close.basic_pitch_diameter);
    }

    /// All forms of one size share their pitch diameters.
    #[test]
    fn forms_share_their_limits(count in 6_u32..40, sixteenths in 8_u32..96) {
        let size = format!("{:.4}-{count}", f64::from(sixteenths) / 16.0);
        let [flat, rounded, large] = ["UN", "UNR", "UNJ"].map(|form| {
            limits(&thread(&format!("{size} {form}S-3A")))
        });
        prop_assert_eq!(flat, rounded);
        prop_assert_eq!(flat, large);
    }

    #[test]
    fn a_longer_engagement_widens_the_unified_tolerance(
        text in unified(),
        shorter in 0.5..2.0,
        factor in 1.2..4.0,
    ) {
        let with = |length: f64| thread(&format!("{text}-2A LE {length:.3}"));
        let (short, long) = (with(shorter), with(shorter * factor));
        prop_assert!(limits(&short).tolerance() <= limits(&long).tolerance());
        prop_assert!(limits(&short).pitch_diameter_min > limits(&long).pitch_diameter_min);
        prop_assert!(long.basis.sentence().contains("stated length of engagement"));
    }

    #[test]
    fn the_formula_grows_with_size_and_pitch(
        diameter in 0.06_f64..20.0,
        count in 4.0_f64..80.0,
        engagement in 0.05_f64..3.0,
    ) {
        let tolerance = |diameter, count| {
            limits_by_formula(diameter, count, Class::Two, engagement).tolerance_millionths
        };
        prop_assert!(tolerance(diameter * 1.1, count) >= tolerance(diameter, count));
        prop_assert!(tolerance(diameter, count * 1.1) < tolerance(diameter, count));
    }

    /// A higher grade is wider, and e lies below f, f below g, g below h, whether the numbers come
    /// from a table or from the formula behind it.
    #[test]
    fn metric_grades_and_positions_are_in_order(text in metric()) {
        let of = |class: String| limits(&thread(&format!("{text}-{class}")));
        let grades: Vec<_> = (3..=9).map(|grade| of(format!("{grade}h")).tolerance()).collect();
        prop_assert!(grades.windows(2).all(|pair| pair[0] < pair[1]), "{grades:?}");
        let positions: Vec<_> = ["e", "f", "g", "h"]
            .map(|position| of(format!("6{position}")).pitch_diameter_max)
            .into();
        prop_assert!(positions.windows(2).all(|pair| pair[0] < pair[1]), "{positions:?}");
        prop_assert_eq!(positions.last().copied(), Some(thread(&format!("{text}-6h")).basic_pitch_diameter));
    }

    /// The class of the crest and the engagement are kept, and leave the pitch diameter alone.
    #[test]
    fn crest_class_and_engagement_leave_the_pitch_diameter(
        text in metric(),
        engagement in prop::sample::select(vec!["-S", "-N", "-L", " LE 30"]),
    ) {
        let plain = thread(&format!("{text}-5h"));
        let other = thread(&format!("{text}-5h6g{engagement}"));
        prop_assert_eq!(plain.limits, other.limits);
        prop_assert!(other.geometry.major_diameter < plain.geometry.major_diameter);
    }

    #[test]
    fn mj_has_the_pitch_diameters_of_m(text in metric()) {
        let plain = thread(&format!("{text}-4h6h"));
        let large_root = thread(&format!("{}-4h6h", text.replacen('M', "MJ", 1)));
        prop_assert_eq!(plain.limits, large_root.limits);
        prop_assert!(large_root.designation.starts_with("MJ"));
    }
}

/// Within the tables a larger diameter or pitch never has the smaller tolerance.
#[test]
fn metric_tables_grow_with_diameter_and_pitch() {
    let groups = [
        1_200, 2_000, 4_000, 8_000, 16_000, 32_000, 64_000, 128_000, 256_000,
    ];
    let pitches = [
        200, 250, 350, 500, 600, 700, 800, 1_000, 1_250, 1_500, 1_750, 2_000, 2_500, 3_000, 3_500,
        4_000, 4_500, 5_000, 5_500, 6_000, 8_000,
    ];
    let tolerance = |diameter, pitch| {
        let found = pitch_diameter_tolerance(diameter, pitch, 6);
        found.expect("inside the groups").um()
    };
    for pitch in pitches {
        let by_group: Vec<_> = groups.map(|diameter| tolerance(diameter, pitch)).into();
        assert!(by_group.is_sorted(), "pitch {pitch}: {by_group:?}");
    }
    for diameter in groups {
        let by_pitch: Vec<_> = pitches.map(|pitch| tolerance(diameter, pitch)).into();
        assert!(by_pitch.is_sorted(), "diameter {diameter}: {by_pitch:?}");
    }
    for position in [Position::E, Position::F, Position::G] {
        // The standard has no e and f for the finest pitches; the formula is not its table.
        let tabled = pitches
            .into_iter()
            .map(|pitch| deviation(pitch, position))
            .filter(|found| matches!(found, Source::Table(_)));
        let by_pitch: Vec<_> = tabled.map(Source::um).collect();
        assert!(by_pitch.len() >= 17);
        assert!(by_pitch.is_sorted(), "{position:?}: {by_pitch:?}");
    }
}

/// Every miniature size has limits below its basic size, and no other size is taken for one.
#[test]
fn miniature_sizes_are_the_fourteen() {
    let found: Vec<_> = (20..=150)
        .filter_map(|hundredths| parse(&format!("{:.2} UNM", f64::from(hundredths) / 100.0)).ok())
        .collect();
    assert_eq!(found.len(), 14);
    for thread in found {
        let zone = limits(&thread);
        assert_eq!(zone.pitch_diameter_max, thread.basic_pitch_diameter);
        assert!(zone.tolerance() < thread.geometry.pitch.length() * 0.2);
        assert!(thread.nominal_diameter > mm(0.29));
    }
}

/// Each form is a system of its own, and has a name for files.
#[test]
fn systems_are_named() {
    let named = [
        ("1/2-13 UNC-2A", "unified"),
        ("1/2-13 UNRC-2A", "unified"),
        ("1/2-13 UNJC-3A", "unified-j"),
        ("1.00 UNM", "unified-miniature"),
        ("M10x1.5-6g", "metric"),
        ("MJ10x1.5-4h6h", "metric-j"),
    ];
    for (text, name) in named {
        let written = serde_json::to_string(&thread(text).system).expect("a name");
        assert_eq!(written, format!("\"{name}\""), "{text}");
    }
}
