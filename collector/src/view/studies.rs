//! A study under way, as the page shows it at its station and in the list.

use overwire_core::study::{Prompt, Study};
use serde::Serialize;

use crate::register::studies::StudyForm;

/// What a study asks for next at a station.
#[derive(Debug, Clone, Serialize)]
pub struct StudyBoard {
    /// Its name.
    pub study: String,
    /// What it asks, in words.
    pub kind: &'static str,
    /// What to do, in words; none when nothing is left to measure.
    pub next: Option<NextView>,
    /// Readings that stand.
    pub filled: usize,
    /// Readings the plan asks for.
    pub total: usize,
    /// Readings that were taken again.
    pub redone: usize,
}

/// The next cell.
#[derive(Debug, Clone, Serialize)]
pub struct NextView {
    /// What to do.
    pub words: String,
    /// Which reading of the study it is, from 1.
    pub number: usize,
    /// What has to be changed since the reading before: `piece`, `method`, `operator`.
    pub changes: Vec<&'static str>,
    /// Why it is measured again, where it is.
    pub again: Option<String>,
}

impl StudyBoard {
    /// Of a study under way.
    pub fn of(form: &StudyForm, study: &Study) -> StudyBoard {
        let progress = study.progress();
        StudyBoard {
            study: form.study.clone(),
            kind: form.kind.words(),
            next: study.next().map(NextView::of),
            filled: progress.filled,
            total: progress.total,
            redone: progress.redone,
        }
    }
}

impl NextView {
    fn of(prompt: Prompt) -> NextView {
        NextView {
            words: prompt.words,
            number: prompt.number,
            changes: prompt
                .changes
                .into_iter()
                .map(|factor| factor.code())
                .collect(),
            again: prompt.again,
        }
    }
}
