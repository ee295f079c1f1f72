//! Taking up the state of the run before: from the record, nothing else is kept.

use std::collections::VecDeque;
use std::sync::Arc;

use overwire_core::judge::Purpose;
use overwire_core::units::Length;

use super::bench::Bench;
use super::{Collector, RecordMemory};
use crate::clock::{Stamp, shop_day};
use crate::record::standing::Standing;
use crate::record::{Change, Entry, Kind, RecordError, reader};
use crate::register::Register;
use crate::station::fit::Reference;
use crate::station::tags::{Tags, go_to};
use crate::station::{Remembered, new_head};
use crate::view::station::RECENT;

impl Collector {
    pub(super) fn restore(&mut self) -> Result<(), RecordError> {
        let now = self.now();
        self.write_start(now)?;
        let mut register = Register::default();
        let kinds = [Kind::Job, Kind::WireSet, Kind::Instrument, Kind::Study];
        for change in reader::changes_of_kinds(&self.look, &kinds)? {
            register.apply(&change)?;
        }
        self.studies.restore(&register, &self.look)?;
        self.register = Arc::new(register);
        for bench in &mut self.benches {
            restore_bench(bench, &self.look, &self.register, now)?;
            bench.follow(&self.studies, &self.register, &self.look, now);
        }
        let boards = self
            .benches
            .iter()
            .map(|bench| Arc::new(bench.board(&self.register, &self.studies)))
            .collect();
        self.feed
            .put_all(boards, self.register.clone(), self.store.tip());
        Ok(())
    }

    fn write_start(&mut self, now: Stamp) -> Result<(), RecordError> {
        let mut head = new_head(&Arc::from(""), now);
        head.boot_id = self.boot_id;
        let body = serde_json::json!({ "version": env!("CARGO_PKG_VERSION") }).to_string();
        let start = Change {
            head,
            kind: Kind::Start,
            subject: String::new(),
            reading: None,
            by: String::new(),
            reason: String::new(),
            body,
        };
        self.store.append(&mut [Entry::Change(start)])
    }
}

fn restore_bench(
    bench: &mut Bench,
    look: &rusqlite::Connection,
    register: &Register,
    now: Stamp,
) -> Result<(), RecordError> {
    let name = bench.station.name().clone();
    let recent = reader::last_of_station(look, &name, RECENT)?;
    let day = shop_day(now.wall_us, now.utc_offset_s);
    let midnight_us = day * 86_400_000_000 - i64::from(now.utc_offset_s) * 1_000_000;
    let today = bench.today.on(day);
    reader::counted_since(look, &name, midnight_us, |reading| {
        today.add(reading.counts, &reading.verdict, 1)
    })?;
    if let Some(step) = recent
        .first()
        .and_then(|last| Length::from_mm(last.reading.step_mm()).ok())
    {
        bench.station.set_display(step);
    }
    if let Some(change) = reader::last_tags(look, &name)? {
        let (tags, operator_seen_us) =
            tags_of(&change, recent.first(), register, &RecordMemory(look))?;
        let reference = recent
            .iter()
            .find_map(|standing| reference(standing, &tags));
        bench.station.take_up(tags, operator_seen_us);
        bench.station.set_reference(reference);
    }
    bench.station.refresh(register, &RecordMemory(look));
    restore_zero(bench, look, now)?;
    bench.recent = recent.into_iter().map(Arc::new).collect::<VecDeque<_>>();
    bench.look_up_checks(look);
    Ok(())
}

/// Takes up the instrument's last zero check that is not void.
pub(super) fn restore_zero(
    bench: &mut Bench,
    look: &rusqlite::Connection,
    now: Stamp,
) -> Result<(), RecordError> {
    let since_us = now.wall_us - LONGEST_ZERO_HOURS * 3_600_000_000;
    let (name, instrument) = (bench.station.name(), bench.station.instrument());
    let last = reader::last_zero_since(look, name, instrument, since_us)?;
    let note = last.and_then(|standing| standing.reading.judged.grounds().zero);
    bench.station.set_zero(note);
    Ok(())
}

/// A check is looked for so far back: longer than any may be good for.
const LONGEST_ZERO_HOURS: i64 = 168;

/// The tags as they were: those last set, moved on by the readings that came after.
fn tags_of(
    change: &Change,
    last: Option<&Standing>,
    register: &Register,
    remembered: &dyn Remembered,
) -> Result<(Tags, i64), RecordError> {
    let mut tags: Tags =
        serde_json::from_str(&change.body).map_err(|error| RecordError::Strange {
            entry: change.head.entry,
            what: error.to_string(),
        })?;
    let mut operator_seen_us = change.head.stamp.wall_us;
    let Some(last) = last.filter(|last| last.reading.head.entry > change.head.entry) else {
        return Ok((tags, operator_seen_us));
    };
    let stamped = last
        .before
        .as_ref()
        .map_or(&last.reading.tags, |before| &before.tags);
    tags.dialled = None;
    if tags.piece != stamped.piece {
        tags.part_celsius = None;
    }
    if stamped.operator.is_some() {
        operator_seen_us = operator_seen_us.max(last.reading.head.stamp.wall_us);
    }
    (tags.piece, tags.attempt) = (stamped.piece, stamped.attempt);
    if let (Some(job), Some(feature)) = (tags.job.clone(), tags.feature.clone()) {
        let left_off = remembered.left_off(&job, &feature);
        tags.counted = left_off.map_or(0, |left_off| left_off.counted);
        let readings_a_piece = register
            .jobs
            .get(&job)
            .map_or(1, |job| i64::from(job.form.readings_a_piece));
        if tags.counted >= readings_a_piece && tags.purpose == Purpose::Inspecting {
            let next = tags.piece + 1;
            go_to(&mut tags, next, remembered);
        }
    }
    Ok((tags, operator_seen_us))
}

pub(super) fn reference(standing: &Standing, tags: &Tags) -> Option<Reference> {
    let (stamped, judged) = (&standing.reading.tags, &standing.reading.judged);
    let same = stamped.job.as_ref().map(|job| &*job.name) == tags.job.as_deref()
        && stamped.feature.as_deref() == tags.feature.as_deref();
    let studied = stamped.purpose == Purpose::Study.code();
    if !same || studied || !standing.counts() {
        return None;
    }
    Some(Reference {
        piece: stamped.piece,
        attempt: stamped.attempt,
        purpose: Purpose::parse(stamped.purpose)?,
        over_wires: Length::from_mm(judged.over_wires_mm).ok()?,
    })
}
