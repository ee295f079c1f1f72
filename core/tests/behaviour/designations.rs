//! Reading designations: what is accepted, what is refused and where, and that nothing panics.
//!
//! The spelling of designations follows ASME B1.1 and ISO 965-1, from memory.

use overwire_core::Unit;
use overwire_core::thread::designation::parse;
use overwire_core::thread::{Basis, Hand};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

use crate::thread;

const ACCEPTED: &[(&str, &str)] = &[
    ("1/2-13 UNC-2A", "1/2-13 UNC-2A"),
    (".500-13UNC-2A", "1/2-13 UNC-2A"),
    ("0.5000-13 UNC-2A", "1/2-13 UNC-2A"),
    ("1/2 - 13 unc - 2a", "1/2-13 UNC-2A"),
    ("2/4-13 UNC 2A", "1/2-13 UNC-2A"),
    ("#10-32 UNF-3A LH", "#10-32 UNF-3A LH"),
    ("10-32 UNF-2A", "#10-32 UNF-2A"),
    (".190-32 UNF-2A", "#10-32 UNF-2A"),
    ("1-64 UNC-2A", "#1-64 UNC-2A"),
    ("1-8 UNC-2A", "1-8 UNC-2A"),
    ("1-14 UNS-2A", "1-14 UNS-2A"),
    ("1.0-72 UNS-2A", "1.0000-72 UNS-2A"),
    ("4-4 UNC-2A", "4-4 UNC-2A"),
    ("4-40 UNC-2A", "#4-40 UNC-2A"),
    ("4.0-36 UNS-2A", "4.0000-36 UNS-2A"),
    ("#4-36 UNS-2A", "#4-36 UNS-2A"),
    ("6-16 UN-2A", "6-16 UN-2A"),
    ("6-32 UNC-2A", "#6-32 UNC-2A"),
    ("1 1/8-12 UN-2A", "1 1/8-12 UN-2A"),
    ("1-1/16-12 UN-2A", "1 1/16-12 UN-2A"),
    ("1.0625-12 UN-2A", "1 1/16-12 UN-2A"),
    ("1 1/16-12 UNJ-3A", "1 1/16-12 UNJ-3A"),
    ("1/4-28 UNRF-2A-LH", "1/4-28 UNRF-2A LH"),
    ("2-4.5 UNC-2A", "2-4.5 UNC-2A"),
    ("2-4 1/2 UNC-2A", "2-4.5 UNC-2A"),
    ("2\"-4\u{bd} UNC-2A", "2-4.5 UNC-2A"),
    ("5/8 \u{2013} 11 UNC \u{2013} 1A", "5/8-11 UNC-1A"),
    ("19/64-36 UNS-2A", "19/64-36 UNS-2A"),
    ("0.1900-32 UNF-3A", "#10-32 UNF-3A"),
    ("No. 10-32 UNF-3A", "#10-32 UNF-3A"),
    ("NO 10 - 32 UNF - 3A", "#10-32 UNF-3A"),
    ("# 10-32 UNF-3A", "#10-32 UNF-3A"),
    ("10 (.190)-32 UNF-3A", "#10-32 UNF-3A"),
    ("#4 (.112) - 36 UNS-2A", "#4-36 UNS-2A"),
    ("1/2\"-13 UNC-2A", "1/2-13 UNC-2A"),
    ("4\u{2033}-36 UNS-2A", "4.0000-36 UNS-2A"),
    ("1/2 x 13 UNC-2A", "1/2-13 UNC-2A"),
    ("\u{bd}-13 UNC-2A", "1/2-13 UNC-2A"),
    ("1\u{215b}-12 UN-2A", "1 1/8-12 UN-2A"),
    ("1 \u{bc}\u{2011}7 UNC\u{2212}2A", "1 1/4-7 UNC-2A"),
    ("1\u{2044}2-13 UNC-2A", "1/2-13 UNC-2A"),
    ("  1/2-13   UNC  -  2A  ", "1/2-13 UNC-2A"),
    ("1/2-13UNC2A", "1/2-13 UNC-2A"),
    ("1/2-13 UNC-2A RH", "1/2-13 UNC-2A"),
    ("1/2-13 UNC-2A, left hand", "1/2-13 UNC-2A LH"),
    ("1/2-13 UNC-2A (22)", "1/2-13 UNC-2A (22)"),
    ("1/2-13 UNC-2A (21) LH", "1/2-13 UNC-2A LH (21)"),
    ("1/2-13 UNC-2A LE 1.50", "1/2-13 UNC-2A LE 1.5"),
    ("1/2-13 UNC-2A, LE=1.5 in", "1/2-13 UNC-2A LE 1.5"),
    ("3/4-16 UNF-2A 2 START", "3/4-16 UNF-2A (2 STARTS)"),
    ("3/4-16 UNF-2A (2 STARTS)", "3/4-16 UNF-2A (2 STARTS)"),
    ("3/4-16 unf-2a double start", "3/4-16 UNF-2A (2 STARTS)"),
    ("3/4-16 UNF-2A .125 LEAD", "3/4-16 UNF-2A (2 STARTS)"),
    ("3/4-16 UNF-2A LEAD 0.1875", "3/4-16 UNF-2A (3 STARTS)"),
    (
        "3/4-16 UNF-2A 3-START, LEAD 0.1875 LH",
        "3/4-16 UNF-2A LH (3 STARTS)",
    ),
    ("3/4-16 UNF-2A 1 START", "3/4-16 UNF-2A"),
    (
        "0.750-0.0625P-0.1875L(3 STARTS) UNR-2A",
        "3/4-16 UNR-2A (3 STARTS)",
    ),
    (".500-.0769P-.1538L-UNC-2A", "1/2-13 UNC-2A (2 STARTS)"),
    (".750-.0625P UNF-3A", "3/4-16 UNF-3A"),
    (
        "1/2-13 UNC-2A (22) LE 1.25 LH (2 STARTS)",
        "1/2-13 UNC-2A LH (2 STARTS) LE 1.25 (22)",
    ),
    ("1.00 UNM", "1.00 UNM"),
    (".8UNM", "0.80 UNM"),
    ("1.4 unm LH", "1.40 UNM LH"),
    ("M10-6g", "M10x1.5-6g"),
    ("m10x1.5-6g", "M10x1.5-6g"),
    ("M 10 × 1.50 - 6g", "M10x1.5-6g"),
    ("M20x1.5-5g6g", "M20x1.5-5g6g"),
    ("M20x1.5-6g6g", "M20x1.5-6g"),
    ("M10x1.5-6g LH", "M10x1.5-6g LH"),
    ("M10X1.5-6g-LH", "M10x1.5-6g LH"),
    ("M16xPh3P1.5-6g", "M16xPh3P1.5-6g"),
    ("M40x1.5-4h", "M40x1.5-4h"),
    ("M3.5-6h", "M3.5x0.6-6h"),
    ("M1.6x0.35-4h6h", "M1.6x0.35-4h6h"),
    ("M6x0.75 - 5h6h - S - LH", "M6x0.75-5h6h-S LH"),
    ("M6x0.75-5h6h-LH-s", "M6x0.75-5h6h-S LH"),
    ("M20x2-7g6g-L", "M20x2-7g6g-L"),
    ("M20x2-7g6g-N", "M20x2-7g6g"),
    ("M20x2-7g6g-40", "M20x2-7g6g LE 40"),
    ("M20x2-7g6g LE 40 mm LH", "M20x2-7g6g LE 40 LH"),
    ("M10x1.5-6gLH", "M10x1.5-6g LH"),
    ("M8-1.25-6g", "M8x1.25-6g"),
    ("M8 - 1 - 6g", "M8x1-6g"),
    ("M8 - 6g", "M8x1.25-6g"),
    ("M16xPh3P1.5 (two starts)-6g", "M16xPh3P1.5-6g"),
    ("M16 X L3-P1.5-6h (TWO STARTS)", "M16xPh3P1.5-6h"),
    ("M16x1.5-6g 2 START", "M16xPh3P1.5-6g"),
    ("M16x1.5-6g, lead 3 mm", "M16xPh3P1.5-6g"),
    ("M16xPh1.5P1.5-6g", "M16x1.5-6g"),
    ("MJ6x1-4h6h", "MJ6x1-4h6h"),
    ("mj 6 x 1 - 4h6h - lh", "MJ6x1-4h6h LH"),
];

