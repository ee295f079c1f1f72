//! The chart of individuals and moving ranges.
//!
//! One point for each piece. Sigma comes from the ranges between neighbours, so that a drift does not
//! widen the limits it is to be seen against. A missing or excluded reading has no neighbours: the
//! moving range across it is not taken.
//!
//! Source: NIST/SEMATECH e-Handbook 6.3.2.2 (from memory). The factors are computed: 2/√π for d2, and
//! `3 sqrt(2 - 4/π)` for the reach of a range; 2.6587 and 3.2665 times the mean moving range, where
//! tables print 2.660 and 3.267.

use std::f64::consts::{FRAC_2_SQRT_PI, PI};

use serde::{Deserialize, Serialize};

use super::distribution::normal_beyond;
use super::limits::{
    ControlLimits, FIRM_POINTS, Sigma, SigmaBasis, Standing, USUAL_WIDTH, equivalent_degrees,
};
use super::run_rules::{RunRules, Signals};
use super::running::Running;
use super::series::Series;
use super::{Moments, Undefined, counted};
use crate::decimal::format_to;
use crate::units::{Length, Unit};

/// The expected median moving range of two for sigma 1, `√2 Φ⁻¹(0.75)`.
const MEDIAN_MOVING_RANGE: f64 = 0.953_872_552_416_637_6;

/// The correlation of neighbouring moving ranges, as covariance over the squared mean: the reading
/// they share makes two steps correlate by -1/2, and of two such normal numbers the mean product of
/// sizes is `2/π (√(3)/2 + π/12)`.
const SHARED_READING: f64 = 0.866_025_403_784_438_6 + PI / 12.0 - 1.0;

/// Which middle of the moving ranges sigma comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MovingRange {
    /// The mean: the usual one.
    #[default]
    Mean,
    /// The median: a few wild readings do not widen the limits.
    Median,
}

/// Where the factors come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Factors {
    /// From their definitions.
    #[default]
    Computed,
    /// Rounded as tables print them (1.128, 0.954, 3.267), for comparison with older papers.
    AsPrinted,
}

/// How the limits of individuals are worked out; printed with the chart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct IndividualsSettings {
    /// Which middle of the moving ranges.
    pub moving_range: MovingRange,
    /// Where the factors come from.
    pub factors: Factors,
    /// How many sigma the limits lie from the centre line.
    pub width: f64,
}

impl Default for IndividualsSettings {
    fn default() -> IndividualsSettings {
        IndividualsSettings {
            moving_range: MovingRange::default(),
            factors: Factors::default(),
            width: USUAL_WIDTH,
        }
    }
}

impl IndividualsSettings {
    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        let middle = match self.moving_range {
            MovingRange::Mean => "mean moving range of two",
            MovingRange::Median => "median moving range of two",
        };
        let factors = match self.factors {
            Factors::Computed => "computed factors",
            Factors::AsPrinted => "factors as tables print them",
        };
        format!(
            "Limits {} sigma from the mean, sigma from the {middle}, {factors}; no moving range across a \
             missing or excluded reading.",
            format_to(self.width, 2)
        )
    }

    fn check(&self) -> Result<(), Undefined> {
        match self.width > 0.0 && self.width.is_finite() {
            true => Ok(()),
            false => Err(Undefined::Senseless {
                what: "the width of the limits",
                found: self.width,
            }),
        }
    }

    /// What a middle of moving ranges is for sigma 1, and the expected moving range.
    fn divisor(&self) -> f64 {
        match (self.moving_range, self.factors) {
            (MovingRange::Mean, Factors::Computed) => FRAC_2_SQRT_PI,
            (MovingRange::Mean, Factors::AsPrinted) => 1.128,
            (MovingRange::Median, Factors::Computed) => MEDIAN_MOVING_RANGE,
            (MovingRange::Median, Factors::AsPrinted) => 0.954,
        }
    }

    /// The upper limit of a moving range, over its centre.
    fn range_factor(&self) -> f64 {
        match self.factors {
            Factors::Computed => 1.0 + self.width * (PI / 2.0 - 1.0).sqrt(),
            Factors::AsPrinted => 1.0 + self.width * (3.267 - 1.0) / 3.0,
        }
    }
}

/// Limits of individuals and of their moving ranges.
///
/// ```
/// use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
/// use overwire_core::stats::series::Series;
///
/// let series = Series::from_readings(vec![49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4])?;
/// let chart = Individuals::of(&series, IndividualsSettings::default())?;
/// assert!((chart.limits.centre - 50.3).abs() < 1e-12);
/// assert_eq!(chart.moving_ranges, 7);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Individuals {
    /// Count, mean and overall spread of the readings.
    pub moments: Moments,
    /// The sigma that the limits come from.
    pub sigma: Sigma,
    /// The limits of the readings.
    pub limits: ControlLimits,
    /// The limits of the moving ranges.
    pub range_limits: ControlLimits,
    /// How many moving ranges stand behind the limits.
    pub moving_ranges: usize,
    /// Whether there are enough readings.
    pub standing: Standing,
    /// The settings they were worked out with.
    pub settings: IndividualsSettings,
}

