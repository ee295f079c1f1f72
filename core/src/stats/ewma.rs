//! The exponentially weighted moving average: a chart for small, lasting shifts.
//!
//! Each point is a mean of all readings so far, the weights shrinking by a constant factor. The limits
//! widen from the start until they stand still. A missing or excluded reading leaves the average as it is;
//! a fresh start of the series starts it anew from the target.
//!
//! Source: NIST/SEMATECH e-Handbook 6.3.2.4; Lucas & Saccucci, Technometrics 32 (1990); from memory.

use serde::{Deserialize, Serialize};

use super::Undefined;
use super::limits::ControlLimits;
use super::series::Series;

/// How the average is weighted and where its limits lie; printed with the chart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EwmaSettings {
    /// The weight of the latest reading, above 0 and at most 1.
    pub weight: f64,
    /// How many sigma of the average its limits lie from the target.
    pub width: f64,
}

impl Default for EwmaSettings {
    /// A weight of 0.2 with limits at 2.962: a false alarm every 500 points.
    fn default() -> EwmaSettings {
        EwmaSettings {
            weight: 0.2,
            width: 2.962,
        }
    }
}

impl EwmaSettings {
    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        format!(
            "Weighted average, weight {} for the latest reading, limits at {} sigma of the average.",
            self.weight, self.width
        )
    }

    fn check(&self) -> Result<(), Undefined> {
        let senseless = |what, found| Err(Undefined::Senseless { what, found });
        if !(self.weight > 0.0 && self.weight <= 1.0) {
            return senseless("the weight of the latest reading", self.weight);
        }
        if !(self.width > 0.0 && self.width.is_finite()) {
            return senseless("the width of the limits", self.width);
        }
        Ok(())
    }
}

/// One point of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// The average.
    pub average: f64,
    /// Its limits at this point.
    pub limits: ControlLimits,
    /// Whether it lies strictly beyond them.
    pub signal: bool,
}

/// A weighted average under way.
///
/// ```
/// use overwire_core::stats::ewma::{Ewma, EwmaSettings};
/// let settings = EwmaSettings { weight: 0.3, width: 3.0 };
/// let mut chart = Ewma::new(50.0, 2.0539, settings)?;
/// let point = chart.next(52.0);
/// assert!((point.average - 50.6).abs() < 1e-12);
/// assert!(!point.signal);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ewma {
    target: f64,
    sigma: f64,
    settings: EwmaSettings,
    average: f64,
    /// `(1 - weight)^(2 n)` after n readings.
    start_left: f64,
}

impl Ewma {
    /// A chart before its first reading.
    ///
    /// # Errors
    /// [`Undefined`] for a sigma not above zero, a target that is no number, or settings out of range.
    pub fn new(target: f64, sigma: f64, settings: EwmaSettings) -> Result<Ewma, Undefined> {
        settings.check()?;
        check_target(target, sigma)?;
        Ok(Ewma {
            target,
            sigma,
            settings,
            average: target,
            start_left: 1.0,
        })
    }

    /// Takes the next reading.
    pub fn next(&mut self, reading: f64) -> EwmaPoint {
        let weight = self.settings.weight;
        self.average += weight * (reading - self.average);
        self.start_left *= (1.0 - weight) * (1.0 - weight);
        let limits = ControlLimits::about(self.target, self.reach(self.start_left));
        EwmaPoint {
            average: self.average,
            limits,
            signal: limits.is_beyond(self.average),
        }
    }

    /// Starts anew from the target.
    pub fn restart(&mut self) {
        (self.average, self.start_left) = (self.target, 1.0);
    }

    /// The limits that it settles at.
    pub fn lasting_limits(&self) -> ControlLimits {
        ControlLimits::about(self.target, self.reach(0.0))
    }

    fn reach(&self, start_left: f64) -> f64 {
        let weight = self.settings.weight;
        self.settings.width * self.sigma * (weight / (2.0 - weight) * (1.0 - start_left)).sqrt()
    }

    /// One point for each reading of a series.
    pub fn points(mut self, series: &Series) -> Vec<EwmaPoint> {
        self.restart();
        let mut points = Vec::with_capacity(series.readings().len());
        for (fresh, stretch) in series.stretches_between_starts() {
            if fresh {
                self.restart();
            }
            points.extend(stretch.iter().map(|&reading| self.next(reading)));
        }
        points
    }
}

/// Passes for a target that is a number and a sigma above zero.
pub(super) fn check_target(target: f64, sigma: f64) -> Result<(), Undefined> {
    let senseless = |what, found| Err(Undefined::Senseless { what, found });
    match (target.is_finite(), sigma > 0.0 && sigma.is_finite()) {
        (true, true) => Ok(()),
        (false, _) => senseless("the target", target),
        (_, false) => senseless("sigma", sigma),
    }
}
