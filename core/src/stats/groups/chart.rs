//! Limits of groups.

use std::collections::BTreeMap;

use super::{GroupSpread, Groups, Sizes};
use crate::decimal::format_to;
use crate::stats::Undefined;
use crate::stats::constants::{c4, c4_of_degrees, d2, d3};
use crate::stats::limits::{
    ControlLimits, FIRM_GROUPS, Sigma, SigmaBasis, Standing, USUAL_WIDTH, equivalent_degrees,
};
use crate::stats::run_rules::{Rule, RunRules, Signals, Zones};
use crate::stats::running::sum;
use crate::stats::series::Series;
use crate::units::{Length, Unit};

/// When more than this share of the means is beyond its limits, the groups are more likely repeat
/// readings of single pieces. Our own figure.
const MOST_BEYOND: f64 = 0.2;

/// Limits of the means and spreads of groups.
///
/// ```
/// use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups};
///
/// let groups = [[74.030, 74.002, 74.019], [73.995, 73.992, 74.001], [73.988, 74.024, 74.021]];
/// let groups = Groups::of(&groups, GroupSpread::Range)?;
/// let chart = GroupChart::of(&groups)?;
/// let limits = chart.mean_limits(3)?;
/// let mean_range = (0.028 + 0.009 + 0.036) / 3.0;
/// assert!((limits.upper.unwrap_or(0.0) - limits.centre - 1.0233 * mean_range).abs() < 1e-5);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct GroupChart {
    /// The mean of all readings.
    pub centre: f64,
    /// The spread of single readings inside the groups.
    pub sigma: Sigma,
    /// How many groups stand behind the limits.
    pub groups: usize,
    /// Which spread is charted.
    pub spread: GroupSpread,
    /// Whether there are enough groups.
    pub standing: Standing,
    /// How many sigma the limits lie from the centre line.
    pub width: f64,
}

impl GroupChart {
    /// Limits with sigma from the spreads of the groups.
    ///
    /// # Errors
    /// [`Undefined`] when no group has two readings, none of them spreads, or one is too large for
    /// a range.
    pub fn of(groups: &Groups) -> Result<GroupChart, Undefined> {
        let moments = groups.sums.moments()?;
        Ok(GroupChart {
            centre: moments.mean,
            sigma: sigma(groups)?.above_zero()?,
            groups: groups.len(),
            spread: groups.spread,
            standing: Standing::of(groups.len(), FIRM_GROUPS),
            width: USUAL_WIDTH,
        })
    }

    /// The limits of the mean of a group of so many readings.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for a group of none.
    pub fn mean_limits(&self, size: u32) -> Result<ControlLimits, Undefined> {
        Undefined::unless_enough("readings in a group", 1, size as usize)?;
        let reach = self.width * self.sigma.sigma / f64::from(size).sqrt();
        Ok(ControlLimits::about(self.centre, reach))
    }

    /// The limits of the spread of a group of so many readings.
    ///
    /// # Errors
    /// [`Undefined`] below two readings, or above a thousand for a range.
    pub fn spread_limits(&self, size: u32) -> Result<ControlLimits, Undefined> {
        let (centre, deviation) = self.spread_of_spread(size)?;
        let reach = self.width * deviation;
        Ok(ControlLimits::of_spread(
            centre,
            centre - reach,
            centre + reach,
        ))
    }

    /// Mean and standard deviation of the spread of a group.
    fn spread_of_spread(&self, size: u32) -> Result<(f64, f64), Undefined> {
        let (mean, deviation) = factors(self.spread, size)?;
        Ok((self.sigma.sigma * mean, self.sigma.sigma * deviation))
    }

    /// What run rules find among the means.
    ///
    /// # Errors
    /// As [`GroupChart::mean_limits`].
    pub fn mean_signals(&self, groups: &Groups, rules: RunRules) -> Result<Signals, Undefined> {
        if let Sizes::Equal(size) = groups.sizes {
            let zones = self.mean_limits(size)?.zones();
            return Ok(Signals::find(&groups.means, zones, rules));
        }
        let sizes: Vec<u32> = groups.each_size().collect();
        let standing = self.means_in_sigma(groups.means.readings(), &sizes);
        self.standard(&groups.means, standing, rules)
    }

    /// What run rules find among the spreads; only those that mean something there.
    ///
    /// # Errors
    /// As [`GroupChart::spread_limits`].
    pub fn spread_signals(&self, groups: &Groups, rules: RunRules) -> Result<Signals, Undefined> {
        let rules = rules.for_spread();
        if let Sizes::Equal(size) = groups.sizes {
            let zones = self.spread_limits(size)?.zones();
            return Ok(Signals::find(&groups.spreads, zones, rules));
        }
        let sizes: Vec<u32> = groups.each_size().filter(|&size| size > 1).collect();
        let standing = self.spreads_in_sigma(groups.spreads.readings(), &sizes)?;
        self.standard(&groups.spreads, standing, rules)
    }

