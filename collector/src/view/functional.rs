//! Functional checks, as the page, programs and reports get them.

use std::collections::BTreeMap;

use overwire_core::functional_check::FunctionalResult;
use overwire_core::judge::Verdict;
use serde::Serialize;

use crate::clock::{iso, local};
use crate::record::StampedTags;
use crate::record::functional::{FunctionalCheck, PieceKey};

/// What a station shows of functional checks.
#[derive(Debug, Default)]
pub struct ShownChecks {
    /// Of each piece shown, the check that stands.
    pub pieces: BTreeMap<PieceKey, Option<FunctionalCheck>>,
    /// What the active feature was last checked with, the newest first.
    pub gauges: Vec<String>,
}

impl ShownChecks {
    /// The check that stands of the piece some tags name, where it is known.
    pub fn of(&self, tags: &StampedTags) -> Option<&FunctionalCheck> {
        self.pieces.get(&PieceKey::of(tags)?)?.as_ref()
    }
}

/// What the check of a piece says.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct FunctionalView<'a> {
    pub job: &'a str,
    pub feature: &'a str,
    pub piece: i64,
    pub attempt: i64,
    /// `none` (nothing was ever recorded), `goes`, `does_not_go`, `not_done` or `withdrawn`.
    pub state: &'static str,
    /// The same for a person, with who, when and by what.
    pub sentence: String,
    pub entry: Option<i64>,
    pub gauge: &'a str,
    pub words: &'a str,
    pub by: &'a str,
    pub at: Option<String>,
    pub reason: &'a str,
}

impl<'a> FunctionalView<'a> {
    /// Of a piece and the check that stands.
    pub fn of(piece: &'a PieceKey, check: Option<&'a FunctionalCheck>) -> FunctionalView<'a> {
        FunctionalView {
            job: &piece.job,
            feature: &piece.feature,
            piece: piece.piece,
            attempt: piece.attempt,
            state: check.map_or("none", |check| check.result.code()),
            sentence: sentence(check),
            entry: check.map(|check| check.entry),
            gauge: check.map_or("", |check| &check.gauge),
            words: check.map_or("", |check| &check.words),
            by: check.map_or("", |check| &check.said.by),
            at: check.map(|check| iso(check.said.wall_us, check.said.utc_offset_s)),
            reason: check.map_or("", |check| &check.said.text),
        }
    }
}

/// What the check that stands says, in words: `done with RING-12 by AK on 2026-11-30 at 14:02, goes`.
pub fn sentence(check: Option<&FunctionalCheck>) -> String {
    let Some(check) = check else {
        return "none recorded".to_owned();
    };
    let said = &check.said;
    let who = if said.by.is_empty() {
        "somebody not named"
    } else {
        &said.by
    };
    let when = local(said.wall_us, said.utc_offset_s).strftime("%Y-%m-%d at %H:%M");
    let more = if check.words.is_empty() {
        String::new()
    } else {
        format!(" ({})", check.words)
    };
    match check.result {
        FunctionalResult::Goes | FunctionalResult::DoesNotGo => format!(
            "done with {} by {who} on {when}, {}{more}",
            check.gauge,
            check.result.words()
        ),
        FunctionalResult::NotDone => format!("not done, said by {who} on {when}{more}"),
        FunctionalResult::Withdrawn => format!(
            "withdrawn by {who} on {when}: {}; none stands{more}",
            said.text
        ),
    }
}

/// What to know where the check and a verdict, by its code, do not say the same.
pub fn caution(check: Option<&FunctionalCheck>, verdict: &str) -> Option<&'static str> {
    let verdict = [
        Verdict::Pass,
        Verdict::FailUnder,
        Verdict::FailOver,
        Verdict::StillToCut,
    ]
    .into_iter()
    .find(|each| each.code() == verdict)?;
    check?.result.beside(verdict)
}
