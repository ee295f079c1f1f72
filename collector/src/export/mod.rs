//! Out of the record: readings as they stand now, with what they were before beside them.
//!
//! | room | what is there |
//! | --- | --- |
//! | [`choice`] | which readings: job, drawing, lot, piece, person, instrument, wire set, days |
//! | [`scan`] | walks the readings that are meant |
//! | [`find`] | the newest of them page by page, and how many there are |
//! | [`calibrations`] | the days from one calibration to the next |
//! | [`columns`] | the columns of a row a reading, one list for every form |
//! | [`pieces`] | readings put together piece by piece |
//! | [`wide`] | a row a piece |
//! | [`value`] | one cell, before it is written one way or another |
//! | [`workbook`] | a workbook for spreadsheets |
//! | [`csv`] | CSV and its dialects |
//! | [`descriptor`] | what stands beside a CSV so that programs read it without guessing |
//! | [`outfile`] | a file that is written whole or not at all |
//! | [`guard`] | keeps text from being run as a formula |
//!
//! The exchange form is RFC 4180 (comma, CRLF, quotes doubled), UTF-8 without a byte-order mark, decimal point,
//! times as ISO 8601 with offset, ids as they were typed. Text that people or devices wrote is guarded against
//! being run as a formula; numbers never are, so `-0.0012` stays a number. Rows are written as they are read:
//! memory does not grow with the record.

pub mod books;
pub mod calibrations;
pub mod choice;
pub mod columns;
pub mod csv;
pub mod descriptor;
pub mod find;
pub mod guard;
pub mod outfile;
pub mod pieces;
pub mod scan;
pub mod seen;
pub mod value;
pub mod wide;
pub mod workbook;

use std::io::{self, Write};
use std::path::PathBuf;

use bytes::Bytes;
use futures_util::Stream;
use rusqlite::Connection;
use tokio::sync::mpsc;

use crate::record::{RecordError, reader};
use books::Books;
pub use choice::Choice;
use choice::{ChoiceError, Sieve};
use columns::{COLUMNS, Column};
use csv::{Dialect, Lines, MARK};
pub use outfile::into_file;
use scan::{Progress, Scan, fields_of};

/// A row a reading, or a row a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Shape {
    /// A row a reading
    #[default]
    Readings,
    /// A row a piece: its mean, spread and readings beside each other
    Pieces,
}

/// What a table out of the record looks like.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Form {
    /// How its lines are written.
    pub dialect: Dialect,
    /// Whether a byte-order mark goes before it; none: as the dialect has it.
    pub mark: Option<bool>,
    /// A row a reading, or a row a piece.
    pub shape: Shape,
    /// Names of the columns of a row a reading; empty: all.
    pub columns: Vec<String>,
}

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// Rows after the heading.
    pub rows: u64,
    /// Most readings of a piece, where the rows are pieces.
    pub most: usize,
}

impl Form {
    /// Whether a byte-order mark goes before it.
    pub fn has_mark(&self) -> bool {
        self.mark.unwrap_or(self.dialect.has_mark())
    }

    fn columns(&self) -> Result<Vec<Column>, ExportError> {
        if self.columns.is_empty() {
            return Ok(COLUMNS.to_vec());
        }
        let names = self.columns.iter().map(String::as_str);
        columns::named(names).map_err(|name| ExportError::NoColumn(name.to_owned()))
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
    /// A file could not be written.
    #[error("could not write {}: {source}", file.display())]
    NotWritten {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The choice is not understood.
    #[error(transparent)]
    Choice(#[from] ChoiceError),
    /// There is no such column.
    #[error("there is no column `{0}`; `overwire export --columns` lists them")]
    NoColumn(String),
}

impl From<rusqlite::Error> for ExportError {
    fn from(error: rusqlite::Error) -> Self {
        ExportError::Record(error.into())
    }
}

/// A choice of readings out of one state of the record.
#[derive(Debug)]
pub struct Source<'c> {
    /// All is read in one transaction, so that every part tells of the same state.
    transaction: rusqlite::Transaction<'c>,
    sieve: Sieve,
    books: Books,
}

impl<'c> Source<'c> {
    /// Makes the choice ready.
    ///
    /// # Errors
    /// The choice is not understood, or the record cannot be read.
    pub fn new(connection: &'c Connection, choice: &Choice) -> Result<Source<'c>, ExportError> {
        let transaction = connection.unchecked_transaction()?;
        let books = Books::read(&transaction)?;
        let sieve = choice.prepare(&transaction, &books)??;
        Ok(Source {
            transaction,
            sieve,
            books,
        })
    }

    /// To be walked.
    pub fn scan(&self) -> Scan<'_> {
        Scan {
            connection: &self.transaction,
            sieve: &self.sieve,
            books: &self.books,
        }
    }

    /// Writes it as a CSV.
    ///
    /// # Errors
    /// The record cannot be read, or the writer refuses.
    pub fn write(
        &self,
        form: &Form,
        progress: Progress<'_>,
        out: &mut (impl Write + ?Sized),
    ) -> Result<Written, ExportError> {
        if form.has_mark() {
            out.write_all(MARK.as_bytes())?;
        }
        match form.shape {
            Shape::Readings => readings(&self.scan(), form, progress, out),
            Shape::Pieces => wide::write(&self.scan(), form.dialect, progress, out),
        }
    }
}

/// Writes the chosen readings as a CSV; gives how many rows.
///
/// # Errors
/// The record cannot be read, or the writer refuses.
pub fn write(
    connection: &Connection,
    choice: &Choice,
    form: &Form,
    progress: Progress<'_>,
    out: &mut (impl Write + ?Sized),
) -> Result<u64, ExportError> {
    let written = Source::new(connection, choice)?.write(form, progress, out)?;
    Ok(written.rows)
}

fn readings(
    scan: &Scan<'_>,
    form: &Form,
    progress: Progress<'_>,
    out: &mut (impl Write + ?Sized),
) -> Result<Written, ExportError> {
    let columns = form.columns()?;
    let mut lines = Lines::new(form.dialect);
    let mut line = String::with_capacity(1024);
    let names = columns
        .iter()
        .map(|column| value::Value::Code(column.name.into()));
    lines.line(names, &mut line);
    out.write_all(line.as_bytes())?;
    let mut rows = 0;
    scan.each(fields_of(&columns), progress, |view| {
        line.clear();
        lines.line(columns.iter().map(|column| column.value(view)), &mut line);
        rows += 1;
        Ok(out.write_all(line.as_bytes())?)
    })?;
    Ok(Written { rows, most: 0 })
}

/// The export as a stream of chunks, made by a thread of its own that waits for its reader.
pub fn body(
    file: PathBuf,
    make: impl FnOnce(&Connection, &mut (dyn Write + Send)) -> Result<(), ExportError> + Send + 'static,
) -> impl Stream<Item = io::Result<Bytes>> {
    let (chunks, receiver) = mpsc::channel::<io::Result<Bytes>>(4);
    tokio::task::spawn_blocking(move || {
        let written = reader::open(&file)
            .map_err(ExportError::from)
            .and_then(|connection| {
                let mut out = io::BufWriter::with_capacity(1 << 15, ChunkWriter(chunks.clone()));
                make(&connection, &mut out)?;
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
