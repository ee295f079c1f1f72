//! Designations of leadscrews, British threads and worms: what is read, what is refused and where.

use overwire_core::System;
use overwire_core::thread::Hand;
use overwire_core::thread::designation::parse;
use proptest::prelude::*;

use crate::thread;

/// As written on drawings, and as printed. The forms with `P` and `L` and `1.750-4 ACME-2G` are the
/// examples of Machinery's Handbook, 27th edition, pages 1827, 1843 and 1846.
const READ: &[(&str, &str)] = &[
    ("1.5-4 ACME-2G", "1 1/2-4 ACME-2G"),
    ("1.750-4 ACME-2G", "1 3/4-4 ACME-2G"),
    ("1 1/2-4 ACME-2G-LH", "1 1/2-4 ACME-2G LH"),
    ("1-1/2-4acme-3g", "1 1/2-4 ACME-3G"),
    ("1-5 ACME-2G 2 START", "1-5 ACME-2G (2 STARTS)"),
    ("1.750-6-ACME-4C", "1 3/4-6 ACME-4C"),
    ("1.750-6-ACME-4C-LH", "1 3/4-6 ACME-4C LH"),
    ("2.875-0.4P-0.8L-ACME-3G", "2 7/8-2.5 ACME-3G (2 STARTS)"),
    (
        "2.875-0.4P-0.8L-ACME-3C (Two Start)",
        "2 7/8-2.5 ACME-3C (2 STARTS)",
    ),
    (
        "2.500-0.3333P-0.6667L-ACME-4C (Two Start) LH",
        "2 1/2-3 ACME-4C (2 STARTS) LH",
    ),
    ("2-4 ACME-2G", "2-4 ACME-2G"),
    ("0.500-20 Stub Acme", "1/2-20 STUB ACME-2G"),
    ("0.500-20 Stub Acme LH", "1/2-20 STUB ACME-2G LH"),
    ("0.500\"-20 Stub Acme-2G LH", "1/2-20 STUB ACME-2G LH"),
    ("1/2-20 STUB ACME M1", "1/2-20 STUB ACME M1-2G"),
    (
        "1/2-20 stub acme-m2-3g 2 starts",
        "1/2-20 STUB ACME M2-3G (2 STARTS)",
    ),
    (
        "1/2-20 STUB ACME 2 STARTS",
        "1/2-20 STUB ACME-2G (2 STARTS)",
    ),
    ("2.5-8 BUTT-2A", "2 1/2-8 BUTT-2A"),
    ("2.500-8 BUTT-2A-LH", "2 1/2-8 BUTT-2A LH"),
    ("4-6 PUSH-BUTT-3A", "4-6 PUSH-BUTT-3A"),
    ("10-0.25P-0.5L-BUTT-2A", "10-4 BUTT-2A (2 STARTS)"),
    ("Tr40x7-7e", "Tr40x7-7e"),
    ("Tr 40x7-7e", "Tr40x7-7e"),
    ("TR 40 × 7 - 8c", "Tr40x7-8c"),
    ("Tr40x14(P7)LH-7e", "Tr40x14(P7)LH-7e"),
    ("Tr 40 x 14 P7 - 7e LH", "Tr40x14(P7)LH-7e"),
    ("tr8x1.5-9c", "Tr8x1.5-9c"),
    ("Tr40x7-7e (2 starts)", "Tr40x14(P7)-7e"),
    ("S40x7", "S40x7"),
    ("S 40x7 LH", "S40x7LH"),
    ("S80x10-7h", "S80x10-7h"),
    ("s40x14(P7)LH-7e", "S40x14(P7)LH-7e"),
    ("1/2-12 BSW medium", "1/2-12 BSW medium"),
    ("1/2 BSW close", "1/2-12 BSW close"),
    ("1/2\" BSW (free) LH", "1/2-12 BSW free LH"),
    ("1/4 BSF MEDIUM", "1/4-26 BSF medium"),
    ("1-8 BSW medium", "1-8 BSW medium"),
    ("1 BSF free", "1-10 BSF free"),
    ("1 1/4-12 WHIT close", "1 1/4-12 WHIT close"),
    ("G 1/2 A", "G 1/2 A"),
    ("G1/2B", "G 1/2 B"),
    ("g1 1/4-A LH", "G 1 1/4 A LH"),
    ("G 2 B", "G 2 B"),
    ("3/4\" BSPP A", "G 3/4 A"),
    ("4 BA normal", "4 BA normal"),
    ("0BA close LH", "0 BA close LH"),
    ("16 ba NORMAL", "16 BA normal"),
    ("WORM m2 d22.4 z2 20deg", "WORM m2 d22.4 z2 20deg"),
    (
        "worm M2.50 D30.0 Z1 14.5° LH",
        "WORM m2.5 d30 z1 14.5deg LH",
    ),
    (
        "WORM DP10 d1.25 z4 20 deg tip1.45",
        "WORM DP10 d1.25 z4 20deg tip1.45",
    ),
];

