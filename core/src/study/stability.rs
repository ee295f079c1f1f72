//! Stability: does the measurement stay the same from day to day?
//!
//! One piece is kept and measured now and then. Each visit is one point: its mean on a chart of
//! individuals, and all means on a line over time. Readings of one visit say how the gauge repeats, not
//! how it stays the same.

use super::budget::Bias;
use super::figure::{Estimate, length, percent, probability, reads_against, signed};
use super::sums::moments;
use crate::stats::distribution::{student_factor, student_quantile};
use crate::stats::individuals::{Individuals, IndividualsSettings};
use crate::stats::line::Line;
use crate::stats::moments::pooled;
use crate::stats::series::Series;
use crate::stats::{Moments, Undefined};
use crate::units::Unit;

use super::spread::Deviation;

/// With fewer visits, the limits of the chart are no more than a first guess.
const FEW_VISITS: usize = 8;

/// So many visits beyond the limits are named; of the others it is said how many they are.
const MOST_NAMED: usize = 5;

/// How often the drift that is stated beside one not shown would have been found.
const POWER: f64 = 0.9;

/// One visit to the check piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// When, in days from any beginning.
    pub day: f64,
    /// What was read, in mm; one reading at least.
    pub readings: Vec<f64>,
}

/// The course of a check piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Stability {
    /// How many visits.
    pub visits: usize,
    /// The means of the visits, in the order given.
    pub means: Vec<f64>,
    /// The chart of the means.
    pub chart: Result<Individuals, Undefined>,
    /// The visits (counted from 0) whose mean lies beyond the limits of the chart.
    pub beyond: Vec<usize>,
    /// The line of the means over time; undefined when all visits were at one time.
    pub drift: Result<Line, Undefined>,
    /// How readings repeat within a visit; undefined without repeats.
    pub within: Result<Deviation, Undefined>,
    /// The mean of all visits against the reference; `None` without one.
    pub bias: Option<Result<Estimate, Undefined>>,
    /// The significance of a drift.
    pub significance: f64,
}

