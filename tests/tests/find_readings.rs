//! Finding readings: pages of them, how many there are, the days between calibrations. What a program is told
//! is what the CSV says.

use std::collections::BTreeMap;
use std::process::Command;

use overwire::export::columns::COLUMNS;
use overwire::export::find::{Page, Place, page};
use overwire::export::seen::Field;
use overwire::export::{Choice, Source};
use overwire::record::reader;
use overwire_tests::command::output_of;
use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder, client};
use serde_json::{Value, json};

const SIZES: [&str; 6] = ["1.0760", "1.0761", "1.0762", "1.0763", "1.0759", "1.0758"];

/// Two jobs of six pieces each in turn, then: one reading void, one moved to the other job, a remark that a
/// spreadsheet would run.
fn shop(folder: &Folder) -> (Daemon, Vec<Value>) {
    let daemon = Daemon::start(&settings(folder, 1, ""));
    let set = json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811"],"by":"AK"});
    daemon.done("/api/wire-sets", &set);
    for (job, lot) in [("J-2417", "0042-07"), ("J-2418", "7")] {
        let feature = json!({"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"});
        let form = json!({"job":job,"lot":lot,"drawing":"HF-1716","features":[feature],"by":"AK"});
        daemon.done("/api/jobs", &form);
    }
    let mut readings = Vec::new();
    for (job, operator) in [("J-2417", "AK"), ("J-2418", "BR")] {
        let tags = json!({"job":job,"operator":operator,"purpose":"inspecting","piece":1});
        daemon.done("/api/stations/s0/tags", &tags);
        for size in SIZES {
            readings.push(daemon.done("/api/stations/s0/reading", &json!({"text":size})));
        }
    }
    let say = |at: usize, what: &str, form: Value| {
        let entry = &readings[at]["entry"];
        daemon.done(&format!("/api/readings/{entry}/{what}"), &form);
    };
    say(1, "void", json!({"reason":"=wire slipped","by":"AK"}));
    say(
        2,
        "retag",
        json!({"job":"J-2418","piece":9,"reason":"wrong job","by":"AK"}),
    );
    say(3, "comment", json!({"text":"-looks dull","by":"AK"}));
    (daemon, readings)
}

fn rows(answer: &Value) -> Vec<BTreeMap<String, String>> {
    serde_json::from_value(answer["rows"].clone()).expect("rows of texts")
}

fn entries(answer: &Value) -> Vec<i64> {
    let entry = |row: &BTreeMap<String, String>| row["entry"].parse().expect("an entry");
    rows(answer).iter().map(entry).collect()
}

#[test]
fn rows_are_those_of_the_csv_without_its_guard() {
    let folder = Folder::new("find-readings-csv");
    let (daemon, _) = shop(&folder);
    let csv = daemon.text("/export.csv");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let names: Vec<String> = reader
        .headers()
        .expect("names")
        .iter()
        .map(str::to_owned)
        .collect();
    let free = |name: &str| {
        let column = COLUMNS.iter().find(|column| column.name == name);
        column.expect("a column").holds == overwire::export::columns::Holds::Free
    };
    let mut wanted: Vec<BTreeMap<String, String>> = reader
        .records()
        .map(|record| {
            let record = record.expect("a row");
            let cell = |(name, cell): (&String, &str)| {
                let plain = match free(name) {
                    true => overwire::export::guard::unguarded(cell),
                    false => cell,
                };
                (name.clone(), plain.to_owned())
            };
            names.iter().zip(&record).map(cell).collect()
        })
        .collect();
    wanted.reverse();
    let found = daemon.get("/api/readings");
    assert_eq!(rows(&found), wanted);
    assert!(csv.contains("'=wire slipped") && found.to_string().contains("\"=wire slipped\""));
    let listed: Vec<&str> = found["columns"]
        .as_array()
        .expect("columns")
        .iter()
        .filter_map(|column| column["name"].as_str())
        .collect();
    assert_eq!(listed, names);
}

