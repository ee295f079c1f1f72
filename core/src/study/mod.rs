//! Studies of the measurement itself: a plan that is walked through reading by reading, and what
//! comes of it.
//!
//! # The plan
//!
//! A [`Design`] says what is varied (pieces, methods, operators, rounds) and in which order; the
//! order is balanced and random, from a seed that is kept. A [`Study`] is the design under way: it
//! says what to measure next, takes readings, has one taken again with a reason, and can be stored
//! and read back at any moment. A [`VisitStudy`] is a plan without an end: one master, visited again and
//! again over days.
//!
//! # What comes of it
//!
//! | question | answer |
//! | --- | --- |
//! | do several methods read alike and repeat alike on one piece? | [`Comparison`] |
//! | how far apart may two methods read on one of many pieces? | [`BlandAltman`] |
//! | does an instrument repeat, and read right, on one piece? | [`OnePiece`] |
//! | how much of what varies is the measurement? | [`GaugeStudy`], [`NestedStudy`] |
//! | does the bias change along the range, or with time? | [`Linearity`], [`Stability`] |
//! | do the three wires differ? | [`WireStudy`] |
//! | do two judges of go and no-go agree? | [`Agreement`] |
//!
//! What the uncertainty budget takes is a [`Repeatability`] and a method's [`Bias`].

mod anova;
mod attribute;
mod balance;
mod bland_altman;
mod budget;
mod comparisons;
mod design;
mod difference;
mod figure;
mod gauge_rr;
mod generator;
mod go_gauge;
mod linearity;
mod method_comparison;
mod nested;
mod one_piece;
mod plan;
mod power;
mod progress;
mod spread;
mod stability;
mod sums;
mod visits;
mod wires;

pub use anova::{Blocked, OneWay, Summary, Variation, welch};
pub use attribute::Agreement;
pub use bland_altman::{BlandAltman, LimitsFactor, Piece as AgreementPiece, repeat_differences};
pub use budget::{Bias, Repeatability};
pub use comparisons::{
    Adjusted, Adjustment, Pair, dunnett, dunnett_in_blocks, tukey, tukey_in_blocks,
};
pub use design::{Design, DesignError, Factor, MOST_CELLS, Order, Pieces};
pub use difference::{Basis, Difference, Equivalence};
pub use figure::{Estimate, FRatio};
pub use gauge_rr::{
    AverageRange, Band, Categories, CategoriesFactor, Component, Components, Crossed,
    GaugeSettings, GaugeStudy, GaugeTable, GaugeTolerance, Pooling, RangeFactors, TableError,
    TaggedReading,
};
pub use go_gauge::{GoGauge, MeasuredSize};
pub use linearity::{Level, LevelBias, Linearity};
pub use method_comparison::{
    Against, Caution as ComparisonCaution, Comparison, ComparisonError, FEW_READINGS, Margin,
    MeanAgainst, MethodFigures, MethodReadings, More, Pairing, SameMean, SameSpread,
    Settings as ComparisonSettings, SpreadAgainst, SpreadVerdict, Verdict,
};
pub use nested::{NestedReadings, NestedStudy};
pub use one_piece::{
    FEW_REPEATS, GaugeConvention, OnePiece, OnePieceSettings, RangeBias, RangeDivisors,
    ReferenceBias, ToleranceFit,
};
pub use plan::{Cell, cells};
pub use power::{Aim, MOST_READINGS};
pub use progress::{Measured, Progress, Prompt, Step, Study, StudyError};
pub use spread::{Bartlett, Deviation, SpreadRatio, bartlett, levene};
pub use stability::{Stability, Visit};
pub use visits::{
    MOST_A_VISIT, MOST_DAYS, Moment, VisitPlan, VisitStanding, VisitStep, VisitStudy,
};
pub use wires::{WireFigures, WirePair, WireStudy, lone_wire_gain};
