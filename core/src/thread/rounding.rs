//! Rounding as printed tables do it: inches to four places, millimetres to three.

use super::ThreadError;
use crate::units::Length;

/// Whole steps, so many of them to one unit. A tie goes to the even step.
///
/// What is a tie on paper must be one here: noise below a millionth of a step is dropped first.
fn steps(number: f64, in_one: f64) -> i64 {
    let millionths = (number * in_one * 1e6).round();
    (millionths / 1e6).round_ties_even() as i64
}

/// Inches in ten-thousandths of an inch.
pub(super) fn ten_thousandths(inches: f64) -> i64 {
    steps(inches, 1e4)
}

/// Millimetres in micrometres.
pub(super) fn micrometres(mm: f64) -> i64 {
    steps(mm, 1e3)
}

/// Millimetres to the nearest multiple of five micrometres, in micrometres.
pub(super) fn to_five_micrometres(mm: f64) -> i64 {
    steps(mm, 200.0) * 5
}

/// The length of so many ten-thousandths of an inch.
pub(super) fn from_ten_thousandths(count: i64) -> Result<Length, ThreadError> {
    // One division, so that 0.4485 is the nearest number to 0.4485 inches in millimetres.
    Ok(Length::from_mm((count * 254) as f64 / 100_000.0)?)
}

/// The length of so many micrometres.
pub(super) fn from_micrometres(count: i64) -> Result<Length, ThreadError> {
    Ok(Length::from_mm(count as f64 / 1_000.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ties_go_to_the_even_step() {
        assert_eq!(ten_thousandths(0.21475), 2148);
        assert_eq!(ten_thousandths(0.21485), 2148);
        assert_eq!(ten_thousandths(0.214_850_01), 2149);
        assert_eq!(to_five_micrometres(2.846), 2845);
        assert_eq!(micrometres(-0.0005), 0);
    }
}
