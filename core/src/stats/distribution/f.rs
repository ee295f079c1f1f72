//! Fisher's F distribution.

use super::beta::incomplete_beta;
use super::gamma::{gamma_front, incomplete_gamma};
use super::is_open_probability;
use super::root::quantile_above_zero;

/// Degrees of freedom of the divisor from which on it is nearly known ...
const NEARLY_KNOWN: f64 = 1e7;

/// ... provided those above stay below this.
const FEW_ABOVE: f64 = 1e3;

/// Below and beyond a ratio.
fn tails(ratio: f64, upper: f64, lower: f64) -> Option<(f64, f64)> {
    let known = upper > 0.0 && upper.is_finite() && lower > 0.0 && !ratio.is_nan();
    if !known {
        return None;
    }
    let ratio = ratio.max(0.0);
    if ratio.is_infinite() {
        return Some((1.0, 0.0));
    }
    if lower.is_infinite() || (lower > NEARLY_KNOWN && upper < FEW_ABOVE) {
        return Some(nearly_chi_squared(ratio * upper, upper, lower));
    }
    let sum = upper * ratio + lower;
    Some(incomplete_beta(
        upper * ratio / sum,
        lower / sum,
        upper / 2.0,
        lower / 2.0,
    ))
}

/// Chi-squared, and what a divisor of many degrees of freedom adds at first order: with the density g,
/// `x g (upper - 2 - x) / (2 lower)`.
fn nearly_chi_squared(squares: f64, upper: f64, lower: f64) -> (f64, f64) {
    let (below, beyond) = incomplete_gamma(upper / 2.0, squares / 2.0);
    if squares <= 0.0 {
        return (below, beyond);
    }
    let density = gamma_front(upper / 2.0, squares / 2.0);
    let more = density * (upper - 2.0 - squares) / (2.0 * lower);
    (below + more, beyond - more)
}

/// The probability that a ratio of two mean squares, of `upper` and `lower` degrees of freedom, lies
/// below a value. `None` for degrees of freedom not above zero; those of the divisor may be infinite.
pub fn f_probability(ratio: f64, upper: f64, lower: f64) -> Option<f64> {
    tails(ratio, upper, lower).map(|(below, _)| below)
}

/// The probability beyond a value: the significance of an F ratio. Keeps its digits far out.
///
/// ```
/// use overwire_core::stats::distribution::f_beyond;
/// let beyond = f_beyond(4.256_494_729_093_75, 2.0, 9.0).expect("a probability");
/// assert!((beyond - 0.05).abs() < 1e-13);
/// ```
pub fn f_beyond(ratio: f64, upper: f64, lower: f64) -> Option<f64> {
    tails(ratio, upper, lower).map(|(_, beyond)| beyond)
}

/// The ratio with this probability below it. `None` unless the probability lies between 0 and 1 and
/// the degrees of freedom are above zero.
pub fn f_quantile(probability: f64, upper: f64, lower: f64) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    quantile_above_zero(probability, 1.0, |ratio| tails(ratio, upper, lower))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two degrees above: `P = 1 - (1 + 2F/n)^(-n/2)`.
    #[test]
    fn two_degrees_above_have_a_closed_form() {
        for lower in [1.0, 4.0, 9.0, 60.0, 1e5, 0.9e7, 1.1e7, 1e9] {
            for ratio in [1e-3, 0.4, 1.0, 4.0, 30.0] {
                let beyond = f_beyond(ratio, 2.0, lower).expect("a probability");
                let expected = (-lower / 2.0 * f64::ln_1p(2.0 * ratio / lower)).exp();
                assert!((beyond / expected - 1.0).abs() < 1e-8, "{lower} {ratio}");
                assert!((beyond - expected).abs() < 1e-11, "{lower} {ratio}");
            }
        }
    }

    /// Swapping the degrees of freedom inverts the ratio.
    #[test]
    fn upside_down_is_the_other_tail() {
        for (upper, lower) in [(3.0, 7.0), (1.0, 200.0), (9.0, 9.0), (1e4, 4e4)] {
            for probability in [0.001, 0.05, 0.5, 0.9, 0.999] {
                let one = f_quantile(probability, upper, lower).expect("a ratio");
                let other = f_quantile(1.0 - probability, lower, upper).expect("a ratio");
                assert!(
                    (one * other - 1.0).abs() < 1e-11,
                    "{upper} {lower} {probability}"
                );
            }
        }
    }

    #[test]
    fn a_known_divisor_is_chi_squared() {
        let at = |lower| f_beyond(2.1, 5.0, lower).expect("a probability");
        assert!((at(1e11) - at(f64::INFINITY)).abs() < 1e-10);
        assert_eq!(f_beyond(1.0, 0.0, 3.0), None);
        assert_eq!(f_quantile(0.0, 2.0, 3.0), None);
    }
}
