//! The pitch of an inch designation: threads per inch, or pitch and lead in inches.

use super::DesignationError;
use super::fraction;
use super::scanner::Scanner;
use super::tail;
use crate::decimal::Decimal;

/// Reads `13`, `4 1/2`, or `0.0625P-0.1875L` with an optional `(3 STARTS)` behind it. Gives threads per
/// inch, and the starts where lead or count say them.
pub(super) fn take(scanner: &mut Scanner) -> Result<(f64, Option<u32>), DesignationError> {
    let start = scanner.place();
    let number = scanner.take_decimal("the threads per inch, as in 1/2-13")?;
    if !scanner.eat_word("P") {
        return Ok((with_fraction(scanner, number)?, None));
    }
    let threads_per_inch = threads_of_pitch(number).ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a pitch of whole or half threads per inch, as in 0.0625P")
    })?;
    let starts = take_lead(scanner, threads_per_inch)?;
    Ok((threads_per_inch, starts))
}

/// The number with the fraction behind it, as in `4 1/2`.
fn with_fraction(scanner: &mut Scanner, number: Decimal) -> Result<f64, DesignationError> {
    let whole = u32::try_from(number.steps())
        .ok()
        .filter(|&whole| number.places() == 0 && whole <= 999);
    match whole {
        Some(whole) if fraction::follows(scanner) => Ok(fraction::take(scanner, whole)?.inches()),
        _ => Ok(number.value()),
    }
}

/// The whole or half number of threads per inch that has this pitch, rounded as it stands.
fn threads_of_pitch(pitch: Decimal) -> Option<f64> {
    let nearest = (2.0 / pitch.value()).round() / 2.0;
    let countable = nearest > 0.0 && nearest.is_finite();
    let rounding = 0.5 * 0.1_f64.powi(pitch.places().into());
    let off = (1.0 / nearest - pitch.value()).abs();
    (countable && off <= rounding * (1.0 + 1e-9)).then_some(nearest)
}

fn take_lead(
    scanner: &mut Scanner,
    threads_per_inch: f64,
) -> Result<Option<u32>, DesignationError> {
    let before = scanner.place();
    scanner.skip_separators();
    let at = scanner.place();
    let numbered = |found: char| found.is_ascii_digit() || found == '.';
    if !scanner.peek().is_some_and(numbered) {
        scanner.go_back_to(before);
        return Ok(None);
    }
    let lead = scanner.take_decimal("a lead, as in 0.1875L")?;
    if !scanner.eat_word("L") {
        return Err(scanner.expected("L after the lead, as in 0.1875L"));
    }
    let starts = tail::starts_of_lead(lead, 1.0 / threads_per_inch).ok_or_else(|| {
        scanner.go_back_to(at);
        scanner.expected("a lead of 1 to 64 whole pitches")
    })?;
    let said = tail::take_starts_in_brackets(scanner)?;
    let mut agreed = Some(starts);
    if let Some(said) = said {
        tail::agree(&mut agreed, said)?;
    }
    Ok(agreed)
}
