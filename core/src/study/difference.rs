//! The difference of two means, paired or not, and whether it lies within a margin.
//!
//! That no difference was found never says that there is none: it says that few readings were
//! taken or that they spread. That two methods read alike is shown by two one-sided tests (TOST): the
//! interval of the difference at twice the significance must lie within the margin.
//! Source: NIST/SEMATECH e-Handbook 1.3.5.3 and 7.3.1 (t tests), Schuirmann 1987 (two one-sided tests); formulas
//! from memory, results checked against independently computed ones.

use super::figure::{Estimate, is_within, no_freedom};
use super::spread::Deviation;
use super::sums::{above, moments};
use crate::stats::distribution::student_beyond;
use crate::stats::{Interval, Undefined};

/// From what a difference was found, and with it how its standard error shrinks with more readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// Pairs of readings, one of each method in the same block.
    Pairs {
        /// The standard deviation of the differences.
        deviation: f64,
    },
    /// Readings that are not paired; spreads need not agree (Welch).
    Apart {
        /// The standard deviation of the first method's readings.
        first: f64,
        /// The standard deviation of the second method's readings.
        second: f64,
    },
}

impl Basis {
    /// Standard error and degrees of freedom with so many readings (or pairs) of each method.
    pub fn at(&self, count: f64) -> (f64, f64) {
        match *self {
            Basis::Pairs { deviation } => (deviation / count.sqrt(), count - 1.0),
            Basis::Apart { first, second } => {
                let (one, two) = (first * first, second * second);
                let sum = one + two;
                let freedom = match one * one + two * two {
                    squares if squares > 0.0 => (count - 1.0) * sum * sum / squares,
                    _ => 2.0 * (count - 1.0),
                };
                ((sum / count).sqrt(), freedom)
            }
        }
    }
}

/// The difference of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// First minus second, with its standard error.
    pub estimate: Estimate,
    /// From what it was found.
    pub basis: Basis,
    /// How many readings (or pairs) there are of the method that has fewer.
    pub count: usize,
    /// Whether the readings spread less than their display step accounts for, and the step was put
    /// in place of their spread.
    pub step_bound: bool,
}

impl Difference {
    /// Of pairs: readings of two methods in the same blocks, in the same order. `least` is the least
    /// standard deviation that a difference can be said to have (a step / √6), 0 for none.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two pairs, [`Undefined::Unpaired`] when one method has more
    /// readings.
    pub fn of_pairs(first: &[f64], second: &[f64], least: f64) -> Result<Difference, Undefined> {
        if first.len() != second.len() {
            return Err(Undefined::Unpaired {
                first: first.len(),
                second: second.len(),
            });
        }
        let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
        let moments = moments(&differences)?;
        let found = moments.standard_deviation()?;
        let deviation = found.max(least);
        let basis = Basis::Pairs { deviation };
        let (standard_error, degrees_of_freedom) = basis.at(first.len() as f64);
        Ok(Difference {
            estimate: Estimate {
                value: moments.mean,
                standard_error,
                degrees_of_freedom,
            },
            basis,
            count: first.len(),
            step_bound: found < least,
        })
    }

    /// Of readings that are not paired. `least` is the least standard deviation that a reading can be
    /// said to have (a step / √12), 0 for none.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two readings of either.
    pub fn of_groups(first: &[f64], second: &[f64], least: f64) -> Result<Difference, Undefined> {
        let origin = first.first().copied().unwrap_or(0.0);
        let (upper, lower) = (above(origin, first)?, above(origin, second)?);
        let (first_found, second_found) =
            (upper.standard_deviation()?, lower.standard_deviation()?);
        let (one, two) = (first_found.max(least), second_found.max(least));
        let variances = (
            one * one / first.len() as f64,
            two * two / second.len() as f64,
        );
        let sum = variances.0 + variances.1;
        let freedoms = (first.len() as f64 - 1.0, second.len() as f64 - 1.0);
        let squares = variances.0.powi(2) / freedoms.0 + variances.1.powi(2) / freedoms.1;
        Ok(Difference {
            estimate: Estimate {
                value: upper.mean - lower.mean,
                standard_error: sum.sqrt(),
                degrees_of_freedom: match squares > 0.0 {
                    true => sum * sum / squares,
                    false => freedoms.0 + freedoms.1,
                },
            },
            basis: Basis::Apart {
                first: one,
                second: two,
            },
            count: first.len().min(second.len()),
            step_bound: first_found < least || second_found < least,
        })
    }

    /// The standard deviation of the differences of pairs; `None` when the readings are not paired.
    pub fn deviation_of_pairs(&self) -> Option<Deviation> {
        match self.basis {
            Basis::Pairs { deviation } => Some(Deviation {
                deviation,
                degrees_of_freedom: self.estimate.degrees_of_freedom,
            }),
            Basis::Apart { .. } => None,
        }
    }
}

/// Two one-sided tests: does a difference lie within ± a margin?
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalence {
    /// The margin, above zero.
    pub margin: f64,
    /// The significance of each test.
    pub significance: f64,
    /// How many standard errors the difference lies above the lower margin.
    pub t_lower: f64,
    /// The probability of that if the true difference were at the lower margin.
    pub probability_lower: f64,
    /// How many standard errors the difference lies above the upper margin; negative when below.
    pub t_upper: f64,
    /// The probability of that if the true difference were at the upper margin.
    pub probability_upper: f64,
    /// The interval of the difference at twice the significance (90 % for 0.05).
    pub interval: Interval,
}

impl Equivalence {
    /// Tests a difference.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when it has no standard error, [`Undefined::Senseless`] for a margin not
    /// above zero or a significance not between 0 and 0.5.
    pub fn test(
        difference: &Estimate,
        margin: f64,
        significance: f64,
    ) -> Result<Equivalence, Undefined> {
        if margin <= 0.0 || margin.is_nan() {
            return Err(Undefined::Senseless {
                what: "a margin",
                found: margin,
            });
        }
        if !(significance > 0.0 && significance < 0.5) {
            return Err(Undefined::Senseless {
                what: "a significance",
                found: significance,
            });
        }
        let t_lower = difference.t_against(-margin)?;
        let t_upper = difference.t_against(margin)?;
        let beyond = |t: f64| {
            student_beyond(t, difference.degrees_of_freedom)
                .ok_or(no_freedom(difference.degrees_of_freedom))
        };
        Ok(Equivalence {
            margin,
            significance,
            t_lower,
            probability_lower: beyond(t_lower)?,
            t_upper,
            probability_upper: beyond(-t_upper)?,
            interval: difference.interval(1.0 - 2.0 * significance)?,
        })
    }

    /// The larger of the two probabilities: that of the whole test.
    pub const fn probability(&self) -> f64 {
        self.probability_lower.max(self.probability_upper)
    }

    /// Whether the difference is shown to lie within the margin.
    pub fn is_shown(&self) -> bool {
        is_within(&self.interval, self.margin)
    }
}
