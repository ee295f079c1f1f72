//! Limits that pieces are held against, phase by phase: their own, or those frozen from the first of them.
//!
//! Frozen limits stand still: later pieces are judged by them and do not move them. What is judged begins afresh
//! behind the freezing, so no pattern is half of pieces the limits come from and half of others.

mod words;

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::phases::{Freezing, Part, Phased, Phases};
use overwire_core::stats::run_rules::{RunRules, Signals};
use overwire_core::stats::series::Series;

use super::Shown;
use super::phases::Start;
use super::phasing::{Hits, Phase, Phasing};
use super::pictures::{self, Drawn};
use super::signals::Order;
use crate::chart::{ControlLimits, Mark};

/// Limits of individuals in phases, and what stands out against them.
pub(super) struct Held {
    phased: Phased,
    phases: Phases,
    starts: Vec<Start>,
    /// What stands out, for each phase that has limits.
    pub signals: Vec<Signals>,
    /// The indices of the pieces whose step from the one before is beyond its limit.
    wide: Vec<usize>,
    freeze_after: Option<usize>,
}

impl Held {
    /// Holds a series against the limits of each of its phases, or those of the first pieces of each.
    ///
    /// # Errors
    /// No phase gives limits: why the first one does not.
    pub fn of(
        series: &Series,
        order: &Order,
        starts: Vec<Start>,
        freeze_after: Option<usize>,
        rules: RunRules,
    ) -> Result<Held, Undefined> {
        let settings = IndividualsSettings::default();
        let begins = starts.iter();
        let begins: Vec<(usize, &str)> = begins
            .map(|start| (start.index, start.change.label.as_str()))
            .collect();
        let phased = Phased::of(series, &begins, freeze_after, settings);
        if phased.parts.iter().all(|part| part.chart.is_err())
            && let Some(Part {
                chart: Err(reason), ..
            }) = phased.parts.first()
        {
            return Err(*reason);
        }
        let piece = |index: usize| order.piece_at(phased.series.place(index));
        let phases = phased.phases(|part| Freezing {
            first_reading: piece(part.range.start),
            last_reading: piece(part.limits_to.saturating_sub(1)),
            ..Freezing::default()
        });
        let signals = phases.signals(&phased.series, rules);
        let wide = phased.parts.iter().flat_map(|part| match &part.chart {
            Ok(chart) => wide_within(chart, &phased.series, part),
            Err(_) => Vec::new(),
        });
        Ok(Held {
            wide: wide.collect(),
            signals,
            phases,
            phased,
            starts,
            freeze_after,
        })
    }

    /// What was held against the limits.
    pub fn judged(&self) -> &Series {
        &self.phased.series
    }

    /// Whether there are several phases.
    pub fn in_phases(&self) -> bool {
        self.phased.parts.len() > 1
    }

    /// The last phase.
    pub fn latest(&self) -> Option<&Part> {
        self.phased.parts.last()
    }

    /// The limits of the last phase, or why it has none.
    pub fn chart(&self) -> Result<&Individuals, Undefined> {
        let none = Undefined::TooFew {
            of: "phases",
            needed: 1,
            found: 0,
        };
        self.latest()
            .ok_or(none)
            .and_then(|part| part.chart.as_ref().map_err(|reason| *reason))
    }

    /// Whether the last phase is steady.
    pub fn steadiness(&self) -> Steadiness {
        match (self.chart(), self.signals.last()) {
            (Ok(_), Some(signals)) => Steadiness::of(signals),
            _ => Steadiness::Unknown,
        }
    }

    /// The limits and the steps beyond theirs as they are drawn.
    pub fn drawn(&self, order: &Order, shown: &Shown) -> Drawn {
        let lines = |limits: fn(&Individuals) -> ControlLimitsOf| {
            let phases = self.phased.parts.iter().map(|part| {
                let from = self.judged().place(part.range.start).saturating_sub(1);
                let found = part.chart.as_ref().ok().map(limits);
                let drawn = found.and_then(|limits| pictures::lines(&limits, shown).pop());
                ControlLimits {
                    from,
                    ..drawn.unwrap_or_default()
                }
            });
            phases.collect()
        };
        Drawn {
            limits: lines(|chart| chart.limits),
            range_limits: lines(|chart| chart.range_limits),
            wide: pictures::wide_signals(self.judged(), &self.wide, order),
        }
    }

    /// Where phases begin and where limits are frozen, as it is drawn.
    pub fn marks(&self) -> Vec<Mark> {
        self.phasing()
            .marks(|index| self.judged().place(index).saturating_sub(1))
    }

    /// The phases with what stands out in each.
    fn phasing(&self) -> Phasing<'_> {
        let mut signals = self.signals.iter();
        let phases = self.phased.parts.iter().map(|part| {
            let own = part.chart.as_ref().ok().and_then(|_| signals.next());
            Phase::of(
                part,
                |chart| chart.standing,
                |within| own.map_or_else(Hits::default, |own| Hits::of(own, within)),
            )
        });
        Phasing {
            noun: "piece",
            chain: "moving range",
            phases: phases.collect(),
            starts: &self.starts,
            freeze_after: self.freeze_after,
            by_chance: matches!(
                Steadiness::of_all(&self.signals),
                Steadiness::Steady { hits: 1.. }
            ),
            chance: self
                .signals
                .first()
                .map(|found| found.rules.share_by_chance()),
        }
    }
}

type ControlLimitsOf = overwire_core::stats::limits::ControlLimits;

/// The steps of a phase that are beyond its limit.
fn wide_within(chart: &Individuals, series: &Series, part: &Part) -> Vec<usize> {
    let mut wide = chart.wide_steps(series);
    wide.retain(|index| part.range.contains(index));
    wide
}
