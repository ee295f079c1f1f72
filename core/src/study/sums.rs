//! Readings above a common origin, and the few figures of theirs that need no distribution.
//!
//! Groups are compared by their means, and those differ in their last digits only: a common part is
//! taken off every group alike before anything is summed.

use crate::stats::{Moments, Readings, Undefined};
use crate::units::Length;

/// The moments of readings above an origin.
pub(crate) fn above(origin: f64, readings: &[f64]) -> Result<Moments, Undefined> {
    let readings: Vec<f64> = readings.iter().map(|reading| reading - origin).collect();
    Moments::of(&Readings::of_numbers(&readings)?)
}

/// The moments of readings.
pub(crate) fn moments(readings: &[f64]) -> Result<Moments, Undefined> {
    Moments::of(&Readings::of_numbers(readings)?)
}

/// The first reading of all groups, as their origin.
pub(crate) fn origin(groups: &[impl AsRef<[f64]>]) -> f64 {
    let mut all = groups.iter().flat_map(|group| group.as_ref());
    all.next().copied().unwrap_or(0.0)
}

/// Differences of readings up to this size are what their numbers were rounded by.
pub(crate) fn rounding_of(groups: &[impl AsRef<[f64]>]) -> f64 {
    let all = groups.iter().flat_map(|group| group.as_ref());
    8.0 * f64::EPSILON * all.fold(0.0, |largest, reading| reading.abs().max(largest))
}

/// The moments of each group of readings given as counts of display steps, in steps above the first
/// count of the first group. Differences of counts and their sums are whole numbers: nothing is lost
/// however large the common part.
pub(crate) fn of_counts(groups: &[impl AsRef<[i64]>]) -> Result<Vec<Moments>, Undefined> {
    let mut all = groups.iter().flat_map(|group| group.as_ref());
    let first = all.next().copied().unwrap_or(0);
    let one_step = Length::computed(1.0);
    let of = |group: &[i64]| {
        let above: Option<Vec<i64>> = group.iter().map(|count| count.checked_sub(first)).collect();
        let above = above.ok_or(Undefined::NotAReading { at: 0 })?;
        Moments::of(&Readings::of_steps(&above, one_step)?)
    };
    groups.iter().map(|group| of(group.as_ref())).collect()
}
/// Largest minus smallest; 0 of none.
pub(crate) fn range(readings: &[f64]) -> f64 {
    let largest = readings.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest = readings.iter().copied().fold(f64::INFINITY, f64::min);
    (largest - smallest).max(0.0)
}

/// The mean of numbers; `None` of none.
pub(crate) fn mean(numbers: &[f64]) -> Option<f64> {
    moments(numbers).ok().map(|moments| moments.mean)
}