#[test]
fn pages_hold_every_reading_once_in_both_directions() {
    let folder = Folder::new("find-readings-pages");
    let (daemon, readings) = shop(&folder);
    let all: Vec<i64> = readings
        .iter()
        .rev()
        .filter_map(|r| r["entry"].as_i64())
        .collect();
    let (mut down, mut place) = (Vec::new(), String::new());
    let mut newest = Value::Null;
    loop {
        let found = daemon.get(&format!("/api/readings?most=5&only=entry{place}"));
        if newest.is_null() {
            newest = found.clone();
            assert_eq!(found["newer"], Value::Null);
        }
        down.extend(entries(&found));
        assert!(down.len() <= all.len(), "it goes round in circles");
        match found["older"].as_i64() {
            Some(entry) => place = format!("&before={entry}"),
            None => break,
        }
    }
    assert_eq!(down, all);
    let (mut up, mut after) = (Vec::new(), 0);
    loop {
        let found = daemon.get(&format!("/api/readings?most=5&only=entry&after={after}"));
        let Some(newer) = found["newer"].as_i64() else {
            assert_eq!(found, newest, "beyond the newest is the newest page");
            break;
        };
        up.splice(0..0, entries(&found));
        after = newer;
    }
    assert_eq!(up, all[all.len() - up.len()..]);
    assert_eq!(up.len(), 10, "two full pages from the oldest on");
}

/// However little is looked at for one page, going on gives every reading that is meant, once: by the index of the
/// jobs, and without one.
#[test]
fn a_page_that_gives_up_says_where_to_go_on() {
    let folder = Folder::new("find-readings-effort");
    let (daemon, readings) = shop(&folder);
    assert!(daemon.end());
    let connection = reader::open(&folder.join("record.db")).expect("the record");
    let of = |field: &str, text: &str| {
        let mut choice = Choice::default();
        choice.set(field, text).expect("a field");
        choice
    };
    let entry = |at: usize| readings[at]["entry"].as_i64().expect("an entry");
    let first: Vec<i64> = [5, 4, 3, 2, 1, 0].map(entry).to_vec();
    let second: Vec<i64> = [11, 10, 9, 8, 7, 6, 2].map(entry).to_vec();
    for (choice, wanted) in [
        (of("job", "j-2417"), &first),
        (of("job", "J-2418"), &second),
        (of("operator", "AK"), &first),
        (of("lot", "0042*"), &first),
    ] {
        let source = Source::new(&connection, &choice).expect("a choice");
        for looked_at in [1, 3, 1_000] {
            let (mut found, mut place, mut pages) = (Vec::new(), Place::Newest, 0);
            loop {
                let asked = Page {
                    place,
                    most: 2,
                    tried: looked_at,
                    looked_at,
                };
                let on = page(&source.scan(), [], asked, |view| {
                    found.push(view.seen().whole(Field::Entry));
                    Ok(())
                });
                pages += 1;
                assert!(pages < 100, "it goes round in circles");
                match on.expect("the record is read") {
                    Some(entry) => place = Place::Before(entry),
                    None => break,
                }
            }
            assert_eq!(&found, wanted, "{choice:?} {looked_at}");
            assert!(pages >= 4, "{pages}");
        }
    }
}

#[test]
fn counts_add_up_to_the_rows() {
    let folder = Folder::new("find-readings-count");
    let (daemon, _) = shop(&folder);
    let all = daemon.get("/api/readings/count");
    assert_eq!(
        all,
        json!({"readings":12,"pieces":12,"standing":{"pass":11,"void":1},"whole":true})
    );
    let job = daemon.get("/api/readings/count?job=J-2418");
    assert_eq!((&job["readings"], &job["pieces"]), (&json!(7), &json!(7)));
    let nothing = daemon.get("/api/readings/count?operator=ZZ");
    assert_eq!(
        (&nothing["readings"], &nothing["whole"]),
        (&json!(0), &json!(true))
    );
}

#[test]
fn pieces_of_a_job_are_those_of_its_csv() {
    let folder = Folder::new("find-readings-pieces");
    let (daemon, _) = shop(&folder);
    let found = daemon.get("/api/pieces?job=J-2418");
    let csv = daemon.text("/export.csv?job=J-2418&rows=pieces");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let wanted: Vec<BTreeMap<String, String>> = reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect();
    assert_eq!(rows(&found), wanted);
    assert_eq!(found["whole"], true);
    let few = daemon.get("/api/pieces?job=J-2418&most=3");
    assert_eq!(
        (few["rows"].as_array().map(Vec::len), &few["whole"]),
        (Some(3), &json!(false))
    );
    assert_eq!(daemon.ask("/api/pieces").0, 422);
}

