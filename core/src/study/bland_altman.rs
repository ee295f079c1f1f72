//! Two methods on many pieces: how far apart may they read on one piece?
//!
//! The difference on each piece is held against the mean of both; the limits of agreement are the mean
//! difference ± a factor times the deviation of the differences. Where pieces were measured
//! repeatedly, the limits are those of single readings: what averaging took off is put back.
//! A correlation says nothing here: two methods that read 0.1 mm apart correlate perfectly.
//! Source: Bland and Altman, Lancet 1986;i:307 and Statistical Methods in Medical Research 8 (1999) 135 (formulas
//! from memory; the printed example of the first is checked).

use std::collections::BTreeMap;

use super::design::Pieces;
use super::figure::{Estimate, is_within, length, percent, reads_against, signed};
use super::progress::Study;
use super::spread::Deviation;
use super::sums::moments;
use crate::decimal::format_to;
use crate::stats::distribution::{normal_probability, normal_quantile};
use crate::stats::line::Line;
use crate::stats::moments::{Moments, pooled};
use crate::stats::{Interval, Undefined};
use crate::units::Unit;

/// Fewer pieces give limits that say little.
const FEW_PIECES: usize = 10;

/// How wide the limits of agreement are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimitsFactor {
    /// To hold 95 % of differences: 1.96 deviations.
    NinetyFive,
    /// So many deviations; the first paper took 2.
    Times(f64),
}

impl LimitsFactor {
    /// The factor.
    pub fn factor(self) -> f64 {
        match self {
            LimitsFactor::NinetyFive => normal_quantile(0.975).unwrap_or(1.96),
            LimitsFactor::Times(factor) => factor,
        }
    }

    fn checked(self) -> Result<f64, Undefined> {
        match self.factor() {
            times if times > 0.0 && times.is_finite() => Ok(times),
            found => Err(Undefined::Senseless {
                what: "the factor of the limits",
                found,
            }),
        }
    }

    /// What is printed with every result.
    pub fn words(self) -> String {
        format!(
            "limits of agreement at {} deviations",
            format_to(self.factor(), 2)
        )
    }
}

/// What two methods read on one piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Readings of the first method, one at least.
    pub first: Vec<f64>,
    /// Readings of the second method, one at least.
    pub second: Vec<f64>,
}

impl Piece {
    /// The pieces of a study that both methods (counted from 0) have measured, with their names. What
    /// several operators read of one piece is taken together.
    pub fn from_study(study: &Study, first: usize, second: usize) -> Vec<(String, Piece)> {
        let design = study.design();
        let mut pieces: BTreeMap<(usize, usize), Piece> = BTreeMap::new();
        for measured in study.measured() {
            let cell = measured.cell;
            let whose = match design.pieces {
                Pieces::Shared(_) => 0,
                Pieces::Own(_) => cell.operator,
            };
            let piece = pieces.entry((whose, cell.piece)).or_insert_with(|| Piece {
                first: Vec::new(),
                second: Vec::new(),
            });
            if cell.method == first {
                piece.first.push(measured.value_mm);
            } else if cell.method == second {
                piece.second.push(measured.value_mm);
            }
        }
        let both = |piece: &Piece| !piece.first.is_empty() && !piece.second.is_empty();
        let named = pieces.into_iter().filter(|(_, piece)| both(piece));
        named
            .filter_map(|((whose, at), piece)| {
                let name = design.piece_name(whose, at)?;
                Some((name.to_owned(), piece))
            })
            .collect()
    }
}

/// The agreement of two methods over many pieces, in the unit of the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct BlandAltman {
    /// How many pieces.
    pub pieces: usize,
    /// For each piece the mean of both methods and their difference: what is drawn.
    pub points: Vec<(f64, f64)>,
    /// The mean difference, first minus second.
    pub bias: Estimate,
    /// The interval of the bias.
    pub bias_interval: Interval,
    /// The deviation of the differences of single readings.
    pub deviation: Deviation,
    /// How wide the limits are taken.
    pub factor: LimitsFactor,
    /// The limits of agreement.
    pub limits: Interval,
    /// The standard error of a limit.
    pub limit_error: f64,
    /// The interval of the lower limit.
    pub lower_limit_interval: Interval,
    /// The interval of the upper limit.
    pub upper_limit_interval: Interval,
    /// How the difference changes with the size of the piece; undefined when all pieces are of one size.
    pub slope: Result<Estimate, Undefined>,
    /// How each method repeats on one piece; undefined without repeated readings.
    pub repeats: [Result<Deviation, Undefined>; 2],
}

