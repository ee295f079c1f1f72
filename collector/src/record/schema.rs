//! The tables, and how an older file is brought up to date.
//!
//! Two tables hold everything: `reading` (typed columns, one row a reading) and `change` (all that
//! is rarer, with a JSON body). Their `entry` numbers are drawn from one counter without gaps, and
//! the chain runs over both in that order. Triggers refuse every update and delete, so a slip in
//! this program, or in a script beside it, cannot rewrite the past unnoticed.
//!
//! Lengths are millimetres, times microseconds since 1970-01-01T00:00:00Z, `mono_ns` nanoseconds since
//! the start of the machine named by `boot_id`.

use rusqlite::{Connection, Transaction};

use super::RecordError;

/// Steps from each version to the next; the file's `user_version` is how many were taken.
pub const MIGRATIONS: &[&str] = &[VERSION_1, VERSION_2, VERSION_3, VERSION_4];

const VERSION_1: &str = "
CREATE TABLE reading (
  entry INTEGER PRIMARY KEY,
  id BLOB NOT NULL,
  station TEXT NOT NULL,
  sequence INTEGER NOT NULL,
  wall_us INTEGER NOT NULL,
  utc_offset_s INTEGER NOT NULL,
  mono_ns INTEGER NOT NULL,
  boot_id BLOB NOT NULL,
  raw BLOB NOT NULL,
  text TEXT NOT NULL,
  unit TEXT NOT NULL,
  unit_from TEXT NOT NULL,
  channel TEXT,
  job TEXT,
  job_entry INTEGER NOT NULL,
  feature TEXT,
  piece INTEGER NOT NULL,
  attempt INTEGER NOT NULL,
  position TEXT,
  wire_set TEXT,
  wire_set_entry INTEGER NOT NULL,
  instrument TEXT NOT NULL,
  instrument_entry INTEGER NOT NULL,
  method TEXT NOT NULL,
  operator TEXT,
  purpose TEXT NOT NULL,
  over_wires_mm REAL,
  pitch_diameter_mm REAL,
  plane_pitch_diameter_mm REAL,
  lead_angle_correction_mm REAL,
  limit_min_mm REAL,
  limit_max_mm REAL,
  seat TEXT NOT NULL,
  verdict TEXT NOT NULL,
  held TEXT,
  counted INTEGER NOT NULL,
  flags TEXT NOT NULL,
  hash BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX reading_by_station ON reading(station, sequence);
CREATE INDEX reading_by_job ON reading(job, feature, piece) WHERE job IS NOT NULL;
CREATE TABLE change (
  entry INTEGER PRIMARY KEY,
  id BLOB NOT NULL,
  station TEXT NOT NULL,
  sequence INTEGER NOT NULL,
  wall_us INTEGER NOT NULL,
  utc_offset_s INTEGER NOT NULL,
  mono_ns INTEGER NOT NULL,
  boot_id BLOB NOT NULL,
  kind TEXT NOT NULL,
  subject TEXT NOT NULL,
  reading INTEGER,
  by TEXT NOT NULL,
  reason TEXT NOT NULL,
  body TEXT NOT NULL,
  hash BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX change_by_station ON change(station, sequence);
CREATE INDEX change_by_kind ON change(kind, subject);
CREATE INDEX change_by_reading ON change(reading) WHERE reading IS NOT NULL;
CREATE TRIGGER reading_is_never_altered BEFORE UPDATE ON reading
  BEGIN SELECT RAISE(ABORT, 'a reading is never altered: void or re-tag it'); END;
CREATE TRIGGER reading_is_never_deleted BEFORE DELETE ON reading
  BEGIN SELECT RAISE(ABORT, 'a reading is never deleted: void it'); END;
CREATE TRIGGER change_is_never_altered BEFORE UPDATE ON change
  BEGIN SELECT RAISE(ABORT, 'a change is never altered: make another'); END;
CREATE TRIGGER change_is_never_deleted BEFORE DELETE ON change
  BEGIN SELECT RAISE(ABORT, 'a change is never deleted: make another'); END;
";

/// What judgements rest on besides the reading.
const VERSION_2: &str = "ALTER TABLE reading ADD COLUMN grounds TEXT;";

/// Readings of studies by their study: over plain masters they belong to no job.
const VERSION_3: &str = "
CREATE INDEX reading_by_study ON reading(json_extract(grounds, '$.study.study')) WHERE purpose = 'study';
";

/// All that statistics need of a job's readings stands in the index that finds them: a long job is read from it
/// alone. A commit touches as many pages as before.
const VERSION_4: &str = "
DROP INDEX reading_by_job;
CREATE INDEX reading_by_job ON reading(job, feature, piece, attempt, pitch_diameter_mm, text, unit, counted, purpose)
  WHERE job IS NOT NULL;
";

/// Brings the file up to the newest version by the given steps, all or none of them.
///
/// # Errors
/// [`RecordError::Newer`] when the file was written by a later program: nothing is touched then.
pub fn migrate(connection: &mut Connection, steps: &[&str]) -> Result<(), RecordError> {
    let found = version(connection)?;
    let known = steps.len() as i64;
    if found > known {
        return Err(RecordError::Newer { found, known });
    }
    if found == known {
        return Ok(());
    }
    let transaction = connection.transaction()?;
    for step in steps.iter().skip(found as usize) {
        transaction.execute_batch(step)?;
    }
    set_version(&transaction, known)?;
    transaction.commit()?;
    Ok(())
}

/// How many steps the file has taken.
pub fn version(connection: &Connection) -> Result<i64, RecordError> {
    Ok(connection.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

fn set_version(transaction: &Transaction<'_>, version: i64) -> Result<(), RecordError> {
    transaction.execute_batch(&format!("PRAGMA user_version = {version}"))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_moves_step_by_step_and_never_back() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, &["CREATE TABLE one(a)"]).unwrap();
        migrate(
            &mut connection,
            &["CREATE TABLE one(a)", "ALTER TABLE one ADD COLUMN b"],
        )
        .unwrap();
        connection
            .execute("INSERT INTO one(a, b) VALUES (1, 2)", [])
            .unwrap();
        assert_eq!(version(&connection).unwrap(), 2);
        let older = migrate(&mut connection, &["CREATE TABLE one(a)"]).unwrap_err();
        assert_eq!(older.code(), "record-newer");
    }

    #[test]
    fn a_step_that_fails_leaves_the_file_as_it_was() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, MIGRATIONS).unwrap();
        let broken: Vec<&str> = MIGRATIONS
            .iter()
            .copied()
            .chain(["CREATE TABLE extra(a)", "NOT SQL"])
            .collect();
        assert!(migrate(&mut connection, &broken).is_err());
        assert_eq!(version(&connection).unwrap(), MIGRATIONS.len() as i64);
        assert!(connection.prepare("SELECT * FROM extra").is_err());
    }

    #[test]
    fn nothing_can_be_altered_or_deleted() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, MIGRATIONS).unwrap();
        connection
            .execute(
                "INSERT INTO change VALUES (1, x'00', '', 1, 0, 0, 0, x'00', 'start', '', NULL, '', '', '{}', x'00')",
                [],
            )
            .unwrap();
        let altered = connection
            .execute("UPDATE change SET by = 'me'", [])
            .unwrap_err();
        assert!(altered.to_string().contains("never altered"), "{altered}");
        let deleted = connection.execute("DELETE FROM change", []).unwrap_err();
        assert!(deleted.to_string().contains("never deleted"), "{deleted}");
    }
}
