//! The chain: a SHA-256 over each entry and the one before it.
//!
//! # Canonical form
//! An entry is the list of its columns in the order of the tables in [`super::schema`], `hash` left
//! out, a word before them: `reading` or `change`. A column added by a later version (`grounds`) is left
//! out too while it is NULL, so that entries from before it keep their hashes. Each value is written as
//!
//! | value | bytes |
//! | --- | --- |
//! | NULL | `00` |
//! | integer | `01`, then 8 bytes, two's complement, big-endian |
//! | real | `02`, then the 8 bytes of the IEEE 754 double, big-endian |
//! | text | `03`, the length in bytes as 4 bytes big-endian, the UTF-8 bytes |
//! | blob | `04`, the length in bytes as 4 bytes big-endian, the bytes |
//!
//! and `hash = SHA-256(hash of the entry before ‖ canonical form)`, with 32 zero bytes before the
//! first. Any language with SHA-256 can walk it; the project's tests do so in Python.
//!
//! # What it shows
//! That no entry was altered, removed from the middle, or put in between after the entry that a kept
//! head belongs to. It does not show that a value was true, and whoever can rewrite the whole file
//! can rewrite the chain: keep heads elsewhere (exports and reports print them).

use sha2::{Digest, Sha256};

use super::entry::{Change, Entry, Head, Reading};

/// Writes the canonical form.
#[derive(Debug, Default)]
pub struct Canonical {
    bytes: Vec<u8>,
}

impl Canonical {
    fn tagged(&mut self, tag: u8, bytes: &[u8]) {
        self.bytes.push(tag);
        self.bytes
            .extend_from_slice(&(bytes.len() as u32).to_be_bytes());
        self.bytes.extend_from_slice(bytes);
    }

    fn null(&mut self) {
        self.bytes.push(0);
    }

    fn integer(&mut self, value: i64) {
        self.bytes.push(1);
        self.bytes.extend_from_slice(&value.to_be_bytes());
    }

    fn real(&mut self, value: Option<f64>) {
        match value {
            None => self.null(),
            Some(value) => {
                self.bytes.push(2);
                self.bytes.extend_from_slice(&value.to_be_bytes());
            }
        }
    }

    fn text(&mut self, value: &str) {
        self.tagged(3, value.as_bytes());
    }

    fn text_or_null(&mut self, value: Option<&str>) {
        match value {
            None => self.null(),
            Some(text) => self.text(text),
        }
    }

    fn blob(&mut self, value: &[u8]) {
        self.tagged(4, value);
    }

    fn head(&mut self, head: &Head) {
        self.integer(head.entry);
        self.blob(&head.id);
        self.text(&head.station);
        self.integer(head.sequence);
        self.integer(head.stamp.wall_us);
        self.integer(i64::from(head.stamp.utc_offset_s));
        self.integer(head.stamp.mono_ns);
        self.blob(&head.boot_id);
    }

    /// The canonical form of an entry, in place of what was here before.
    pub fn of(&mut self, entry: &Entry) -> &[u8] {
        self.bytes.clear();
        match entry {
            Entry::Reading(reading) => self.reading(reading),
            Entry::Change(change) => self.change(change),
        }
        &self.bytes
    }

    fn reading(&mut self, reading: &Reading) {
        self.text("reading");
        self.head(&reading.head);
        self.blob(&reading.raw);
        self.text(&reading.text);
        self.text(reading.unit);
        self.text(reading.unit_from.code());
        self.text_or_null(reading.channel.as_deref());
        let tags = &reading.tags;
        self.text_or_null(tags.job.as_ref().map(|job| &*job.name));
        self.integer(tags.job.as_ref().map_or(0, |job| job.entry));
        self.text_or_null(tags.feature.as_deref());
        self.integer(tags.piece);
        self.integer(tags.attempt);
        self.text_or_null(tags.position.as_deref());
        self.text_or_null(tags.wire_set.as_ref().map(|set| &*set.name));
        self.integer(tags.wire_set.as_ref().map_or(0, |set| set.entry));
        self.text(&tags.instrument.name);
        self.integer(tags.instrument.entry);
        self.text(&tags.method);
        self.text_or_null(tags.operator.as_deref());
        self.text(tags.purpose);
        let judged = &reading.judged;
        self.real(Some(judged.over_wires_mm));
        self.real(judged.pitch_diameter_mm);
        self.real(judged.plane_pitch_diameter_mm);
        self.real(judged.lead_angle_correction_mm);
        self.real(judged.limit_min_mm);
        self.real(judged.limit_max_mm);
        self.text(judged.seat);
        self.text(judged.verdict);
        self.text_or_null(
            judged
                .held
                .as_ref()
                .map(super::entry::Held::to_code)
                .as_deref(),
        );
        self.integer(i64::from(judged.counted));
        self.text(&judged.flags.to_text());
        if let Some(grounds) = &judged.grounds {
            self.text(grounds);
        }
    }

    fn change(&mut self, change: &Change) {
        self.text("change");
        self.head(&change.head);
        self.text(change.kind.code());
        self.text(&change.subject);
        match change.reading {
            None => self.null(),
            Some(entry) => self.integer(entry),
        }
        self.text(&change.by);
        self.text(&change.reason);
        self.text(&change.body);
    }
}

/// The hash of an entry, given the one before.
pub fn link(before: &[u8; 32], canonical: &[u8]) -> [u8; 32] {
    let mut hasher = Sha256::new();
    hasher.update(before);
    hasher.update(canonical);
    hasher.finalize().into()
}

/// Lower-case hexadecimal of some bytes.
pub fn hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        text.push_str(&format!("{byte:02x}"));
    }
    text
}
