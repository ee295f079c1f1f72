//! Integrals of smooth functions.

use std::f64::consts::FRAC_PI_2;

/// The integral of a function that has died away at both ends of `low..high` and is smooth on the
/// scale of `step`: the plain sum over equal steps, which for such a function is good to the last digits.
pub(super) fn over_line(low: f64, high: f64, step: f64, function: impl Fn(f64) -> f64) -> f64 {
    let steps = ((high - low) / step).ceil().max(1.0);
    let width = (high - low) / steps;
    let mut sum = 0.0;
    let mut index = 0.0;
    while index <= steps {
        sum += function(low + index * width);
        index += 1.0;
    }
    sum * width
}

/// The integral between two ends at which the function may be anything finite: nodes crowd towards the
/// ends as `tanh(π/2 sinh t)`.
///
/// Source: H. Takahasi and M. Mori, Publications RIMS 9 (1974) 721 (from memory).
pub(crate) fn between(low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const STEP: f64 = 1.0 / 32.0;
    const STEPS: i32 = 112;
    let half = (high - low) / 2.0;
    let middle = low + half;
    let sum: f64 = (-STEPS..=STEPS)
        .map(|index| {
            let along = f64::from(index) * STEP;
            let inner = FRAC_PI_2 * along.sinh();
            let weight = FRAC_PI_2 * along.cosh() / inner.cosh().powi(2);
            weight * function(middle + half * inner.tanh())
        })
        .sum();
    sum * STEP * half
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bell_over_the_line() {
        let bell = |x: f64| (-x * x).exp();
        let area = over_line(-7.0, 7.0, 0.5, bell);
        assert!((area - std::f64::consts::PI.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn between_ends() {
        assert!((between(0.0, 2.0, f64::exp) - (2.0_f64.exp() - 1.0)).abs() < 1e-14);
        assert!((between(0.0, 1.0, f64::sqrt) - 2.0 / 3.0).abs() < 1e-14);
        assert!(between(3.0, 3.0, f64::exp).abs() < 1e-15);
    }
}
