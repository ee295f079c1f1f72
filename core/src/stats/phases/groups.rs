//! Groups with limits of their own in every phase.

use super::phased::{Asked, Part};
use super::{Freezing, FrozenLimits, Phases};
use crate::stats::Undefined;
use crate::stats::groups::{GroupChart, GroupSpread, Groups, Sizes};
use crate::stats::limits::ControlLimits;
use crate::stats::run_rules::{RunRules, Signals};
use crate::stats::series::Series;

/// A chart of groups in phases: each its own limits, from all its groups or frozen from its first ones. A group
/// belongs to one phase: whoever puts groups together begins them afresh where a phase begins. Nothing reaches
/// from one phase into the next, and what is judged by frozen limits begins afresh behind those groups.
///
/// Source: common practice; the limits of a phase are those of a chart of its groups alone, NIST/SEMATECH e-Handbook
/// 6.3.2.1 (from memory).
///
/// ```
/// use overwire_core::stats::groups::GroupSpread;
/// use overwire_core::stats::phases::PhasedGroups;
/// use overwire_core::stats::run_rules::RunRules;
///
/// let groups = [[9.70, 9.72], [9.71, 9.70], [9.72, 9.71], [9.81, 9.80], [9.80, 9.82], [9.82, 9.81]];
/// let phased = PhasedGroups::of(&groups, GroupSpread::Range, &[(3, "new bar")], None)?;
/// let centres: Vec<f64> =
///     phased.parts.iter().filter_map(|part| Some(part.chart.as_ref().ok()?.centre)).collect();
/// assert!((centres[0] - 9.71).abs() < 1e-9 && (centres[1] - 9.81).abs() < 1e-9);
/// assert!(phased.means(RunRules::usual())?.signals.iter().all(|phase| phase.hits.is_empty()));
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PhasedGroups {
    /// The groups, beginning afresh with every phase and behind what limits are frozen from.
    pub groups: Groups,
    /// The phases in order; one at least. Their ranges are of groups.
    pub parts: Vec<Part<GroupChart>>,
}

/// Points held against the limits of their phases.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedPoints {
    /// The points as run rules saw them: as they are where all groups have one size, else counted in sigma of
    /// their phase; those of a phase without limits stand at zero there.
    pub series: Series,
    /// What stands out, for each phase that has limits.
    pub signals: Vec<Signals>,
}

impl PhasedGroups {
    /// Works the phases out. `starts` are the groups at which a phase begins after the first one, and why; those
    /// at the very beginning or behind the end begin none. With `freeze_after` the limits of each phase come from
    /// so many of its groups at the start.
    ///
    /// # Errors
    /// As [`Groups::of`].
    pub fn of<Group: AsRef<[f64]>>(
        listed: &[Group],
        spread: GroupSpread,
        starts: &[(usize, &str)],
        freeze_after: Option<usize>,
    ) -> Result<PhasedGroups, Undefined> {
        let groups = Groups::of(listed, spread)?;
        let asked = Asked {
            count: groups.len(),
            starts,
            freeze_after,
            of: "groups to freeze limits from",
        };
        let limits = |basis| {
            let listed = listed.get(basis).unwrap_or_default();
            GroupChart::of(&Groups::of(listed, spread)?)
        };
        let (parts, fresh) = asked.parts(limits);
        Ok(PhasedGroups {
            groups: groups.with_fresh_starts(&fresh),
            parts,
        })
    }

    /// The limits that hold for a group, or why its phase has none.
    ///
    /// # Errors
    /// [`Undefined`] as the phase has it, or for a group that is not there.
    pub fn chart_of(&self, group: usize) -> Result<&GroupChart, Undefined> {
        let part = self.parts.iter().find(|part| part.range.contains(&group));
        let none = Undefined::TooFew {
            of: "groups",
            needed: group + 1,
            found: self.groups.len(),
        };
        part.ok_or(none)
            .and_then(|part| part.chart.as_ref().map_err(|reason| *reason))
    }

