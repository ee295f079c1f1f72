//! Walks the readings that are meant, one after another, as they stand now.
//!
//! A reading of which nothing was said is taken straight from its row; only the others are put together with
//! their changes. Memory does not grow with the record.

use rusqlite::types::Value as Sql;
use rusqlite::{Connection, params_from_iter};

use super::ExportError;
use super::books::Books;
use super::choice::Sieve;
use super::columns::{Column, View};
use super::seen::{Field, Seen, Wanted};
use crate::record::reader;

/// What is walked.
#[derive(Debug)]
pub struct Scan<'c> {
    /// A connection that sees one state of the record throughout.
    pub connection: &'c Connection,
    /// Which readings.
    pub sieve: &'c Sieve,
    /// What columns need of the registers.
    pub books: &'c Books,
}

/// How far a walk has come: entries passed, and entries in all.
pub type Progress<'p> = &'p mut dyn FnMut(i64, i64);

/// Entries between two words on how far it has come.
const PROGRESS_EVERY: u64 = 1 << 14;

impl Scan<'_> {
    /// Every reading that is meant, in the order of the record.
    ///
    /// # Errors
    /// The record cannot be read, or what takes the readings fails.
    pub fn each(
        &self,
        fields: impl IntoIterator<Item = Field>,
        progress: Progress<'_>,
        mut take: impl FnMut(&View<'_>) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let wanted = Wanted::of(fields.into_iter().chain(self.sieve.fields()));
        let last = reader::tip(self.connection)?.entry;
        let mut said = Said::of(self.connection)?;
        let (condition, parameters) = self.condition();
        let sql = format!(
            "SELECT {} FROM reading {condition} ORDER BY entry",
            wanted.sql()
        );
        let mut statement = self.connection.prepare(&sql)?;
        let mut rows = statement.query(params_from_iter(parameters))?;
        let mut passed = 0_u64;
        while let Some(row) = rows.next()? {
            let entry: i64 = row.get(0)?;
            passed += 1;
            if passed.is_multiple_of(PROGRESS_EVERY) {
                progress(entry, last);
            }
            if said.holds(entry) {
                self.standing(entry, &mut take)?;
                continue;
            }
            let seen = Seen::Row(row, &wanted);
            if self.sieve.takes(&seen) {
                take(&View::of(seen, self.books))?;
            }
        }
        progress(last, last);
        Ok(())
    }

    /// One reading of which something was said, if it is meant.
    fn standing(
        &self,
        entry: i64,
        take: &mut impl FnMut(&View<'_>) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        if let Some(standing) = reader::standing(self.connection, entry)? {
            let seen = Seen::Standing(&standing);
            if self.sieve.takes(&seen) {
                take(&View::of(seen, self.books))?;
            }
        }
        Ok(())
    }

    fn condition(&self) -> (String, Vec<Sql>) {
        match self.sieve.by_index() {
            None => (String::new(), Vec::new()),
            Some((condition, parameters)) => {
                let condition = format!(
                    "WHERE entry IN (SELECT entry FROM reading WHERE {condition}
                     UNION SELECT reading FROM change WHERE kind = 'retag')"
                );
                (condition, parameters)
            }
        }
    }
}

/// Fields that columns are made from.
pub fn fields_of(columns: &[Column]) -> impl Iterator<Item = Field> {
    columns
        .iter()
        .flat_map(|column| column.fields.iter().copied())
}

/// Entries of readings of which something was said, in order.
#[derive(Debug)]
pub(super) struct Said {
    entries: Vec<i64>,
    next: usize,
}

impl Said {
    pub(super) fn of(connection: &Connection) -> Result<Said, ExportError> {
        let mut statement = connection.prepare(
            "SELECT DISTINCT reading FROM change WHERE reading IS NOT NULL ORDER BY reading",
        )?;
        let entries = statement.query_map([], |row| row.get(0))?;
        Ok(Said {
            entries: entries.collect::<Result<_, _>>()?,
            next: 0,
        })
    }

    /// Whether something was said of an entry; entries are asked for in their order.
    fn holds(&mut self, entry: i64) -> bool {
        while self
            .entries
            .get(self.next)
            .is_some_and(|said| *said < entry)
        {
            self.next += 1;
        }
        self.entries.get(self.next) == Some(&entry)
    }

    /// All of them.
    pub(super) fn entries(&self) -> &[i64] {
        &self.entries
    }

    /// Whether something was said of an entry, whatever the order.
    pub(super) fn has(&self, entry: i64) -> bool {
        self.entries.binary_search(&entry).is_ok()
    }
}
