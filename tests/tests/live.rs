//! The live file as a spreadsheet or a script meets it: under load, after kill -9, with its folder gone, closed
//! or full.

use std::collections::BTreeSet;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use overwire_tests::daemon::{allow, program, script, settings, without_rights};
use overwire_tests::{Daemon, Dice, Folder, Line, client, until};
use serde_json::{Value, json};

const LIVE: &str = "[live]\nfolder = \"live\"\nrotate = \"never\"\ncolumns = [\"over_wires\", \"job\", \"void_reason\"]\n";

/// Rows of a live file: as_of, entry, void, then the text over wires.
fn rows(file: &Path) -> Vec<(i64, i64, String, String)> {
    let mut reader = csv::Reader::from_path(file).expect("the live file");
    let heading = reader.headers().expect("a heading").clone();
    let over_wires = heading.iter().position(|name| name == "over_wires");
    let over_wires = over_wires.expect("the column");
    let row = |row: Result<csv::StringRecord, csv::Error>| {
        let row = row.expect("a row with as many cells as the heading");
        let number = |at: usize| row[at].parse().expect("a number");
        (
            number(0),
            number(1),
            row[2].to_owned(),
            row[over_wires].to_owned(),
        )
    };
    reader.records().map(row).collect()
}

fn live_of(daemon: &Daemon) -> Value {
    daemon.get("/health")["live"].clone()
}

/// What a script sees that follows a growing file.
#[derive(Debug, Default)]
struct Seen {
    /// How often it had grown.
    looks: usize,
    /// Sizes at which it ended in the middle of a line.
    halves: Vec<usize>,
}

fn watch(file: PathBuf, stop: Arc<AtomicBool>, seen: Arc<Mutex<Seen>>) -> JoinHandle<()> {
    std::thread::spawn(move || {
        until("there is a file", || file.exists());
        let mut opened = std::fs::File::open(&file).expect("the live file");
        let mut bytes = Vec::new();
        while !stop.load(Ordering::Relaxed) {
            let before = bytes.len();
            opened.read_to_end(&mut bytes).expect("its bytes");
            let mut seen = seen.lock().expect("what was seen");
            seen.looks += usize::from(bytes.len() > before);
            if !bytes.ends_with(b"\n") {
                seen.halves.push(bytes.len());
            }
        }
    })
}

#[test]
fn kill_9_under_load_neither_loses_nor_doubles_a_line_and_nobody_sees_half_of_one() {
    let folder = Folder::new("live-kill");
    std::fs::create_dir(folder.join("live")).expect("a folder");
    let line = Line::plugged_in(&folder.join("tty0"));
    let settings = settings(&folder, 1, LIVE);
    let file = folder.join("live").join("readings.csv");
    let stop = Arc::new(AtomicBool::new(false));
    let seen: Arc<Mutex<Seen>> = Arc::default();
    let watcher = watch(file.clone(), stop.clone(), seen.clone());
    let announced: Arc<Mutex<BTreeSet<i64>>> = Arc::default();
    let pressing = stop.clone();
    let load = std::thread::spawn(move || {
        let mut number = 0;
        while !pressing.load(Ordering::Relaxed) {
            line.send(format!("1.{number:07}\r\n").as_bytes());
            number += 1;
            std::thread::sleep(Duration::from_micros(500));
        }
        line
    });
    let mut dice = Dice::new(20_261_130);
    let told = || announced.lock().expect("the set").len();
    let mut kills = 0;
    while kills < 15 || told() < 500 || seen.lock().expect("what was seen").looks < 100 {
        kills += 1;
        assert!(kills < 200, "too little came to prove anything");
        let before = told();
        let mut daemon = Daemon::start(&settings);
        let (address, heard) = (daemon.address, announced.clone());
        let page = std::thread::spawn(move || {
            // The stream breaks off when the daemon is killed.
            let _ = client::listen(address, None, |event, data| {
                if event == "reading" {
                    let reading: Value = serde_json::from_str(data).expect("JSON");
                    let entry = reading["entry"].as_i64().expect("an entry");
                    heard.lock().expect("the set").insert(entry);
                }
                true
            });
        });
        until("some are told", || told() > before + 20);
        std::thread::sleep(Duration::from_micros(dice.below(100_000)));
        daemon.kill();
        page.join().expect("the page's end");
    }
    stop.store(true, Ordering::Relaxed);
    let _line = load.join().expect("the load's end");
    watcher.join().expect("the watcher's end");
    let daemon = Daemon::start(&settings);
    let written = || live_of(&daemon)["upto"] == daemon.get("/health")["entries"];
    // The rest may be many lines.
    let mut waits = 0;
    while !written() && waits < 1000 {
        waits += 1;
        std::thread::sleep(Duration::from_millis(100));
    }
    assert!(daemon.end());
    let rows = rows(&file);
    let announced = announced.lock().expect("the set");
    let seen = seen.lock().expect("what was seen");
    eprintln!(
        "{kills} kills, {} announced, {} lines, seen in {} steps",
        announced.len(),
        rows.len(),
        seen.looks
    );
    // Linux shows a write page by page: a line over the edge of one may be seen up to there for an instant.
    let strange: Vec<_> = seen.halves.iter().filter(|at| **at % 4096 != 0).collect();
    assert!(
        strange.is_empty(),
        "half lines were seen, up to {strange:?}"
    );
    let record = overwire::record::reader::open(&folder.join("record.db")).expect("the record");
    let mut statement = record
        .prepare("SELECT entry, text FROM reading ORDER BY entry")
        .expect("readings");
    let kept = statement.query_map([], |row| {
        Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?))
    });
    let kept: Vec<(i64, String)> = kept
        .expect("readings")
        .map(|row| row.expect("a row"))
        .collect();
    let lines: Vec<(i64, String)> = rows.iter().map(|row| (row.1, row.3.clone())).collect();
    assert_eq!(lines, kept, "every reading once, in its order");
    assert!(
        announced
            .iter()
            .all(|entry| kept.iter().any(|(kept, _)| kept == entry))
    );
}

