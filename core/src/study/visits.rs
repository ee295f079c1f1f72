//! One master, visited again and again: a plan without an end.
//!
//! A [`VisitStudy`] says how often the master is due and how many readings a visit has. It is a pure state
//! machine over readings and the moments they came at. Readings of one sitting make one visit; once a visit
//! has its readings, nothing more is asked for in that sitting, so that a second look at once is not taken
//! for a second visit. A visit before or after its day is a visit all the same.
//!
//! A sitting is a shop day, or two hours where the day turns in it (night shift): our own convention. A
//! reading that is voided in its sitting is taken again; later, its visit stands with the readings it has,
//! since the day it belongs to cannot be had back.

use std::collections::BTreeMap;

use super::progress::StudyError;
use super::stability::Visit;
use crate::stats::counted;

/// Most readings of a visit.
pub const MOST_A_VISIT: u32 = 50;

/// Most days from one visit to the next.
pub const MOST_DAYS: u32 = 366;

/// A sitting that began so short a time ago is the same, whatever the day, s.
const SITTING_S: i64 = 2 * 3600;

/// When something happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The day in the shop, in days from any beginning.
    pub day: i64,
    /// In seconds from any beginning.
    pub second: i64,
}

/// How a master is visited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitPlan {
    /// Its name.
    pub master: String,
    /// Readings of a visit, 1 to [`MOST_A_VISIT`].
    pub readings: u32,
    /// Days from one visit to the next, 1 to [`MOST_DAYS`].
    pub every_days: u32,
}

/// What a plan of visits asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VisitStep {
    /// A reading.
    Measure {
        /// Which visit, from 1.
        visit: usize,
        /// Which reading of it, from 1.
        reading: u32,
        /// How many it has.
        of: u32,
        /// The reason, when one of this visit is taken again.
        again: Option<String>,
    },
    /// Nothing more now: this sitting's visit has its readings.
    Rest,
}

/// Where the plan stands: enough to say what comes next at any moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitStanding {
    /// The plan.
    pub plan: VisitPlan,
    /// Visits with a reading.
    pub visits: usize,
    /// Readings that stand.
    pub readings: usize,
    /// Readings that were taken again.
    pub redone: usize,
    /// The day of the last visit with a reading.
    pub last_day: Option<i64>,
    /// The visit that was begun last.
    sitting: Option<Sitting>,
}

/// The visit that was begun last.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Sitting {
    began: Moment,
    /// Visits with a reading, up to and with this one.
    number: usize,
    taken: u32,
    again: Option<String>,
}

impl VisitStanding {
    /// What is asked for at a moment.
    pub fn next(&self, now: Moment) -> VisitStep {
        let of = self.plan.readings;
        match self.sitting.as_ref().filter(|last| last.holds(now)) {
            Some(last) if last.taken >= of => VisitStep::Rest,
            Some(last) => VisitStep::Measure {
                visit: last.number,
                reading: last.taken + 1,
                of,
                again: last.again.clone(),
            },
            None => VisitStep::Measure {
                visit: self.visits + 1,
                reading: 1,
                of,
                again: None,
            },
        }
    }

    /// The day the next visit is due; none before the first.
    pub fn due_day(&self) -> Option<i64> {
        Some(self.last_day? + i64::from(self.plan.every_days))
    }
}

impl Sitting {
    fn holds(&self, now: Moment) -> bool {
        is_one_sitting(self.began, now)
    }
}

fn is_one_sitting(began: Moment, now: Moment) -> bool {
    now.day == began.day || (now.second - began.second).abs() < SITTING_S
}

/// A visit and what was said of its readings.
#[derive(Debug, Clone, PartialEq)]
struct Kept {
    began: Moment,
    readings: Vec<(String, f64)>,
    /// Reasons of voids whose reading was not taken again yet.
    missing: Vec<String>,
}

/// A plan of visits under way.
///
/// ```
/// use overwire_core::study::{Moment, VisitPlan, VisitStep, VisitStudy};
/// let plan = VisitPlan { master: "SM-10".to_owned(), readings: 2, every_days: 7 };
/// let mut study = VisitStudy::new(plan);
/// let monday = Moment { day: 100, second: 0 };
/// study.fill("a", 10.001, monday)?;
/// study.fill("b", 10.002, monday)?;
/// assert_eq!(study.standing().next(monday), VisitStep::Rest);
/// assert_eq!(study.standing().due_day(), Some(107));
/// # Ok::<(), overwire_core::study::StudyError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct VisitStudy {
    plan: VisitPlan,
    visits: Vec<Kept>,
    used: BTreeMap<String, usize>,
    redone: usize,
}

impl VisitStudy {
    /// A plan at its beginning.
    pub const fn new(plan: VisitPlan) -> VisitStudy {
        VisitStudy {
            plan,
            visits: Vec::new(),
            used: BTreeMap::new(),
            redone: 0,
        }
    }

