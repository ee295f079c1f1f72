//! How far the live files have come for certain: every line up to an entry is in its file and on the disk. It
//! stands beside the record and is only a place to begin looking from: whatever it says, a file's own last line
//! decides what is written next.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::export::into_file;

/// The note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// Every line up to this entry is written.
    pub upto: i64,
    /// The folder that is meant.
    pub folder: PathBuf,
    /// When a new file is begun.
    pub rotate: String,
    /// First line of the files.
    pub heading: String,
}

/// Where it stands.
pub fn path(record_file: &Path) -> PathBuf {
    PathBuf::from(format!("{}.live", record_file.display()))
}

/// Reads it; none where there is none that can be understood.
pub fn read(record_file: &Path) -> Option<Note> {
    serde_json::from_slice(&std::fs::read(path(record_file)).ok()?).ok()
}

/// Writes it. That it could not be is told in the log only: the next start then looks further back.
pub fn write(record_file: &Path, note: &Note) {
    let written = into_file(&path(record_file), |out| {
        serde_json::to_writer(out, note).map_err(|error| std::io::Error::from(error).into())
    });
    if let Err(error) = written {
        tracing::warn!(error = %error, "How far the live file has come could not be noted.");
    }
}
