//! A number exactly as a display showed it.
//!
//! A micrometer shows steps of its last digit. [`Decimal`] keeps the count of
//! steps and the number of places, so `0.5100` and `0.51` stay different texts
//! of the same value, and a conversion rounds once.
//!
//! Accepted: an optional sign, digits, an optional `.` with digits after it;
//! at most 15 digits and 8 places. Refused, with what was found: anything else,
//! among them a decimal comma, an exponent and an empty text.

use std::fmt;

use thiserror::Error;

use crate::units::{Length, Unit, UnitError};

/// The most digits a decimal may have.
pub const MOST_DIGITS: usize = 15;

/// The most digits after the decimal point.
pub const MOST_PLACES: u8 = 8;

/// A decimal number: `steps` times ten to the power of minus `places`.
///
/// ```
/// use overwire_core::decimal::Decimal;
/// use overwire_core::units::Unit;
///
/// let shown = Decimal::parse("0.5100")?;
/// assert_eq!((shown.steps(), shown.places()), (5100, 4));
/// assert_eq!(shown.to_string(), "0.5100");
/// assert_eq!(shown.length(Unit::Inch)?.mm(), 12.954);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Decimal {
    steps: i64,
    places: u8,
}

/// Why a text is not a decimal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DecimalError {
    /// Nothing was there.
    #[error("expected a decimal number, found nothing")]
    Empty,
    /// A decimal comma.
    #[error("expected a decimal point, found `,` at character {}; write 1.5, not 1,5", .at + 1)]
    Comma {
        /// Index of the comma, counted in characters from 0.
        at: usize,
    },
    /// Some other character that does not belong.
    #[error("expected a digit, found `{found}` at character {}", .at + 1)]
    UnexpectedCharacter {
        /// Index of the character, counted from 0.
        at: usize,
        /// The character.
        found: char,
    },
    /// No digit before or after the point.
    #[error("expected digits before and after the decimal point, found `{found}`")]
    MissingDigits {
        /// The text.
        found: String,
    },
    /// More digits than a display has.
    #[error("expected at most {MOST_DIGITS} digits, found {digits}")]
    TooManyDigits {
        /// How many there were.
        digits: usize,
    },
    /// More places than any micrometer shows.
    #[error("expected at most {MOST_PLACES} digits after the decimal point, found {places}")]
    TooManyPlaces {
        /// How many there were.
        places: usize,
    },
}

impl DecimalError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            DecimalError::Empty => "empty",
            DecimalError::Comma { .. } => "decimal-comma",
            DecimalError::UnexpectedCharacter { .. } => "unexpected-character",
            DecimalError::MissingDigits { .. } => "missing-digits",
            DecimalError::TooManyDigits { .. } => "too-many-digits",
            DecimalError::TooManyPlaces { .. } => "too-many-places",
        }
    }
}

impl Decimal {
    /// Reads a decimal as a display shows it. A minus before nothing but zeros is dropped.
    pub fn parse(text: &str) -> Result<Decimal, DecimalError> {
        let signed = text.strip_prefix(['+', '-']);
        let unsigned = signed.unwrap_or(text);
        let offset = usize::from(signed.is_some());
        if unsigned.is_empty() {
            return Err(DecimalError::Empty);
        }
        check_characters(unsigned, offset)?;
        let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
        if whole.is_empty() || unsigned.ends_with('.') {
            return Err(DecimalError::MissingDigits {
                found: text.chars().take(MOST_DIGITS).collect(),
            });
        }
        let steps = count_steps(whole, fraction)?;
        Ok(Decimal {
            steps: if text.starts_with('-') { -steps } else { steps },
            places: fraction.len() as u8,
        })
    }

    /// Parses what a person typed: as [`Decimal::parse`], but the zero before the point may be left out, as inch
    /// shops write it. Not for instruments, where a missing digit is a damaged message.
    ///
    /// ```
    /// use overwire_core::decimal::Decimal;
    /// assert_eq!(Decimal::parse_typed(".5125")?, Decimal::parse("0.5125")?);
    /// assert!(Decimal::parse(".5125").is_err() && Decimal::parse_typed(".").is_err());
    /// # Ok::<(), overwire_core::decimal::DecimalError>(())
    /// ```
    pub fn parse_typed(text: &str) -> Result<Decimal, DecimalError> {
        let sign = text.strip_prefix(['+', '-']).map_or(0, |_| 1);
        match text.split_at_checked(sign) {
            Some((sign, unsigned)) if unsigned.starts_with('.') && unsigned.len() > 1 => {
                Decimal::parse(&format!("{sign}0{unsigned}"))
            }
            _ => Decimal::parse(text),
        }
    }

    /// A decimal of so many steps of its last place. Refuses more places than [`MOST_PLACES`]
    /// or more digits than [`MOST_DIGITS`].
    pub fn from_steps(steps: i64, places: u8) -> Result<Decimal, DecimalError> {
        if places > MOST_PLACES {
            return Err(DecimalError::TooManyPlaces {
                places: places.into(),
            });
        }
        let digits = steps.unsigned_abs().checked_ilog10().unwrap_or(0) as usize + 1;
        if digits > MOST_DIGITS {
            return Err(DecimalError::TooManyDigits { digits });
        }
        Ok(Decimal { steps, places })
    }

