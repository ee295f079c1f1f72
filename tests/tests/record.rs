//! The record as others can check it: the chain walked by another program, tampering named, versions.

use std::path::Path;
use std::process::Command;

use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder, Line, until};
use serde_json::{Value, json};

/// A record with readings and changes of several kinds.
fn some_record(folder: &Folder) {
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(folder, 1, ""));
    daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"}),
    );
    daemon.done("/api/jobs", &json!({"job":"J","features":[{"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS"}],"by":"AK"}));
    daemon.done(
        "/api/stations/s0/tags",
        &json!({"job":"J","purpose":"inspecting","operator":"Å–κ"}),
    );
    line.send(b"1.0760\r\n1.0761\r\n27.331\r\n0.0000\r\n");
    until("four are kept", || {
        daemon.station("s0")["today"]["readings"] == 4
    });
    let last = daemon.station("s0")["recent"][3]["entry"].clone();
    daemon.done(
        &format!("/api/readings/{last}/void"),
        &json!({"reason":"wire slipped","by":"AK"}),
    );
    assert!(daemon.end());
}

fn verify(record: &Path) -> (Option<i32>, Value) {
    let output = Command::new(program("overwire", "overwire"))
        .args(["verify", "--json", "--record"])
        .arg(record)
        .output()
        .expect("overwire verify");
    (
        output.status.code(),
        serde_json::from_slice(&output.stdout).unwrap_or(Value::Null),
    )
}

/// The canonical form is documented well enough to be walked from its description, in another language.
#[test]
fn another_program_walks_the_same_chain() {
    let folder = Folder::new("chain");
    some_record(&folder);
    let record = folder.join("record.db");
    let (code, verified) = verify(&record);
    assert_eq!((code, &verified["broken"]), (Some(0), &Value::Null));
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/python/walk_chain.py");
    let output = Command::new("python3")
        .arg(script)
        .arg(&record)
        .output()
        .expect("python3");
    let walked = String::from_utf8_lossy(&output.stdout).trim().to_owned();
    let wanted = format!(
        "{} {}",
        verified["entries"],
        verified["head"].as_str().unwrap_or_default()
    );
    assert_eq!(
        walked,
        wanted,
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
fn a_record_of_a_later_program_is_left_alone() {
    let folder = Folder::new("later");
    some_record(&folder);
    let record = folder.join("record.db");
    let connection = rusqlite::Connection::open(&record).expect("the record");
    connection
        .execute_batch("PRAGMA user_version = 99")
        .expect("a later version");
    drop(connection);
    let output = Command::new(program("overwire", "overwire"))
        .args(["run", "--settings"])
        .arg(folder.join("overwire.toml"))
        .output()
        .expect("overwire run");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(69), "{said}");
    assert!(
        said.contains("version 99") && said.contains("nothing was changed"),
        "{said}"
    );
}

/// SQLite would go on writing into a file that has no name any more; what is kept there ends with the daemon.
#[test]
fn a_record_that_is_moved_away_is_told_and_nothing_is_lost_when_it_is_back() {
    let folder = Folder::new("record-gone");
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    let kept = || daemon.station("s0")["today"]["readings"].clone();
    line.send(b"1.0760\r\n");
    until("the first is kept", || kept() == 1);
    let (record, away) = (folder.join("record.db"), folder.join("away.db"));
    for stands_there in [false, true] {
        std::fs::rename(&record, &away).expect("moved away");
        if stands_there {
            std::fs::write(&record, "something else").expect("another file");
        }
        let before = kept().as_i64().expect("a count");
        line.send(b"1.0761\r\n");
        until("it is told", || daemon.ask("/health").0 == 503);
        let trouble = daemon.ask("/health").1["trouble"].to_string();
        assert!(trouble.contains("moved away or replaced"), "{trouble}");
        assert_eq!(kept(), before, "not said to be kept");
        std::fs::rename(&away, &record).expect("moved back");
        until("it is kept", || kept() == before + 1);
        assert_eq!(daemon.ask("/health").0, 200);
    }
    assert!(daemon.end());
    let (code, found) = verify(&record);
    assert_eq!(code, Some(0), "{found}");
    let connection = rusqlite::Connection::open(&record).expect("the record");
    let count = connection.query_row("SELECT count(*) FROM reading", [], |row| row.get(0));
    assert_eq!(count, Ok(3));
}

#[test]
fn two_daemons_do_not_write_one_record() {
    let folder = Folder::new("two");
    let settings = settings(&folder, 1, "");
    let _first = Daemon::start(&settings);
    let output = Command::new(program("overwire", "overwire"))
        .args(["run", "--settings"])
        .arg(&settings)
        .output()
        .expect("a second one");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(69), "{said}");
    assert!(said.contains("another overwire already writes"), "{said}");
}

/// A file that version 1 of the program wrote is opened, read, verified and written on.
#[test]
fn a_version_1_record_is_taken_up() {
    let folder = Folder::new("version-1");
    let settings = settings(&folder, 1, "");
    let record = folder.join("record.db");
    let connection = rusqlite::Connection::open(&record).expect("a file");
    connection
        .execute_batch(include_str!("../data/record_version_1.sql"))
        .expect("version 1");
    drop(connection);
    let (code, before) = verify(&record);
    assert_eq!(
        code,
        Some(0),
        "read as it is, without being brought up to date: {before}"
    );
    let daemon = Daemon::start(&settings);
    let station = daemon.station("s0");
    assert_eq!(station["tags"]["job"], "J");
    assert_eq!(
        station["recent"].as_array().map(Vec::len),
        Some(4),
        "{station}"
    );
    assert!(daemon.end());
    let (code, verified) = verify(&record);
    assert_eq!(code, Some(0), "{verified}");
    assert!(verified["entries"].as_i64() > before["entries"].as_i64());
}
