//! Jobs, wire sets, instruments and threads, as the page gets them.

use overwire_core::decimal::format_to;
use overwire_core::judge::Judge;
use overwire_core::seat::wire_range;
use overwire_core::thread::Thread;
use overwire_core::units::{Length, Unit};
use serde::Serialize;

use super::LimitsView;
use super::measuring::about;
use crate::register::forms::{InstrumentForm, JobForm, WireSetForm};
use crate::register::studies::StudyForm;
use crate::register::{Newest, Register, WireSet};

/// A form and which revision it is.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct NewestView<'a, T> {
    pub revision: u32,
    pub entry: i64,
    #[serde(flatten)]
    pub form: &'a T,
}

impl<'a, T> NewestView<'a, T> {
    /// Of the newest revision.
    pub fn of(newest: &'a Newest<T>) -> NewestView<'a, T> {
        NewestView {
            revision: newest.revision,
            entry: newest.entry,
            form: &newest.form,
        }
    }
}

/// The registers.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct RegisterView<'a> {
    pub jobs: Vec<NewestView<'a, JobForm>>,
    pub wire_sets: Vec<NewestView<'a, WireSetForm>>,
    pub instruments: Vec<NewestView<'a, InstrumentForm>>,
    pub studies: Vec<NewestView<'a, StudyForm>>,
}

impl<'a> RegisterView<'a> {
    /// Everything, newest entry first.
    pub fn of(register: &'a Register) -> RegisterView<'a> {
        let mut view = RegisterView {
            jobs: register.jobs.values().map(NewestView::of).collect(),
            wire_sets: register
                .wire_sets
                .values()
                .map(|set| NewestView::of(&set.newest))
                .collect(),
            instruments: register.instruments.values().map(NewestView::of).collect(),
            studies: register.studies.values().map(NewestView::of).collect(),
        };
        view.jobs.sort_by_key(|job| std::cmp::Reverse(job.entry));
        view
    }
}

/// A thread with its limits and, over a wire set, its window.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct ThreadView {
    pub designation: String,
    pub unit: &'static str,
    pub special: bool,
    pub limits: Option<LimitsView>,
    pub window: Option<LimitsView>,
    pub basis: String,
    pub wires: WiresView,
    pub problem: Option<String>,
    /// Constants, usual formulas, suitability, force and holding over the wires chosen, in sentences.
    pub about: Vec<String>,
}

/// Which wires suit a thread.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct WiresView {
    /// Contact on the pitch cylinder, lead included.
    pub best: Option<String>,
    /// The size marked on wire boxes: P / (2 cos a).
    pub best_plane: String,
    pub min: Option<String>,
    pub max: Option<String>,
}

/// Places for wire sizes: 0.00001 in, 0.0001 mm.
fn wire_text(length: Length, unit: Unit) -> String {
    let places = if unit == Unit::Inch { 5 } else { 4 };
    format_to(length.in_unit(unit), places)
}

impl ThreadView {
    /// Of a thread; with the wire set, if one is chosen.
    pub fn of(thread: &Thread, wires: Option<&WireSet>) -> ThreadView {
        let judged = wires.map(|set| (set, Judge::new(thread, &set.wires)));
        let (judge, problem) = match judged {
            None => (None, None),
            Some((_, Ok(judge))) => (Some(judge), None),
            Some((set, Err(error))) => (
                None,
                Some(format!("Wire set {}: {error}.", set.newest.form.wire_set)),
            ),
        };
        let about = judge.as_ref().map(|judge| about(judge, thread.unit));
        ThreadView {
            about: about.unwrap_or_default(),
            ..ThreadView::with(thread, judge.as_ref(), problem)
        }
    }

    /// Of a thread and its judge.
    pub fn with(thread: &Thread, judge: Option<&Judge>, problem: Option<String>) -> ThreadView {
        let unit = thread.unit;
        let window = judge.and_then(Judge::window).map(|(min, max)| {
            let places = if unit == Unit::Inch { 4 } else { 3 };
            LimitsView {
                min: format_to(min.in_unit(unit), places),
                max: format_to(max.in_unit(unit), places),
            }
        });
        let range = match judge {
            Some(judge) => *judge.wire_range(),
            None => {
                let (smallest, largest) = thread.pitch_diameter_zone();
                wire_range(&thread.geometry, smallest, largest)
            }
        };
        ThreadView {
            designation: thread.designation.clone(),
            unit: unit.as_str(),
            special: thread.special,
            limits: thread.limits.map(|limits| {
                LimitsView::of(
                    limits.pitch_diameter_min.mm(),
                    limits.pitch_diameter_max.mm(),
                    unit,
                )
            }),
            window,
            basis: thread.basis.sentence(),
            wires: WiresView {
                best: range.best.map(|length| wire_text(length, unit)),
                best_plane: wire_text(range.best_plane, unit),
                min: range.min.map(|length| wire_text(length, unit)),
                max: range.max.map(|length| wire_text(length, unit)),
            },
            problem,
            about: Vec::new(),
        }
    }
}
