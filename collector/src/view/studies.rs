//! A study under way, as the page shows it at its station.

use overwire_core::study::{Prompt, Study, VisitStanding, VisitStep};
use serde::Serialize;

use crate::clock::{Stamp, day_text, shop_day};
use crate::register::course::{Course, moment};
use crate::register::masters::MasterForm;
use crate::register::studies::StudyForm;

/// A study at a station: enough to say at any moment what comes next.
#[derive(Debug, Clone)]
pub struct StudyBoard {
    study: String,
    kind: &'static str,
    /// Whether it is of plain masters, without wires.
    pub plain: bool,
    asks: Asks,
}

#[derive(Debug, Clone)]
enum Asks {
    Plan(PlanView),
    Visits(VisitStanding, Option<MasterView>),
}

#[derive(Debug, Clone)]
struct PlanView {
    next: Option<NextView>,
    filled: usize,
    total: usize,
    redone: usize,
}

/// What a study asks for next at a station.
#[derive(Debug, Clone, Serialize)]
pub struct StudyView<'a> {
    /// Its name.
    pub study: &'a str,
    /// What it asks, in words.
    pub kind: &'static str,
    /// Whether masters are measured without wires.
    pub plain: bool,
    /// What to do, in words; none when nothing is left to measure, or nothing more now.
    pub next: Option<NextView>,
    /// Readings that stand; where a master is visited again and again, those of this visit.
    pub filled: usize,
    /// Readings the plan or the visit asks for.
    pub total: usize,
    /// Readings that were taken again.
    pub redone: usize,
    /// Where a master is visited again and again: which visit this is, and when the next one is due.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub visit: Option<VisitView>,
}

/// The next cell.
#[derive(Debug, Clone, Serialize)]
pub struct NextView {
    /// What to do.
    pub words: String,
    /// Which reading of the study or the visit it is, from 1.
    pub number: usize,
    /// What has to be changed since the reading before: `piece`, `method`, `operator`.
    pub changes: Vec<&'static str>,
    /// Why it is measured again, where it is.
    pub again: Option<String>,
    /// The master, where one is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub master: Option<MasterView>,
}

/// A master, as the person at the station needs it.
#[derive(Debug, Clone, Serialize)]
pub struct MasterView {
    /// Its name.
    pub name: String,
    /// Its nominal size; never the certified one, so that nobody aims at it.
    pub nominal: String,
}

/// A visit to a master.
#[derive(Debug, Clone, Serialize)]
pub struct VisitView {
    /// Which visit, from 1; the last one, when its readings are taken.
    pub number: usize,
    /// The day the next visit is due, as `2027-01-31`; none before the first.
    pub due: Option<String>,
    /// The same in words.
    pub words: String,
}

/// A master that the station's instrument visits again and again.
#[derive(Debug, Clone)]
pub struct VisitsBoard {
    /// The study.
    pub study: String,
    /// Where it stands.
    pub standing: VisitStanding,
}

/// When it is visited next.
#[derive(Debug, Clone, Serialize)]
pub struct DueView<'a> {
    /// The study.
    pub study: &'a str,
    /// The day, as `2027-01-31`; none before the first visit.
    pub due: Option<String>,
    /// Whether that day has come.
    pub is_due: bool,
    /// The same in words.
    pub words: String,
}

impl VisitsBoard {
    /// At a moment.
    pub fn view(&self, now: Stamp) -> DueView<'_> {
        let today = shop_day(now.wall_us, now.utc_offset_s);
        let due = self.standing.due_day();
        DueView {
            study: &self.study,
            due: due.map(day_text),
            is_due: due.is_some_and(|day| day <= today),
            words: due_words(due, today),
        }
    }
}

impl MasterView {
    fn of(master: &MasterForm) -> MasterView {
        MasterView {
            name: master.master.clone(),
            nominal: master.nominal().unwrap_or_default(),
        }
    }
}

