//! Repeatability and bias on one piece or a master: one person, one method, many readings.
//!
//! Two figures say at a glance whether an instrument suits a tolerance T: a share of T (usually 0.2) over
//! six deviations, and half that share less the bias over three. Another convention takes four
//! deviations and two; which one is used is printed with the figures. Both should reach 1.33.
//! Source: formulas as used in the trade (the family of VDA 5 and ISO 22514-7; from memory). Bias from a
//! range: AIAG Measurement Systems Analysis, 3rd edition (from memory).

use serde::{Deserialize, Serialize};

use super::budget::{Bias, Repeatability};
use super::figure::{Estimate, length, percent, probability, reads_against, shortest, signed};
use super::spread::Deviation;
use super::sums::moments;
use crate::decimal::format_to;
use crate::stats::constants::{MeanRange, d2};
use crate::stats::distribution::chi_squared_quantile;
use crate::stats::{Interval, Undefined};
use crate::units::Unit;

/// Fewer readings than this get a caution; fifty are better.
pub const FEW_REPEATS: usize = 25;

/// How many deviations the share of the tolerance is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeConvention {
    /// Six, and three for the bias.
    #[default]
    SixDeviations,
    /// Four, and two for the bias.
    FourDeviations,
}

impl GaugeConvention {
    /// How many deviations.
    pub const fn deviations(self) -> f64 {
        match self {
            GaugeConvention::SixDeviations => 6.0,
            GaugeConvention::FourDeviations => 4.0,
        }
    }
}

/// How readings on one piece are judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnePieceSettings {
    /// What the piece truly measures, in mm, if it is known.
    pub reference_mm: Option<f64>,
    /// The standard uncertainty of that, in mm.
    pub reference_standard_mm: f64,
    /// The tolerance to be measured, in mm, if there is one.
    pub tolerance_mm: Option<f64>,
    /// The share of the tolerance that the readings may take up.
    pub share: f64,
    /// Over how many deviations.
    pub convention: GaugeConvention,
    /// What both figures should reach.
    pub least: f64,
    /// The confidence of intervals; one minus it is the significance of the bias.
    pub confidence: f64,
}

impl OnePieceSettings {
    /// The usual settings: 20 % of the tolerance over six deviations, at least 1.33, 95 %.
    pub const fn usual(reference_mm: Option<f64>, tolerance_mm: Option<f64>) -> OnePieceSettings {
        OnePieceSettings {
            reference_mm,
            reference_standard_mm: 0.0,
            tolerance_mm,
            share: 0.20,
            convention: GaugeConvention::SixDeviations,
            least: 1.33,
            confidence: 0.95,
        }
    }

    fn check(&self) -> Result<(), Undefined> {
        let above_zero = |what, found: f64| match found > 0.0 && found.is_finite() {
            true => Ok(()),
            false => Err(Undefined::Senseless { what, found }),
        };
        above_zero("the share of the tolerance", self.share)?;
        above_zero("the least index", self.least)?;
        above_zero("the tolerance", self.tolerance_mm.unwrap_or(1.0))?;
        above_zero(
            "the uncertainty of the reference",
            self.reference_standard_mm + 1.0,
        )?;
        Undefined::unless_probability("a confidence", self.confidence)
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        let deviations = self.convention.deviations();
        format!(
            "{} of the tolerance over {} deviations, less the bias over {}; at least {}; intervals {}.",
            percent(self.share),
            shortest(deviations),
            shortest(deviations / 2.0),
            shortest(self.least),
            percent(self.confidence)
        )
    }
}

/// How far the mean lies off the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceBias {
    /// The bias: mean minus reference.
    pub estimate: Estimate,
    /// Its interval, from the readings alone.
    pub interval: Interval,
    /// How many standard errors it is off; undefined when the readings do not differ.
    pub t: Result<f64, Undefined>,
    /// The probability of such a bias by chance.
    pub probability: Result<f64, Undefined>,
    /// Its standard uncertainty with that of the reference.
    pub combined_standard: f64,
    /// The bias as a share of the tolerance, if one was stated.
    pub share: Option<f64>,
}

impl ReferenceBias {
    /// What the uncertainty budget takes from here.
    pub fn bias(&self) -> Bias {
        let found = self.estimate;
        let whole = self.combined_standard;
        // The reference counts as known: of the whole, only the readings' part has few degrees.
        let inflated = match found.standard_error > 0.0 {
            true => (whole / found.standard_error).powi(4),
            false => f64::INFINITY,
        };
        Bias {
            value_mm: found.value,
            standard_mm: whole,
            degrees_of_freedom: found.degrees_of_freedom * inflated,
        }
    }
}

/// How the readings fit a tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToleranceFit {
    /// The share of the tolerance over so many deviations; undefined without spread.
    pub repeat_index: Result<f64, Undefined>,
    /// The same less the bias; `None` without a reference.
    pub bias_index: Option<Result<f64, Undefined>>,
    /// The deviations as a share of the tolerance.
    pub repeat_share: f64,
    /// The same with the bias; `None` without a reference.
    pub whole_share: Option<Result<f64, Undefined>>,
}

