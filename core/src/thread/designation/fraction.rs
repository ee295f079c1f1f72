//! Fractions of an inch, and of a number of threads per inch.

use super::DesignationError;
use super::scanner::Scanner;
use crate::thread::inch_size::InchSize;

/// Steps over the space or dash between a whole number and a fraction, if a fraction follows.
pub(super) fn follows(scanner: &mut Scanner) -> bool {
    let start = scanner.place();
    scanner.skip_separators();
    let numerator_at = scanner.place();
    if stands_alone(scanner) {
        return true;
    }
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let slash = scanner.peek().is_some_and(is_slash);
    let fraction = !digits.is_empty() && numerator_at > start && slash;
    scanner.go_back_to(if fraction { numerator_at } else { start });
    fraction
}

/// A fraction in halves to sixty-fourths, behind so many wholes.
pub(super) fn take(scanner: &mut Scanner, whole: u32) -> Result<InchSize, DesignationError> {
    let start = scanner.place();
    if let Some((numerator, denominator)) = vulgar(scanner.peek()) {
        scanner.eat(|_| true);
        return Ok(InchSize::fraction(whole, numerator, denominator));
    }
    let take_number = |scanner: &mut Scanner| {
        let digits = scanner.take_while(|found| found.is_ascii_digit());
        digits.parse::<u32>().ok()
    };
    let numerator = take_number(scanner).filter(|&numerator| (1..=999).contains(&numerator));
    scanner.eat(is_slash);
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

pub(super) fn is_slash(found: char) -> bool {
    matches!(found, '/' | '\u{2044}' | '\u{2215}')
}

/// Whether a fraction that is one character stands here.
pub(super) fn stands_alone(scanner: &Scanner) -> bool {
    vulgar(scanner.peek()).is_some()
}

/// A fraction that is one character.
fn vulgar(found: Option<char>) -> Option<(u32, u32)> {
    match found? {
        '½' => Some((1, 2)),
        '¼' => Some((1, 4)),
        '¾' => Some((3, 4)),
        '⅛' => Some((1, 8)),
        '⅜' => Some((3, 8)),
        '⅝' => Some((5, 8)),
        '⅞' => Some((7, 8)),
        _ => None,
    }
}
