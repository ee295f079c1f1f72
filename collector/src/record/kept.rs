//! Sums kept in a file of their own beside the record, `<record>.sums`.
//!
//! The file holds nothing that the record does not: it may be deleted at any time and is made anew. It stands apart so
//! that the record is only ever appended to, by its one writer, and whoever asks for statistics opens it read-only. It
//! is never waited for and never the cause of an error: where it is missing, damaged, of another version or not to
//! be written, the record itself is read.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, OptionalExtension as _, params};
use sha2::{Digest as _, Sha256};

use super::inspected::Feature;
use super::sums::FeatureSums;
use super::writer::Tip;

/// What is kept is of this version: raised with every change of what sums hold or how they are worked out.
const VERSION: i64 = 2;

/// Sums longer than this are not kept: readings without end on one piece.
const LONGEST: usize = 256 * 1024;

/// How long another program that keeps sums is waited for.
const PATIENCE: Duration = Duration::from_millis(50);

const TABLE: &str = "CREATE TABLE IF NOT EXISTS sums (
    job TEXT NOT NULL, feature TEXT NOT NULL, through INTEGER NOT NULL, hash BLOB NOT NULL,
    sums TEXT NOT NULL, digest BLOB NOT NULL, PRIMARY KEY (job, feature)
) STRICT, WITHOUT ROWID";

/// Sums of a feature, and how far into the record they reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// The last entry that is in them.
    pub through: Tip,
    /// The sums.
    pub sums: FeatureSums,
}

/// The file.
#[derive(Debug)]
pub struct KeptSums {
    connection: Connection,
    file: PathBuf,
}

impl KeptSums {
    /// Where the sums of a record are kept.
    pub fn file_of(record: &Path) -> PathBuf {
        PathBuf::from(format!("{}.sums", record.display()))
    }

    /// Opens the file beside a record or makes it; one that is damaged is made anew. None where that is not to be had.
    pub fn beside(record: &Path) -> Option<KeptSums> {
        let file = KeptSums::file_of(record);
        let opened = open(&file).or_else(|error| {
            if !is_damage(&error) {
                return Err(error);
            }
            tracing::info!(file = %file.display(), error = %error, "Kept sums are damaged: made anew.");
            // Where it cannot be removed the next line says so.
            let _ = std::fs::remove_file(&file);
            open(&file)
        });
        match opened {
            Ok(connection) => Some(KeptSums { connection, file }),
            Err(error) => {
                tracing::debug!(file = %file.display(), error = %error, "Sums are not kept.");
                None
            }
        }
    }

    /// What is kept of a feature, if it is sound.
    pub fn get(&self, feature: Feature<'_>) -> Option<Kept> {
        let found = self.row(feature).unwrap_or_else(|error| {
            self.not_had(&error);
            None
        });
        let (through, text, digest) = found?;
        if digest != digest_of(feature, through, &text) {
            return None;
        }
        let sums = serde_json::from_str(&text).ok()?;
        Some(Kept { through, sums })
    }

    fn row(&self, feature: Feature<'_>) -> rusqlite::Result<Option<(Tip, String, Vec<u8>)>> {
        let sql = "SELECT through, hash, sums, digest FROM sums WHERE job = ?1 AND feature = ?2";
        let mut statement = self.connection.prepare_cached(sql)?;
        let row = statement.query_row(params![feature.job, feature.name], |row| {
            let through = Tip {
                entry: row.get(0)?,
                hash: row.get(1)?,
            };
            Ok((through, row.get(2)?, row.get(3)?))
        });
        row.optional()
    }

    /// Keeps sums in place of those before.
    pub fn put(&self, feature: Feature<'_>, kept: &Kept) {
        let Ok(text) = serde_json::to_string(&kept.sums) else {
            return;
        };
        if text.len() > LONGEST {
            return;
        }
        let digest = digest_of(feature, kept.through, &text);
        let put = self.connection.execute(
            "INSERT OR REPLACE INTO sums VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![
                feature.job,
                feature.name,
                kept.through.entry,
                kept.through.hash,
                text,
                digest
            ],
        );
        if let Err(error) = put {
            self.not_had(&error);
        }
    }

    /// A file that turns out to be damaged is taken away: whoever opens it next makes it anew.
    fn not_had(&self, error: &rusqlite::Error) {
        let file = self.file.display();
        if is_damage(error) && std::fs::remove_file(&self.file).is_ok() {
            tracing::info!(file = %file, error = %error, "Kept sums are damaged: thrown away.");
        } else {
            tracing::debug!(file = %file, error = %error, "Sums are not kept.");
        }
    }
}

fn open(file: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(file, flags)?;
    connection.busy_timeout(PATIENCE)?;
    // What is lost with the power is made anew, so nothing is waited for.
    connection.execute_batch("PRAGMA synchronous = OFF;")?;
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if version != VERSION {
        connection.execute_batch(&format!(
            "BEGIN IMMEDIATE; DROP TABLE IF EXISTS sums; {TABLE}; PRAGMA user_version = {VERSION}; COMMIT;"
        ))?;
    }
    Ok(connection)
}

/// Whether the file is no database, or a broken one.
fn is_damage(error: &rusqlite::Error) -> bool {
    use rusqlite::ErrorCode::{DatabaseCorrupt, NotADatabase};
    matches!(
        error.sqlite_error_code(),
        Some(DatabaseCorrupt | NotADatabase)
    )
}

/// A digest of everything that is kept of a feature: a file that lost power half-way may hold anything.
fn digest_of(feature: Feature<'_>, through: Tip, text: &str) -> Vec<u8> {
    let mut hasher = Sha256::new();
    for part in [feature.job, feature.name, text] {
        hasher.update((part.len() as u64).to_be_bytes());
        hasher.update(part);
    }
    hasher.update(through.entry.to_be_bytes());
    hasher.update(through.hash);
    hasher.finalize().to_vec()
}
