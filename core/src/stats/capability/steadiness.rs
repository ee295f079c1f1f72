//! Whether a chart lets its readings count as one process.

use crate::stats::run_rules::{Rule, Signals};

/// On a chart shorter than this every signal counts; a longer one has some by chance. Our own figure.
const LONG: u64 = 1000;

/// How far above the number expected by chance the hits of a rule on a long chart may be: so many
/// standard deviations, of hits that come three at a time. Our own figures.
const REACH: f64 = 4.0;
const CLUSTER: f64 = 3.0;

/// What the chart says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steadiness {
    /// No signals, or on a long chart no more than chance gives.
    Steady {
        /// How many points complete a pattern.
        hits: usize,
    },
    /// Signals.
    NotSteady {
        /// How many points complete a pattern.
        hits: usize,
    },
    /// Nobody looked.
    Unknown,
}

impl Steadiness {
    /// What the signals of a chart of readings or means amount to. Not for charts of ranges, which are not
    /// normal and have more points beyond their upper limit by chance.
    pub fn of(signals: &Signals) -> Steadiness {
        Steadiness::of_all([signals])
    }

    /// The same of the phases of a chart together. Nobody looked where there is none.
    pub fn of_all<'a>(phases: impl IntoIterator<Item = &'a Signals>) -> Steadiness {
        let phases: Vec<&Signals> = phases.into_iter().collect();
        let Some(first) = phases.first() else {
            return Steadiness::Unknown;
        };
        let hits = phases.iter().map(|signals| signals.hits.len()).sum();
        let points: u64 = phases.iter().map(|signals| signals.coarseness.points).sum();
        let by_chance = |rule: Rule| {
            let expected = points as f64 * first.rules.hits_by_chance(rule);
            let most = expected + REACH * (CLUSTER * expected).sqrt();
            let found: usize = phases.iter().map(|signals| signals.count(rule)).sum();
            found as f64 <= most
        };
        match hits == 0 || points >= LONG && first.rules.on().iter().all(by_chance) {
            true => Steadiness::Steady { hits },
            false => Steadiness::NotSteady { hits },
        }
    }
}