impl Individuals {
    /// Limits from the readings of a series.
    ///
    /// # Errors
    /// [`Undefined`] without two neighbouring readings, or when no neighbours differ.
    pub fn of(series: &Series, settings: IndividualsSettings) -> Result<Individuals, Undefined> {
        let sums = sums(series);
        match settings.moving_range {
            MovingRange::Mean => Individuals::from_sums(&sums, settings),
            MovingRange::Median => {
                let mut ranges: Vec<f64> = moving_ranges(series).flatten().collect();
                let middle = median(&mut ranges);
                let few = Undefined::TooFew {
                    of: "neighbouring readings",
                    needed: 2,
                    found: 0,
                };
                Individuals::about(&sums, middle.ok_or(few)?, settings)
            }
        }
    }

    /// Limits from sums that were kept; always from the mean moving range.
    ///
    /// # Errors
    /// As [`Individuals::of`].
    pub fn from_sums(
        sums: &Running,
        settings: IndividualsSettings,
    ) -> Result<Individuals, Undefined> {
        let settings = IndividualsSettings {
            moving_range: MovingRange::Mean,
            ..settings
        };
        Individuals::about(sums, sums.mean_moving_range()?, settings)
    }

    fn about(
        sums: &Running,
        middle: f64,
        settings: IndividualsSettings,
    ) -> Result<Individuals, Undefined> {
        settings.check()?;
        let moments = sums.moments()?;
        let sigma = Sigma {
            sigma: middle / settings.divisor(),
            basis: match settings.moving_range {
                MovingRange::Mean => SigmaBasis::MeanMovingRange,
                MovingRange::Median => SigmaBasis::MedianMovingRange,
            },
            degrees_of_freedom: degrees_of_freedom(sums.moving_ranges()),
            count: moments.count,
        }
        .above_zero()?;
        let centre = match settings.moving_range {
            MovingRange::Mean => middle,
            MovingRange::Median => sigma.sigma * FRAC_2_SQRT_PI,
        };
        Ok(Individuals {
            moments,
            sigma,
            limits: ControlLimits::about(moments.mean, settings.width * sigma.sigma),
            range_limits: ControlLimits::of_spread(centre, 0.0, centre * settings.range_factor()),
            moving_ranges: sums.moving_ranges(),
            standing: Standing::of(moments.count, FIRM_POINTS),
            settings,
        })
    }

    /// What run rules find among the readings of a series.
    pub fn signals(&self, series: &Series, rules: RunRules) -> Signals {
        Signals::find(series, self.limits.zones(), rules)
    }

    /// The indices of the readings whose moving range is beyond its limit. Runs of moving ranges are
    /// no sign of anything, because neighbours share a reading.
    pub fn wide_steps(&self, series: &Series) -> Vec<usize> {
        moving_ranges(series)
            .enumerate()
            .filter(|(_, range)| range.is_some_and(|range| self.range_limits.is_beyond(range)))
            .map(|(index, _)| index)
            .collect()
    }

    /// How many of so many moving ranges chance alone puts beyond their limit, for normal readings: about one in
    /// 109 with limits of three sigma.
    pub fn wide_steps_by_chance(&self, steps: usize) -> f64 {
        let upper = self.range_limits.upper.unwrap_or(f64::INFINITY);
        let away = upper / (self.sigma.sigma * std::f64::consts::SQRT_2);
        steps as f64 * 2.0 * normal_beyond(away)
    }

    /// Two sentences for a person, with one place more than the readings have: a reading beyond a limit
    /// must not look as if it lay on it.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let finer = places.saturating_add(1);
        let sigma = Length::computed(self.sigma.sigma).to_text(unit, finer);
        format!(
            "{}, {}; {}. Sigma {sigma} ({}), from {}.",
            counted(self.moments.count, "readings"),
            self.limits.words(unit, finer),
            self.standing.words(),
            self.sigma.basis.words(),
            counted(self.moving_ranges, "moving ranges")
        )
    }
}

/// The sums of a series, its gaps respected.
pub fn sums(series: &Series) -> Running {
    let mut sums = Running::default();
    for (_, stretch) in series.stretches() {
        sums.break_chain();
        sums.take(stretch);
    }
    sums
}

/// The moving range of each reading of a series; `None` where no neighbour comes before it.
pub fn moving_ranges(series: &Series) -> impl Iterator<Item = Option<f64>> {
    series.stretches().flat_map(|(_, stretch)| {
        let steps = stretch.iter().zip(stretch.iter().skip(1));
        let ranges = steps.map(|(before, after)| Some((after - before).abs()));
        std::iter::once(None).chain(ranges)
    })
}

/// The middle number, or the mean of the two middle ones; puts the numbers out of order.
pub(crate) fn median(numbers: &mut [f64]) -> Option<f64> {
    let (count, middle) = (numbers.len(), numbers.len() / 2);
    if count == 0 {
        return None;
    }
    let (below, &mut upper, _) = numbers.select_nth_unstable_by(middle, f64::total_cmp);
    match count % 2 {
        1 => Some(upper),
        _ => below
            .iter()
            .copied()
            .max_by(f64::total_cmp)
            .map(|lower| (lower + upper) / 2.0),
    }
}

/// Equivalent degrees of freedom of a mean of so many moving ranges in one chain.
fn degrees_of_freedom(ranges: usize) -> f64 {
    let ranges = ranges as f64;
    let one = PI / 2.0 - 1.0;
    equivalent_degrees((one + 2.0 * (ranges - 1.0) / ranges * SHARED_READING) / ranges)
}