#[test]
fn what_cannot_be_asked_for_is_refused_at_its_field() {
    let folder = Folder::new("find-readings-refused");
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    for (words, field) in [
        ("jbo=J-2417", "jbo"),
        ("piece=seven", "piece"),
        ("from=31.3.2026", "from"),
        ("from=2026-03-31&to=2026-03-30", "to"),
        ("most=0", "most"),
        ("most=1001", "most"),
        ("before=last", "before"),
        ("before=-1", "before"),
        ("before=9&after=3", "after"),
        ("only=entry,sise", "only"),
    ] {
        let (status, answer) = daemon.ask(&format!("/api/readings?{words}"));
        assert_eq!(status, 422, "{words}: {answer}");
        assert!(answer["fields"][field].is_string(), "{words}: {answer}");
    }
    for path in [
        "/api/readings/count?most=5",
        "/export.csv?only=sise",
        "/api/calibrations?job=J-1",
    ] {
        assert_eq!(daemon.ask(path).0, 422, "{path}");
    }
    assert_eq!(daemon.get("/api/readings")["rows"], json!([]));
}

fn listed(folder: &Folder, more: &[&str]) -> String {
    let told = output_of(
        Command::new(program("overwire", "overwire"))
            .args(["export", "--calibrations", "--settings"])
            .arg(folder.join("overwire.toml"))
            .args(more),
    );
    String::from_utf8(told).expect("UTF-8")
}

/// Recall after a failed calibration: everything measured with an instrument since the last good one.
#[test]
fn the_days_between_calibrations_come_from_the_revisions() {
    let folder = Folder::new("find-readings-calibrations");
    let (daemon, readings) = shop(&folder);
    assert_eq!(
        listed(&folder, &[]).lines().count(),
        1,
        "nothing is known yet"
    );
    let instrument = |calibrated: &str, certificate: &str, due: &str| {
        json!({"instrument":"MIC-0","serial":"TM 0307","calibrated":calibrated,
            "certificate":certificate,"due":due,"by":"AK"})
    };
    for (form, field) in [
        (instrument("31.3.2026", "C-1", ""), "calibrated"),
        (instrument("2026-04-01", "C-1", "2026-03-31"), "calibrated"),
        (instrument("2026-04-01", "C-1", "soon"), "due"),
    ] {
        let (status, answer) = daemon.post("/api/instruments", &form);
        assert_eq!(status, 422);
        assert!(answer["fields"][field].is_string(), "{answer}");
    }
    let today = readings[0]["at"].as_str().expect("a moment")[..10].to_owned();
    for (day, certificate) in [("2024-10-30", "C-1"), (today.as_str(), "C-2")] {
        daemon.done("/api/instruments", &instrument(day, certificate, ""));
    }
    let wires = json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811"],"calibrated":"2025-01-31",
        "due":"2025-01-31","by":"AK"});
    daemon.done("/api/wire-sets", &wires);
    let found = daemon.get("/api/calibrations?instrument=tm*");
    let wanted = json!([{"of":"instrument","name":"MIC-0","serial":"TM 0307","periods":[
        {"from":null,"certificate":"","to":"2024-10-30"},
        {"from":"2024-10-30","certificate":"C-1","to":today},
        {"from":today,"certificate":"C-2","to":null},
    ]}]);
    assert_eq!(found["calibrations"], wanted);
    let all = listed(&folder, &[]);
    assert_eq!(all.lines().count(), 5, "{all}");
    let lines = listed(&folder, &["--where", "instrument=MIC-0"]);
    let line = lines.lines().nth(1).expect("the second period");
    assert_eq!(
        line,
        format!(
            "--where instrument=MIC-0 --where from=2024-10-30 --where to={today}  # certificate C-1"
        )
    );
    // The line is made to be put behind `overwire export`.
    let conditions: Vec<&str> = line
        .split_whitespace()
        .take_while(|word| *word != "#")
        .collect();
    let output = Command::new(program("overwire", "overwire"))
        .args(["export", "--settings"])
        .arg(folder.join("overwire.toml"))
        .args(&conditions)
        .output()
        .expect("overwire export");
    let csv = String::from_utf8(output.stdout).expect("UTF-8");
    assert_eq!(csv.lines().count(), 1 + readings.len());
    let before = daemon.get("/api/readings?instrument=MIC-0&to=2024-10-30");
    assert_eq!(before["rows"], json!([]));
    let (status, _, _) = client::fetch(daemon.address, "/find.html");
    assert_eq!(status, 200);
}
