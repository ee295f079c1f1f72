//! The registers: the newest revision of every job, wire set and instrument.
//!
//! Nothing here is edited. A form that is saved becomes a change in the record, and the register is
//! what those changes add up to; a reading names the entry of the revision it was judged by.

pub mod budget;
pub mod checking;
pub mod course;
mod custom;
pub mod forms;
pub mod masters;
pub mod measuring;
pub mod studies;

use std::collections::BTreeMap;
use std::sync::Arc;

use overwire_core::acceptance::Remark;
use overwire_core::diagnosis::{OtherJob, OtherSet, pitch_behind_the_lead};
use overwire_core::judge::{Judge, JudgeError};
use overwire_core::thread::Thread;
use overwire_core::units::{Length, Unit};
use overwire_core::wires::Wires;

use crate::record::{Change, Kind, RecordError, Revised};
use forms::{InstrumentForm, JobForm, WireSetForm};
use measuring::{Conditions, Measuring, Trust};
use studies::StudyForm;

/// The newest revision of something.
#[derive(Debug, Clone)]
pub struct Newest<T> {
    /// Which revision this is, from 1.
    pub revision: u32,
    /// Entry of the record that holds it.
    pub entry: i64,
    /// What it says.
    pub form: Arc<T>,
}

/// A wire set ready for use.
#[derive(Debug, Clone)]
pub struct WireSet {
    /// The form.
    pub newest: Newest<WireSetForm>,
    /// Its wires.
    pub wires: Wires,
    /// Day its calibration is due, days since 1970.
    pub due_day: Option<i64>,
}

/// Everything the shop has told the record of its jobs, wires and instruments.
#[derive(Debug, Clone, Default)]
pub struct Register {
    /// Jobs by name.
    pub jobs: BTreeMap<String, Newest<JobForm>>,
    /// Wire sets by name.
    pub wire_sets: BTreeMap<String, WireSet>,
    /// Instruments by name.
    pub instruments: BTreeMap<String, Newest<InstrumentForm>>,
    /// Studies by name.
    pub studies: BTreeMap<String, Newest<StudyForm>>,
}

impl Register {
    /// Takes a change; those of other kinds are passed over.
    ///
    /// # Errors
    /// A body that this program does not understand.
    pub fn apply(&mut self, change: &Change) -> Result<(), RecordError> {
        let entry = change.head.entry;
        match change.kind {
            Kind::Job => put(&mut self.jobs, &change.subject, entry, change.form()?),
            Kind::Instrument => put(
                &mut self.instruments,
                &change.subject,
                entry,
                change.form()?,
            ),
            Kind::Study => put(&mut self.studies, &change.subject, entry, change.form()?),
            Kind::WireSet => self.put_wire_set(change)?,
            _ => {}
        }
        Ok(())
    }

    fn put_wire_set(&mut self, change: &Change) -> Result<(), RecordError> {
        let form: WireSetForm = change.form()?;
        let entry = change.head.entry;
        let wires = form.check().map_err(|refusals| RecordError::Strange {
            entry,
            what: refusals.0.into_values().collect::<Vec<_>>().join(" "),
        })?;
        let revision = self
            .wire_sets
            .get(&change.subject)
            .map_or(1, |set| set.newest.revision + 1);
        let due_day = forms::due_day(&form.due);
        let newest = Newest {
            revision,
            entry,
            form: Arc::new(form),
        };
        self.wire_sets.insert(
            change.subject.clone(),
            WireSet {
                newest,
                wires,
                due_day,
            },
        );
        Ok(())
    }

    /// Entry of the last revision of a job; 0 where there is none.
    pub fn last_job_entry(&self) -> i64 {
        self.jobs
            .values()
            .map(|job| job.entry)
            .max()
            .unwrap_or_default()
    }

    /// The job, feature and wire set of some tags, ready to judge by; with the conditions they are measured
    /// under, where a budget is to be drawn up.
    pub fn prepare(
        &self,
        job: &str,
        feature: Option<&str>,
        wire_set: Option<&str>,
        conditions: &Conditions<'_>,
    ) -> Option<Prepared> {
        let newest = self.jobs.get(job)?;
        let form = match feature {
            Some(name) => newest
                .form
                .features
                .iter()
                .find(|feature| feature.name == name)?,
            None => newest.form.features.first()?,
        };
        let thread = form.thread().ok()?;
        let wires = wire_set.and_then(|name| self.wire_sets.get(name));
        let (judge, wires_problem) = match wires {
            None => (
                None,
                Some("No wire set is chosen: choose one to see a verdict.".to_owned()),
            ),
            Some(set) => match Judge::new(&thread, &set.wires) {
                Ok(judge) => (Some(judge), None),
                Err(error) => (None, Some(wires_refused(&thread, set, &error))),
            },
        };
        let facts = conditions
            .instrument
            .and_then(|name| self.instruments.get(name));
        let facts = facts.map(|newest| newest.form.facts()).unwrap_or_default();
        let measuring = Measuring::new(&newest.form, wires, facts);
        let trust = measuring.trust(judge.as_ref(), wires, conditions);
        let Decided {
            judge,
            no_verdict,
            said,
        } = decided(&newest.form, judge, &trust);
        let problem = wires_problem
            .clone()
            .or_else(|| no_verdict.clone())
            .or(said);
        Some(Prepared {
            measuring,
            trust,
            job: Revised {
                name: newest.form.job.as_str().into(),
                entry: newest.entry,
            },
            feature: form.name.as_str().into(),
            readings_a_piece: i64::from(newest.form.readings_a_piece),
            wire_set: wires.map(|set| Revised {
                name: set.newest.form.wire_set.as_str().into(),
                entry: set.newest.entry,
            }),
            wires_due_day: wires.and_then(|set| set.due_day),
            unit: thread.unit,
            thread,
            judge,
            problem,
            no_verdict,
            wires_problem,
        })
    }

