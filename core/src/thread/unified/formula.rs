//! The formulas of the Unified system and their rounding.

use super::Class;

/// Pitch diameter limits by formula, in ten-thousandths of an inch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FormulaLimits {
    /// Allowance.
    pub allowance: i64,
    /// Basic pitch diameter.
    pub basic: i64,
    /// Largest pitch diameter.
    pub maximum: i64,
    /// Smallest pitch diameter.
    pub minimum: i64,
    /// Tolerance of this class, in millionths of an inch.
    pub tolerance_millionths: i64,
}

/// The formulas and roundings of the module head of [`unified`](super), for its range. Lengths in
/// inches.
///
/// ```
/// use overwire_core::thread::unified::{Class, limits_by_formula};
/// // The worked example printed for 1/2-28 UNEF-2A.
/// let limits = limits_by_formula(0.5, 28.0, Class::Two, 9.0 / 28.0);
/// assert_eq!(limits.tolerance_millionths, 3668);
/// assert_eq!((limits.maximum, limits.minimum), (4757, 4720));
/// ```
pub fn limits_by_formula(
    diameter: f64,
    threads_per_inch: f64,
    class: Class,
    engagement: f64,
) -> FormulaLimits {
    let diameter = (diameter * 1e4).round();
    let pitch = (1e8 / threads_per_inch).round() / 1e8;
    let twice_addendum = (0.649_519_05 * pitch * 1e6).round() as i64;
    let of_size = 0.0015 * (diameter / 1e4).cbrt();
    let class_2a = of_size + 0.0015 * engagement.sqrt() + 0.015 * (pitch * pitch).cbrt();
    let class_2a = (class_2a * 1e6).round() as i64;
    let (tolerance, allowance) = match class {
        Class::One => (
            divide_to_even(class_2a * 15, 10),
            divide_to_even(class_2a * 3, 1_000),
        ),
        Class::Two => (class_2a, divide_to_even(class_2a * 3, 1_000)),
        Class::Three => (divide_to_even(class_2a * 75, 100), 0),
    };
    let millionths = diameter as i64 * 100 - twice_addendum;
    let maximum = divide_to_even(millionths - allowance * 100, 100);
    FormulaLimits {
        allowance,
        basic: divide_to_even(millionths, 100),
        maximum,
        minimum: divide_to_even(maximum * 100 - tolerance, 100),
        tolerance_millionths: tolerance,
    }
}

/// A whole quotient; ties go to the even one.
fn divide_to_even(number: i64, divisor: i64) -> i64 {
    let (quotient, remainder) = (number.div_euclid(divisor), number.rem_euclid(divisor));
    match (2 * remainder).cmp(&divisor) {
        std::cmp::Ordering::Less => quotient,
        std::cmp::Ordering::Equal => quotient + quotient.rem_euclid(2),
        std::cmp::Ordering::Greater => quotient + 1,
    }
}
