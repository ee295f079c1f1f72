//! All signals of a series.

use std::ops::Range;

use super::{Coarseness, Explanation, Rule, RuleSet, RunRules, Watch, Zones, explain};
use crate::stats::series::Series;

/// A point that completes a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hit {
    /// The index of its reading among those that count, from 0.
    pub index: usize,
    /// The rules it completes a pattern of.
    pub rules: RuleSet,
}

/// What the run rules find on a chart.
///
/// ```
/// use overwire_core::stats::run_rules::{RunRules, Signals, Zones};
/// use overwire_core::stats::series::Series;
///
/// let series = Series::from_readings(vec![0.2, -0.4, 0.1, 3.4])?;
/// let signals = Signals::find(&series, Zones::standard(), RunRules::usual());
/// let hit = signals.hits.first().ok_or("no hit")?;
/// let explained = signals.explain(&series, hit);
/// assert_eq!(
///     explained.first().ok_or("not explained")?.sentence(),
///     "Point 4 lies above the upper control limit (Nelson 1984, rule 1)."
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Signals {
    /// The points that complete a pattern, in order.
    pub hits: Vec<Hit>,
    /// How far out the farthest point beyond a limit lies, in thirds of the way to its limit; 0 without one.
    pub farthest: f64,
    /// Equal neighbours and points on a line.
    pub coarseness: Coarseness,
    /// The rules that were on.
    pub rules: RunRules,
    /// The lines they were held against.
    pub zones: Zones,
}

impl Signals {
    /// Holds the rules against a series; no pattern reaches across a gap.
    pub fn find(series: &Series, zones: Zones, rules: RunRules) -> Signals {
        Signals::find_within(series, 0..series.readings().len(), zones, rules)
    }

    /// The same of the counted readings of a range of indices: no pattern reaches in from before it.
    pub fn find_within(
        series: &Series,
        range: Range<usize>,
        zones: Zones,
        rules: RunRules,
    ) -> Signals {
        let mut watch = Watch::new(rules, zones);
        let mut hits = Vec::new();
        for (start, stretch) in series.stretches() {
            let end = (start + stretch.len()).min(range.end);
            let from = start.max(range.start);
            let part = (from < end).then(|| stretch.get(from - start..end - start));
            let Some(part) = part.flatten() else {
                continue;
            };
            watch.break_chain();
            watch.scan(part, |index, rules| {
                hits.push(Hit {
                    index: from + index,
                    rules,
                });
            });
        }
        let beyond = hits
            .iter()
            .filter(|hit| hit.rules.contains(Rule::BeyondLimit));
        let out =
            beyond.filter_map(|hit| Some(zones.steps_out(*series.readings().get(hit.index)?)));
        Signals {
            farthest: out.fold(0.0, f64::max),
            hits,
            coarseness: watch.coarseness(),
            rules,
            zones,
        }
    }

    /// How many points were held against the rules.
    pub const fn points(&self) -> f64 {
        self.coarseness.points as f64
    }

    /// How many points complete a pattern of this rule.
    pub fn count(&self, rule: Rule) -> usize {
        let of = |hit: &&Hit| hit.rules.contains(rule);
        self.hits.iter().filter(of).count()
    }

    /// Says in words what a hit on this series is, once for each of its rules.
    pub fn explain(&self, series: &Series, hit: &Hit) -> Vec<Explanation> {
        let stretch = series
            .stretches()
            .take_while(|(start, _)| *start <= hit.index)
            .last();
        let Some((start, stretch)) = stretch else {
            return Vec::new();
        };
        let Some(known) = stretch.get(..=hit.index - start) else {
            return Vec::new();
        };
        let place = series.place(hit.index);
        hit.rules
            .iter()
            .map(|rule| explain::explain(known, place, rule, self.rules, &self.zones))
            .collect()
    }
}