impl StudyBoard {
    /// Of a study under way.
    pub fn of(form: &StudyForm, course: &Course) -> StudyBoard {
        StudyBoard {
            study: form.study.clone(),
            kind: form.kind.words(),
            plain: form.is_plain(),
            asks: match course {
                Course::Plan(study) => Asks::Plan(PlanView::of(form, study)),
                Course::Visits(visits) => {
                    Asks::Visits(visits.standing(), form.masters.first().map(MasterView::of))
                }
            },
        }
    }

    /// What it asks for at a moment.
    pub fn view(&self, now: Stamp) -> StudyView<'_> {
        let empty = StudyView {
            study: &self.study,
            kind: self.kind,
            plain: self.plain,
            next: None,
            filled: 0,
            total: 0,
            redone: 0,
            visit: None,
        };
        match &self.asks {
            Asks::Plan(plan) => StudyView {
                next: plan.next.clone(),
                filled: plan.filled,
                total: plan.total,
                redone: plan.redone,
                ..empty
            },
            Asks::Visits(standing, master) => visited(standing, master.as_ref(), now, empty),
        }
    }
}

impl PlanView {
    fn of(form: &StudyForm, study: &Study) -> PlanView {
        let progress = study.progress();
        PlanView {
            next: study.next().map(|prompt| NextView::of(form, prompt)),
            filled: progress.filled,
            total: progress.total,
            redone: progress.redone,
        }
    }
}

impl NextView {
    fn of(form: &StudyForm, prompt: Prompt) -> NextView {
        let master = form.masters.get(prompt.cell.piece).map(MasterView::of);
        let words = match &master {
            Some(master) => format!(
                "Measure {}, {}, round {} of {}.",
                master.name,
                master.nominal,
                prompt.cell.round + 1,
                form.rounds
            ),
            None => prompt.words,
        };
        NextView {
            words,
            number: prompt.number,
            changes: prompt
                .changes
                .into_iter()
                .map(|factor| factor.code())
                .collect(),
            again: prompt.again,
            master,
        }
    }
}

fn visited<'a>(
    standing: &VisitStanding,
    master: Option<&MasterView>,
    now: Stamp,
    empty: StudyView<'a>,
) -> StudyView<'a> {
    let total = standing.plan.readings as usize;
    let due = standing.due_day();
    let (number, filled, next) = match standing.next(moment(now)) {
        VisitStep::Rest => (standing.visits, total, None),
        VisitStep::Measure {
            visit,
            reading,
            of,
            again,
        } => {
            let place = master.map(|master| format!("{}, {}", master.name, master.nominal));
            let next = NextView {
                words: format!(
                    "Measure {}, visit {visit}, reading {reading} of {of}.",
                    place.unwrap_or_default()
                ),
                number: reading as usize,
                changes: Vec::new(),
                again,
                master: master.cloned(),
            };
            (visit, reading as usize - 1, Some(next))
        }
    };
    let today = shop_day(now.wall_us, now.utc_offset_s);
    let words = match &next {
        Some(_) if filled > 0 => format!("Visit {number} is under way."),
        Some(_) => due_words(due, today),
        None => format!(
            "Visit {number} is done. {}",
            due.map_or_else(String::new, |day| format!(
                "The next is due {}.",
                day_text(day)
            ))
        ),
    };
    StudyView {
        next,
        filled,
        total,
        redone: standing.redone,
        visit: Some(VisitView {
            number,
            due: due.map(day_text),
            words,
        }),
        ..empty
    }
}

/// Whether a visit that is not begun yet is due.
fn due_words(due: Option<i64>, today: i64) -> String {
    let days = |count: i64| match count {
        1 => "1 day".to_owned(),
        count => format!("{count} days"),
    };
    match due {
        None => "The first visit.".to_owned(),
        Some(due) if due == today => "Due today.".to_owned(),
        Some(due) if due < today => {
            format!("Due since {}, {} ago.", day_text(due), days(today - due))
        }
        Some(due) => format!(
            "Due {}, in {}; a visit before is one all the same.",
            day_text(due),
            days(due - today)
        ),
    }
}
