//! The studies under way: which cell comes next, and what filled the ones before. The record alone says it; the
//! book is what its readings and voids add up to.
//!
//! A press while a study is active at a station fills the next cell of its plan. A reading that does not count
//! (a double press, closed jaws, one that is held) fills none. To measure a cell again its reading is voided with
//! a reason: the cell is then the next one. A master that is visited again and again has no plan of cells: what
//! a reading fills follows from its moment ([`Course`]).

use std::collections::BTreeMap;
use std::sync::Arc;

use overwire_core::study::{Level, Linearity, Pieces, Study, VisitStep, VisitStudy};
use overwire_core::units::Length;
use rusqlite::Connection;

use crate::clock::Stamp;
use crate::record::standing::Standing;
use crate::record::{Kind, Reading, RecordError, reader};
use crate::register::course::{Course, moment};
use crate::register::masters::MasterForm;
use crate::register::studies::{NO_WIRES, StudyForm, StudyKind};
use crate::register::{Prepared, Register};
use crate::station::judging::size_mm;
use crate::station::{Master, StudySlot};
use crate::view::measuring::fine_places;
use crate::view::studies::VisitsBoard;

/// A reading further from its master's size is of something else, mm: half a turn of a thimble.
const FAR_MM: f64 = 0.25;
/// Less than this is never far, mm: masters that lie close together are told apart by hand.
const NEAR_MM: f64 = 0.05;

/// One study under way.
#[derive(Debug, Clone)]
pub struct Running {
    /// Its plan, as typed.
    pub form: Arc<StudyForm>,
    /// How far it has come.
    pub course: Course,
    /// Of masters of several sizes: what their readings say so far.
    bias: Option<Arc<Linearity>>,
}

impl Running {
    fn new(form: Arc<StudyForm>, course: Course) -> Running {
        let bias = bias_so_far(&form, &course);
        Running { form, course, bias }
    }
}

/// What masters of several sizes say of an instrument's bias; none while they say nothing.
fn bias_so_far(form: &StudyForm, course: &Course) -> Option<Arc<Linearity>> {
    let Course::Plan(study) = course else {
        return None;
    };
    if form.kind != StudyKind::Linearity {
        return None;
    }
    let sizes: Vec<f64> = form
        .masters
        .iter()
        .filter_map(MasterForm::size_mm)
        .collect();
    let found = Linearity::of(&Level::from_study(study, &sizes), 0.95);
    found.ok().map(Arc::new)
}

/// Every study.
#[derive(Debug, Default)]
pub struct StudyBook {
    by_name: BTreeMap<String, Running>,
}

impl StudyBook {
    /// Reads every study of the register anew.
    ///
    /// # Errors
    /// The record cannot be read.
    pub fn restore(&mut self, register: &Register, look: &Connection) -> Result<(), RecordError> {
        for name in register.studies.keys() {
            self.reload(name, register, look)?;
        }
        Ok(())
    }

    /// Reads one study anew, after something was said of its readings.
    ///
    /// # Errors
    /// The record cannot be read.
    pub fn reload(
        &mut self,
        name: &str,
        register: &Register,
        look: &Connection,
    ) -> Result<(), RecordError> {
        let Some(newest) = register.studies.get(name) else {
            return Ok(());
        };
        if let Some(course) = replayed(&newest.form, look)? {
            let running = Running::new(newest.form.clone(), course);
            self.by_name.insert(name.to_owned(), running);
        }
        Ok(())
    }

    /// A study by its name.
    pub fn get(&self, name: &str) -> Option<&Running> {
        self.by_name.get(name)
    }

    /// Masters that an instrument visits again and again, by the name of their study.
    pub fn visits_of(&self, instrument: &str) -> Vec<VisitsBoard> {
        let own = self.by_name.values();
        let own = own.filter(|running| running.form.instrument == instrument);
        own.filter_map(|running| match &running.course {
            Course::Visits(visits) => Some(VisitsBoard {
                study: running.form.study.clone(),
                standing: visits.standing(),
            }),
            Course::Plan(_) => None,
        })
        .collect()
    }

    /// What the linearity studies of an instrument say of its bias where a job's thread is measured: over
    /// plain masters at the length over wires, over threaded ones at the pitch diameter.
    pub fn bias_sentences(&self, instrument: &str, prepared: &Prepared) -> Vec<String> {
        let of = |running: &Running| {
            let form = &running.form;
            let bias = running
                .bias
                .as_ref()
                .filter(|_| form.instrument == instrument)?;
            let size = match form.is_plain() {
                true => prepared.middle_over_wires()?,
                false => prepared.middle_pitch_diameter(),
            };
            let places = fine_places(prepared.unit) - 1;
            let told = bias.size_sentence(size.mm(), prepared.unit, places);
            let more = beyond_budget(bias, size, prepared).unwrap_or_default();
            Some(format!(
                "Study {} of {instrument}: {told}{more}",
                form.study
            ))
        };
        self.by_name.values().filter_map(of).collect()
    }

    /// What a reading at a moment is tagged with; none when the study asks for none.
    pub fn slot(&self, name: &str, now: Stamp) -> Option<StudySlot> {
        let running = self.by_name.get(name)?;
        match &running.course {
            Course::Plan(study) => of_plan(&running.form, study),
            Course::Visits(visits) => of_visits(&running.form, visits, now),
        }
    }

    /// The thread that a study asks for next; none where it is of plain masters, or asks for nothing.
    pub fn feature(&self, name: &str, now: Stamp) -> Option<String> {
        let form = &self.by_name.get(name)?.form;
        let slot = self.slot(name, now)?;
        let piece = usize::try_from(slot.piece - 1).ok()?;
        (!form.is_plain()).then(|| form.feature_of(piece).to_owned())
    }

