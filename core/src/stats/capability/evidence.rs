//! What capability is judged from.

use super::Steadiness;
use crate::stats::individuals::Individuals;
use crate::stats::limits::Sigma;
use crate::stats::run_rules::Signals;
use crate::stats::running::Running;
use crate::stats::{Moments, Undefined};

/// What the readings are readings of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ReadingsOf {
    /// One of each piece, or the mean of its repeats.
    #[default]
    Pieces,
    /// All of one piece: they tell of the gauge, never of the process.
    OnePiece,
}

/// What capability is judged from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Count, mean and spread of all readings.
    pub moments: Moments,
    /// The smallest and the largest reading.
    pub extremes: (f64, f64),
    /// The sigma from piece to piece, from a chart; without it there are no Cs.
    pub within: Option<Sigma>,
    /// What the chart says.
    pub steadiness: Steadiness,
    /// What the readings are readings of.
    pub readings_of: ReadingsOf,
    /// The step of the display, in millimetres.
    pub step: Option<f64>,
    /// The upper limit of the chart of ranges or moving ranges: how many values they can take is a sign
    /// of too coarse a display.
    pub range_limit: Option<f64>,
    /// The sigma of the gauge, from a study of it.
    pub gauge: Option<f64>,
    /// How often chance alone would make normal readings look so little normal, from a test.
    pub normality: Option<f64>,
}

impl Evidence {
    /// How many pieces an index rests on: those its sigma comes from where they are fewer.
    pub(super) fn firm_from(&self) -> usize {
        let behind_sigma = self.within.map(|within| within.count);
        behind_sigma.map_or(self.moments.count, |count| count.min(self.moments.count))
    }

    /// Readings of pieces with the sigma of their chart, nothing known of the gauge.
    pub const fn of(
        moments: Moments,
        extremes: (f64, f64),
        within: Sigma,
        steadiness: Steadiness,
    ) -> Evidence {
        Evidence {
            within: Some(within),
            steadiness,
            ..Evidence::without_chart(moments, extremes)
        }
    }

    /// Readings of pieces that no chart was made of.
    pub const fn without_chart(moments: Moments, extremes: (f64, f64)) -> Evidence {
        Evidence {
            moments,
            extremes,
            within: None,
            steadiness: Steadiness::Unknown,
            readings_of: ReadingsOf::Pieces,
            step: None,
            range_limit: None,
            gauge: None,
            normality: None,
        }
    }

    /// A chart of individuals with the sums it comes from and what its rules found.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for sums without a reading.
    pub fn of_individuals(
        chart: &Individuals,
        sums: &Running,
        signals: &Signals,
    ) -> Result<Evidence, Undefined> {
        let extremes = sums.extremes().ok_or(Undefined::TooFew {
            of: "readings",
            needed: 1,
            found: 0,
        })?;
        Ok(Evidence {
            range_limit: chart.range_limits.upper,
            ..Evidence::of(
                chart.moments,
                extremes,
                chart.sigma,
                Steadiness::of(signals),
            )
        })
    }
}
