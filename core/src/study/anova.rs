//! Analysis of variance: do the means of groups differ?
//!
//! One-way, one-way for groups of unequal spread (Welch), and methods within blocks. An origin
//! common to all readings is taken off before anything is squared.
//! Source: NIST/SEMATECH e-Handbook 1.3.5.4 and 7.4.3; B. L. Welch, Biometrika 38 (1951) 330 (formulas from
//! memory, results checked against certified and independently computed values).

use super::figure::FRatio;
use super::sums::{above, moments, of_counts, origin};
use crate::stats::{Moments, Undefined};

/// Every group has one reading only.
const NO_FREEDOM: Undefined = Undefined::TooFew {
    of: "readings in a group",
    needed: 2,
    found: 1,
};

/// One line of an analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// The sum of squares.
    pub squares: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Variation {
    /// The mean square; nothing without degrees of freedom.
    pub fn mean_square(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0.0).then(|| self.squares / self.degrees_of_freedom)
    }

    /// This one's mean square over another's.
    ///
    /// # Errors
    /// [`Undefined`] when the other's is nothing or either has no degrees of freedom.
    pub fn over(&self, other: &Variation) -> Result<FRatio, Undefined> {
        let upper = self.mean_square().ok_or(NO_FREEDOM)?;
        let lower = other.mean_square().ok_or(NO_FREEDOM)?;
        FRatio::of(
            (upper, self.degrees_of_freedom),
            (lower, other.degrees_of_freedom),
        )
    }

    /// This one, or none where the squares are no more than what rounding leaves.
    pub(crate) fn above(&self, rounding: f64) -> Variation {
        Variation {
            squares: match self.squares > rounding {
                true => self.squares,
                false => 0.0,
            },
            ..*self
        }
    }

    /// Two lines put together.
    pub fn with(&self, other: &Variation) -> Variation {
        Variation {
            squares: self.squares + other.squares,
            degrees_of_freedom: self.degrees_of_freedom + other.degrees_of_freedom,
        }
    }
}

/// A group of readings of which only mean and deviation are known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// How many readings.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub deviation: f64,
}

/// A one-way analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWay {
    /// How many groups.
    pub groups: usize,
    /// How many readings.
    pub count: usize,
    /// The mean of all readings.
    pub mean: f64,
    /// Between the groups.
    pub between: Variation,
    /// Within the groups.
    pub within: Variation,
    /// Between over within.
    pub ratio: Result<FRatio, Undefined>,
}

impl OneWay {
    /// Of groups of readings.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two groups, an empty group, or a number that is none.
    ///
    /// ```
    /// use overwire_core::study::OneWay;
    /// let table = OneWay::of(&[[6.9, 5.4, 5.8], [8.3, 6.8, 7.8], [8.0, 10.5, 8.1]])?;
    /// let ratio = table.ratio?;
    /// assert_eq!((ratio.upper, ratio.lower), (2.0, 6.0));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(groups: &[impl AsRef<[f64]>]) -> Result<OneWay, Undefined> {
        let origin = origin(groups);
        let moments: Result<Vec<Moments>, Undefined> = groups
            .iter()
            .map(|group| above(origin, group.as_ref()))
            .collect();
        one_way(origin, &moments?)
    }

    /// Of groups of readings given as counts of display steps, with the size of a step. Nothing is lost
    /// however long the part that all readings share; [`OneWay::mean`] is above the first reading.
    ///
    /// # Errors
    /// As [`OneWay::of`], and [`Undefined::Senseless`] for a step not above zero.
    pub fn of_counts(groups: &[impl AsRef<[i64]>], step: f64) -> Result<OneWay, Undefined> {
        if !(step > 0.0 && step.is_finite()) {
            return Err(Undefined::Senseless {
                what: "the display step",
                found: step,
            });
        }
        let in_steps = one_way(0.0, &of_counts(groups)?)?;
        let scaled = |variation: Variation| Variation {
            squares: variation.squares * step * step,
            ..variation
        };
        Ok(OneWay {
            mean: in_steps.mean * step,
            between: scaled(in_steps.between),
            within: scaled(in_steps.within),
            ..in_steps
        })
    }

    /// Of groups of which only count, mean and deviation are known.
    ///
    /// # Errors
    /// As [`OneWay::of`].
    pub fn of_summaries(groups: &[Summary]) -> Result<OneWay, Undefined> {
        let origin = groups.first().map_or(0.0, |group| group.mean);
        let moments: Vec<Moments> = groups
            .iter()
            .map(|group| Moments {
                count: group.count,
                mean: group.mean - origin,
                sum_of_squares: group.deviation.powi(2) * group.count.saturating_sub(1) as f64,
            })
            .collect();
        one_way(origin, &moments)
    }

    /// The share of the whole variation that lies between the groups, 0 to 1.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when nothing varies.
    pub fn share_between(&self) -> Result<f64, Undefined> {
        let all = self.between.with(&self.within).squares;
        match all > 0.0 {
            true => Ok(self.between.squares / all),
            false => Err(Undefined::NoSpread),
        }
    }

    /// The standard deviation within the groups.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] when no group has two readings.
    pub fn deviation_within(&self) -> Result<f64, Undefined> {
        let mean_square = self.within.mean_square().ok_or(NO_FREEDOM)?;
        Ok(mean_square.sqrt())
    }
}