    /// Other wire sets, and the windows of other jobs: what a doubtful reading may belong to.
    pub fn alternatives(&self, prepared: &Prepared) -> (Vec<OtherSet>, Vec<OtherJob>) {
        let own = prepared.wire_set.as_ref().map(|set| &*set.name);
        let sets = self
            .wire_sets
            .iter()
            .filter(|(name, _)| Some(name.as_str()) != own)
            .map(|(name, set)| OtherSet {
                name: name.clone(),
                wires: set.wires,
            })
            .collect();
        let jobs = self
            .others(Some(&prepared.job.name), Some(&prepared.feature))
            .into_iter()
            .filter_map(|other| {
                Some(OtherJob {
                    window: other.judge.as_ref()?.window()?,
                    name: format!("{}, {}", other.job.name, other.feature),
                })
            })
            .collect();
        (sets, jobs)
    }

    /// Every other feature of every job with limits and a wire set of its own, ready to judge by: what
    /// a reading that does not fit may belong to.
    pub fn others(&self, job: Option<&str>, feature: Option<&str>) -> Vec<Prepared> {
        let mut others = Vec::new();
        for newest in self.jobs.values() {
            for form in &newest.form.features {
                let own =
                    Some(newest.form.job.as_str()) == job && Some(form.name.as_str()) == feature;
                if own || form.wire_set.is_none() {
                    continue;
                }
                let prepared = self.prepare(
                    &newest.form.job,
                    Some(&form.name),
                    form.wire_set.as_deref(),
                    &Conditions::default(),
                );
                others.extend(prepared.filter(|prepared| prepared.judge.is_some()));
            }
        }
        others
    }
}

/// Why wires cannot be used on a thread, and whether the lead may have been taken for the pitch.
fn wires_refused(thread: &Thread, set: &WireSet, error: &JudgeError) -> String {
    let refused = format!("Wire set {}: {error}.", set.newest.form.wire_set);
    match pitch_behind_the_lead(thread, &set.wires) {
        None => refused,
        Some(pitch) => {
            let places = if thread.unit == Unit::Inch { 5 } else { 4 };
            let pitch = pitch.to_text(thread.unit, places);
            format!(
                "{refused} With a pitch of {pitch} they could: was the lead entered as the pitch?"
            )
        }
    }
}

/// A judge with a job's decision rule.
#[derive(Default)]
struct Decided {
    judge: Option<Judge>,
    /// Why there is no verdict.
    no_verdict: Option<String>,
    /// What else is to be said of the rule.
    said: Option<String>,
}

/// The judge with the job's decision rule, or why there is no verdict: one by another rule than the job asks
/// for would be none of its verdicts.
fn decided(job: &JobForm, judge: Option<Judge>, trust: &Trust) -> Decided {
    let Some(judge) = judge else {
        return Decided::default();
    };
    match measuring::decision(job, &judge, trust) {
        Ok(None) => Decided {
            judge: Some(judge),
            ..Decided::default()
        },
        Ok(Some(acceptance)) => {
            let unit = judge.thread().unit;
            let places = if unit == Unit::Inch { 5 } else { 4 };
            let remark = acceptance.remark();
            let said = remark.map(|remark| remark.sentence(unit, places));
            let judge = Some(judge.deciding_by(acceptance));
            match remark {
                // The limits alone are not what was asked for.
                Some(Remark::RatioNotReached { .. }) => Decided {
                    judge,
                    no_verdict: said,
                    said: None,
                },
                _ => Decided {
                    judge,
                    no_verdict: None,
                    said,
                },
            }
        }
        Err(why) => Decided {
            judge: Some(judge),
            no_verdict: Some(why),
            said: None,
        },
    }
}

fn put<T>(map: &mut BTreeMap<String, Newest<T>>, name: &str, entry: i64, form: T) {
    let revision = map.get(name).map_or(1, |newest| newest.revision + 1);
    map.insert(
        name.to_owned(),
        Newest {
            revision,
            entry,
            form: Arc::new(form),
        },
    );
}

/// A job's feature with a wire set, ready to judge by.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// The job and its revision.
    pub job: Revised,
    /// The feature.
    pub feature: Arc<str>,
    /// Counted `inspecting` readings after which the piece advances.
    pub readings_a_piece: i64,
    /// The wire set and its revision.
    pub wire_set: Option<Revised>,
    /// Day the wire set's calibration is due.
    pub wires_due_day: Option<i64>,
    /// The thread.
    pub thread: Thread,
    /// Its own unit, in which a person is told.
    pub unit: Unit,
    /// Judges readings; none when there is no wire set or it does not fit.
    pub judge: Option<Judge>,
    /// What keeps readings from being judged.
    pub problem: Option<String>,
    /// Why readings are converted and get no verdict: the job's rule cannot be applied.
    pub no_verdict: Option<String>,
    /// What of it lies with the wires.
    pub wires_problem: Option<String>,
    /// Under what conditions it is measured.
    pub measuring: Measuring,
    /// How well its pitch diameter is known.
    pub trust: Trust,
}

impl Prepared {
    /// What a reading over wires is about: the middle of the window, where there is one.
    pub fn middle_over_wires(&self) -> Option<Length> {
        let (min, max) = self.judge.as_ref()?.window()?;
        Some((min + max) * 0.5)
    }

    /// What its pitch diameter is about: the middle of the zone.
    pub fn middle_pitch_diameter(&self) -> Length {
        let (smallest, largest) = self.thread.pitch_diameter_zone();
        (smallest + largest) * 0.5
    }
}
