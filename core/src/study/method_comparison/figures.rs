//! What comes of a comparison, figure by figure.

use crate::stats::{Interval, Undefined};
use crate::study::anova::{Blocked, OneWay};
use crate::study::budget::{Bias, Repeatability};
use crate::study::comparisons::Adjusted;
use crate::study::difference::{Difference, Equivalence};
use crate::study::figure::FRatio;
use crate::study::spread::{Bartlett, Deviation, SpreadRatio};

/// One method by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct MethodFigures {
    /// Its name.
    pub name: String,
    /// How many readings.
    pub count: usize,
    /// Their mean, in mm.
    pub mean: Result<f64, Undefined>,
    /// Their standard deviation: how well the method repeats.
    pub deviation: Result<Deviation, Undefined>,
    /// The interval of that deviation.
    pub deviation_interval: Result<Interval, Undefined>,
}

impl MethodFigures {
    /// What the uncertainty budget takes from here.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two readings.
    pub fn repeatability(&self) -> Result<Repeatability, Undefined> {
        self.deviation.map(Repeatability::from)
    }
}

/// How many more readings would decide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum More {
    /// So many more of each method (or blocks), if bias and spread stay as they are.
    Readings(usize),
    /// More than anybody takes ([`MOST_READINGS`](crate::study::MOST_READINGS)).
    TooMany,
    /// Nobody knows: the readings of a method do not differ, so their spread is not known.
    NoSpread,
}

/// What is said about a method's mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Reads the same within the margin, and no difference was found; by readings enough and with spread.
    Equivalent,
    /// A difference was found; it is shown to lie within the margin.
    DifferentWithinMargin,
    /// A difference was found, and it is not shown to lie within the margin.
    Different {
        /// Whether it is shown to lie beyond the margin.
        beyond_margin: bool,
    },
    /// Neither a difference nor equivalence was shown, or by too few readings to rely on.
    NotEnough(More),
}

/// What is said about a method's spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpreadVerdict {
    /// It repeats better than the baseline.
    Tighter,
    /// It repeats worse.
    Wider,
    /// Neither was shown.
    NotShown,
}

/// A method's mean against the baseline's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanAgainst {
    /// Method minus baseline.
    pub difference: Difference,
    /// The interval of the difference by itself.
    pub interval: Interval,
    /// The probability of such a difference by chance, by itself.
    pub probability: f64,
    /// The same among all methods compared.
    pub adjusted: Adjusted,
    /// Whether it is shown to lie within the margin.
    pub equivalence: Equivalence,
    /// The bias as a share of the tolerance, if one was stated.
    pub share: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
}

impl MeanAgainst {
    /// What the uncertainty budget takes from here.
    pub fn bias(&self) -> Bias {
        Bias::from(self.difference.estimate)
    }
}

/// A method's spread against the baseline's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadAgainst {
    /// Method over baseline.
    pub ratio: SpreadRatio,
    /// Levene's test of the two.
    pub levene: Result<FRatio, Undefined>,
    /// What it comes to: whether the interval of the ratio leaves out 1.
    pub verdict: SpreadVerdict,
}

/// A method against the baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// The method.
    pub name: String,
    /// Does it read the same?
    pub mean: Result<MeanAgainst, Undefined>,
    /// Does it repeat as well?
    pub spread: Result<SpreadAgainst, Undefined>,
}

/// Whether all methods have one mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SameMean {
    /// One-way, as if unpaired and of one spread.
    pub one_way: Result<OneWay, Undefined>,
    /// One-way for unequal spreads.
    pub welch: Result<FRatio, Undefined>,
    /// Methods within blocks; only when paired.
    pub blocked: Option<Result<Blocked, Undefined>>,
}

/// Whether all methods have one spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SameSpread {
    /// Levene's test about the median.
    pub levene: Result<FRatio, Undefined>,
    /// Bartlett's test, for normally distributed readings only.
    pub bartlett: Result<Bartlett, Undefined>,
    /// Whether the spreads count as different.
    pub differ: bool,
}
