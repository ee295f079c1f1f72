//! The gamma function and its incomplete integrals.

use std::f64::consts::PI;

/// The most steps any series or continued fraction takes.
pub(super) const MOST_STEPS: u32 = 200_000;

/// What Stirling's formula `(x - 1/2) ln x - x + ln(2π)/2` leaves of `ln Γ(x)`, for `x >= 10`.
///
/// Source: Abramowitz & Stegun 6.1.41 (from memory).
pub(super) fn stirling_rest(argument: f64) -> f64 {
    const SERIES: [f64; 7] = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
        1.0 / 156.0,
    ];
    let inverse = 1.0 / argument;
    let square = inverse * inverse;
    let sum = SERIES
        .iter()
        .rev()
        .fold(0.0, |sum, coefficient| sum * square + coefficient);
    sum * inverse
}

/// The logarithm of the gamma function above zero: Stirling's series after stepping up to 10.
pub fn log_gamma(argument: f64) -> f64 {
    let (mut shifted, mut product) = (argument, 1.0);
    while shifted < 10.0 {
        product *= shifted;
        shifted += 1.0;
    }
    (shifted - 0.5) * shifted.ln() - shifted + 0.5 * (2.0 * PI).ln() + stirling_rest(shifted)
        - product.ln()
}

/// `ln Γ(x + rise) - ln Γ(x)` without the loss of digits that large numbers bring.
pub(in crate::stats) fn log_gamma_rise(argument: f64, rise: f64) -> f64 {
    if argument < 10.0 {
        return log_gamma(argument + rise) - log_gamma(argument);
    }
    let sum = argument + rise;
    (argument - 0.5) * (rise / argument).ln_1p() + rise * (sum.ln() - 1.0) + stirling_rest(sum)
        - stirling_rest(argument)
}

/// `x - ln(1 + x)` without cancelling, for `x > -1`.
pub(super) fn above_logarithm(x: f64) -> f64 {
    if x.abs() > 0.3 {
        return x - x.ln_1p();
    }
    // x²/2 - x³/3 + x⁴/4 - ...
    let (mut power, mut sum) = (x * x, 0.0);
    for step in 2..60_u32 {
        let term = power / f64::from(step);
        sum += term;
        if term.abs() <= 1e-18 * sum.abs() {
            break;
        }
        power *= -x;
    }
    sum
}

/// `x^a e^(-x) / Γ(a)`, for `x` and `a` above zero.
pub(super) fn gamma_front(a: f64, x: f64) -> f64 {
    if a < 10.0 {
        return (a * x.ln() - x - log_gamma(a)).exp();
    }
    let away = (x - a) / a;
    (a / (2.0 * PI)).sqrt() * (-a * above_logarithm(away) - stirling_rest(a)).exp()
}

/// The incomplete gamma integral from 0 to `x` and from there on, both as shares of the whole, so that
/// the small one keeps its digits. For `a > 0`.
///
/// Source: Abramowitz & Stegun 6.5.29, 6.5.31 (from memory).
pub(super) fn incomplete_gamma(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    match x < a + 1.0 {
        true => {
            let below = (gamma_front(a, x) * series(a, x)).min(1.0);
            (below, 1.0 - below)
        }
        false => {
            let above = (gamma_front(a, x) * fraction(a, x)).min(1.0);
            (1.0 - above, above)
        }
    }
}

/// `Σ x^n / (a (a+1) ... (a+n))`.
fn series(a: f64, x: f64) -> f64 {
    let mut term = 1.0 / a;
    let mut sum = term;
    for step in 1..MOST_STEPS {
        term *= x / (a + f64::from(step));
        sum += term;
        if term <= 1e-17 * sum {
            break;
        }
    }
    sum
}

/// `1/(x + 1 - a - 1 (1 - a)/(x + 3 - a - ...))` by Lentz's rule.
fn fraction(a: f64, x: f64) -> f64 {
    let mut partial = x + 1.0 - a;
    let mut upper = 1e300;
    let mut lower = 1.0 / partial;
    let mut product = lower;
    for step in 1..MOST_STEPS {
        let step = f64::from(step);
        let numerator = -step * (step - a);
        partial += 2.0;
        lower = 1.0 / never_zero(numerator * lower + partial);
        upper = never_zero(partial + numerator / upper);
        let change = lower * upper;
        product *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    product
}

/// A number that can be divided by.
pub(super) fn never_zero(number: f64) -> f64 {
    match number.abs() < 1e-300 {
        true => 1e-300,
        false => number,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `Γ(1/2) = √π`, `Γ(n) = (n-1)!`.
    #[test]
    fn gamma_where_it_is_known() {
        assert!((log_gamma(0.5) - PI.sqrt().ln()).abs() < 1e-14);
        assert!((log_gamma(1.0)).abs() < 1e-14);
        assert!((log_gamma(11.0) - 3_628_800_f64.ln()).abs() < 1e-13);
        assert!((log_gamma(2.5) - (0.75 * PI.sqrt()).ln()).abs() < 1e-14);
    }

    /// `Γ(x + 1) = x Γ(x)`, from small to very large.
    #[test]
    fn a_rise_by_one_is_the_argument() {
        for argument in [0.3, 5.0, 9.99, 10.0, 1e3, 1e8, 1e15] {
            let rise = log_gamma_rise(argument, 1.0);
            assert!((rise - f64::ln(argument)).abs() < 1e-13 * argument.ln().abs().max(1.0));
        }
    }

    #[test]
    fn above_the_logarithm() {
        for x in [0.29, 0.31, -0.29, -0.31, 0.01] {
            let direct = x - f64::ln_1p(x);
            assert!((above_logarithm(x) / direct - 1.0).abs() < 1e-11, "{x}");
        }
        assert!((above_logarithm(1e-9) / 0.5e-18 - 1.0).abs() < 1e-8);
    }

    /// `a = 1` is the exponential distribution.
    #[test]
    fn exponential_is_the_simplest() {
        for x in [1e-8, 0.5, 1.9, 2.1, 30.0] {
            let (below, above) = incomplete_gamma(1.0, x);
            assert!((below / -(-x).exp_m1() - 1.0).abs() < 1e-14, "{x}");
            assert!((above / (-x).exp() - 1.0).abs() < 1e-14, "{x}");
        }
    }
}