impl Stability {
    /// Of visits in the order of time, the piece's true size if it is known, and the significance of a
    /// drift (usually 0.05).
    ///
    /// # Errors
    /// [`Undefined`] for fewer than two visits, a visit without readings, numbers that are none, or a
    /// significance that is none.
    ///
    /// ```
    /// use overwire_core::study::{Stability, Visit};
    /// let readings = [20.001, 20.002, 20.000, 20.001, 20.003, 20.001];
    /// let visits: Vec<Visit> = readings
    ///     .iter()
    ///     .enumerate()
    ///     .map(|(day, &mm)| Visit { day: day as f64, readings: vec![mm] })
    ///     .collect();
    /// let found = Stability::of(&visits, None, 0.05)?;
    /// assert!(!found.drift_is_shown()?);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(
        visits: &[Visit],
        reference: Option<f64>,
        significance: f64,
    ) -> Result<Stability, Undefined> {
        Undefined::unless_enough("visits", 2, visits.len())?;
        Undefined::unless_probability("a significance", significance)?;
        let found: Result<Vec<Moments>, Undefined> = visits
            .iter()
            .map(|visit| moments(&visit.readings))
            .collect();
        let found = found?;
        let means: Vec<f64> = found.iter().map(|visit| visit.mean).collect();
        let days: Vec<f64> = visits.iter().map(|visit| visit.day).collect();
        let series = Series::from_readings(means.clone())?;
        let chart = Individuals::of(&series, IndividualsSettings::default());
        let is_beyond = |mean: &f64| chart.is_ok_and(|chart| chart.limits.is_beyond(*mean));
        let places = means.iter().enumerate();
        Ok(Stability {
            visits: visits.len(),
            beyond: places
                .filter(|(_, mean)| is_beyond(mean))
                .map(|(at, _)| at)
                .collect(),
            chart,
            drift: Line::through(&days, &means),
            within: pooled(&found).map(|pooled| Deviation {
                deviation: pooled.standard_deviation,
                degrees_of_freedom: pooled.degrees_of_freedom as f64,
            }),
            bias: reference.map(|reference| bias(&means, reference)),
            means,
            significance,
        })
    }

    /// Whether a drift is shown.
    ///
    /// # Errors
    /// [`Undefined`] when there is no line, or all means lie on it.
    pub fn drift_is_shown(&self) -> Result<bool, Undefined> {
        Ok(self.drift?.slope_chance()? < self.significance)
    }

    /// What the uncertainty budget takes from here, when the piece's true size is known.
    pub fn bias(&self) -> Option<Bias> {
        self.bias?.ok().map(Bias::from)
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        let chart = match self.chart {
            Ok(chart) => chart.settings.settings_words(),
            Err(reason) => format!("No chart: {reason}."),
        };
        format!(
            "{} visits, their means charted as individuals; drift by a straight line, significance {}. \
             {chart}",
            self.visits,
            super::figure::shortest(self.significance)
        )
    }

    /// What is said.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let chart = match (&self.chart, self.beyond.as_slice()) {
            (Err(reason), _) => format!("Whether it stays the same cannot be told: {reason}."),
            (Ok(_), []) => "No visit lies beyond what chance from visit to visit does.".to_owned(),
            (Ok(_), beyond) => {
                let first = beyond.iter().take(MOST_NAMED);
                let named: Vec<String> = first.map(|at| (at + 1).to_string()).collect();
                let more = match beyond.len().saturating_sub(MOST_NAMED) {
                    0 => String::new(),
                    more => format!(" and {more} more"),
                };
                format!(
                    "Beyond what chance from visit to visit does: visit {}{more}. Find out what changed \
                     there.",
                    named.join(", ")
                )
            }
        };
        let tentative = match self.chart {
            Ok(chart) if self.visits < FEW_VISITS => Some(format!(
                "The limits of so few visits are tentative ({}).",
                chart.standing.words()
            )),
            _ => None,
        };
        let mut sentences = vec![chart];
        sentences.extend(tentative);
        sentences.push(self.drift_sentence(unit, finer));
        sentences.extend(self.bias.map(|bias| self.bias_sentence(bias, unit, finer)));
        sentences
    }

    fn bias_sentence(&self, bias: Result<Estimate, Undefined>, unit: Unit, finer: u8) -> String {
        let told = bias.and_then(|bias| {
            bias.t_against(0.0)?;
            Ok((bias.value, bias.interval(1.0 - self.significance)?))
        });
        let (value, interval) = match told {
            Ok(told) => told,
            Err(reason) => {
                return format!("Whether it reads what the reference is cannot be told: {reason}.");
            }
        };
        let shown = match interval.holds(0.0) {
            true => "that it is off is not shown",
            false => "more than chance",
        };
        format!(
            "Over all visits it {} ({} to {}, {}): {shown}.",
            reads_against(value, "the reference", unit, finer),
            signed(interval.low, unit, finer),
            signed(interval.high, unit, finer),
            percent(interval.confidence)
        )
    }

    fn drift_sentence(&self, unit: Unit, finer: u8) -> String {
        let line = match self.drift {
            Ok(line) => line,
            Err(reason) => return format!("Whether it drifts cannot be told: {reason}."),
        };
        match (self.drift_is_shown(), line.slope_chance()) {
            (Ok(true), Ok(chance)) => format!(
                "It drifts by {} in 30 days (probability by chance {}).",
                signed(line.slope * 30.0, unit, finer),
                probability(chance)
            ),
            (Ok(false), Ok(chance)) => {
                let found = self.drift_found(&line).map_or(String::new(), |drift| {
                    format!(
                        "; one of {} in 30 days would have been found 9 times in 10",
                        length(drift * 30.0, unit, finer)
                    )
                });
                format!(
                    "No drift is shown (probability by chance {}{found}).",
                    probability(chance)
                )
            }
            (Err(reason), _) | (_, Err(reason)) => {
                format!("Whether it drifts cannot be told: {reason}.")
            }
        }
    }

    /// The drift per day that would have been shown 9 times in 10.
    fn drift_found(&self, line: &Line) -> Option<f64> {
        let freedom = line.degrees_of_freedom() as f64;
        let shown = student_factor(1.0 - self.significance, freedom)?;
        let reached = student_quantile(POWER, freedom)?;
        Some((shown + reached) * line.slope_error().ok()?)
    }
}

fn bias(means: &[f64], reference: f64) -> Result<Estimate, Undefined> {
    let found = moments(means)?;
    Ok(Estimate {
        value: found.mean - reference,
        standard_error: found.standard_error()?,
        degrees_of_freedom: found.degrees_of_freedom() as f64,
    })
}
