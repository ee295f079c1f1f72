//! A station: what is active where an instrument is plugged in, and what it makes of a frame.
//!
//! Pure: frames, forms and the time come in, readings and changes go out; the record is asked only
//! through [`Remembered`]. A reading is stamped here with the tags active when its frame arrived, then
//! looked at ([`fit`]) and judged ([`judging`]): all of that in [`taking`].

pub mod fit;
pub mod judging;
pub mod passes;
pub mod tags;
mod taking;
#[cfg(test)]
mod tests;
pub mod zero;

use std::sync::Arc;

use overwire_config::settings::{Rules, StationSettings};
use overwire_config::{LatheSettings, UncertaintySettings};
use overwire_core::cutting::Learned;
use overwire_core::decimal::Decimal;
use overwire_core::judge::Purpose;
use overwire_core::units::{Length, Unit};
use overwire_core::zero_check::ZeroStanding;

use crate::clock::Stamp;
use crate::frame::Frame;
use crate::record::grounds::ZeroNote;
use crate::record::repeats::Which;
use crate::record::{Change, Flags, Head, Kind, StampedTags};
use crate::register::forms::{Refusals, due_day};
use crate::register::measuring::{Conditions, InstrumentFacts};
use crate::register::{Prepared, Register};
use fit::Reference;
use passes::PassBook;
pub use tags::{LeftOff, Remembered, Tags, TagsForm};

/// One station.
#[derive(Debug)]
pub struct Station {
    name: Arc<str>,
    unit: Unit,
    instrument: Arc<str>,
    rules: Rules,
    uncertainty: Option<UncertaintySettings>,
    lathe: Option<LatheSettings>,
    zero: Option<ZeroNote>,
    passes: PassBook,
    tags: Tags,
    operator_seen_us: i64,
    prepared: Option<Arc<Prepared>>,
    instrument_now: InstrumentNow,
    stamped: Option<Arc<StampedTags>>,
    last_press: Option<Press>,
    last_wall_us: i64,
    reference: Option<Reference>,
    repeats: RepeatsAge,
    /// Step of the display, as the last reading showed it.
    display: Option<Length>,
}

/// How old what is known of repeats is.
#[derive(Debug, Clone, Copy, Default)]
struct RepeatsAge {
    /// A piece was finished since it was read.
    stale: bool,
    read_ns: i64,
}

/// The record is not asked for repeats more often than this.
const REPEATS_EVERY_NS: i64 = 10_000_000_000;

/// The instrument as the register has it now.
#[derive(Debug, Clone, Default)]
struct InstrumentNow {
    entry: i64,
    due_day: Option<i64>,
    facts: InstrumentFacts,
}

/// The last value that came, to tell a double press.
#[derive(Debug, Clone, PartialEq)]
struct Press {
    number: Decimal,
    unit: Unit,
    mono_ns: i64,
    tags: Arc<StampedTags>,
}

/// The cell of a study that the next reading fills.
#[derive(Debug, Clone, PartialEq)]
pub struct StudySlot {
    /// The study.
    pub study: Arc<str>,
    /// The cell, from 0 in the order of the plan.
    pub cell: i64,
    /// The piece, by its name in the study.
    pub piece_name: Arc<str>,
    /// Its number in the study, from 1.
    pub piece: i64,
    /// How often it was begun: the visit, where a master is visited again and again.
    pub attempt: i64,
    /// The master it is, where its size is known.
    pub master: Option<Master>,
    /// How the wires are held.
    pub method: Arc<str>,
    /// Whose turn it is; none is whoever is there.
    pub operator: Option<Arc<str>>,
}

/// A master that a study asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Master {
    /// Whether it is measured without wires.
    pub plain: bool,
    /// Its certified size, mm.
    pub size_mm: f64,
    /// A reading that is further off is of something else, mm.
    pub far_mm: f64,
}