    /// The phases that have limits, with those.
    fn charts(&self) -> impl Iterator<Item = (&Part<GroupChart>, &GroupChart)> {
        let parts = self.parts.iter();
        parts.filter_map(|part| Some((part, part.chart.as_ref().ok()?)))
    }

    /// The means held against the limits of their phases.
    ///
    /// # Errors
    /// As [`GroupChart::mean_limits`].
    pub fn means(&self, rules: RunRules) -> Result<JudgedPoints, Undefined> {
        let points = Points {
            series: &self.groups.means,
            sizes: self.groups.each_size().collect(),
            limits: GroupChart::mean_limits,
            in_sigma: |chart, means, sizes| Ok(chart.means_in_sigma(means, sizes)),
        };
        self.judged(&points, |group| group, rules)
    }

    /// The ranges or standard deviations held against the limits of their phases, by those rules that mean
    /// something there.
    ///
    /// # Errors
    /// As [`GroupChart::spread_limits`].
    pub fn spreads(&self, rules: RunRules) -> Result<JudgedPoints, Undefined> {
        let points = Points {
            series: &self.groups.spreads,
            sizes: self.groups.each_size().filter(|&size| size > 1).collect(),
            limits: GroupChart::spread_limits,
            in_sigma: GroupChart::spreads_in_sigma,
        };
        let index = |group| self.groups.spread_index(group);
        self.judged(&points, index, rules.for_spread())
    }

    /// Points held against the limits of their phases; `index` is that of a group among them.
    fn judged(
        &self,
        points: &Points<'_>,
        index: impl Fn(usize) -> usize,
        rules: RunRules,
    ) -> Result<JudgedPoints, Undefined> {
        let mut standing = vec![0.0; points.sizes.len()];
        let mut phases = Vec::new();
        for (part, chart) in self.charts() {
            let range = index(part.range.start)..index(part.range.end);
            let zones = match self.groups.sizes {
                Sizes::Equal(size) => (points.limits)(chart, size)?.zones(),
                Sizes::Each(_) => {
                    let figures = points.series.readings().get(range.clone());
                    let sizes = points.sizes.get(range.clone());
                    let sizes = sizes.unwrap_or_default();
                    let figures = (points.in_sigma)(chart, figures.unwrap_or_default(), sizes)?;
                    let places = standing.iter_mut().skip(range.start);
                    places
                        .zip(figures)
                        .for_each(|(place, figure)| *place = figure);
                    chart.zones_in_sigma()
                }
            };
            phases.push((range, zones));
        }
        let series = match self.groups.sizes {
            Sizes::Equal(_) => points.series.clone(),
            Sizes::Each(_) => points.series.with_readings(standing)?,
        };
        let phases = phases.into_iter();
        let signals =
            phases.map(|(range, zones)| Signals::find_within(&series, range, zones, rules));
        Ok(JudgedPoints {
            signals: signals.collect(),
            series,
        })
    }

    /// The phases with what their limits stand on, in words of the caller's; none where sizes differ and every
    /// size has limits of its own.
    pub fn phases(&self, freezing: impl Fn(&Part<GroupChart>) -> Freezing) -> Phases {
        let mut phases = Phases::default();
        for part in &self.parts {
            let frozen = part.chart.as_ref().map_err(|reason| *reason);
            let frozen = frozen.and_then(|chart| {
                let of = (&self.groups.means, part.basis());
                FrozenLimits::of_groups(chart, &self.groups.sizes, of, freezing(part))
            });
            match frozen {
                Ok(limits) => phases.begin(part.range.start, limits),
                Err(_) => phases.begin_without_limits(part.range.start),
            }
        }
        phases
    }
}

/// Means or spreads of groups, and how they are held against a chart.
struct Points<'a> {
    series: &'a Series,
    /// How many readings stand behind each.
    sizes: Vec<u32>,
    /// The limits of one of a size.
    limits: fn(&GroupChart, u32) -> Result<ControlLimits, Undefined>,
    /// Some of them with their sizes, counted in sigma.
    in_sigma: InSigma,
}

type InSigma = fn(&GroupChart, &[f64], &[u32]) -> Result<Vec<f64>, Undefined>;
