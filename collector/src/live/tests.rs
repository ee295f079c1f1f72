//! The thread's work on real files and a real record, pass by pass.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use overwire_config::LiveSettings;
use overwire_config::live::Rotate;

use super::follow::Follower;
use crate::clock::Stamp;
use crate::feed::Feed;
use crate::record::standing::Restated;
use crate::record::writer::Store as _;
use crate::record::{
    Change, Entry, Judged, Kind, Reading, RecordWriter, Revised, StampedTags, UnitFrom,
};
use crate::station::new_head;

/// 2026-03-04 00:00 in a shop one hour east of UTC, microseconds.
const MIDNIGHT_US: i64 = 20_516 * 86_400_000_000 - 3_600_000_000;
const HOUR_US: i64 = 3_600_000_000;

struct Shop {
    folder: PathBuf,
    writer: RecordWriter,
    settings: LiveSettings,
    hour: i64,
}

impl Shop {
    fn new(name: &str, rotate: Rotate) -> Shop {
        let folder =
            std::env::temp_dir().join(format!("overwire-live-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(folder.join("live")).unwrap();
        Shop {
            writer: RecordWriter::open(&folder.join("record.db")).unwrap(),
            settings: LiveSettings {
                folder: folder.join("live"),
                dialect: "exchange".to_owned(),
                rotate,
                columns: ["at", "job", "void_reason", "comment"]
                    .map(str::to_owned)
                    .to_vec(),
            },
            folder,
            hour: 0,
        }
    }

    fn stamp(&self) -> Stamp {
        Stamp {
            wall_us: MIDNIGHT_US + self.hour * HOUR_US,
            utc_offset_s: 3600,
            mono_ns: 0,
        }
    }

    fn keep(&mut self, entry: Entry) -> i64 {
        self.writer.append(&mut [entry]).unwrap();
        self.writer.tip().entry
    }

    /// A reading of a job at an hour after the midnight between 3 and 4 March.
    fn reading(&mut self, hour: i64, job: &str) -> i64 {
        self.hour = hour;
        let tags = StampedTags {
            job: (!job.is_empty()).then(|| Revised {
                name: job.into(),
                entry: 0,
            }),
            purpose: "inspecting",
            ..StampedTags::default()
        };
        self.keep(Entry::Reading(Reading {
            head: new_head(&Arc::from("s0"), self.stamp()),
            raw: b"1.0760".to_vec(),
            text: "1.0760".into(),
            unit: "in",
            unit_from: UnitFrom::Station,
            channel: None,
            tags: Arc::new(tags),
            judged: Judged {
                verdict: "none",
                counted: true,
                ..Judged::default()
            },
        }))
    }

    fn say(&mut self, kind: Kind, reading: i64, reason: &str, body: String) -> i64 {
        let head = new_head(&Arc::from("s0"), self.stamp());
        self.keep(Entry::Change(Change {
            head,
            kind,
            subject: String::new(),
            reading: Some(reading),
            by: "AK".to_owned(),
            reason: reason.to_owned(),
            body,
        }))
    }

    fn put_into(&mut self, reading: i64, job: &str) -> i64 {
        let tags = StampedTags {
            job: Some(Revised {
                name: job.into(),
                entry: 0,
            }),
            purpose: "inspecting",
            ..StampedTags::default()
        };
        let judged = Judged {
            verdict: "none",
            ..Judged::default()
        };
        let body = serde_json::to_string(&Restated::of(&tags, "in", &judged)).unwrap();
        self.say(Kind::Retag, reading, "the wrong drawing", body)
    }

    fn follower(&self) -> (Follower, Arc<Feed>) {
        let feed = Arc::new(Feed::default());
        let record = self.folder.join("record.db");
        let follower = Follower::new(self.settings.clone(), record, self.stamp(), feed.clone());
        (follower, feed)
    }

    /// A run from its start to a kill.
    fn run(&self) {
        let (mut follower, feed) = self.follower();
        follower.pass();
        assert_eq!(feed.shown().record.live.unwrap().trouble, None);
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join("live").join(name)
    }

    fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.join("live")).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| !name.ends_with(".datapackage.json"))
            .collect();
        names.sort();
        names
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        if !std::thread::panicking() {
            let _ = std::fs::remove_dir_all(&self.folder);
        }
    }
}

