//! Studies of the measurement itself: a plan that is walked through reading by reading, and what
//! comes of it.
//!
//! # The plan
//!
//! A [`Design`] says what is varied (pieces, methods, operators, rounds) and in which order; the
//! order is balanced and random, from a seed that is kept. A [`Study`] is the design under way: it
//! says what to measure next, takes readings, has one taken again with a reason, and can be stored
//! and read back at any moment.

mod balance;
mod design;
mod generator;
mod plan;
mod progress;

pub use design::{Design, DesignError, Factor, MOST_CELLS, Order, Pieces};
pub use plan::{Cell, cells};
pub use progress::{Measured, Progress, Prompt, Step, Study, StudyError};