    /// Means of groups of these sizes, counted in sigma of such a mean from the centre line.
    pub(crate) fn means_in_sigma(&self, means: &[f64], sizes: &[u32]) -> Vec<f64> {
        let points = means.iter().zip(sizes);
        let standing = points
            .map(|(mean, &size)| (mean - self.centre) * f64::from(size).sqrt() / self.sigma.sigma);
        standing.collect()
    }

    /// Spreads of groups of these sizes, two at least, counted in sigma of such a spread from its centre line.
    pub(crate) fn spreads_in_sigma(
        &self,
        spreads: &[f64],
        sizes: &[u32],
    ) -> Result<Vec<f64>, Undefined> {
        let mut known = BTreeMap::new();
        let mut points = Vec::with_capacity(spreads.len());
        for (spread, &size) in spreads.iter().zip(sizes) {
            let (mean, deviation) = match known.get(&size) {
                Some(&factors) => factors,
                None => {
                    let factors = self.spread_of_spread(size)?;
                    known.insert(size, factors);
                    factors
                }
            };
            points.push((spread - mean) / deviation);
        }
        Ok(points)
    }

    /// The lines that run rules need for points counted in sigma.
    pub(crate) fn zones_in_sigma(&self) -> Zones {
        Zones::about(0.0, self.width / USUAL_WIDTH)
    }

    fn standard(
        &self,
        series: &Series,
        points: Vec<f64>,
        rules: RunRules,
    ) -> Result<Signals, Undefined> {
        let series = series.with_readings(points)?;
        Ok(Signals::find(&series, self.zones_in_sigma(), rules))
    }

    /// Whether so many means lie beyond their limits that the groups are probably repeat readings of
    /// single pieces, with limits that come from the gauge alone.
    pub fn looks_like_repeats(&self, of_means: &Signals) -> bool {
        of_means.count(Rule::BeyondLimit) as f64 > MOST_BEYOND * self.groups as f64
    }

    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        format!(
            "Limits {} sigma from the mean of all readings, sigma from the {}.",
            format_to(self.width, 2),
            self.sigma.basis.words()
        )
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |mm: f64| Length::computed(mm).to_text(unit, places.saturating_add(1));
        format!(
            "{} groups, {}: centre line {}, sigma {} ({}).",
            self.groups,
            self.standing.words(),
            text(self.centre),
            text(self.sigma.sigma),
            self.sigma.basis.words()
        )
    }
}

/// Mean and standard deviation of a spread for sigma 1.
fn factors(spread: GroupSpread, size: u32) -> Result<(f64, f64), Undefined> {
    match spread {
        GroupSpread::Range => Ok((d2(size)?, d3(size)?)),
        GroupSpread::Deviation | GroupSpread::PooledDeviation => {
            let c4 = c4(size)?;
            Ok((c4, (1.0 - c4 * c4).sqrt()))
        }
    }
}

fn sigma(groups: &Groups) -> Result<Sigma, Undefined> {
    match groups.spread {
        GroupSpread::PooledDeviation => pooled(groups),
        GroupSpread::Range | GroupSpread::Deviation => from_mean(groups),
    }
}

fn pooled(groups: &Groups) -> Result<Sigma, Undefined> {
    let count: u32 = groups.each_size().sum();
    let degrees = count as usize - groups.len();
    Undefined::unless_enough("readings more than groups", 1, degrees)?;
    let deviation = (groups.within_squares / degrees as f64).sqrt();
    Ok(Sigma {
        sigma: deviation / c4_of_degrees(degrees as f64),
        basis: SigmaBasis::Pooled,
        degrees_of_freedom: degrees as f64,
        count: count as usize,
    })
}

/// All spreads over all their expected values for sigma 1.
fn from_mean(groups: &Groups) -> Result<Sigma, Undefined> {
    let spreads = groups.spreads.readings();
    Undefined::unless_enough("groups of two readings", 1, spreads.len())?;
    let mut sizes = BTreeMap::new();
    match groups.sizes {
        Sizes::Equal(size) => {
            sizes.insert(size, spreads.len());
        }
        Sizes::Each(_) => {
            for size in groups.each_size().filter(|&size| size > 1) {
                *sizes.entry(size).or_insert(0) += 1;
            }
        }
    }
    let (mut expected, mut variance, mut count) = (0.0, 0.0, 0);
    for (&size, &times) in &sizes {
        let (mean, deviation) = factors(groups.spread, size)?;
        expected += mean * times as f64;
        variance += deviation * deviation * times as f64;
        count += size as usize * times;
    }
    Ok(Sigma {
        sigma: sum(spreads, |spread| spread) / expected,
        basis: groups.spread.basis(),
        degrees_of_freedom: equivalent_degrees(variance / (expected * expected)),
        count,
    })
}
