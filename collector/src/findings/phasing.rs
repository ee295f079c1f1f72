//! What is said of a chart in phases or with frozen limits, whether its points are pieces or groups of them.

use std::ops::Range;

use overwire_core::decimal::format_to;
use overwire_core::stats::Undefined;
use overwire_core::stats::limits::Standing;
use overwire_core::stats::phases::{Part, Phases};
use overwire_core::stats::run_rules::Signals;
use overwire_core::study::Difference;

use super::Shown;
use super::phases::Start;
use crate::chart::{Mark, MarkKind};

/// Of fewer points than this nothing is said of steadiness. Our own figure.
pub(super) const FEW_POINTS: usize = 8;

/// A chart as it is divided, and what stands out in each part.
pub(super) struct Phasing<'a> {
    /// What a point is: `piece` or `group`.
    pub noun: &'static str,
    /// What else does not reach from one phase into the next.
    pub chain: &'static str,
    /// The phases in order.
    pub phases: Vec<Phase>,
    /// What the phases after the first one begin with.
    pub starts: &'a [Start],
    /// From how many points at the start of each phase its limits come, where they are frozen.
    pub freeze_after: Option<usize>,
    /// Whether what stands out is no more than chance gives among so many.
    pub by_chance: bool,
    /// How many of one point chance makes stand out; none where that is not known.
    pub chance: Option<f64>,
}

/// One phase.
pub(super) struct Phase {
    range: Range<usize>,
    limits_to: usize,
    /// How firm its limits are; none where it has none.
    standing: Option<Standing>,
    /// What stands out among the points its limits come from, and among later ones.
    early: Hits,
    later: Hits,
}

/// How many points stand out.
#[derive(Clone, Copy, Default)]
pub(super) struct Hits {
    points: usize,
    /// Of groups: of their ranges or standard deviations.
    spreads: Option<usize>,
}

impl Hits {
    /// Those of some signals that a range of indices holds.
    pub fn of(signals: &Signals, within: impl Fn(usize) -> bool) -> Hits {
        let hits = signals.hits.iter().filter(|hit| within(hit.index));
        Hits {
            points: hits.count(),
            spreads: None,
        }
    }

    /// The same with those of the spreads of groups.
    pub fn with_spreads(self, spreads: Hits) -> Hits {
        Hits {
            spreads: Some(spreads.points),
            ..self
        }
    }

    fn and(self, other: Hits) -> Hits {
        let spreads = [self.spreads, other.spreads].into_iter().flatten();
        Hits {
            points: self.points + other.points,
            spreads: spreads.reduce(|one, other| one + other),
        }
    }

    /// How many in all.
    pub fn count(self) -> usize {
        self.points + self.spreads.unwrap_or_default()
    }

    /// `2 points stand out`, `1 mean and no spread stand out`.
    fn words(self) -> String {
        match (self.points, self.spreads) {
            (1, None) => "1 point stands out".to_owned(),
            (points, None) => format!("{points} points stand out"),
            _ => self.words_among(),
        }
    }

    /// The same where it was said among what: `2 stand out`.
    fn words_among(self) -> String {
        match (self.points, self.spreads) {
            (1, None) => "1 stands out".to_owned(),
            (points, None) => format!("{points} stand out"),
            (means, Some(spreads)) => format!(
                "{} and {} stand out",
                counted(means, "mean"),
                counted(spreads, "spread")
            ),
        }
    }
}

/// How many chance alone gives, in words.
pub(super) fn chance_words(by_chance: f64) -> String {
    match by_chance {
        few if few < 0.1 => "chance hardly gives one".to_owned(),
        number => format!("chance gives about {}", format_to(number, 1)),
    }
}

fn counted(count: usize, of: &str) -> String {
    match count {
        0 => format!("no {of}"),
        1 => format!("1 {of}"),
        _ => format!("{count} {of}s"),
    }
}

impl Phase {
    /// A part of a chart; `hits` are those of its points that are asked for.
    pub fn of<Chart>(
        part: &Part<Chart>,
        standing: impl Fn(&Chart) -> Standing,
        hits: impl Fn(&dyn Fn(usize) -> bool) -> Hits,
    ) -> Phase {
        let first = part.limits_to;
        Phase {
            range: part.range.clone(),
            limits_to: first,
            standing: part.chart.as_ref().ok().map(standing),
            early: hits(&|index| index < first),
            later: hits(&|index| index >= first),
        }
    }

    fn hits(&self) -> Hits {
        self.early.and(self.later)
    }

    const fn is_frozen(&self) -> bool {
        self.limits_to < self.range.end
    }
}