#[test]
fn reads_what_is_written_on_drawings() {
    for (written, printed) in READ {
        let found = thread(written);
        assert_eq!(&found.designation, printed, "{written}");
        assert_eq!(thread(printed), found, "{printed}");
    }
}

/// What is refused: the text, the place counted from 0, and a piece of what was expected.
const REFUSED: &[(&str, usize, &str)] = &[
    ("1.5-4 ACME", 10, "a class: 2G"),
    ("1.5-4 ACME-5G", 11, "a class: 2G"),
    ("1.5-4 ACME-2X", 12, "G for general purpose"),
    ("1.5-4 ACME-2G XY", 14, "starts"),
    ("1.5-4 ACMEE-2G", 6, "a Unified series"),
    ("0.1-16 ACME-2G", 0, "0.125 to 20 inch"),
    ("1-1.5 ACME-2G", 2, "half the diameter"),
    ("1-5 ACME-2G 80 STARTS", 12, "1 to 64 starts"),
    ("1-0.2P-0.5L ACME-2G", 7, "whole pitches"),
    ("1-5 ACME-2G LH LH", 15, "already said"),
    ("1/2-20 STUB-2G", 12, "ACME"),
    ("1/2-20 STUB ACME M3", 18, "M1 and M2"),
    ("1/2-20 STUB ACME-2C", 18, "2G, 3G and 4G"),
    ("2.5-8 BUTT-2B", 11, "internal"),
    ("2.5-8 BUTT-1A", 11, "2A or 3A"),
    ("2.5-8 PUSH-2A", 11, "BUTT"),
    ("30-4 BUTT-2A", 0, "0.5 to 24 inch"),
    ("Tr40-7e", 4, "x and a pitch"),
    ("Tr40x7-6e", 7, "a grade of 7 to 9"),
    ("Tr40x7-7H", 8, "internal"),
    ("Tr40x7-7g", 8, "e or c"),
    ("Tr40x7", 6, "a tolerance class"),
    ("Tr40x6.5-7e", 5, "a pitch of the standard"),
    ("Tr100x24-8c", 6, "at most 20 mm for position c"),
    ("Tr40x15(P7)-7e", 5, "whole pitches"),
    ("Tr40x14(7)-7e", 8, "P and the pitch"),
    ("Tr40x14(P7-7e", 10, "a closing bracket"),
    ("Tr40x14(P7)LH-7e LH", 17, "the hand was already said"),
    ("Tr4x1.5-7e", 2, "above 5.6"),
    ("T40x7", 1, "r, as in"),
    ("S40", 3, "x and a pitch"),
    ("S40x7-7H", 7, "internal"),
    ("S40x30", 4, "0.4 of the diameter"),
    ("1/2-12 BSW", 10, "close, medium or free"),
    ("1/2-12 BSW loose", 11, "close, medium or free"),
    ("5/64 BSW medium", 5, "lists none for this diameter"),
    ("1/2 WHIT medium", 4, "lists none for this diameter"),
    ("20-64 ACME-2G", 3, "coarse enough"),
    ("6-80 WHIT free", 2, "coarse enough"),
    ("1/2 BSP A", 4, "BSPP"),
    ("G 1/2", 5, "internal"),
    ("G 7/16 A", 2, "a size of ISO 228-1"),
    ("G 1/2 A 2 STARTS", 8, "one start"),
    ("4 BA", 4, "close or normal"),
    ("12 BA close", 6, "0 to 10 BA"),
    ("17 BA normal", 0, "0 to 16"),
    ("1/2 BA close", 0, "a number"),
    ("WORM 2 d22.4 z2 20deg", 5, "m and the module"),
    ("WORM m2 22.4 z2 20deg", 8, "d and the reference"),
    ("WORM m2 d22.4 z0 20deg", 14, "1 to 64 starts"),
    ("WORM m2 d22.4 z2.5 20deg", 14, "1 to 64 starts"),
    ("WORM m2 d22.4 z2 20", 19, "deg"),
    ("WORM m2 d22.4 z2 60deg", 17, "5 to 45"),
    ("WORM m50 d300 z2 20deg", 5, "0.1 to 40"),
    ("WORM m2 d8 z2 20deg", 8, "above 4 modules"),
    ("WORM m2 d22.4 z2 20deg 3 starts", 23, "2 starts"),
    ("WHEEL", 0, "WORM"),
];

