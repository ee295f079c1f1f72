//! Putting a reading elsewhere: a re-tag, or the answer to one that was held. The entry as made stays; what
//! is added says what holds from now on, and is judged anew.

use std::sync::Arc;

use overwire_core::decimal::Decimal;
use overwire_core::judge::Purpose;
use overwire_core::units::{Length, Unit};

use super::command::{Answer, HeldForm, Refusal, RetagForm, SayForm, Saying};
use super::desk::{check_said, field};
use super::studies::study_of;
use super::{Collector, RecordMemory};
use crate::record::repeats::Which;
use crate::record::standing::{Restated, Standing};
use crate::record::{Flags, Held, Judged, Kind, Revised, StampedTags};
use crate::register::Prepared;
use crate::register::measuring::Conditions;
use crate::station::fit::{self, Candidate};
use crate::station::judging::Circumstances;
use crate::station::tags::is_plain_word;
use crate::station::{NEVER_COUNTED, Remembered, judging};
use crate::view::unit_of;

/// The thread a reading is to belong to.
struct Wanted {
    job: Option<String>,
    feature: Option<String>,
    wire_set: Option<String>,
}

impl Collector {
    pub(super) fn retag(&mut self, entry: i64, form: &RetagForm) -> Answer {
        let before = self.standing(entry)?;
        check_said(&form.reason, &form.by, true)?;
        if study_of(&before).is_some() || form.purpose.as_deref() == Some(Purpose::Study.code()) {
            return Err(Refusal::new(
                409,
                "of-a-study",
                "Readings are not moved into a study or out of one.",
                "Void it with a reason; its cell is then measured again.",
            ));
        }
        let wanted = self.wanted(&before.reading.tags, form)?;
        let unit = match form.unit.as_deref() {
            None => unit_of(before.reading.unit),
            Some(text) => Unit::parse(text).map_err(|_| field("unit", "Say mm or in."))?,
        };
        let display = display_of(&before, unit);
        let prepared = self.prepared_for(&wanted, &before.reading.tags, display)?;
        let mut tags = (*before.reading.tags).clone();
        self.move_to(&mut tags, &wanted, prepared.as_ref());
        set_words(&mut tags, form, &self.methods)?;
        let zero = Purpose::Zero.code();
        if tags.purpose == zero && before.reading.tags.purpose != zero {
            return Err(field(
                "purpose",
                "A reading is not made a zero check afterwards: check the zero anew.",
            ));
        }
        let judged = if is_moved(&before, unit, &tags) {
            self.looked_at_anew(&before, unit, &tags, prepared.as_ref())?
        } else {
            before.reading.judged.clone()
        };
        let body = restated(unit, &tags, &judged);
        self.change_reading(before, Kind::Retag, &form.reason, &form.by, body)
    }

    /// Job, feature and wire set that a re-tag asks for; what it leaves out stays, and a job that is named
    /// brings the wire set of its feature.
    fn wanted(&self, tags: &StampedTags, form: &RetagForm) -> Result<Wanted, Refusal> {
        let own = |revised: &Option<Revised>| revised.as_ref().map(|r| r.name.to_string());
        let moves = form.job.is_some() || form.feature.is_some();
        let job = form
            .job
            .clone()
            .or_else(|| own(&tags.job))
            .filter(|job| !job.is_empty());
        let feature = match moves {
            true => form.feature.clone(),
            false => tags.feature.as_deref().map(str::to_owned),
        };
        if let Some(set) = form.wire_set.as_ref().filter(|set| !set.is_empty())
            && !self.register.wire_sets.contains_key(set)
        {
            return Err(field("wire_set", &format!("There is no wire set `{set}`.")));
        }
        let of_feature = || self.wire_set_of(job.as_deref()?, feature.as_deref());
        let wire_set = match &form.wire_set {
            Some(set) => Some(set.clone()).filter(|set| !set.is_empty()),
            None if moves => of_feature().or_else(|| own(&tags.wire_set)),
            None => own(&tags.wire_set),
        };
        Ok(Wanted {
            job,
            feature,
            wire_set,
        })
    }

    fn wire_set_of(&self, job: &str, feature: Option<&str>) -> Option<String> {
        let features = &self.register.jobs.get(job)?.form.features;
        let chosen = match feature {
            Some(name) => features.iter().find(|feature| feature.name == name),
            None => features.first(),
        };
        chosen?.wire_set.clone()
    }

