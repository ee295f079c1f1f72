//! The statistics of a job: its readings from the record become the question that the address asks.

use std::collections::HashMap;

use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::short_run::Run;
use overwire_core::stats::{Undefined, short_run::PartChange};
use overwire_core::thread::Thread;
use overwire_core::units::Unit;
use rusqlite::Connection;

use super::choices::{Charted, Choices, Grouping as Grouped};
use super::{Asked, shown, thread_of};
use crate::clock;
use crate::collect::command::Refusal;
use crate::findings::changes::{Changing, First, breaks};
use crate::findings::groups::{self, Grouping};
use crate::findings::process::{Break, PieceReading, ProcessError, Question, process};
use crate::findings::revised::{self, Revised};
use crate::findings::{Findings, Shown, go_gauge, limits_kept, short_run};
use crate::record::beside::{self, Beside};
use crate::record::inspected::{Feature, Inspected};
use crate::register::Register;
use crate::view::places_in;

const QUANTITY: &str = "Pitch diameter";

/// One thread of a job, with its inspected readings of the newest attempts.
struct Inspections {
    job: String,
    feature: String,
    thread: Thread,
    readings: Vec<Inspected>,
    revised: Revised,
}

impl Inspections {
    fn of(
        look: &Connection,
        register: &Register,
        job: &str,
        feature: &str,
    ) -> Result<Inspections, Refusal> {
        let thread = thread_of(register, job, feature)?;
        let (readings, revised) = revised::readings(look, Feature { job, name: feature }, &thread)?;
        Ok(Inspections {
            job: job.to_owned(),
            feature: feature.to_owned(),
            thread,
            readings,
            revised,
        })
    }

    fn feature(&self) -> Feature<'_> {
        Feature {
            job: &self.job,
            name: &self.feature,
        }
    }

    fn title(&self) -> String {
        format!("{}, {}", self.job, self.feature)
    }

    fn of_thread(&self) -> Feature<'_> {
        Feature {
            job: &self.job,
            name: &self.feature,
        }
    }

    fn places(&self, unit: Unit) -> u8 {
        most_places(&self.readings, unit)
    }

    /// The means of the pieces that count, in the order they were first measured, each with the entry of its first
    /// reading.
    fn means(&self) -> Result<Vec<Mean>, Undefined> {
        let counted = || self.readings.iter().filter(|r| r.left_out.is_none());
        let pieces = Pieces::of(counted().map(|reading| (reading.piece, reading.mm)))?;
        let mut entries = HashMap::new();
        for reading in counted() {
            entries.entry(reading.piece).or_insert(reading.entry);
        }
        let mean = |piece: &overwire_core::stats::pieces::Piece<i64>| Mean {
            entry: entries.get(&piece.name).copied().unwrap_or_default(),
            mm: piece.mean(),
        };
        Ok(pieces.pieces.iter().map(mean).collect())
    }
}

/// Most decimal places of a reading, in a unit.
pub(super) fn most_places(readings: &[Inspected], unit: Unit) -> u8 {
    let places = readings.iter().map(|reading| {
        let own = if reading.inches {
            Unit::Inch
        } else {
            Unit::Millimetre
        };
        places_in(reading.places, own, unit)
    });
    places.max().unwrap_or_default()
}

/// The mean of a piece.
struct Mean {
    entry: i64,
    mm: f64,
}

/// What is found of a job, as it was chosen.
pub(super) fn of_job(
    look: &Connection,
    register: &Register,
    asked: &Asked,
    choices: &Choices,
) -> Result<Findings, Refusal> {
    let own = Inspections::of(look, register, &asked.job, &asked.feature)?;
    let scale = Scale::of(own.thread.unit, own.places(own.thread.unit), asked);
    match choices.charted {
        Charted::Individuals | Charted::Groups(_) => pieces(look, own, choices, &scale),
        Charted::ShortRuns => short_runs(look, register, (own, asked), choices),
    }
}

/// How lengths are shown, and the step of the display, which is its own whatever unit is asked for.
struct Scale {
    shown: Shown,
    step_mm: f64,
}

