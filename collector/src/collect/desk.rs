//! What the collector does for the page: each thing becomes an entry, is committed, then told.

use std::sync::Arc;

use overwire_core::decimal::Decimal;
use overwire_core::judge::Purpose;
use overwire_core::units::Unit;
use serde::Serialize;

use super::command::{Answer, Ask, Refusal, SayForm, Saying, Signed, TypedForm};
use super::restore::{reference, restore_zero};
use super::studies::study_of;
use super::{Collector, RecordMemory};
use crate::feed::write_event;
use crate::record::standing::Standing;
use crate::record::{Change, Kind, StampedTags, reader};
use crate::register::forms::{JobForm, Refusals};
use crate::register::studies::StudyForm;
use crate::station::{Arrival, LeftOff, Remembered, TagsForm, new_head};
use crate::view::ReadingView;

pub(super) const LONGEST_REMARK: usize = 500;
pub(super) const LONGEST_NAME: usize = 200;

impl Collector {
    pub(super) fn answer(&mut self, ask: Ask) -> Answer {
        self.flush();
        if self.try_again_ns.is_some() {
            return Err(Refusal::new(
                503,
                "not-stored",
                "The record cannot be written at the moment, so nothing is changed.",
                "Look at the record's trouble on the page; readings are held until it can be written.",
            ));
        }
        match ask {
            Ask::Tags { station, form } => self.change_tags(&station, &form),
            Ask::Piece { station, by } => self.move_piece(&station, by),
            Ask::Typed { station, form } => self.take_typed(&station, &form),
            Ask::Say { entry, what, form } => self.say(entry, what, &form),
            Ask::Retag { entry, form } => self.retag(entry, &form),
            Ask::Held { entry, form } => self.answer_held(entry, &form),
            Ask::Functional(form) => self.check_functionally(&form),
            Ask::Job(signed) => {
                check_said("", &signed.by, false)?;
                signed.form.check()?;
                self.check_wire_sets(&signed.form)?;
                self.save(Kind::Job, &signed.form.job.clone(), &signed.form, signed.by)
            }
            Ask::Study(signed) => self.plan_study(signed),
            Ask::WireSet(signed) => {
                check_said("", &signed.by, false)?;
                signed.form.check()?;
                self.save(
                    Kind::WireSet,
                    &signed.form.wire_set.clone(),
                    &signed.form,
                    signed.by,
                )
            }
            Ask::Instrument(signed) => {
                check_said("", &signed.by, false)?;
                signed.form.check()?;
                self.save(
                    Kind::Instrument,
                    &signed.form.instrument.clone(),
                    &signed.form,
                    signed.by,
                )
            }
        }
    }

    /// Commits what was pushed; refuses if that could not be done.
    pub(super) fn commit(&mut self) -> Result<(), Refusal> {
        self.flush();
        if self.try_again_ns.is_none() {
            return Ok(());
        }
        Err(Refusal::new(
            503,
            "not-stored-yet",
            "This could not be stored yet; it is held and will be stored when the record can be written.",
            "Look at the record's trouble on the page before doing it again.",
        ))
    }

    fn change_tags(&mut self, station: &str, form: &TagsForm) -> Answer {
        let index = self.index_of(station)?;
        let now = self.now();
        let Some(bench) = self.benches.get_mut(index) else {
            return Err(Refusal::missing("station", station));
        };
        let memory = RecordMemory(&self.look);
        let change =
            bench
                .station
                .change_tags(form, &self.register, &self.methods, &memory, now)?;
        self.push_change(change);
        self.station_answer(index)
    }

    fn move_piece(&mut self, station: &str, by: i64) -> Answer {
        let index = self.index_of(station)?;
        let now = self.now();
        let Some(bench) = self.benches.get_mut(index) else {
            return Err(Refusal::missing("station", station));
        };
        let piece = bench.station.tags().piece + by;
        if piece < 1 {
            return Err(Refusal::new(
                409,
                "first-piece",
                "This is the first piece.",
                "Pieces are numbered from 1.",
            ));
        }
        let change = bench
            .station
            .go_to_piece(piece, &RecordMemory(&self.look), now);
        self.push_change(change);
        self.station_answer(index)
    }

    fn station_answer(&mut self, index: usize) -> Answer {
        self.commit()?;
        let now = self.now();
        let Some(bench) = self.benches.get_mut(index) else {
            return Ok("{}".to_owned());
        };
        bench.dirty = true;
        bench.look_up_checks(&self.look);
        Ok(bench.board(&self.register, &self.studies).to_json(now))
    }

