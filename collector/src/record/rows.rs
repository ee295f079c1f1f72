//! Rows of the two tables as values.

use std::sync::Arc;

use rusqlite::Row;

use super::RecordError;
use super::entry::{
    Change, Flags, Head, Held, Judged, Kind, Reading, Revised, StampedTags, UnitFrom,
};
use super::standing::{PURPOSES, SEATS, UNITS, VERDICTS, known};
use crate::clock::Stamp;

/// Columns of `reading` in the order of the table.
pub const READING_COLUMNS: &str = "entry, id, station, sequence, wall_us, utc_offset_s, mono_ns, \
    boot_id, raw, text, unit, unit_from, channel, job, job_entry, feature, piece, attempt, position, \
    wire_set, wire_set_entry, instrument, instrument_entry, method, operator, purpose, over_wires_mm, \
    pitch_diameter_mm, plane_pitch_diameter_mm, lead_angle_correction_mm, limit_min_mm, limit_max_mm, \
    seat, verdict, held, counted, flags, hash, grounds";

/// Columns of `change` in the order of the table.
pub const CHANGE_COLUMNS: &str = "entry, id, station, sequence, wall_us, utc_offset_s, mono_ns, \
    boot_id, kind, subject, reading, by, reason, body, hash";

/// A reading from a row with [`READING_COLUMNS`].
///
/// # Errors
/// A word in it that this program does not know.
pub fn reading(row: &Row<'_>) -> Result<Reading, RecordError> {
    let head = head(row, 37)?;
    let strange = |what: &str| strange(head.entry, what);
    let word = |index: usize, words: &[&'static str]| -> Result<&'static str, RecordError> {
        let text = row
            .get_ref(index)?
            .as_str()
            .map_err(rusqlite::Error::from)?;
        known(text, words).ok_or_else(|| strange(&format!("the word `{text}`")))
    };
    let unit_from = match row.get_ref(11)?.as_str().map_err(rusqlite::Error::from)? {
        "frame" => UnitFrom::Frame,
        "station" => UnitFrom::Station,
        "typed" => UnitFrom::Typed,
        other => return Err(strange(&format!("the word `{other}`"))),
    };
    let held = match row.get::<_, Option<String>>(34)? {
        Some(code) => Some(Held::from_code(&code).ok_or_else(|| strange(&code))?),
        None => None,
    };
    Ok(Reading {
        raw: row.get(8)?,
        text: row.get::<_, String>(9)?.into(),
        unit: word(10, UNITS)?,
        unit_from,
        channel: row.get::<_, Option<String>>(12)?.map(Into::into),
        tags: Arc::new(stamped(row, word(25, PURPOSES)?)?),
        judged: Judged {
            over_wires_mm: row.get::<_, Option<f64>>(26)?.unwrap_or(f64::NAN),
            pitch_diameter_mm: row.get(27)?,
            plane_pitch_diameter_mm: row.get(28)?,
            lead_angle_correction_mm: row.get(29)?,
            limit_min_mm: row.get(30)?,
            limit_max_mm: row.get(31)?,
            seat: word(32, SEATS)?,
            verdict: word(33, VERDICTS)?,
            held,
            counted: row.get::<_, i64>(35)? != 0,
            flags: Flags::from_text(row.get_ref(36)?.as_str().map_err(rusqlite::Error::from)?),
            grounds: row.get::<_, Option<String>>(38)?.map(Into::into),
        },
        head,
    })
}

fn stamped(row: &Row<'_>, purpose: &'static str) -> Result<StampedTags, RecordError> {
    let text = |index: usize| -> Result<Option<Arc<str>>, RecordError> {
        Ok(row.get::<_, Option<String>>(index)?.map(Arc::from))
    };
    let revised = |name: usize, entry: usize| -> Result<Option<Revised>, RecordError> {
        let entry = row.get(entry)?;
        Ok(text(name)?.map(|name| Revised { name, entry }))
    };
    Ok(StampedTags {
        job: revised(13, 14)?,
        feature: text(15)?,
        piece: row.get(16)?,
        attempt: row.get(17)?,
        position: text(18)?,
        wire_set: revised(19, 20)?,
        instrument: revised(21, 22)?.unwrap_or_default(),
        method: text(23)?.unwrap_or_default(),
        operator: text(24)?,
        purpose,
    })
}

fn head(row: &Row<'_>, hash: usize) -> Result<Head, RecordError> {
    let entry: i64 = row.get(0)?;
    let fixed_blob = |index: usize| -> Result<[u8; 16], RecordError> {
        fixed(&row.get::<_, Vec<u8>>(index)?)
            .ok_or_else(|| strange(entry, "an id of a wrong length"))
    };
    let hash = fixed(&row.get::<_, Vec<u8>>(hash)?)
        .ok_or_else(|| strange(entry, "a hash of a wrong length"))?;
    Ok(Head {
        entry,
        id: fixed_blob(1)?,
        station: row.get::<_, String>(2)?.into(),
        sequence: row.get(3)?,
        stamp: Stamp {
            wall_us: row.get(4)?,
            utc_offset_s: row.get(5)?,
            mono_ns: row.get(6)?,
        },
        boot_id: fixed_blob(7)?,
        hash,
    })
}

pub(super) fn fixed<const N: usize>(bytes: &[u8]) -> Option<[u8; N]> {
    bytes.try_into().ok()
}

pub(super) fn strange(entry: i64, what: &str) -> RecordError {
    RecordError::Strange {
        entry,
        what: what.to_owned(),
    }
}

/// A change from a row with [`CHANGE_COLUMNS`].
///
/// # Errors
/// A kind that this program does not know.
pub fn change(row: &Row<'_>) -> Result<Change, RecordError> {
    let head = head(row, 14)?;
    let kind: String = row.get(8)?;
    Ok(Change {
        kind: Kind::from_code(&kind).ok_or_else(|| strange(head.entry, &kind))?,
        subject: row.get(9)?,
        reading: row.get(10)?,
        by: row.get(11)?,
        reason: row.get(12)?,
        body: row.get(13)?,
        head,
    })
}
