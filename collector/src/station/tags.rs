//! What is active at a station, and how a person changes it.

use overwire_core::correction::Temperature;
use overwire_core::decimal::Decimal;
use overwire_core::judge::Purpose;
use serde::{Deserialize, Deserializer, Serialize};

use crate::record::repeats::Which;
use crate::register::Register;
use crate::register::budget::Repeats;
use crate::register::forms::Refusals;
use crate::register::measuring::Conditions;

/// What is active at a station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tags {
    /// Job.
    pub job: Option<String>,
    /// One thread on the piece.
    pub feature: Option<String>,
    /// Workpiece, from 1.
    pub piece: i64,
    /// How often this piece was begun, from 1.
    pub attempt: i64,
    /// Where along or around the thread.
    pub position: Option<String>,
    /// Wire set.
    pub wire_set: Option<String>,
    /// How the wires are held.
    pub method: String,
    /// Who.
    pub operator: Option<String>,
    /// What readings are taken for.
    pub purpose: Purpose,
    /// Counted `inspecting` readings on this piece so far.
    pub counted: i64,
    /// The study whose cells are filled, while it is not paused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub study: Option<String>,
    /// What the dial was moved in by for the next pass, as typed; gone with the next reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dialled: Option<String>,
    /// Temperature of this piece, degrees Celsius, as typed; gone with the piece.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_celsius: Option<String>,
    /// Temperature of wires and micrometer, degrees Celsius, as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_celsius: Option<String>,
}

impl Tags {
    /// Nothing chosen yet.
    pub fn fresh(method: &str) -> Tags {
        Tags {
            job: None,
            feature: None,
            piece: 1,
            attempt: 1,
            position: None,
            wire_set: None,
            method: method.to_owned(),
            operator: None,
            purpose: Purpose::Cutting,
            counted: 0,
            study: None,
            dialled: None,
            part_celsius: None,
            gauge_celsius: None,
        }
    }

    /// Temperatures told, degrees Celsius: of the part, and of wires and micrometer.
    pub fn temperatures(&self) -> [Option<f64>; 2] {
        [&self.part_celsius, &self.gauge_celsius].map(|text| text.as_deref().and_then(celsius))
    }
}

/// A temperature as typed, degrees Celsius; none where it is no plausible one.
fn celsius(text: &str) -> Option<f64> {
    let value = Decimal::parse_typed(text).ok()?.value();
    Temperature::from_celsius(value).ok()?;
    Some(value)
}

/// What a person wants changed. A field left out stays; an empty text or null clears.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TagsForm {
    /// Job to make active.
    #[serde(deserialize_with = "given")]
    pub job: Option<Option<String>>,
    /// Feature of the job.
    #[serde(deserialize_with = "given")]
    pub feature: Option<Option<String>>,
    /// Piece number, from 1.
    pub piece: Option<i64>,
    /// Position on the thread.
    #[serde(deserialize_with = "given")]
    pub position: Option<Option<String>>,
    /// Wire set.
    #[serde(deserialize_with = "given")]
    pub wire_set: Option<Option<String>>,
    /// How the wires are held.
    pub method: Option<String>,
    /// Who.
    #[serde(deserialize_with = "given")]
    pub operator: Option<Option<String>>,
    /// `cutting`, `inspecting` or `zero`; pauses a study.
    pub purpose: Option<String>,
    /// Study to go on with; null pauses it.
    #[serde(deserialize_with = "given")]
    pub study: Option<Option<String>>,
    /// What the dial was moved in by for the next pass, in the dial's numbers.
    #[serde(deserialize_with = "given")]
    pub dialled: Option<Option<String>>,
    /// Temperature of the piece, degrees Celsius.
    #[serde(deserialize_with = "given")]
    pub part_celsius: Option<Option<String>>,
    /// Temperature of wires and micrometer, degrees Celsius.
    #[serde(deserialize_with = "given")]
    pub gauge_celsius: Option<Option<String>>,
    /// Why, if there is something to say.
    pub reason: String,
}

/// Tells a field that is null or empty (clear it) from one that was left out (leave it).
fn given<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Option<String>>, D::Error> {
    let text: Option<String> = Option::deserialize(deserializer)?;
    Ok(Some(text.filter(|text| !text.is_empty())))
}

