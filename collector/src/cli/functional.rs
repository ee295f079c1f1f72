//! `overwire functional`.

use std::process::ExitCode;

use crate::record::functional::{of_job, standing};
use crate::view::functional::sentence;

#[derive(Debug, clap::Args)]
pub struct Functional {
    #[command(flatten)]
    record: super::RecordChoice,
    /// The job
    #[arg(long, value_name = "JOB")]
    job: String,
    /// Also the checks that later ones took the place of
    #[arg(long)]
    all: bool,
}

impl Functional {
    pub fn act(self) -> ExitCode {
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        let checks = match of_job(&connection, &self.job) {
            Ok(checks) => checks,
            Err(error) => {
                super::complain(&error.to_string(), error.hint());
                return ExitCode::from(74);
            }
        };
        if checks.is_empty() {
            let hint = "They are recorded on the page, beside the reading.";
            super::complain(
                &format!("no functional check of job {} is recorded", self.job),
                hint,
            );
            return ExitCode::from(66);
        }
        let newest = standing(&checks);
        for check in &checks {
            let stands = newest.contains(&check.entry);
            if stands || self.all {
                let of = &check.of;
                let later = if stands { "" } else { " (a later one stands)" };
                super::print(&format!(
                    "{}, piece {}, attempt {}: {}{later}\n",
                    of.feature,
                    of.piece,
                    of.attempt,
                    sentence(Some(check))
                ));
            }
        }
        ExitCode::SUCCESS
    }
}
