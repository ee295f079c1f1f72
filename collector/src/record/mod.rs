//! The record: where a reading becomes durable.
//!
//! | room | what is there |
//! | --- | --- |
//! | [`entry`] | what stands in the record, as values |
//! | [`grounds`] | what a judgement rests on: zero check, corrections, uncertainty, rule |
//! | [`functional`] | what go gauges and mating parts said of pieces |
//! | [`writer`] | the one writer: numbers, chains and commits a batch — [`writer::RecordWriter::append`] |
//! | [`opening`] | opens the file for reading, also where nothing may be written beside it |
//! | [`reader`] | read-only connections: readings as they stand now, changes, registers |
//! | [`beside`] | what stood beside the readings of a thread: time, wires, instrument, zero checks, remarks |
//! | [`repeats`] | how well readings of one piece repeat |
//! | [`inspected`] | what statistics need of the inspected readings of a thread |
//! | [`sums`] | those readings summed up, from sums that were kept where they still hold |
//! | [`kept`] | the file beside the record in which sums are kept |
//! | [`standing`] | a reading as it stands after voids, re-tags and answers |
//! | [`chain`] | the canonical form and the hash chain |
//! | [`rows`] | rows of the two tables as values |
//! | [`schema`] | the tables and migrations |
//! | [`verify`] | walks the chain and names the first broken entry |

pub mod beside;
pub mod chain;
pub mod entry;
pub mod functional;
pub mod grounds;
pub mod inspected;
pub mod kept;
pub mod opening;
pub mod reader;
pub mod repeats;
pub mod rows;
pub mod schema;
pub mod standing;
pub mod sums;
pub mod verify;
pub mod writer;

use std::path::PathBuf;

pub use entry::{
    Change, Entry, Flags, Head, Held, Judged, Kind, Reading, Revised, StampedTags, UnitFrom,
};
pub use grounds::Grounds;
pub use writer::RecordWriter;

/// Why the record could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// SQLite refused.
    #[error("the record could not be read or written: {0}")]
    Sqlite(#[from] rusqlite::Error),
    /// The folder could not be made.
    #[error("cannot make the folder {}: {source}", folder.display())]
    Folder {
        /// The folder asked for.
        folder: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Another program writes this record.
    #[error("another overwire already writes {}", file.display())]
    InUse {
        /// The record's file.
        file: PathBuf,
    },
    /// There is no record there.
    #[error("there is no record at {}", file.display())]
    Missing {
        /// The file asked for.
        file: PathBuf,
    },
    /// The file that is written is no longer the one under its name.
    #[error("the record was moved away or replaced: {} is not the file that was opened", file.display())]
    Gone {
        /// The record's file.
        file: PathBuf,
    },
    /// Its last entries stand in a log that can be read only where something may be written beside it.
    #[error("the last entries of the record stand in {}, which cannot be read in a folder that this user may not write", log.display())]
    LogNeeded {
        /// The log's file.
        log: PathBuf,
    },
    /// A later program wrote it.
    #[error("the record is of version {found}; this program knows versions up to {known}")]
    Newer {
        /// Version of the file.
        found: i64,
        /// Newest version known here.
        known: i64,
    },
    /// A value in it is not what the schema allows.
    #[error("entry {entry} holds {what}, which this program does not understand")]
    Strange {
        /// The entry.
        entry: i64,
        /// What was found.
        what: String,
    },
}

impl RecordError {
    /// Stable short name, for programs.
    pub fn code(&self) -> &'static str {
        match self {
            RecordError::Sqlite(_) => "record-trouble",
            RecordError::Folder { .. } => "record-folder",
            RecordError::InUse { .. } => "record-in-use",
            RecordError::Missing { .. } => "record-missing",
            RecordError::Gone { .. } => "record-gone",
            RecordError::LogNeeded { .. } => "record-log-needed",
            RecordError::Newer { .. } => "record-newer",
            RecordError::Strange { .. } => "record-strange",
        }
    }

    /// What to do next.
    pub fn hint(&self) -> &'static str {
        match self {
            RecordError::Sqlite(_) => {
                "Check free space and that this user may write the folder; nothing that was announced is lost."
            }
            RecordError::Folder { .. } => {
                "Make the folder, or name another file under [record] in the settings."
            }
            RecordError::InUse { .. } => {
                "Stop the other one, or give this one a record of its own under [record] in the settings."
            }
            RecordError::Missing { .. } => {
                "Check the path; `overwire run` makes a record at its first start."
            }
            RecordError::Gone { .. } => {
                "Put the file back under its name and readings go on; if another stands there on purpose, start overwire again."
            }
            RecordError::LogNeeded { .. } => {
                "Copy the record and that file together into a folder you may write, and read the copy there (--record)."
            }
            RecordError::Newer { .. } => {
                "Use the newer overwire with this record; nothing was changed in it."
            }
            RecordError::Strange { .. } => {
                "Run `overwire verify` on it, and keep a copy before anything else."
            }
        }
    }
}
