//! What a set of readings says, and how far it can be trusted.
//!
//! Everything here is arithmetic on readings that are handed in, as counts of display steps or as
//! plain numbers. A figure that cannot be had is a typed reason, [`Undefined`], never a zero or a number
//! that is none. Where books differ, the convention is a setting with words of its own, so that a report
//! can print it. Every result says how many readings stand behind it; nothing is ever removed.
//!
//! | room | what it knows |
//! | --- | --- |
//! | [`distribution`] | probabilities and quantiles |
//! | [`readings`] | a set of readings, as counts of display steps or as plain numbers |
//! | [`moments`] | mean and spread, and their intervals |
//! | [`describe`] | a set described: mean, spread, median, quartiles, intervals |
//! | [`outliers`] | readings that stand apart, with the odds |
//! | [`outlook`] | while a job runs: where the last pieces lead |
//! | [`normality`] | whether readings look normal |
//! | [`resolution`] | what the display step adds, and whether it is fine enough |
//! | [`rounding`] | how figures are rounded, and limits with it |
//! | [`line`](mod@line) | the line of least squares |
//! | [`constants`] | the factors of control charts, for any number of readings |
//! | [`series`] | readings in order, with what is missing or left out kept in its place |
//! | [`running`] | sums of readings that can be kept and added to |
//! | [`limits`] | control limits, where sigma comes from, when limits are firm |
//! | [`individuals`] | the chart of individuals and moving ranges |
//! | [`groups`] | charts of groups: means with ranges or standard deviations |
//! | [`pieces`] | repeats of single pieces: means for the process, ranges for the gauge |
//! | [`piece_sums`] | the same as sums that can be kept and followed on |
//! | [`run_rules`] | patterns on a chart, in words, and how often chance draws them |
//! | [`run_chart`] | runs and trends without limits |
//! | [`phases`] | limits that are frozen, and the phases of a chart |
//! | [`ewma`] | the weighted average, for small shifts |
//! | [`cusum`] | the cumulative sum, for small shifts and when they began |
//! | [`small_shifts`] | settings of those two as they are written, and how long they stay silent |
//! | [`step`] | did pieces step to another level rather than drift? |
//! | [`trend`] | tool wear: sloped limits and a forecast |
//! | [`short_run`] | few pieces of many parts on one chart |
//! | [`capability`] | spread against tolerance, with intervals and refusals |

pub mod capability;
pub mod constants;
pub mod cusum;
pub mod describe;
pub mod distribution;
pub mod ewma;
mod figure;
pub mod groups;
pub mod individuals;
pub(crate) mod integral;
pub mod limits;
pub mod line;
pub mod moments;
pub mod normality;
pub mod outliers;
pub mod outlook;
pub mod phases;
pub mod piece_sums;
pub mod pieces;
pub mod readings;
pub mod resolution;
pub mod rounding;
pub mod run_chart;
mod run_length;
pub mod run_rules;
pub mod running;
pub mod series;
pub mod short_run;
pub mod small_shifts;
pub mod step;
pub mod trend;

pub(crate) use figure::counted;
pub use figure::{Figure, Interval, Undefined};
pub use moments::Moments;
pub use readings::Readings;