#[test]
fn accepted_spellings_print_canonically() {
    for &(text, canonical) in ACCEPTED {
        let read = thread(text);
        assert_eq!(read.designation, canonical, "from {text}");
        assert_eq!(thread(canonical), read, "{text} and its print");
    }
}

/// Text, index of the character where reading stops, and words of the message.
const REFUSED: &[(&str, usize, &str)] = &[
    ("", 0, "a designation such as"),
    ("   ", 3, "found the end"),
    ("Q40x7-7e", 0, "a designation such as"),
    ("1/2", 3, "threads per inch"),
    ("1/2 13 UNC-2A", 4, "a dash"),
    ("1/2-", 4, "threads per inch"),
    ("1/2-13", 6, "found the end, expected a Unified series"),
    ("1/2-13 NPT", 7, "as a custom thread"),
    ("1/2-13 UNX-2A", 7, "found `UNX-2A`"),
    ("1/2-13 UNC", 10, "a class: 1A, 2A or 3A"),
    ("1/2-13 UNC-2B", 11, "B is an internal thread"),
    ("1/2-13 UNC-4A", 11, "a class: 1A, 2A or 3A"),
    ("1/2-13 UNC-2A XH", 14, "LH or the end"),
    ("1/2-13 UNC-2A -", 14, "LH or the end"),
    ("1/2-13 UNC-2A LH x", 17, "the end"),
    ("1/2-13 UNC-2A LH RH", 17, "this was already said"),
    ("1/2-13 UNC-2A LE", 16, "a length of engagement in in"),
    ("1/2-13 UNC-2A LE 0.05", 14, "one pitch to 24 inch"),
    ("1/2-13 UNC-2A 1.5", 14, "LE 1.5"),
    ("1/2-13 UNC-2A (24)", 14, "(22)"),
    ("1/2-13 UNC-2A (22", 17, "a closing bracket"),
    ("1/2-13 UNC-2A 0 STARTS", 14, "1 to 64 starts"),
    ("1/2-13 UNC-2A 2.5 STARTS", 14, "1 to 64 starts"),
    ("1/2-13 UNC-2A TWO", 17, "START"),
    (
        "3/4-16 UNF-2A LEAD .1",
        14,
        "a lead of 1 to 64 whole pitches",
    ),
    (
        "3/4-16 UNF-2A (3 STARTS) LEAD .125",
        25,
        "3 starts, as said before",
    ),
    (
        ".750-.0625P-.1875L (2 STARTS) UN-2A",
        19,
        "3 starts, as said",
    ),
    (".750-.0625P-.1 UN-2A", 14, "L after the lead"),
    (".750-.0625P-.1L UN-2A", 12, "whole pitches"),
    (".750-.0613P UN-2A", 5, "whole or half threads per inch"),
    (".750-0P UN-2A", 5, "whole or half threads per inch"),
    ("10 (.191)-32 UNF-3A", 4, "0.19 as before"),
    ("No. 7-32 UNC-2A", 4, "a numbered size"),
    ("\u{2153}-13 UNC-2A", 0, "a designation such as"),
    ("0.95 UNM", 0, "one of the 14 sizes"),
    ("1.00 UNM x", 9, "LH or the end"),
    ("0,500-13 UNC-2A", 1, "a decimal point"),
    ("1/2-13,5 UNC-2A", 6, "a decimal point"),
    ("1/3-13 UNC-2A", 0, "a fraction in halves to sixty-fourths"),
    ("1 1/7-12 UN-2A", 2, "a fraction in halves"),
    ("0/2-13 UNC-2A", 0, "a fraction"),
    ("#7-32 UNC-2A", 1, "a numbered size"),
    ("#-32 UNC-2A", 1, "a numbered size"),
    (
        "4-36 UNS-2A",
        0,
        "#4 for the numbered size, or 4.0 for inches",
    ),
    ("1/2-0 UNC-2A", 4, "1 to 200"),
    ("1/2-2 UNS-2A", 4, "a pitch of at most half the diameter"),
    ("99-4 UN-2A", 0, "0.03 to 24 inch"),
    ("1.2.3-4 UN-2A", 0, "a diameter in inches"),
    ("M", 1, "a diameter in mm"),
    ("MJ10-4h6h", 4, "x and a pitch"),
    ("MK10x1.5-6g", 1, "a diameter in mm"),
    ("M10x1.5-6g-Q", 11, "LH or the end"),
    ("M10x1.5-6g-L-S", 13, "this was already said"),
    ("M10x1.5-6g-1", 11, "one pitch to 1000 mm"),
    ("M16xPh3P1.5-6g 3 STARTS", 15, "2 starts, as said before"),
    ("M16xPh3P1.5 (3 starts)-6g", 12, "2 starts, as said before"),
    ("M16xPh3P1.5 (S)-6g", 12, "(2 STARTS)"),
    ("M10x", 4, "a pitch in mm"),
    ("M10x1,5-6g", 5, "a decimal point, as in 1.5"),
    ("M10", 3, "a tolerance class"),
    ("M9.7-6g", 4, "no coarse pitch"),
    ("M10x1.5-6H", 9, "capitals mean an internal thread"),
    ("M10x1.5-6G", 9, "capitals mean an internal thread"),
    ("M10x1.5-6k", 9, "e, f, g or h"),
    ("M10x1.5-2g", 8, "a grade of 3 to 9"),
    ("M10x1.5-10g", 8, "a grade of 3 to 9"),
    ("M10x1.5-5g6", 11, "e, f, g or h"),
    ("M10x1.5-6g LK", 11, "LH or the end"),
    ("M10x1.5-6g/6H", 10, "LH or the end"),
    ("M16xPh3-6g", 7, "P and the pitch"),
    ("M16xPh3P2-6g", 4, "whole pitches"),
    ("M16xPh3P0-6g", 4, "whole pitches"),
    ("M10x6-6g", 4, "at most half the diameter"),
    ("M400x6-6g", 1, "1 to 355 mm"),
    ("M10x0.1-6g", 4, "0.2 to 8 mm"),
    ("M10x1.2345-6g", 4, "at most three decimal places"),
];

