//! Decimals, lengths and units.

use overwire_core::decimal::{Decimal, DecimalError, format_to};
use overwire_core::units::{
    Angle, Length, OverWires, Pitch, PitchDiameter, Unit, UnitError, WireDiameter,
};
use proptest::prelude::*;

use crate::{inches, mm};

#[test]
fn a_decimal_keeps_what_was_shown() {
    for text in ["0.5100", "0.51", "12", "-0.0012", "0", "1.07930", "007.50"] {
        let shown = Decimal::parse(text).expect(text);
        let expected = if text == "007.50" { "7.50" } else { text };
        assert_eq!(shown.to_string(), expected);
    }
    assert_eq!(
        Decimal::parse("+1.5").map(|decimal| decimal.steps()),
        Ok(15)
    );
    assert_eq!(
        Decimal::parse("-0.000").map(|decimal| decimal.to_string()),
        Ok("0.000".into())
    );
}

#[test]
fn what_is_no_decimal_is_named() {
    let found = |text: &str| Decimal::parse(text).expect_err(text);
    assert_eq!(found(""), DecimalError::Empty);
    assert_eq!(found("-"), DecimalError::Empty);
    assert_eq!(found("1,5"), DecimalError::Comma { at: 1 });
    assert_eq!(
        found("1.5e3"),
        DecimalError::UnexpectedCharacter { at: 3, found: 'e' }
    );
    assert_eq!(
        found("--1"),
        DecimalError::UnexpectedCharacter { at: 1, found: '-' }
    );
    assert_eq!(
        found("1.2.3"),
        DecimalError::UnexpectedCharacter { at: 3, found: '.' }
    );
    assert_eq!(
        found(" 1"),
        DecimalError::UnexpectedCharacter { at: 0, found: ' ' }
    );
    assert_eq!(
        found("١"),
        DecimalError::UnexpectedCharacter { at: 0, found: '١' }
    );
    assert!(matches!(found("5."), DecimalError::MissingDigits { .. }));
    assert!(matches!(found(".5"), DecimalError::MissingDigits { .. }));
    assert!(matches!(
        found("1234567890123456"),
        DecimalError::TooManyDigits { digits: 16 }
    ));
    assert!(matches!(
        found("0.123456789"),
        DecimalError::TooManyPlaces { places: 9 }
    ));
    assert!(found("1,5").to_string().contains("write 1.5"));
}

#[test]
fn inches_are_converted_by_one_rounding() {
    let length = |text: &str| Decimal::parse(text).expect(text).length(Unit::Inch);
    assert_eq!(length("0.0001"), Ok(mm(0.00254)));
    assert_eq!(length("0.5123"), Ok(mm(13.01242)));
    assert_eq!(length("1.07930"), Ok(mm(27.41422)));
    assert!(matches!(length("400"), Err(UnitError::TooLong { .. })));
    assert!(matches!(
        length("999999999999999"),
        Err(UnitError::TooLong { .. })
    ));
}

#[test]
fn lengths_that_make_no_sense_are_refused() {
    assert!(matches!(
        Length::from_mm(f64::NAN),
        Err(UnitError::NotFinite { .. })
    ));
    assert!(matches!(
        Length::from_inches(f64::INFINITY),
        Err(UnitError::NotFinite { .. })
    ));
    assert!(matches!(
        Length::from_mm(10_000.1),
        Err(UnitError::TooLong { .. })
    ));
    assert!(matches!(
        Angle::from_degrees(f64::NAN),
        Err(UnitError::NotFinite { .. })
    ));
    assert!(matches!(
        Angle::from_degrees(361.0),
        Err(UnitError::TooWide { .. })
    ));
    assert!(Pitch::from_threads_per_inch(0.0).is_err());
    assert!(Pitch::from_threads_per_inch(-13.0).is_err());
    assert!(Pitch::from_threads_per_inch(1e-9).is_err());
    assert!(Pitch::from_length(Length::ZERO).is_err());
    assert!(WireDiameter::new(mm(-1.0)).is_err());
    let error = WireDiameter::new(Length::ZERO).expect_err("no wire");
    assert_eq!(error.to_string(), "wire diameter must be above 0, found 0");
    assert_eq!(error.code(), "not-positive");
    assert!(OverWires::new(mm(1.0)).is_ok() && PitchDiameter::new(mm(1.0)).is_ok());
}

