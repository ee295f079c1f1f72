//! The studentized range, for comparing all groups with each other.

use super::is_open_probability;
use super::over_spread::OverSpread;
use super::range::RangeOf;
use super::root::{bracket, zero_between};

/// The most groups the studentized range is computed for.
const MOST_GROUPS: u32 = 1_000;

fn parts(groups: u32, degrees_of_freedom: f64) -> Option<(RangeOf, OverSpread)> {
    if !(2..=MOST_GROUPS).contains(&groups) {
        return None;
    }
    let over = OverSpread::new(degrees_of_freedom, f64::from(groups).ln().max(1.0))?;
    Some((RangeOf::new(groups), over))
}

/// The probability that the range of so many means, in estimated standard errors of a mean, lies above
/// a value. Good to 13 places for two to a thousand groups and degrees of freedom of one and more.
///
/// `None` outside of these.
///
/// ```
/// use overwire_core::stats::distribution::studentized_range_beyond;
/// // Two groups are Student's t times √2.
/// let beyond = studentized_range_beyond(2.228_138_851_986_273 * 2.0_f64.sqrt(), 2, 10.0);
/// assert!((beyond.expect("a probability") - 0.05).abs() < 1e-12);
/// ```
pub fn studentized_range_beyond(value: f64, groups: u32, degrees_of_freedom: f64) -> Option<f64> {
    if value.is_nan() {
        return None;
    }
    let (range, over) = parts(groups, degrees_of_freedom)?;
    let beyond = over.mean(|spread| range.beyond(value * spread));
    Some(beyond.clamp(0.0, 1.0))
}

/// The value above which the range of so many means lies with a probability of `1 - probability`: with
/// 0.95 the factor of intervals that hold together with a confidence of 95 %. `None` unless the
/// probability lies between 0 and 1, and as [`studentized_range_beyond`].
pub fn studentized_range_quantile(
    probability: f64,
    groups: u32,
    degrees_of_freedom: f64,
) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    let (range, over) = parts(groups, degrees_of_freedom)?;
    let function = |logarithm: f64| {
        let value = logarithm.exp();
        1.0 - probability - over.mean(|spread| range.beyond(value * spread))
    };
    let (low, high) = bracket(1.2, &function)?;
    zero_between(low, high, function).map(f64::exp)
}
