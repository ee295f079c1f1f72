//! The cumulative sum: a chart for small, lasting shifts that also says when they began.
//!
//! Two sums gather what the readings are above the target and below it, less an allowance; each falls
//! back to zero and no further. A sum strictly above the decision limit is a signal, and how long it has been
//! above zero says where the shift began. A missing or excluded reading leaves the sums as they are; a fresh
//! start of the series starts them anew.
//!
//! Source: NIST/SEMATECH e-Handbook 6.3.2.3; Lucas & Crosier, Technometrics 24 (1982), for the head start;
//! from memory.

use serde::{Deserialize, Serialize};

use super::Undefined;
use super::ewma::check_target;
use super::run_rules::Side;
use super::series::Series;
use crate::units::{Length, Unit};

/// Allowance, decision limit and head start, all in sigma; printed with the chart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CusumSettings {
    /// What every reading is let off, k: half the shift to be found.
    pub allowance: f64,
    /// Above this a sum is a signal, h.
    pub decision: f64,
    /// Where the sums start: 0, or half the decision limit to find a poor start sooner.
    pub head_start: f64,
}

impl Default for CusumSettings {
    /// k = 0.5, h = 5, no head start: a false alarm every 465 points, a shift of one sigma found after 10.
    fn default() -> CusumSettings {
        CusumSettings {
            allowance: 0.5,
            decision: 5.0,
            head_start: 0.0,
        }
    }
}

impl CusumSettings {
    /// The same with a head start of half the decision limit.
    #[must_use]
    pub fn with_head_start(self) -> CusumSettings {
        CusumSettings {
            head_start: self.decision / 2.0,
            ..self
        }
    }

    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        let start = match self.head_start > 0.0 {
            true => format!("head start {} sigma", self.head_start),
            false => "no head start".to_owned(),
        };
        format!(
            "Cumulative sums, allowance {} sigma, signal above {} sigma, {start}.",
            self.allowance, self.decision
        )
    }

    fn check(&self) -> Result<(), Undefined> {
        for (what, found, least) in [
            ("the allowance", self.allowance, 0.0),
            ("the decision limit", self.decision, f64::MIN_POSITIVE),
            ("the head start", self.head_start, 0.0),
        ] {
            if !(found >= least && found.is_finite()) {
                return Err(Undefined::Senseless { what, found });
            }
        }
        if self.head_start > self.decision {
            return Err(Undefined::Senseless {
                what: "a head start above the decision limit",
                found: self.head_start,
            });
        }
        Ok(())
    }
}

/// One of the two sums.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// The sum, in millimetres.
    pub sum: f64,
    /// For how many readings it has been above zero.
    pub above_zero_for: usize,
}

/// One point of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumPoint {
    /// What the readings are above the target.
    pub high: Sum,
    /// What they are below it.
    pub low: Sum,
    /// The side on which a sum is strictly above the decision limit; the larger if both are.
    pub signal: Option<Side>,
    /// An estimate of the mean since the shift began; only with a signal.
    pub new_mean: Option<f64>,
}

impl CusumPoint {
    /// What a signal says, for the point at `place` on the chart (counted from 1, gaps not counted).
    pub fn sentence(&self, place: usize, unit: Unit, places: u8) -> Option<String> {
        let (side, sum) = match self.signal? {
            Side::Above => ("above", self.high),
            Side::Below => ("below", self.low),
        };
        let began = place.saturating_sub(sum.above_zero_for) + 1;
        let mean = Length::computed(self.new_mean?).to_text(unit, places);
        Some(format!(
            "At point {place} the readings since about point {began} add up to a signal {side} the target: their mean \
             is about {mean}."
        ))
    }
}

/// Cumulative sums under way.
///
/// ```
/// use overwire_core::stats::cusum::{Cusum, CusumSettings};
/// let mut chart = Cusum::new(10.0, 1.0, CusumSettings::default().with_head_start())?;
/// let point = chart.next(10.8);
/// assert!((point.high.sum - 2.8).abs() < 1e-12);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    target: f64,
    sigma: f64,
    settings: CusumSettings,
    high: Sum,
    low: Sum,
    /// How many readings since the sums started.
    taken: usize,
}

impl Cusum {
    /// A chart before its first reading.
    ///
    /// # Errors
    /// [`Undefined`] for a sigma not above zero, a target that is no number, or settings out of range.
    pub fn new(target: f64, sigma: f64, settings: CusumSettings) -> Result<Cusum, Undefined> {
        settings.check()?;
        check_target(target, sigma)?;
        let start = Sum {
            sum: settings.head_start * sigma,
            above_zero_for: 0,
        };
        Ok(Cusum {
            target,
            sigma,
            settings,
            high: start,
            low: start,
            taken: 0,
        })
    }

    /// Takes the next reading.
    pub fn next(&mut self, reading: f64) -> CusumPoint {
        let (above, allowance) = (reading - self.target, self.settings.allowance * self.sigma);
        self.high.take(above - allowance);
        self.low.take(-above - allowance);
        self.taken += 1;
        let decision = self.settings.decision * self.sigma;
        let is_out = |sum: Sum| sum.sum > decision;
        let signal = match (is_out(self.high), is_out(self.low)) {
            (true, true) if self.low.sum > self.high.sum => Some(Side::Below),
            (true, _) => Some(Side::Above),
            (false, true) => Some(Side::Below),
            (false, false) => None,
        };
        CusumPoint {
            high: self.high,
            low: self.low,
            signal,
            new_mean: signal.map(|side| match side {
                Side::Above => self.target + allowance + self.each(self.high),
                Side::Below => self.target - allowance - self.each(self.low),
            }),
        }
    }

    /// Starts anew.
    pub fn restart(&mut self) {
        let start = Sum {
            sum: self.settings.head_start * self.sigma,
            above_zero_for: 0,
        };
        (self.high, self.low, self.taken) = (start, start, 0);
    }

    /// What each reading has added to a sum since it left zero; a head start came from none of them.
    fn each(&self, sum: Sum) -> f64 {
        let lead = match sum.above_zero_for == self.taken {
            true => self.settings.head_start * self.sigma,
            false => 0.0,
        };
        (sum.sum - lead) / sum.above_zero_for.max(1) as f64
    }

    /// One point for each reading of a series; the sums run on after a signal.
    pub fn points(mut self, series: &Series) -> Vec<CusumPoint> {
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

impl Sum {
    fn take(&mut self, more: f64) {
        self.sum = (self.sum + more).max(0.0);
        self.above_zero_for = match self.sum > 0.0 {
            true => self.above_zero_for + 1,
            false => 0,
        };
    }
}