/// Many readings of one piece.
#[derive(Debug, Clone, PartialEq)]
pub struct OnePiece {
    /// How they were judged.
    pub settings: OnePieceSettings,
    /// How many.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub deviation: Deviation,
    /// The interval of that.
    pub deviation_interval: Interval,
    /// How far off the reference; `None` without one.
    pub bias: Option<ReferenceBias>,
    /// How they fit the tolerance; `None` without one.
    pub fit: Option<ToleranceFit>,
}

impl OnePiece {
    /// Judges readings of one piece.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two readings, a reading that is no number, or settings that make no
    /// sense.
    ///
    /// ```
    /// use overwire_core::study::{OnePiece, OnePieceSettings};
    /// let readings = [12.001, 12.002, 12.001, 12.000, 12.001];
    /// let settings = OnePieceSettings::usual(Some(12.001), Some(0.06));
    /// let study = OnePiece::of(&readings, settings)?;
    /// let fit = study.fit.expect("a tolerance was stated");
    /// assert!(fit.repeat_index? > 1.33);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(readings: &[f64], settings: OnePieceSettings) -> Result<OnePiece, Undefined> {
        settings.check()?;
        let found = moments(readings)?;
        let deviation = Deviation::of(readings)?;
        let bias = match settings.reference_mm {
            Some(reference) => {
                let estimate = Estimate {
                    value: found.mean - reference,
                    standard_error: found.standard_error()?,
                    degrees_of_freedom: deviation.degrees_of_freedom,
                };
                Some(reference_bias(estimate, &settings)?)
            }
            None => None,
        };
        let off = bias.map(|bias| bias.estimate.value.abs());
        let fit = settings
            .tolerance_mm
            .map(|tolerance| tolerance_fit(tolerance, deviation.deviation, off, &settings));
        Ok(OnePiece {
            settings,
            count: found.count,
            mean: found.mean,
            deviation,
            deviation_interval: deviation.interval(settings.confidence)?,
            bias,
            fit,
        })
    }

    /// What the uncertainty budget takes from here.
    pub fn repeatability(&self) -> Repeatability {
        Repeatability::from(self.deviation)
    }

    /// Whether the instrument suits the tolerance: both figures reach what they should, even with the
    /// largest deviation that the readings allow with the confidence asked for, to one side. `None`
    /// without a tolerance, when the readings do not differ, or when they are too few to show it.
    pub fn suits(&self) -> Option<bool> {
        match self.index()? < self.settings.least {
            true => Some(false),
            false => (self.least_index()? >= self.settings.least).then_some(true),
        }
    }

    /// The lower of both figures.
    fn index(&self) -> Option<f64> {
        let fit = self.fit?;
        let index = fit.repeat_index.ok()?;
        match fit.bias_index {
            Some(with_bias) => Some(with_bias.ok()?.min(index)),
            None => Some(index),
        }
    }

    /// What the lower figure may be as low as: with the upper limit of the deviation, to one side.
    fn least_index(&self) -> Option<f64> {
        let freedom = self.deviation.degrees_of_freedom;
        let quantile = chi_squared_quantile(1.0 - self.settings.confidence, freedom)?;
        Some(self.index()? * (quantile / freedom).sqrt())
    }

    /// What is said, for readings in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let mut sentences = vec![match self.deviation.deviation > 0.0 {
            true => format!(
                "{} readings repeat with a standard deviation of {} ({} to {}).",
                self.count,
                length(self.deviation.deviation, unit, finer),
                length(self.deviation_interval.low, unit, finer),
                length(self.deviation_interval.high, unit, finer)
            ),
            false => format!(
                "All {} readings are the same: how they repeat is not known from them.",
                self.count
            ),
        }];
        sentences.extend(self.bias.map(|bias| self.bias_sentence(&bias, unit, finer)));
        sentences.extend(self.fit.map(|fit| self.fit_sentence(&fit)));
        if self.count < FEW_REPEATS {
            sentences.push(format!(
                "Only {} readings: {FEW_REPEATS} or more make these figures worth something.",
                self.count
            ));
        }
        sentences
    }

    fn bias_sentence(&self, bias: &ReferenceBias, unit: Unit, finer: u8) -> String {
        let share = bias
            .share
            .map(|share| format!(", {} of the tolerance", percent(share)));
        let reference = match self.settings.reference_standard_mm > 0.0 {
            true => format!(
                " The reference itself is known to ±{} (one standard uncertainty).",
                length(self.settings.reference_standard_mm, unit, finer)
            ),
            false => " How well the reference itself is known was not stated.".to_owned(),
        };
        let shown = match bias.probability {
            Ok(chance) if chance < 1.0 - self.settings.confidence => format!(
                "; that is more than chance (probability {})",
                probability(chance)
            ),
            Ok(chance) => format!("; chance may do that (probability {})", probability(chance)),
            Err(_) => String::new(),
        };
        format!(
            "Their mean {} ({} to {}{}){shown}.{reference}",
            reads_against(bias.estimate.value, "the reference", unit, finer),
            signed(bias.interval.low, unit, finer),
            signed(bias.interval.high, unit, finer),
            share.unwrap_or_default()
        )
    }

    fn fit_sentence(&self, fit: &ToleranceFit) -> String {
        let index = |found: Result<f64, Undefined>| match found {
            Ok(found) => format_to(found, 2),
            Err(reason) => format!("- ({reason})"),
        };
        let with_bias = fit
            .bias_index
            .map(|found| format!(", with the bias {}", index(found)));
        let wanted = shortest(self.settings.least);
        let verdict = match (self.suits(), self.least_index()) {
            (Some(true), _) => format!("the instrument suits this tolerance (at least {wanted})"),
            (Some(false), _) => {
                format!("the instrument does not suit this tolerance (at least {wanted})")
            }
            (None, Some(least)) => format!(
                "not yet shown to suit this tolerance, as it may be as low as {} (at least {wanted}): \
                 take more readings",
                format_to(least, 2)
            ),
            (None, None) => "whether the instrument suits this tolerance cannot be told".to_owned(),
        };
        format!(
            "Repeatability index {}{}: {verdict}.",
            index(fit.repeat_index),
            with_bias.unwrap_or_default()
        )
    }
}

