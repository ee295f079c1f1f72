//! The incomplete beta function.

use std::f64::consts::PI;

use super::gamma::{
    MOST_STEPS, above_logarithm, log_gamma, log_gamma_rise, never_zero, stirling_rest,
};

/// The incomplete beta function `I_x(a, b)` and its complement, with `rest = 1 - x` given apart so that
/// neither loses digits.
///
/// Source: Abramowitz & Stegun 26.5.8 (from memory).
pub(super) fn incomplete_beta(x: f64, rest: f64, a: f64, b: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if rest <= 0.0 {
        return (1.0, 0.0);
    }
    let front = front(x, rest, a, b);
    match x < (a + 1.0) / (a + b + 2.0) {
        true => {
            let below = (front * fraction(x, a, b) / a).min(1.0);
            (below, 1.0 - below)
        }
        false => {
            let above = (front * fraction(rest, b, a) / b).min(1.0);
            (1.0 - above, above)
        }
    }
}

/// `x^a (1-x)^b / B(a, b)`.
fn front(x: f64, rest: f64, a: f64, b: f64) -> f64 {
    if a.min(b) < 10.0 {
        let (small, large) = (a.min(b), a.max(b));
        let log_beta = log_gamma(small) - log_gamma_rise(large, small);
        return (a * logarithm(x, rest) + b * logarithm(rest, x) - log_beta).exp();
    }
    // Both large: measured from the summit, where the powers are the largest.
    let away = match a > b {
        true => (a + b) * rest - b,
        false => a - (a + b) * x,
    };
    let decline = a * above_logarithm(-away / a) + b * above_logarithm(away / b);
    let rest_of_series = stirling_rest(a) + stirling_rest(b) - stirling_rest(a + b);
    (a * b / ((a + b) * 2.0 * PI)).sqrt() * (-decline - rest_of_series).exp()
}

/// The logarithm of `x`, where `1 - x` is known better.
fn logarithm(x: f64, rest: f64) -> f64 {
    match x > 0.5 {
        true => (-rest).ln_1p(),
        false => x.ln(),
    }
}

/// The continued fraction of the incomplete beta function, by Lentz's rule.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    let mut upper = 1.0;
    let mut lower = 1.0 / never_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = lower;
    for step in 1..MOST_STEPS {
        let step = f64::from(step);
        let even = step * (b - step) * x / ((a + 2.0 * step - 1.0) * (a + 2.0 * step));
        lower = 1.0 / never_zero(1.0 + even * lower);
        upper = never_zero(1.0 + even / upper);
        fraction *= lower * upper;
        let odd = -(a + step) * (a + b + step) * x / ((a + 2.0 * step) * (a + 2.0 * step + 1.0));
        lower = 1.0 / never_zero(1.0 + odd * lower);
        upper = never_zero(1.0 + odd / upper);
        let change = lower * upper;
        fraction *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    fraction
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `I_x(a, 1) = x^a`, `I_x(1, b) = 1 - (1-x)^b`.
    #[test]
    fn closed_forms() {
        for x in [1e-9, 0.1, 0.5, 0.9, 1.0 - 1e-9] {
            let rest = 1.0 - x;
            for a in [0.5, 1.0, 7.0, 40.0] {
                let (below, _) = incomplete_beta(x, rest, a, 1.0);
                let (_, above) = incomplete_beta(x, rest, 1.0, a);
                assert!((below - x.powf(a)).abs() < 1e-13, "{x} {a}: {below}");
                assert!((above - rest.powf(a)).abs() < 1e-13, "{x} {a}: {above}");
            }
        }
    }

    /// `I_x(a, a)` at a half is a half, however large `a`.
    #[test]
    fn the_middle_of_a_symmetric_one() {
        for a in [0.5, 3.0, 9.9, 10.1, 1e3, 1e6] {
            let (below, above) = incomplete_beta(0.5, 0.5, a, a);
            assert!((below - 0.5).abs() < 1e-11, "{a}: {below}");
            assert!((above - 0.5).abs() < 1e-11, "{a}: {above}");
        }
    }
}
