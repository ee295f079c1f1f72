//! A workbook for spreadsheets (Office Open XML, ISO/IEC 29500): the readings with everything that is asked beside
//! them, each cell as what it is.
//!
//! | sheet | what is in it |
//! | --- | --- |
//! | Summary | job, threads, limits, instruments, wires, counts, statistics, the record's head |
//! | Readings | a row a reading, all columns |
//! | Pieces | a row a piece |
//! | Voids | what was said of readings: voids, re-tags, answers, remarks |
//! | Gauges | the revisions of instruments and wire sets that were used |
//! | Pictures | the pictures of the statistics, as they are on the page |
//! | Charts, Chart_data | charts of the spreadsheet's own: the pieces between their limits, how often each size came; and the figures behind both |
//!
//! Text is a text cell with its quote mark set and never a formula; numbers have the display's places; moments are
//! dates. Large sheets go through temporary files, so that memory does not grow with the record. A workbook of
//! some named columns has the sheets Summary and Readings only.

mod charts;
mod gauges;
mod grid;
mod looks;
mod pictures;
mod pieces;
mod quiet;
mod sheets;
mod statistics;
mod summary;
mod tally;
mod voids;

use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::rc::Rc;

use rusqlite::Connection;
use rust_xlsxwriter::{DocProperties, Workbook, XlsxError};

use super::columns::{COLUMNS, Column, named};
use super::scan::{Progress, Scan, fields_of};
use super::{Choice, ExportError, Source};
use crate::clock::{Clock, Stamp, SystemClock};
use crate::record::chain::hex;
use crate::record::reader;
use looks::Looks;
use sheets::{Head, Sheets};
use tally::Tally;

/// The paper it is set up for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Paper {
    /// 210 mm by 297 mm
    #[default]
    A4,
    /// 8.5 in by 11 in
    Letter,
}

/// Rows of readings that a sheet holds: 2^20 less the one with the names.
pub const ROWS_A_SHEET: u32 = (1 << 20) - 1;

/// Its media type.
pub const MEDIA_TYPE: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Smaller files than the least, at half the time of the most.
const COMPRESSION: u8 = 3;

/// What a workbook looks like.
#[derive(Debug, Clone)]
pub struct Options {
    /// Names of the columns of its readings; empty: all, and the other sheets.
    pub columns: Vec<String>,
    /// The paper.
    pub paper: Paper,
    /// Rows that a sheet holds at most, besides the one with the names; at least 1.
    pub rows_a_sheet: u32,
    /// Folder for its temporary files, which are several times as large as the workbook.
    pub work_folder: Option<PathBuf>,
    /// When it is made.
    pub made: Stamp,
}

impl Options {
    /// All columns, on A4, made now.
    pub fn now() -> Options {
        Options {
            columns: Vec::new(),
            paper: Paper::A4,
            rows_a_sheet: ROWS_A_SHEET,
            work_folder: None,
            made: SystemClock::new().now(),
        }
    }

    fn columns(&self) -> Result<Vec<Column>, ExportError> {
        if self.columns.is_empty() {
            return Ok(COLUMNS.to_vec());
        }
        named(self.columns.iter().map(String::as_str))
            .map_err(|name| ExportError::NoColumn(name.to_owned()))
    }
}

impl From<XlsxError> for ExportError {
    fn from(error: XlsxError) -> Self {
        match error {
            XlsxError::IoError(error) => ExportError::Write(error),
            XlsxError::ZipError(error) => ExportError::Write(io::Error::from(error)),
            error => ExportError::Write(io::Error::other(error.to_string())),
        }
    }
}

/// What the sheets share.
#[derive(Debug)]
pub(super) struct Setup {
    paper: Paper,
    /// The job, for the head of each page; empty where several may be in it.
    job: String,
    /// Number and hash of the record's last entry.
    head: (i64, String),
    rows_a_sheet: u32,
    looks: Looks,
}

/// Writes the chosen readings as a workbook; gives how many readings.
///
/// # Errors
/// The record cannot be read, or what is written to refuses, temporary files included.
pub fn write(
    connection: &Connection,
    choice: &Choice,
    options: &Options,
    progress: Progress<'_>,
    out: impl Write + Send,
) -> Result<u64, ExportError> {
    // The library panics where a temporary file cannot be written.
    quiet::hush_the_library();
    let made = catch_unwind(AssertUnwindSafe(|| {
        make(connection, choice, options, progress, out)
    }));
    made.unwrap_or_else(|_| {
        let full = "its temporary files could not be written; is the disk full?";
        Err(ExportError::Write(io::Error::other(full)))
    })
}

