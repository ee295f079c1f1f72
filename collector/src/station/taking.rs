//! A reading made of what arrived at a station: stamped, looked at, judged; and the piece moved on where due.

use std::sync::Arc;

use overwire_core::judge::Purpose;
use overwire_core::units::{Length, Unit, UnitError};

use super::fit::{self, Candidate, Reference};
use super::judging::{self, Circumstances};
use super::tags::{self, Remembered};
use super::{Arrival, NEVER_COUNTED, Press, Station, StudySlot, new_head, passes, zero};
use crate::clock::{Stamp, shop_day};
use crate::record::grounds::{Grounds, StudyNote, ZeroNote};
use crate::record::{Flags, Judged, Reading, Revised, StampedTags, UnitFrom};
use crate::register::{Prepared, Register};

impl Station {
    /// Makes a reading of what arrived: stamped, looked at, judged. Advances the piece where due.
    ///
    /// # Errors
    /// A number too large to be a length.
    pub fn take(
        &mut self,
        arrival: Arrival,
        register: &Register,
        remembered: &dyn Remembered,
        slot: Option<&StudySlot>,
    ) -> Result<Reading, UnitError> {
        let unit = arrival.unit.unwrap_or(self.unit);
        let over_wires = arrival.number.length(unit)?;
        let candidate = self.candidate(&arrival, unit, over_wires)?;
        if self.set_display(candidate.step) && self.uncertainty.is_some() {
            self.refresh(register, remembered);
        }
        let purpose = self.tags.purpose;
        let slot = slot.filter(|_| purpose == Purpose::Study);
        let master = slot.and_then(|slot| slot.master);
        let plain = master.is_some_and(|master| master.plain);
        let prepared = self.prepared.clone().filter(|_| !plain);
        let circumstances = self.circumstances(arrival.stamp.wall_us);
        let mut judged = match plain {
            true => judging::of_plain(over_wires, &circumstances, &self.instrument_now.facts),
            false => judging::judge(prepared.as_deref(), over_wires, purpose, &circumstances),
        };
        if purpose == Purpose::Zero {
            self.check_zero(&mut judged, over_wires, candidate.step, arrival.stamp);
        }
        let first_press = self.first_press(&arrival, unit);
        if first_press.is_some() {
            judged.flags.set(Flags::DOUBLE_PRESS);
        } else {
            let studied = purpose == Purpose::Study;
            let reference = self.reference.as_ref().filter(|_| !studied);
            let most_cut = circumstances.dialled.or(self.deepest_pass());
            let fit = fit::look(
                &candidate,
                prepared.as_deref(),
                reference,
                most_cut,
                register,
            );
            match master {
                // Of a master the size is known: nothing else is held against its reading.
                Some(_) if fit.flags.any(Flags::CLOSED_JAWS) => {
                    judged.flags.set(Flags::CLOSED_JAWS)
                }
                Some(master) if judging::is_far(&judged, &master) => {
                    judged.flags.set(Flags::OTHER_MASTER);
                }
                Some(_) => {}
                None => {
                    judged.flags = judged.flags | fit.flags;
                    judged.held = fit.held;
                }
            }
        }
        if purpose == Purpose::Study {
            note_study(&mut judged, slot);
        }
        self.note_circumstances(&arrival, prepared.as_deref(), &mut judged.flags);
        if judged.held.is_some() || judged.flags.any(NEVER_COUNTED) {
            judged.counted = false;
        }
        if judged.held.is_some() {
            judged.verdict = "none";
        }
        // The second of two presses belongs to the piece of the first, though that may have advanced it.
        let tags = first_press.unwrap_or_else(|| {
            let own = self.stamped_tags(arrival.stamp.wall_us);
            match slot {
                Some(slot) => Arc::new(studied(&own, slot)),
                None => own,
            }
        });
        self.settle(&arrival, unit, over_wires, judged.counted, tags.clone());
        self.note_pass(&judged, circumstances.dialled);
        let reading = Reading {
            head: new_head(&self.name, arrival.stamp),
            text: arrival.number.to_string().into(),
            unit: unit.as_str(),
            unit_from: match (arrival.typed, arrival.unit) {
                (true, _) => UnitFrom::Typed,
                (false, Some(_)) => UnitFrom::Frame,
                (false, None) => UnitFrom::Station,
            },
            channel: arrival.channel.map(Into::into),
            raw: arrival.raw,
            tags,
            judged,
        };
        if reading.judged.counted {
            self.advance(remembered);
        }
        Ok(reading)
    }