#[test]
fn refusals_name_place_and_expectation() {
    for &(text, at, words) in REFUSED {
        let error = parse(text).expect_err(text);
        let message = error.to_string();
        assert_eq!(error.at, at, "{text}: {message}");
        assert!(message.contains(words), "{text}: {message}");
        assert!(!message.contains('\n'), "{text}: one line");
    }
}

#[test]
fn a_text_that_never_ends_is_refused() {
    let error = parse(&"1".repeat(10_000)).expect_err("too long");
    assert_eq!(error.at, 80);
}

#[test]
fn what_was_read_is_all_there() {
    let stud = thread("M16xPh3P1.5-5g6g LH");
    assert_eq!(stud.geometry.starts, 2);
    assert_eq!(stud.geometry.lead().mm(), 3.0);
    assert_eq!(stud.geometry.hand, Hand::Left);
    assert_eq!(stud.unit, Unit::Millimetre);
    let close = thread("1/4-20 UNC-3A");
    let free = thread("1/4-20 UNC-2A");
    let crest = |thread: &overwire_core::Thread| thread.geometry.major_diameter;
    assert_eq!(
        crest(&close).map(|major| major.to_text(Unit::Inch, 4)),
        Some("0.2500 in".into())
    );
    assert_eq!(
        crest(&free).map(|major| major.to_text(Unit::Inch, 4)),
        Some("0.2489 in".into())
    );
}

