//! Linearity: does the bias change along the instrument's range?
//!
//! Masters of several sizes are measured repeatedly, and the bias is regressed on the size. The slope is
//! tested against none: with a slope, one correction does not hold for all sizes.
//! Source: AIAG Measurement Systems Analysis, linearity (formulas from memory; the printed example is checked).

use super::figure::{length, percent, probability, signed};
use super::spread::Deviation;
use super::sums::moments;
use crate::stats::distribution::student_factor;
use crate::stats::line::Line;
use crate::stats::{Figure, Interval, Undefined};
use crate::units::Unit;

/// A master and what it read.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// What it truly measures.
    pub reference: f64,
    /// Its readings, one at least.
    pub readings: Vec<f64>,
}

/// The bias at one master.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelBias {
    /// What it truly measures.
    pub reference: f64,
    /// How many readings.
    pub count: usize,
    /// Their mean bias.
    pub bias: f64,
    /// How they repeat; undefined with one reading.
    pub deviation: Result<Deviation, Undefined>,
    /// The height of the line here.
    pub line: f64,
    /// The interval of that.
    pub interval: Interval,
}

/// How the bias changes with size.
#[derive(Debug, Clone, PartialEq)]
pub struct Linearity {
    /// Master by master, in the order given.
    pub levels: Vec<LevelBias>,
    /// The line of bias over reference.
    pub line: Line,
    /// The confidence of intervals; one minus it is the significance.
    pub confidence: f64,
    /// The size that t must reach to be more than chance.
    pub critical: f64,
}

impl Linearity {
    /// Of masters and their readings.
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two masters or three readings, a master without readings, numbers that
    /// are none, or a confidence that is none.
    ///
    /// ```
    /// use overwire_core::study::{Level, Linearity};
    /// let level = |reference: f64, readings: [f64; 3]| Level { reference, readings: readings.to_vec() };
    /// let found = Linearity::of(
    ///     &[
    ///         level(5.0, [5.001, 5.000, 5.001]),
    ///         level(10.0, [10.003, 10.002, 10.003]),
    ///         level(15.0, [15.004, 15.005, 15.004]),
    ///     ],
    ///     0.95,
    /// )?;
    /// assert!(found.slope_is_shown()?);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(levels: &[Level], confidence: f64) -> Result<Linearity, Undefined> {
        Undefined::unless_enough("masters", 2, levels.len())?;
        let (mut references, mut biases) = (Vec::new(), Vec::new());
        for level in levels {
            Undefined::unless_enough("readings of a master", 1, level.readings.len())?;
            for reading in &level.readings {
                references.push(level.reference);
                biases.push(reading - level.reference);
            }
        }
        let line = Line::through(&references, &biases)?;
        let freedom = line.degrees_of_freedom() as f64;
        line.residual_deviation()?;
        let critical = student_factor(confidence, freedom).ok_or(Undefined::Senseless {
            what: "a confidence",
            found: confidence,
        })?;
        let of = |level: &Level| -> Result<LevelBias, Undefined> {
            let off: Vec<f64> = level
                .readings
                .iter()
                .map(|reading| reading - level.reference)
                .collect();
            Ok(LevelBias {
                reference: level.reference,
                count: off.len(),
                bias: moments(&off)?.mean,
                deviation: Deviation::of(&off),
                line: line.at(level.reference),
                interval: line.height_interval(level.reference, confidence)?,
            })
        };
        let levels: Result<Vec<LevelBias>, Undefined> = levels.iter().map(of).collect();
        Ok(Linearity {
            levels: levels?,
            line,
            confidence,
            critical,
        })
    }

    /// Whether the bias is shown to change with size.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when all readings lie on the line.
    pub fn slope_is_shown(&self) -> Result<bool, Undefined> {
        Ok(self.line.slope_student()?.abs() > self.critical)
    }

    /// The bias at a size as a share of a tolerance.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a tolerance not above zero.
    pub fn share_at(&self, size: f64, tolerance: f64) -> Figure {
        match tolerance > 0.0 {
            true => Ok(self.line.at(size) / tolerance),
            false => Err(Undefined::Senseless {
                what: "the tolerance",
                found: tolerance,
            }),
        }
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        format!(
            "{} masters, {} readings; straight line by least squares; intervals {}.",
            self.levels.len(),
            self.line.count,
            percent(self.confidence)
        )
    }

    /// What is said, for sizes in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let slope = match (self.slope_is_shown(), self.line.slope_chance()) {
            (Ok(true), Ok(chance)) => format!(
                "The bias changes with size by {} for every {} (probability by chance {}): one correction \
                 does not hold for all sizes.",
                signed(self.line.slope * unit.mm_per_unit(), unit, finer),
                length(unit.mm_per_unit(), unit, 0),
                probability(chance)
            ),
            (Ok(_), Ok(chance)) => format!(
                "That the bias changes with size is not shown (probability by chance {}).",
                probability(chance)
            ),
            (Err(reason), _) | (_, Err(reason)) => {
                format!("Whether the bias changes with size cannot be told: {reason}.")
            }
        };
        let level = |level: &LevelBias| {
            let shown = match level.interval.holds(0.0) {
                true => "",
                false => ", more than chance",
            };
            format!(
                "At {} it reads {} ({} to {}{shown}).",
                length(level.reference, unit, places),
                signed(level.line, unit, finer),
                signed(level.interval.low, unit, finer),
                signed(level.interval.high, unit, finer)
            )
        };
        std::iter::once(slope)
            .chain(self.levels.iter().map(level))
            .collect()
    }
}