    fn take_typed(&mut self, station: &str, form: &TypedForm) -> Answer {
        let index = self.index_of(station)?;
        let mut refusals = Refusals::default();
        let number = Decimal::parse_typed(form.text.trim())
            .map_err(|error| refusals.note("text", format!("{error}.")))
            .ok();
        let unit = match form.unit.as_str() {
            "" => None,
            text => Unit::parse(text)
                .map_err(|_| refusals.note("unit", "Say mm or in."))
                .ok(),
        };
        let Some(number) = number else {
            return Err(refusals.into());
        };
        refusals.clone().into_result()?;
        let own_unit = self.benches.get(index).map(|bench| bench.station.unit());
        let arrival = Arrival {
            raw: form.text.trim().as_bytes().to_vec(),
            number,
            unit: unit.or(own_unit),
            channel: None,
            stamp: self.now(),
            typed: true,
            waited: false,
        };
        let length = number.length(arrival.unit.unwrap_or(Unit::Millimetre));
        if let Err(error) = length {
            refusals.note("text", format!("{error}."));
            return Err(refusals.into());
        }
        self.take(index, arrival);
        self.commit()?;
        let last = self
            .benches
            .get(index)
            .and_then(|bench| bench.recent.front().cloned());
        Ok(last.map_or_else(
            || "{}".to_owned(),
            |standing| ReadingView::of(&standing).to_json(),
        ))
    }

    pub(super) fn standing(&self, entry: i64) -> Result<Standing, Refusal> {
        reader::standing(&self.look, entry)?.ok_or_else(|| Refusal::missing("reading", entry))
    }

    pub(super) fn say(&mut self, entry: i64, what: Saying, form: &SayForm) -> Answer {
        let before = self.standing(entry)?;
        let text = if form.reason.is_empty() {
            &form.text
        } else {
            &form.reason
        };
        check_said(text, &form.by, what != Saying::Restore)?;
        let refuse = |code, error: &str| {
            Refusal::new(
                409,
                code,
                error,
                "Look at the page again; it may have changed.",
            )
        };
        if what == Saying::Restore && study_of(&before).is_some() {
            return Err(refuse(
                "of-a-study",
                "A reading of a study that was voided is measured again, not restored.",
            ));
        }
        match what {
            Saying::Void if before.void.is_some() => {
                return Err(refuse("already-void", "This reading is void already."));
            }
            Saying::Restore if before.void.is_none() => {
                return Err(refuse("not-void", "This reading is not void."));
            }
            _ => {}
        }
        let kind = match what {
            Saying::Void => Kind::Void,
            Saying::Restore => Kind::Restore,
            Saying::Comment => Kind::Comment,
        };
        self.change_reading(before, kind, text, &form.by, String::new())
    }

    /// Keeps a change of a reading, then tells how the reading stands now.
    pub(super) fn change_reading(
        &mut self,
        before: Standing,
        kind: Kind,
        reason: &str,
        by: &str,
        body: String,
    ) -> Answer {
        let entry = before.reading.head.entry;
        let station = before.reading.head.station.clone();
        let now = self.now();
        self.push_change(Change {
            head: new_head(&station, now),
            kind,
            subject: String::new(),
            reading: Some(entry),
            by: by.to_owned(),
            reason: reason.to_owned(),
            body,
        });
        self.commit()?;
        let after = Arc::new(self.standing(entry)?);
        let json = ReadingView::of(&after).to_json();
        if let Ok(index) = self.index_of(&station) {
            if let Some(bench) = self.benches.get_mut(index) {
                bench.replace(&before, &after);
                let tags = bench.station.tags();
                let compared = bench.recent.iter().find_map(|each| reference(each, tags));
                bench.station.set_reference(compared);
                let zero = Purpose::Zero.code();
                if [&before, &after]
                    .iter()
                    .any(|each| each.reading.tags.purpose == zero)
                {
                    restore_zero(bench, &self.look, now)?;
                }
                bench.dirty = true;
            }
            if let Some(study) = study_of(&after) {
                self.studies.reload(&study, &self.register, &self.look)?;
            } else {
                self.settle_piece(index, &after)?;
            }
        }
        self.events.clear();
        write_event(&mut self.events, "revised", None, &json);
        self.send_events(0);
        Ok(json)
    }