#[test]
fn unlisted_sizes_are_special_and_say_so() {
    let listed = [
        "1/2-13 UNC-2A",
        "1 1/16-12 UN-2A",
        "2 1/2-16 UN-3A",
        "M10x1.25-6g",
        "M40x1.5-4h",
    ];
    for text in listed {
        assert!(!thread(text).special, "{text}");
    }
    let special = [
        ("1/2-27 UNS-2A", "special thread"),
        ("2 7/16-16 UNS-2A", "9 pitches"),
        ("1-14 UNS-2A", "the diameter as length of engagement"),
        ("1/2-14 UNF-2A", "UNF lists 20 threads per inch"),
        (
            ".312-18 UNC-2A",
            "If the listed 5/16-18 is meant, write it so.",
        ),
        ("0.563-18 UNF-2A", "If the listed 9/16-18 is meant"),
        ("M10x0.6-6g", "ISO 261 does not list"),
        ("M8x0.4-6g", "formulas behind the tables"),
    ];
    for (text, words) in special {
        let thread = thread(text);
        assert!(thread.special, "{text}");
        assert!(
            thread.basis.sentence().contains(words),
            "{}",
            thread.basis.sentence()
        );
    }
}

#[test]
fn a_series_that_does_not_list_the_size_is_pointed_out() {
    let mislabelled = thread("1/2-13 UNF-2A");
    assert!(!mislabelled.special);
    assert!(mislabelled.basis.sentence().contains("listed as UNC"));
    assert_eq!(mislabelled.limits, thread("1/2-13 UNC-2A").limits);
}