    /// The count of steps of the last place.
    pub const fn steps(self) -> i64 {
        self.steps
    }

    /// The number of digits after the decimal point.
    pub const fn places(self) -> u8 {
        self.places
    }

    /// The nearest floating-point number.
    pub fn value(self) -> f64 {
        // Both numbers are whole and below 2^53, so the one division rounds correctly.
        self.steps as f64 / self.step_divisor()
    }

    /// The length this is when the display was set to `unit`, rounded once.
    pub fn length(self, unit: Unit) -> Result<Length, UnitError> {
        match unit {
            Unit::Millimetre => Length::from_mm(self.value()),
            // 254 per tenth of an inch keeps numerator and divisor whole. Within the ten
            // metres a length may have, the numerator stays below 2^53.
            Unit::Inch => {
                let tenths = (self.steps * 254) as f64;
                Length::from_mm(tenths / (self.step_divisor() * 10.0))
            }
        }
    }

    /// One step of a display in `unit` that shows so many places.
    ///
    /// # Errors
    /// None that a decimal can have; the length is checked as every other.
    pub fn step(self, unit: Unit) -> Result<Length, UnitError> {
        Length::from_unit(step(self.places), unit)
    }

    fn step_divisor(self) -> f64 {
        10_u64.pow(self.places.into()) as f64
    }
}

fn check_characters(unsigned: &str, offset: usize) -> Result<(), DecimalError> {
    let mut point_seen = false;
    for (index, character) in unsigned.chars().enumerate() {
        let at = index + offset;
        match character {
            '0'..='9' => {}
            '.' if !point_seen => point_seen = true,
            ',' => return Err(DecimalError::Comma { at }),
            found => return Err(DecimalError::UnexpectedCharacter { at, found }),
        }
    }
    Ok(())
}

fn count_steps(whole: &str, fraction: &str) -> Result<i64, DecimalError> {
    let digits = whole.len() + fraction.len();
    if digits > MOST_DIGITS {
        return Err(DecimalError::TooManyDigits { digits });
    }
    if fraction.len() > usize::from(MOST_PLACES) {
        return Err(DecimalError::TooManyPlaces {
            places: fraction.len(),
        });
    }
    let digit_bytes = whole.bytes().chain(fraction.bytes());
    Ok(digit_bytes.fold(0, |steps, byte| steps * 10 + i64::from(byte - b'0')))
}

impl fmt::Display for Decimal {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.steps < 0 { "-" } else { "" };
        let magnitude = self.steps.unsigned_abs();
        let divisor = 10_u64.pow(self.places.into());
        let whole = magnitude / divisor;
        if self.places == 0 {
            return write!(formatter, "{sign}{whole}");
        }
        let width = usize::from(self.places);
        let fraction = magnitude % divisor;
        write!(formatter, "{sign}{whole}.{fraction:0width$}")
    }
}

/// One step of a display of so many places, in its unit.
pub fn step(places: u8) -> f64 {
    10f64.powi(-i32::from(places))
}

/// A number rounded to so many places, as text; never a minus before nothing but zeros.
///
/// ```
/// use overwire_core::decimal::format_to;
/// assert_eq!(format_to(0.51, 4), "0.5100");
/// assert_eq!(format_to(-0.00001, 3), "0.000");
/// ```
pub fn format_to(number: f64, places: u8) -> String {
    let mut text = String::new();
    write_to(&mut text, number, places);
    text
}

/// [`format_to`] at the end of a text that is there already.
pub fn write_to(text: &mut String, number: f64, places: u8) {
    match steps_of(number, places) {
        Some(steps) => write_steps(text, steps, usize::from(places)),
        None => write_exactly(text, number, usize::from(places)),
    }
}

/// Most places of which a power of ten still leaves room for whole numbers in an `f64`.
const SWIFT_PLACES: u8 = 12;

/// The number in steps of its last place; none near a half step, where only its exact decimal expansion tells
/// which way to round, and none where steps are too many to be told apart.
fn steps_of(number: f64, places: u8) -> Option<i64> {
    if places > SWIFT_PLACES {
        return None;
    }
    let scaled = number * 10f64.powi(i32::from(places));
    let near = scaled.round_ties_even();
    // The product is off by 2^-53 of itself at most, which is below half a thousandth of a step here.
    let sure = (scaled - near).abs() < 0.499 && scaled.abs() < 4e12;
    sure.then_some(near as i64)
}

fn write_steps(text: &mut String, steps: i64, places: usize) {
    let mut digits = [b'0'; 32];
    let mut left = steps.unsigned_abs();
    let mut at = digits.len();
    while left > 0 || digits.len() - at <= places {
        at -= 1;
        digits[at] = b'0' + (left % 10) as u8;
        left /= 10;
    }
    if steps < 0 {
        text.push('-');
    }
    let (whole, fraction) = digits[at..].split_at(digits.len() - at - places);
    text.extend(whole.iter().map(|digit| char::from(*digit)));
    if places > 0 {
        text.push('.');
        text.extend(fraction.iter().map(|digit| char::from(*digit)));
    }
}

fn write_exactly(text: &mut String, number: f64, places: usize) {
    let written = format!("{number:.places$}");
    match written.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => text.push_str(rest),
        _ => text.push_str(&written),
    }
}