#[test]
fn what_is_said_later_is_a_further_line_and_jobs_have_files_of_their_own() {
    let folder = Folder::new("live-jobs");
    std::fs::create_dir(folder.join("live")).expect("a folder");
    let more = LIVE
        .replace("never", "job")
        .replace("[live]\n", "[live]\ndialect = \"comma\"\n");
    let daemon = Daemon::start(&settings(&folder, 1, &more));
    daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"}),
    );
    for job in ["J-1", "J/1"] {
        let feature = json!({"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS"});
        daemon.done(
            "/api/jobs",
            &json!({"job":job,"features":[feature],"by":"AK"}),
        );
    }
    let mut entries = Vec::new();
    for (job, text) in [("J-1", "1.0760"), ("J/1", "1.0761"), ("J-1", "1.0762")] {
        daemon.done(
            "/api/stations/s0/tags",
            &json!({"job":job,"purpose":"inspecting"}),
        );
        let reading = daemon.done("/api/stations/s0/reading", &json!({"text":text}));
        entries.push(reading["entry"].clone());
    }
    let path = format!("/api/readings/{}/void", entries[0]);
    daemon.done(&path, &json!({"reason":"slipped;\nburr","by":"AK"}));
    let upto = || live_of(&daemon)["upto"] == daemon.get("/health")["entries"];
    until("all is written", upto);
    let text = std::fs::read_to_string(folder.join("live/readings-J-1.csv")).expect("a file");
    let lines: Vec<&str> = text.split_terminator("\r\n").collect();
    let (first, last, void) = (&entries[0], &entries[2], lines[3].split(';').next());
    assert_eq!(
        lines,
        [
            "\u{FEFF}as_of;entry;void;over_wires;job;void_reason".to_owned(),
            format!("{first};{first};0;1,0760;J-1;"),
            format!("{last};{last};0;1,0762;J-1;"),
            format!(
                "{};{first};1;1,0760;J-1;\"slipped; burr\"",
                void.unwrap_or_default()
            ),
        ]
    );
    let names = std::fs::read_dir(folder.join("live")).expect("the folder");
    let names = names.map(|entry| entry.expect("a name").file_name().into_string());
    let names: BTreeSet<String> = names.map(|name| name.expect("a plain name")).collect();
    let (csv, beside): (Vec<_>, Vec<_>) = names.iter().partition(|name| name.ends_with(".csv"));
    assert_eq!((csv.len(), beside.len()), (2, 2), "{names:?}");
    assert!(daemon.end());
}

/// One reading, and then one more line in the file.
fn press(daemon: &Daemon, line: &Line, number: u32) {
    line.send(format!("1.{number:04}\r\n").as_bytes());
    until("it is kept", || {
        daemon.station("s0")["last"]["text"] == format!("1.{number:04}").as_str()
    });
}

fn trouble(daemon: &Daemon) -> String {
    let text = |live: &Value| live["trouble"].as_str().unwrap_or_default().to_owned();
    let mut told = String::new();
    until("the page says the same as /health", || {
        told = text(&live_of(daemon));
        told == text(&daemon.get("/api/state")["record"]["live"])
    });
    told
}

