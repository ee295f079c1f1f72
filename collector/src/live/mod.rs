//! The live file: a CSV that grows by a line a reading, for a spreadsheet or a script that watches it.
//!
//! ```text
//! record (durable) ──wake──▶ thread `live`: steps of the record ─▶ line ─▶ one write(2), O_APPEND
//! ```
//!
//! | room | what is there |
//! | --- | --- |
//! | [`steps`] | what in the record makes a line: a reading, and whatever was said of one since |
//! | [`line`] | a step as a line |
//! | [`names`] | which file a line goes to |
//! | [`file`] | a file: heading, appending, mending, finding out how far it has come |
//! | [`follow`] | the thread: from the last step written to the end of the record |
//! | [`note`] | how far the files have come for certain, kept over a restart |
//!
//! The record is the truth and the file follows it. Nothing is handed over by the collector but a wake-up that
//! cannot wait; what is to be written is read from the record with a connection of its own. A file is told by
//! its first line and by its last one, which must be what the record gives for it; so it is gone on with exactly
//! where it was left, after whatever end. A file that is not there is begun with the whole of its period.
//!
//! A line begins with `as_of`, the entry of the record for which it was written: that of the reading, or that of
//! what was said of it since (void, restore, re-tag, answer, remark). `as_of` rises from line to line, and
//! the last line of an `entry` holds.

pub mod file;
pub mod follow;
pub mod line;
pub mod names;
pub mod note;
pub mod steps;

use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use serde::Serialize;

use crate::record::RecordError;

/// Why a live file could not be written.
#[derive(Debug, thiserror::Error)]
pub enum LiveError {
    /// The folder is not there.
    #[error("there is no folder {}", .0.display())]
    NoFolder(PathBuf),
    /// The system refuses.
    #[error("{}: {source}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Every name is taken by a file that is not this record's.
    #[error("{} and its numbered siblings are other files", .0.display())]
    Taken(PathBuf),
    /// The record could not be read.
    #[error(transparent)]
    Record(#[from] RecordError),
}

impl From<rusqlite::Error> for LiveError {
    fn from(error: rusqlite::Error) -> Self {
        LiveError::Record(error.into())
    }
}

impl LiveError {
    /// What to do next.
    pub fn hint(&self) -> &'static str {
        match self {
            LiveError::NoFolder(_) => {
                "Make the folder or mount the share, or name another under [live] in the settings."
            }
            LiveError::Refused { source, .. } => match source.kind() {
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                    "The disk is full there: make room."
                }
                io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                    "Let this user write the folder and the file."
                }
                _ => "Look at the folder and its disk.",
            },
            LiveError::Taken(_) => "Move them out of the folder.",
            LiveError::Record(_) => "Look at the record's own trouble first.",
        }
    }

    /// As the page says it.
    pub fn sentence(&self) -> String {
        format!(
            "The live file cannot be written: {self}. Readings are kept in the record as ever, and the file \
             catches up when it can be written again. {}",
            self.hint()
        )
    }
}

/// A write that takes longer than this is told of as one that hangs.
const PATIENCE: Duration = Duration::from_secs(5);

/// How the live file stands.
#[derive(Debug, Clone, Default)]
pub struct LiveBoard {
    /// Its folder.
    pub folder: PathBuf,
    /// The file written last.
    pub file: Option<PathBuf>,
    /// Entry of the record up to which every line is written.
    pub upto: i64,
    /// Why it cannot be written.
    pub trouble: Option<String>,
    /// What is to be known of it besides.
    pub notice: Option<String>,
    /// Since when a write is under way.
    pub since: Option<Instant>,
}

/// The same for the page and for programs.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs)]
pub struct LiveView {
    pub folder: String,
    pub file: Option<String>,
    pub upto: i64,
    pub trouble: Option<String>,
    pub notice: Option<String>,
}

impl LiveBoard {
    /// At a moment.
    pub fn view(&self, now: Instant) -> LiveView {
        let waits = self.since.map(|since| now.saturating_duration_since(since));
        let hangs = waits.filter(|waits| *waits > PATIENCE).map(|waits| {
            format!(
                "The live file's folder {} has not answered for {} s. Readings are kept in the record as ever. \
                 Look at its disk or share.",
                self.folder.display(),
                waits.as_secs()
            )
        });
        LiveView {
            folder: self.folder.display().to_string(),
            file: self.file.as_ref().map(|file| file.display().to_string()),
            upto: self.upto,
            trouble: self.trouble.clone().or(hangs),
            notice: self.notice.clone(),
        }
    }
}

#[cfg(test)]
mod tests;