    fn circumstances(&self, wall_us: i64) -> Circumstances {
        let [part_celsius, gauge_celsius] = self.tags.temperatures();
        let cutting = self.tags.purpose == Purpose::Cutting;
        let figure = self.tags.dialled.as_deref().filter(|_| cutting);
        let hours = self.rules.zero_check_hours;
        Circumstances {
            zero: self.zero.map(|note| ZeroNote {
                stands: zero::stands(&note, wall_us, hours),
                ..note
            }),
            dialled: figure
                .and_then(|figure| passes::dialled(figure, self.unit, self.lathe.as_ref()).ok()),
            part_celsius,
            gauge_celsius,
        }
    }

    /// The most a pass takes off in this shop, where that was told.
    fn deepest_pass(&self) -> Option<Length> {
        self.lathe.as_ref()?.deepest
    }

    /// What a zero check says; the next readings go by it.
    fn check_zero(&mut self, judged: &mut Judged, reading: Length, step: Length, stamp: Stamp) {
        let found = zero::look(reading, &self.instrument_now.facts, step, stamp.wall_us);
        match found {
            zero::Found::Check(note) => {
                judged.verdict = zero::verdict(&note);
                let grounds = Grounds {
                    zero: Some(note),
                    ..Grounds::default()
                };
                judged.grounds = grounds.to_text().map(Into::into);
                self.zero = Some(note);
            }
            zero::Found::Far => judged.flags.set(Flags::NO_ZERO),
        }
    }

    /// Learns from a pass, and uses up what was dialled for it.
    fn note_pass(&mut self, judged: &Judged, dialled: Option<Length>) {
        if self.tags.purpose != Purpose::Cutting || judged.flags.any(Flags::DOUBLE_PRESS) {
            return;
        }
        // One that is in doubt is measured again, and compared with the same cut.
        if judged.held.is_some() {
            return;
        }
        let sits = judged.counted && judged.seat == "ok";
        let size = judged.pitch_diameter_mm.filter(|_| sits);
        if let Some(size) = size.and_then(|mm| Length::from_mm(mm).ok()) {
            let (piece, attempt) = (self.tags.piece, self.tags.attempt);
            self.passes.take(piece, attempt, size, dialled);
        }
        self.tags.dialled = None;
    }

    fn candidate(
        &self,
        arrival: &Arrival,
        unit: Unit,
        over_wires: Length,
    ) -> Result<Candidate, UnitError> {
        let other = match unit {
            Unit::Millimetre => Unit::Inch,
            Unit::Inch => Unit::Millimetre,
        };
        let named_by_frame = arrival.unit.is_some() && !arrival.typed;
        Ok(Candidate {
            over_wires,
            in_other_unit: if named_by_frame {
                None
            } else {
                arrival.number.length(other).ok()
            },
            step: arrival.number.step(unit)?,
            purpose: self.tags.purpose,
            piece: self.tags.piece,
            attempt: self.tags.attempt,
        })
    }

    /// The tags of the press that this one doubles, if it does.
    fn first_press(&self, arrival: &Arrival, unit: Unit) -> Option<Arc<StampedTags>> {
        let within_ns = i64::from(self.rules.double_press_ms) * 1_000_000;
        let last = self.last_press.as_ref().filter(|_| !arrival.typed)?;
        let same = (last.number, last.unit) == (arrival.number, unit)
            && last.tags.purpose == self.tags.purpose.code()
            && arrival.stamp.mono_ns - last.mono_ns < within_ns;
        same.then(|| last.tags.clone())
    }

    fn note_circumstances(
        &self,
        arrival: &Arrival,
        prepared: Option<&Prepared>,
        flags: &mut Flags,
    ) {
        let wall_us = arrival.stamp.wall_us;
        let today = shop_day(wall_us, arrival.stamp.utc_offset_s);
        let overdue = |due: Option<i64>| due.is_some_and(|day| day < today);
        let circumstances = [
            (self.instrument_now.entry == 0, Flags::UNREGISTERED),
            (
                overdue(self.instrument_now.due_day),
                Flags::OVERDUE_INSTRUMENT,
            ),
            (
                overdue(prepared.and_then(|p| p.wires_due_day)),
                Flags::OVERDUE_WIRES,
            ),
            (self.operator_at(wall_us).is_none(), Flags::UNATTRIBUTED),
            (arrival.typed, Flags::TYPED),
            (arrival.waited, Flags::WAITED_IN_PORT),
            (wall_us < self.last_wall_us, Flags::CLOCK_WENT_BACK),
            (self.zero_is(wall_us, "off_by"), Flags::ZERO_OFF),
            (self.zero_is_old(wall_us), Flags::ZERO_OLD),
        ];
        for (holds, flag) in circumstances {
            if holds {
                flags.set(flag);
            }
        }
    }

