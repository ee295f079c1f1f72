//! Go and no-go: do two judges agree, beyond what chance would do?
//!
//! Cohen's kappa: `(agreement - chance)/(1 - chance)`, with chance from how often each says what. In the
//! trade above 0.75 counts as good agreement, below 0.40 as poor.
//! Source: AIAG Measurement Systems Analysis, attribute study (from memory; printed values are checked).

use crate::stats::{Figure, Interval, Undefined};
use crate::uncertainty::normal_quantile;

/// How often two judges said what of the same pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Agreement {
    /// Both refused the piece.
    pub both_refused: u32,
    /// The first refused it, the second let it pass.
    pub first_refused: u32,
    /// The second refused it, the first let it pass.
    pub second_refused: u32,
    /// Both let it pass.
    pub both_passed: u32,
}

impl Agreement {
    /// Counts pairs of judgements of the same pieces, true for a pass.
    pub fn count(judgements: impl IntoIterator<Item = (bool, bool)>) -> Agreement {
        let mut counts = Agreement {
            both_refused: 0,
            first_refused: 0,
            second_refused: 0,
            both_passed: 0,
        };
        for judgement in judgements {
            let count = match judgement {
                (false, false) => &mut counts.both_refused,
                (false, true) => &mut counts.first_refused,
                (true, false) => &mut counts.second_refused,
                (true, true) => &mut counts.both_passed,
            };
            *count = count.saturating_add(1);
        }
        counts
    }

    /// How many pieces.
    pub fn pieces(&self) -> f64 {
        let counts = [
            self.both_refused,
            self.first_refused,
            self.second_refused,
            self.both_passed,
        ];
        counts.into_iter().map(f64::from).sum()
    }

    /// The share of pieces on which both say the same.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without pieces.
    pub fn agreement(&self) -> Figure {
        let pieces = self.pieces();
        if pieces <= 0.0 {
            return Err(Undefined::TooFew {
                of: "pieces",
                needed: 1,
                found: 0,
            });
        }
        Ok((f64::from(self.both_refused) + f64::from(self.both_passed)) / pieces)
    }

    /// The share on which both would say the same by chance.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without pieces.
    pub fn by_chance(&self) -> Figure {
        self.agreement()?;
        let pieces = self.pieces();
        let share = |one: u32, other: u32| (f64::from(one) + f64::from(other)) / pieces;
        let first = share(self.both_refused, self.first_refused);
        let second = share(self.both_refused, self.second_refused);
        Ok(first * second + (1.0 - first) * (1.0 - second))
    }

    /// Cohen's kappa: 1 for agreement throughout, 0 for none beyond chance.
    ///
    /// # Errors
    /// [`Undefined`] without pieces, or when both say the same of all pieces whatever they are.
    ///
    /// ```
    /// use overwire_core::study::Agreement;
    /// let counts = Agreement { both_refused: 44, first_refused: 6, second_refused: 3, both_passed: 97 };
    /// assert!((counts.kappa()? - 0.863).abs() < 5e-4);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn kappa(&self) -> Figure {
        let (agreement, chance) = (self.agreement()?, self.by_chance()?);
        match chance < 1.0 {
            true => Ok((agreement - chance) / (1.0 - chance)),
            false => Err(Undefined::NoSpread),
        }
    }

    /// The standard error of kappa, for many pieces.
    ///
    /// Source: Fleiss, Cohen & Everitt, Psychological Bulletin 72 (1969), from memory; R vcd 1.4.11 agrees.
    ///
    /// # Errors
    /// As [`Agreement::kappa`].
    pub fn kappa_error(&self) -> Figure {
        let (kappa, chance) = (self.kappa()?, self.by_chance()?);
        let pieces = self.pieces();
        let share = |count: u32| f64::from(count) / pieces;
        let (refused, passed) = (share(self.both_refused), share(self.both_passed));
        let (first, second) = (share(self.first_refused), share(self.second_refused));
        // How often either refuses, and either lets pass; and one refuses what the other passes.
        let either = [
            2.0 * refused + first + second,
            2.0 * passed + first + second,
        ];
        let same = |share: f64, of: f64| share * (1.0 - of * (1.0 - kappa)).powi(2);
        let apart = first * (refused + second + passed + second).powi(2)
            + second * (refused + first + passed + first).powi(2);
        let variance =
            same(refused, either[0]) + same(passed, either[1]) + (1.0 - kappa).powi(2) * apart
                - (kappa - chance * (1.0 - kappa)).powi(2);
        Ok(variance.max(0.0).sqrt() / ((1.0 - chance) * pieces.sqrt()))
    }

    /// An interval for kappa, for many pieces; within -1 and 1.
    ///
    /// # Errors
    /// As [`Agreement::kappa`]; [`Undefined::NotInModel`] where both say the same of every piece, or of none: how far
    /// that reaches is not known from such an error.
    ///
    /// ```
    /// use overwire_core::study::Agreement;
    /// let counts = Agreement { both_refused: 44, first_refused: 6, second_refused: 3, both_passed: 97 };
    /// let interval = counts.kappa_interval(0.95)?;
    /// assert!((interval.low - 0.776).abs() < 5e-4 && (interval.high - 0.950).abs() < 5e-4);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn kappa_interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        Undefined::unless_probability("the confidence", confidence)?;
        let (kappa, error) = (self.kappa()?, self.kappa_error()?);
        let same = self.both_refused.saturating_add(self.both_passed);
        if f64::from(same) >= self.pieces() || same == 0 {
            return Err(Undefined::NotInModel {
                what: "interval where all agree, or none",
            });
        }
        let quantile = normal_quantile(0.5 + confidence / 2.0).ok_or(Undefined::Senseless {
            what: "the confidence",
            found: confidence,
        })?;
        let reach = quantile * error;
        Ok(Interval {
            low: (kappa - reach).max(-1.0),
            high: (kappa + reach).min(1.0),
            confidence,
        })
    }

    /// When the first judge is the truth (a measured pitch diameter): the share of bad pieces that the
    /// second lets pass.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without a bad piece.
    pub fn missed(&self) -> Figure {
        share_of(self.first_refused, self.both_refused, "bad pieces")
    }

    /// When the first judge is the truth: the share of good pieces that the second refuses.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without a good piece.
    pub fn false_alarms(&self) -> Figure {
        share_of(self.second_refused, self.both_passed, "good pieces")
    }
}

fn share_of(part: u32, rest: u32, of: &'static str) -> Figure {
    match f64::from(part) + f64::from(rest) {
        whole if whole > 0.0 => Ok(f64::from(part) / whole),
        _ => Err(Undefined::TooFew {
            of,
            needed: 1,
            found: 0,
        }),
    }
}
