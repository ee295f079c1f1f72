//! Many comparisons at once, so that none is called a difference by chance.
//!
//! Source: NIST/SEMATECH e-Handbook 7.4.7 (Tukey and Kramer), C. W. Dunnett 1955 (one spread for all) and 1980 (T3; rules from memory;
//! results checked against independently computed ones).

use std::f64::consts::SQRT_2;

use super::anova::{Blocked, OneWay};
use super::difference::Difference;
use super::figure::{Estimate, no_confidence, no_freedom};
use super::sums::{above, origin};
use crate::stats::distribution::{
    Dunnett, Sides, studentized_range_beyond, studentized_range_quantile,
};
use crate::stats::{Interval, Undefined};

/// How the chance of a false difference among many comparisons is kept down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjustment {
    /// One comparison only: nothing to keep down.
    None,
    /// All against one baseline, each with its own spread (Dunnett's T3): the largest of as many t that
    /// have only their spread's uncertainty in common. Probabilities and intervals are of one procedure.
    OwnSpreads,
}

impl Adjustment {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Adjustment::None => "none",
            Adjustment::OwnSpreads => "own_spreads",
        }
    }

    /// What is printed with every result.
    pub const fn words(self) -> &'static str {
        match self {
            Adjustment::None => "one comparison, taken as it is",
            Adjustment::OwnSpreads => {
                "all against the baseline at once, each with its own spread (Dunnett's T3)"
            }
        }
    }
}

/// A comparison as it stands among all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adjusted {
    /// The probability of such a difference by chance in any of the comparisons.
    pub probability: f64,
    /// The interval that, together with those of the others, holds with the confidence asked for.
    pub interval: Interval,
}

/// The difference of two of several groups, with one spread common to all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The first group, counted from 0.
    pub first: usize,
    /// The second group.
    pub second: usize,
    /// Second minus first.
    pub estimate: Estimate,
    /// As it stands among all pairs.
    pub adjusted: Adjusted,
}

/// All groups against each other, with one spread for all (Tukey; Kramer for groups of unequal size).
///
/// # Errors
/// [`Undefined`] for fewer than two groups, one reading in each of them, without spread, or for a
/// confidence that is none.
pub fn tukey(groups: &[impl AsRef<[f64]>], confidence: f64) -> Result<Vec<Pair>, Undefined> {
    Common::of(groups)?.all_pairs(confidence)
}

/// All methods against each other within blocks: drift from block to block is taken out of the spread.
///
/// # Errors
/// As [`tukey`], and [`Undefined::Unpaired`] unless every block holds one reading of each method.
pub fn tukey_in_blocks(
    methods: &[impl AsRef<[f64]>],
    confidence: f64,
) -> Result<Vec<Pair>, Undefined> {
    Common::in_blocks(methods)?.all_pairs(confidence)
}

/// All groups against one of them, with one spread for all (Dunnett), in the order of the groups.
///
/// # Errors
/// [`Undefined`] for fewer than two groups, one reading in each of them, without spread, for a baseline
/// that is not there, or a confidence that is none.
///
/// ```
/// use overwire_core::study::dunnett;
/// let groups = [vec![12.003, 12.001, 12.004], vec![12.004, 12.006, 12.005], vec![12.001, 12.003, 12.002]];
/// let against = dunnett(&groups, 0, 0.95)?;
/// assert_eq!((against.len(), against[0].first, against[0].second), (2, 0, 1));
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
pub fn dunnett(
    groups: &[impl AsRef<[f64]>],
    baseline: usize,
    confidence: f64,
) -> Result<Vec<Pair>, Undefined> {
    Common::of(groups)?.against(baseline, confidence)
}

/// All methods against one of them within blocks: drift from block to block is taken out of the spread.
///
/// # Errors
/// As [`dunnett`], and [`Undefined::Unpaired`] unless every block holds one reading of each method.
pub fn dunnett_in_blocks(
    methods: &[impl AsRef<[f64]>],
    baseline: usize,
    confidence: f64,
) -> Result<Vec<Pair>, Undefined> {
    Common::in_blocks(methods)?.against(baseline, confidence)
}

/// Groups with one spread for all.
struct Common {
    means: Vec<f64>,
    counts: Vec<usize>,
    variance: f64,
    degrees_of_freedom: f64,
}

impl Common {
    fn of(groups: &[impl AsRef<[f64]>]) -> Result<Common, Undefined> {
        let one_way = OneWay::of(groups)?;
        one_way.deviation_within()?;
        let within = one_way.within;
        let origin = origin(groups);
        let mut means = Vec::with_capacity(groups.len());
        for group in groups {
            means.push(above(origin, group.as_ref())?.mean);
        }
        Ok(Common {
            means,
            counts: groups.iter().map(|group| group.as_ref().len()).collect(),
            variance: within.mean_square().unwrap_or(0.0),
            degrees_of_freedom: within.degrees_of_freedom,
        })
    }