/// Where a job was left off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOff {
    /// Last piece measured.
    pub piece: i64,
    /// Its last attempt.
    pub attempt: i64,
    /// Counted `inspecting` readings on it.
    pub counted: i64,
}

/// What the record remembers of pieces.
pub trait Remembered {
    /// Where a job's feature was left off; none when it was never measured.
    fn left_off(&self, job: &str, feature: &str) -> Option<LeftOff>;
    /// Highest attempt at a piece; 0 when it was never begun.
    fn attempts(&self, job: Option<&str>, feature: Option<&str>, piece: i64) -> i64;
    /// How well readings of one piece repeat; none while there are no repeats.
    fn repeats(&self, which: &Which<'_>) -> Option<Repeats>;
}

const LONGEST_WORD: usize = 80;

impl TagsForm {
    /// The tags with what was asked for, or why that cannot be.
    ///
    /// # Errors
    /// A sentence for each field that is wrong; nothing is changed then.
    pub fn apply(
        &self,
        tags: &Tags,
        register: &Register,
        methods: &[String],
        remembered: &dyn Remembered,
    ) -> Result<Tags, Refusals> {
        let mut next = tags.clone();
        let mut refusals = Refusals::default();
        self.apply_job(&mut next, &mut refusals, register, remembered);
        self.apply_wires(&mut next, &mut refusals, register);
        self.apply_words(&mut next, &mut refusals, methods);
        self.apply_study(&mut next, &mut refusals, register, remembered);
        self.apply_temperatures(&mut next, &mut refusals);
        if let Some(dialled) = &self.dialled {
            next.dialled.clone_from(dialled);
        }
        if let Some(piece) = self.piece {
            if (1..=1_000_000).contains(&piece) {
                go_to(&mut next, piece, remembered);
            } else {
                refusals.note("piece", "Say a piece number from 1 to 1000000.");
            }
        }
        refusals.into_result().map(|()| next)
    }

    fn apply_job(
        &self,
        next: &mut Tags,
        refusals: &mut Refusals,
        register: &Register,
        remembered: &dyn Remembered,
    ) {
        if let Some(job) = &self.job {
            if next.job != *job {
                next.part_celsius = None;
                next.dialled = None;
            }
            next.job = job.clone();
            next.feature = None;
            next.position = None;
        }
        if let Some(feature) = &self.feature {
            next.feature = feature.clone();
        }
        if self.job.is_none() && self.feature.is_none() {
            return;
        }
        let Some(name) = next.job.clone() else {
            next.feature = None;
            return;
        };
        let Some(job) = register.jobs.get(&name) else {
            refusals.note("job", format!("There is no job `{name}`; set it up first."));
            return;
        };
        let features = &job.form.features;
        let chosen = match &next.feature {
            None => features.first(),
            Some(wanted) => features.iter().find(|feature| feature.name == *wanted),
        };
        let Some(chosen) = chosen else {
            let names = features
                .iter()
                .map(|f| f.name.as_str())
                .collect::<Vec<_>>()
                .join(", ");
            refusals.note(
                "feature",
                format!("Job {name} has no such thread; it has {names}."),
            );
            return;
        };
        next.feature = Some(chosen.name.clone());
        if chosen.wire_set.is_some() {
            next.wire_set.clone_from(&chosen.wire_set);
        }
        resume(next, i64::from(job.form.readings_a_piece), remembered);
    }

    fn apply_wires(&self, next: &mut Tags, refusals: &mut Refusals, register: &Register) {
        let Some(wire_set) = &self.wire_set else {
            return;
        };
        if let Some(name) = wire_set
            && !register.wire_sets.contains_key(name)
        {
            refusals.note(
                "wire_set",
                format!("There is no wire set `{name}`; enter it first."),
            );
            return;
        }
        next.wire_set.clone_from(wire_set);
        let (Some(job), Some(_)) = (&next.job, &next.wire_set) else {
            return;
        };
        let prepared = register.prepare(
            job,
            next.feature.as_deref(),
            next.wire_set.as_deref(),
            &Conditions::default(),
        );
        if let Some(problem) = prepared.and_then(|prepared| prepared.wires_problem) {
            refusals.note("wire_set", problem);
        }
    }

