//! `overwire functional`.

use std::collections::BTreeSet;
use std::process::ExitCode;

use rusqlite::Connection;

use crate::findings::Findings;
use crate::findings::go_gauge::compared;
use crate::record::RecordError;
use crate::record::functional::{FunctionalCheck, of_job, standing};
use crate::record::inspected::{Feature, newest_attempts, of_feature};
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
    /// Say too how far they agree with what was measured of the pieces
    #[arg(long)]
    agreement: bool,
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
        if self.agreement
            && let Err(error) = self.tell_agreement(&connection, &checks)
        {
            super::complain(&error.to_string(), error.hint());
            return ExitCode::from(74);
        }
        ExitCode::SUCCESS
    }

    /// Thread by thread, of those that were ever tried.
    fn tell_agreement(
        &self,
        connection: &Connection,
        checks: &[FunctionalCheck],
    ) -> Result<(), RecordError> {
        let names: BTreeSet<&str> = checks
            .iter()
            .map(|check| check.of.feature.as_str())
            .collect();
        for name in names {
            let feature = Feature {
                job: &self.job,
                name,
            };
            let readings = newest_attempts(of_feature(connection, feature)?);
            if let Some(compared) = compared(connection, feature, &readings)? {
                let mut findings = Findings {
                    title: format!("{}, {name}", self.job),
                    ..Findings::default()
                };
                compared.tell(&mut findings);
                super::print(&format!("\n{}", findings.to_text()));
            }
        }
        Ok(())
    }
}