impl Scale {
    /// Of readings with so many places in the unit of their thread.
    fn of(own: Unit, places: u8, asked: &Asked) -> Scale {
        let unit = Unit::parse(&asked.unit).unwrap_or(own);
        Scale {
            shown: shown(unit, places_in(places, own, unit), asked),
            step_mm: shown(own, places, asked).step_mm(),
        }
    }
}

fn nothing(reason: &ProcessError) -> Refusal {
    match reason {
        ProcessError::Phases(error) => {
            let told = format!("This cannot be charted: {error}.");
            Refusal::new(409, error.code(), told, error.hint())
        }
        reason => Refusal::new(
            409,
            reason.code(),
            format!("There is nothing to chart: {reason}."),
            "Inspect some pieces of this job first.",
        ),
    }
}

/// A refusal that says too what was left out.
pub(super) fn with_left_out(mut refusal: Refusal, revised: &Revised) -> Refusal {
    if let Some(told) = revised.left_out() {
        refusal.error = format!("{} {told}", refusal.error);
    }
    refusal
}

fn pieces(
    look: &Connection,
    own: Inspections,
    choices: &Choices,
    scale: &Scale,
) -> Result<Findings, Refusal> {
    let begun = phases(look, &own, choices)?;
    let mut told: Vec<String> = match choices.in_phases() {
        true => vec![phases_words(choices, begun.len())],
        false => Vec::new(),
    };
    let grouping = match choices.charted {
        Charted::Groups(grouped) => {
            told.push(grouping_words(grouped, &choices.shifts));
            Some(grouping(look, &own, (grouped, &choices.shifts))?)
        }
        _ => None,
    };
    let tried = go_gauge::compared(look, own.feature(), &own.readings)?;
    let question = Question {
        title: own.title(),
        about: own.thread.designation.clone(),
        quantity: QUANTITY.to_owned(),
        limits: Question::limits_of(own.thread.limits.as_ref()),
        readings: own.readings.into_iter().map(as_asked).collect(),
        step_mm: Some(scale.step_mm),
        rules: choices.rules,
        freeze: choices.freeze,
        breaks: begun,
        scatter: choices.scatter,
        watch: choices.watch(scale.shown.unit),
    };
    let revised = own.revised;
    let found = match grouping {
        None => process(&question, &scale.shown),
        Some(grouping) => {
            let question = groups::Question {
                pieces: question,
                grouping,
                are_pieces: true,
                spread: choices.spread,
            };
            groups::groups(&question, &scale.shown)
        }
    };
    let nothing = |reason: ProcessError| with_left_out(nothing(&reason), &revised);
    let mut findings = found.map_err(nothing)?;
    revised.tell(&mut findings, revised::CAPABILITY, &scale.shown);
    limits_kept::mind_function(&mut findings);
    if let Some(tried) = tried {
        tried.tell(&mut findings);
    }
    findings.settings.extend(told);
    Ok(findings)
}

fn as_asked(reading: Inspected) -> PieceReading {
    PieceReading {
        piece: reading.piece,
        mm: reading.mm,
        left_out: reading.left_out,
    }
}

/// Where phases begin: by the record, and by what a person named.
fn phases(look: &Connection, own: &Inspections, choices: &Choices) -> Result<Vec<Break>, Refusal> {
    if choices.changing.is_empty() && choices.remark.is_none() {
        return Ok(choices.breaks.clone());
    }
    let sides = beside::of_feature(look, own.of_thread(), 0)?;
    let checks = match choices.changing.contains(&Changing::Zero) {
        true => beside::zero_checks(look)?,
        false => Vec::new(),
    };
    let firsts = firsts(&own.readings, &sides, choices.remark.as_deref());
    let remark = choices.remark.as_deref();
    let mut begun = breaks(&firsts, &choices.changing, remark, &checks);
    begun.extend(choices.breaks.iter().cloned());
    Ok(begun)
}

