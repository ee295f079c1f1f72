//! Walks the whole record and says where the chain first breaks.

use rusqlite::Connection;
use serde::Serialize;

use super::RecordError;
use super::chain::{self, Canonical};
use super::entry::Entry;
use super::rows::{self, CHANGE_COLUMNS, READING_COLUMNS};

/// What the walk found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Verified {
    /// Entries walked that are sound.
    pub entries: i64,
    /// Readings among them.
    pub readings: i64,
    /// Hash of the last sound entry, hexadecimal.
    pub head: String,
    /// The first broken entry, if there is one.
    pub broken: Option<Broken>,
}

/// The first entry at which the chain does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Broken {
    /// Its number.
    pub entry: i64,
    /// What is wrong, in a sentence.
    pub what: String,
}

/// Walks both tables in the order of their entries.
///
/// # Errors
/// SQLite refuses. A broken chain is not an error but a finding.
pub fn verify(connection: &Connection) -> Result<Verified, RecordError> {
    let mut readings = connection.prepare(&format!(
        "SELECT {READING_COLUMNS} FROM reading ORDER BY entry"
    ))?;
    let mut changes = connection.prepare(&format!(
        "SELECT {CHANGE_COLUMNS} FROM change ORDER BY entry"
    ))?;
    let mut readings = readings.query([])?;
    let mut changes = changes.query([])?;
    let mut next_reading = next(&mut readings, |row| rows::reading(row).map(Entry::Reading))?;
    let mut next_change = next(&mut changes, |row| rows::change(row).map(Entry::Change))?;
    let mut walk = Walk::default();
    loop {
        let reading_first = match (&next_reading, &next_change) {
            (Some(a), Some(b)) => a.number() <= b.number(),
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => break,
        };
        let found = if reading_first {
            let following = next(&mut readings, |row| rows::reading(row).map(Entry::Reading))?;
            std::mem::replace(&mut next_reading, following)
        } else {
            let following = next(&mut changes, |row| rows::change(row).map(Entry::Change))?;
            std::mem::replace(&mut next_change, following)
        };
        let Some(found) = found else { break };
        if let Some(broken) = walk.step(found) {
            return Ok(walk.finish(Some(broken)));
        }
    }
    Ok(walk.finish(None))
}

/// An entry as read, or why it could not be.
enum Found {
    Entry(Box<Entry>),
    Unreadable { entry: i64, what: String },
}

impl Found {
    fn number(&self) -> i64 {
        match self {
            Found::Entry(entry) => entry.head().entry,
            Found::Unreadable { entry, .. } => *entry,
        }
    }
}

fn next(
    rows: &mut rusqlite::Rows<'_>,
    read: impl Fn(&rusqlite::Row<'_>) -> Result<Entry, RecordError>,
) -> Result<Option<Found>, RecordError> {
    let Some(row) = rows.next()? else {
        return Ok(None);
    };
    let entry: i64 = row.get(0)?;
    Ok(Some(match read(row) {
        Ok(entry) => Found::Entry(Box::new(entry)),
        Err(error) => Found::Unreadable {
            entry,
            what: error.to_string(),
        },
    }))
}

#[derive(Default)]
struct Walk {
    entries: i64,
    readings: i64,
    hash: [u8; 32],
    canonical: Canonical,
}

impl Walk {
    fn step(&mut self, found: Found) -> Option<Broken> {
        let wanted = self.entries + 1;
        if found.number() != wanted {
            let what = if found.number() > wanted {
                format!(
                    "entry {wanted} is missing; the next one there is {}",
                    found.number()
                )
            } else {
                format!("entry {} is there twice", found.number())
            };
            return Some(Broken {
                entry: wanted,
                what,
            });
        }
        let entry = match found {
            Found::Entry(entry) => entry,
            Found::Unreadable { entry, what } => return Some(Broken { entry, what }),
        };
        let hash = chain::link(&self.hash, self.canonical.of(&entry));
        if hash != entry.head().hash {
            let what = "its contents do not give its hash: it, or an entry before it, was altered";
            return Some(Broken {
                entry: wanted,
                what: what.to_owned(),
            });
        }
        self.hash = hash;
        self.entries = wanted;
        self.readings += i64::from(matches!(*entry, Entry::Reading(_)));
        None
    }

    fn finish(self, broken: Option<Broken>) -> Verified {
        Verified {
            entries: self.entries,
            readings: self.readings,
            head: chain::hex(&self.hash),
            broken,
        }
    }
}
