//! Piece numbers with one and with three readings a piece: after a void, a re-tag, an answer and a restart
//! a batch keeps its numbers.

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder, client};
use serde_json::{Value, json};

struct Batch {
    folder: Folder,
    daemon: Daemon,
}

impl Batch {
    /// Two jobs; the first is active and inspected.
    fn new(name: &str, readings_a_piece: u32) -> Batch {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        for (set, unit, diameter) in [("WS-12A", "in", "0.04811"), ("WS-M150", "mm", "0.866")] {
            let form = json!({"wire_set":set,"unit":unit,"diameters":[diameter],"by":"AK"});
            daemon.done("/api/wire-sets", &form);
        }
        for (job, readings, name, thread, set) in [
            ("J-1", readings_a_piece, "end", "1 1/16-12 UN-2A", "WS-12A"),
            ("J-2", 1, "nose", "M40x1.5-4h", "WS-M150"),
        ] {
            let feature = json!({"name":name,"thread":thread,"wire_set":set});
            let form =
                json!({"job":job,"readings_a_piece":readings,"features":[feature],"by":"AK"});
            daemon.done("/api/jobs", &form);
        }
        let batch = Batch { folder, daemon };
        let tags = json!({"job":"J-1","purpose":"inspecting","operator":"AK"});
        batch.daemon.done("/api/stations/s0/tags", &tags);
        batch
    }

    fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    /// Measures each and gives the pieces they went to.
    fn pieces(&self, texts: &[&str]) -> Vec<i64> {
        texts
            .iter()
            .map(|text| self.measure(text)["piece"].as_i64().expect("a piece"))
            .collect()
    }

    fn say(&self, reading: &Value, what: &str, form: &Value) -> Value {
        self.daemon
            .done(&format!("/api/readings/{}/{what}", reading["entry"]), form)
    }

    fn void(&self, reading: &Value) {
        self.say(reading, "void", &json!({"reason":"wire slipped","by":"AK"}));
    }

    /// Piece and counted readings on it, as the page shows them.
    fn at(&self) -> (i64, i64) {
        let station = self.daemon.station("s0");
        let number = |value: &Value| value.as_i64().expect("a number");
        (
            number(&station["tags"]["piece"]),
            number(&station["progress"]["counted_on_piece"]),
        )
    }

    fn restart(&mut self) {
        self.daemon.kill();
        self.daemon = Daemon::start(&self.folder.join("overwire.toml"));
    }
}

const GOOD: [&str; 6] = ["1.0760", "1.0761", "1.0762", "1.0763", "1.0759", "1.0758"];

#[test]
fn the_last_of_three_is_voided_and_measured_again() {
    let batch = Batch::new("pieces-last", 3);
    assert_eq!(batch.pieces(&GOOD[..2]), [1, 1]);
    let third = batch.measure(GOOD[2]);
    assert_eq!(batch.at(), (2, 0));
    batch.void(&third);
    assert_eq!(batch.at(), (1, 2), "the piece is taken up where it was");
    assert_eq!(batch.pieces(&GOOD[2..]), [1, 2, 2, 2]);
    assert_eq!(batch.at(), (3, 0));
}

/// Once the next piece has a reading, an older void must not send anybody back to the piece that has left
/// the machine: the numbers of the batch stay.
#[test]
fn an_older_reading_is_voided_and_the_numbers_stay() {
    let batch = Batch::new("pieces-older", 3);
    let first = batch.measure(GOOD[0]);
    assert_eq!(batch.pieces(&GOOD[1..4]), [1, 1, 2]);
    batch.void(&first);
    assert_eq!(batch.at(), (2, 1));
    assert_eq!(batch.pieces(&GOOD[4..]), [2, 2]);
    assert_eq!(batch.at(), (3, 0));
    batch.say(&first, "restore", &json!({"by":"AK"}));
    assert_eq!(batch.at(), (3, 0), "a restored reading moves nobody");
}

#[test]
fn a_void_within_a_piece_takes_one_off_its_count() {
    let batch = Batch::new("pieces-within", 3);
    let first = batch.measure(GOOD[0]);
    assert_eq!(batch.pieces(&GOOD[1..2]), [1]);
    batch.void(&first);
    assert_eq!(batch.at(), (1, 1));
    batch.say(&first, "restore", &json!({"by":"AK"}));
    assert_eq!(batch.at(), (1, 2));
    assert_eq!(batch.pieces(&GOOD[2..4]), [1, 2]);
}

#[test]
fn the_place_within_a_piece_survives_a_kill_after_a_void() {
    let mut batch = Batch::new("pieces-kill", 3);
    batch.pieces(&GOOD[..2]);
    let third = batch.measure(GOOD[2]);
    batch.void(&third);
    batch.restart();
    assert_eq!(batch.at(), (1, 2));
    assert_eq!(batch.pieces(&GOOD[2..4]), [1, 2]);
    batch.restart();
    assert_eq!(batch.at(), (2, 1));
}