/// The first reading of every piece, with the remark on one of its readings that holds the word.
pub(super) fn firsts<'a>(
    readings: &[Inspected],
    sides: &'a HashMap<i64, Beside>,
    word: Option<&str>,
) -> Vec<First<'a>> {
    let word = word.unwrap_or_default().to_lowercase();
    let mut places: HashMap<i64, usize> = HashMap::new();
    let mut firsts: Vec<First<'a>> = Vec::new();
    for reading in readings {
        let Some(beside) = sides.get(&reading.entry) else {
            continue;
        };
        let at = *places.entry(reading.piece).or_insert(firsts.len());
        if at == firsts.len() {
            firsts.push(First {
                piece: reading.piece,
                entry: reading.entry,
                beside,
                remark: "",
            });
        }
        if let Some(first) = firsts.get_mut(at)
            && first.remark.is_empty()
            && beside.remark.to_lowercase().contains(&word)
        {
            first.remark = &beside.remark;
        }
    }
    firsts
}

fn phases_words(choices: &Choices, found: usize) -> String {
    let names = Changing::ALL.iter();
    let names = names.filter(|(_, change)| choices.changing.contains(change));
    let mut by: Vec<String> = names
        .map(|(name, _)| format!("a change of {name}"))
        .collect();
    by.extend(
        choices
            .remark
            .iter()
            .map(|word| format!("a remark with `{word}`")),
    );
    if !choices.breaks.is_empty() {
        by.push("what a person named".to_owned());
    }
    let changes = match found {
        0 => "no such change was found".to_owned(),
        1 => "1 change was found".to_owned(),
        found => format!("{found} changes were found"),
    };
    format!("Phases begin with {}; {changes}.", by.join(", "))
}

/// Which pieces are a group: those whose first readings that count were taken in one period, or so many.
fn grouping(
    look: &Connection,
    own: &Inspections,
    (grouped, shifts): (Grouped, &[i64]),
) -> Result<Grouping, Refusal> {
    if let Grouped::Count(size) = grouped {
        return Ok(Grouping::Size(size));
    }
    let sides = beside::of_feature(look, own.of_thread(), 0)?;
    let mut names = HashMap::new();
    for reading in own.readings.iter().filter(|r| r.left_out.is_none()) {
        let beside = sides.get(&reading.entry);
        let name = || beside.map(|beside| period(grouped, shifts, beside));
        names
            .entry(reading.piece)
            .or_insert_with(|| name().unwrap_or_default());
    }
    Ok(Grouping::Named(names))
}

fn grouping_words(grouped: Grouped, shifts: &[i64]) -> String {
    let by = match grouped {
        Grouped::Count(size) => format!("{size} pieces one after another"),
        Grouped::Hour => "the pieces of one hour of the shop's time".to_owned(),
        Grouped::Day => "the pieces of one day of the shop's time".to_owned(),
        Grouped::Shift => {
            let times: Vec<String> = shifts.iter().map(|minutes| time_of(*minutes)).collect();
            format!("the pieces of one shift, beginning at {}", times.join(", "))
        }
    };
    format!("A group is {by}; a piece is the mean of its readings.")
}

fn time_of(minutes: i64) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// The hour, shift or day of the shop's time in which a reading was taken; a shift over midnight belongs to the day
/// it began.
fn period(grouped: Grouped, shifts: &[i64], beside: &Beside) -> String {
    let moment = clock::local(beside.wall_us, beside.utc_offset_s);
    let date = moment.date();
    match grouped {
        Grouped::Hour => format!("{date} {:02}h", moment.hour()),
        Grouped::Day | Grouped::Count(_) => date.to_string(),
        Grouped::Shift => {
            let minutes = i64::from(moment.hour()) * 60 + i64::from(moment.minute());
            let begun = shifts.iter().rev().find(|begin| **begin <= minutes);
            let (date, begin) = match (begun, shifts.last()) {
                (Some(begin), _) => (date, *begin),
                (None, Some(last)) => (date.yesterday().unwrap_or(date), *last),
                (None, None) => (date, 0),
            };
            format!("{date} {}", time_of(begin))
        }
    }
}

