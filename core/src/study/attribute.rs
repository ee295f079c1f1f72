//! Go and no-go: do two judges agree, beyond what chance would do?
//!
//! Cohen's kappa: `(agreement - chance)/(1 - chance)`, with chance from how often each says what. In the
//! trade above 0.75 counts as good agreement, below 0.40 as poor.
//! Source: AIAG Measurement Systems Analysis, attribute study (from memory; printed values are checked).

use crate::stats::{Figure, Undefined};

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