fn reference_bias(
    estimate: Estimate,
    settings: &OnePieceSettings,
) -> Result<ReferenceBias, Undefined> {
    Ok(ReferenceBias {
        estimate,
        interval: estimate.interval(settings.confidence)?,
        t: estimate.t_against(0.0),
        probability: estimate.probability_against(0.0),
        combined_standard: estimate
            .standard_error
            .hypot(settings.reference_standard_mm),
        share: settings
            .tolerance_mm
            .map(|tolerance| estimate.value / tolerance),
    })
}

fn tolerance_fit(
    tolerance: f64,
    deviation: f64,
    off: Option<f64>,
    settings: &OnePieceSettings,
) -> ToleranceFit {
    let deviations = settings.convention.deviations() * deviation;
    let allowed = settings.share * tolerance;
    let over = |room: f64, spread: f64| match spread > 0.0 {
        true => Ok(room / spread),
        false => Err(Undefined::NoSpread),
    };
    let bias_index = off.map(|off| over(allowed / 2.0 - off, deviations / 2.0));
    // With no room left beside the bias, no share of the tolerance would do.
    let whole = |index: f64| match index > 0.0 {
        true => Ok(settings.share / index),
        false => Err(Undefined::Senseless {
            what: "an index with more bias than room",
            found: index,
        }),
    };
    ToleranceFit {
        repeat_index: over(allowed, deviations),
        bias_index,
        repeat_share: deviations / tolerance,
        whole_share: bias_index.map(|index| index.and_then(whole)),
    }
}

/// Where the divisors of a range come from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeDivisors {
    /// The mean range of so many readings, in deviations: d2.
    pub mean: f64,
    /// The same for a deviation from few ranges: d2*.
    pub few: f64,
    /// The degrees of freedom a deviation from them is worth.
    pub degrees_of_freedom: f64,
}

impl RangeDivisors {
    /// From their definitions, for one range of so many readings.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two readings, or more than a range is taken of.
    pub fn computed(readings: u32) -> Result<RangeDivisors, Undefined> {
        let few = MeanRange::of(readings, 1)?;
        Ok(RangeDivisors {
            mean: d2(readings)?,
            few: few.divisor,
            degrees_of_freedom: few.degrees_of_freedom,
        })
    }
}

/// A bias whose standard error comes from the range of the readings, as by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeBias {
    /// The mean of the readings.
    pub mean: f64,
    /// The bias.
    pub estimate: Estimate,
    /// The deviation from the range.
    pub deviation: f64,
    /// Its interval; by this convention narrowed by d2/d2*.
    pub interval: Interval,
}

impl RangeBias {
    /// Of readings against a reference.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two readings, divisors not above zero, or a confidence that is none.
    pub fn of(
        readings: &[f64],
        reference: f64,
        divisors: &RangeDivisors,
        confidence: f64,
    ) -> Result<RangeBias, Undefined> {
        let found = moments(readings)?;
        Undefined::unless_enough("readings", 2, found.count)?;
        let deviation = super::sums::range(readings) / divisors.few;
        if !(deviation.is_finite() && divisors.mean > 0.0) {
            return Err(Undefined::Senseless {
                what: "a divisor of a range",
                found: divisors.few.min(divisors.mean),
            });
        }
        let estimate = Estimate {
            value: found.mean - reference,
            standard_error: deviation / (found.count as f64).sqrt(),
            degrees_of_freedom: divisors.degrees_of_freedom,
        };
        let plain = estimate.interval(confidence)?;
        let reach = (plain.high - estimate.value) * divisors.mean / divisors.few;
        Ok(RangeBias {
            mean: found.mean,
            estimate,
            deviation,
            interval: Interval::about(estimate.value, reach, confidence),
        })
    }
}