    fn prepared_for(
        &self,
        wanted: &Wanted,
        tags: &StampedTags,
        display: Option<Length>,
    ) -> Result<Option<Prepared>, Refusal> {
        let Some(job) = &wanted.job else {
            return Ok(None);
        };
        let (instrument, method) = (&tags.instrument.name, &tags.method);
        let feature = wanted.feature.as_deref();
        let conditions = Conditions {
            display,
            ..self.conditions(instrument, method, Some(job), feature)
        };
        let prepared = self.register.prepare(
            job,
            wanted.feature.as_deref(),
            wanted.wire_set.as_deref(),
            &conditions,
        );
        match prepared {
            Some(prepared) => Ok(Some(prepared)),
            None => Err(field(
                "job",
                &format!("There is no job `{job}` with that thread."),
            )),
        }
    }

    /// Conditions a reading that was made already is judged anew under: with the repeats of the thread it is
    /// judged by, as the record has them today.
    fn conditions<'a>(
        &'a self,
        instrument: &'a str,
        method: &str,
        job: Option<&str>,
        feature: Option<&str>,
    ) -> Conditions<'a> {
        let which = job.zip(feature).map(|(job, feature)| Which {
            job,
            feature,
            method,
            instrument,
        });
        Conditions {
            instrument: Some(instrument),
            uncertainty: self.uncertainty.as_ref(),
            repeats: self
                .uncertainty
                .and(which)
                .and_then(|which| RecordMemory(&self.look).repeats(&which)),
            display: None,
        }
    }

    /// A reading under other tags, looked at as if it had just come: it may be no measurement of this thread
    /// either, or wait for an answer.
    fn looked_at_anew(
        &self,
        before: &Standing,
        unit: Unit,
        tags: &StampedTags,
        prepared: Option<&Prepared>,
    ) -> Result<Judged, Refusal> {
        let mut judged = judged_anew(before, unit, tags, prepared)?;
        let number = number_of(before)?;
        let length = |unit| {
            number
                .length(unit)
                .map_err(|e| field("unit", &format!("{e}.")))
        };
        let step = number.step(unit);
        let candidate = Candidate {
            over_wires: length(unit)?,
            // A person has just said which unit it is.
            in_other_unit: None,
            step: step.map_err(|error| field("unit", &format!("{error}.")))?,
            purpose: Purpose::parse(tags.purpose).unwrap_or(Purpose::Inspecting),
            piece: tags.piece,
            attempt: tags.attempt,
        };
        let fit = fit::look(&candidate, prepared, None, None, &self.register);
        judged.flags = judged.flags | fit.flags;
        if judged.flags.any(NEVER_COUNTED) {
            judged.counted = false;
        }
        if let Some(held) = fit.held {
            judged.held = Some(held);
            judged.counted = false;
            judged.verdict = "none";
        }
        Ok(judged)
    }

    fn move_to(&self, tags: &mut StampedTags, wanted: &Wanted, prepared: Option<&Prepared>) {
        tags.job = prepared.map(|prepared| prepared.job.clone());
        tags.feature = prepared.map(|prepared| prepared.feature.clone());
        tags.wire_set = wanted.wire_set.as_ref().and_then(|name| {
            let set = self.register.wire_sets.get(name)?;
            Some(Revised {
                name: name.as_str().into(),
                entry: set.newest.entry,
            })
        });
    }

    pub(super) fn answer_held(&mut self, entry: i64, form: &HeldForm) -> Answer {
        let before = self.standing(entry)?;
        check_said("", &form.by, false)?;
        let Some(held) = before.reading.judged.held.clone() else {
            return Err(Refusal::new(
                409,
                "not-held",
                "This reading does not wait for an answer.",
                "Look at the page again; somebody may have answered.",
            ));
        };
        let by = form.by.clone();
        match (form.answer.as_str(), held) {
            ("keep", _) => self.keep(before, &by),
            ("void", _) => {
                let reason = "not taken for a measurement".to_owned();
                self.say(
                    entry,
                    Saying::Void,
                    &SayForm {
                        reason,
                        by,
                        ..SayForm::default()
                    },
                )
            }
            ("other_unit", Held::Unit) => {
                let unit = if before.reading.unit == "in" {
                    "mm"
                } else {
                    "in"
                };
                let reason = format!("it was in {unit}");
                let unit = Some(unit.to_owned());
                self.retag(
                    entry,
                    &RetagForm {
                        unit,
                        reason,
                        by,
                        ..RetagForm::default()
                    },
                )
            }
            ("other_job", Held::Job(job, feature)) => {
                let reason = format!("it is {job}, {feature}");
                let (job, feature) = (Some(job.to_string()), Some(feature.to_string()));
                self.retag(
                    entry,
                    &RetagForm {
                        job,
                        feature,
                        reason,
                        by,
                        ..RetagForm::default()
                    },
                )
            }
            _ => Err(field(
                "answer",
                "Say keep or void, or what the reading was held for.",
            )),
        }
    }

    /// Takes a held reading as it stands.
    fn keep(&mut self, before: Standing, by: &str) -> Answer {
        let tags = (*before.reading.tags).clone();
        let unit = unit_of(before.reading.unit);
        let prepared = tags.job.as_ref().and_then(|job| {
            let wires = tags.wire_set.as_ref().map(|set| &*set.name);
            let feature = tags.feature.as_deref();
            let (instrument, method) = (&tags.instrument.name, &tags.method);
            let conditions = Conditions {
                display: display_of(&before, unit),
                ..self.conditions(instrument, method, Some(&job.name), feature)
            };
            self.register
                .prepare(&job.name, tags.feature.as_deref(), wires, &conditions)
        });
        let judged = judged_anew(&before, unit, &tags, prepared.as_ref())?;
        let body = restated(unit, &tags, &judged);
        self.change_reading(before, Kind::Keep, "kept as it is", by, body)
    }
}

