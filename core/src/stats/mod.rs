//! What a set of readings says, and how far it can be trusted.
//!
//! Everything here is arithmetic on readings that are handed in, as counts of display steps or as
//! plain numbers. A figure that cannot be had is a typed reason, never a zero or a number that is
//! none. Where books differ, the convention is a setting with words of its own, so that a report can
//! print it.

pub mod distribution;
pub mod run_rules;
pub mod series;
