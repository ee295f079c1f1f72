//! The one writer. [`RecordWriter::append`] is where a reading becomes durable: when it returns, the
//! whole batch has been committed with `synchronous = FULL`, and only then may anybody be told.

use std::collections::HashMap;
use std::fs::File;
use std::os::unix::fs::MetadataExt as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use rusqlite::{CachedStatement, Connection, params};

use super::chain::{self, Canonical};
use super::entry::{Change, Entry, Head, Reading};
use super::schema::{self, MIGRATIONS};
use super::{RecordError, reader};

/// Keeps a batch of entries: the seam at which a test can put a store that lies.
pub trait Store: Send {
    /// Numbers and chains the entries, and keeps them all or none of them. When this returns `Ok`, they
    /// are durable.
    ///
    /// # Errors
    /// Nothing of the batch was kept; the same batch may be given again.
    fn append(&mut self, batch: &mut [Entry]) -> Result<(), RecordError>;

    /// How many entries there are, and the hash of the last.
    fn tip(&self) -> Tip;
}

/// End of the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tip {
    /// Number of the last entry; 0 when there is none.
    pub entry: i64,
    /// Its hash.
    pub hash: [u8; 32],
}

/// The record, open for writing. There is one in the world for each file.
#[derive(Debug)]
pub struct RecordWriter {
    connection: Connection,
    tip: Tip,
    sequences: HashMap<Arc<str>, i64>,
    canonical: Canonical,
    file: PathBuf,
    /// Device and number of the file that was opened.
    place: (u64, u64),
    _lock: File,
}

impl RecordWriter {
    /// Opens the record, making or migrating it where needed.
    ///
    /// # Errors
    /// The folder cannot be made, another writer holds the file, or SQLite refuses.
    pub fn open(file: &Path) -> Result<RecordWriter, RecordError> {
        if let Some(folder) = file
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty())
        {
            std::fs::create_dir_all(folder).map_err(|source| RecordError::Folder {
                folder: folder.to_owned(),
                source,
            })?;
        }
        let lock = lock(file)?;
        let mut connection = Connection::open(file)?;
        connection.busy_timeout(Duration::from_secs(5))?;
        connection.execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = OFF;",
        )?;
        schema::migrate(&mut connection, MIGRATIONS)?;
        let tip = reader::tip(&connection)?;
        Ok(RecordWriter {
            connection,
            tip,
            sequences: HashMap::new(),
            canonical: Canonical::default(),
            place: place_of(file)?,
            file: file.to_owned(),
            _lock: lock,
        })
    }

    /// SQLite goes on writing into a file that was moved away or written over, and what it keeps there is lost when
    /// the program ends.
    fn is_still_there(&self) -> Result<(), RecordError> {
        match place_of(&self.file) {
            Ok(place) if place == self.place => Ok(()),
            _ => Err(RecordError::Gone {
                file: self.file.clone(),
            }),
        }
    }

    /// Last sequence of a station, looked up once and then kept.
    fn last_sequence(&mut self, station: &Arc<str>) -> Result<i64, RecordError> {
        if let Some(sequence) = self.sequences.get(station) {
            return Ok(*sequence);
        }
        let last = reader::last_sequence(&self.connection, station)?;
        self.sequences.insert(station.clone(), last);
        Ok(last)
    }

    /// Gives each entry its number, sequence and hash.
    fn number(
        &mut self,
        batch: &mut [Entry],
    ) -> Result<(Tip, HashMap<Arc<str>, i64>), RecordError> {
        let mut tip = self.tip;
        let mut sequences: HashMap<Arc<str>, i64> = HashMap::new();
        for entry in batch.iter_mut() {
            let station = entry.head().station.clone();
            let last = match sequences.get(&station) {
                Some(last) => *last,
                None => self.last_sequence(&station)?,
            };
            tip.entry += 1;
            let head = entry.head_mut();
            head.entry = tip.entry;
            head.sequence = last + 1;
            sequences.insert(station, last + 1);
            let hash = chain::link(&tip.hash, self.canonical.of(entry));
            entry.head_mut().hash = hash;
            tip.hash = hash;
        }
        Ok((tip, sequences))
    }
}

impl Drop for RecordWriter {
    /// Moves everything into the one file, so that a copy of it made after the end is whole.
    fn drop(&mut self) {
        let moved = self
            .connection
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        if let Err(error) = moved {
            tracing::warn!(error = %error, "The record's log stays beside its file; keep both together.");
        }
    }
}

impl Store for RecordWriter {
    fn append(&mut self, batch: &mut [Entry]) -> Result<(), RecordError> {
        if batch.is_empty() {
            return Ok(());
        }
        self.is_still_there()?;
        let (tip, sequences) = self.number(batch)?;
        self.connection
            .prepare_cached("BEGIN IMMEDIATE")?
            .execute([])?;
        let kept = insert(&self.connection, batch)
            .and_then(|()| Ok(self.connection.prepare_cached("COMMIT")?.execute([])?));
        if let Err(error) = kept {
            // After some errors SQLite has rolled back by itself; then there is nothing left to take back.
            if !self.connection.is_autocommit() {
                self.connection.execute_batch("ROLLBACK")?;
            }
            return Err(error);
        }
        self.tip = tip;
        self.sequences.extend(sequences);
        Ok(())
    }