/// Flags that belong to a judgement and not to how the reading came.
const AS_JUDGED: Flags = Flags::LEAD_ANGLE
    .with(Flags::EMPTY)
    .with(Flags::OUT_OF_WINDOW)
    .with(Flags::CORRECTED)
    .with(Flags::BEYOND_ELASTIC)
    .with(Flags::NO_ZERO);

/// Sets the words that a re-tag names.
fn set_words(tags: &mut StampedTags, form: &RetagForm, methods: &[String]) -> Result<(), Refusal> {
    let text = |text: &Option<String>| text.as_deref().filter(|t| !t.is_empty()).map(Arc::from);
    if let Some(piece) = form.piece {
        if !(1..=1_000_000).contains(&piece) {
            return Err(field("piece", "Say a piece number from 1 to 1000000."));
        }
        tags.piece = piece;
    }
    for (name, given) in [("position", &form.position), ("operator", &form.operator)] {
        if given.as_deref().is_some_and(|word| !is_plain_word(word)) {
            return Err(field(name, "At most 80 plain characters fit here."));
        }
    }
    if let Some(method) = &form.method {
        if !methods.contains(method) {
            return Err(field(
                "method",
                &format!("The shop's list has {}.", methods.join(", ")),
            ));
        }
        tags.method = method.as_str().into();
    }
    if form.position.is_some() {
        tags.position = text(&form.position);
    }
    if form.operator.is_some() {
        tags.operator = text(&form.operator);
    }
    if let Some(purpose) = &form.purpose {
        let purpose = Purpose::parse(purpose);
        tags.purpose = purpose
            .ok_or_else(|| field("purpose", "Say cutting, inspecting or zero."))?
            .code();
    }
    Ok(())
}

/// Tags, unit and judgement from now on, as the body of the change.
fn restated(unit: Unit, tags: &StampedTags, judged: &Judged) -> String {
    serde_json::to_string(&Restated::of(tags, unit.as_str(), judged)).unwrap_or_default()
}

/// Whether a re-tag changes what a reading is judged by; words alone leave the judgement as it was.
fn is_moved(before: &Standing, unit: Unit, tags: &StampedTags) -> bool {
    let own = &before.reading.tags;
    let name = |revised: &Option<Revised>| revised.as_ref().map(|r| r.name.clone());
    unit_of(before.reading.unit) != unit
        || name(&own.job) != name(&tags.job)
        || own.feature != tags.feature
        || name(&own.wire_set) != name(&tags.wire_set)
        || own.purpose != tags.purpose
}

fn number_of(before: &Standing) -> Result<Decimal, Refusal> {
    Decimal::parse(&before.reading.text).map_err(|error| field("text", &format!("{error}.")))
}

/// The step of the display that a reading shows, its number taken in a unit.
fn display_of(before: &Standing, unit: Unit) -> Option<Length> {
    number_of(before).ok()?.step(unit).ok()
}

/// The judgement of a reading under other tags or in another unit. What was no measurement stays none.
fn judged_anew(
    before: &Standing,
    unit: Unit,
    tags: &StampedTags,
    prepared: Option<&Prepared>,
) -> Result<Judged, Refusal> {
    let over_wires = number_of(before)?
        .length(unit)
        .map_err(|error| field("unit", &format!("{error}.")))?;
    let purpose = Purpose::parse(tags.purpose).unwrap_or(Purpose::Inspecting);
    let circumstances = Circumstances::of(&before.reading.judged.grounds());
    let mut judged = judging::judge(prepared, over_wires, purpose, &circumstances);
    if purpose == Purpose::Zero && before.reading.tags.purpose == tags.purpose {
        judged.verdict = before.reading.judged.verdict;
        judged.grounds.clone_from(&before.reading.judged.grounds);
    }
    let mut kept = before.reading.judged.flags;
    kept.clear(AS_JUDGED);
    judged.flags = judged.flags | kept;
    if judged.flags.any(NEVER_COUNTED) {
        judged.counted = false;
    }
    Ok(judged)
}