#[test]
fn limits_taken_from_print_say_where_from() {
    let basis = thread("15/16-12 UN-2A").basis.sentence();
    assert!(basis.contains("as printed in"), "{basis}");
    let Basis::Standard { from_memory, .. } = thread("1/2-13 UNC-2A").basis else {
        panic!("a standard thread has a standard basis");
    };
    assert!(from_memory);
}

fn unified_text() -> impl Strategy<Value = String> {
    let size = prop_oneof![
        (0_u32..=12).prop_map(|number| format!("#{number}")),
        (0_u32..=12).prop_map(|whole| whole.to_string()),
        (1_u32..64, 1_u32..7).prop_map(|(top, power)| format!("{top}/{}", 1_u32 << power)),
        (1_u32..6, 1_u32..16).prop_map(|(whole, top)| format!("{whole}-{top}/16")),
        (300_u32..60_000).prop_map(|steps| format!("{}.{:04}", steps / 10_000, steps % 10_000)),
    ];
    let series = prop::sample::select(vec![
        "UN", "unc", "UNF", "UNEF", "UNS", "UNR", "UNJ", "UNRC", "UNJF",
    ]);
    let class = prop::sample::select(vec!["1A", "2a", "3A"]);
    (size, 3_u32..90, series, class, tail(UNIFIED_TAILS)).prop_map(
        |(size, count, series, class, tail)| format!("{size}-{count} {series}-{class}{tail}"),
    )
}

const UNIFIED_TAILS: &[&str] = &[
    " LH",
    "-lh",
    ", left hand",
    " (2 STARTS)",
    " double start",
    " LE 1.25",
    " LE=.75 in",
    " (21)",
];

const METRIC_TAILS: &[&str] = &[
    " LH",
    "-LH",
    "-S",
    "-L",
    "-n",
    " LE 30",
    "-45",
    " (3 starts)",
];

/// Some of what may follow a class, in any order, mostly nothing.
fn tail(of: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(of), 0..3).prop_map(|parts| parts.concat())
}

fn metric_text() -> impl Strategy<Value = String> {
    let class = "[3-9][efgh]([3-9][efgh])?";
    (
        1_000_u32..355_000,
        200_u32..8_000,
        1_u32..9,
        class,
        tail(METRIC_TAILS),
    )
        .prop_map(|(diameter, pitch, starts, class, tail)| {
            let number = |um: u32| format!("{}.{:03}", um / 1_000, um % 1_000);
            let (diameter, lead, pitch) = (number(diameter), number(pitch * starts), number(pitch));
            match starts {
                1 => format!("M{diameter}x{pitch}-{class}{tail}"),
                _ => format!("M{diameter}xPh{lead}P{pitch}-{class}{tail}"),
            }
        })
}

/// Reading what was printed gives the same thread, whatever the first text was; what is refused
/// is refused at a place in the text.
fn print_and_read_again(text: &str) -> Result<(), TestCaseError> {
    match parse(text) {
        Ok(first) => {
            let again = parse(&first.designation);
            prop_assert_eq!(again, Ok(first), "{}", text);
        }
        Err(error) => prop_assert!(error.at <= text.chars().count(), "{text}: {error}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,90}") {
        print_and_read_again(&text)?;
    }

    #[test]
    fn any_text_of_the_right_letters_is_read_or_refused(text in "[M#0-9./,xPhUNCFEJRSLTD ABefgh6()=½\\-]{0,32}") {
        print_and_read_again(&text)?;
    }

    #[test]
    fn unified_prints_read_back(text in unified_text()) {
        print_and_read_again(&text)?;
    }

    #[test]
    fn metric_prints_read_back(text in metric_text()) {
        print_and_read_again(&text)?;
    }

    #[test]
    fn a_broken_designation_is_read_or_refused(
        text in prop_oneof![unified_text(), metric_text()],
        place in any::<prop::sample::Index>(),
        letter in any::<char>(),
    ) {
        let mut letters: Vec<char> = text.chars().collect();
        let place = place.index(letters.len());
        letters[place] = letter;
        print_and_read_again(&letters.into_iter().collect::<String>())?;
    }
}

/// The generators above make designations that are mostly understood.
#[test]
fn the_generators_make_real_designations() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut understood = 0;
    for _ in 0..200 {
        let text = prop_oneof![unified_text(), metric_text()].new_tree(&mut runner);
        understood += i32::from(parse(&text.expect("a text").current()).is_ok());
    }
    assert!(understood > 100, "only {understood} of 200");
}