#[test]
fn says_where_and_what_was_expected() {
    for &(text, at, expected) in REFUSED {
        let error = parse(text).expect_err(text);
        assert_eq!(error.at, at, "{text}: {error}");
        assert!(error.expected.contains(expected), "{text}: {error}");
    }
}

#[test]
fn each_text_is_of_its_system() {
    let systems = [
        ("1-5 ACME-2G", System::Acme, "acme"),
        ("1-5 STUB ACME-2G", System::StubAcme, "stub-acme"),
        ("Tr40x7-7e", System::Trapezoidal, "trapezoidal"),
        ("4-6 BUTT-2A", System::Buttress, "buttress"),
        ("S40x7", System::SawTooth, "saw-tooth"),
        ("1/2 BSW close", System::Whitworth, "whitworth"),
        ("G 1/2 A", System::PipeParallel, "pipe-parallel"),
        (
            "4 BA close",
            System::BritishAssociation,
            "british-association",
        ),
        ("WORM m2 d22.4 z2 20deg", System::Worm, "worm"),
    ];
    for (text, system, name) in systems {
        assert_eq!(thread(text).system, system);
        let written = serde_json::to_value(system).expect("a name");
        assert_eq!(written, serde_json::Value::from(name));
    }
}

#[test]
fn unlisted_sizes_are_special_and_say_so() {
    let special = [
        ("1-8 ACME-2G", "not a listed size"),
        ("7-2 ACME-2G", "computed by its formula"),
        ("1-8 STUB ACME-2G", "not a listed size"),
        ("Tr41x7-7e", "does not list"),
        ("Tr40x8-7e", "does not list"),
        ("Tr40x9-7e", "formula behind the table"),
        ("Tr200x18-7e", "ends at 100 mm"),
        ("0.55-8 BUTT-2A", "not a listed combination"),
        ("1/2-20 BSW medium", "BSW lists 12"),
        ("5/64-40 BSW medium", "not a listed size"),
        ("1 1/4-12 WHIT close", "not a listed size"),
    ];
    for (text, because) in special {
        let found = thread(text);
        let sentence = found.basis.sentence();
        assert!(found.special, "{text}");
        assert!(found.limits.is_some(), "{text}");
        assert!(sentence.contains(because), "{text}: {sentence}");
        assert!(sentence.contains("from memory"), "{text}: {sentence}");
    }
}

#[test]
fn threads_without_known_limits_say_so() {
    for text in ["S40x7-7e", "WORM m2 d22.4 z2 20deg"] {
        assert_eq!(thread(text).limits, None, "{text}");
    }
    let sentence = thread("S40x7-7e").basis.sentence();
    assert!(sentence.contains("type those of the drawing"), "{sentence}");
}

#[test]
fn the_load_flank_is_where_the_designation_says() {
    let flanks = |text| {
        let flanks = thread(text).geometry.flanks;
        (
            flanks.leading.degrees().round(),
            flanks.trailing.degrees().round(),
        )
    };
    assert_eq!(flanks("4-6 BUTT-2A"), (45.0, 7.0));
    assert_eq!(flanks("4-6 PUSH-BUTT-2A"), (7.0, 45.0));
    assert_eq!(flanks("S40x7"), (30.0, 3.0));
}

#[test]
fn hand_and_starts_are_kept() {
    let found = thread("2.875-0.4P-0.8L-ACME-3G-LH");
    assert_eq!(
        (found.geometry.starts, found.geometry.hand),
        (2, Hand::Left)
    );
    assert!((found.geometry.lead().inches() - 0.8).abs() < 1e-12);
    let found = thread("Tr40x14(P7)LH-7e");
    assert_eq!(
        (found.geometry.starts, found.geometry.hand),
        (2, Hand::Left)
    );
    assert!((found.geometry.pitch.mm() - 7.0).abs() < 1e-12);
}

fn size() -> impl Strategy<Value = String> {
    prop_oneof![
        (
            1_u32..400,
            prop::sample::select(vec![2_u32, 4, 8, 16, 32, 64])
        )
            .prop_map(|(numerator, denominator)| format!("{numerator}/{denominator}")),
        (1_u32..30).prop_map(|whole| whole.to_string()),
        (1_u32..30, 1_u32..16).prop_map(|(whole, rest)| format!("{whole} {rest}/16")),
        (1_u32..300_000).prop_map(|count| format!("{}", f64::from(count) / 1e4)),
    ]
}

fn tail() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "",
        "",
        "",
        " LH",
        "-LH",
        " 2 STARTS",
        " (3 STARTS) LH",
        " left hand",
        " DOUBLE START",
    ])
}