    fn zero_is(&self, wall_us: i64, code: &str) -> bool {
        self.tags.purpose != Purpose::Zero && self.zero_standing(wall_us).code() == code
    }

    fn zero_is_old(&self, wall_us: i64) -> bool {
        let asked_for = self.rules.zero_check_hours > 0;
        let is = |code| self.zero_is(wall_us, code);
        asked_for && (is("missing") || is("old") || is("clock_went_back"))
    }

    /// The tags as stamped on a reading; one value shared by all readings until something changes.
    fn stamped_tags(&mut self, wall_us: i64) -> Arc<StampedTags> {
        let operator_now = self.operator_at(wall_us).is_some();
        if let Some(stamped) = &self.stamped
            && stamped.operator.is_some() == operator_now
        {
            return stamped.clone();
        }
        let text = |text: &Option<String>| text.as_deref().map(Arc::from);
        let prepared = self.prepared.as_deref();
        let stamped = Arc::new(StampedTags {
            job: prepared.map(|prepared| prepared.job.clone()),
            feature: prepared.map(|prepared| prepared.feature.clone()),
            piece: self.tags.piece,
            attempt: self.tags.attempt,
            position: text(&self.tags.position),
            wire_set: prepared.and_then(|prepared| prepared.wire_set.clone()),
            instrument: Revised {
                name: self.instrument.clone(),
                entry: self.instrument_now.entry,
            },
            method: self.tags.method.as_str().into(),
            operator: self.operator_at(wall_us).map(Arc::from),
            purpose: self.tags.purpose.code(),
        });
        self.stamped = Some(stamped.clone());
        stamped
    }

    /// Remembers what the next reading is compared with.
    fn settle(
        &mut self,
        arrival: &Arrival,
        unit: Unit,
        over_wires: Length,
        counted: bool,
        tags: Arc<StampedTags>,
    ) {
        let wall_us = arrival.stamp.wall_us;
        if self.operator_at(wall_us).is_some() {
            self.operator_seen_us = self.operator_seen_us.max(wall_us);
        }
        self.last_wall_us = wall_us;
        self.last_press = Some(Press {
            number: arrival.number,
            unit,
            mono_ns: arrival.stamp.mono_ns,
            tags,
        });
        if counted && self.tags.purpose != Purpose::Study {
            self.reference = Some(Reference {
                piece: self.tags.piece,
                attempt: self.tags.attempt,
                purpose: self.tags.purpose,
                over_wires,
            });
        }
    }

    fn advance(&mut self, remembered: &dyn Remembered) {
        let Some(prepared) = &self.prepared else {
            return;
        };
        if self.tags.purpose != Purpose::Inspecting {
            return;
        }
        self.tags.counted += 1;
        self.repeats.stale |= self.uncertainty.is_some() && self.tags.counted > 1;
        if self.tags.counted >= prepared.readings_a_piece {
            let next = self.tags.piece + 1;
            tags::go_to(&mut self.tags, next, remembered);
            self.stamped = None;
            self.passes.forget_size();
        }
    }
}

/// Notes the cell that a reading fills, or that there is none left.
fn note_study(judged: &mut Judged, slot: Option<&StudySlot>) {
    let Some(slot) = slot else {
        judged.flags.set(Flags::STUDY_DONE);
        return;
    };
    let grounds = Grounds {
        study: Some(StudyNote {
            study: slot.study.to_string(),
            cell: slot.cell,
            piece: slot.piece_name.to_string(),
        }),
        ..judged.grounds()
    };
    judged.grounds = grounds.to_text().map(Into::into);
}

/// The station's tags with what a study's cell asks for.
fn studied(own: &StampedTags, slot: &StudySlot) -> StampedTags {
    let plain = slot.master.is_some_and(|master| master.plain);
    // Plain masters carry no thread: what the station is else set to has no part in their readings.
    let threaded = StampedTags {
        job: own.job.clone().filter(|_| !plain),
        feature: own.feature.clone().filter(|_| !plain),
        wire_set: own.wire_set.clone().filter(|_| !plain),
        position: own.position.clone().filter(|_| !plain),
        ..own.clone()
    };
    StampedTags {
        piece: slot.piece,
        attempt: slot.attempt,
        method: slot.method.clone(),
        operator: slot.operator.clone().or_else(|| own.operator.clone()),
        ..threaded
    }
}
