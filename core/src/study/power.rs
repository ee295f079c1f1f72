//! How many readings it takes: the chance that a study shows what there is to see.
//!
//! The standard deviation that a study will find is not known beforehand. The chance of a t test is
//! the noncentral t distribution. That of two one-sided tests is the mean, over everything the deviation
//! may come out as (chi-squared), of the normal probability for that deviation: exact, where most
//! handbooks approximate; by Simpson's rule, good to 8 digits.

use super::difference::Basis;
use crate::bisection::rising_zero;
use crate::stats::distribution::{
    chi_squared_quantile, log_gamma, noncentral_student_probability, normal_probability,
    student_quantile,
};

/// More readings than this of one method nobody takes.
pub const MOST_READINGS: usize = 2_000;

/// Panels of the integral, an even number.
const PANELS: u32 = 400;

/// How much of the distribution of a deviation is left out at either end.
const LEFT_OUT: f64 = 1e-11;

/// From here on a deviation found from readings is as good as known.
const AS_GOOD_AS_KNOWN: f64 = 1e7;

/// What a study is to show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// The difference that there truly is.
    pub difference: f64,
    /// The spread that there truly is, and whether readings are paired.
    pub basis: Basis,
    /// The significance: two-sided for a difference, of each of the two tests for equivalence.
    pub significance: f64,
}

impl Aim {
    /// The chance that the difference is shown, on the side where it is, with so many readings (or
    /// pairs) of each method. `None` for fewer than two or a significance that is none.
    pub fn chance_of_difference(&self, count: f64) -> Option<f64> {
        let (standard_error, freedom) = self.standard_error(count)?;
        let critical = student_quantile(1.0 - self.significance / 2.0, freedom)?;
        let shift = self.difference.abs() / standard_error;
        noncentral_student_probability(critical, freedom, shift).map(|below| 1.0 - below)
    }

    /// The chance that the difference is shown to lie within ± `margin`, with so many readings (or
    /// pairs) of each method. `None` for fewer than two, a significance that is none, or no margin.
    pub fn chance_of_equivalence(&self, margin: f64, count: f64) -> Option<f64> {
        let (standard_error, freedom) = self.standard_error(count)?;
        let critical = student_quantile(1.0 - self.significance, freedom)?;
        if margin <= 0.0 || margin.is_nan() {
            return None;
        }
        let upper = (margin - self.difference) / standard_error;
        let lower = (-margin - self.difference) / standard_error;
        let widest = margin / (critical * standard_error);
        over_deviations(freedom, widest, |scale| {
            let inside = normal_probability(upper - critical * scale)
                - normal_probability(lower + critical * scale);
            inside.max(0.0)
        })
    }

    /// How many readings (or pairs) of each method show the difference with this chance, not rounded
    /// up; two at least. `None` when there is no difference or spread, or it takes more than [`MOST_READINGS`].
    ///
    /// ```
    /// use overwire_core::study::{Aim, Basis};
    /// let basis = Basis::Pairs { deviation: 1.0 };
    /// let aim = Aim { difference: 0.5, basis, significance: 0.05 };
    /// let pairs = aim.readings_for_difference(0.90).expect("a number");
    /// assert_eq!(pairs.ceil(), 44.0);
    /// ```
    pub fn readings_for_difference(&self, chance: f64) -> Option<f64> {
        fewest(chance, |count| self.chance_of_difference(count))
    }

    /// How many readings (or pairs) of each method show with this chance that the difference lies
    /// within ± `margin`, not rounded up; two at least. `None` when it does not, or it takes more than
    /// [`MOST_READINGS`].
    pub fn readings_for_equivalence(&self, margin: f64, chance: f64) -> Option<f64> {
        if self.difference.abs() >= margin {
            return None;
        }
        fewest(chance, |count| self.chance_of_equivalence(margin, count))
    }

    /// How many readings (or pairs) of each method decide with this chance: show either that the
    /// difference lies within ± `margin` or, at the significance `of_difference`, that there is one.
    /// `None` when it takes more than [`MOST_READINGS`].
    pub fn readings_to_decide(
        &self,
        margin: f64,
        of_difference: f64,
        chance: f64,
    ) -> Option<usize> {
        let difference = Aim {
            significance: of_difference,
            ..*self
        };
        let shown = |count: f64| {
            let within = self.chance_of_equivalence(margin, count);
            let apart = difference.chance_of_difference(count);
            within.into_iter().chain(apart).any(|found| found >= chance)
        };
        let (mut short, mut enough) = (1, MOST_READINGS);
        if !shown(enough as f64) {
            return None;
        }
        while enough - short > 1 {
            let middle = short + (enough - short) / 2;
            match shown(middle as f64) {
                true => enough = middle,
                false => short = middle,
            }
        }
        Some(enough)
    }

    fn standard_error(&self, count: f64) -> Option<(f64, f64)> {
        let (standard_error, freedom) = self.basis.at(count);
        let sound = count > 1.0 && standard_error > 0.0 && self.difference.is_finite();
        (sound && freedom > 0.0).then_some((standard_error, freedom))
    }
}

/// The least count with which a rising chance is reached.
fn fewest(wanted: f64, chance: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    if !(wanted > 0.0 && wanted < 1.0) {
        return None;
    }
    let least = 2.0;
    if chance(least)? >= wanted {
        return Some(least);
    }
    rising_zero(least, MOST_READINGS as f64, |count| {
        Some(chance(count)? - wanted)
    })
}

/// The mean of a function of the deviation found over the true one, up to a largest such ratio,
/// beyond which the function is nothing.
fn over_deviations(freedom: f64, largest: f64, function: impl Fn(f64) -> f64) -> Option<f64> {
    if freedom > AS_GOOD_AS_KNOWN {
        return Some(if largest > 1.0 { function(1.0) } else { 0.0 });
    }
    let ratio_at =
        |probability| Some((chi_squared_quantile(probability, freedom)? / freedom).sqrt());
    let low = ratio_at(LEFT_OUT)?;
    let high = ratio_at(1.0 - LEFT_OUT)?.min(largest);
    if high <= low {
        return Some(0.0);
    }
    let half = freedom / 2.0;
    let constant = 2.0_f64.ln() + half * half.ln() - log_gamma(half);
    let density =
        |ratio: f64| (constant + (freedom - 1.0) * ratio.ln() - half * ratio * ratio).exp();
    let step = (high - low) / f64::from(PANELS);
    let term = |panel: u32| {
        let ratio = low + f64::from(panel) * step;
        let weight = match panel {
            0 | PANELS => 1.0,
            odd if odd % 2 == 1 => 4.0,
            _ => 2.0,
        };
        weight * density(ratio) * function(ratio)
    };
    Some((0..=PANELS).map(term).sum::<f64>() * step / 3.0)
}
