//! CSV out of the record: one row a reading, as it stands now, with what it was before beside it.
//!
//! The exchange form: RFC 4180 (comma, CRLF, quotes doubled), UTF-8 without a byte-order mark, decimal
//! point, times as ISO 8601 with offset, ids as they were typed. Text that people or devices wrote is
//! guarded against being run as a formula; numbers never are, so `-0.0012` stays a number. Rows are
//! written as they are read: memory does not grow with the record.

pub mod csv;
pub mod guard;

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use bytes::Bytes;
use futures_util::Stream;
use rusqlite::Connection;
use serde::Deserialize;
use tokio::sync::mpsc;

use crate::record::standing::Standing;
use crate::record::{RecordError, reader};

/// Which readings.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct Choice {
    /// Of this job only (as the readings stand now).
    pub job: String,
    /// Of this station only.
    pub station: String,
}

impl Choice {
    /// A name for the file, of plain characters only.
    pub fn file_name(&self) -> String {
        let plain = |text: &str| -> String {
            text.chars()
                .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
                .take(60)
                .collect()
        };
        match (self.job.as_str(), self.station.as_str()) {
            ("", "") => "readings.csv".to_owned(),
            (job, "") => format!("readings-{}.csv", plain(job)),
            ("", station) => format!("readings-{}.csv", plain(station)),
            (job, station) => format!("readings-{}-{}.csv", plain(job), plain(station)),
        }
    }

    fn takes(&self, standing: &Standing) -> bool {
        let is = |wanted: &str, job: Option<&crate::record::Revised>| {
            job.is_some_and(|job| *job.name == *wanted)
        };
        let job_now = standing.reading.tags.job.as_ref();
        let job_before = standing
            .before
            .as_ref()
            .and_then(|before| before.tags.job.as_ref());
        let of_job = self.job.is_empty() || is(&self.job, job_now) || is(&self.job, job_before);
        let of_station = self.station.is_empty() || *standing.reading.head.station == *self.station;
        of_job && of_station
    }
}

/// Why an export stopped.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The record could not be read.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// What was written to refused.
    #[error("could not write: {0}")]
    Write(#[from] io::Error),
}

impl From<rusqlite::Error> for ExportError {
    fn from(error: rusqlite::Error) -> Self {
        ExportError::Record(error.into())
    }
}

/// Writes the chosen readings; gives how many.
///
/// # Errors
/// The record cannot be read, or the writer refuses.
pub fn write(
    connection: &Connection,
    choice: &Choice,
    out: &mut impl Write,
) -> Result<u64, ExportError> {
    out.write_all(csv::header().as_bytes())?;
    let mut line = String::with_capacity(1024);
    let mut rows = 0;
    let mut refused = None;
    reader::each_standing(connection, |standing| {
        if !choice.takes(standing) {
            return true;
        }
        line.clear();
        csv::row(standing, &mut line);
        rows += 1;
        match out.write_all(line.as_bytes()) {
            Ok(()) => true,
            Err(error) => {
                refused = Some(error);
                false
            }
        }
    })?;
    match refused {
        Some(error) => Err(error.into()),
        None => Ok(rows),
    }
}

/// Writes to a file so that no half file ever stands under its name.
///
/// # Errors
/// As [`write`], or the file cannot be made.
pub fn write_file(
    connection: &Connection,
    choice: &Choice,
    file: &Path,
) -> Result<u64, ExportError> {
    let partial = PathBuf::from(format!("{}.part", file.display()));
    let mut out = io::BufWriter::with_capacity(1 << 16, std::fs::File::create(&partial)?);
    let rows = write(connection, choice, &mut out)?;
    out.flush()?;
    out.get_ref().sync_all()?;
    std::fs::rename(&partial, file)?;
    Ok(rows)
}

/// The export as a stream of chunks, made by a thread of its own that waits for its reader.
pub fn body(file: PathBuf, choice: Choice) -> impl Stream<Item = io::Result<Bytes>> {
    let (chunks, receiver) = mpsc::channel::<io::Result<Bytes>>(4);
    tokio::task::spawn_blocking(move || {
        let written = reader::open(&file)
            .map_err(ExportError::from)
            .and_then(|connection| {
                let mut out = io::BufWriter::with_capacity(1 << 15, ChunkWriter(chunks.clone()));
                write(&connection, &choice, &mut out)?;
                out.flush()?;
                Ok(())
            });
        if let Err(error) = written {
            // The reader sees a transfer that breaks off, not a short file that looks whole.
            let _ = chunks.blocking_send(Err(io::Error::other(error.to_string())));
        }
    });
    futures_util::stream::unfold(receiver, |mut receiver| async move {
        receiver.recv().await.map(|chunk| (chunk, receiver))
    })
}

struct ChunkWriter(mpsc::Sender<io::Result<Bytes>>);

impl Write for ChunkWriter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let chunk = Bytes::copy_from_slice(bytes);
        let gone = |_| io::Error::new(io::ErrorKind::BrokenPipe, "whoever asked has gone");
        self.0.blocking_send(Ok(chunk)).map_err(gone)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