fn make(
    connection: &Connection,
    choice: &Choice,
    options: &Options,
    progress: Progress<'_>,
    out: impl Write + Send,
) -> Result<u64, ExportError> {
    let source = Source::new(connection, choice)?;
    let scan = source.scan();
    let tip = reader::tip(scan.connection)?;
    let setup = Rc::new(Setup {
        paper: options.paper,
        job: choice.job.clone(),
        head: (tip.entry, hex(&tip.hash)),
        rows_a_sheet: options.rows_a_sheet.clamp(1, ROWS_A_SHEET),
        looks: Looks::new(),
    });
    let mut book = book(options, &setup);
    let columns = options.columns()?;
    let mut readings = Sheets::new(&mut book, &setup, "Readings", Head::of(&columns), None)?;
    let mut tally = Tally::default();
    let asked = Asked {
        scan: &scan,
        choice,
        options,
        setup,
    };
    if options.columns.is_empty() {
        full(&asked, &mut book, readings, &mut tally, progress)?;
    } else {
        let fields = fields_of(&columns).chain(tally::COUNTED.iter().copied());
        scan.each(fields, progress, |view| {
            tally.count(view);
            readings.row(&mut book, columns.iter().map(|column| column.value(view)))
        })?;
        book.push_worksheet(summary::sheet(&asked, &tally, &readings, None)?);
        readings.push(&mut book)?;
    }
    book.save_to_writer(out)?;
    Ok(tally.readings)
}

/// What a workbook is made of.
struct Asked<'a> {
    scan: &'a Scan<'a>,
    choice: &'a Choice,
    options: &'a Options,
    setup: Rc<Setup>,
}

/// The sheets beside the readings.
struct Beside {
    pieces: pieces::Sheet,
    voids: Sheets,
    gauges: gauges::Gauges,
    charts: charts::Charts,
    statistics: Vec<statistics::Told>,
}

/// A workbook of everything.
fn full(
    asked: &Asked<'_>,
    book: &mut Workbook,
    mut readings: Sheets,
    tally: &mut Tally,
    progress: Progress<'_>,
) -> Result<(), ExportError> {
    let (scan, setup) = (asked.scan, &asked.setup);
    let mut voids = voids::sheets(book, setup)?;
    let fields = fields_of(COLUMNS).chain(tally::USED.iter().copied());
    let mut first_half = |passed: i64, last: i64| progress(passed, last * 2);
    scan.each(fields, &mut first_half, |view| {
        tally.count(view);
        tally.note_use(view);
        voids::rows(scan, view, book, &mut voids)?;
        readings.row(book, COLUMNS.iter().map(|column| column.value(view)))
    })?;
    let mut charts = charts::Charts::default();
    let mut second_half = |passed: i64, last: i64| progress(passed + last, last * 2);
    let pieces = pieces::sheets(scan, book, setup, &mut second_half, &mut charts)?;
    let beside = Beside {
        pieces,
        voids,
        gauges: gauges::Gauges::read(scan.connection, tally)?,
        charts,
        statistics: statistics::told(scan.connection, tally)?,
    };
    let [charts, figures] = beside.charts.sheets(setup)?;
    book.push_worksheet(summary::sheet(asked, tally, &readings, Some(&beside))?);
    book.push_worksheet(pictures::sheet(&beside.statistics, setup)?);
    book.push_worksheet(charts);
    readings.push(book)?;
    beside.pieces.sheets.push(book)?;
    beside.voids.push(book)?;
    beside.gauges.sheets(book, setup)?.push(book)?;
    book.push_worksheet(figures);
    Ok(())
}

/// An empty workbook that says what it is of.
fn book(options: &Options, setup: &Setup) -> Workbook {
    let mut book = Workbook::new();
    book.set_zip_compression_level(COMPRESSION);
    if let Some(folder) = &options.work_folder {
        // Where nothing can be written there, the machine's own folder for such files is as good.
        let _ = book.set_tempdir(folder);
    }
    let (entry, hash) = &setup.head;
    let properties = DocProperties::new()
        .set_title("Readings over three wires")
        .set_subject(&setup.job)
        .set_custom_property("Job", setup.job.as_str())
        .set_custom_property("Record head entry", entry.to_string().as_str())
        .set_custom_property("Record head hash", hash.as_str());
    book.set_properties(&properties);
    book
}
