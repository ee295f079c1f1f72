//! Groups held against their limits, phase by phase.

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups, Sizes};
use overwire_core::stats::phases::{Freezing, JudgedPoints, Part, PhasedGroups};
use overwire_core::stats::resolution::reading_uncertainty;
use overwire_core::stats::run_rules::RunRules;

use super::gathered::Gathered;
use crate::chart::Mark;
use crate::findings::phases::Start;
use crate::findings::phasing::{
    Hits, Phase, Phasing, count_or_dash, figures_or_dash, phases_words,
};
use crate::findings::{Shown, Table};

/// Limits of groups, and what stands out.
pub struct Held<'a> {
    phased: PhasedGroups,
    /// The means.
    pub means: JudgedPoints,
    /// The ranges or standard deviations.
    pub spreads: JudgedPoints,
    gathered: &'a Gathered,
    freeze_after: Option<usize>,
}

impl<'a> Held<'a> {
    /// Holds groups against limits that come from them, phase by phase.
    ///
    /// # Errors
    /// No phase gives limits: why the first one does not.
    pub fn of(
        gathered: &'a Gathered,
        spread: GroupSpread,
        freeze_after: Option<usize>,
        rules: RunRules,
    ) -> Result<Held<'a>, Undefined> {
        let listed: Vec<&[f64]> = gathered.groups.iter().map(|group| &*group.mm).collect();
        let starts = gathered.starts.iter();
        let starts: Vec<(usize, &str)> = starts
            .map(|start| (start.index, start.change.label.as_str()))
            .collect();
        let phased = PhasedGroups::of(&listed, spread, &starts, freeze_after)?;
        if phased.parts.iter().all(|part| part.chart.is_err())
            && let Some(Part {
                chart: Err(reason), ..
            }) = phased.parts.first()
        {
            return Err(*reason);
        }
        Ok(Held {
            means: phased.means(rules)?,
            spreads: phased.spreads(rules)?,
            phased,
            gathered,
            freeze_after,
        })
    }

    /// The groups as they are drawn.
    pub fn groups(&self) -> &Groups {
        &self.phased.groups
    }

    /// The one size of all groups; none where sizes differ.
    pub fn size(&self) -> Option<u32> {
        match self.phased.groups.sizes {
            Sizes::Equal(size) => Some(size),
            Sizes::Each(_) => None,
        }
    }

    /// Whether there are several phases.
    pub fn in_phases(&self) -> bool {
        self.phased.parts.len() > 1
    }

    /// The limits of the last phase, or why it has none.
    pub fn latest(&self) -> Result<&GroupChart, Undefined> {
        self.chart_of(self.phased.groups.len().saturating_sub(1))
    }

    /// The limits that hold for a group, or why it has none.
    pub fn chart_of(&self, group: usize) -> Result<&GroupChart, Undefined> {
        self.phased.chart_of(group)
    }

    /// The first group of the last phase.
    pub fn last_from(&self) -> usize {
        self.phased.parts.last().map_or(0, |part| part.range.start)
    }

    /// Whether the last phase is steady.
    pub fn steadiness(&self) -> Steadiness {
        match (self.latest(), self.means.signals.last()) {
            (Ok(_), Some(signals)) => Steadiness::of(signals),
            _ => Steadiness::Unknown,
        }
    }

    /// Whether anything stands out.
    pub fn verdict(&self) -> String {
        let phasing = self.phasing();
        let limits = phasing.standing_words();
        format!("{}. The limits: {limits}.", phasing.judged_words())
    }

    /// Whether groups differ so much that they are probably repeat readings of single pieces. Groups behind a
    /// freezing may differ for other reasons.
    pub fn looks_like_repeats(&self) -> bool {
        let charts = self.phased.parts.iter();
        let charts = charts.filter_map(|part| part.chart.as_ref().ok());
        let mut pairs = charts.zip(&self.means.signals);
        self.freeze_after.is_none() && pairs.any(|(chart, means)| chart.looks_like_repeats(means))
    }

    /// What to know: limits frozen too early.
    pub fn early_caution(&self) -> Option<String> {
        self.phasing().early_caution()
    }

    /// Whether the means moved from one phase to the next, and of which groups the rest is.
    pub fn steps(&self, step_mm: Option<f64>, shown: &Shown) -> Vec<String> {
        let phasing = self.phasing();
        let least = step_mm.map_or(0.0, reading_uncertainty);
        let mut told = phasing.steps(self.phased.groups.means.readings(), least, shown);
        let last = phasing.last(|group| self.gathered.group_at(group));
        told.extend(last.map(|last| {
            format!("How pieces scatter and whether they keep their limits is said {last}")
        }));
        told
    }

    /// Where phases begin and where limits are frozen, as it is drawn.
    pub fn marks(&self) -> Vec<Mark> {
        self.phasing().marks(|group| group)
    }

    /// Phases and freezing as they are printed with a chart.
    pub fn settings_words(&self, shown: &Shown) -> Vec<String> {
        let mut words = self.phasing().settings_words();
        if self.in_phases() {
            let phases = self.phased.phases(|part| Freezing {
                first_reading: self.gathered.group_at(part.range.start),
                last_reading: self.gathered.group_at(part.limits_to.saturating_sub(1)),
                ..Freezing::default()
            });
            words.extend(phases_words(&phases, shown));
        }
        words
    }

    /// The phases one by one; limits only where groups have one size.
    pub fn table(&self, shown: &Shown) -> Option<Table> {
        if !self.in_phases() {
            return None;
        }
        let mut columns = vec!["phase", "from", "groups", "centre", "sigma"];
        if self.size().is_some() {
            columns.extend(["mean from", "mean to", "spread to"]);
        }
        let phasing = self.phasing();
        let rows = phasing
            .rows(|group| self.gathered.group_at(group))
            .into_iter();
        let rows = rows.zip(&self.phased.parts).zip(phasing.each_hits());
        let rows = rows.map(|((mut row, part), hits)| {
            let chart = part.chart.as_ref().map_err(|reason| *reason);
            let figures = chart.map(|chart| self.phase_figures(chart));
            row.extend(figures_or_dash(figures, columns.len() - 3, shown));
            row.push(count_or_dash(hits));
            row
        });
        let rows = rows.collect();
        columns.push("stand out");
        Some(Table {
            rows,
            columns: columns.into_iter().map(str::to_owned).collect(),
        })
    }

    fn phase_figures(&self, chart: &GroupChart) -> Vec<Option<f64>> {
        let figures = [Some(chart.centre), Some(chart.sigma.sigma)].into_iter();
        let limits = self.size().map(|size| limits(chart, size));
        figures.chain(limits.into_iter().flatten()).collect()
    }

    fn phasing(&self) -> Phasing<'_> {
        let mut signals = self.means.signals.iter().zip(&self.spreads.signals);
        let sizes: Vec<u32> = self.phased.groups.each_size().collect();
        // Spreads are counted without groups of one.
        let spreading = sizes.iter().enumerate().filter(|(_, size)| **size > 1);
        let spreading: Vec<usize> = spreading.map(|(group, _)| group).collect();
        let phases = self.phased.parts.iter().map(|part| {
            let own = part.chart.as_ref().ok().and_then(|_| signals.next());
            Phase::of(
                part,
                |chart| chart.standing,
                |within| {
                    let Some((means, spreads)) = own else {
                        return Hits::default();
                    };
                    let group = |spread: usize| spreading.get(spread).copied().unwrap_or_default();
                    Hits::of(means, within)
                        .with_spreads(Hits::of(spreads, |spread| within(group(spread))))
                },
            )
        });
        Phasing {
            noun: "group",
            chain: "group",
            phases: phases.collect(),
            starts: self.starts(),
            freeze_after: self.freeze_after,
            by_chance: self
                .spreads
                .signals
                .iter()
                .all(|found| found.hits.is_empty())
                && matches!(
                    Steadiness::of_all(&self.means.signals),
                    Steadiness::Steady { hits: 1.. }
                ),
            chance: None,
        }
    }

    fn starts(&self) -> &[Start] {
        &self.gathered.starts
    }
}

/// The limits of the mean of a group of a size, and the upper one of its spread.
pub fn limits(chart: &GroupChart, size: u32) -> [Option<f64>; 3] {
    let mean = chart.mean_limits(size).ok();
    let spread = chart.spread_limits(size).ok();
    [
        mean.and_then(|limits| limits.lower),
        mean.and_then(|limits| limits.upper),
        spread.and_then(|limits| limits.upper),
    ]
}