#[test]
fn texts_never_show_a_minus_before_nothing() {
    assert_eq!(format_to(-0.000_04, 4), "0.0000");
    assert_eq!(format_to(-0.000_06, 4), "-0.0001");
    assert_eq!(format_to(2.0, 0), "2");
    assert_eq!((-inches(0.25)).to_text(Unit::Millimetre, 2), "-6.35 mm");
}

#[test]
fn units_are_written_as_in_files() {
    let text = serde_json::to_string(&[Unit::Millimetre, Unit::Inch]).expect("a text");
    assert_eq!(text, r#"["mm","in"]"#);
    assert_eq!(Unit::parse(" In "), Ok(Unit::Inch));
    assert_eq!(
        Unit::parse("").map_err(|error| error.code()),
        Err("unknown-unit")
    );
}

/// Rust's own formatting rounds the exact decimal expansion: the reference for the swift way.
fn exactly(number: f64, places: u8) -> String {
    let text = format!("{number:.*}", usize::from(places));
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

#[test]
fn ties_are_rounded_by_the_exact_expansion() {
    for (number, places) in [
        (0.125, 2),
        (0.375, 2),
        (2.5, 0),
        (-2.5, 0),
        (1.005, 2),
        (0.000_05, 4),
        (0.499_999_999_999_999_94, 0),
        (-0.000_04, 4),
        (0.0, 3),
        (-0.0, 3),
        (1e15, 4),
        (123_456.789_05, 4),
        (f64::MAX, 2),
        (f64::INFINITY, 2),
    ] {
        assert_eq!(
            format_to(number, places),
            exactly(number, places),
            "{number} to {places}"
        );
    }
}

proptest! {
    #[test]
    fn numbers_are_written_as_their_exact_expansion_rounds(
        steps in -9_000_000_000_i64..9_000_000_000,
        by in 0_u8..10,
        places in 0_u8..14,
        bits in any::<u64>(),
    ) {
        // Decimals of displays, with ties among them, and anything that a number can be.
        let number = steps as f64 / 10f64.powi(i32::from(by));
        prop_assert_eq!(format_to(number, places), exactly(number, places));
        let any = f64::from_bits(bits);
        prop_assert_eq!(format_to(any, places), exactly(any, places));
    }
}

proptest! {
    #[test]
    fn any_text_is_a_decimal_or_is_refused(text in "\\PC{0,24}") {
        if let Ok(decimal) = Decimal::parse(&text) {
            let again = Decimal::parse(&decimal.to_string());
            prop_assert_eq!(again, Ok(decimal));
        }
    }

    #[test]
    fn steps_come_back(steps in -999_999_999_999_999_i64..=999_999_999_999_999, places in 0_u8..=8) {
        let decimal = Decimal::from_steps(steps, places).expect("a decimal");
        prop_assert_eq!(Decimal::parse(&decimal.to_string()), Ok(decimal));
        // Rust's own reader rounds correctly, too.
        prop_assert_eq!(Ok(decimal.value()), decimal.to_string().parse::<f64>());
    }

    #[test]
    fn inch_displays_survive_the_way_through_millimetres(steps in 0_i64..3_900_000, places in 4_u8..=6) {
        let shown = Decimal::from_steps(steps, places).expect("a decimal");
        let length = shown.length(Unit::Inch).expect("a length");
        prop_assert_eq!(format_to(length.inches(), places), shown.to_string());
        // The nearest number to the exact product, by way of Rust's own decimal reader.
        let exact = format!("{}e-{}", steps * 254, places + 1).parse::<f64>();
        prop_assert_eq!(Ok(length.mm()), exact);
    }
}
