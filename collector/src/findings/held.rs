//! Limits that pieces are held against: their own, or those frozen from the first of them.
//!
//! Frozen limits stand still: later pieces are judged by them and do not move them. What is judged begins afresh
//! behind the freezing, so no pattern is half of pieces the limits come from and half of others.

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::run_rules::{RunRules, Signals};
use overwire_core::stats::series::{Gap, Series};

use crate::chart::{Mark, MarkKind};

/// Of fewer pieces than this nothing is said of steadiness. Our own figure.
const FEW_PIECES: usize = 8;

/// Limits of individuals, and what stands out against them.
pub(super) struct Held {
    /// The limits.
    pub chart: Individuals,
    /// What was held against them.
    pub judged: Series,
    /// What stands out there.
    pub signals: Signals,
    /// From how many pieces the limits are frozen.
    freeze_after: Option<usize>,
}

impl Held {
    /// Holds a series against its own limits, or those of its first pieces.
    pub fn of(
        series: &Series,
        rules: RunRules,
        freeze_after: Option<usize>,
    ) -> Result<Held, Undefined> {
        let settings = IndividualsSettings::default();
        let (chart, judged) = match freeze_after {
            None => (Individuals::of(series, settings)?, series.clone()),
            Some(after) => {
                enough(series, after)?;
                let first = copied(series, after, None)?;
                let judged = copied(series, usize::MAX, Some(after))?;
                (Individuals::of(&first, settings)?, judged)
            }
        };
        Ok(Held {
            signals: chart.signals(&judged, rules),
            chart,
            judged,
            freeze_after,
        })
    }

    /// Whether anything stands out.
    pub fn verdict(&self) -> String {
        let standing = self.chart.standing.words();
        let Some(after) = self.freeze_after else {
            return match self.signals.hits.len() {
                hits if hits > 0
                    && matches!(Steadiness::of(&self.signals), Steadiness::Steady { .. }) =>
                {
                    format!(
                        "Steady as far as these rules see: {hits} points stand out, no more than chance gives \
                         among so many. The limits: {standing}."
                    )
                }
                0 if self.judged.readings().len() < FEW_PIECES => format!(
                    "Too few pieces to call it steady: nothing stands out among {}. The limits: {standing}.",
                    self.judged.readings().len()
                ),
                0 => format!("Steady as far as these rules see. The limits: {standing}."),
                1 => format!("Not steady: 1 point stands out. The limits: {standing}."),
                hits => format!("Not steady: {hits} points stand out. The limits: {standing}."),
            };
        };
        let from = format!("The limits: frozen from the first {after} pieces, {standing}.");
        let later = self.judged.readings().len() - after;
        let hits = self.signals.hits.iter().filter(|hit| hit.index >= after);
        match (later, hits.count()) {
            (0, _) => {
                format!("Nothing is judged yet: no piece came after the first {after}. {from}")
            }
            (_, 0) => format!(
                "Steady as far as these rules see: of {later} pieces after the freezing none stands out. {from}"
            ),
            (_, 1) => {
                format!("Not steady: of {later} pieces after the freezing 1 stands out. {from}")
            }
            (_, hits) => {
                format!("Not steady: of {later} pieces after the freezing {hits} stand out. {from}")
            }
        }
    }

    /// What is wrong with limits that were frozen too early.
    pub fn caution(&self) -> Option<String> {
        let after = self.freeze_after?;
        let hits = self.signals.hits.iter().filter(|hit| hit.index < after);
        match hits.count() {
            0 => None,
            hits => Some(format!(
                "of the first {after} pieces, from which the limits come, {hits} stand out themselves; find the \
                 cause before you freeze."
            )),
        }
    }

    /// The freezing as it is printed with a chart.
    pub fn settings_words(&self) -> Option<String> {
        let after = self.freeze_after?;
        Some(format!(
            "Limits frozen from the first {after} pieces: later pieces do not move them; no pattern reaches from \
             those pieces into the later ones."
        ))
    }

    /// Where the freezing is drawn.
    pub fn marks(&self, series: &Series) -> Vec<Mark> {
        let after = self.freeze_after.unwrap_or(usize::MAX);
        let judged = after < series.readings().len();
        let mark = judged.then(|| Mark {
            before: series.place(after).saturating_sub(1),
            kind: MarkKind::Other,
            label: "limits frozen before".to_owned(),
        });
        mark.into_iter().collect()
    }
}

fn enough(series: &Series, needed: usize) -> Result<(), Undefined> {
    let found = series.readings().len();
    match found < needed {
        true => Err(Undefined::TooFew {
            of: "pieces to freeze limits from",
            needed,
            found,
        }),
        false => Ok(()),
    }
}

/// The first readings of a series with the gaps before them, and a fresh start before one of them.
fn copied(series: &Series, until: usize, fresh: Option<usize>) -> Result<Series, Undefined> {
    let mut gaps = series.gaps().iter().peekable();
    let mut copied = Series::default();
    for (index, mm) in series.readings().iter().enumerate().take(until) {
        while let Some(at) = gaps.next_if(|at| at.before <= index) {
            match &at.gap {
                Gap::Excluded { reading, reason } => copied.push_excluded(*reading, reason)?,
                Gap::FreshStart { reason } => copied.push_fresh_start(reason),
                _ => copied.push_missing(),
            }
        }
        if fresh == Some(index) {
            copied.push_fresh_start("limits are frozen before");
        }
        copied.push(*mm)?;
    }
    Ok(copied)
}
