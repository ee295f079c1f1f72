//! Inch designations: size and threads per inch, which all inch systems share, and then the word
//! that says which system it is.

use super::scanner::Scanner;
use super::{DesignationError, Places, Thread, unified};
use crate::thread::inch_size::{self, InchSize};

const SYSTEMS: &str = "a Unified series: UN, UNC, UNF, UNEF or UNS, with R or J after UN for those \
                       forms; describe any other thread by its numbers, as a custom thread";

/// What all inch designations begin with, as in `1/2-13`.
pub(super) struct Head {
    written: Written,
    /// Threads per inch, from groove to neighbouring groove.
    pub(super) threads_per_inch: f64,
    /// Where size and threads per inch began; `class` is to be set by the system.
    pub(super) places: Places,
}

/// The size as it stands, before the threads per inch have said what a whole number means.
enum Written {
    Clear(InchSize),
    WholeNumber(u32),
}

/// Reads size and threads per inch; the word that follows says who reads on. Each system's
/// `finish` starts at its own word and reads to the end of the text.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    let head = Head::take(scanner)?;
    scanner.skip_separators();
    match scanner.word_ahead().as_str() {
        word if word.starts_with("UN") => unified::finish(scanner, &head),
        _ => Err(scanner.expected(SYSTEMS)),
    }
}

impl Head {
    fn take(scanner: &mut Scanner) -> Result<Head, DesignationError> {
        let diameter = scanner.place();
        let written = take_size(scanner)?;
        scanner.skip_spaces();
        if !scanner.eat_dash() {
            return Err(scanner.expected("a dash and the threads per inch, as in 1/2-13"));
        }
        scanner.skip_spaces();
        let pitch = scanner.place();
        let threads_per_inch = scanner
            .take_decimal("the threads per inch, as in 1/2-13")?
            .value();
        Ok(Head {
            written,
            threads_per_inch,
            places: Places {
                diameter,
                pitch,
                class: pitch,
            },
        })
    }

    /// The size in a system that has numbered sizes: `10-32` is number 10, `1-8` is one inch.
    pub(super) fn size_or_number(&self) -> Result<InchSize, DesignationError> {
        let whole = match self.written {
            Written::Clear(size) => return Ok(size),
            Written::WholeNumber(whole) => whole,
        };
        inch_size::bare_integer(whole, self.threads_per_inch).map_err(|_| DesignationError {
            at: self.places.diameter,
            found: format!("`{whole}`, which may be a numbered size or inches"),
            expected: format!("#{whole} for the numbered size, or {whole}.0 for inches"),
        })
    }
}

fn take_size(scanner: &mut Scanner) -> Result<Written, DesignationError> {
    let start = scanner.place();
    if scanner.eat_letter('#') {
        return take_numbered(scanner).map(Written::Clear);
    }
    let decimal = scanner.take_decimal("a diameter in inches, as in 1/2 or 0.500")?;
    if decimal.places() > 0 {
        return Ok(Written::Clear(InchSize::from_decimal(decimal)));
    }
    let whole = u32::try_from(decimal.steps())
        .ok()
        .filter(|&whole| whole <= 999);
    let whole = whole.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a diameter in inches, as in 1/2 or 0.500")
    })?;
    if scanner.peek() == Some('/') {
        scanner.go_back_to(start);
        return take_fraction(scanner, 0).map(Written::Clear);
    }
    match starts_fraction(scanner) {
        true => take_fraction(scanner, whole).map(Written::Clear),
        false => Ok(Written::WholeNumber(whole)),
    }
}

fn take_numbered(scanner: &mut Scanner) -> Result<InchSize, DesignationError> {
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let size = digits.parse().ok().and_then(InchSize::number);
    size.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a numbered size: 0, 1, 2, 3, 4, 5, 6, 8, 10 or 12")
    })
}

/// Steps over the space or dash between whole inches and a fraction, if a fraction follows.
fn starts_fraction(scanner: &mut Scanner) -> bool {
    let start = scanner.place();
    scanner.skip_separators();
    let numerator_at = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let fraction = !digits.is_empty() && numerator_at > start && scanner.peek() == Some('/');
    scanner.go_back_to(if fraction { numerator_at } else { start });
    fraction
}

fn take_fraction(scanner: &mut Scanner, whole: u32) -> Result<InchSize, DesignationError> {
    let start = scanner.place();
    let take_number = |scanner: &mut Scanner| {
        let digits = scanner.take_while(|found| found.is_ascii_digit());
        digits.parse::<u32>().ok()
    };
    let numerator = take_number(scanner).filter(|&numerator| (1..=999).contains(&numerator));
    scanner.eat_letter('/');
    let denominator = take_number(scanner);
    match (numerator, denominator) {
        (Some(numerator), Some(denominator @ (2 | 4 | 8 | 16 | 32 | 64))) => {
            Ok(InchSize::fraction(whole, numerator, denominator))
        }
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected("a fraction in halves to sixty-fourths, as in 7/16"))
        }
    }
}