fn short_runs(
    look: &Connection,
    register: &Register,
    (own, asked): (Inspections, &Asked),
    choices: &Choices,
) -> Result<Findings, Refusal> {
    let unit = own.thread.unit;
    let mut threads = vec![own];
    for name in &choices.with {
        let (job, feature) = named(register, name)?;
        let known = |each: &Inspections| (&*each.job, &*each.feature) == (&*job, &*feature);
        if !threads.iter().any(known) {
            threads.push(Inspections::of(look, register, &job, &feature)?);
        }
    }
    let places = threads.iter().map(|each| each.places(unit)).max();
    let scale = Scale::of(unit, places.unwrap_or_default(), asked);
    let runs = runs_of(&threads).map_err(|reason| nothing(&reason.into()))?;
    if runs.is_empty() {
        let none = Undefined::TooFew {
            of: "pieces",
            needed: 1,
            found: 0,
        };
        return Err(nothing(&none.into()));
    }
    let others: Vec<String> = threads.iter().skip(1).map(Inspections::title).collect();
    let question = short_run::Question {
        title: format!("{}, {}", asked.job, asked.feature),
        about: match others.is_empty() {
            true => "no other thread".to_owned(),
            false => format!("with {}", others.join("; ")),
        },
        quantity: QUANTITY.to_owned(),
        runs,
        rules: choices.rules,
        standardised: choices.standardised,
        step_mm: Some(scale.step_mm),
        nominal: match threads.iter().all(|each| each.thread.limits.is_some()) {
            true => "the middle of the limits",
            false => "nominal (the middle of the limits, or the basic size of a thread without)",
        },
    };
    let mut findings =
        short_run::short_runs(&question, &scale.shown).map_err(|reason| nothing(&reason.into()))?;
    for each in threads.iter().rev() {
        let what_for = format!("{} ({})", revised::NOMINAL, each.title());
        each.revised.tell(&mut findings, &what_for, &scale.shown);
    }
    findings.settings.push(format!(
        "Nominal: the middle of the limits, or the basic pitch diameter of a thread without. A run is what was \
         measured of one thread before another; {}.",
        PartChange::default().words()
    ));
    Ok(findings)
}

/// The thread that a choice names as `JOB, FEATURE`.
fn named(register: &Register, name: &str) -> Result<(String, String), Refusal> {
    for (job, newest) in &register.jobs {
        let features = newest.form.features.iter();
        for feature in features {
            if format!("{job}, {}", feature.name) == name {
                return Ok((job.clone(), feature.name.clone()));
            }
        }
    }
    Err(Refusal::missing("thread", name))
}

/// What a thread is called among others: a part is a job's thread, also where another job has one of the same
/// designation.
fn part_name(threads: &[Inspections], at: usize) -> String {
    let Some(own) = threads.get(at) else {
        return String::new();
    };
    let designation = &own.thread.designation;
    let alike = threads
        .iter()
        .filter(|each| each.thread.designation == *designation);
    match alike.count() {
        1 => designation.clone(),
        _ => format!("{designation} ({})", own.title()),
    }
}

/// The pieces of all threads in the order they were first measured; those of one thread before another's are a run.
fn runs_of(threads: &[Inspections]) -> Result<Vec<Run>, Undefined> {
    let mut pieces: Vec<(Mean, usize)> = Vec::new();
    for (at, thread) in threads.iter().enumerate() {
        pieces.extend(thread.means()?.into_iter().map(|mean| (mean, at)));
    }
    pieces.sort_by_key(|(mean, _)| mean.entry);
    let mut runs: Vec<Run> = Vec::new();
    let mut before = None;
    for (mean, at) in pieces {
        let Some(thread) = threads.get(at).map(|each| &each.thread) else {
            continue;
        };
        if before.replace(at) != Some(at) {
            runs.push(Run {
                part: part_name(threads, at),
                nominal: thread.aim().mm(),
                readings: Vec::new(),
            });
        }
        if let Some(run) = runs.last_mut() {
            run.readings.push(mean.mm);
        }
    }
    Ok(runs)
}
