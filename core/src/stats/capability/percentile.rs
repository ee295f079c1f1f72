//! Indices for readings that are not normal: the percentile method.
//!
//! Where a normal distribution has the mean and three sigma to either side, any other has its median and the
//! values below which 0.135 % and 99.865 % lie. They come from a fitted distribution; from the readings themselves
//! only if there are a thousand, and then the outer ones are hardly more than the smallest and the largest.
//!
//! Source: ISO 22514-2 (from memory).

use super::{Fitted, Shape, Tolerance};
use crate::decimal::format_to;
use crate::stats::{Figure, Undefined};

/// From fewer readings the outer percentiles cannot be read off.
pub const FEWEST_FOR_EMPIRICAL: usize = 1000;

/// What lies below the lower one, and above the upper one, as the standard rounds it: three sigma of a normal
/// distribution leave 0.134 99 %.
const OUTER: f64 = 0.001_35;

/// Indices by percentiles. They are those of the overall spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PercentileIndices {
    /// The distribution they come from; `None` when read off the readings.
    pub fitted: Option<Fitted>,
    /// How many readings stand behind it.
    pub count: usize,
    /// 0.135 % lie below this.
    pub low: f64,
    /// The median.
    pub middle: f64,
    /// 99.865 % lie below this.
    pub high: f64,
    /// Pp; with two limits only.
    pub both: Figure,
    /// Ppu.
    pub upper: Figure,
    /// Ppl.
    pub lower: Figure,
    /// Ppk.
    pub least: f64,
}

impl PercentileIndices {
    /// From a distribution fitted to readings.
    ///
    /// # Errors
    /// [`Undefined`] when the distribution cannot be fitted.
    ///
    /// ```
    /// use overwire_core::stats::capability::{PercentileIndices, Shape, Tolerance};
    /// let readings: Vec<f64> = (1..60).map(|step| 0.001 * f64::from(step * 17 % 60)).collect();
    /// let tolerance = Tolerance::new(None, Some(0.2))?;
    /// let indices = PercentileIndices::of(Shape::FoldedNormal, &readings, &tolerance)?;
    /// assert!(indices.least > 1.0 && indices.both.is_err());
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(
        shape: Shape,
        readings: &[f64],
        tolerance: &Tolerance,
    ) -> Result<PercentileIndices, Undefined> {
        let fitted = Fitted::to(shape, readings)?;
        let at = |share| fitted.quantile(share);
        let three = [at(OUTER)?, at(0.5)?, at(1.0 - OUTER)?];
        PercentileIndices::with(three, Some(fitted), readings.len(), tolerance)
    }

    /// Read off the readings, between neighbours.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] below [`FEWEST_FOR_EMPIRICAL`] readings.
    pub fn empirical(
        readings: &[f64],
        tolerance: &Tolerance,
    ) -> Result<PercentileIndices, Undefined> {
        Undefined::unless_enough("readings", FEWEST_FOR_EMPIRICAL, readings.len())?;
        let mut sorted = readings.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        let three = [OUTER, 0.5, 1.0 - OUTER].map(|share| between_neighbours(&sorted, share));
        PercentileIndices::with(three, None, readings.len(), tolerance)
    }

    fn with(
        [low, middle, high]: [f64; 3],
        fitted: Option<Fitted>,
        count: usize,
        tolerance: &Tolerance,
    ) -> Result<PercentileIndices, Undefined> {
        let over = |way: Option<f64>, reach: f64| {
            let way = way.ok_or(Undefined::TooFew {
                of: "limits",
                needed: 1,
                found: 0,
            })?;
            match reach > 0.0 {
                true => Ok(way / reach),
                false => Err(Undefined::NoSpread),
            }
        };
        let upper = over(tolerance.upper().map(|upper| upper - middle), high - middle);
        let lower = over(tolerance.lower().map(|lower| middle - lower), middle - low);
        Ok(PercentileIndices {
            fitted,
            count,
            low,
            middle,
            high,
            both: over(tolerance.width(), high - low),
            upper,
            lower,
            least: match (upper, lower) {
                (Ok(upper), Ok(lower)) => upper.min(lower),
                (Ok(only), Err(_)) | (Err(_), Ok(only)) => only,
                (Err(reason), Err(_)) => return Err(reason),
            },
        })
    }

    /// The convention as it is printed with the figures.
    pub fn settings_words(&self) -> String {
        match &self.fitted {
            Some(fitted) => format!(
                "Percentile method: {}; {} readings.",
                fitted.shape().words(),
                self.count
            ),
            None => format!(
                "Percentile method, read off {} readings: the outer percentiles rest on the few outermost.",
                self.count
            ),
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        format!(
            "Ppk = {} by percentiles, {} pieces; there is no interval.",
            format_to(self.least, 2),
            self.count
        )
    }
}

/// At the place `(n - 1) p` of sorted readings, from 0.
fn between_neighbours(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len().saturating_sub(1)) as f64;
    let (index, part) = (place.floor() as usize, place.fract());
    let below = sorted.get(index).copied().unwrap_or_default();
    let above = sorted.get(index + 1).copied().unwrap_or(below);
    below + part * (above - below)
}
