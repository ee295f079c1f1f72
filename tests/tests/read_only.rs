//! A record on media or in a folder that may not be written is read as any other.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use overwire_tests::Folder;
use overwire_tests::closed::on_read_only_media;
use overwire_tests::daemon::{allow, program, without_rights};

const JOB: &str = "1/2-20 UNF lot 1";

/// A record of 30 readings, in a folder whose name has to be escaped in an address.
fn filled(folder: &Folder) -> PathBuf {
    let place = folder.join("kept #1 50%?ü");
    fs::create_dir_all(&place).expect("a folder");
    let record = place.join("record.db");
    let done = Command::new(env!("CARGO_BIN_EXE_fill_record"))
        .args(["--readings", "30", "--record"])
        .arg(&record)
        .output()
        .expect("fill_record");
    assert!(done.status.success(), "{done:?}");
    record
}

/// Leaves an entry in the log beside a record, as a writer does that loses power.
fn lose_power_after_a_commit(record: &Path) {
    let connection = rusqlite::Connection::open(record).expect("the record");
    connection
        .execute_batch("CREATE TABLE remark(word); INSERT INTO remark VALUES ('last');")
        .expect("a commit");
    // Closed, it would clear its log.
    std::mem::forget(connection);
    fs::remove_file(beside(record, "-shm")).expect("what is lost with the power");
}

fn beside(record: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", record.display()))
}

fn said(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    text(&output.stdout) + &text(&output.stderr)
}

/// Every command that reads a record says what it must.
fn reads_everything(record: &Path, out: &Path, command: impl Fn() -> Command) {
    let book = out.join("out.xlsx");
    let book = book.to_str().expect("a plain path");
    for (arguments, word) in [
        (&["verify"][..], "30 of them readings"),
        (&["export", "--only", "entry,job"][..], "\n34,"),
        (
            &["export", "--where", "operator=*", "--rows", "pieces"][..],
            "job,",
        ),
        (&["export", "--out", book][..], "30 row"),
        (&["export", "--calibrations"][..], "No day of calibration"),
        (&["summary", "--job", JOB][..], "30"),
        (&["report", "--job", JOB][..], "<html"),
        (
            &["functional", "--job", JOB][..],
            "no functional check of job",
        ),
    ] {
        let output = command()
            .args(arguments)
            .arg("--record")
            .arg(record)
            .output()
            .expect("overwire");
        assert!(
            said(&output).contains(word),
            "{arguments:?}: {}",
            said(&output)
        );
    }
    assert!(fs::metadata(book).is_ok_and(|book| book.len() > 1000));
}

#[test]
fn a_record_on_read_only_media_is_read_by_every_command() {
    let folder = Folder::new("media");
    let record = filled(&folder);
    let place = record.parent().expect("its folder").to_owned();
    let overwire = program("overwire", "overwire");
    let Some(_) = on_read_only_media(&place, &overwire) else {
        return;
    };
    let command = || on_read_only_media(&place, &overwire).expect("as before");
    reads_everything(&record, &folder.join(""), command);
    // A log that is there and holds nothing changes nothing.
    fs::write(beside(&record, "-wal"), "").expect("an empty log");
    reads_everything(&record, &folder.join(""), command);
    assert!(!beside(&record, "-shm").exists());
}

#[test]
fn a_record_in_a_folder_of_another_user_is_read_by_every_command() {
    let folder = Folder::new("not-ours");
    let record = filled(&folder);
    let overwire = without_rights(&folder);
    let place = record.parent().expect("its folder").to_owned();
    allow(&place, 0o555);
    reads_everything(&record, &folder.join(""), || Command::new(&overwire));
    allow(&place, 0o755);
}

#[test]
fn last_entries_that_cannot_be_read_there_are_told_of_and_not_left_out() {
    let folder = Folder::new("log-needed");
    let record = filled(&folder);
    lose_power_after_a_commit(&record);
    let overwire = without_rights(&folder);
    let place = record.parent().expect("its folder").to_owned();
    allow(&place, 0o555);
    let verify = |record: &Path| {
        let mut command = Command::new(&overwire);
        command.args(["verify", "--record"]).arg(record);
        command.output().expect("overwire")
    };
    let refused = verify(&record);
    assert_eq!(refused.status.code(), Some(74), "{}", said(&refused));
    for word in ["record.db-wal", "together", "--record"] {
        assert!(said(&refused).contains(word), "{}", said(&refused));
    }
    // What it says to do does it.
    let copy = folder.join("copy.db");
    for ending in ["", "-wal"] {
        fs::copy(beside(&record, ending), beside(&copy, ending)).expect("a copy");
        allow(&beside(&copy, ending), 0o666);
    }
    let read = verify(&copy);
    assert!(read.status.success(), "{}", said(&read));
    let connection = overwire::record::reader::open(&copy).expect("the copy");
    let last: String = connection
        .query_row("SELECT word FROM remark", [], |row| row.get(0))
        .expect("what stood in the log");
    assert_eq!(last, "last");
    allow(&place, 0o755);
}

#[test]
fn a_record_that_is_being_written_is_read_with_its_log() {
    let folder = Folder::new("being-written");
    let record = filled(&folder);
    let overwire = without_rights(&folder);
    let place = record.parent().expect("its folder").to_owned();
    let writer = rusqlite::Connection::open(&record).expect("the record");
    let add = "INSERT INTO reading SELECT entry + 1, x'00', station, sequence + 100, wall_us, 0, 0, boot_id, raw, text,
        unit, unit_from, channel, job, job_entry, feature, piece, attempt, position, wire_set, wire_set_entry,
        instrument, instrument_entry, method, operator, purpose, over_wires_mm, pitch_diameter_mm, NULL, NULL,
        limit_min_mm, limit_max_mm, seat, verdict, held, counted, flags, hash, grounds
        FROM reading ORDER BY entry DESC LIMIT 1";
    writer.execute_batch(add).expect("a reading more");
    allow(&place, 0o555);
    let output = Command::new(&overwire)
        .args(["export", "--only", "entry", "--record"])
        .arg(&record)
        .output()
        .expect("overwire");
    allow(&place, 0o755);
    drop(writer);
    assert!(
        said(&output).contains("\n35\r\n") || said(&output).contains("\n35\n"),
        "{}",
        said(&output)
    );
}