impl Phasing<'_> {
    fn is_phased(&self) -> bool {
        self.phases.len() > 1
    }

    fn points(&self) -> usize {
        self.phases.last().map_or(0, |phase| phase.range.end)
    }

    fn hits(&self) -> Hits {
        sum(self.phases.iter().map(Phase::hits))
    }

    /// Whether anything stands out.
    pub fn judged_words(&self) -> String {
        match (self.is_phased(), self.freeze_after) {
            (true, _) => self.phases_words(),
            (false, None) => self.own_words(),
            (false, Some(after)) => self.frozen_words(after),
        }
    }

    /// What stands out among so many points, with what chance gives: steady or not.
    fn standing_out(&self, within: &str, among: usize, words: &str) -> String {
        let chance = self.chance.map(|share| chance_words(share * among as f64));
        let chance = chance.map_or_else(String::new, |chance| format!(" ({chance} among {among})"));
        match self.by_chance {
            true => format!(
                "Steady{within} as far as these rules see: {words}, no more than chance gives{chance}"
            ),
            false => format!("Not steady{within}: {words}{chance}"),
        }
    }

    /// Points held against their own limits.
    fn own_words(&self) -> String {
        let (hits, count) = (self.hits(), self.points());
        match hits.count() {
            0 if count < FEW_POINTS => format!(
                "Too few {}s to call it steady: nothing stands out among {count}",
                self.noun
            ),
            0 => "Steady as far as these rules see".to_owned(),
            _ => self.standing_out("", count, &hits.words()),
        }
    }

    fn frozen_words(&self, after: usize) -> String {
        let noun = self.noun;
        let later = self.points().saturating_sub(after);
        let hits = sum(self.phases.iter().map(|phase| phase.later));
        let of_later = format!("of {later} {noun}s after the freezing");
        match (later, hits.count()) {
            (0, _) => format!("Nothing is judged yet: no {noun} came after the first {after}"),
            (_, 0) => format!("Steady as far as these rules see: {of_later} none stands out"),
            _ => self.standing_out("", later, &format!("{of_later} {}", hits.words_among())),
        }
    }

    fn phases_words(&self) -> String {
        let judged = |phase: &&Phase| phase.standing.is_some() && phase.range.len() >= FEW_POINTS;
        let (noun, all) = (self.noun, self.phases.len());
        let enough = self.phases.iter().filter(judged).count();
        let short = match all - enough {
            0 => String::new(),
            1 => format!("; 1 phase has too few {noun}s to say so of it"),
            short => format!("; {short} phases have too few {noun}s to say so of them"),
        };
        let hits = self.hits();
        match (hits.count(), self.by_chance) {
            (0, _) if enough == 0 => format!(
                "Too few {noun}s in each of {all} phases to call it steady: nothing stands out"
            ),
            (0, _) => format!("Steady within its {all} phases, as far as these rules see{short}"),
            (_, by_chance) => {
                let within = format!(" within its {all} phases");
                let told = self.standing_out(&within, self.points(), &hits.words());
                if by_chance { told + &short } else { told }
            }
        }
    }

    /// How firm the limits are.
    pub fn standing_words(&self) -> String {
        let mut standing = self.phases.iter().filter_map(|phase| phase.standing);
        let all = self.phases.len();
        if self.is_phased() {
            return match standing.filter(|each| *each == Standing::Firm).count() {
                0 => "provisional in every phase".to_owned(),
                firm if firm == all => "firm in every phase".to_owned(),
                firm => format!("firm in {firm} of {all} phases"),
            };
        }
        let standing = standing.next().map(Standing::words).unwrap_or_default();
        match self.freeze_after {
            Some(after) => format!("frozen from the first {after} {}s, {standing}", self.noun),
            None => standing,
        }
    }

    /// What to know where limits were frozen too early.
    pub fn early_caution(&self) -> Option<String> {
        let early = sum(self.phases.iter().map(|phase| phase.early));
        let frozen = self.freeze_after.filter(|_| early.count() > 0);
        frozen.map(|after| {
            let of = if self.is_phased() { " of the phases" } else { "" };
            format!(
                "of the first {after} {}s{of}, from which the limits come, {} themselves; find the cause before you \
                 freeze.",
                self.noun,
                early.words_among()
            )
        })
    }

    /// Phases and freezing as they are printed with a chart.
    pub fn settings_words(&self) -> Vec<String> {
        let noun = self.noun;
        let frozen = self.freeze_after.map(|after| {
            let of = if self.is_phased() { " of each phase" } else { "" };
            format!(
                "Limits frozen from the first {after} {noun}s{of}: later {noun}s do not move them; no pattern reaches \
                 from those {noun}s into the later ones."
            )
        });
        let phased = self.is_phased().then(|| {
            format!(
                "Each phase has limits of its own; no pattern and no {} reaches from one into the next. A phase \
                 begins where something was changed, not where the chart jumps.",
                self.chain
            )
        });
        frozen.into_iter().chain(phased).collect()
    }

    /// What the table of phases says first of each: what it begins with, where, and how long it is.
    pub fn rows(&self, point_at: impl Fn(usize) -> String) -> Vec<Vec<String>> {
        let rows = self.phases.iter().enumerate().map(|(at, phase)| {
            let begins = match at.checked_sub(1).and_then(|at| self.starts.get(at)) {
                Some(start) => start.change.label.clone(),
                None => format!("the first {}", self.noun),
            };
            vec![
                format!("{}: {begins}", at + 1),
                point_at(phase.range.start),
                phase.range.len().to_string(),
            ]
        });
        rows.collect()
    }

    /// How much stands out in each phase that has limits; none in one without.
    pub fn each_hits(&self) -> impl Iterator<Item = Option<usize>> {
        let phases = self.phases.iter();
        phases.map(|phase| phase.standing.map(|_| phase.hits().count()))
    }

    /// Where phases begin and where limits are frozen, as it is drawn; `before` is the place of a point, from 0.
    pub fn marks(&self, before: impl Fn(usize) -> usize) -> Vec<Mark> {
        let starts = self.starts.iter().map(|start| Mark {
            before: before(start.index),
            kind: start.change.kind,
            label: start.change.label.clone(),
        });
        let frozen = self.phases.iter().filter(|phase| phase.is_frozen());
        let frozen = frozen.map(|phase| Mark {
            before: before(phase.limits_to),
            kind: MarkKind::Other,
            label: "limits frozen before".to_owned(),
        });
        starts.chain(frozen).collect()
    }

    /// Whether the mean moved from one phase to the next, each step by itself; points spread by `least` at least.
    pub fn steps(&self, points: &[f64], least: f64, shown: &Shown) -> Vec<String> {
        let pairs = self.phases.iter().zip(self.phases.iter().skip(1));
        let steps = pairs
            .zip(self.starts)
            .filter_map(|((before, after), start)| {
                let of = |phase: &Phase| points.get(phase.range.clone()).unwrap_or_default();
                let found = Difference::of_groups(of(after), of(before), least).ok()?;
                let interval = found.estimate.interval(0.95).ok()?;
                let ends = [interval.low, interval.high].map(|mm| signed(mm, shown));
                let between = format!("95 % sure: {} to {} {}", ends[0], ends[1], shown.unit);
                let label = &start.change.label;
                Some(match (interval.low > 0.0, interval.high < 0.0) {
                    (false, false) => {
                        format!("With {label} no step of the mean is shown ({between}).")
                    }
                    (rises, _) => format!(
                        "With {label} the mean {} by {} {} ({between}).",
                        if rises { "rises" } else { "falls" },
                        shown.fine(found.estimate.value.abs()),
                        shown.unit
                    ),
                })
            });
        steps.collect()
    }

    /// Where the last phase begins and how many points it has, where it is not the only one.
    pub fn last(&self, point_at: impl Fn(usize) -> String) -> Option<String> {
        let phase = self.phases.last().filter(|_| self.is_phased())?;
        Some(format!(
            "of the last phase only, from {} on: {} {}s.",
            point_at(phase.range.start),
            phase.range.len(),
            self.noun
        ))
    }
}