    /// Counts the piece again after a reading of it was voided, restored, moved or kept. A piece that had
    /// advanced on a reading that no longer counts is taken up again.
    fn settle_piece(&mut self, index: usize, after: &Standing) -> Result<(), Refusal> {
        let now = self.now();
        let Some(bench) = self.benches.get_mut(index) else {
            return Ok(());
        };
        let tags = bench.station.tags().clone();
        let (Some(job), Some(feature)) = (&tags.job, &tags.feature) else {
            return Ok(());
        };
        let needed = bench
            .station
            .prepared()
            .map_or(1, |prepared| prepared.readings_a_piece);
        let memory = RecordMemory(&self.look);
        let counted = |piece, attempt| reader::counted_on(&self.look, job, feature, piece, attempt);
        let here = counted(tags.piece, tags.attempt)?;
        let mut left_off = LeftOff {
            piece: tags.piece,
            attempt: tags.attempt,
            counted: here,
        };
        let moved = &after.reading.tags;
        // Answered in another unit it is still of its piece; moved elsewhere it is not.
        let is_at_home = is_of(moved, job, feature, moved.piece)
            && after
                .before
                .as_ref()
                .is_none_or(|b| is_of(&b.tags, job, feature, moved.piece));
        let just_left = is_at_home
            && moved.piece + 1 == tags.piece
            && here == 0
            && memory.attempts(Some(job), Some(feature), tags.piece) < tags.attempt;
        if just_left {
            let there = counted(moved.piece, moved.attempt)?;
            if there < needed {
                left_off = LeftOff {
                    piece: moved.piece,
                    attempt: moved.attempt,
                    counted: there,
                };
            }
        } else if here >= needed && tags.purpose == Purpose::Inspecting {
            let piece = tags.piece + 1;
            let attempt = memory.attempts(Some(job), Some(feature), piece) + 1;
            left_off = LeftOff {
                piece,
                attempt,
                counted: 0,
            };
        }
        if let Some(change) = bench.station.set_progress(left_off, now) {
            bench.dirty = true;
            self.push_change(change);
            self.commit()?;
        }
        Ok(())
    }

    /// Refuses wire sets that nobody has entered.
    fn check_wire_sets(&self, form: &JobForm) -> Result<(), Refusals> {
        let mut refusals = Refusals::default();
        for (index, feature) in form.features.iter().enumerate() {
            if let Some(set) = &feature.wire_set
                && !self.register.wire_sets.contains_key(set)
            {
                let sentence = format!("There is no wire set `{set}`; enter it first.");
                refusals.note(format!("features.{index}.wire_set"), sentence);
            }
        }
        refusals.into_result()
    }

    /// Keeps the plan of a study. One that has begun keeps its plan: the readings made for it would mean
    /// something else.
    fn plan_study(&mut self, signed: Signed<StudyForm>) -> Answer {
        check_said("", &signed.by, false)?;
        let mut form = signed.form;
        let begun = self.studies.get(&form.study);
        if begun.is_some_and(|running| running.course.has_begun()) {
            return Err(field(
                "study",
                "This study has begun; give the new plan another name.",
            ));
        }
        if form.seed == 0 {
            form.seed = any_seed();
        }
        form.check(&self.register, &self.methods)?;
        let name = form.study.clone();
        let answer = self.save(Kind::Study, &name, &form, signed.by)?;
        self.studies.reload(&name, &self.register, &self.look)?;
        Ok(answer)
    }

    /// Keeps a revision of a job, wire set or instrument.
    fn save(&mut self, kind: Kind, name: &str, form: &impl Serialize, by: String) -> Answer {
        let now = self.now();
        let body = serde_json::to_string(form).unwrap_or_default();
        self.push_change(Change {
            head: new_head(&Arc::from(""), now),
            kind,
            subject: name.to_owned(),
            reading: None,
            by,
            reason: String::new(),
            body,
        });
        self.commit()?;
        let saved = reader::changes_of_kinds(&self.look, &[kind])?;
        let mut register = (*self.register).clone();
        if let Some(change) = saved.iter().rev().find(|change| change.subject == name) {
            register.apply(change)?;
        }
        self.register = Arc::new(register);
        for bench in &mut self.benches {
            bench
                .station
                .refresh(&self.register, &RecordMemory(&self.look));
            bench.dirty = true;
        }
        self.feed.put_register(self.register.clone());
        self.send_event("register", "{}");
        Ok(serde_json::json!({ "saved": name }).to_string())
    }
}

/// Whether a reading with these tags is of a piece of a job's feature.
fn is_of(tags: &StampedTags, job: &str, feature: &str, piece: i64) -> bool {
    tags.job.as_ref().is_some_and(|own| *own.name == *job)
        && tags.feature.as_deref() == Some(feature)
        && tags.piece == piece
}

pub(super) fn field(name: &str, sentence: &str) -> Refusal {
    let mut refusals = Refusals::default();
    refusals.note(name, sentence);
    refusals.into()
}

/// A seed that nobody chose, never 0.
fn any_seed() -> u32 {
    let id = uuid::Uuid::now_v7().as_u128();
    (id as u32).max(1)
}

/// Checks a reason or remark, and who gives it.
pub(super) fn check_said(text: &str, by: &str, needed: bool) -> Result<(), Refusal> {
    if needed && text.trim().is_empty() {
        return Err(field("reason", "Say why, in a word or two."));
    }
    if text.chars().count() > LONGEST_REMARK {
        return Err(field("reason", "At most 500 characters fit here."));
    }
    if text.chars().any(|c| c.is_control() && c != '\n') {
        return Err(field("reason", "Control characters do not belong here."));
    }
    if by.chars().count() > LONGEST_NAME || by.chars().any(char::is_control) {
        return Err(field("by", "Say who in at most 200 plain characters."));
    }
    Ok(())
}
