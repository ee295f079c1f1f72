//! Linearity: does the bias change along the instrument's range?
//!
//! Masters of several sizes are measured repeatedly, and the bias is regressed on the size. The slope is
//! tested against none: with a slope, one correction does not hold for all sizes. Where masters were
//! measured repeatedly, the line is tested against a bend first (lack of fit): a bias that bends has no
//! slope, and the line's heights and their intervals are false.
//! Source: AIAG Measurement Systems Analysis, linearity (formulas from memory; the printed example is checked).

use super::Study;
use super::figure::{Estimate, length, percent, probability, reads_against, signed};
use super::spread::Deviation;
use super::sums::moments;
use crate::stats::distribution::student_factor;
use crate::stats::line::{LackOfFit, Line, lack_of_fit};
use crate::stats::{Figure, Interval, Undefined, counted};
use crate::units::Unit;

/// A master and what it read.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// What it truly measures.
    pub reference: f64,
    /// Its readings, one at least.
    pub readings: Vec<f64>,
}

impl Level {
    /// Of the first method of a study whose pieces are masters, their sizes in the order of its pieces, mm.
    /// Masters that were not measured yet are left out.
    pub fn from_study(study: &Study, sizes_mm: &[f64]) -> Vec<Level> {
        let mut levels: Vec<Level> = sizes_mm
            .iter()
            .map(|&reference| Level {
                reference,
                readings: Vec::new(),
            })
            .collect();
        for measured in study.measured().filter(|each| each.cell.method == 0) {
            if let Some(level) = levels.get_mut(measured.cell.piece) {
                level.readings.push(measured.value_mm);
            }
        }
        levels.retain(|level| !level.readings.is_empty());
        levels
    }
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
    /// The height of the line here; nothing where the bias bends.
    pub line: f64,
    /// The interval of that; false where the bias bends.
    pub interval: Interval,
}

impl LevelBias {
    /// The bias with what its own repeats leave open.
    ///
    /// # Errors
    /// [`Undefined`] with one reading.
    pub fn estimate(&self) -> Result<Estimate, Undefined> {
        let repeats = self.deviation?;
        Ok(Estimate {
            value: self.bias,
            standard_error: repeats.deviation / (self.count as f64).sqrt(),
            degrees_of_freedom: repeats.degrees_of_freedom,
        })
    }
}