/// What arrived.
#[derive(Debug, Clone)]
pub struct Arrival {
    /// Bytes of the frame; of a typed value, the text typed.
    pub raw: Vec<u8>,
    /// The number.
    pub number: Decimal,
    /// The unit, if it came with the number.
    pub unit: Option<Unit>,
    /// Channel mark.
    pub channel: Option<String>,
    /// When.
    pub stamp: Stamp,
    /// Whether it was typed in.
    pub typed: bool,
    /// Whether it was waiting in the port when that was opened.
    pub waited: bool,
}

impl Arrival {
    /// Of a frame.
    pub fn of(frame: Frame, stamp: Stamp, waited: bool) -> Arrival {
        Arrival {
            raw: frame.raw,
            number: frame.number,
            unit: frame.unit,
            channel: frame.channel,
            stamp,
            typed: false,
            waited,
        }
    }
}

impl Station {
    /// A station with nothing chosen yet.
    pub fn new(
        settings: &StationSettings,
        rules: Rules,
        uncertainty: Option<UncertaintySettings>,
        method: &str,
    ) -> Station {
        Station {
            name: settings.name.as_str().into(),
            unit: settings.unit,
            instrument: settings.instrument.as_str().into(),
            rules,
            uncertainty,
            lathe: settings.lathe,
            zero: None,
            passes: PassBook::default(),
            tags: Tags::fresh(method),
            operator_seen_us: 0,
            prepared: None,
            instrument_now: InstrumentNow::default(),
            stamped: None,
            last_press: None,
            last_wall_us: 0,
            reference: None,
            repeats: RepeatsAge::default(),
            display: None,
        }
    }

    /// Its name.
    pub fn name(&self) -> &Arc<str> {
        &self.name
    }

    /// Unit of frames that carry none.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Name of its instrument.
    pub fn instrument(&self) -> &Arc<str> {
        &self.instrument
    }

    /// Day its instrument's calibration is due, days since 1970.
    pub fn instrument_due_day(&self) -> Option<i64> {
        self.instrument_now.due_day
    }

    /// What is active.
    pub fn tags(&self) -> &Tags {
        &self.tags
    }

    /// What readings are judged by.
    pub fn prepared(&self) -> Option<&Arc<Prepared>> {
        self.prepared.as_ref()
    }

    /// Who is at work at a moment: nobody, once the name has run out.
    pub fn operator_at(&self, wall_us: i64) -> Option<&str> {
        let name = self.tags.operator.as_deref()?;
        (wall_us < self.operator_until_us()).then_some(name)
    }

    /// When the operator's name runs out.
    pub fn operator_until_us(&self) -> i64 {
        self.operator_seen_us + i64::from(self.rules.operator_minutes) * 60_000_000
    }

    /// Its lathe, where that was told.
    pub fn lathe(&self) -> Option<&LatheSettings> {
        self.lathe.as_ref()
    }

    /// What the passes so far say of the lathe, read with such a step of the display.
    pub fn learned(&self, step: Length) -> Option<Learned> {
        self.passes.learned(step)
    }

    /// Where the last zero check stands at a moment.
    pub fn zero_standing(&self, wall_us: i64) -> ZeroStanding {
        zero::standing(self.zero.as_ref(), wall_us, self.rules.zero_check_hours)
    }

    /// The last zero check.
    pub fn zero(&self) -> Option<&ZeroNote> {
        self.zero.as_ref()
    }

    /// Hours a zero check is good for; 0 when none is asked for.
    pub fn zero_check_hours(&self) -> u32 {
        self.rules.zero_check_hours
    }

    /// Takes up the state of an earlier run.
    pub fn take_up(&mut self, tags: Tags, operator_seen_us: i64) {
        self.tags = tags;
        self.operator_seen_us = operator_seen_us;
    }

    /// Takes up the last zero check of an earlier run, or goes back to the one before.
    pub fn set_zero(&mut self, zero: Option<ZeroNote>) {
        self.zero = zero;
    }

    /// Notes the step of the display as a reading shows it; true where what is known of it changed.
    pub fn set_display(&mut self, step: Length) -> bool {
        self.display.replace(step) != Some(step)
    }

