//! Individuals, or groups, with limits of their own in every phase.

use std::ops::Range;

use super::{Freezing, FrozenLimits, Phases};
use crate::stats::Undefined;
use crate::stats::individuals::{Individuals, IndividualsSettings};
use crate::stats::series::Series;

/// A phase as it was worked out: of single readings, or of groups.
#[derive(Debug, Clone, PartialEq)]
pub struct Part<Chart = Individuals> {
    /// The indices of its counted readings, or of its groups.
    pub range: Range<usize>,
    /// The index behind the last one its limits come from; below `range.end` where they are frozen.
    pub limits_to: usize,
    /// Its limits, or why it has none.
    pub chart: Result<Chart, Undefined>,
}

impl<Chart> Part<Chart> {
    /// Whether its limits come from its first readings only.
    pub const fn is_frozen(&self) -> bool {
        self.limits_to < self.range.end
    }

    /// The indices of those that its limits come from.
    pub const fn basis(&self) -> Range<usize> {
        self.range.start..self.limits_to
    }
}

/// A chart of individuals in phases: each its own limits, from all its readings or frozen from its first ones.
/// Nothing reaches from one phase into the next: no pattern, no moving range. What is judged by frozen limits
/// begins afresh behind those readings.
///
/// Source: common practice; the limits of a phase are those of a chart of its readings alone, NIST/SEMATECH e-Handbook
/// 6.3.2.2 (from memory).
///
/// ```
/// use overwire_core::stats::individuals::IndividualsSettings;
/// use overwire_core::stats::phases::Phased;
/// use overwire_core::stats::series::Series;
///
/// let before = [49.6, 47.6, 49.9, 51.3, 47.8];
/// let after = [61.2, 62.6, 62.4, 63.6, 61.1];
/// let series = Series::from_readings([before, after].concat())?;
/// let phased = Phased::of(&series, &[(5, "new wires")], None, IndividualsSettings::default());
/// let centres: Vec<f64> =
///     phased.parts.iter().filter_map(|part| Some(part.chart.ok()?.limits.centre)).collect();
/// assert!((centres[0] - 49.24).abs() < 1e-9 && (centres[1] - 62.18).abs() < 1e-9);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Phased {
    /// The readings, beginning afresh with every phase and behind what limits are frozen from.
    pub series: Series,
    /// The phases in order; one at least.
    pub parts: Vec<Part>,
}

impl Phased {
    /// Works the phases out. `starts` are the indices at which a phase begins after the first one, and why; those
    /// at the very beginning or behind the end begin none. With `freeze_after` the limits of each phase come from so
    /// many of its readings at the start.
    pub fn of(
        series: &Series,
        starts: &[(usize, &str)],
        freeze_after: Option<usize>,
        settings: IndividualsSettings,
    ) -> Phased {
        let asked = Asked {
            count: series.readings().len(),
            starts,
            freeze_after,
            of: "pieces to freeze limits from",
        };
        let limits = |basis| Individuals::of(&series.part(basis), settings);
        let (parts, fresh) = asked.parts(limits);
        Phased {
            series: series.with_fresh_starts(fresh),
            parts,
        }
    }

    /// The phases with what their limits stand on, in words of the caller's.
    pub fn phases(&self, freezing: impl Fn(&Part) -> Freezing) -> Phases {
        let mut phases = Phases::default();
        for part in &self.parts {
            let from = part.range.start;
            match &part.chart {
                Ok(chart) => {
                    let basis = part.basis();
                    let limits = FrozenLimits::of_part(chart, &self.series, basis, freezing(part));
                    phases.begin(from, limits);
                }
                Err(_) => phases.begin_without_limits(from),
            }
        }
        phases
    }
}

/// What phases are asked for.
pub(super) struct Asked<'a> {
    /// How many readings or groups there are.
    pub count: usize,
    /// At which of them a phase begins after the first one, and why.
    pub starts: &'a [(usize, &'a str)],
    /// From how many at the start of each phase its limits come.
    pub freeze_after: Option<usize>,
    /// What those are called.
    pub of: &'static str,
}

impl<'a> Asked<'a> {
    /// The phases, with limits as they are worked out from a range; and where what is judged begins afresh.
    pub fn parts<Chart>(
        &self,
        limits: impl Fn(Range<usize>) -> Result<Chart, Undefined>,
    ) -> (Vec<Part<Chart>>, Vec<(usize, &'a str)>) {
        let count = self.count;
        let mut inner = self.starts.to_vec();
        inner.retain(|(start, _)| (1..count).contains(start));
        inner.sort_by_key(|(start, _)| *start);
        inner.dedup_by_key(|(start, _)| *start);
        let begins = [0].into_iter().chain(inner.iter().map(|(start, _)| *start));
        let ends = inner.iter().map(|(start, _)| *start).chain([count]);
        let parts = begins.zip(ends).map(|(from, to)| {
            let after = self.freeze_after;
            let limits_to = after.map_or(to, |after| (from + after).min(to));
            let enough = after.map_or(Ok(()), |after| {
                Undefined::unless_enough(self.of, after, to - from)
            });
            Part {
                chart: enough.and_then(|()| limits(from..limits_to)),
                range: from..to,
                limits_to,
            }
        });
        let parts: Vec<Part<Chart>> = parts.collect();
        let frozen = parts.iter().filter(|part| part.is_frozen());
        inner.extend(frozen.map(|part| (part.limits_to, "limits are frozen before")));
        (parts, inner)
    }
}
