//! Was a job revised between its readings? Its statistics go by the newest revision, and say so where readings were
//! judged by an earlier one with other limits. Readings of another thread of the same name are left out.

use std::collections::HashMap;

use overwire_core::decimal::format_to;
use overwire_core::thread::{Limits, System, Thread};
use overwire_core::units::Unit;
use rusqlite::Connection;

use super::limits_kept::{LIMITS_KEPT, Outside};
use super::process::Question;
use super::{Findings, Shown};
use crate::record::inspected::{self, Feature, Inspected};
use crate::record::kept::KeptSums;
use crate::record::sums::{self, FeatureSums};
use crate::record::{Kind, RecordError, beside, reader};
use crate::register::forms::JobForm;

/// What the limits of the newest revision are used for with single pieces.
pub const CAPABILITY: &str = "Capability is by the newest limits, for all pieces.";
/// The same with short runs.
pub const NOMINAL: &str = "The nominal is by the newest limits, for all pieces.";

/// What earlier revisions of a job did to the readings of a thread.
#[derive(Debug, Clone, Default)]
pub struct Revised {
    /// How many readings count, of the newest thread.
    readings: usize,
    /// Readings of the newest thread by other limits.
    by_others: Vec<Earlier>,
    /// Readings of another thread, which are left out.
    of_others: Vec<Earlier>,
    /// Readings of earlier attempts at pieces, which are left out.
    attempts: EarlierAttempts,
}

/// Readings of pieces that were begun again, before they were.
#[derive(Debug, Clone, Copy, Default)]
struct EarlierAttempts {
    readings: usize,
    /// How many of them lie outside the limits, where there are limits.
    outside: Option<usize>,
}

impl EarlierAttempts {
    /// Those that no person left out.
    fn of(readings: &[Inspected], thread: &Thread) -> EarlierAttempts {
        let counted = readings.iter().filter(|reading| reading.left_out.is_none());
        let sizes: Vec<f64> = counted.map(|reading| reading.mm).collect();
        let limits = Question::limits_of(thread.limits.as_ref());
        EarlierAttempts {
            readings: sizes.len(),
            outside: limits.map(|limits| Outside::of(&sizes, limits).count()),
        }
    }

    fn words(self) -> Option<String> {
        let outside = match self.outside {
            None => String::new(),
            Some(outside) => format!("; {} the limits", are_outside(outside)),
        };
        (self.readings > 0).then(|| {
            format!(
                "Pieces were begun again: {} of their earlier attempts {} left out{outside}.",
                counted(self.readings),
                if self.readings == 1 { "is" } else { "are" },
            )
        })
    }
}

fn are_outside(outside: usize) -> String {
    match outside {
        0 => "none lies outside".to_owned(),
        1 => "1 lies outside".to_owned(),
        more => format!("{more} lie outside"),
    }
}

/// A thread as earlier revisions had it.
#[derive(Debug, Clone, PartialEq)]
struct Earlier {
    designation: String,
    limits: Option<Limits>,
    /// Whether it is another thread than the newest, not only to other limits.
    other: bool,
    /// The entries of the revisions.
    entries: Vec<i64>,
    /// How many readings that count were judged by them.
    readings: usize,
}

/// Whether both are the same thread, perhaps to other limits or of another class.
fn is_same(one: &Thread, other: &Thread) -> bool {
    let custom = [one, other]
        .iter()
        .any(|each| each.system == System::Custom);
    let (a, b) = (&one.geometry, &other.geometry);
    // The nominal diameter of a thread by its own numbers may follow from its limits.
    (custom || one.nominal_diameter == other.nominal_diameter)
        && (a.pitch, a.starts, a.hand, a.flanks) == (b.pitch, b.starts, b.hand, b.flanks)
}

/// The threads of earlier revisions that differ from the newest.
fn earlier(
    record: &Connection,
    feature: Feature<'_>,
    newest: &Thread,
) -> Result<Vec<Earlier>, RecordError> {
    let mut found: Vec<Earlier> = Vec::new();
    for change in reader::revisions_of(record, Kind::Job, feature.job)? {
        let form: JobForm = change.form()?;
        let own = form.features.iter().find(|own| own.name == feature.name);
        let Some(Ok(thread)) = own.map(|own| own.thread()) else {
            continue;
        };
        let other = !is_same(&thread, newest);
        if !other && thread.limits == newest.limits {
            continue;
        }
        let alike = |known: &&mut Earlier| {
            known.designation == thread.designation && known.limits == thread.limits
        };
        match found.iter_mut().find(alike) {
            Some(known) => known.entries.push(change.head.entry),
            None => found.push(Earlier {
                designation: thread.designation,
                limits: thread.limits,
                other,
                entries: vec![change.head.entry],
                readings: 0,
            }),
        }
    }
    Ok(found)
}

/// The readings of a thread that statistics take in, of the newest attempts, in the order of the record.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn readings(
    record: &Connection,
    feature: Feature<'_>,
    newest: &Thread,
) -> Result<(Vec<Inspected>, Revised), RecordError> {
    let (readings, before) = inspected::by_attempt(inspected::of_feature(record, feature)?);
    let earlier = earlier(record, feature, newest)?;
    let (readings, revised) = parted(record, (feature, 0), readings, earlier)?;
    let attempts = EarlierAttempts::of(&before, newest);
    Ok((
        readings,
        Revised {
            attempts,
            ..revised
        },
    ))
}

/// The readings of its last pieces, as [`inspected::latest`] finds them, and behind which entry was looked.
///
/// # Errors
/// As [`readings`].
pub fn latest(
    record: &Connection,
    feature: Feature<'_>,
    newest: &Thread,
    pieces: usize,
) -> Result<(Vec<Inspected>, i64), RecordError> {
    let (readings, after) = inspected::latest(record, feature, pieces)?;
    let earlier = earlier(record, feature, newest)?;
    let (readings, _) = parted(record, (feature, after), readings, earlier)?;
    Ok((readings, after))
}

