//! The masters of a study: pieces whose size a certificate states, kept as typed.

use overwire_core::decimal::format_to;
use overwire_core::thread::Thread;
use overwire_core::units::{Length, Unit};
use serde::{Deserialize, Serialize};

use super::Register;
use super::forms::{Refusals, check_text, length, unit};
use super::studies::{StudyForm, StudyKind};
use crate::station::tags::is_plain_word;

/// With fewer masters a bend of the bias cannot be told from a slope.
const FEWEST_MASTERS: usize = 3;
/// More masters than anybody owns.
const MOST_MASTERS: usize = 40;
/// A certified pitch diameter lies so near that of its thread, in pitches: the outside diameter, which is
/// easily typed in its place, does not.
const NEAR_THE_THREAD: f64 = 0.3;
/// A certificate's uncertainty is a smaller share of the size than this.
const LARGEST_UNCERTAINTY: f64 = 0.01;

/// A piece of known size.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MasterForm {
    /// Its name, as it is marked.
    pub master: String,
    /// Its certified size: the diameter of a plain master, the pitch diameter of a threaded one.
    pub size: String,
    /// `mm` or `in`: the unit of the size and its uncertainty.
    pub unit: String,
    /// Expanded uncertainty (k = 2) of the size, from its certificate; empty where none is stated.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub uncertainty: String,
    /// Which certificate.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub certificate: String,
    /// Over wires: the thread of the job that it carries; empty is the study's own.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub feature: String,
}

impl MasterForm {
    /// Its size, mm; none where the form does not hold.
    pub fn size_mm(&self) -> Option<f64> {
        self.mm(&self.size)
    }

    /// Expanded uncertainty (k = 2) of its size, mm; none where none is stated.
    pub fn uncertainty_mm(&self) -> Option<f64> {
        self.mm(&self.uncertainty)
    }

    fn mm(&self, text: &str) -> Option<f64> {
        let decimal = overwire_core::decimal::Decimal::parse_typed(text.trim()).ok()?;
        Some(decimal.length(self.unit()?).ok()?.mm())
    }

    /// The unit of its certificate.
    pub fn unit(&self) -> Option<Unit> {
        Unit::parse(&self.unit).ok()
    }

    /// Its nominal size in words: the certified one rounded, so that nobody aims at the certificate.
    pub fn nominal(&self) -> Option<String> {
        let unit = self.unit()?;
        let places = match unit {
            Unit::Inch => 3,
            Unit::Millimetre => 2,
        };
        let size = self.size_mm()? / unit.mm_per_unit();
        Some(format!("{} {unit}", format_to(size, places)))
    }
}

/// Checks the masters of a study, each field by itself.
pub(super) fn check(refusals: &mut Refusals, form: &StudyForm, register: &Register) {
    check_count(refusals, form);
    for (at, master) in form.masters.iter().enumerate() {
        let field = |name: &str| format!("masters.{at}.{name}");
        check_name(refusals, &field("master"), form, at);
        check_text(refusals, &field("certificate"), &master.certificate);
        let size = check_size(refusals, form, at);
        match form.is_plain() {
            true if !master.feature.is_empty() => refusals.note(
                field("feature"),
                "A plain master carries no thread: leave this empty.",
            ),
            true => {}
            false => check_thread(refusals, form, register, at, size),
        }
    }
}

fn check_count(refusals: &mut Refusals, form: &StudyForm) {
    let count = form.masters.len();
    let told = match form.kind {
        StudyKind::Stability if count != 1 => {
            "Name the one master that is measured again and again."
        }
        StudyKind::Linearity if count < FEWEST_MASTERS => {
            "Name three masters at least, of different sizes; five over the whole range are usual."
        }
        StudyKind::Linearity if count > MOST_MASTERS => "At most 40 masters fit into a study.",
        _ => return,
    };
    refusals.note("masters", told);
}

fn check_name(refusals: &mut Refusals, field: &str, form: &StudyForm, at: usize) {
    let names = || form.masters.iter().map(|master| master.master.trim());
    let name = names().nth(at).unwrap_or_default();
    if name.is_empty() || !is_plain_word(name) {
        refusals.note(
            field,
            "Give the master a name as it is marked, at most 80 plain characters.",
        );
    } else if names().take(at).any(|other| other == name) {
        refusals.note(field, format!("There are two masters `{name}`."));
    }
}

/// The size of a master, with its uncertainty; another of the very same size is a slip.
fn check_size(refusals: &mut Refusals, form: &StudyForm, at: usize) -> Option<Length> {
    let master = form.masters.get(at)?;
    let field = |name: &str| format!("masters.{at}.{name}");
    let own = unit(refusals, &field("unit"), &master.unit)?;
    let wanted = "the size its certificate states";
    let size = length(refusals, &field("size"), &master.size, wanted, own)?;
    if !master.uncertainty.is_empty() {
        let (name, text) = (field("uncertainty"), &master.uncertainty);
        let found = length(refusals, &name, text, "its uncertainty", own);
        if found.is_some_and(|found| found.mm() > LARGEST_UNCERTAINTY * size.mm()) {
            let told = "This is more than a hundredth of the size: is it in the master's unit?";
            refusals.note(name, told);
        }
    }
    let mut before = form.masters.iter().take(at);
    let same = |other: &&MasterForm| {
        let other = other.size_mm();
        other.is_some_and(|mm| (mm - size.mm()).abs() < 1e-7)
    };
    if let Some(other) = before.find(same) {
        let told = format!(
            "`{}` has the same size: give the certified size of each.",
            other.master
        );
        refusals.note(field("size"), told);
    }
    Some(size)
}

/// Over wires: the thread is one of the job's, with wires of its own, and the size is its pitch diameter.
fn check_thread(
    refusals: &mut Refusals,
    form: &StudyForm,
    register: &Register,
    at: usize,
    size: Option<Length>,
) {
    let Some(job) = register.jobs.get(&form.job) else {
        return;
    };
    let name = form.feature_of(at);
    let features = &job.form.features;
    let Some(feature) = features.iter().find(|feature| feature.name == name) else {
        let names: Vec<&str> = features.iter().map(|each| each.name.as_str()).collect();
        let told = format!("The job has {}.", names.join(", "));
        return refusals.note(format!("masters.{at}.feature"), told);
    };
    let several = (0..form.masters.len()).any(|other| form.feature_of(other) != name);
    if several && feature.wire_set.is_none() {
        let told =
            format!("Name the wire set of `{name}` in the job first: the study changes to it.");
        refusals.note(format!("masters.{at}.feature"), told);
    }
    let (Ok(thread), Some(size)) = (feature.thread(), size) else {
        return;
    };
    if let Some(told) = far_from(&thread, size) {
        refusals.note(format!("masters.{at}.size"), told);
    }
}

fn far_from(thread: &Thread, size: Length) -> Option<String> {
    let (smallest, largest) = thread.pitch_diameter_zone();
    let slack = NEAR_THE_THREAD * thread.geometry.pitch.mm();
    let near = (smallest.mm() - slack..=largest.mm() + slack).contains(&size.mm());
    let places = if thread.unit == Unit::Inch { 4 } else { 3 };
    (!near).then(|| {
        format!(
            "Give the certified pitch diameter: that of {} is about {}.",
            thread.designation,
            largest.to_text(thread.unit, places)
        )
    })
}
