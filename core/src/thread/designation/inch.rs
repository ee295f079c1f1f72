//! Unified designations: size, threads per inch, series, class, hand.

use super::scanner::Scanner;
use super::{DesignationError, Places, Thread};
use crate::thread::inch_size::{self, InchSize};
use crate::thread::unified::{Class, Form, Series, Unified};

/// The size as it stands, before the threads per inch have said what a whole number means.
enum Written {
    Clear(InchSize),
    WholeNumber(u32),
}

pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
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
    let size = match written {
        Written::Clear(size) => size,
        Written::WholeNumber(whole) => decide(whole, threads_per_inch, diameter)?,
    };
    let (form, series) = take_series(scanner, threads_per_inch)?;
    scanner.skip_separators();
    let places = Places {
        diameter,
        pitch,
        class: scanner.place(),
    };
    let class = take_class(scanner)?;
    let hand = scanner.take_hand_and_end()?;
    Unified {
        size,
        threads_per_inch,
        form,
        series,
        class,
        hand,
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn decide(whole: u32, threads_per_inch: f64, size_at: usize) -> Result<InchSize, DesignationError> {
    inch_size::bare_integer(whole, threads_per_inch).map_err(|_| DesignationError {
        at: size_at,
        found: format!("`{whole}`, which may be a numbered size or inches"),
        expected: format!("#{whole} for the numbered size, or {whole}.0 for inches"),
    })
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

fn take_series(
    scanner: &mut Scanner,
    threads_per_inch: f64,
) -> Result<(Form, Series), DesignationError> {
    scanner.skip_separators();
    let start = scanner.place();
    let letters = scanner.take_while(|found| found.is_ascii_alphabetic());
    let upper = letters.to_ascii_uppercase();
    let rest = upper.strip_prefix("UN");
    let (form, rest) = match rest {
        Some(rest) if rest.starts_with('R') => (Form::RoundedRoot, rest.get(1..)),
        Some(rest) if rest.starts_with('J') => (Form::LargeRootRadius, rest.get(1..)),
        _ => (Form::Flat, rest),
    };
    let series = match rest {
        Some("") => Some(Series::Constant {
            engages_by_diameter: threads_per_inch < 9.0,
        }),
        Some("C") => Some(Series::Coarse),
        Some("F") => Some(Series::Fine),
        Some("EF") => Some(Series::ExtraFine),
        Some("S") => Some(Series::Special),
        _ => None,
    };
    series.map(|series| (form, series)).ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected(
            "a Unified series: UN, UNC, UNF, UNEF or UNS, with R or J after UN for those forms; \
             describe any other thread by its numbers, as a custom thread",
        )
    })
}

fn take_class(scanner: &mut Scanner) -> Result<Class, DesignationError> {
    let start = scanner.place();
    let class = match scanner.take_while(|found| found.is_ascii_digit()).as_str() {
        "1" => Some(Class::One),
        "2" => Some(Class::Two),
        "3" => Some(Class::Three),
        _ => None,
    };
    let internal = matches!(scanner.peek(), Some('b' | 'B'));
    match class {
        Some(class) if scanner.eat_letter('A') => Ok(class),
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected(match internal {
                true => "1A, 2A or 3A: B is an internal thread, and wires measure external ones",
                false => "a class: 1A, 2A or 3A",
            }))
        }
    }
}
