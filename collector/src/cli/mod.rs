//! The command line. Exit codes: 0 done · 1 the record is broken, or the settings have mistakes ·
//! 2 the command line is wrong · 66 a file is not there · 69 something needed is not to be had ·
//! 74 reading or writing failed.

mod chart;
mod check;
mod convert;
mod export;
mod functional;
mod numbers;
mod ports;
mod progress;
mod report;
mod run;
mod study;
mod summary;
mod thread;
mod verify;

use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::LazyLock;

use clap::{Parser, Subcommand, ValueEnum};
use overwire_config::LiveSettings;
use overwire_config::live::{Known, Rotate};

use crate::export::columns;
use crate::export::csv::Dialect;
use crate::export::outfile::is_same;

/// Collects micrometer readings over three wires, judges them and keeps them.
///
/// Lay three wires in the thread, close the micrometer over them, press its data button: overwire takes
/// the reading, works out the pitch diameter, says PASS or FAIL and what is left to cut, and keeps it.
/// Never measure on a turning spindle.
#[derive(Debug, Parser)]
#[command(
    version,
    max_term_width = 80,
    subcommand_required = true,
    arg_required_else_help = true
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Run the daemon: listen to the micrometers and serve the page
    Run(run::Run),
    /// List the serial ports, with the paths to use in the settings
    Ports(ports::Ports),
    /// Check the settings file: every mistake at once, each with its line
    Check(check::Check),
    /// Write readings as CSV or as a workbook
    Export(export::Export),
    /// List what go gauges and mating parts said of a job's pieces
    Functional(functional::Functional),
    /// Write the inspection report of a job, to be printed
    Report(report::Report),
    /// Walk the record's chain and say whether anything was altered
    Verify(verify::Verify),
    /// Say all about a thread: limits, wires, what a reading means
    Thread(thread::ThreadCommand),
    /// Say how a job of the record stands: spread, limits, indices
    Summary(summary::SummaryCommand),
    /// Describe the numbers of a CSV: mean, spread, interval, quartiles
    Describe(numbers::Describe),
    /// Say whether a CSV's numbers are steady and in limits; draw them
    Chart(chart::Chart),
    /// Say whether a measurement is to be trusted, by a CSV's numbers
    Study(study::StudyCommand),
    /// Convert readings to pitch diameter and back: JSON lines in and out
    Convert(convert::Convert),
}

/// Which record a command reads.
#[derive(Debug, clap::Args)]
struct RecordChoice {
    /// Settings file; its record is read
    #[arg(long, value_name = "FILE", default_value = "overwire.toml")]
    settings: PathBuf,
    /// The record's own file, instead of the settings' one
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
}

impl RecordChoice {
    fn file(&self) -> Result<PathBuf, ExitCode> {
        match &self.record {
            Some(file) => Ok(file.clone()),
            None => overwire_config::settings::load(&self.settings)
                .map(|settings| settings.record_file)
                .map_err(|error| settings_refused(&error)),
        }
    }

    /// Refuses to write over the record, what belongs to it, or the settings.
    fn spares(&self, out: &std::path::Path) -> Result<(), ExitCode> {
        let record = self.file()?;
        let beside = ["", "-wal", "-shm", ".lock", ".sums", ".live"];
        let kept = beside.map(|ending| PathBuf::from(format!("{}{ending}", record.display())));
        let own = kept.iter().any(|file| is_same(file, out)) || is_same(&self.settings, out);
        if !own {
            return Ok(());
        }
        let told = format!("{} is kept by overwire itself", out.display());
        complain(&told, "Nothing was written. Name another file.");
        Err(ExitCode::from(2))
    }

    /// The shop's name in the settings; empty where they cannot be read.
    fn shop(&self) -> String {
        let settings = overwire_config::settings::load(&self.settings);
        settings.map_or_else(|_| String::new(), |settings| settings.shop.name)
    }

    fn open(&self) -> Result<rusqlite::Connection, ExitCode> {
        let file = self.file()?;
        crate::record::reader::open(&file).map_err(|error| {
            complain(&error.to_string(), error.hint());
            ExitCode::from(if error.code() == "record-missing" {
                66
            } else {
                74
            })
        })
    }
}

/// Words of the settings that the exports define: every column, every dialect.
fn known_words() -> Known<'static> {
    static COLUMNS: LazyLock<Vec<&str>> =
        LazyLock::new(|| columns::COLUMNS.iter().map(|column| column.name).collect());
    static DIALECTS: LazyLock<Vec<String>> = LazyLock::new(|| {
        let values = Dialect::value_variants().iter();
        let named = values.filter_map(ValueEnum::to_possible_value);
        named.map(|value| value.get_name().to_owned()).collect()
    });
    static WORDS: LazyLock<Vec<&str>> =
        LazyLock::new(|| DIALECTS.iter().map(String::as_str).collect());
    Known {
        columns: &COLUMNS,
        dialects: &WORDS,
    }
}

/// Where the live file will be, and what stands in its way already.
fn live_words(live: &LiveSettings) -> String {
    let folder = live.folder.display();
    let missing = match live.folder.is_dir() {
        true => "",
        false => ", which is not there: make it, or readings are kept without a live file",
    };
    let rotate = match live.rotate {
        Rotate::Day => "a file a day",
        Rotate::Job => "a file a job",
        Rotate::Never => "one file",
    };
    format!("  live file: {rotate} in {folder}{missing}\n")
}

/// Says what went wrong and what to do next.
fn complain(error: &str, hint: &str) {
    eprintln!("overwire: {error}");
    if !hint.is_empty() {
        eprintln!("  {hint}");
    }
}

fn settings_refused(error: &overwire_config::ConfigError) -> ExitCode {
    complain(&error.to_string(), error.hint());
    match error {
        overwire_config::ConfigError::Unreadable { .. } => ExitCode::from(66),
        _ => ExitCode::from(1),
    }
}

/// Prints text on stdout; a reader that has gone (as `head`) is no mistake.
fn print(text: &str) {
    use std::io::Write as _;
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    if let Err(error) = written
        && error.kind() != std::io::ErrorKind::BrokenPipe
    {
        complain(
            &format!("could not write to standard output: {error}"),
            "What was written is not whole.",
        );
        std::process::exit(74);
    }
}

/// Runs the program.
pub fn main() -> ExitCode {
    match Arguments::parse().command {
        Command::Run(run) => run.act(),
        Command::Ports(ports) => ports.act(),
        Command::Check(check) => check.act(),
        Command::Export(export) => export.act(),
        Command::Functional(functional) => functional.act(),
        Command::Report(report) => report.act(),
        Command::Verify(verify) => verify.act(),
        Command::Thread(thread) => thread.act(),
        Command::Summary(summary) => summary.act(),
        Command::Describe(describe) => describe.act(),
        Command::Chart(chart) => chart.act(),
        Command::Study(study) => study.act(),
        Command::Convert(convert) => convert.act(),
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    #[test]
    fn the_command_line_is_sound() {
        super::Arguments::command().debug_assert();
    }
}
