//! Student's t about a mean that is not zero.

use super::is_open_probability;
use super::normal::{normal_beyond, normal_quantile};
use super::over_spread::OverSpread;
use super::root::{bracket, zero_between};
use super::student::student_probability;

/// The probability that `(Z + δ)/√(χ²/n)` lies below a value: noncentral t. Good to 13 places for
/// whole degrees of freedom of one and more and |δ| up to 1000.
///
/// `None` for degrees of freedom below one, or when a number is none or too large.
///
/// ```
/// use overwire_core::stats::distribution::noncentral_student_probability;
/// let below = noncentral_student_probability(0.0, 9.0, 1.0).expect("a probability");
/// // At 0 only the sign of the normal deviate counts.
/// assert!((below - 0.158_655_253_931_457_05).abs() < 1e-13);
/// ```
pub fn noncentral_student_probability(
    value: f64,
    degrees_of_freedom: f64,
    noncentrality: f64,
) -> Option<f64> {
    if value.is_nan() || noncentrality.is_nan() {
        return None;
    }
    if noncentrality.abs() <= 0.0 {
        return student_probability(value, degrees_of_freedom);
    }
    if value.is_infinite() {
        return Some(if value > 0.0 { 1.0 } else { 0.0 });
    }
    // Of s only the share matters: where the value counts, `value s` is about δ.
    let over = OverSpread::new(degrees_of_freedom, noncentrality.abs().max(1.0) + 6.0)?;
    Some(below(&over, value, noncentrality))
}

/// The value below which noncentral t lies with this probability. `None` unless the probability lies
/// between 0 and 1, and as [`noncentral_student_probability`].
pub fn noncentral_student_quantile(
    probability: f64,
    degrees_of_freedom: f64,
    noncentrality: f64,
) -> Option<f64> {
    if !is_open_probability(probability) || noncentrality.is_nan() {
        return None;
    }
    let over = OverSpread::new(degrees_of_freedom, noncentrality.abs().max(1.0) + 6.0)?;
    let function = |value: f64| below(&over, value, noncentrality) - probability;
    let start = noncentrality + normal_quantile(probability)?;
    let (low, high) = bracket(start, &function)?;
    zero_between(low, high, function)
}

/// The noncentrality for which a value has this probability below it: the more there is of it, the
/// smaller the probability. `None` as [`noncentral_student_probability`].
///
/// With `t = 3√n C` and the confidence `1 - α` this is `3√n` times the lower limit of a one-sided
/// capability index C.
pub fn noncentral_student_noncentrality(
    probability: f64,
    value: f64,
    degrees_of_freedom: f64,
) -> Option<f64> {
    if !is_open_probability(probability) || !value.is_finite() {
        return None;
    }
    let sharpness = 2.0 * value.abs() + 20.0;
    let over = OverSpread::new(degrees_of_freedom, sharpness)?;
    let function = |noncentrality: f64| probability - below(&over, value, noncentrality);
    let (low, high) = bracket(value - normal_quantile(probability)?, &function)?;
    zero_between(low, high, function)
}

fn below(over: &OverSpread, value: f64, noncentrality: f64) -> f64 {
    let probability = over.mean(|spread| normal_beyond(noncentrality - value * spread));
    probability.clamp(0.0, 1.0)
}