impl BlandAltman {
    /// Of one pair of readings for each piece.
    ///
    /// # Errors
    /// As [`BlandAltman::of`], and [`Undefined::Unpaired`] for lists of different lengths.
    pub fn of_pairs(
        first: &[f64],
        second: &[f64],
        factor: LimitsFactor,
        confidence: f64,
    ) -> Result<BlandAltman, Undefined> {
        if first.len() != second.len() {
            return Err(Undefined::Unpaired {
                first: first.len(),
                second: second.len(),
            });
        }
        let piece = |(first, second): (&f64, &f64)| Piece {
            first: vec![*first],
            second: vec![*second],
        };
        let pieces: Vec<Piece> = first.iter().zip(second).map(piece).collect();
        BlandAltman::of(&pieces, factor, confidence)
    }

    /// Of the readings of both methods on each piece.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than three pieces, a piece that one method did not measure, a factor not
    /// above zero, or a confidence that is none.
    ///
    /// ```
    /// use overwire_core::study::{BlandAltman, LimitsFactor};
    /// let (first, second) = ([10.002, 10.513, 11.004, 11.498], [10.001, 10.513, 11.002, 11.497]);
    /// let agreement = BlandAltman::of_pairs(&first, &second, LimitsFactor::NinetyFive, 0.95)?;
    /// assert!((agreement.bias.value - 0.001).abs() < 1e-9);
    /// assert!(agreement.limits.holds(0.0));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(
        pieces: &[Piece],
        factor: LimitsFactor,
        confidence: f64,
    ) -> Result<BlandAltman, Undefined> {
        Undefined::unless_enough("pieces", 3, pieces.len())?;
        let times = factor.checked()?;
        let points = points(pieces)?;
        let differences: Vec<f64> = points.iter().map(|point| point.1).collect();
        let found = moments(&differences)?;
        let (repeats, put_back) = repeats(pieces);
        let deviation = Deviation {
            deviation: (found.variance()? + put_back).sqrt(),
            degrees_of_freedom: found.degrees_of_freedom() as f64,
        };
        let bias = Estimate {
            value: found.mean,
            standard_error: found.standard_error()?,
            degrees_of_freedom: deviation.degrees_of_freedom,
        };
        let number = points.len() as f64;
        let limit_error = (3.0 / number).sqrt() * deviation.deviation;
        let reach = times * deviation.deviation;
        let limit = |value: f64| {
            let limit = Estimate {
                value,
                standard_error: limit_error,
                ..bias
            };
            limit.interval(confidence)
        };
        Ok(BlandAltman {
            pieces: pieces.len(),
            bias,
            bias_interval: bias.interval(confidence)?,
            deviation,
            factor,
            limits: Interval::about(bias.value, reach, 1.0 - 2.0 * normal_probability(-times)),
            limit_error,
            lower_limit_interval: limit(bias.value - reach)?,
            upper_limit_interval: limit(bias.value + reach)?,
            slope: slope(&points),
            repeats,
            points,
        })
    }

    /// Whether both limits, with all that is not known of them, lie within ± a margin: either method
    /// can then stand in for the other. Never for a margin that is not above zero, nor for differences
    /// without any spread: there the display hides how far apart the methods are.
    pub fn is_shown_within(&self, margin: f64) -> bool {
        let all = Interval {
            low: self.lower_limit_interval.low,
            high: self.upper_limit_interval.high,
            confidence: self.lower_limit_interval.confidence,
        };
        margin > 0.0 && self.spreads() && is_within(&all, margin)
    }

    /// Whether the differences spread by more than what is lost in taking them.
    fn spreads(&self) -> bool {
        let largest = self.points.iter().map(|(mean, _)| mean.abs());
        let lost = 4.0 * f64::EPSILON * largest.fold(0.0, f64::max);
        self.deviation.deviation > lost
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        let single = match self.repeats.iter().any(Result::is_ok) {
            true => ", of single readings",
            false => "",
        };
        format!("{} pieces, {}{single}.", self.pieces, self.factor.words())
    }

    /// What is said, for readings in mm.
    pub fn sentences(&self, names: [&str; 2], unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let [first, second] = names;
        let mut sentences = vec![
            format!(
                "{first} {} on the average of {} pieces ({} to {}).",
                reads_against(self.bias.value, second, unit, finer),
                self.pieces,
                signed(self.bias_interval.low, unit, finer),
                signed(self.bias_interval.high, unit, finer)
            ),
            format!(
                "On one piece {first} differs from {second} by {} to {} for {} of pieces ({}).",
                signed(self.limits.low, unit, finer),
                signed(self.limits.high, unit, finer),
                percent(self.limits.confidence),
                self.factor.words()
            ),
            format!(
                "The lower of these limits lies within {} to {}, the upper within {} to {} ({}).",
                signed(self.lower_limit_interval.low, unit, finer),
                signed(self.lower_limit_interval.high, unit, finer),
                signed(self.upper_limit_interval.low, unit, finer),
                signed(self.upper_limit_interval.high, unit, finer),
                percent(self.lower_limit_interval.confidence)
            ),
        ];
        if !self.spreads() {
            sentences.push(
                "The differences do not spread at all: the display is too coarse for these limits to \
                 say anything."
                    .to_owned(),
            );
        }
        if self.pieces < FEW_PIECES {
            sentences.push(format!(
                "{} pieces are few: below {FEW_PIECES}, the limits say little.",
                self.pieces
            ));
        }
        if let Ok(slope) = self.slope
            && slope
                .probability_against(0.0)
                .is_ok_and(|chance| chance < 0.05)
        {
            sentences.push(format!(
                "The difference changes with the size of the piece, by {} for every {}: one bias does \
                 not hold for all sizes.",
                signed(slope.value * unit.mm_per_unit(), unit, finer),
                length(unit.mm_per_unit(), unit, 0)
            ));
        }
        sentences
    }
}