    /// Looks everything up again that the register says, after it changed.
    pub fn refresh(&mut self, register: &Register, remembered: &dyn Remembered) {
        let tags = &self.tags;
        let prepared = tags.job.as_deref().and_then(|job| {
            let feature = tags.feature.as_deref();
            let repeats = self.uncertainty.and(feature).and_then(|feature| {
                remembered.repeats(&Which {
                    job,
                    feature,
                    method: &tags.method,
                    instrument: &self.instrument,
                })
            });
            let conditions = Conditions {
                instrument: Some(&self.instrument),
                uncertainty: self.uncertainty.as_ref(),
                repeats,
                display: self.display,
            };
            register.prepare(job, feature, tags.wire_set.as_deref(), &conditions)
        });
        self.prepared = prepared.map(Arc::new);
        let instrument = register.instruments.get(&*self.instrument);
        self.instrument_now = InstrumentNow {
            entry: instrument.map_or(0, |newest| newest.entry),
            due_day: instrument.and_then(|newest| due_day(&newest.form.due)),
            facts: instrument
                .map(|newest| newest.form.facts())
                .unwrap_or_default(),
        };
        self.stamped = None;
    }

    /// Draws the uncertainty up anew when further pieces were finished, now and then.
    pub fn refresh_repeats(
        &mut self,
        register: &Register,
        remembered: &dyn Remembered,
        now: Stamp,
    ) {
        let due = now.mono_ns - self.repeats.read_ns >= REPEATS_EVERY_NS;
        if self.repeats.stale && due {
            self.repeats = RepeatsAge {
                stale: false,
                read_ns: now.mono_ns,
            };
            self.refresh(register, remembered);
        }
    }

    /// What an uncertainty is drawn up from, besides the register.
    pub fn uncertainty_settings(&self) -> Option<&UncertaintySettings> {
        self.uncertainty.as_ref()
    }

    /// Changes tags as asked; gives the change to be kept.
    ///
    /// # Errors
    /// A sentence for each field that is wrong; nothing is changed then.
    pub fn change_tags(
        &mut self,
        form: &TagsForm,
        register: &Register,
        methods: &[String],
        remembered: &dyn Remembered,
        stamp: Stamp,
    ) -> Result<Change, Refusals> {
        let next = form.apply(&self.tags, register, methods, remembered)?;
        self.may_begin(&next, form, stamp)?;
        self.may_measure_for(next.study.as_deref(), register)?;
        let thread = |tags: &Tags| {
            (
                tags.job.clone(),
                tags.feature.clone(),
                tags.wire_set.clone(),
            )
        };
        if thread(&next) != thread(&self.tags) {
            self.reference = None;
            self.passes.forget_size();
        }
        if form.operator.is_some() || self.operator_at(stamp.wall_us).is_some() {
            self.operator_seen_us = stamp.wall_us;
        }
        self.tags = next;
        self.refresh(register, remembered);
        Ok(self.tags_change(stamp, &form.reason))
    }

    /// Whether tags may be changed so: a job is begun with a zero check that stands, or with a reason, and
    /// a cut is only told where the dial is known.
    fn may_begin(&self, next: &Tags, form: &TagsForm, stamp: Stamp) -> Result<(), Refusals> {
        let mut refusals = Refusals::default();
        let measures = |tags: &Tags| tags.job.is_some() && tags.purpose != Purpose::Zero;
        let begins = measures(next) && (next.job != self.tags.job || !measures(&self.tags));
        if begins && self.rules.zero_check_hours > 0 {
            let standing = self.zero_standing(stamp.wall_us);
            if standing.start(Some(&form.reason)).is_err() {
                let told = standing.sentence(self.unit, 4);
                refusals.note(
                    "reason",
                    format!("{told} Or say why the job is begun without."),
                );
            }
        }
        if let Some(Some(figure)) = &form.dialled
            && let Err(why) = passes::dialled(figure, self.unit, self.lathe.as_ref())
        {
            refusals.note("dialled", why);
        }
        refusals.into_result()
    }