fn inch_text() -> impl Strategy<Value = String> {
    let system = prop::sample::select(vec![
        "ACME-2G",
        "acme-3c",
        "ACME 4G",
        "STUB ACME",
        "STUB ACME M1-3G",
        "BUTT-2A",
        "PUSH-BUTT-3A",
        "BSW medium",
        "BSF close",
        "WHIT free",
    ]);
    let pitch = prop_oneof![
        (2_u32..80).prop_map(|twice| format!("{}", f64::from(twice) / 2.0)),
        (2_u32..40, 1_u32..6).prop_map(|(twice, starts)| {
            let pitch = 2.0 / f64::from(twice);
            format!("{pitch:.6}P-{:.6}L", pitch * f64::from(starts))
        }),
    ];
    (size(), pitch, system, tail())
        .prop_map(|(size, pitch, system, tail)| format!("{size}-{pitch} {system}{tail}"))
}

fn metric_text() -> impl Strategy<Value = String> {
    let letters = prop::sample::select(vec!["Tr", "TR ", "S"]);
    let class = prop::sample::select(vec!["-7e", "-8e", "-9c", " - 8c", ""]);
    let pitch = prop_oneof![
        prop::sample::select(vec![1_500_u32, 2_000, 3_000, 7_000, 12_000, 24_000]),
        500_u32..40_000,
    ];
    (letters, 5_000_u32..400_000, pitch, 1_u32..9, class, tail()).prop_map(
        |(letters, diameter, pitch, starts, class, tail)| {
            let number = |um: u32| f64::from(um) / 1e3;
            let (diameter, lead, pitch) = (number(diameter), number(pitch * starts), number(pitch));
            match starts {
                1 => format!("{letters}{diameter}x{pitch}{class}{tail}"),
                _ => format!("{letters}{diameter}x{lead}(P{pitch}){class}{tail}"),
            }
        },
    )
}

fn other_text() -> impl Strategy<Value = String> {
    let hand = prop::sample::select(vec!["", " LH"]);
    prop_oneof![
        (
            size(),
            prop::sample::select(vec!["A", " B", ""]),
            hand.clone()
        )
            .prop_map(|(size, class, hand)| format!("G {size}{class}{hand}")),
        (
            0_u32..20,
            prop::sample::select(vec!["close", "normal"]),
            hand.clone()
        )
            .prop_map(|(number, class, hand)| format!("{number} BA {class}{hand}")),
        (
            prop::sample::select(vec!["m", "DP"]),
            1_u32..5_000,
            1_u32..20_000,
            1_u32..70,
            1_u32..500,
            prop::option::of(1_u32..20_000),
            hand,
        )
            .prop_map(|(kind, size, diameter, starts, angle, tip, hand)| {
                let number = |count: u32| f64::from(count) / 100.0;
                let tip = tip.map_or_else(String::new, |tip| format!(" tip{}", number(tip)));
                format!(
                    "WORM {kind}{} d{} z{starts} {}deg{tip}{hand}",
                    number(size),
                    number(diameter),
                    number(10 * angle)
                )
            }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn what_is_printed_reads_back(text in prop_oneof![inch_text(), metric_text(), other_text()]) {
        match parse(&text) {
            Ok(first) => prop_assert_eq!(parse(&first.designation), Ok(first), "{}", text),
            Err(error) => prop_assert!(error.at <= text.chars().count(), "{text}: {error}"),
        }
    }

    /// Root, limits and crest lie one above the other, and the basic size not below the limits.
    #[test]
    fn diameters_are_in_order(text in prop_oneof![inch_text(), metric_text(), other_text()]) {
        if let Ok(found) = parse(&text) {
            let (smallest, largest) = found.pitch_diameter_zone();
            let geometry = found.geometry;
            prop_assert!(geometry.root_diameter.is_none_or(|root| root < smallest), "{text}");
            prop_assert!(geometry.major_diameter.is_none_or(|crest| largest < crest), "{text}");
            prop_assert!(smallest <= largest && largest <= found.basic_pitch_diameter, "{text}");
        }
    }

    /// One character of a good designation replaced by another, or cut off there.
    #[test]
    fn a_slip_of_the_pen_never_panics(
        index in 0..READ.len(),
        place in 0_usize..40,
        slip in prop::option::of(any::<char>()),
    ) {
        let mut text: Vec<char> = READ[index].0.chars().collect();
        let place = place % text.len();
        match slip {
            Some(slip) => text[place] = slip,
            None => text.truncate(place),
        }
        let text: String = text.into_iter().collect();
        match parse(&text) {
            Ok(first) => prop_assert_eq!(parse(&first.designation), Ok(first), "{}", text),
            Err(error) => prop_assert!(error.at <= text.chars().count(), "{text}: {error}"),
        }
    }
}
