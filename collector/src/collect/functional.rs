//! Functional checks: recorded as they are told, and looked up for the pieces that a station shows.

use std::collections::{BTreeSet, VecDeque};
use std::sync::Arc;

use overwire_core::functional_check::FunctionalResult;
use overwire_core::judge::Purpose;
use rusqlite::Connection;

use super::Collector;
use super::command::{Answer, FunctionalForm, Refusal};
use super::desk::{LONGEST_NAME, LONGEST_REMARK, check_said, field};
use crate::record::functional::{PieceKey, body, gauges, newest};
use crate::record::standing::Standing;
use crate::record::{Change, Kind, reader};
use crate::register::forms::Refusals;
use crate::station::{Tags, new_head};
use crate::view::functional::{FunctionalView, ShownChecks};

/// How many gauges are offered to choose from.
const GAUGES: usize = 3;

/// The functional checks of the pieces a station shows, looked up once each.
#[derive(Debug, Default)]
pub struct CheckBook {
    shown: Arc<ShownChecks>,
    feature: Option<(String, String)>,
}

impl CheckBook {
    /// What is known now.
    pub fn shown(&self) -> Arc<ShownChecks> {
        self.shown.clone()
    }

    /// Looks up what is not known yet. A piece whose check cannot be read is left out: nothing is said of it.
    pub fn look_up(&mut self, look: &Connection, recent: &VecDeque<Arc<Standing>>, tags: &Tags) {
        let wanted = wanted(recent, tags);
        let feature = tags.job.clone().zip(tags.feature.clone());
        let known = &self.shown.pieces;
        let same = wanted.len() == known.len() && wanted.iter().all(|key| known.contains_key(key));
        if same && feature == self.feature {
            return;
        }
        let found = wanted.into_iter().filter_map(|key| {
            let check = match known.get(&key) {
                Some(check) => check.clone(),
                None => newest(look, &key).ok()?,
            };
            Some((key, check))
        });
        let pieces = found.collect();
        let gauges = match &feature {
            _ if feature == self.feature => self.shown.gauges.clone(),
            Some((job, name)) => gauges(look, job, name, GAUGES).unwrap_or_default(),
            None => Vec::new(),
        };
        self.feature = feature;
        self.shown = Arc::new(ShownChecks { pieces, gauges });
    }

    /// Forgets what was looked up, so that it is looked up anew.
    pub fn forget(&mut self) {
        *self = CheckBook::default();
    }
}

/// The pieces whose checks are shown: those of the last readings, and the one that comes next.
fn wanted(recent: &VecDeque<Arc<Standing>>, tags: &Tags) -> BTreeSet<PieceKey> {
    let of_piece = |standing: &&Arc<Standing>| {
        [Purpose::Cutting.code(), Purpose::Inspecting.code()]
            .contains(&standing.reading.tags.purpose)
    };
    let read = recent.iter().filter(of_piece);
    let mut wanted: BTreeSet<PieceKey> = read
        .filter_map(|standing| PieceKey::of(&standing.reading.tags))
        .collect();
    wanted.extend(next(tags));
    wanted
}

fn next(tags: &Tags) -> Option<PieceKey> {
    Some(PieceKey {
        job: tags.job.clone()?,
        feature: tags.feature.clone()?,
        piece: tags.piece,
        attempt: tags.attempt,
    })
}

impl Collector {
    /// Keeps what a go gauge or the mating part said of a piece.
    pub(super) fn check_functionally(&mut self, form: &FunctionalForm) -> Answer {
        let result = checked(form)?;
        let of = self.piece_of(form)?;
        if result == FunctionalResult::Withdrawn {
            let stands = newest(&self.look, &of)?;
            if stands.is_none_or(|check| check.result == FunctionalResult::Withdrawn) {
                return Err(Refusal::new(
                    409,
                    "nothing-to-withdraw",
                    "No functional check of this piece stands.",
                    "Look at the page again; it may have changed.",
                ));
            }
        }
        if !form.station.is_empty() {
            self.index_of(&form.station)?;
        }
        let now = self.now();
        self.push_change(Change {
            head: new_head(&Arc::from(form.station.as_str()), now),
            kind: Kind::FunctionalCheck,
            subject: of.subject(),
            reading: None,
            by: form.by.trim().to_owned(),
            reason: form.reason.trim().to_owned(),
            body: body(&of, result, form.gauge.trim(), form.words.trim()),
        });
        self.commit()?;
        for bench in &mut self.benches {
            bench.checks.forget();
            bench.dirty = true;
        }
        let kept = newest(&self.look, &of)?;
        let view = FunctionalView::of(&of, kept.as_ref());
        Ok(serde_json::to_string(&view).unwrap_or_default())
    }

    /// The piece that is meant, if there is such a job, thread and attempt.
    fn piece_of(&self, form: &FunctionalForm) -> Result<PieceKey, Refusal> {
        let Some(job) = self.register.jobs.get(&form.job) else {
            return Err(Refusal::missing("job", &form.job));
        };
        let feature = match (form.feature.as_str(), job.form.features.as_slice()) {
            ("", [only]) => only.name.as_str(),
            ("", _) => return Err(field("feature", "Say which thread of the job.")),
            (name, _) => name,
        };
        if !(1..=1_000_000).contains(&form.piece) {
            return Err(field("piece", "Say a piece number from 1 to 1000000."));
        }
        let (job_name, piece) = (form.job.as_str(), form.piece);
        let measured = reader::attempts(&self.look, Some(job_name), Some(feature), piece)?;
        let known = job.form.features.iter().any(|each| each.name == feature);
        if !known && measured == 0 {
            return Err(Refusal::missing("thread", feature));
        }
        let begun = self.benches.iter().filter_map(|bench| {
            let key = next(bench.station.tags())?;
            let here = key.job == job_name && key.feature == feature && key.piece == piece;
            here.then_some(key.attempt)
        });
        let last = begun.max().unwrap_or(1).max(measured);
        let attempt = form.attempt.unwrap_or(measured.max(1));
        if !(1..=last).contains(&attempt) {
            let told =
                format!("Piece {piece} was begun {last} time(s): say an attempt up to {last}.");
            return Err(field("attempt", &told));
        }
        Ok(PieceKey {
            job: job_name.to_owned(),
            feature: feature.to_owned(),
            piece,
            attempt,
        })
    }
}

/// Checks what was told of a check, apart from the piece.
fn checked(form: &FunctionalForm) -> Result<FunctionalResult, Refusal> {
    let mut refusals = Refusals::default();
    let result = FunctionalResult::parse(&form.result);
    let (gauge, words) = (form.gauge.trim(), form.words.trim());
    match result {
        None => refusals.note("result", "Say goes, does_not_go, not_done or withdrawn."),
        Some(result) if result.was_tried() && gauge.is_empty() => refusals.note(
            "gauge",
            "Say with what: the gauge by its name or number, or the mating part.",
        ),
        Some(result) if !result.was_tried() && !gauge.is_empty() => refusals.note(
            "gauge",
            "Only a check that was done has a gauge; say the rest in words.",
        ),
        Some(_) => {}
    }
    for (name, text, most) in [
        ("gauge", gauge, LONGEST_NAME),
        ("words", words, LONGEST_REMARK),
    ] {
        if text.chars().count() > most || text.chars().any(char::is_control) {
            refusals.note(name, format!("At most {most} plain characters fit here."));
        }
    }
    refusals.into_result()?;
    let withdrawn = result == Some(FunctionalResult::Withdrawn);
    check_said(&form.reason, &form.by, withdrawn)?;
    result.ok_or_else(|| field("result", "Say what was found."))
}
