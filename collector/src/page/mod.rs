//! The local status page and its interface for programs.
//!
//! | room | what is there |
//! | --- | --- |
//! | [`server`] | the listener: accepts, limits and times out connections |
//! | [`guard`] | who may ask: Host, Origin, headers of every answer |
//! | [`routes`] | what can be asked |
//! | [`outlet`] | a page's connection, shared with the collector so that an event goes out at once |
//! | [`stream`] | server-sent events with catch-up |
//! | [`exports`] | files out of the record |
//! | [`finding`] | finding readings in it |
//! | [`findings`] | statistics of a job or a study, and their pictures |
//! | [`functional`] | functional checks of a job |
//! | [`report`] | the inspection report of a job |
//! | [`drawing`] | the job's numbers as a scene for [`picture`] |
//! | [`assets`] | the page itself, built in |
//!
//! Nothing here can hold up the collector: questions are answered from the board it puts up or from a
//! read-only connection, and what is asked of it is queued.

pub mod assets;
pub mod drawing;
pub mod exports;
pub mod finding;
pub mod findings;
pub mod functional;
pub mod guard;
pub mod outlet;
pub mod picture;
pub mod report;
pub mod routes;
pub mod server;
pub mod stream;

use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::watch;

use crate::clock::Clock;
use crate::collect::Desk;
use crate::feed::Feed;
use crate::view::station::ShopView;

/// What every answer is made from.
#[derive(Clone)]
pub struct Shared {
    /// Asks the collector.
    pub desk: Desk,
    /// The board and the stream.
    pub feed: Arc<Feed>,
    /// The shop's lists.
    pub shop: Arc<ShopView>,
    /// The record's file, for connections that only read.
    pub record_file: Arc<PathBuf>,
    /// The last answers of statistics.
    pub answered: Arc<findings::answered::Answered>,
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Turns true when the daemon ends.
    pub ending: watch::Receiver<bool>,
    /// Who may ask.
    pub guard: Arc<guard::Guard>,
}
