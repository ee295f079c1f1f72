//! Individuals with limits of their own in every phase.

use std::ops::Range;

use super::{Freezing, FrozenLimits, Phases};
use crate::stats::Undefined;
use crate::stats::individuals::{Individuals, IndividualsSettings};
use crate::stats::series::Series;

/// A phase as it was worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The indices of its counted readings.
    pub range: Range<usize>,
    /// The index behind the last reading its limits come from; below `range.end` where they are frozen.
    pub limits_to: usize,
    /// Its limits, or why it has none.
    pub chart: Result<Individuals, Undefined>,
}

impl Part {
    /// Whether its limits come from its first readings only.
    pub const fn is_frozen(&self) -> bool {
        self.limits_to < self.range.end
    }

    /// The indices of the readings that its limits come from.
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
        let count = series.readings().len();
        let mut inner: Vec<(usize, &str)> = starts.to_vec();
        inner.retain(|(start, _)| (1..count).contains(start));
        inner.sort_by_key(|(start, _)| *start);
        inner.dedup_by_key(|(start, _)| *start);
        let begins = [0].into_iter().chain(inner.iter().map(|(start, _)| *start));
        let ends = inner.iter().map(|(start, _)| *start).chain([count]);
        let parts = begins.zip(ends).map(|(from, to)| {
            let basis = freeze_after.map_or(to, |after| (from + after).min(to));
            Part {
                chart: limits(series, from..to, freeze_after, settings),
                range: from..to,
                limits_to: basis,
            }
        });
        let parts: Vec<Part> = parts.collect();
        let frozen = parts.iter().filter(|part| part.is_frozen());
        let frozen = frozen.map(|part| (part.limits_to, "limits are frozen before"));
        let series = series.with_fresh_starts(inner.iter().copied().chain(frozen));
        Phased { series, parts }
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

/// The limits of one phase.
fn limits(
    series: &Series,
    range: Range<usize>,
    freeze_after: Option<usize>,
    settings: IndividualsSettings,
) -> Result<Individuals, Undefined> {
    let basis = match freeze_after {
        None => range,
        Some(after) => {
            Undefined::unless_enough("pieces to freeze limits from", after, range.len())?;
            range.start..range.start + after
        }
    };
    Individuals::of(&series.part(basis), settings)
}
