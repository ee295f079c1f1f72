//! The overwire daemon: everything that touches the world.
//!
//! The way of a reading, left to right:
//!
//! | step | where |
//! | --- | --- |
//! | a port is opened, read, found again | [`link`] |
//! | bytes become a frame | [`frame`] |
//! | a frame is stamped with what is active and looked at | [`station`] |
//! | the verdict is made | `overwire_core::judge`, called from [`station::judging`] |
//! | the reading becomes durable | [`record::writer`] |
//! | it is told | [`feed`] to [`page`]; [`export`] reads the record |
//!
//! [`report`] prints a job for whoever asked for the pieces. [`findings`] asks core's statistics and says what they found; [`chart`] draws it: plain numbers in,
//! pictures out.
//!
//! [`collect`] is the thread that does the first five; [`page`] runs beside it and cannot slow it.
//! Ports, clock, store and listener come in from outside ([`run::Io`]), so that tests can put their own.
#![warn(missing_docs)]

pub mod chart;
pub mod cli;
pub mod clock;
pub mod collect;
pub mod export;
pub mod feed;
pub mod findings;
pub mod frame;
pub mod link;
pub mod live;
pub mod page;
pub mod record;
pub mod register;
pub mod report;
pub mod run;
mod sheet;
pub mod station;
pub mod view;