/// As_of and entry of every line, by the `csv` crate.
fn lines(file: &Path) -> Vec<(i64, i64)> {
    let mut reader = csv::Reader::from_path(file).unwrap();
    let number = |record: &csv::StringRecord, at: usize| record[at].parse().unwrap();
    let records = reader.records().map(|record| record.unwrap());
    records
        .map(|record| (number(&record, 0), number(&record, 1)))
        .collect()
}

#[test]
fn a_day_turns_at_the_shop_s_midnight_and_what_is_said_later_goes_to_the_reading_s_day() {
    let mut shop = Shop::new("day", Rotate::Day);
    let before = shop.reading(-1, "J-1");
    let (mut follower, _) = shop.follower();
    follower.pass();
    let after = shop.reading(1, "J-1");
    follower.pass();
    let void = shop.say(Kind::Void, before, "wire\r\nslipped", String::new());
    follower.pass();
    assert_eq!(
        shop.names(),
        ["readings-2026-03-03.csv", "readings-2026-03-04.csv"]
    );
    let third = shop.path("readings-2026-03-03.csv");
    assert_eq!(lines(&third), [(before, before), (void, before)]);
    assert_eq!(
        lines(&shop.path("readings-2026-03-04.csv")),
        [(after, after)]
    );
    let text = std::fs::read_to_string(third).unwrap();
    assert_eq!(
        text,
        "as_of,entry,void,at,job,void_reason,comment\r\n\
         1,1,0,2026-03-03T23:00:00.000+01:00,J-1,,\r\n\
         3,1,1,2026-03-03T23:00:00.000+01:00,J-1,\"wire  slipped\",\r\n"
    );
}

#[test]
fn a_file_cut_off_anywhere_is_mended_to_the_byte() {
    let mut shop = Shop::new("torn", Rotate::Never);
    shop.settings.dialect = "comma".to_owned();
    for (hour, text) in ["a \"b\";\nc", "ü"].into_iter().enumerate() {
        let entry = shop.reading(hour as i64, "J;1");
        shop.say(Kind::Comment, entry, text, String::new());
    }
    shop.run();
    let file = shop.path("readings.csv");
    let whole = std::fs::read(&file).unwrap();
    assert_eq!(whole.iter().filter(|byte| **byte == b'\n').count(), 5);
    for length in 0..whole.len() {
        std::fs::write(&file, &whole[..length]).unwrap();
        shop.run();
        assert!(std::fs::read(&file).unwrap() == whole, "cut at {length}");
        // What a disk leaves that grew a file before it had its bytes.
        let mut grown = whole[..length].to_vec();
        grown.resize(length + 40, 0);
        if length > 50 && length % 5 == 0 {
            std::fs::write(&file, &grown).unwrap();
            shop.run();
            assert!(std::fs::read(&file).unwrap() == whole, "grown at {length}");
        }
    }
    assert_eq!(shop.names(), ["readings.csv"]);
}

#[test]
fn a_file_taken_away_is_begun_again_with_the_whole_of_its_period() {
    let mut shop = Shop::new("away", Rotate::Day);
    let first = shop.reading(1, "");
    let (mut follower, _) = shop.follower();
    follower.pass();
    let second = shop.reading(2, "");
    follower.pass();
    let file = shop.path("readings-2026-03-04.csv");
    for what in ["renamed", "deleted", "emptied", "the folder"] {
        match what {
            "renamed" => std::fs::rename(&file, shop.path("taken")).unwrap(),
            "deleted" => std::fs::remove_file(&file).unwrap(),
            "emptied" => std::fs::write(&file, "").unwrap(),
            _ => {
                std::fs::rename(shop.folder.join("live"), shop.folder.join("away")).unwrap();
                std::fs::create_dir(shop.folder.join("live")).unwrap();
            }
        }
        shop.reading(3, "");
        follower.pass();
        let found = lines(&file);
        assert_eq!(found[..2], [(first, first), (second, second)], "{what}");
        assert!(
            found.is_sorted() && found.len() as i64 == shop.writer.tip().entry,
            "{what}"
        );
    }
}