/// Mean and difference of both methods, piece by piece.
fn points(pieces: &[Piece]) -> Result<Vec<(f64, f64)>, Undefined> {
    let point = |piece: &Piece| {
        let (first, second) = (moments(&piece.first)?.mean, moments(&piece.second)?.mean);
        Ok((first + (second - first) / 2.0, first - second))
    };
    pieces.iter().map(point).collect()
}

fn slope(points: &[(f64, f64)]) -> Result<Estimate, Undefined> {
    let (means, differences): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let line = Line::through(&means, &differences)?;
    Ok(Estimate {
        value: line.slope,
        standard_error: line.slope_error()?,
        degrees_of_freedom: line.degrees_of_freedom() as f64,
    })
}

/// How each method repeats, and the variance that averaging took off the differences.
fn repeats(pieces: &[Piece]) -> ([Result<Deviation, Undefined>; 2], f64) {
    let of = |readings: fn(&Piece) -> &[f64]| {
        let sets: Vec<Moments> = pieces
            .iter()
            .filter_map(|piece| moments(readings(piece)).ok())
            .collect();
        let within = pooled(&sets).map(|pooled| Deviation {
            deviation: pooled.standard_deviation,
            degrees_of_freedom: pooled.degrees_of_freedom as f64,
        });
        let inverses: f64 = sets.iter().map(|set| 1.0 / set.count as f64).sum();
        let averaged_off = 1.0 - inverses / sets.len().max(1) as f64;
        let variance = within.map_or(0.0, |within| within.deviation.powi(2));
        (within, averaged_off * variance)
    };
    let (first, first_back) = of(|piece| &piece.first);
    let (second, second_back) = of(|piece| &piece.second);
    ([first, second], first_back + second_back)
}

/// The deviation of the difference of two readings of one method on one piece, from pieces that were
/// each measured twice: about zero, since either reading may be the larger. Nineteen times in twenty
/// two readings lie no further apart than twice this.
///
/// # Errors
/// [`Undefined::TooFew`] without a piece.
pub fn repeat_differences(pieces: &[[f64; 2]]) -> Result<Deviation, Undefined> {
    Undefined::unless_enough("pieces", 1, pieces.len())?;
    let squares: f64 = pieces
        .iter()
        .map(|[one, other]| (one - other).powi(2))
        .sum();
    let number = pieces.len() as f64;
    Ok(Deviation {
        deviation: (squares / number).sqrt(),
        degrees_of_freedom: number,
    })
}