/// The limits of each phase as they are printed with a chart.
pub(super) fn phases_words(phases: &Phases, shown: &Shown) -> Vec<String> {
    let mut words = Vec::new();
    for (phase, number) in phases.phases().iter().zip(1..) {
        let limits = phase.limits.iter();
        let told = limits.flat_map(|limits| limits.words(shown.unit, shown.places));
        let told = told.filter(|line| !line.is_empty());
        words.extend(told.map(|line| format!("Phase {number}: {line}")));
    }
    words
}

/// So many cells of a row: figures, a dash for a limit there is none of; or why the phase has none.
pub(super) fn figures_or_dash(
    figures: Result<Vec<Option<f64>>, Undefined>,
    cells: usize,
    shown: &Shown,
) -> Vec<String> {
    let dash = || "–".to_owned();
    match figures {
        Ok(figures) => {
            let cell = |figure: Option<f64>| figure.map_or_else(dash, |mm| shown.fine(mm));
            figures.into_iter().map(cell).collect()
        }
        Err(reason) => {
            let rest = std::iter::repeat_with(dash).take(cells.saturating_sub(1));
            std::iter::once(format!("– ({reason})"))
                .chain(rest)
                .collect()
        }
    }
}

/// A count, or a dash where there is none.
pub(super) fn count_or_dash(count: Option<usize>) -> String {
    count.map_or_else(|| "–".to_owned(), |count| count.to_string())
}

fn sum(hits: impl Iterator<Item = Hits>) -> Hits {
    hits.reduce(Hits::and).unwrap_or_default()
}

fn signed(mm: f64, shown: &Shown) -> String {
    let sign = if mm > 0.0 { "+" } else { "" };
    format!("{sign}{}", shown.fine(mm))
}
