//! Opening a record for reading, also where nothing may be written beside it.
//!
//! SQLite reads a record through a file of its own beside it (`record.db-shm`). On read-only media, or in a folder that
//! this user may not write, it cannot make one. A record whose log (`record.db-wal`) is empty or not there is whole in
//! itself and has no writer, who always has a log: it is then read as a file that nobody changes.

use std::fmt::Write as _;
use std::io;
use std::os::unix::ffi::OsStrExt as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::RecordError;
use super::schema::{self, MIGRATIONS};

/// Opens a record for reading only.
///
/// # Errors
/// There is no file, it is of a later version, its last entries stand in a log that cannot be read there, or SQLite
/// refuses.
pub fn open(file: &Path) -> Result<Connection, RecordError> {
    if !file.exists() {
        return Err(RecordError::Missing {
            file: file.to_owned(),
        });
    }
    let (connection, found) = match as_it_grows(file) {
        Err(RecordError::Sqlite(error)) if is_closed_to_us(&error) => as_it_lies(file, error)?,
        opened => opened?,
    };
    let known = MIGRATIONS.len() as i64;
    if found > known {
        return Err(RecordError::Newer { found, known });
    }
    if found < 2 {
        // A file of before is read as it is: what it has no column for is nothing.
        connection.execute_batch(
            "CREATE TEMP VIEW reading AS SELECT *, NULL AS grounds FROM main.reading;",
        )?;
    }
    Ok(connection)
}

const READ_ONLY: OpenFlags =
    OpenFlags::SQLITE_OPEN_READ_ONLY.union(OpenFlags::SQLITE_OPEN_NO_MUTEX);

/// A connection that sees what a writer adds, and the file's version.
fn as_it_grows(file: &Path) -> Result<(Connection, i64), RecordError> {
    let connection = Connection::open_with_flags(file, READ_ONLY)?;
    connection.busy_timeout(Duration::from_secs(5))?;
    let version = schema::version(&connection)?;
    Ok((connection, version))
}

/// A connection to a file that nobody changes; `refused` is why there is no other.
fn as_it_lies(file: &Path, refused: rusqlite::Error) -> Result<(Connection, i64), RecordError> {
    let log = PathBuf::from(format!("{}-wal", file.display()));
    if log.metadata().is_ok_and(|log| log.len() > 0) {
        return Err(RecordError::LogNeeded { log });
    }
    let Ok(address) = address(file) else {
        return Err(refused.into());
    };
    let flags = READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let connection = Connection::open_with_flags(address, flags)?;
    let version = schema::version(&connection)?;
    Ok((connection, version))
}

/// Whether SQLite could not make or open a file that it needs.
fn is_closed_to_us(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly)
    )
}

/// The address by which SQLite takes a file for one that nobody changes.
fn address(file: &Path) -> io::Result<String> {
    let mut address = "file://".to_owned();
    for byte in std::path::absolute(file)?.as_os_str().as_bytes() {
        let _ = match byte {
            b'/' | b'.' | b'-' | b'_' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
                write!(address, "{}", char::from(*byte))
            }
            other => write!(address, "%{other:02X}"),
        };
    }
    Ok(address + "?immutable=1")
}