    /// Whether this station's instrument may measure for a study.
    fn may_measure_for(&self, study: Option<&str>, register: &Register) -> Result<(), Refusals> {
        let mut refusals = Refusals::default();
        let form = study.and_then(|name| register.studies.get(name));
        let wanted = form.map_or("", |newest| newest.form.instrument.as_str());
        if !wanted.is_empty() && *wanted != *self.instrument {
            let told = format!(
                "This study is of {wanted}, and {} is plugged in here: go on with it at the station of {wanted}.",
                self.instrument
            );
            refusals.note("study", told);
        }
        refusals.into_result()
    }

    /// Goes to the thread that a study asks for next, with the wires the job names for it. What the study asks
    /// for is in the record already: this makes no change of its own.
    pub fn follow(&mut self, feature: &str, register: &Register, remembered: &dyn Remembered) {
        if self.tags.feature.as_deref() == Some(feature) {
            return;
        }
        let job = self
            .tags
            .job
            .as_ref()
            .and_then(|job| register.jobs.get(job));
        let form = job.and_then(|newest| {
            let mut features = newest.form.features.iter();
            features.find(|form| form.name == feature)
        });
        if let Some(form) = form {
            self.tags.feature = Some(feature.to_owned());
            self.tags.wire_set.clone_from(&form.wire_set);
            self.set_reference(None);
            self.refresh(register, remembered);
        }
    }

    /// Moves to the next or an earlier piece; gives the change to be kept.
    pub fn go_to_piece(&mut self, piece: i64, remembered: &dyn Remembered, stamp: Stamp) -> Change {
        tags::go_to(&mut self.tags, piece.max(1), remembered);
        self.stamped = None;
        self.tags_change(stamp, "")
    }

    /// Sets how far the piece is, after a void or a restore moved it.
    pub fn set_progress(&mut self, left_off: LeftOff, stamp: Stamp) -> Option<Change> {
        let now = LeftOff {
            piece: self.tags.piece,
            attempt: self.tags.attempt,
            counted: self.tags.counted,
        };
        if now == left_off {
            return None;
        }
        self.tags.piece = left_off.piece;
        self.tags.attempt = left_off.attempt;
        self.tags.counted = left_off.counted;
        self.stamped = None;
        Some(self.tags_change(stamp, ""))
    }

    fn tags_change(&self, stamp: Stamp, reason: &str) -> Change {
        Change {
            head: new_head(&self.name, stamp),
            kind: Kind::Tags,
            subject: self.name.to_string(),
            reading: None,
            by: self.tags.operator.clone().unwrap_or_default(),
            reason: reason.to_owned(),
            body: serde_json::to_string(&self.tags).unwrap_or_default(),
        }
    }

    /// Sets the reading that later ones are compared with, or that there is none.
    pub fn set_reference(&mut self, reference: Option<Reference>) {
        self.reference = reference;
        self.passes.forget_size();
    }

    /// What the last reading that counted on this piece measured, if there is one.
    pub fn reference_over_wires(&self) -> Option<Length> {
        let reference = self.reference.as_ref()?;
        let here = (reference.piece, reference.attempt) == (self.tags.piece, self.tags.attempt);
        here.then_some(reference.over_wires)
    }
}

/// Flags that keep a reading from counting.
pub const NEVER_COUNTED: Flags = Flags::DOUBLE_PRESS
    .with(Flags::CLOSED_JAWS)
    .with(Flags::EMPTY)
    .with(Flags::OUT_OF_WINDOW)
    .with(Flags::NO_ZERO)
    .with(Flags::STUDY_DONE)
    .with(Flags::OTHER_MASTER);

/// Head of an entry that is yet to be appended.
pub fn new_head(station: &Arc<str>, stamp: Stamp) -> Head {
    Head {
        entry: 0,
        id: uuid::Uuid::now_v7().into_bytes(),
        station: station.clone(),
        sequence: 0,
        stamp,
        boot_id: [0; 16],
        hash: [0; 32],
    }
}
