//! A study under way: a plan with an end, or visits without one.

use overwire_core::study::{Moment, Study, StudyError, VisitPlan, VisitStep, VisitStudy};

use super::studies::{StudyForm, StudyKind};
use crate::clock::{Stamp, shop_day};

/// A study under way.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// Cells in an order that was laid out beforehand.
    Plan(Study),
    /// A master, visited again and again.
    Visits(VisitStudy),
}

/// A moment as plans of visits know it.
pub fn moment(stamp: Stamp) -> Moment {
    Moment {
        day: shop_day(stamp.wall_us, stamp.utc_offset_s),
        second: stamp.wall_us.div_euclid(1_000_000),
    }
}

impl Course {
    /// A study at its beginning.
    ///
    /// # Errors
    /// The plan cannot be carried out.
    pub fn new(form: &StudyForm) -> Result<Course, StudyError> {
        if form.kind != StudyKind::Stability {
            return Ok(Course::Plan(Study::new(form.design())?));
        }
        let master = form.masters.first();
        Ok(Course::Visits(VisitStudy::new(VisitPlan {
            master: master.map_or_else(String::new, |master| master.master.clone()),
            readings: form.rounds.max(1),
            every_days: form.every_days.max(1),
        })))
    }

    /// Whether a reading was taken that stands.
    pub fn has_begun(&self) -> bool {
        match self {
            Course::Plan(study) => study.progress().filled > 0,
            Course::Visits(visits) => visits.standing().readings > 0,
        }
    }

    /// Takes a reading, mm.
    ///
    /// # Errors
    /// It has no place: every reading that is asked for has been taken.
    pub fn fill(&mut self, reading: &str, value_mm: f64, at: Stamp) -> Result<(), StudyError> {
        match self {
            Course::Plan(study) => study.fill(reading, value_mm).map(|_| ()),
            Course::Visits(visits) => visits.fill(reading, value_mm, moment(at)).map(|_| ()),
        }
    }

    /// Opens the place of a reading again; one that fills none is passed over.
    ///
    /// # Errors
    /// There is no reason, or the place is open already.
    pub fn redo(&mut self, reading: &str, reason: &str) -> Result<(), StudyError> {
        match self {
            Course::Plan(study) => match study.cell_of(reading) {
                Some(cell) => study.redo(cell, reason),
                None => Ok(()),
            },
            Course::Visits(visits) => visits.redo(reading, reason),
        }
    }

    /// Whether a reading at a moment would fill a place.
    pub fn asks_at(&self, at: Stamp) -> bool {
        match self {
            Course::Plan(study) => study.next().is_some(),
            Course::Visits(visits) => visits.standing().next(moment(at)) != VisitStep::Rest,
        }
    }
}
