//! What has to be known about an index.

use super::{Evidence, FIRM_PIECES, MOST_GAUGE_SHARE, Steadiness, Tolerance};
use crate::stats::Undefined;
use crate::stats::resolution::{Adequacy, Fineness, Use};

/// Something to know about an index.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Caution {
    /// Fewer than [`FIRM_PIECES`].
    Provisional {
        /// How many there are.
        found: usize,
    },
    /// Nobody looked whether the process is steady.
    SteadinessUnknown,
    /// So many points complete a pattern, as many as chance gives on so long a chart.
    HitsByChance {
        /// How many.
        hits: usize,
    },
    /// The display's step is more than a tenth of the tolerance.
    StepCoarseForTolerance {
        /// The tolerance, in steps.
        steps: f64,
    },
    /// The display's step is larger than the spread: the spread is not really known.
    StepCoarseForSpread,
    /// Ranges on the chart can take fewer than five values up to their limit.
    StepCoarseForRanges {
        /// How many.
        values: f64,
    },
    /// Much of the spread is the gauge's.
    GaugeBlurs {
        /// The gauge's sigma over that of the readings.
        share: f64,
        /// The sigma without the gauge, where the gauge leaves any.
        without_gauge: Option<f64>,
    },
    /// The readings hardly come from a normal distribution.
    NotNormal {
        /// How often chance would make normal ones look so.
        chance: f64,
    },
    /// Pieces lie outside the tolerance.
    PiecesOutside,
}

/// What has to be known about an index from some evidence.
pub(super) fn cautions(evidence: &Evidence, tolerance: &Tolerance, sigma: f64) -> Vec<Caution> {
    let found = evidence.firm_from();
    let (smallest, largest) = evidence.extremes;
    let below = tolerance.lower().is_some_and(|lower| smallest < lower);
    let above = tolerance.upper().is_some_and(|upper| largest > upper);
    let share = evidence.gauge.map(|gauge| gauge / sigma);
    let without = |share: f64| (share < 1.0).then(|| sigma * (1.0 - share * share).sqrt());
    [
        (found < FIRM_PIECES).then_some(Caution::Provisional { found }),
        match evidence.steadiness {
            Steadiness::Unknown => Some(Caution::SteadinessUnknown),
            Steadiness::Steady { hits } if hits > 0 => Some(Caution::HitsByChance { hits }),
            _ => None,
        },
        share
            .filter(|&share| share > MOST_GAUGE_SHARE)
            .map(|share| Caution::GaugeBlurs {
                share,
                without_gauge: without(share),
            }),
        evidence
            .normality
            .filter(|&chance| chance < 0.05)
            .map(|chance| Caution::NotNormal { chance }),
        (below || above).then_some(Caution::PiecesOutside),
    ]
    .into_iter()
    .flatten()
    .chain(coarse(evidence, tolerance, sigma))
    .collect()
}

/// What the step of the display is too coarse for.
fn coarse(evidence: &Evidence, tolerance: &Tolerance, sigma: f64) -> Vec<Caution> {
    let known = evidence.step.map(|step| Use {
        step,
        tolerance: tolerance.width(),
        range_limit: evidence.range_limit,
        process_deviation: Some(sigma),
    });
    let Some(Ok(adequacy)) = known.map(|known| Adequacy::of(&known)) else {
        return Vec::new();
    };
    let coarse = |judged: Result<(f64, Fineness), Undefined>| match judged {
        Ok((figure, Fineness::Coarse)) => Some(figure),
        _ => None,
    };
    let tolerance = coarse(adequacy.steps_in_tolerance);
    let ranges = coarse(adequacy.values_within_limit);
    [
        tolerance.map(|steps| Caution::StepCoarseForTolerance { steps }),
        ranges.map(|values| Caution::StepCoarseForRanges { values }),
        coarse(adequacy.steps_in_deviation).map(|_| Caution::StepCoarseForSpread),
    ]
    .into_iter()
    .flatten()
    .collect()
}
