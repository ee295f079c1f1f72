//! What statistics say of the threads: the findings of the page, in the same words and digits.

use rusqlite::Connection;

use super::charts::MOST_THREADS;
use super::tally::Tally;
use crate::export::ExportError;
use crate::findings::Findings;
use crate::page::findings::{Asked, statistics_of};
use crate::record::{Kind, reader};
use crate::register::Register;

/// Of one thread: its findings, or why there are none.
pub struct Told {
    /// Job and thread.
    pub title: String,
    /// The findings.
    pub found: Result<Findings, String>,
}

/// What is said of each thread, of so many at most.
pub fn told(connection: &Connection, tally: &Tally) -> Result<Vec<Told>, ExportError> {
    let mut register = Register::default();
    let kinds = [Kind::Job, Kind::WireSet, Kind::Instrument, Kind::Study];
    for change in reader::changes_of_kinds(connection, &kinds)? {
        register.apply(&change)?;
    }
    let groups = tally.groups.iter().take(MOST_THREADS);
    let told = groups.map(|group| Told {
        title: format!("{}, {}", group.job, group.feature),
        found: statistics_of(
            connection,
            &register,
            &Asked::about(&group.job, &group.feature, None),
        )
        .map_err(|refusal| refusal.error),
    });
    Ok(told.collect())
}