/// The same readings summed up. Kept sums serve as long as no reading is left out.
///
/// # Errors
/// As [`readings`].
pub fn sums(
    record: &Connection,
    feature: Feature<'_>,
    newest: &Thread,
    kept: Option<&KeptSums>,
) -> Result<(FeatureSums, Revised), RecordError> {
    let earlier = earlier(record, feature, newest)?;
    if earlier.is_empty() {
        let sums = sums::of_feature(record, feature, kept)?;
        let revised = match sums.pieces.so_far().earlier {
            0 => Revised::default(),
            _ => readings(record, feature, newest)?.1,
        };
        return Ok((sums, revised));
    }
    let (readings, revised) = readings(record, feature, newest)?;
    let sums = match revised.of_others.is_empty() {
        true => sums::of_feature(record, feature, kept)?,
        false => FeatureSums::of(&readings),
    };
    Ok((sums, revised))
}

/// Takes the readings of other threads out, and counts those by other limits; all of them lie behind an entry.
fn parted(
    record: &Connection,
    (feature, after): (Feature<'_>, i64),
    mut readings: Vec<Inspected>,
    mut earlier: Vec<Earlier>,
) -> Result<(Vec<Inspected>, Revised), RecordError> {
    if earlier.is_empty() {
        return Ok((readings, Revised::default()));
    }
    let sides = beside::of_feature(record, feature, after)?;
    let mut places = HashMap::new();
    for (at, one) in earlier.iter().enumerate() {
        places.extend(one.entries.iter().map(|entry| (*entry, at)));
    }
    let mut count = 0;
    readings.retain(|reading| {
        let counts = usize::from(reading.left_out.is_none());
        let side = sides.get(&reading.entry);
        let at = side.and_then(|side| places.get(&side.job_entry));
        let mut other = false;
        if let Some(one) = at.and_then(|at| earlier.get_mut(*at)) {
            one.readings += counts;
            other = one.other;
        }
        count += if other { 0 } else { counts };
        !other
    });
    earlier.retain(|one| one.readings > 0);
    let (of_others, by_others) = earlier.into_iter().partition(|one| one.other);
    let revised = Revised {
        readings: count,
        by_others,
        of_others,
        attempts: EarlierAttempts::default(),
    };
    Ok((readings, revised))
}

impl Revised {
    /// Says it beside what is found of the limits, or beside the main answer where there is no such.
    pub fn tell(&self, findings: &mut Findings, what_for: &str, shown: &Shown) {
        let main = findings.main;
        let sections = &mut findings.sections;
        let at = sections.iter().position(|each| each.heading == LIMITS_KEPT);
        if let Some(section) = sections.get_mut(at.unwrap_or(main)) {
            let told = self.by_other_limits(what_for, shown).into_iter();
            let told = self.attempts.words().into_iter().chain(told);
            let told = self.left_out().into_iter().chain(told);
            section.cautions.splice(0..0, told);
        }
    }

    /// What was left out; none where nothing was.
    pub fn left_out(&self) -> Option<String> {
        if self.of_others.is_empty() {
            return None;
        }
        let each = |one: &Earlier| {
            let (readings, entries) = (counted(one.readings), entries(&one.entries));
            format!("{readings} of {} ({entries})", one.designation)
        };
        let left_out: Vec<String> = self.of_others.iter().map(each).collect();
        Some(format!(
            "The thread was revised. Left out: {}. Only readings of the newest thread count here.",
            left_out.join(", ")
        ))
    }

    fn by_other_limits(&self, what_for: &str, shown: &Shown) -> Option<String> {
        if self.by_others.is_empty() {
            return None;
        }
        let all = self.readings;
        let each = |(at, one): (usize, &Earlier)| {
            let number = one.readings;
            let how_many = match (at, all) {
                (0, 1) => "the only reading was".to_owned(),
                (0, _) => format!("{number} of {all} readings {}", was_or_were(number)),
                _ => number.to_string(),
            };
            let limits = one.limits.as_ref();
            let limits = limits.map_or_else(|| "no limits".to_owned(), |own| words(own, shown));
            let (designation, entries) = (&one.designation, entries(&one.entries));
            format!("{how_many} judged by {limits} ({designation}, {entries})")
        };
        let told: Vec<String> = self.by_others.iter().enumerate().map(each).collect();
        Some(format!(
            "The limits were revised: {}. {what_for}",
            told.join(", ")
        ))
    }
}

fn counted(readings: usize) -> String {
    match readings {
        1 => "1 reading".to_owned(),
        readings => format!("{readings} readings"),
    }
}

fn was_or_were(number: usize) -> &'static str {
    if number == 1 { "was" } else { "were" }
}

fn entries(entries: &[i64]) -> String {
    let listed: Vec<String> = entries.iter().map(i64::to_string).collect();
    let noun = if listed.len() == 1 {
        "entry"
    } else {
        "entries"
    };
    format!("{noun} {}", listed.join(", "))
}

/// Limits in the unit shown, with the places of a reading, and no fewer than drawings give.
fn words(limits: &Limits, shown: &Shown) -> String {
    let fewest = match shown.unit {
        Unit::Inch => 4,
        Unit::Millimetre => 3,
    };
    let text = |mm: f64| format_to(shown.value(mm), shown.places.max(fewest));
    format!(
        "{} to {} {}",
        text(limits.pitch_diameter_min.mm()),
        text(limits.pitch_diameter_max.mm()),
        shown.unit
    )
}
