//! The normal distribution and Student's t, both ways.
//!
//! Student's t through the incomplete beta function `I_x(n/2, 1/2)`, `x = n/(n + t²)`, by its
//! continued fraction; the normal distribution through the error function by its series and, in
//! the tail, its continued fraction. Quantiles by halving, to the last digits.
//! Source: Abramowitz & Stegun 26.5.8, 26.7.1, 7.1.6, 7.1.14 (from memory).

use std::f64::consts::{PI, SQRT_2};

use crate::bisection::rising_zero;

/// A step of a continued fraction or series below this share changes nothing.
const LAST_SHARE: f64 = 1e-17;

/// The most steps any series or continued fraction takes.
const MOST_STEPS: u32 = 20_000;

/// The probability that a normal deviate lies below `deviate` standard deviations.
///
/// ```
/// use overwire_core::uncertainty::normal_probability;
/// assert!((normal_probability(1.959_963_984_540_054) - 0.975).abs() < 1e-14);
/// ```
pub fn normal_probability(deviate: f64) -> f64 {
    let tail = normal_tail(deviate.abs());
    match deviate > 0.0 {
        true => 1.0 - tail,
        false => tail,
    }
}

/// The probability beyond `deviate >= 0`.
fn normal_tail(deviate: f64) -> f64 {
    let scaled = deviate / SQRT_2;
    if scaled < 2.0 {
        return 0.5 - error_series(scaled) / 2.0;
    }
    // erfc(x) = exp(-x²)/(√π (x + (1/2)/(x + 1/(x + (3/2)/(x + ...)))))
    let mut fraction = scaled;
    for step in (1..=200_u32).rev() {
        fraction = scaled + f64::from(step) / 2.0 / fraction;
    }
    (-scaled * scaled).exp() / (PI.sqrt() * fraction) / 2.0
}

/// The error function by `2/√π exp(-x²) Σ 2^n x^(2n+1) / (1·3·5···(2n+1))`.
fn error_series(argument: f64) -> f64 {
    let square = argument * argument;
    let (mut term, mut sum) = (argument, argument);
    for step in 1..200_u32 {
        term *= 2.0 * square / f64::from(2 * step + 1);
        sum += term;
        if term <= LAST_SHARE * sum {
            break;
        }
    }
    2.0 / PI.sqrt() * (-square).exp() * sum
}

/// The deviate below which a normal deviate lies with this probability; `None` unless it is
/// between 0 and 1 (and no nearer to either than 1e-300 and 1e-16).
///
/// ```
/// use overwire_core::uncertainty::normal_quantile;
/// let deviate = normal_quantile(0.95).expect("a probability");
/// assert!((deviate - 1.644_853_626_951).abs() < 1e-11);
/// ```
pub fn normal_quantile(probability: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    if probability > 0.5 {
        let beyond = 1.0 - probability;
        return rising_zero(0.0, 40.0, |deviate| Some(beyond - normal_tail(deviate)));
    }
    let below = rising_zero(0.0, 40.0, |deviate| {
        Some(probability - normal_tail(deviate))
    });
    below.map(|deviate| -deviate)
}

/// The probability that Student's t of so many degrees of freedom lies within ±`limit`.
/// `None` for degrees of freedom not above zero or a negative limit; infinite degrees of freedom are the
/// normal distribution.
pub fn student_probability_within(limit: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(limit >= 0.0 && degrees_of_freedom > 0.0) {
        return None;
    }
    Some(1.0 - outside(limit, degrees_of_freedom))
}

/// From here on the first term of an expansion in the inverse of the degrees of freedom
/// is good to nine digits, and better than the continued fraction.
const NEARLY_NORMAL: f64 = 1e5;

/// The probability beyond ±`limit`.
fn outside(limit: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom > NEARLY_NORMAL {
        let limit = limit.min(40.0);
        return 2.0
            * normal_tail(limit * (1.0 - (limit * limit + 1.0) / (4.0 * degrees_of_freedom)));
    }
    let (square, half) = (limit * limit, degrees_of_freedom / 2.0);
    let sum = degrees_of_freedom + square;
    incomplete_beta(degrees_of_freedom / sum, square / sum, half, 0.5)
}

/// The factor k for which Student's t of so many degrees of freedom lies within ±k with this
/// probability: the coverage factor of an expanded uncertainty. `None` unless the probability lies
/// between 0 and 1 and the degrees of freedom are at least a half.
///
/// ```
/// use overwire_core::uncertainty::student_factor;
/// let factor = student_factor(0.95, 10.0).expect("a factor");
/// assert!((factor - 2.228_138_852).abs() < 1e-9);
/// ```
pub fn student_factor(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0 && degrees_of_freedom >= 0.5) {
        return None;
    }
    let beyond = 1.0 - probability;
    rising_zero(0.0, 1e40, |limit| {
        Some(beyond - outside(limit, degrees_of_freedom))
    })
}

/// The incomplete beta function `I_x(a, b)`, with `rest = 1 - x` given apart so that no digits are
/// lost.
fn incomplete_beta(x: f64, rest: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if rest <= 0.0 {
        return 1.0;
    }
    let logarithm =
        log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * x.ln() + b * ln_rest(x, rest);
    let front = logarithm.exp();
    match x < (a + 1.0) / (a + b + 2.0) {
        true => front * beta_fraction(x, a, b) / a,
        false => 1.0 - front * beta_fraction(rest, b, a) / b,
    }
}

fn ln_rest(x: f64, rest: f64) -> f64 {
    match rest > 0.5 {
        true => (-x).ln_1p(),
        false => rest.ln(),
    }
}

/// The continued fraction of the incomplete beta function, by Lentz's rule.
fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    let floor = |number: f64| match number.abs() < 1e-300 {
        true => 1e-300,
        false => number,
    };
    let mut upper = 1.0;
    let mut lower = 1.0 / floor(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = lower;
    for step in 1..MOST_STEPS {
        let step = f64::from(step);
        let even = step * (b - step) * x / ((a + 2.0 * step - 1.0) * (a + 2.0 * step));
        lower = 1.0 / floor(1.0 + even * lower);
        upper = floor(1.0 + even / upper);
        fraction *= lower * upper;
        let odd = -(a + step) * (a + b + step) * x / ((a + 2.0 * step) * (a + 2.0 * step + 1.0));
        lower = 1.0 / floor(1.0 + odd * lower);
        upper = floor(1.0 + odd / upper);
        let change = lower * upper;
        fraction *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    fraction
}

/// The logarithm of the gamma function above zero: Stirling's series after stepping up to 10.
fn log_gamma(argument: f64) -> f64 {
    let (mut shifted, mut product) = (argument, 1.0);
    while shifted < 10.0 {
        product *= shifted;
        shifted += 1.0;
    }
    let inverse = 1.0 / shifted;
    let square = inverse * inverse;
    let series = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
        1.0 / 156.0,
    ];
    let tail = series
        .iter()
        .rev()
        .fold(0.0, |sum, coefficient| sum * square + coefficient);
    (shifted - 0.5) * shifted.ln() - shifted + 0.5 * (2.0 * PI).ln() + tail * inverse - product.ln()
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
