//! `overwire export`.

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use crate::export::{Choice, ExportError, csv, write, write_file};

#[derive(Debug, clap::Args)]
pub struct Export {
    #[command(flatten)]
    record: super::RecordChoice,
    /// Readings of this job only
    #[arg(
        long,
        value_name = "JOB",
        default_value = "",
        hide_default_value = true
    )]
    job: String,
    /// Readings of this station only
    #[arg(
        long,
        value_name = "NAME",
        default_value = "",
        hide_default_value = true
    )]
    station: String,
    /// File to write; left out: standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Say what each column holds, and end
    #[arg(long)]
    columns: bool,
}

impl Export {
    pub fn act(self) -> ExitCode {
        if self.columns {
            for (name, holds) in csv::COLUMNS {
                super::print(&format!("{name:24} {holds}\n"));
            }
            return ExitCode::SUCCESS;
        }
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        let choice = Choice {
            job: self.job,
            station: self.station,
        };
        let written = match &self.out {
            Some(file) => write_file(&connection, &choice, file),
            None => {
                let mut out = std::io::BufWriter::with_capacity(1 << 16, std::io::stdout().lock());
                write(&connection, &choice, &mut out)
                    .and_then(|rows| out.flush().map(|()| rows).map_err(ExportError::from))
            }
        };
        match written {
            Ok(rows) => {
                if let Some(file) = &self.out {
                    eprintln!("{rows} reading(s) written to {}", file.display());
                }
                ExitCode::SUCCESS
            }
            Err(ExportError::Write(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => {
                ExitCode::SUCCESS
            }
            Err(error) => {
                super::complain(&error.to_string(), "Nothing was changed in the record.");
                ExitCode::from(74)
            }
        }
    }
}
