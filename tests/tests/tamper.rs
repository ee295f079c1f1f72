//! Tampering with a whole record: what the chain shows, entry by entry, and what it does not show. Each
//! finding is made twice, by `overwire verify` and by `python/walk_chain.py`, which share no code.

use std::path::Path;
use std::process::Command;

use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder};
use rusqlite::Connection;
use serde_json::{Value, json};

/// Eight typed readings with changes among them.
fn some_record(folder: &Folder) {
    let daemon = Daemon::start(&settings(folder, 1, ""));
    daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"}),
    );
    daemon.done("/api/jobs", &json!({"job":"J","features":[{"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS"}],"by":"AK"}));
    daemon.done(
        "/api/stations/s0/tags",
        &json!({"job":"J","purpose":"inspecting","operator":"Ångström"}),
    );
    for number in 0..8 {
        let form = json!({"text":format!("1.076{number}")});
        let reading = daemon.done("/api/stations/s0/reading", &form);
        if number % 3 == 0 {
            let path = format!("/api/readings/{}/comment", reading["entry"]);
            daemon.done(&path, &json!({"text":"a burr, wiped off","by":"AK"}));
        }
    }
    assert!(daemon.end());
}

fn verify(record: &Path) -> Value {
    let output = Command::new(program("overwire", "overwire"))
        .args(["verify", "--json", "--record"])
        .arg(record)
        .output()
        .expect("overwire verify");
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let is_sound = found["broken"].is_null();
    assert_eq!(output.status.code(), Some(i32::from(!is_sound)), "{found}");
    found
}

/// What the other walker says: the head, or the number of the first broken entry.
fn walk(record: &Path) -> Result<String, i64> {
    let output = Command::new("python3")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/python/walk_chain.py"))
        .arg(record)
        .output()
        .expect("python3");
    let told = String::from_utf8_lossy(&output.stdout);
    let error = String::from_utf8_lossy(&output.stderr);
    match told.split_whitespace().nth(1) {
        Some(head) if output.status.success() => Ok(head.to_owned()),
        _ => Err(error
            .trim()
            .rsplit(' ')
            .next()
            .and_then(|number| number.parse().ok())
            .unwrap_or_else(|| panic!("{error}"))),
    }
}

fn tampered(folder: &Folder, deed: &str) -> std::path::PathBuf {
    let copy = folder.join("copy.db");
    std::fs::copy(folder.join("record.db"), &copy).expect("a copy");
    let connection = Connection::open(&copy).expect("the copy");
    for table in ["reading", "change"] {
        for what in ["altered", "deleted"] {
            connection
                .execute_batch(&format!("DROP TRIGGER {table}_is_never_{what}"))
                .expect("a trigger");
        }
    }
    connection.execute_batch(deed).expect("the deed");
    copy
}

/// Entry of the n-th row of a table, from 1.
fn entry(folder: &Folder, table: &str, n: i64) -> i64 {
    let sql = format!(
        "SELECT entry FROM {table} ORDER BY entry LIMIT 1 OFFSET {}",
        n - 1
    );
    let connection = Connection::open(folder.join("record.db")).expect("the record");
    connection
        .query_row(&sql, [], |row| row.get(0))
        .expect("the row")
}

#[test]
fn each_kind_of_tampering_is_named_at_its_entry() {
    let folder = Folder::new("tamper-kinds");
    some_record(&folder);
    let third = entry(&folder, "reading", 3);
    let fourth = entry(&folder, "reading", 4);
    let comment = entry(&folder, "change", 5);
    let swap = format!(
        "UPDATE reading SET entry = -1 WHERE entry = {third};
         UPDATE reading SET entry = {third} WHERE entry = {fourth};
         UPDATE reading SET entry = {fourth} WHERE entry = -1"
    );
    let columns = "text = (SELECT text FROM reading WHERE entry = ";
    let deeds = [
        ("two rows change places", swap, third),
        (
            "a value is copied from another reading",
            format!("UPDATE reading SET {columns}{fourth}) WHERE entry = {third}"),
            third,
        ),
        (
            "a remark is rewritten",
            format!("UPDATE change SET reason = 'fine' WHERE entry = {comment}"),
            comment,
        ),
        (
            "a time is moved by a microsecond",
            format!("UPDATE reading SET wall_us = wall_us + 1 WHERE entry = {third}"),
            third,
        ),
        (
            "a name is emptied instead of left out",
            format!("UPDATE reading SET position = '' WHERE entry = {third}"),
            third,
        ),
        (
            "a hash is rewritten",
            format!("UPDATE reading SET hash = zeroblob(32) WHERE entry = {fourth}"),
            fourth,
        ),
    ];
    for (what, deed, broken) in deeds {
        let copy = tampered(&folder, &deed);
        let found = verify(&copy);
        assert_eq!(found["broken"]["entry"], broken, "{what}: {found}");
        assert_eq!(found["entries"], broken - 1, "{what}");
        assert_eq!(walk(&copy), Err(broken), "{what}");
    }
}

#[test]
fn a_missing_or_added_entry_is_named() {
    let folder = Folder::new("tamper-rows");
    some_record(&folder);
    let comment = entry(&folder, "change", 5);
    let copy = tampered(
        &folder,
        &format!("DELETE FROM change WHERE entry = {comment}"),
    );
    let found = verify(&copy);
    assert_eq!(found["broken"]["entry"], comment, "{found}");
    let told = found["broken"]["what"].as_str().unwrap_or_default();
    assert!(told.contains("is missing"), "{told}");
    let last = entry(&folder, "reading", 8);
    let added = format!(
        "CREATE TABLE added AS SELECT * FROM reading WHERE entry = {last};
         UPDATE added SET entry = entry + 1, sequence = sequence + 1;
         INSERT INTO reading SELECT * FROM added; DROP TABLE added"
    );
    // The last reading is followed by nothing, so the added row is the next in the chain.
    let found = verify(&tampered(&folder, &added));
    assert_eq!(found["broken"]["entry"], last + 1, "{found}");
}

/// The end cut off leaves a chain that is sound in itself: only a head kept elsewhere shows it. Both walkers
/// must agree on the shorter head, and it must differ from the kept one.
#[test]
fn a_cut_end_shows_only_against_a_head_that_was_kept() {
    let folder = Folder::new("tamper-end");
    some_record(&folder);
    let kept = verify(&folder.join("record.db"));
    let last = entry(&folder, "reading", 8);
    let copy = tampered(
        &folder,
        &format!("DELETE FROM reading WHERE entry = {last}"),
    );
    let found = verify(&copy);
    assert_eq!(found["broken"], Value::Null);
    assert_ne!(found["head"], kept["head"]);
    assert_eq!(found["entries"], kept["entries"].as_i64().unwrap_or(0) - 1);
    assert_eq!(walk(&copy).ok().as_deref(), found["head"].as_str());
}

/// A slip in another program cannot rewrite the past: the file itself refuses.
#[test]
fn the_file_refuses_to_be_altered() {
    let folder = Folder::new("tamper-file");
    some_record(&folder);
    let connection = Connection::open(folder.join("record.db")).expect("the record");
    for (sql, says) in [
        ("UPDATE reading SET text = '1.0000'", "never altered"),
        ("DELETE FROM reading", "never deleted"),
        ("UPDATE change SET reason = ''", "never altered"),
        ("DELETE FROM change", "never deleted"),
    ] {
        let refused = connection.execute(sql, []).expect_err(sql);
        assert!(refused.to_string().contains(says), "{sql}: {refused}");
    }
}
