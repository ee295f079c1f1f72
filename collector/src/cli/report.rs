//! `overwire report`.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use overwire_core::units::Unit;

use crate::clock::{Clock as _, SystemClock};
use crate::export::into_file;
use crate::report::{Maker, Paper, Question, ReportError, Which, report};

#[derive(Debug, clap::Args)]
pub struct Report {
    #[command(flatten)]
    record: super::RecordChoice,
    /// The job
    #[arg(long, value_name = "JOB")]
    job: String,
    /// One of its threads; left out: all of them
    #[arg(
        long,
        value_name = "NAME",
        default_value = "",
        hide_default_value = true
    )]
    feature: String,
    /// Only the first piece that was inspected, as a first article
    #[arg(long, conflicts_with = "piece")]
    first_article: bool,
    /// Only this piece
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(i64).range(1..))]
    piece: Option<i64>,
    /// Paper to print on
    #[arg(long, value_name = "SIZE", default_value = "a4", value_parser = ["a4", "letter"])]
    paper: String,
    /// Unit lengths are shown in; left out: as they were read
    #[arg(long, value_name = "UNIT", value_parser = ["mm", "in"])]
    unit: Option<String>,
    /// File to write; left out: standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Report {
    pub fn act(self) -> ExitCode {
        if let Some(Err(code)) = self.out.as_deref().map(|out| self.record.spares(out)) {
            return code;
        }
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        let maker = Maker {
            shop: self.record.shop(),
            at: SystemClock::new().now(),
        };
        match report(&connection, &self.question(), &maker) {
            Ok(page) => match &self.out {
                None => {
                    super::print(&page);
                    ExitCode::SUCCESS
                }
                Some(file) => written(file, &page),
            },
            Err(error) => {
                super::complain(&error.to_string(), error.hint());
                ExitCode::from(match error {
                    ReportError::Record(_) => 74,
                    _ => 66,
                })
            }
        }
    }

    fn question(&self) -> Question {
        Question {
            job: self.job.clone(),
            feature: self.feature.clone(),
            which: match (self.first_article, self.piece) {
                (true, _) => Which::First,
                (false, Some(piece)) => Which::Piece(piece),
                (false, None) => Which::All,
            },
            paper: Paper::parse(&self.paper).unwrap_or_default(),
            unit: self.unit.as_deref().and_then(|unit| Unit::parse(unit).ok()),
        }
    }
}

fn written(file: &Path, page: &str) -> ExitCode {
    match into_file(file, |out| Ok(out.write_all(page.as_bytes())?)) {
        Ok(()) => {
            eprintln!(
                "Report written to {}; open it in a browser and print it.",
                file.display()
            );
            ExitCode::SUCCESS
        }
        Err(error) => {
            let hint = "Name a file in a folder that may be written and has room.";
            super::complain(&error.to_string(), hint);
            ExitCode::from(74)
        }
    }
}
