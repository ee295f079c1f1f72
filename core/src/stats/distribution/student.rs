//! Student's t distribution.

use super::beta::incomplete_beta;
use super::is_open_probability;
use super::normal::{normal_beyond, normal_quantile};
use super::root::quantile_above_zero;

/// From here on a transformation to a normal deviate is good to the last digits, and better than the
/// continued fraction.
const NEARLY_NORMAL: f64 = 1e4;

/// The probabilities outside and within ±`limit`, each with all its digits.
fn outside_and_within(limit: f64, degrees_of_freedom: f64) -> (f64, f64) {
    if degrees_of_freedom > NEARLY_NORMAL {
        let deviate = normal_equivalent(limit.min(1e3), degrees_of_freedom);
        let outside = 2.0 * normal_beyond(deviate);
        return (outside, 1.0 - outside);
    }
    let square = limit * limit;
    if square.is_infinite() {
        return (0.0, 1.0);
    }
    let sum = degrees_of_freedom + square;
    incomplete_beta(
        degrees_of_freedom / sum,
        square / sum,
        degrees_of_freedom / 2.0,
        0.5,
    )
}

/// The normal deviate with the same probability beyond it, for many degrees of freedom.
///
/// Source: G. W. Hill, Communications of the ACM 13 (1970) 617 (from memory; checked against values of
/// thirty digits).
fn normal_equivalent(limit: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom.is_infinite() {
        return limit;
    }
    let less = degrees_of_freedom - 0.5;
    let scale = 48.0 * less * less;
    let square = less * (limit * limit / degrees_of_freedom).ln_1p();
    let upper = ((-0.4 * square - 3.3) * square - 24.0) * square - 85.5;
    let lower = 0.8 * square * square + 100.0 + scale;
    ((upper / lower + square + 3.0) / scale + 1.0) * square.sqrt()
}

/// The probability that Student's t of so many degrees of freedom lies within ±`limit`.
/// `None` for degrees of freedom not above zero or a negative limit; infinite degrees of freedom are the
/// normal distribution.
pub fn student_probability_within(limit: f64, degrees_of_freedom: f64) -> Option<f64> {
    let known = limit >= 0.0 && degrees_of_freedom > 0.0;
    known.then(|| outside_and_within(limit, degrees_of_freedom).1)
}

/// The probability that Student's t lies below a value. `None` for degrees of freedom not above zero.
pub fn student_probability(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    student_beyond(-value, degrees_of_freedom)
}

/// The probability that Student's t lies above a value; keeps its digits far out.
///
/// ```
/// use overwire_core::stats::distribution::student_beyond;
/// let above = student_beyond(2.228_138_851_986_273, 10.0).expect("a probability");
/// assert!((above - 0.025).abs() < 1e-14);
/// ```
pub fn student_beyond(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    if value.is_nan() || degrees_of_freedom.is_nan() || degrees_of_freedom <= 0.0 {
        return None;
    }
    let tail = outside_and_within(value.abs(), degrees_of_freedom).0 / 2.0;
    Some(match value < 0.0 {
        true => 1.0 - tail,
        false => tail,
    })
}

/// The value below which Student's t lies with this probability. `None` unless the probability lies
/// between 0 and 1 and the degrees of freedom are at least a half.
///
/// ```
/// use overwire_core::stats::distribution::student_quantile;
/// let value = student_quantile(0.975, 10.0).expect("a value");
/// assert!((value - 2.228_138_851_986_273).abs() < 1e-13);
/// ```
pub fn student_quantile(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    match probability < 0.5 {
        true => factor_beyond(2.0 * probability, degrees_of_freedom).map(|factor| -factor),
        false => factor_beyond(2.0 * (1.0 - probability), degrees_of_freedom),
    }
}

/// The factor k for which Student's t of so many degrees of freedom lies within ±k with this
/// probability: the coverage factor of an expanded uncertainty. `None` unless the probability lies
/// between 0 and 1 and the degrees of freedom are at least a half.
///
/// ```
/// use overwire_core::stats::distribution::student_factor;
/// let factor = student_factor(0.95, 10.0).expect("a factor");
/// assert!((factor - 2.228_138_852).abs() < 1e-9);
/// ```
pub fn student_factor(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    factor_beyond(1.0 - probability, degrees_of_freedom)
}

/// The factor with this probability outside ± it.
fn factor_beyond(beyond: f64, degrees_of_freedom: f64) -> Option<f64> {
    if degrees_of_freedom.is_nan() || degrees_of_freedom < 0.5 {
        return None;
    }
    if beyond >= 1.0 {
        return Some(0.0);
    }
    let start = normal_quantile(1.0 - beyond / 2.0)?.max(1e-3);
    quantile_above_zero(1.0 - beyond, start, |limit| {
        let (outside, within) = outside_and_within(limit, degrees_of_freedom);
        Some((within, outside))
    })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::stats::distribution::normal_probability;

    /// One degree of freedom is Cauchy's: `k = tan(π p / 2)`. Two: `k = p sqrt(2/(1 - p²))`.
    #[test]
    fn closed_forms_for_one_and_two_degrees() {
        for probability in [0.1, 0.5, 0.6827, 0.95, 0.99, 0.9999] {
            let one = student_factor(probability, 1.0).expect("a factor");
            let two = student_factor(probability, 2.0).expect("a factor");
            let cauchy = (PI * probability / 2.0).tan();
            let second = probability * (2.0 / (1.0 - probability * probability)).sqrt();
            assert!((one / cauchy - 1.0).abs() < 1e-11, "{probability}: {one}");
            assert!((two / second - 1.0).abs() < 1e-11, "{probability}: {two}");
        }
    }

    #[test]
    fn many_degrees_become_normal() {
        let normal = normal_quantile(0.975).expect("a quantile");
        for degrees in [9e4, 1.1e5, 1e6, 1e9, f64::INFINITY] {
            let factor = student_factor(0.95, degrees).expect("a factor");
            // The first term of the expansion in 1/n: (z³ + z)/(4 n).
            let expected = normal + (normal.powi(3) + normal) / (4.0 * degrees);
            assert!((factor - expected).abs() < 2e-9, "{degrees}: {factor}");
        }
    }

    #[test]
    fn there_and_back() {
        for degrees in [0.7, 1.5, 4.3, 17.0, 260.0] {
            for probability in [0.01, 0.5, 0.9545, 0.9973] {
                let factor = student_factor(probability, degrees).expect("a factor");
                let back = student_probability_within(factor, degrees).expect("a probability");
                assert!(
                    (back - probability).abs() < 1e-12,
                    "{degrees} {probability}"
                );
            }
        }
        for probability in [1e-12, 0.025, 0.4, 0.5, 0.8, 0.999] {
            let deviate = normal_quantile(probability).expect("a quantile");
            assert!((normal_probability(deviate) / probability - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn what_is_no_probability_has_no_quantile() {
        for probability in [0.0, 1.0, -0.1, f64::NAN] {
            assert_eq!(normal_quantile(probability), None);
            assert_eq!(student_factor(probability, 5.0), None);
        }
        assert_eq!(student_factor(0.95, 0.0), None);
        assert_eq!(student_factor(0.95, f64::NAN), None);
        assert_eq!(student_probability_within(-1.0, 5.0), None);
    }
}