    /// Takes a reading that was made for a study.
    pub fn take(&mut self, reading: &Reading) {
        let Some((name, value_mm)) = filling(reading) else {
            return;
        };
        if let Some(running) = self.by_name.get_mut(&name) {
            // Refused only where nothing is asked for: then the reading stays outside it.
            let _ = running
                .course
                .fill(&id(reading), value_mm, reading.head.stamp);
            running.bias = bias_so_far(&running.form, &running.course);
        }
    }
}

/// A bias that is shown, and larger than what the uncertainty budget allows the instrument.
fn beyond_budget(bias: &Linearity, size: Length, prepared: &Prepared) -> Option<String> {
    let allowed = prepared.measuring.max_error()?;
    let found = bias.bias_at(size.mm())?;
    let beyond = !found.holds(0.0) && bias.line.at(size.mm()).abs() > allowed.mm();
    let text = allowed.to_text(prepared.unit, fine_places(prepared.unit));
    beyond.then(|| {
        format!(
            " That is more than the largest error entered for the instrument, ± {text}: its readings are less well known than their uncertainty says."
        )
    })
}

/// The cell that a plan asks for next.
fn of_plan(form: &StudyForm, study: &Study) -> Option<StudySlot> {
    let prompt = study.next()?;
    let design = study.design();
    let cell = prompt.cell;
    let piece = design.piece_name(cell.operator, cell.piece)?;
    let each = design.pieces_each();
    Some(StudySlot {
        study: form.study.as_str().into(),
        cell: prompt.index as i64,
        piece_name: piece.into(),
        // Pieces of their own are numbered on from one person to the next.
        piece: match design.pieces {
            Pieces::Shared(_) => cell.piece as i64 + 1,
            Pieces::Own(_) => (cell.operator * each + cell.piece) as i64 + 1,
        },
        attempt: 1,
        master: master(form, cell.piece),
        method: design.methods.get(cell.method)?.as_str().into(),
        operator: match form.operators.is_empty() {
            true => None,
            false => Some(design.operators.get(cell.operator)?.as_str().into()),
        },
    })
}

/// The place of a visit that a moment belongs to.
fn of_visits(form: &StudyForm, visits: &VisitStudy, now: Stamp) -> Option<StudySlot> {
    let now = moment(now);
    let VisitStep::Measure { reading, .. } = visits.standing().next(now) else {
        return None;
    };
    let visit = visits.visit_index(now) as i64;
    let plan = visits.plan();
    Some(StudySlot {
        study: form.study.as_str().into(),
        cell: visit * i64::from(plan.readings) + i64::from(reading) - 1,
        piece_name: plan.master.as_str().into(),
        piece: 1,
        attempt: visit + 1,
        master: master(form, 0),
        method: form.methods.first().map_or(NO_WIRES, String::as_str).into(),
        operator: form.operators.first().map(|name| name.as_str().into()),
    })
}

/// The master of a piece, where the study is of masters.
fn master(form: &StudyForm, piece: usize) -> Option<Master> {
    let size_mm = form.masters.get(piece)?.size_mm()?;
    let sizes = form.masters.iter().filter_map(|each| each.size_mm());
    let gaps = sizes
        .map(|mm| (mm - size_mm).abs())
        .filter(|gap| *gap > 0.0);
    let nearest = gaps.fold(f64::INFINITY, f64::min);
    Some(Master {
        plain: form.is_plain(),
        size_mm,
        far_mm: (nearest / 2.0).clamp(NEAR_MM, FAR_MM),
    })
}

fn id(reading: &Reading) -> String {
    uuid::Uuid::from_bytes(reading.head.id).to_string()
}

/// The study a reading fills a cell of, and with what, mm.
fn filling(reading: &Reading) -> Option<(String, f64)> {
    let judged = &reading.judged;
    let note = judged.grounds().study?;
    judged.counted.then(|| (note.study, size_mm(judged)))
}

/// What happened in a study, by the entry it happened at.
enum Happened {
    Filled(String, f64, Stamp),
    Redo(String, String),
}

/// A study as its readings and voids in the record make it; none for a plan that cannot be carried out.
///
/// # Errors
/// The record cannot be read.
pub fn replayed(form: &StudyForm, look: &Connection) -> Result<Option<Course>, RecordError> {
    let Ok(mut course) = Course::new(form) else {
        return Ok(None);
    };
    let mut events: Vec<(i64, Happened)> = Vec::new();
    for reading in reader::study_readings(look, &form.study)? {
        let Some((_, value)) = filling(&reading) else {
            continue;
        };
        let head = &reading.head;
        let filled = Happened::Filled(id(&reading), value, head.stamp);
        events.push((head.entry, filled));
        for change in reader::changes_of(look, head.entry)? {
            if change.kind == Kind::Void {
                let reason = change.reason.clone();
                events.push((change.head.entry, Happened::Redo(id(&reading), reason)));
            }
        }
    }
    events.sort_by_key(|(entry, _)| *entry);
    for (_, happened) in events {
        // A step the plan no longer has room for stays outside it.
        let _ = match happened {
            Happened::Filled(id, value, at) => course.fill(&id, value, at),
            Happened::Redo(id, reason) => course.redo(&id, &reason),
        };
    }
    Ok(Some(course))
}

/// Whether a reading was made for a study, and for which.
pub fn study_of(standing: &Standing) -> Option<String> {
    let grounds = standing.reading.judged.grounds();
    grounds.study.map(|note| note.study)
}