/// What did not count does not move the piece, cutting never does, and a zero check never does.
#[test]
fn only_counted_inspections_move_the_piece() {
    let batch = Batch::new("pieces-only", 1);
    assert_eq!(batch.measure("0.0000")["counted"], false, "closed jaws");
    assert_eq!(batch.at(), (1, 0));
    for purpose in ["cutting", "zero"] {
        let tags = json!({"purpose":purpose});
        batch.daemon.done("/api/stations/s0/tags", &tags);
        batch.measure("1.0790");
        assert_eq!(batch.at().0, 1, "{purpose}");
    }
    let tags = json!({"purpose":"inspecting"});
    batch.daemon.done("/api/stations/s0/tags", &tags);
    assert_eq!(batch.pieces(&GOOD[..2]), [1, 2]);
}

/// A re-tag asked for by a person: both jobs are in the CSV, under both names.
#[test]
fn a_retag_keeps_both_jobs_in_the_csv() {
    let batch = Batch::new("pieces-retag", 1);
    let reading = batch.measure(GOOD[0]);
    let form = json!({"job":"J-2","piece":7,"reason":"the wrong drawing","by":"BR"});
    let moved = batch.say(&reading, "retag", &form);
    assert_eq!((&moved["job"], &moved["piece"]), (&json!("J-2"), &json!(7)));
    assert_ne!(
        moved["limits"], reading["limits"],
        "judged by the other job"
    );
    for job in ["J-1", "J-2"] {
        let (_, _, csv) = client::fetch(batch.daemon.address, &format!("/export.csv?job={job}"));
        let csv = String::from_utf8(csv).expect("UTF-8");
        let [header, row] = csv.lines().collect::<Vec<_>>()[..] else {
            panic!("under {job}: {csv}");
        };
        let cells: Vec<&str> = row.split(',').collect();
        for (column, wanted) in [
            ("job", "J-2"),
            ("piece", "7"),
            ("original_job", "J-1"),
            ("original_feature", "end"),
            ("original_piece", "1"),
            ("original_verdict", "pass"),
            ("moved_reason", "the wrong drawing"),
            ("moved_by", "BR"),
        ] {
            let index = header.split(',').position(|name| name == column);
            assert_eq!(index.map(|index| cells[index]), Some(wanted), "{column}");
        }
    }
    let form = json!({"job":"J-1","reason":"","by":"BR"});
    let path = format!("/api/readings/{}/retag", reading["entry"]);
    assert_eq!(batch.daemon.post(&path, &form).0, 422, "a re-tag says why");
}

/// A reading that belongs to another job leaves the station's piece untouched, also over a restart.
#[test]
fn a_reading_moved_away_does_not_skip_a_piece_at_the_next_start() {
    let mut batch = Batch::new("pieces-moved", 3);
    assert_eq!(batch.pieces(&GOOD[..3]), [1, 1, 1]);
    let held = batch.measure("1.5861");
    assert_eq!(held["held"]["reason"], "job");
    batch.say(&held, "answer", &json!({"answer":"other_job","by":"BR"}));
    assert_eq!(batch.at(), (2, 0));
    batch.restart();
    assert_eq!(batch.at(), (2, 0));
    assert_eq!(batch.pieces(&GOOD[3..4]), [2]);
}

/// A reading in the other unit, answered and then voided: its piece is taken up again like any other.
#[test]
fn an_answered_reading_that_is_voided_takes_its_piece_up_again() {
    let batch = Batch::new("pieces-answered", 1);
    let held = batch.measure("27.331");
    assert_eq!(held["held"]["reason"], "unit");
    let form = json!({"answer":"other_unit","by":"AK"});
    let answered = batch.say(&held, "answer", &form);
    assert_eq!(
        (&answered["unit"], &answered["counted"]),
        (&json!("mm"), &json!(true))
    );
    assert_eq!(batch.at(), (2, 0));
    batch.void(&held);
    assert_eq!(batch.at(), (1, 0));
}

/// The reading of a job that is no longer active is voided: the active job's piece is not its business.
#[test]
fn a_void_in_another_job_moves_nobody() {
    let batch = Batch::new("pieces-other", 1);
    batch
        .daemon
        .done("/api/stations/s0/tags", &json!({"job":"J-2"}));
    let reading = batch.measure("1.5861");
    assert_eq!(
        (&reading["job"], &reading["piece"]),
        (&json!("J-2"), &json!(1))
    );
    let tags = json!({"job":"J-1","piece":2});
    batch.daemon.done("/api/stations/s0/tags", &tags);
    batch.void(&reading);
    assert_eq!(batch.at(), (2, 0));
    assert_eq!(batch.pieces(&GOOD[..1]), [2]);
}

/// Re-tagging an old reading to the piece that was just left is about that reading alone.
#[test]
fn a_reading_moved_to_the_piece_before_moves_nobody() {
    let batch = Batch::new("pieces-before", 1);
    let first = batch.measure(GOOD[0]);
    assert_eq!(batch.pieces(&GOOD[1..2]), [2]);
    batch
        .daemon
        .done("/api/stations/s0/piece", &json!({"go":"next"}));
    assert_eq!(batch.at(), (4, 0));
    let form = json!({"piece":3,"reason":"mixed up","by":"AK"});
    batch.say(&first, "retag", &form);
    assert_eq!(batch.at(), (4, 0));
}