    fn tip(&self) -> Tip {
        self.tip
    }
}

/// Device and number of the file that stands under a name now.
fn place_of(file: &Path) -> Result<(u64, u64), RecordError> {
    let missing = |_| RecordError::Missing {
        file: file.to_owned(),
    };
    let found = std::fs::metadata(file).map_err(missing)?;
    Ok((found.dev(), found.ino()))
}

/// Takes the file's lock, held as long as the writer lives. It is of the open file, so it goes with the
/// process however that ends.
fn lock(file: &Path) -> Result<File, RecordError> {
    let path = PathBuf::from(format!("{}.lock", file.display()));
    let refused = |source| RecordError::Folder {
        folder: path.clone(),
        source,
    };
    let lock = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(refused)?;
    match lock.try_lock() {
        Ok(()) => Ok(lock),
        Err(std::fs::TryLockError::WouldBlock) => Err(RecordError::InUse {
            file: file.to_owned(),
        }),
        Err(std::fs::TryLockError::Error(source)) => Err(refused(source)),
    }
}

fn insert(connection: &Connection, batch: &[Entry]) -> Result<(), RecordError> {
    for entry in batch {
        match entry {
            Entry::Reading(reading) => insert_reading(connection, reading)?,
            Entry::Change(change) => insert_change(connection, change)?,
        }
    }
    Ok(())
}

const INSERT_READING: &str = "INSERT INTO reading VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, \
    ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, ?22, ?23, ?24, ?25, ?26, ?27, ?28, ?29, \
    ?30, ?31, ?32, ?33, ?34, ?35, ?36, ?37, ?38, ?39)";

fn insert_reading(connection: &Connection, reading: &Reading) -> Result<(), RecordError> {
    let mut statement = connection.prepare_cached(INSERT_READING)?;
    let next = bind_head(&mut statement, &reading.head)?;
    let tags = &reading.tags;
    let judged = &reading.judged;
    let mut bind = Binder {
        statement: &mut statement,
        next,
    };
    bind.value(reading.raw.as_slice())?;
    bind.value(&*reading.text)?;
    bind.value(reading.unit)?;
    bind.value(reading.unit_from.code())?;
    bind.value(reading.channel.as_deref())?;
    bind.value(tags.job.as_ref().map(|job| &*job.name))?;
    bind.value(tags.job.as_ref().map_or(0, |job| job.entry))?;
    bind.value(tags.feature.as_deref())?;
    bind.value(tags.piece)?;
    bind.value(tags.attempt)?;
    bind.value(tags.position.as_deref())?;
    bind.value(tags.wire_set.as_ref().map(|set| &*set.name))?;
    bind.value(tags.wire_set.as_ref().map_or(0, |set| set.entry))?;
    bind.value(&*tags.instrument.name)?;
    bind.value(tags.instrument.entry)?;
    bind.value(&*tags.method)?;
    bind.value(tags.operator.as_deref())?;
    bind.value(tags.purpose)?;
    bind.value(judged.over_wires_mm)?;
    bind.value(judged.pitch_diameter_mm)?;
    bind.value(judged.plane_pitch_diameter_mm)?;
    bind.value(judged.lead_angle_correction_mm)?;
    bind.value(judged.limit_min_mm)?;
    bind.value(judged.limit_max_mm)?;
    bind.value(judged.seat)?;
    bind.value(judged.verdict)?;
    bind.value(judged.held.as_ref().map(super::entry::Held::to_code))?;
    bind.value(i64::from(judged.counted))?;
    bind.value(judged.flags.to_text())?;
    bind.value(reading.head.hash.as_slice())?;
    bind.value(judged.grounds.as_deref())?;
    statement.raw_execute()?;
    Ok(())
}

struct Binder<'s, 'c> {
    statement: &'s mut CachedStatement<'c>,
    next: usize,
}

impl Binder<'_, '_> {
    fn value(&mut self, value: impl rusqlite::ToSql) -> rusqlite::Result<()> {
        self.statement.raw_bind_parameter(self.next, value)?;
        self.next += 1;
        Ok(())
    }
}

fn bind_head(statement: &mut CachedStatement<'_>, head: &Head) -> rusqlite::Result<usize> {
    let mut bind = Binder { statement, next: 1 };
    bind.value(head.entry)?;
    bind.value(head.id.as_slice())?;
    bind.value(&*head.station)?;
    bind.value(head.sequence)?;
    bind.value(head.stamp.wall_us)?;
    bind.value(head.stamp.utc_offset_s)?;
    bind.value(head.stamp.mono_ns)?;
    bind.value(head.boot_id.as_slice())?;
    Ok(bind.next)
}

fn insert_change(connection: &Connection, change: &Change) -> Result<(), RecordError> {
    let head = &change.head;
    connection
        .prepare_cached(
            "INSERT INTO change VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
        )?
        .execute(params![
            head.entry,
            head.id.as_slice(),
            &*head.station,
            head.sequence,
            head.stamp.wall_us,
            head.stamp.utc_offset_s,
            head.stamp.mono_ns,
            head.boot_id.as_slice(),
            change.kind.code(),
            change.subject,
            change.reading,
            change.by,
            change.reason,
            change.body,
            head.hash.as_slice(),
        ])?;
    Ok(())
}
