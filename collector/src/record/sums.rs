//! The inspected readings of a feature, summed up.
//!
//! Sums are kept beside the record ([`super::kept`]) with the entry they reach to and its hash. The chain makes that
//! hash stand for all before it: where the record still has it there, the sums are of this very record, and only what
//! came since is read. They are thrown away and made anew when something was said of a reading before that entry, and
//! when a piece comes again after others. Whatever happens to what is kept, the answer is the record's.

use overwire_core::stats::piece_sums::PieceSums;
use overwire_core::units::Unit;
use rusqlite::Connection;
use serde::{Deserialize, Serialize};

use super::RecordError;
use super::inspected::{self, Feature, Inspected};
use super::kept::{Kept, KeptSums};
use super::reader;
use super::writer::Tip;

/// The inspected readings of a feature, summed up.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeatureSums {
    /// Its pieces.
    pub pieces: PieceSums,
    /// How many readings were looked at.
    pub readings: u64,
    /// Most decimal places of a display in inches.
    inch_places: Option<u8>,
    /// Most decimal places of a display in millimetres.
    mm_places: Option<u8>,
}

impl FeatureSums {
    /// The units the displays showed, each with its most decimal places.
    pub fn displays(&self) -> impl Iterator<Item = (Unit, u8)> {
        let inches = self.inch_places.map(|places| (Unit::Inch, places));
        let mm = self.mm_places.map(|places| (Unit::Millimetre, places));
        inches.into_iter().chain(mm)
    }

    fn note(&mut self, reading: &Inspected) {
        let most = match reading.inches {
            true => &mut self.inch_places,
            false => &mut self.mm_places,
        };
        *most = (*most).max(Some(reading.places));
        self.readings += 1;
    }

    /// Sums of readings in the order of the record.
    pub fn of(readings: &[Inspected]) -> FeatureSums {
        let mut sums = FeatureSums::default();
        readings.iter().for_each(|reading| sums.note(reading));
        let tried: Vec<_> = readings.iter().map(Inspected::tried).collect();
        sums.pieces = PieceSums::of(&tried);
        sums
    }
}

/// Takes readings as long as they come in order.
#[derive(Default)]
struct Follower {
    sums: FeatureSums,
    last: i64,
    out_of_order: bool,
}

impl Follower {
    fn take(&mut self, reading: &Inspected) {
        self.out_of_order = self.out_of_order
            || reading.entry < self.last
            || self.sums.pieces.follow(reading.tried()).is_err();
        self.last = reading.entry;
        self.sums.note(reading);
    }

    fn in_order(self) -> Option<FeatureSums> {
        (!self.out_of_order).then_some(self.sums)
    }
}

/// The sums of a feature as the record stands now, and keeps them for the next time where it can.
///
/// # Errors
/// SQLite refuses to read the record, or an entry is not understood.
pub fn of_feature(
    record: &Connection,
    feature: Feature<'_>,
    kept: Option<&KeptSums>,
) -> Result<FeatureSums, RecordError> {
    // One transaction: the tip and the readings are of the same record.
    let record = record.unchecked_transaction()?;
    let through = reader::tip(&record)?;
    let before = kept.and_then(|kept| kept.get(feature));
    if let Some(before) = &before
        && before.through == through
    {
        return Ok(before.sums.clone());
    }
    let sums = match followed(&record, feature, before, through)? {
        Some(sums) => sums,
        None => from_scratch(&record, feature)?,
    };
    if let Some(kept) = kept {
        let sums = sums.clone();
        kept.put(feature, &Kept { through, sums });
    }
    Ok(sums)
}

/// From the record alone.
///
/// # Errors
/// As [`of_feature`].
pub fn from_scratch(record: &Connection, feature: Feature<'_>) -> Result<FeatureSums, RecordError> {
    let mut follower = Follower::default();
    inspected::each_of_feature(record, feature, |reading| follower.take(&reading))?;
    match follower.in_order() {
        Some(sums) => Ok(sums),
        None => Ok(FeatureSums::of(&inspected::of_feature(record, feature)?)),
    }
}

/// The sums that were kept, with what came since; none where they no longer hold.
fn followed(
    record: &Connection,
    feature: Feature<'_>,
    before: Option<Kept>,
    through: Tip,
) -> Result<Option<FeatureSums>, RecordError> {
    let Some(Kept {
        through: from,
        sums,
    }) = before
    else {
        return Ok(None);
    };
    let holds = from.entry < through.entry
        && is_near(from, through, sums.readings)
        && reader::hash_of(record, from.entry)? == Some(from.hash)
        && !inspected::touched_since(record, feature, from.entry)?;
    if !holds {
        return Ok(None);
    }
    let mut follower = Follower {
        sums,
        ..Follower::default()
    };
    inspected::each_after(record, feature, from.entry, |reading| {
        follower.take(&reading)
    })?;
    Ok(follower.in_order())
}

/// Entries that are read in order at the cost of a job's reading by its index.
const ENTRIES_A_READING: u64 = 2;
/// So many entries are read in no time.
const FEW: u64 = 2000;

/// Whether reading what came since costs less than reading the whole feature.
fn is_near(from: Tip, through: Tip, readings: u64) -> bool {
    let since = through.entry.abs_diff(from.entry);
    since <= FEW.max(readings / ENTRIES_A_READING)
}