    /// The plan.
    pub const fn plan(&self) -> &VisitPlan {
        &self.plan
    }

    /// Where it stands.
    pub fn standing(&self) -> VisitStanding {
        let visited = |kept: &&Kept| !kept.readings.is_empty();
        let mut begun = self.visits.iter().filter(visited);
        let sitting = self.visits.last().map(|last| Sitting {
            began: last.began,
            number: begun.clone().count() + usize::from(last.readings.is_empty()),
            taken: last.readings.len() as u32,
            again: last.missing.last().cloned(),
        });
        VisitStanding {
            plan: self.plan.clone(),
            visits: begun.clone().count(),
            readings: begun.clone().map(|kept| kept.readings.len()).sum(),
            redone: self.redone,
            last_day: begun.next_back().map(|kept| kept.began.day),
            sitting,
        }
    }

    /// How many visits were begun, with those whose readings were all voided.
    pub const fn begun(&self) -> usize {
        self.visits.len()
    }

    /// Takes a reading, in mm, into the visit it belongs to by its moment, and says which that is, from 0
    /// in the order they were begun.
    ///
    /// # Errors
    /// [`StudyError::Finished`] when this sitting's visit has its readings, [`StudyError::NotFinite`], or
    /// [`StudyError::Used`] for a reading that was taken before.
    pub fn fill(&mut self, reading: &str, value_mm: f64, now: Moment) -> Result<usize, StudyError> {
        if let Some(&cell) = self.used.get(reading) {
            let reading = reading.to_owned();
            return Err(StudyError::Used { reading, cell });
        }
        if !value_mm.is_finite() {
            let reading = reading.to_owned();
            return Err(StudyError::NotFinite { reading });
        }
        let at = self.visit_at(now);
        let most = self.plan.readings as usize;
        let Some(visit) = self.visits.get_mut(at) else {
            return Err(StudyError::Finished);
        };
        if visit.readings.len() >= most {
            return Err(StudyError::Finished);
        }
        if visit.missing.pop().is_some() {
            self.redone += 1;
        }
        visit.readings.push((reading.to_owned(), value_mm));
        self.used.insert(reading.to_owned(), at);
        Ok(at)
    }

    /// Which visit a moment belongs to, begun where there is none.
    pub fn visit_index(&self, now: Moment) -> usize {
        match self.visits.last() {
            Some(last) if is_one_sitting(last.began, now) || last.readings.is_empty() => {
                self.visits.len() - 1
            }
            _ => self.visits.len(),
        }
    }

    fn visit_at(&mut self, now: Moment) -> usize {
        let at = self.visit_index(now);
        match self.visits.get_mut(at) {
            // A visit whose readings were all voided is begun anew with the day.
            Some(empty) if !is_one_sitting(empty.began, now) => {
                empty.began = now;
                empty.missing.clear();
            }
            Some(_) => {}
            None => self.visits.push(Kept {
                began: now,
                readings: Vec::new(),
                missing: Vec::new(),
            }),
        }
        at
    }

    /// Takes a reading out, with a reason: in its sitting it is asked for again.
    ///
    /// # Errors
    /// [`StudyError::NoReason`], or [`StudyError::NotFilled`] for a reading that fills no visit.
    pub fn redo(&mut self, reading: &str, reason: &str) -> Result<(), StudyError> {
        if reason.trim().is_empty() {
            return Err(StudyError::NoReason);
        }
        let at = self.used.get(reading).copied().unwrap_or(self.visits.len());
        let visit = self.visits.get_mut(at);
        let place = visit.as_ref().and_then(|visit| {
            let mut ids = visit.readings.iter().map(|(id, _)| id);
            ids.position(|id| id == reading)
        });
        match (visit, place) {
            (Some(visit), Some(place)) => {
                visit.readings.remove(place);
                visit.missing.push(reason.to_owned());
                Ok(())
            }
            _ => Err(StudyError::NotFilled { cell: at }),
        }
    }

    /// The visits with readings, in the order they were made.
    pub fn visits(&self) -> Vec<Visit> {
        let visited = self.visits.iter().filter(|kept| !kept.readings.is_empty());
        let visit = |kept: &Kept| Visit {
            day: kept.began.day as f64,
            readings: kept.readings.iter().map(|(_, mm)| *mm).collect(),
        };
        visited.map(visit).collect()
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        let standing = self.standing();
        let again = match standing.redone {
            0 => String::new(),
            1 => " One reading was taken again.".to_owned(),
            many => format!(" {many} readings were taken again."),
        };
        format!(
            "{} a visit, due every {}; readings of one day are one visit.{again}",
            counted(self.plan.readings as usize, "readings"),
            match self.plan.every_days {
                1 => "day".to_owned(),
                days => counted(days as usize, "days"),
            }
        )
    }
}
