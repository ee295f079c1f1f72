//! Sums that are kept beside the record say what the record says, whatever is done to either.

use std::path::PathBuf;
use std::sync::Arc;

use overwire::clock::Stamp;
use overwire::record::inspected::{self, Feature};
use overwire::record::kept::{Kept, KeptSums};
use overwire::record::standing::Restated;
use overwire::record::sums::{self, FeatureSums};
use overwire::record::writer::Store as _;
use overwire::record::{
    Change, Entry, Judged, Kind, Reading, RecordWriter, Revised, StampedTags, UnitFrom, reader,
};
use overwire::station::new_head;
use overwire_core::stats::piece_sums::{PieceSums, Tried};
use overwire_tests::{Dice, Folder};

const FEATURES: [Feature<'static>; 3] = [
    Feature {
        job: "J",
        name: "end",
    },
    Feature {
        job: "J",
        name: "head",
    },
    Feature {
        job: "K",
        name: "end",
    },
];

/// A record that is written to at random.
struct Shop {
    writer: RecordWriter,
    file: PathBuf,
    dice: Dice,
    readings: Vec<Reading>,
    /// Piece and attempt of each feature.
    at: [(i64, i64); 3],
}

fn feature_tags(feature: Feature<'_>, piece: i64, attempt: i64) -> StampedTags {
    StampedTags {
        job: Some(Revised {
            name: feature.job.into(),
            entry: 1,
        }),
        feature: Some(feature.name.into()),
        piece,
        attempt,
        purpose: "inspecting",
        method: "by hand".into(),
        ..StampedTags::default()
    }
}

impl Shop {
    fn new(folder: &Folder, name: &str, seed: u64) -> Shop {
        let file = folder.join(name);
        Shop {
            writer: RecordWriter::open(&file).expect("a record"),
            file,
            dice: Dice::new(seed),
            readings: Vec::new(),
            at: [(1, 1); 3],
        }
    }

    fn chance(&mut self, one_in: u64) -> bool {
        self.dice.below(one_in) == 0
    }

    fn stamp() -> Stamp {
        Stamp {
            wall_us: 1_764_000_000_000_000,
            utc_offset_s: 0,
            mono_ns: 0,
        }
    }

    /// The next reading: of the same piece, the next one, an earlier one, or one begun again.
    fn measure(&mut self) {
        let which = self.dice.below(3) as usize;
        let (mut piece, mut attempt) = self.at[which];
        match self.dice.below(12) {
            0..=4 => {}
            5..=9 => (piece, attempt) = (piece + 1, 1),
            10 => piece = (piece - 3).max(1),
            _ => attempt += 1,
        }
        self.at[which] = (piece, attempt);
        let mut tags = feature_tags(FEATURES[which], piece, attempt);
        if self.chance(12) {
            tags.purpose = "cutting";
        }
        let mm = 11.8 + self.dice.below(4000) as f64 / 100_000.0;
        let judged = Judged {
            over_wires_mm: mm + 1.2,
            pitch_diameter_mm: Some(mm).filter(|_| !self.chance(15)),
            seat: "ok",
            verdict: "pass",
            counted: !self.chance(10),
            ..Judged::default()
        };
        let text = if self.chance(4) { "0.5113" } else { "0.51130" };
        let mut kept = [Entry::Reading(Reading {
            head: new_head(&Arc::from("s"), Shop::stamp()),
            raw: text.as_bytes().to_vec(),
            text: text.into(),
            unit: if self.chance(9) { "mm" } else { "in" },
            unit_from: UnitFrom::Frame,
            channel: None,
            tags: Arc::new(tags),
            judged,
        })];
        self.writer.append(&mut kept).expect("kept");
        if let [Entry::Reading(reading)] = kept {
            self.readings.push(reading);
        }
    }

    /// Something is said of an earlier reading, mostly a late one.
    fn say(&mut self) {
        if self.readings.is_empty() {
            return;
        }
        let far = if self.chance(3) { 60 } else { 6 };
        let back = self.dice.below(far).min(self.readings.len() as u64 - 1) as usize;
        let reading = self.readings[self.readings.len() - 1 - back].clone();
        let kinds = [
            Kind::Void,
            Kind::Void,
            Kind::Restore,
            Kind::Comment,
            Kind::Retag,
            Kind::Keep,
        ];
        let kind = kinds[self.dice.below(6) as usize];
        let body = match kind {
            Kind::Retag | Kind::Keep => {
                let which = self.dice.below(3) as usize;
                let piece = (self.at[which].0 - self.dice.below(3) as i64).max(1);
                let tags = match kind {
                    Kind::Retag => feature_tags(FEATURES[which], piece, 1),
                    _ => (*reading.tags).clone(),
                };
                let judged = Judged {
                    counted: !self.chance(5),
                    ..reading.judged.clone()
                };
                let restated = Restated::of(&tags, reading.unit, &judged);
                serde_json::to_string(&restated).expect("JSON")
            }
            _ => "{}".to_owned(),
        };
        self.tell(kind, Some(reading.head.entry), body);
    }

    fn tell(&mut self, kind: Kind, reading: Option<i64>, body: String) {
        let change = Change {
            head: new_head(&Arc::from("s"), Shop::stamp()),
            kind,
            subject: String::new(),
            reading,
            by: "AK".to_owned(),
            reason: "wire slipped".to_owned(),
            body,
        };
        self.writer
            .append(&mut [Entry::Change(change)])
            .expect("kept");
    }