/// How the bias changes with size.
#[derive(Debug, Clone, PartialEq)]
pub struct Linearity {
    /// Master by master, in the order given.
    pub levels: Vec<LevelBias>,
    /// The line of bias over reference.
    pub line: Line,
    /// Whether the line fits; undefined with two masters, and without repeats that differ.
    pub fit: Result<LackOfFit, Undefined>,
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
        let fit = fit(levels);
        let levels: Result<Vec<LevelBias>, Undefined> = levels.iter().map(of).collect();
        Ok(Linearity {
            levels: levels?,
            line,
            fit,
            confidence,
            critical,
        })
    }

    /// Whether the bias is shown to bend with size: the line does not fit, and nothing of it holds.
    pub fn bend_is_shown(&self) -> bool {
        self.fit.is_ok_and(|fit| fit.chance < 1.0 - self.confidence)
    }

    /// Whether the line is shown to rise or fall with size; ask [`Linearity::bend_is_shown`] first.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when all readings lie on the line.
    pub fn slope_is_shown(&self) -> Result<bool, Undefined> {
        Ok(self.line.slope_student()?.abs() > self.critical)
    }

    /// The bias at a size as a share of a tolerance.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a tolerance not above zero, [`Undefined::NotInModel`] where the bias
    /// bends.
    pub fn share_at(&self, size: f64, tolerance: f64) -> Figure {
        if self.bend_is_shown() {
            return Err(Undefined::NotInModel {
                what: "bend of the bias",
            });
        }
        match tolerance > 0.0 {
            true => Ok(self.line.at(size) / tolerance),
            false => Err(Undefined::Senseless {
                what: "the tolerance",
                found: tolerance,
            }),
        }
    }

    /// The sizes between which something is known: those of the smallest and the largest master.
    pub fn range(&self) -> (f64, f64) {
        let sizes = self.levels.iter().map(|level| level.reference);
        let least = sizes.clone().fold(f64::INFINITY, f64::min);
        (least, sizes.fold(f64::NEG_INFINITY, f64::max))
    }

    /// What is known of the bias at a size, mm; nothing beyond the masters, or where the bias bends.
    pub fn bias_at(&self, size: f64) -> Option<Interval> {
        let (least, most) = self.range();
        let within = (least..=most).contains(&size) && !self.bend_is_shown();
        within.then(|| self.line.height_interval(size, self.confidence).ok())?
    }

    /// What is said of readings of a size, in mm; nothing is corrected by it.
    pub fn size_sentence(&self, size: f64, unit: Unit, places: u8) -> String {
        let (least, most) = self.range();
        let at = length(size, unit, places);
        if !(least..=most).contains(&size) {
            return format!(
                "Nothing is known of the bias at {at}: the masters go from {} to {}.",
                length(least, unit, places),
                length(most, unit, places)
            );
        }
        match self.bias_at(size) {
            None => format!("The bias bends with size, so none is told at {at}."),
            Some(interval) => {
                let finer = places.saturating_add(1);
                let shown = match interval.holds(0.0) {
                    true => "that it is off is not shown",
                    false => "more than chance",
                };
                format!(
                    "At {at} it {} ({} to {}, {}): {shown}. Nothing is corrected for it.",
                    reads_against(self.line.at(size), "the masters", unit, finer),
                    signed(interval.low, unit, finer),
                    signed(interval.high, unit, finer),
                    percent(self.confidence)
                )
            }
        }
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        let tested = match self.fit {
            Ok(_) => ", tested for a bend against the repeats (lack of fit)",
            Err(_) => "",
        };
        format!(
            "{} masters, {} readings; straight line by least squares{tested}; intervals {}.",
            self.levels.len(),
            self.line.count,
            percent(self.confidence)
        )
    }

    /// What is said, for sizes in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        match self.fit {
            Ok(fit) if self.bend_is_shown() => self.bend_sentences(&fit, unit, places),
            Ok(_) => self.line_sentences(unit, places),
            Err(reason) => {
                let mut sentences = self.line_sentences(unit, places);
                sentences.push(format!(
                    "That a straight line fits is taken for granted and cannot be checked: {reason}."
                ));
                sentences
            }
        }
    }

    /// Where the line does not fit: what each master read, and nothing of the line.
    fn bend_sentences(&self, fit: &LackOfFit, unit: Unit, places: u8) -> Vec<String> {
        let bend = format!(
            "The bias bends with size: the straight line does not fit (probability by chance {}). No one \
             correction holds for all sizes, and none can be read off a line.",
            probability(fit.chance)
        );
        let level = |level: &LevelBias| {
            format!(
                "At {} it reads {}, the mean of {}.",
                length(level.reference, unit, places),
                signed(level.bias, unit, places.saturating_add(1)),
                counted(level.count, "readings")
            )
        };
        std::iter::once(bend)
            .chain(self.levels.iter().map(level))
            .collect()
    }

    fn line_sentences(&self, unit: Unit, places: u8) -> Vec<String> {
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

/// Whether a straight line fits the biases; masters of one size are taken together.
fn fit(levels: &[Level]) -> Result<LackOfFit, Undefined> {
    let mut sizes: Vec<(f64, Vec<f64>)> = Vec::with_capacity(levels.len());
    for level in levels {
        let biases = level.readings.iter().map(|mm| mm - level.reference);
        match sizes
            .iter_mut()
            .find(|(size, _)| size.total_cmp(&level.reference).is_eq())
        {
            Some((_, of_size)) => of_size.extend(biases),
            None => sizes.push((level.reference, biases.collect())),
        }
    }
    Undefined::unless_enough("masters of different sizes", 3, sizes.len())?;
    let groups: Vec<(f64, &[f64])> = sizes
        .iter()
        .map(|(size, biases)| (*size, biases.as_slice()))
        .collect();
    lack_of_fit(&groups)
}
