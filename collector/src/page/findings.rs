//! What statistics say of a job or a study, for the page: from a read-only connection of its own, so that a
//! long question holds up nothing.

pub mod answered;
mod choices;
mod job;
pub mod outlook;

use std::path::PathBuf;
use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use overwire_core::helix;
use overwire_core::holding::{Held, Lift, lift};
use overwire_core::stats::Undefined;
use overwire_core::study::lone_wire_gain;
use overwire_core::thread::Thread;
use overwire_core::uncertainty::Sensitivities;
use overwire_core::units::{Length, Unit};
use overwire_core::wires::Wires;
use serde::Serialize;

use answered::{Answer, Key};
use choices::{Choices, Said};
use job::{of_job, with_left_out};

use super::Shared;
use super::routes::drawing_response;
use crate::chart::raster::{self, RasterError};
use crate::chart::{Format, Look, Width};
use crate::collect::command::Refusal;
use crate::collect::studies::replayed;
use crate::findings::certified::stability;
use crate::findings::revised;
use crate::findings::study::{self, study};
use crate::findings::summary::{self, Summary};
use crate::findings::{Drawn, Findings, Shown};
use crate::record::inspected::Feature;
use crate::record::kept::KeptSums;
use crate::record::{Reading, RecordError, reader};
use crate::register::Register;
use crate::register::course::Course;
use crate::register::forms::Refusals;
use crate::view::places_in;

/// What is asked about, and how.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    job: String,
    feature: String,
    study: String,
    width: String,
    /// Unit to show lengths in; empty is the thread's own.
    unit: String,
    /// The rest of the address: how a job's statistics are worked out.
    said: Vec<(String, String)>,
}

/// The address' words in their order; a name may come again and again.
type Words = Query<Vec<(String, String)>>;

impl Asked {
    /// About a job's feature, in a unit; none is the thread's own.
    pub(crate) fn about(job: &str, feature: &str, unit: Option<Unit>) -> Asked {
        Asked {
            job: job.to_owned(),
            feature: feature.to_owned(),
            unit: unit.map_or_else(String::new, |unit| unit.as_str().to_owned()),
            ..Asked::default()
        }
    }

    fn read(said: Vec<(String, String)>) -> Asked {
        let text = |name| Said(&said).text(name).to_owned();
        Asked {
            job: text("job"),
            feature: text("feature"),
            study: text("study"),
            width: text("width"),
            unit: text("unit"),
            said,
        }
    }

    /// The words that say what is asked, whichever of its pictures is wanted and however often.
    fn question(&self) -> Vec<(String, String)> {
        let told =
            |(name, _): &&(String, String)| !["picture", "at", "width"].contains(&name.as_str());
        let mut words: Vec<_> = self.said.iter().filter(told).cloned().collect();
        words.sort();
        let width = if self.width == "phone" {
            "phone"
        } else {
            "desk"
        };
        words.push(("width".to_owned(), width.to_owned()));
        words
    }

    fn of(&self) -> Feature<'_> {
        Feature {
            job: &self.job,
            name: &self.feature,
        }
    }
}

/// Answers `GET /api/statistics?job=&feature=`.
pub async fn statistics(State(shared): State<Shared>, Query(said): Words) -> Response {
    as_json(found(shared, Asked::read(said)).await.as_deref())
}

/// Answers `GET /api/summary?job=&feature=`: plain figures from sums, of a job of any size.
pub async fn summarised(State(shared): State<Shared>, Query(said): Words) -> Response {
    as_json(
        worked_out(shared, Asked::read(said), summary_of)
            .await
            .as_ref(),
    )
}

/// Answers `GET /api/studies/{name}`.
pub async fn study_found(State(shared): State<Shared>, Path(name): Path<String>) -> Response {
    let asked = Asked {
        study: name,
        ..Asked::default()
    };
    as_json(found(shared, asked).await.as_deref())
}

/// Answers `GET /findings.svg`: a picture of a job's statistics or of a study.
pub async fn picture(State(shared): State<Shared>, Query(said): Words) -> Response {
    match drawn(shared, said).await {
        Err(refusal) => refusal.into_response(),
        Ok(drawn) => drawing_response(drawn.svg),
    }
}

/// Answers `GET /findings.png`: the same as dots, for letters and spreadsheets.
pub async fn dots(State(shared): State<Shared>, Query(said): Words) -> Response {
    let drawn = match drawn(shared, said).await {
        Err(refusal) => return refusal.into_response(),
        Ok(drawn) => drawn,
    };
    match apart(move || Ok(raster::png(&drawn.svg)?)).await {
        Err(refusal) => refusal.into_response(),
        Ok(file) => ([(header::CONTENT_TYPE, "image/png")], file).into_response(),
    }
}