    /// With what neither methods nor blocks explain as the spread.
    fn in_blocks(methods: &[impl AsRef<[f64]>]) -> Result<Common, Undefined> {
        let rest = Blocked::of(methods)?.rest;
        Ok(Common {
            variance: rest.mean_square().unwrap_or(0.0),
            degrees_of_freedom: rest.degrees_of_freedom,
            ..Common::of(methods)?
        })
    }

    fn all_pairs(&self, confidence: f64) -> Result<Vec<Pair>, Undefined> {
        let groups = self.means.len();
        let number = u32::try_from(groups).unwrap_or(u32::MAX);
        let freedom = self.degrees_of_freedom;
        let factor = studentized_range_quantile(confidence, number, freedom);
        let factor = factor.ok_or(no_confidence(confidence))? / SQRT_2;
        let mut pairs = Vec::new();
        for first in 0..groups {
            for second in first + 1..groups {
                let estimate = self.difference(second, first)?;
                let range = estimate.t_against(0.0)?.abs() * SQRT_2;
                let probability = studentized_range_beyond(range, number, freedom);
                let reach = factor * estimate.standard_error;
                pairs.push(Pair {
                    first,
                    second,
                    estimate,
                    adjusted: Adjusted {
                        probability: probability.ok_or(no_freedom(freedom))?,
                        interval: Interval::about(estimate.value, reach, confidence),
                    },
                });
            }
        }
        Ok(pairs)
    }

    /// One group minus another.
    fn difference(&self, one: usize, other: usize) -> Result<Estimate, Undefined> {
        let of = |group: usize| {
            let mean = *self.means.get(group)?;
            Some((mean, self.variance / *self.counts.get(group)? as f64))
        };
        let groups = of(one).zip(of(other));
        let ((mean, share), (other_mean, other_share)) = groups.ok_or(Undefined::TooFew {
            of: "groups",
            needed: one.max(other).saturating_add(1),
            found: self.means.len(),
        })?;
        Ok(Estimate {
            value: mean - other_mean,
            standard_error: (share + other_share).sqrt(),
            degrees_of_freedom: self.degrees_of_freedom,
        })
    }

    fn against(&self, baseline: usize, confidence: f64) -> Result<Vec<Pair>, Undefined> {
        let others = (0..self.means.len()).filter(|&group| group != baseline);
        let others: Vec<usize> = others.collect();
        let sizes: Vec<usize> = others
            .iter()
            .filter_map(|&group| self.counts.get(group).copied())
            .collect();
        let named = self.counts.get(baseline).copied().unwrap_or(0);
        let freedom = self.degrees_of_freedom;
        let together = Dunnett::of_sizes(named, &sizes, freedom).ok_or(no_freedom(freedom))?;
        let factor = together.quantile(confidence, Sides::Both);
        let factor = factor.ok_or(no_confidence(confidence))?;
        let mut pairs = Vec::with_capacity(others.len());
        for second in others {
            let estimate = self.difference(second, baseline)?;
            let size = estimate.t_against(0.0)?.abs();
            let probability = together.beyond(size, Sides::Both);
            let reach = factor * estimate.standard_error;
            pairs.push(Pair {
                first: baseline,
                second,
                estimate,
                adjusted: Adjusted {
                    probability: probability.ok_or(no_freedom(freedom))?,
                    interval: Interval::about(estimate.value, reach, confidence),
                },
            });
        }
        Ok(pairs)
    }
}

/// Differences from one baseline, all at once, each with its own spread (Dunnett's T3).
pub(crate) fn with_own_spreads(
    differences: &[Result<Difference, Undefined>],
    confidence: f64,
) -> Vec<Result<Adjusted, Undefined>> {
    let number = differences.len();
    let one = |difference: &Result<Difference, Undefined>| {
        let estimate = (*difference)?.estimate;
        match number {
            1 => Ok(Adjusted {
                probability: estimate.probability_against(0.0)?,
                interval: estimate.interval(confidence)?,
            }),
            _ => among(&estimate, number, confidence),
        }
    };
    differences.iter().map(one).collect()
}

/// One of so many differences.
fn among(estimate: &Estimate, number: usize, confidence: f64) -> Result<Adjusted, Undefined> {
    // Welch's degrees of freedom are never below one, but for what rounding leaves.
    let freedom = estimate.degrees_of_freedom.max(1.0);
    let together = Dunnett::apart(number, freedom).ok_or(no_freedom(freedom))?;
    let factor = together.quantile(confidence, Sides::Both);
    let reach = factor.ok_or(no_confidence(confidence))? * estimate.standard_error;
    let probability = together.beyond(estimate.t_against(0.0)?.abs(), Sides::Both);
    Ok(Adjusted {
        probability: probability.ok_or(no_freedom(freedom))?,
        interval: Interval::about(estimate.value, reach, confidence),
    })
}
