//! The chi-squared distribution.

use super::gamma::incomplete_gamma;
use super::is_open_probability;
use super::root::quantile_above_zero;

/// Below and beyond a value; `None` for degrees of freedom not above zero and finite.
fn tails(value: f64, degrees_of_freedom: f64) -> Option<(f64, f64)> {
    let known = degrees_of_freedom > 0.0 && degrees_of_freedom.is_finite() && !value.is_nan();
    known.then(|| incomplete_gamma(degrees_of_freedom / 2.0, value.max(0.0) / 2.0))
}

/// The probability that chi-squared of so many degrees of freedom lies below a value. `None` for
/// degrees of freedom not above zero.
///
/// ```
/// use overwire_core::stats::distribution::chi_squared_probability;
/// let below = chi_squared_probability(18.307_038_053_275_146, 10.0).expect("a probability");
/// assert!((below - 0.95).abs() < 1e-13);
/// ```
pub fn chi_squared_probability(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    tails(value, degrees_of_freedom).map(|(below, _)| below)
}

/// The probability beyond a value; keeps its digits far out.
pub fn chi_squared_beyond(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    tails(value, degrees_of_freedom).map(|(_, beyond)| beyond)
}

/// The value with this probability below it. `None` unless the probability lies between 0 and 1 and
/// the degrees of freedom are above zero.
///
/// ```
/// use overwire_core::stats::distribution::chi_squared_quantile;
/// let value = chi_squared_quantile(0.975, 9.0).expect("a value");
/// assert!((value - 19.022_767_798_641_63).abs() < 1e-11);
/// ```
pub fn chi_squared_quantile(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    quantile_above_zero(probability, degrees_of_freedom, |value| {
        tails(value, degrees_of_freedom)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two degrees of freedom: `1 - exp(-x/2)`.
    #[test]
    fn two_degrees_are_exponential() {
        for probability in [1e-12, 0.05, 0.5, 0.95, 0.999_999] {
            let value = chi_squared_quantile(probability, 2.0).expect("a value");
            let expected = -2.0 * f64::ln_1p(-probability);
            assert!(
                (value / expected - 1.0).abs() < 1e-12,
                "{probability}: {value}"
            );
        }
    }

    #[test]
    fn there_and_back_from_few_degrees_to_a_million() {
        for degrees in [0.3, 1.0, 3.7, 25.0, 1e3, 1e6] {
            for probability in [1e-6, 0.025, 0.5, 0.975, 0.999] {
                let value = chi_squared_quantile(probability, degrees).expect("a value");
                let back = chi_squared_probability(value, degrees).expect("a probability");
                assert!(
                    (back / probability - 1.0).abs() < 1e-10,
                    "{degrees} {probability}"
                );
            }
        }
    }

    #[test]
    fn refuses_what_makes_no_sense() {
        assert_eq!(chi_squared_probability(1.0, 0.0), None);
        assert_eq!(chi_squared_probability(f64::NAN, 1.0), None);
        assert_eq!(chi_squared_beyond(-1.0, 3.0), Some(1.0));
        assert_eq!(chi_squared_quantile(1.0, 3.0), None);
        assert_eq!(chi_squared_quantile(0.5, f64::NAN), None);
    }
}