async fn drawn(shared: Shared, said: Vec<(String, String)>) -> Result<Drawn, Refusal> {
    let name = Said(&said).text("picture").to_owned();
    let findings = found(shared, Asked::read(said)).await?;
    let drawn = findings.picture(&name).cloned();
    drawn.ok_or_else(|| Refusal::missing("picture", name))
}

fn as_json<Found: Serialize>(found: Result<&Found, &Refusal>) -> Response {
    match found {
        Err(refusal) => refusal.clone().into_response(),
        Ok(found) => {
            let body = serde_json::to_string(found).unwrap_or_default();
            let kind = [(header::CONTENT_TYPE, "application/json")];
            (StatusCode::OK, kind, body).into_response()
        }
    }
}

async fn found(shared: Shared, asked: Asked) -> Answer {
    if !asked.study.is_empty() {
        // A study's answer goes by the calendar too: when it is next due.
        return worked_out(shared, asked, of_study).await.map(Arc::new);
    }
    let answered = shared.answered.clone();
    let answer = move |look: &Opened, asked: &Asked| {
        // One transaction: the last entry and the readings are of one state of the record.
        let transaction = look.connection.unchecked_transaction();
        let transaction = transaction.map_err(RecordError::from)?;
        let key = Key {
            words: asked.question(),
            entry: reader::tip(&transaction)?.entry,
            revision: look.register.last_job_entry(),
        };
        answered.or_work_out(key, || of_feature(look, asked).map(Arc::new))
    };
    worked_out(shared, asked, answer).await
}

/// A record that is looked at.
struct Opened {
    connection: rusqlite::Connection,
    file: Arc<PathBuf>,
    register: Arc<Register>,
}

/// Works an answer out from the record, on a thread of its own.
async fn worked_out<Found: Send + 'static>(
    shared: Shared,
    asked: Asked,
    answer: impl FnOnce(&Opened, &Asked) -> Result<Found, Refusal> + Send + 'static,
) -> Result<Found, Refusal> {
    let register = shared.feed.shown().register;
    let file = shared.record_file.clone();
    let work = move || {
        let look = Opened {
            connection: reader::open(&file)?,
            file,
            register,
        };
        answer(&look, &asked)
    };
    apart(work).await
}

/// Works something out on a thread of its own.
async fn apart<Found: Send + 'static>(
    work: impl FnOnce() -> Result<Found, Refusal> + Send + 'static,
) -> Result<Found, Refusal> {
    let worked_out = tokio::task::spawn_blocking(work).await;
    worked_out.map_err(|_| not_worked_out())?
}

fn not_worked_out() -> Refusal {
    Refusal::new(
        500,
        "not-worked-out",
        "The statistics could not be worked out.",
        "Look at the log; it says why.",
    )
}

impl From<RasterError> for Refusal {
    fn from(error: RasterError) -> Refusal {
        Refusal::new(
            500,
            "no-dots",
            format!("The picture could not be made: {error}."),
            "Take the picture alone, which is a drawing.",
        )
    }
}

/// Every name that an address may hold: what is asked about, how it is shown, and what is chosen.
const NAMES: &str = "job feature study width unit picture at chart rules shape freeze freeze_to phase remark breaks \
    by size shifts spread with ewma cusum target sigma";

/// A word that nobody knows would be taken for one that was heeded.
fn refuse_unknown(said: &Said<'_>, refusals: &mut Refusals) {
    let unknown = |name: &&String| !NAMES.split(' ').any(|known| known == *name);
    for name in said.0.iter().map(|(name, _)| name).filter(unknown) {
        let known = NAMES.replace(' ', ", ");
        refusals.note(
            name,
            format!("There is no choice {name}; there are {known}."),
        );
    }
}

fn thread_of(register: &Register, job: &str, feature: &str) -> Result<Thread, Refusal> {
    let newest = register
        .jobs
        .get(job)
        .ok_or_else(|| Refusal::missing("job", job))?;
    let form = newest
        .form
        .features
        .iter()
        .find(|form| form.name == feature);
    let form = form.ok_or_else(|| Refusal::missing("thread", feature))?;
    form.thread().map_err(Refusal::from)
}

fn shown(unit: Unit, places: u8, asked: &Asked) -> Shown {
    Shown {
        unit,
        places,
        format: Format {
            width: match asked.width.as_str() {
                "phone" => Width::Phone,
                _ => Width::Desk,
            },
            look: Look::Page,
        },
    }
}

