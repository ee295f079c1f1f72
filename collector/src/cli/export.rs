//! `overwire export`.

use std::io::{IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use crate::clock::{Clock as _, SystemClock};
use crate::export::calibrations::{Calibrated, Period, calibrations};
use crate::export::choice::ChoiceError;
use crate::export::csv::Dialect;
use crate::export::descriptor;
use crate::export::scan::Progress;
use crate::export::workbook::{self, Options, Paper};
use crate::export::{Choice, ExportError, Form, Shape, columns, into_file, wide, write};

#[derive(Debug, clap::Args)]
pub struct Export {
    #[command(flatten)]
    record: super::RecordChoice,
    #[command(flatten)]
    choice: Chosen,
    /// exchange (comma, 0.5), point (the same for a spreadsheet), comma (for a
    /// spreadsheet that writes 0,5) or tab
    #[arg(long, value_enum, default_value_t, hide_possible_values = true)]
    dialect: Dialect,
    /// Begin with a byte-order mark or not; left out: for spreadsheets only
    #[arg(long, value_name = "yes|no", value_parser = clap::builder::BoolishValueParser::new(), hide_possible_values = true)]
    mark: Option<bool>,
    /// readings or pieces: a row for each
    #[arg(long, value_enum, default_value_t, hide_possible_values = true)]
    rows: Shape,
    /// Only these columns, with commas between
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    only: Vec<String>,
    /// File to write, a workbook where it ends in .xlsx; left out: standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Write no descriptor for programs beside the file
    #[arg(long)]
    no_descriptor: bool,
    /// Paper of a workbook: a4 or letter
    #[arg(long, value_enum, default_value_t, hide_possible_values = true)]
    paper: Paper,
    /// Say what each column holds, and end
    #[arg(long)]
    columns: bool,
    /// List the days from one calibration to the next, and end
    #[arg(long)]
    calibrations: bool,
}

/// Which readings are meant.
#[derive(Debug, clap::Args)]
pub struct Chosen {
    /// Readings of this job only
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
    /// Only readings with this: feature, drawing, lot, piece, operator, instrument
    /// (or its serial number), wire_set, station, purpose, from or to (days, as
    /// 2026-03-01); * stands for any text; may be given more than once
    #[arg(long = "where", value_name = "FIELD=TEXT")]
    conditions: Vec<String>,
}

impl Chosen {
    /// The choice.
    ///
    /// # Errors
    /// A condition that is none.
    pub fn choice(self) -> Result<Choice, ChoiceError> {
        let mut choice = Choice::of_job(&self.job.unwrap_or_default());
        for condition in &self.conditions {
            let told = condition.split_once('=').ok_or_else(|| ChoiceError {
                field: "where",
                sentence: format!("`{condition}` is no condition; write it as operator=AK."),
            })?;
            choice.set(told.0, told.1)?;
        }
        choice.check().map(|()| choice)
    }
}

impl Export {
    pub fn act(self) -> ExitCode {
        if self.columns {
            list_columns(self.rows);
            return ExitCode::SUCCESS;
        }
        let book = self.out.as_deref().is_some_and(is_workbook);
        if let Some((told, hint)) = self.at_odds(book) {
            super::complain(told, hint);
            return ExitCode::from(2);
        }
        if let Some(code) = self.refuse_the_place() {
            return code;
        }
        let choice = match self.choice.choice() {
            Ok(choice) => choice,
            Err(error) => return failed(&error.into()),
        };
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        if self.calibrations {
            return list_calibrations(&connection, &choice);
        }
        let form = Form {
            dialect: self.dialect,
            mark: self.mark,
            shape: self.rows,
            columns: self.only,
        };
        let bar = super::progress::Bar::of(self.out.is_some() && std::io::stderr().is_terminal());
        let mut passed = |entry, last| bar.at(entry, last);
        let written = match &self.out {
            Some(file) if book => {
                let options = Options {
                    columns: form.columns,
                    paper: self.paper,
                    work_folder: Some(folder_of(file)),
                    ..Options::now()
                };
                into_file(file, |out| {
                    workbook::write(&connection, &choice, &options, &mut passed, out)
                })
            }
            Some(file) if self.no_descriptor || !is_plain(file) => into_file(file, |out| {
                write(&connection, &choice, &form, &mut passed, out)
            }),
            Some(file) => described(&connection, &choice, &form, file, &mut passed),
            None => {
                let mut out = std::io::BufWriter::with_capacity(1 << 16, std::io::stdout().lock());
                write(&connection, &choice, &form, &mut passed, &mut out)
                    .and_then(|rows| out.flush().map(|()| rows).map_err(ExportError::from))
            }
        };
        bar.end();
        match written {
            Ok(rows) => {
                say_nothing_found(rows);
                if let Some(file) = &self.out {
                    eprintln!("{rows} row(s) written to {}", file.display());
                }
                ExitCode::SUCCESS
            }
            Err(error) => failed(&error),
        }
    }
}

/// Endings of other spreadsheet files: a CSV under such a name would be taken for one.
const OTHER_BOOKS: [&str; 6] = ["xls", "xlsm", "xlsb", "ods", "gz", "zip"];

impl Export {
    /// Options that do not go together, and what to do.
    fn at_odds(&self, book: bool) -> Option<(&'static str, &'static str)> {
        let of_csv = self.dialect != Dialect::default()
            || self.mark.is_some()
            || self.rows != Shape::default();
        if book && of_csv {
            let hint = "It holds numbers as numbers, and both the readings and the pieces.";
            return Some(("a workbook takes no --dialect, --mark or --rows", hint));
        }
        if self.rows == Shape::Pieces && !self.only.is_empty() {
            let hint = "Leave --only out, or take --rows readings.";
            return Some(("--only picks columns of a row a reading", hint));
        }
        let ending = self.out.as_deref().and_then(Path::extension);
        let other = |known: &&str| ending.is_some_and(|ending| ending.eq_ignore_ascii_case(*known));
        if OTHER_BOOKS.iter().any(other) {
            let hint = "Name a file that ends in .xlsx for a workbook, .csv or .tsv for lines.";
            return Some(("that kind of file is not written", hint));
        }
        None
    }

    /// The code to end with where the file named is not to be written.
    fn refuse_the_place(&self) -> Option<ExitCode> {
        let out = self.out.as_deref()?;
        self.record
            .spares(out)
            .and_then(|()| self.record.spares(&descriptor::path(out)))
            .err()
    }
}

/// Says where nothing was found: a slip in a name else looks like an empty job.
fn say_nothing_found(rows: u64) {
    if rows == 0 {
        eprintln!("No reading is meant by this choice: check the names and days.");
    }
}

/// Writes a CSV and its descriptor. One of before does not stay beside a CSV that it does not describe.
fn described(
    connection: &rusqlite::Connection,
    choice: &Choice,
    form: &Form,
    file: &Path,
    passed: Progress<'_>,
) -> Result<u64, ExportError> {
    let beside = descriptor::path(file);
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let called = (&*name, SystemClock::new().now());
    let (rows, descriptor) = into_file(file, |out| {
        descriptor::write(connection, choice, form, called, passed, out)
    })?;
    let written = into_file(&beside, |out| {
        serde_json::to_writer_pretty(out, &descriptor)
            .map_err(|error| std::io::Error::from(error).into())
    });
    if written.is_err() {
        // That it cannot be taken away either is no further trouble: its hash is not that of the CSV.
        let _ = std::fs::remove_file(&beside);
    }
    written.map(|()| rows)
}

/// Whether a file is or will be a plain one, no device and no pipe.
fn is_plain(file: &Path) -> bool {
    std::fs::metadata(file).map_or(true, |found| found.is_file())
}

fn is_workbook(file: &Path) -> bool {
    file.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"))
}

/// Where a file is to stand.
fn folder_of(file: &Path) -> PathBuf {
    let folder = file.parent().filter(|folder| *folder != Path::new(""));
    folder.unwrap_or(Path::new(".")).to_owned()
}

/// Says why an export stopped.
pub fn failed(error: &ExportError) -> ExitCode {
    match error {
        ExportError::Write(error) if error.kind() == std::io::ErrorKind::BrokenPipe => {
            ExitCode::SUCCESS
        }
        ExportError::Choice(_) | ExportError::NoColumn(_) => {
            super::complain(
                &error.to_string(),
                "`overwire export --help` names the options.",
            );
            ExitCode::from(2)
        }
        _ => {
            super::complain(&error.to_string(), "Nothing was changed in the record.");
            ExitCode::from(74)
        }
    }
}

/// Lists what was calibrated, each period with the conditions that ask for its readings.
fn list_calibrations(connection: &rusqlite::Connection, choice: &Choice) -> ExitCode {
    let found = match calibrations(connection, choice) {
        Ok(Ok(found)) => found,
        Ok(Err(error)) => return failed(&error.into()),
        Err(error) => return failed(&error.into()),
    };
    if found.is_empty() {
        super::print(
            "No day of calibration is known of these; enter it on the page with the instrument or wire set.\n",
        );
    }
    for calibrated in found {
        for period in &calibrated.periods {
            super::print(&format!("{}\n", period_line(&calibrated, period)));
        }
    }
    ExitCode::SUCCESS
}

fn period_line(calibrated: &Calibrated, period: &Period) -> String {
    let day = |field, day: &Option<String>| {
        let condition = |day| format!(" --where {field}={day}");
        day.as_ref().map(condition).unwrap_or_default()
    };
    let name = format!("{}={}", calibrated.of, calibrated.name);
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_.=/".contains(c);
    let name = match name.chars().all(plain) {
        true => name,
        false => format!("'{}'", name.replace('\'', "'\\''")),
    };
    let certificate = match period.certificate.as_str() {
        "" => String::new(),
        number => format!("  # certificate {number}"),
    };
    format!(
        "--where {name}{}{}{certificate}",
        day("from", &period.from),
        day("to", &period.to)
    )
}

fn list_columns(shape: Shape) {
    let say = |name: &str, about: &str| super::print(&format!("{name:34} {about}\n"));
    match shape {
        Shape::Readings => {
            for column in columns::COLUMNS {
                say(column.name, column.about);
            }
        }
        Shape::Pieces => {
            for column in wide::COLUMNS {
                say(column.name, column.about);
            }
            for (name, _, about) in wide::OF_A_READING {
                say(&format!("{name}_1, {name}_2 ..."), about);
            }
        }
    }
}