#[test]
fn a_folder_closed_or_gone_is_told_and_everything_is_made_good_afterwards() {
    let folder = Folder::new("live-closed");
    let live = folder.join("live");
    std::fs::create_dir(&live).expect("a folder");
    let line = Line::plugged_in(&folder.join("tty0"));
    allow(
        &std::fs::canonicalize(folder.join("tty0")).expect("the line's node"),
        0o666,
    );
    let settings = settings(&folder, 1, LIVE);
    let program = without_rights(&folder);
    allow(&live, 0o555);
    let daemon = Daemon::start_program(&program, &settings);
    press(&daemon, &line, 1);
    until("it is told", || {
        trouble(&daemon).contains("Permission denied")
    });
    let health = daemon.get("/health");
    assert_eq!(health["stores_readings"], true, "readings go on");
    press(&daemon, &line, 2);
    allow(&live, 0o777);
    until("it is written", || trouble(&daemon).is_empty());
    let file = live.join("readings.csv");
    assert_eq!(rows(&file).len(), 2);
    // Away with the folder, as when a share is unmounted.
    std::fs::rename(&live, folder.join("away")).expect("the folder moved");
    press(&daemon, &line, 3);
    until("it is told", || {
        trouble(&daemon).contains("there is no folder")
    });
    std::fs::rename(folder.join("away"), &live).expect("the folder moved back");
    press(&daemon, &line, 4);
    until("it is written", || {
        trouble(&daemon).is_empty() && rows(&file).len() == 4
    });
    // A spreadsheet that has it open and saves it: another file under the same name, not of our making.
    std::fs::write(folder.join("saved"), "as_of;entry\n1;1\n").expect("a file");
    std::fs::rename(folder.join("saved"), &file).expect("put in its place");
    press(&daemon, &line, 5);
    let beside = live.join("readings~2.csv");
    until("it goes on beside it", || {
        beside.exists() && rows(&beside).len() == 5
    });
    assert_eq!(
        std::fs::read(&file).expect("their file"),
        b"as_of;entry\n1;1\n",
        "left alone"
    );
    assert!(
        live_of(&daemon)["notice"]
            .as_str()
            .is_some_and(|said| said.contains("readings~2.csv"))
    );
    assert!(daemon.end());
}

/// A disk of 64 KiB that only the daemon sees; mounted in a namespace of its own, so it goes with the daemon.
#[test]
fn a_full_disk_leaves_no_half_line_and_is_made_good_when_there_is_room() {
    let folder = Folder::new("live-full");
    let live = folder.join("live");
    std::fs::create_dir(&live).expect("a folder");
    let line = Line::plugged_in(&folder.join("tty0"));
    let settings = settings(
        &folder,
        1,
        "[live]\nfolder = \"live\"\nrotate = \"never\"\n",
    );
    let daemon = program("overwire", "overwire");
    let (disk, daemon) = (live.display(), daemon.display());
    let user = if rustix::process::geteuid().is_root() {
        ""
    } else {
        "-Ur"
    };
    let mount = format!(
        "exec unshare -m {user} sh -c 'mount -t tmpfs -o size=64k tmpfs \"{disk}\" && head -c 61440 /dev/zero > \"{disk}/ballast\" && exec \"{daemon}\" \"$@\"' sh \"$@\""
    );
    let daemon = Daemon::start_program(&script(&folder, "small_disk", &mount), &settings);
    let seen = PathBuf::from(format!("/proc/{}/root{disk}", daemon.pid()));
    let file = seen.join("readings.csv");
    let mut sent = 0;
    while trouble(&daemon).is_empty() {
        sent += 1;
        assert!(sent < 1000, "the disk never filled up");
        press(&daemon, &line, sent);
    }
    assert!(
        trouble(&daemon).contains("disk is full"),
        "{}",
        trouble(&daemon)
    );
    let before = std::fs::read(&file).expect("the live file");
    assert!(
        before.ends_with(b"\r\n") && before.len() > 2500,
        "whole lines only"
    );
    for _ in 0..20 {
        sent += 1;
        press(&daemon, &line, sent);
    }
    assert_eq!(std::fs::read(&file).expect("the live file"), before);
    std::fs::remove_file(seen.join("ballast")).expect("room");
    until("it has caught up", || trouble(&daemon).is_empty());
    let texts: Vec<String> = rows(&file).into_iter().map(|row| row.3).collect();
    let wanted: Vec<String> = (1..=sent).map(|number| format!("1.{number:04}")).collect();
    assert_eq!(texts, wanted);
}

#[test]
fn check_tells_a_mistake_with_its_line_and_a_folder_that_is_not_there() {
    let folder = Folder::new("live-check");
    let check = |more: &str| {
        let output = Command::new(program("overwire", "overwire"))
            .args(["check", "--settings"])
            .arg(settings(&folder, 1, more))
            .output()
            .expect("overwire check");
        let both = [output.stdout, output.stderr].concat();
        (
            output.status.code(),
            String::from_utf8(both).expect("UTF-8"),
        )
    };
    let (code, said) = check(LIVE);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.contains("live file: one file in") && said.contains("not there"),
        "{said}"
    );
    let (code, said) =
        check("[live]\nfolder = \"live\"\ndialect = \"excel\"\ncolumns = [\"at\", \"jobs\"]\n");
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains(
            "line 4, `live.dialect`: found `excel`, wanted one of exchange, point, comma, tab"
        ),
        "{said}"
    );
    assert!(
        said.contains("line 5, `live.columns`: found `jobs`"),
        "{said}"
    );
}