/// The summary of a feature.
fn summary_of(look: &Opened, asked: &Asked) -> Result<Summary, Refusal> {
    let thread = thread_of(&look.register, &asked.job, &asked.feature)?;
    let kept = KeptSums::beside(&look.file);
    let (sums, revised) = revised::sums(&look.connection, asked.of(), &thread, kept.as_ref())?;
    let shown = shown(thread.unit, summary::places(&sums, thread.unit), asked);
    let question = summary::Question::of(&look.connection, asked.of(), &thread, (&sums, revised))?;
    let nothing = |reason| with_left_out(nothing_to_chart(reason), &question.revised);
    summary::summary(&question, &shown).map_err(nothing)
}

fn nothing_to_chart(reason: Undefined) -> Refusal {
    let hint = "Inspect some pieces of this job first.";
    let error = format!("There is nothing to chart: {reason}.");
    Refusal::new(409, reason.code(), error, hint)
}

fn of_feature(look: &Opened, asked: &Asked) -> Result<Findings, Refusal> {
    statistics_of(&look.connection, &look.register, asked)
}

/// What statistics say of a job's feature.
///
/// # Errors
/// There is no such job or thread, nothing to chart, a choice is not understood, or the record cannot be read.
pub(crate) fn statistics_of(
    look: &rusqlite::Connection,
    register: &Register,
    asked: &Asked,
) -> Result<Findings, Refusal> {
    let choices = Choices::read(&Said(&asked.said))?;
    of_job(look, register, asked, &choices)
}

fn of_study(look: &Opened, asked: &Asked) -> Result<Findings, Refusal> {
    let (register, look) = (&*look.register, &look.connection);
    let newest = register
        .studies
        .get(&asked.study)
        .ok_or_else(|| Refusal::missing("study", &asked.study))?;
    let form = &newest.form;
    let Some(course) = replayed(form, look)? else {
        return Err(Refusal::missing("plan of the study", &asked.study));
    };
    let thread = match form.is_plain() {
        true => None,
        false => Some(thread_of(register, &form.job, &form.feature)?),
    };
    let unit = match (&thread, form.masters.first()) {
        (Some(thread), _) => thread.unit,
        (None, master) => master
            .and_then(|each| each.unit())
            .unwrap_or(Unit::Millimetre),
    };
    let (mut places, mut seen) = (0, None);
    for reading in reader::study_readings(look, &form.study)? {
        places = places.max(places_in(reading.places(), reading.shown_in(), unit));
        seen = seen.or_else(|| over_wires_of(&reading, register));
    }
    let shown = shown(unit, places, asked);
    let about = match &thread {
        Some(thread) => format!("{}, {}: {}", form.job, form.feature, thread.designation),
        None => format!("{}: plain masters, without wires", form.instrument),
    };
    let running = match &course {
        Course::Plan(study) => study,
        Course::Visits(visits) => return Ok(stability(form, visits, &about, &shown)),
    };
    let over_wires = thread.as_ref().zip(seen);
    let question = study::Question {
        form,
        study: running,
        limits: thread.as_ref().and_then(|thread| thread.limits),
        about,
        step_mm: Some(shown.step_mm()),
        wire_gain: over_wires.and_then(|(thread, (wires, m))| gain_of(thread, &wires, m)),
        held_square: over_wires.and_then(|(thread, (wires, m))| lift_of(thread, &wires, m)),
    };
    Ok(study(&question, &shown))
}

/// The wires of a reading, and what it read over them.
fn over_wires_of(reading: &Reading, register: &Register) -> Option<(Wires, Length)> {
    let set = register
        .wire_sets
        .get(&*reading.tags.wire_set.as_ref()?.name)?;
    Some((
        set.wires,
        Length::from_mm(reading.judged.over_wires_mm).ok()?,
    ))
}

/// By how much more the pitch diameter of a reading rises for the lone wire than for one of the pair.
fn gain_of(thread: &Thread, wires: &Wires, over_wires: Length) -> Option<f64> {
    let found = Sensitivities::at(&thread.geometry, wires, over_wires).ok()?;
    Some(lone_wire_gain(&found) * found.reading)
}

/// By how much wires held square to the axis would read too high.
fn lift_of(thread: &Thread, wires: &Wires, over_wires: Length) -> Option<Lift> {
    let seated = helix::pitch_diameter(&thread.geometry, wires, over_wires).ok()?;
    lift(&thread.geometry, wires, seated.pitch_diameter, Held::Square).ok()
}