    /// A study brings its job and feature with it; another purpose or job pauses it.
    fn apply_study(
        &self,
        next: &mut Tags,
        refusals: &mut Refusals,
        register: &Register,
        remembered: &dyn Remembered,
    ) {
        match &self.study {
            Some(Some(name)) => {
                let Some(newest) = register.studies.get(name) else {
                    refusals.note(
                        "study",
                        format!("There is no study `{name}`; plan it first."),
                    );
                    return;
                };
                let form = &newest.form;
                let to_job = TagsForm {
                    job: Some(Some(form.job.clone())),
                    feature: Some(Some(form.feature.clone())),
                    ..TagsForm::default()
                };
                // Plain masters leave the job as it is, for when the study is paused.
                let elsewhere = next.job.as_ref() != Some(&form.job)
                    || next.feature.as_ref() != Some(&form.feature);
                if elsewhere && !form.is_plain() {
                    to_job.apply_job(next, refusals, register, remembered);
                }
                next.study = Some(name.clone());
                next.purpose = Purpose::Study;
            }
            Some(None) => self.pause_study(next),
            None => {
                let elsewhere = self.job.is_some() || self.feature.is_some();
                if next.study.is_some() && (elsewhere || next.purpose != Purpose::Study) {
                    self.pause_study(next);
                }
            }
        }
        if next.purpose == Purpose::Study && next.study.is_none() {
            refusals.note("purpose", "Choose a study to go on with.");
        }
    }

    fn pause_study(&self, next: &mut Tags) {
        next.study = None;
        if next.purpose == Purpose::Study && self.purpose.is_none() {
            next.purpose = Purpose::Inspecting;
        }
    }

    fn apply_temperatures(&self, next: &mut Tags, refusals: &mut Refusals) {
        for (field, given, place) in [
            ("part_celsius", &self.part_celsius, &mut next.part_celsius),
            (
                "gauge_celsius",
                &self.gauge_celsius,
                &mut next.gauge_celsius,
            ),
        ] {
            let Some(given) = given else { continue };
            if given.as_deref().is_none_or(|text| celsius(text).is_some()) {
                place.clone_from(given);
            } else {
                refusals.note(
                    field,
                    "Say the temperature in degrees Celsius, as 23.5, from -50 to 200.",
                );
            }
        }
    }

    fn apply_words(&self, next: &mut Tags, refusals: &mut Refusals, methods: &[String]) {
        if let Some(method) = &self.method {
            if methods.contains(method) {
                next.method.clone_from(method);
            } else {
                refusals.note(
                    "method",
                    format!("The shop's list has {}.", methods.join(", ")),
                );
            }
        }
        if let Some(purpose) = &self.purpose {
            match Purpose::parse(purpose) {
                Some(purpose) => next.purpose = purpose,
                None => refusals.note("purpose", "Say cutting, inspecting or zero."),
            }
        }
        for (field, given, place) in [
            ("position", &self.position, &mut next.position),
            ("operator", &self.operator, &mut next.operator),
        ] {
            let Some(given) = given else { continue };
            let fits = |text: &String| is_plain_word(text);
            if given.as_ref().is_none_or(fits) {
                place.clone_from(given);
            } else {
                refusals.note(
                    field,
                    format!("At most {LONGEST_WORD} plain characters fit here."),
                );
            }
        }
    }
}

/// Whether a word fits a tag: short, and without control characters.
pub fn is_plain_word(text: &str) -> bool {
    text.chars().count() <= LONGEST_WORD && !text.chars().any(char::is_control)
}

/// Goes on with a job's feature where it was left off.
fn resume(tags: &mut Tags, readings_a_piece: i64, remembered: &dyn Remembered) {
    let (Some(job), Some(feature)) = (&tags.job, &tags.feature) else {
        return;
    };
    match remembered.left_off(job, feature) {
        None => (tags.piece, tags.attempt, tags.counted) = (1, 1, 0),
        Some(left) if left.counted >= readings_a_piece => go_to(tags, left.piece + 1, remembered),
        Some(left) => {
            (tags.piece, tags.attempt, tags.counted) = (left.piece, left.attempt, left.counted);
        }
    }
}

/// Begins a piece: for the first time, or again as a further attempt.
pub fn go_to(tags: &mut Tags, piece: i64, remembered: &dyn Remembered) {
    let begun = remembered.attempts(tags.job.as_deref(), tags.feature.as_deref(), piece);
    if tags.piece != piece {
        tags.part_celsius = None;
        tags.dialled = None;
    }
    tags.piece = piece;
    tags.attempt = begun + 1;
    tags.counted = 0;
}
