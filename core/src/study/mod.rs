//! Studies of the measurement itself: a plan that is walked through reading by reading, and what
//! comes of it.
//!
//! # The plan
//!
//! A [`Design`] says what is varied (pieces, methods, operators, rounds) and in which order; the
//! order is balanced and random, from a seed that is kept. A [`Study`] is the design under way: it
//! says what to measure next, takes readings, has one taken again with a reason, and can be stored
//! and read back at any moment.
//!
//! # What comes of it
//!
//! | question | answer |
//! | --- | --- |
//! | do several methods read alike and repeat alike on one piece? | [`Comparison`] |
//! | how far apart may two methods read on one of many pieces? | [`BlandAltman`] |
//!
//! What the uncertainty budget takes is a [`Repeatability`] and a method's [`Bias`].

mod anova;
mod balance;
mod bland_altman;
mod budget;
mod comparisons;
mod design;
mod difference;
mod figure;
mod generator;
mod method_comparison;
mod plan;
mod power;
mod progress;
mod spread;
mod sums;

pub use anova::{Blocked, OneWay, Summary, Variation, welch};
pub use bland_altman::{BlandAltman, LimitsFactor, Piece as AgreementPiece, repeat_differences};
pub use budget::{Bias, Repeatability};
pub use comparisons::{Adjusted, Adjustment, Pair, dunnett, tukey};
pub use design::{Design, DesignError, Factor, MOST_CELLS, Order, Pieces};
pub use difference::{Basis, Difference, Equivalence};
pub use figure::{Estimate, FRatio};
pub use method_comparison::{
    Against, Caution as ComparisonCaution, Comparison, ComparisonError, FEW_READINGS, Margin,
    MeanAgainst, MethodFigures, MethodReadings, More, Pairing, SameMean, SameSpread,
    Settings as ComparisonSettings, SpreadAgainst, SpreadVerdict, Verdict,
};
pub use plan::{Cell, cells};
pub use power::{Aim, MOST_READINGS};
pub use progress::{Measured, Progress, Prompt, Step, Study, StudyError};
pub use spread::{Bartlett, Deviation, SpreadRatio, bartlett, levene};
