//! The studies under way: which cell comes next, and what filled the ones before. The record alone says it; the
//! book is what its readings and voids add up to.
//!
//! A press while a study is active at a station fills the next cell of its plan. A reading that does not count
//! (a double press, closed jaws, one that is held) fills none. To measure a cell again its reading is voided with
//! a reason: the cell is then the next one.

use std::collections::BTreeMap;
use std::sync::Arc;

use overwire_core::study::{Prompt, Study};
use rusqlite::Connection;

use crate::record::standing::Standing;
use crate::record::{Kind, Reading, RecordError, reader};
use crate::register::Register;
use crate::register::studies::StudyForm;
use crate::station::StudySlot;

/// One study under way.
#[derive(Debug, Clone)]
pub struct Running {
    /// Its plan, as typed.
    pub form: Arc<StudyForm>,
    /// How far it has come.
    pub study: Study,
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
        if let Some(study) = replayed(&newest.form, look)? {
            let form = newest.form.clone();
            self.by_name
                .insert(name.to_owned(), Running { form, study });
        }
        Ok(())
    }

    /// A study by its name.
    pub fn get(&self, name: &str) -> Option<&Running> {
        self.by_name.get(name)
    }

    /// What a study asks for next.
    pub fn next(&self, name: &str) -> Option<Prompt> {
        self.by_name.get(name)?.study.next()
    }

    /// What the next reading of a study is tagged with; none when the study is finished.
    pub fn slot(&self, name: &str) -> Option<StudySlot> {
        let running = self.by_name.get(name)?;
        let prompt = running.study.next()?;
        let design = running.study.design();
        let cell = prompt.cell;
        let piece = design.piece_name(cell.operator, cell.piece)?;
        let each = design.pieces_each();
        Some(StudySlot {
            study: name.into(),
            cell: prompt.index as i64,
            piece_name: piece.into(),
            // Pieces of their own are numbered on from one person to the next.
            piece: match design.pieces {
                overwire_core::study::Pieces::Shared(_) => cell.piece as i64 + 1,
                overwire_core::study::Pieces::Own(_) => {
                    (cell.operator * each + cell.piece) as i64 + 1
                }
            },
            method: design.methods.get(cell.method)?.as_str().into(),
            operator: match running.form.operators.is_empty() {
                true => None,
                false => Some(design.operators.get(cell.operator)?.as_str().into()),
            },
        })
    }

    /// Takes a reading that was made for a study.
    pub fn take(&mut self, reading: &Reading) {
        let Some((name, value_mm)) = filling(reading) else {
            return;
        };
        if let Some(running) = self.by_name.get_mut(&name) {
            // Refused only where the study is finished already: then the reading stays outside it.
            let _ = running.study.fill(&id(reading), value_mm);
        }
    }
}

fn id(reading: &Reading) -> String {
    uuid::Uuid::from_bytes(reading.head.id).to_string()
}

/// The study a reading fills a cell of, and with what, mm.
fn filling(reading: &Reading) -> Option<(String, f64)> {
    let judged = &reading.judged;
    let note = judged.grounds().study?;
    let value = judged.pitch_diameter_mm.unwrap_or(judged.over_wires_mm);
    judged.counted.then_some((note.study, value))
}

/// What happened in a study, by the entry it happened at.
enum Happened {
    Filled(String, f64),
    Redo(String, String),
}

/// A study as its readings and voids in the record make it; none for a plan that cannot be carried out.
///
/// # Errors
/// The record cannot be read.
pub fn replayed(form: &StudyForm, look: &Connection) -> Result<Option<Study>, RecordError> {
    let Ok(mut study) = Study::new(form.design()) else {
        return Ok(None);
    };
    let mut events: Vec<(i64, Happened)> = Vec::new();
    for reading in reader::study_readings(look, &form.job, &form.feature)? {
        let Some((name, value)) = filling(&reading) else {
            continue;
        };
        if name != form.study {
            continue;
        }
        let entry = reading.head.entry;
        events.push((entry, Happened::Filled(id(&reading), value)));
        for change in reader::changes_of(look, entry)? {
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
            Happened::Filled(id, value) => study.fill(&id, value).map(|_| ()),
            Happened::Redo(id, reason) => match study.cell_of(&id) {
                Some(cell) => study.redo(cell, &reason),
                None => Ok(()),
            },
        };
    }
    Ok(Some(study))
}

/// Whether a reading was made for a study, and for which.
pub fn study_of(standing: &Standing) -> Option<String> {
    let grounds = standing.reading.judged.grounds();
    grounds.study.map(|note| note.study)
}