#[test]
fn a_file_of_other_settings_is_left_alone_and_another_begun_beside_it() {
    let mut shop = Shop::new("other", Rotate::Day);
    shop.reading(1, "");
    shop.run();
    let file = shop.path("readings-2026-03-04.csv");
    let before = std::fs::read(&file).unwrap();
    shop.settings.columns.push("verdict".to_owned());
    let (mut follower, feed) = shop.follower();
    follower.pass();
    let notice = feed.shown().record.live.unwrap().notice.unwrap();
    assert!(notice.contains("readings-2026-03-04~2.csv"), "{notice}");
    let entry = shop.reading(2, "");
    follower.pass();
    assert_eq!(std::fs::read(&file).unwrap(), before);
    let other = shop.path("readings-2026-03-04~2.csv");
    assert_eq!(lines(&other), [(1, 1), (entry, entry)]);
    // A value that a person changed in the last line is found as well.
    let text = std::fs::read_to_string(&other).unwrap();
    std::fs::write(&other, text.replace(",none\r\n", ",pass\r\n")).unwrap();
    shop.run();
    assert_eq!(lines(&shop.path("readings-2026-03-04~3.csv")).len(), 2);
}

#[test]
fn a_reading_put_into_another_job_is_told_of_in_both_files() {
    let mut shop = Shop::new("jobs", Rotate::Job);
    let (mut follower, _) = shop.follower();
    let first = shop.reading(1, "J/1");
    let second = shop.reading(2, "J-1");
    let none = shop.reading(3, "");
    follower.pass();
    let moved = shop.put_into(first, "J-1");
    let void = shop.say(Kind::Void, first, "", String::new());
    follower.pass();
    let names = shop.names();
    assert_eq!(
        (names.len(), &*names[0]),
        (3, "readings-J-1.a97ad9d87400.csv")
    );
    assert_eq!(
        lines(&shop.path("readings-J-1.csv")),
        [(second, second), (moved, first), (void, first)]
    );
    assert_eq!(
        lines(&shop.path(&names[0])),
        [(first, first), (moved, first), (void, first)]
    );
    assert_eq!(lines(&shop.path("readings.csv")), [(none, none)]);
}

#[test]
fn the_first_start_takes_the_day_and_a_later_one_what_was_left_unwritten() {
    let mut shop = Shop::new("start", Rotate::Day);
    shop.reading(-30, "");
    shop.reading(-1, "");
    let (mut follower, _) = shop.follower();
    follower.pass();
    follower.note();
    assert_eq!(
        shop.names(),
        ["readings-2026-03-03.csv"],
        "of the day before yesterday: nothing"
    );
    let left = shop.reading(-1, "");
    shop.reading(5, "");
    shop.run();
    let third = lines(&shop.path("readings-2026-03-03.csv"));
    assert_eq!(
        third.last(),
        Some(&(left, left)),
        "yesterday's last one is not forgotten"
    );
    assert_eq!(shop.names().len(), 2);
    std::fs::remove_file(shop.path("readings-2026-03-03.csv")).unwrap();
    let (mut follower, _) = shop.follower();
    follower.pass();
    follower.note();
    shop.run();
    assert_eq!(
        shop.names().len(),
        2,
        "made again while it was not noted as done"
    );
    std::fs::remove_file(shop.path("readings-2026-03-03.csv")).unwrap();
    shop.run();
    assert_eq!(
        shop.names(),
        ["readings-2026-03-04.csv"],
        "a day that is done stays away"
    );
}

#[test]
fn a_folder_that_is_not_there_is_told_and_made_good_when_it_is() {
    let mut shop = Shop::new("folder", Rotate::Day);
    std::fs::remove_dir(shop.folder.join("live")).unwrap();
    let (mut follower, feed) = shop.follower();
    let entry = shop.reading(1, "");
    follower.pass();
    let told = feed.shown().record.live.unwrap();
    let trouble = told.trouble.unwrap();
    assert!(
        trouble.contains("there is no folder") && trouble.contains("mount"),
        "{trouble}"
    );
    std::fs::create_dir(shop.folder.join("live")).unwrap();
    follower.pass();
    assert_eq!(feed.shown().record.live.unwrap().trouble, None);
    assert_eq!(
        lines(&shop.path("readings-2026-03-04.csv")),
        [(entry, entry)]
    );
}

#[test]
fn a_folder_that_does_not_answer_is_told_after_some_seconds() {
    let now = std::time::Instant::now();
    let board = super::LiveBoard {
        since: Some(now),
        ..super::LiveBoard::default()
    };
    assert_eq!(
        board.view(now + std::time::Duration::from_secs(4)).trouble,
        None
    );
    let told = board.view(now + std::time::Duration::from_secs(7)).trouble;
    assert!(told.unwrap().contains("not answered for 7 s"));
}