fn one_way(origin: f64, groups: &[Moments]) -> Result<OneWay, Undefined> {
    let count: usize = groups.iter().map(|group| group.count).sum();
    let filled = groups.iter().filter(|group| group.count > 0).count();
    Undefined::unless_enough("groups", 2.max(groups.len()), filled)?;
    let total: f64 = groups
        .iter()
        .map(|group| group.count as f64 * group.mean)
        .sum();
    let mean = total / count as f64;
    let off = |group: &Moments| group.count as f64 * (group.mean - mean).powi(2);
    let between = Variation {
        squares: groups.iter().map(off).sum(),
        degrees_of_freedom: (groups.len() - 1) as f64,
    };
    let within = Variation {
        squares: groups.iter().map(|group| group.sum_of_squares).sum(),
        degrees_of_freedom: (count - groups.len()) as f64,
    };
    Ok(OneWay {
        groups: groups.len(),
        count,
        mean: origin + mean,
        between,
        within,
        ratio: between.over(&within),
    })
}

/// Whether the means of groups differ when their spreads differ too (Welch).
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two groups or readings in a group, [`Undefined::NoSpread`]
/// when the readings of a group do not differ.
pub fn welch(groups: &[impl AsRef<[f64]>]) -> Result<FRatio, Undefined> {
    let origin = origin(groups);
    Undefined::unless_enough("groups", 2, groups.len())?;
    let mut weighted = Vec::with_capacity(groups.len());
    for group in groups {
        let moments = above(origin, group.as_ref())?;
        let variance = moments.variance()?;
        if variance <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        weighted.push((moments.count as f64 / variance, moments));
    }
    welch_ratio(&weighted)
}

fn welch_ratio(groups: &[(f64, Moments)]) -> Result<FRatio, Undefined> {
    let number = groups.len() as f64;
    let weight: f64 = groups.iter().map(|(weight, _)| weight).sum();
    let mean = groups
        .iter()
        .map(|(own, moments)| own * moments.mean)
        .sum::<f64>()
        / weight;
    let off = |(own, moments): &(f64, Moments)| own * (moments.mean - mean).powi(2);
    let between = groups.iter().map(off).sum::<f64>() / (number - 1.0);
    let part =
        |(own, moments): &(f64, Moments)| (1.0 - own / weight).powi(2) / (moments.count - 1) as f64;
    let lack: f64 = groups.iter().map(part).sum();
    let square = number * number - 1.0;
    let ratio = between / (1.0 + 2.0 * (number - 2.0) / square * lack);
    FRatio::from_ratio(ratio, number - 1.0, square / (3.0 * lack))
}

/// An analysis of variance of methods that were each used once in every block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blocked {
    /// How many methods.
    pub methods: usize,
    /// How many blocks.
    pub blocks: usize,
    /// Between the methods.
    pub between_methods: Variation,
    /// Between the blocks: drift from one go through all methods to the next.
    pub between_blocks: Variation,
    /// What is left.
    pub rest: Variation,
    /// Methods over what is left.
    pub ratio: Result<FRatio, Undefined>,
    /// Blocks over what is left.
    pub blocks_ratio: Result<FRatio, Undefined>,
}

impl Blocked {
    /// Of methods, each with its readings in the order of the blocks.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two methods or blocks, or a method with fewer readings than
    /// another.
    pub fn of(methods: &[impl AsRef<[f64]>]) -> Result<Blocked, Undefined> {
        let blocks = methods.first().map_or(0, |method| method.as_ref().len());
        let fewest = methods.iter().map(|method| method.as_ref().len()).min();
        let most = methods.iter().map(|method| method.as_ref().len()).max();
        Undefined::unless_enough("methods", 2, methods.len())?;
        Undefined::unless_enough("blocks", 2, blocks)?;
        if fewest != most {
            return Err(Undefined::Unpaired {
                first: fewest.unwrap_or(0),
                second: most.unwrap_or(0),
            });
        }
        let by_block: Vec<Vec<f64>> = (0..blocks)
            .map(|block| {
                let readings = methods.iter().filter_map(|m| m.as_ref().get(block));
                readings.copied().collect()
            })
            .collect();
        let between_methods = OneWay::of(methods)?.between;
        let between_blocks = OneWay::of(&by_block)?.between;
        let rest = Variation {
            squares: squares_left(methods, &by_block)?,
            degrees_of_freedom: ((methods.len() - 1) * (blocks - 1)) as f64,
        };
        Ok(Blocked {
            methods: methods.len(),
            blocks,
            between_methods,
            between_blocks,
            rest,
            ratio: between_methods.over(&rest),
            blocks_ratio: between_blocks.over(&rest),
        })
    }
}

/// The squares that neither methods nor blocks explain.
fn squares_left(methods: &[impl AsRef<[f64]>], by_block: &[Vec<f64>]) -> Result<f64, Undefined> {
    let origin = origin(by_block);
    let block_means: Result<Vec<f64>, Undefined> = by_block
        .iter()
        .map(|block| above(origin, block).map(|moments| moments.mean))
        .collect();
    let block_means = block_means?;
    let mut squares = 0.0;
    for method in methods {
        // Off each block's mean, a method's readings differ by what is left.
        let off: Vec<f64> = method
            .as_ref()
            .iter()
            .zip(&block_means)
            .map(|(reading, block)| (reading - origin) - block)
            .collect();
        squares += moments(&off)?.sum_of_squares;
    }
    Ok(squares)
}