    /// The sums with the help of what is kept.
    fn sums(&self, feature: Feature<'_>) -> FeatureSums {
        let kept = KeptSums::beside(&self.file);
        let record = reader::open(&self.file).expect("the record");
        sums::of_feature(&record, feature, kept.as_ref()).expect("sums")
    }

    /// The sums of the record alone, put together from its list of readings.
    fn anew(&self, feature: Feature<'_>) -> FeatureSums {
        let record = reader::open(&self.file).expect("the record");
        let anew = sums::from_scratch(&record, feature).expect("sums");
        let listed = inspected::of_feature(&record, feature).expect("readings");
        let tried: Vec<Tried> = listed.iter().map(|reading| reading.tried()).collect();
        assert_eq!(anew.pieces, PieceSums::of(&tried));
        anew
    }

    fn kept(&self, feature: Feature<'_>) -> Option<Kept> {
        KeptSums::beside(&self.file).and_then(|kept| kept.get(feature))
    }
}

/// Readings, voids, restores, re-tags and answers in any order: asked at any moment, kept sums are those made anew.
#[test]
fn kept_sums_are_those_made_anew() {
    let folder = Folder::new("sums-random");
    for seed in 1..=4 {
        let mut shop = Shop::new(&folder, &format!("{seed}.db"), seed);
        for step in 0..400 {
            match shop.dice.below(5) {
                0 => shop.say(),
                _ => shop.measure(),
            }
            if shop.chance(3) {
                let feature = FEATURES[shop.dice.below(3) as usize];
                assert_eq!(
                    shop.sums(feature),
                    shop.anew(feature),
                    "seed {seed}, step {step}"
                );
            }
        }
    }
}

/// Plain work, piece after piece: what is kept is followed, not made anew. Marked sums keep their mark until something
/// is said of what is in them.
#[test]
fn sums_are_followed_as_long_as_they_hold() {
    let folder = Folder::new("sums-followed");
    let mut shop = Shop::new(&folder, "record.db", 7);
    let feature = FEATURES[0];
    while shop.sums(feature).readings < 5 {
        shop.measure();
    }
    let mut kept = shop.kept(feature).expect("kept sums");
    kept.sums.readings += 1000;
    let file = KeptSums::beside(&shop.file).expect("the file");
    file.put(feature, &kept);
    drop(file);
    shop.tell(
        Kind::Comment,
        Some(shop.readings[0].head.entry),
        "{}".to_owned(),
    );
    assert!(shop.sums(feature).readings > 1000, "not followed");

    let counts = |reading: &&Reading| {
        reading.judged.counted
            && *reading.tags == feature_tags(feature, reading.tags.piece, reading.tags.attempt)
    };
    let entry = shop
        .readings
        .iter()
        .find(counts)
        .expect("a reading")
        .head
        .entry;
    shop.tell(Kind::Void, Some(entry), "{}".to_owned());
    assert_eq!(
        shop.sums(feature),
        shop.anew(feature),
        "a void was passed over"
    );
}

#[test]
fn what_is_kept_may_be_lost_damaged_or_of_another_record() {
    let folder = Folder::new("sums-damaged");
    let mut shop = Shop::new(&folder, "record.db", 11);
    let mut other = Shop::new(&folder, "other.db", 12);
    for _ in 0..80 {
        shop.measure();
        other.measure();
    }
    let feature = FEATURES[0];
    let wanted = shop.anew(feature);
    let file = KeptSums::file_of(&shop.file);
    let sound = |what: &str| {
        assert_eq!(shop.sums(feature), wanted, "{what}");
        assert_eq!(shop.sums(feature), wanted, "after {what}");
        let kept = shop.kept(feature).map(|kept| kept.sums);
        assert_eq!(kept.as_ref(), Some(&wanted), "not kept after {what}");
    };
    sound("nothing");
    let whole = std::fs::read(&file).expect("the file of sums");

    std::fs::remove_file(&file).expect("removed");
    sound("a lost file");
    std::fs::write(
        &file,
        b"no database at all, but long enough to be taken for one",
    )
    .expect("written");
    sound("another file in its place");
    std::fs::write(&file, &whole[..whole.len() / 2]).expect("written");
    sound("half a file");
    let mut worn = whole.clone();
    worn[5000..].fill(0x55);
    std::fs::write(&file, &worn).expect("written");
    sound("worn pages");

    other.sums(feature);
    std::fs::copy(KeptSums::file_of(&other.file), &file).expect("copied");
    sound("sums of another record");

    let alter = |sql: &str| {
        let opened = rusqlite::Connection::open(&file).expect("the file of sums");
        opened.execute_batch(sql).expect(sql);
    };
    alter("UPDATE sums SET sums = replace(sums, '\"greatest\":', '\"greatest\":1')");
    sound("an altered figure");
    alter("UPDATE sums SET through = through - 1");
    sound("another entry");
    alter("DROP TABLE sums; CREATE TABLE sums(a); PRAGMA user_version = 99");
    sound("a later version");
}

/// A record in a folder that must not be written to is summed up all the same, and nothing is left there.
#[test]
fn a_folder_that_cannot_be_written_keeps_no_sums() {
    let folder = Folder::new("sums-read-only");
    let mut shop = Shop::new(&folder, "record.db", 5);
    for _ in 0..40 {
        shop.measure();
    }
    // A folder of that name cannot be a file, whoever runs the tests.
    std::fs::create_dir(KeptSums::file_of(&shop.file)).expect("a folder");
    let feature = FEATURES[0];
    assert_eq!(shop.sums(feature), shop.anew(feature));
    assert!(shop.kept(feature).is_none());
}
