//! Whether what is reported on passed: every piece on every thread of the job, and what lacks where not.

use std::collections::BTreeMap;

use overwire_core::functional_check::FunctionalResult;

use super::super::Question;
use super::super::gather::{Gathered, OfFeature, PieceNow};
use super::super::html::{free, plain};
use super::checks::named;
use super::counted;

/// How a piece stands over wires on all threads together; the first that is true of any thread holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum State {
    Fails,
    Undecided,
    NoVerdict,
    NotWhole,
    Passes,
}

impl State {
    fn of(piece: &PieceNow) -> State {
        match piece.verdict() {
            "pass" => State::Passes,
            "undecided" => State::Undecided,
            "none" => State::NoVerdict,
            _ => State::Fails,
        }
    }

    /// Of one piece, as a sentence.
    fn of_one(self) -> &'static str {
        match self {
            State::Fails => "The piece fails over wires.",
            State::Undecided => "The piece is UNDECIDED over wires.",
            State::NoVerdict => "The piece has no verdict over wires.",
            State::NotWhole => "The piece was not wholly inspected.",
            State::Passes => "The piece is within its limits over wires.",
        }
    }

    /// Of some of several pieces.
    fn of_some(self, pieces: usize) -> String {
        let said = match (self, pieces) {
            (State::Fails, 1) => "does not",
            (State::Fails, _) => "do not",
            (State::Undecided, 1) => "is UNDECIDED",
            (State::Undecided, _) => "are UNDECIDED",
            (State::NoVerdict, 1) => "has no verdict",
            (State::NoVerdict, _) => "have no verdict",
            (State::NotWhole, 1) => "was not wholly inspected",
            (State::NotWhole, _) => "were not wholly inspected",
            (State::Passes, _) => "PASS",
        };
        format!("{pieces} {said}")
    }
}

/// What came of it.
#[derive(Debug)]
pub struct Outcome {
    states: BTreeMap<i64, State>,
    does_not_go: bool,
    /// Why it is no PASS, thread by thread, as ready HTML; empty for one.
    pub reasons: Vec<String>,
}

impl Outcome {
    /// Of everything reported on.
    pub fn of(gathered: &Gathered) -> Outcome {
        let states = states(gathered);
        let all: Vec<i64> = states.keys().copied().collect();
        let mut reasons = Vec::new();
        let mut does_not_go = false;
        for of in &gathered.features {
            let refused = refused(of, gathered);
            does_not_go |= !refused.is_empty();
            let said = lacks(of, is_of_the_job(of, gathered), &all)
                .into_iter()
                .chain(told("functional check does not go:", &refused));
            reasons
                .extend(said.map(|what| format!("Thread {}: {}.", free(&of.name), plain(&what))));
        }
        Outcome {
            states,
            does_not_go,
            reasons,
        }
    }

    /// The result in a sentence or two, as ready HTML.
    pub fn sentence(&self, question: &Question, gathered: &Gathered) -> String {
        let count = |state: State| self.states.values().filter(|one| **one == state).count();
        let (all, passed) = (self.states.len(), count(State::Passes));
        let word = match passed == all && all > 0 {
            _ if self.does_not_go || count(State::Fails) > 0 => "NOT PASSED",
            false => "NOT COMPLETE",
            true => "PASS",
        };
        let alone = match question.feature.as_str() {
            name if !name.is_empty() && gathered.job.features.len() > 1 => format!(
                " Thread {} alone: other threads of the job are not reported on here.",
                free(name)
            ),
            _ => String::new(),
        };
        let said = match (word, all, self.states.values().next()) {
            (_, 0, _) | (_, _, None) => format!("{word}. No piece has a reading that counts."),
            ("PASS", 1, _) => "PASS over wires: the piece is within its limits.".to_owned(),
            ("PASS", ..) => {
                format!("PASS over wires: {all} of {all} pieces are within their limits.")
            }
            (_, 1, Some(state)) => format!("{word}. {}", state.of_one()),
            _ => {
                let others = [
                    State::Fails,
                    State::Undecided,
                    State::NoVerdict,
                    State::NotWhole,
                ];
                let others = others.into_iter().map(|state| (state, count(state)));
                let others = others.filter(|(_, pieces)| *pieces > 0);
                let others: String = others
                    .map(|(state, pieces)| format!("; {}", state.of_some(pieces)))
                    .collect();
                format!("{word}. {passed} of {all} pieces PASS over wires{others}.")
            }
        };
        plain(&said) + &alone
    }
}

/// How each piece stands that has a reading of any sort, or a functional check.
fn states(gathered: &Gathered) -> BTreeMap<i64, State> {
    let mut states = BTreeMap::new();
    let mut note = |number: i64, state: State| {
        let so_far = states.entry(number).or_insert(state);
        *so_far = state.min(*so_far);
    };
    for of in &gathered.features {
        for number in gathered.checks_of(of).into_keys() {
            note(
                number,
                of.pieces.get(&number).map_or(State::NotWhole, State::of),
            );
        }
        for number in of.held.keys() {
            note(*number, State::NotWhole);
        }
        for number in of
            .voids
            .iter()
            .filter(|number| !of.pieces.contains_key(number))
        {
            note(*number, State::NotWhole);
        }
    }
    for of in gathered
        .features
        .iter()
        .filter(|of| is_of_the_job(of, gathered))
    {
        for (number, state) in &mut states {
            if !of.pieces.contains_key(number) {
                *state = State::NotWhole.min(*state);
            }
        }
    }
    states
}

/// Whether the job as it is now asks for the thread.
fn is_of_the_job(of: &OfFeature, gathered: &Gathered) -> bool {
    gathered
        .job
        .features
        .iter()
        .any(|form| form.name == of.name)
}

/// Pieces whose check that stands says that the gauge or mating part does not go.
fn refused(of: &OfFeature, gathered: &Gathered) -> Vec<i64> {
    let checks = gathered.checks_of(of).into_iter();
    let refused = checks.filter(|(_, check)| {
        check.is_some_and(|check| check.result == FunctionalResult::DoesNotGo)
    });
    refused.map(|(number, _)| number).collect()
}

/// What lacks of a thread over wires; `all` are the pieces it is asked of.
fn lacks(of: &OfFeature, is_of_the_job: bool, all: &[i64]) -> Vec<String> {
    let in_state = |state: State| -> Vec<i64> {
        let pieces = of
            .pieces
            .iter()
            .filter(|(_, piece)| State::of(piece) == state);
        pieces.map(|(number, _)| *number).collect()
    };
    let mut said = Vec::new();
    said.extend(told("fails over wires:", &in_state(State::Fails)));
    said.extend(told("UNDECIDED:", &in_state(State::Undecided)));
    said.extend(without_verdict(of));
    let held: Vec<i64> = of.held.keys().copied().collect();
    let waits = match of.held.values().sum() {
        1 => "a reading is held and waits for an answer:".to_owned(),
        count => format!("{count} readings are held and wait for an answer:"),
    };
    said.extend(told(&waits, &held));
    let unread = |number: &&i64| !of.pieces.contains_key(number) && !of.held.contains_key(number);
    let void: Vec<i64> = of.voids.iter().filter(unread).copied().collect();
    said.extend(told("every reading is void:", &void));
    let missing = all.iter().filter(unread);
    let missing: Vec<i64> = missing
        .filter(|number| is_of_the_job && !of.voids.contains(number))
        .copied()
        .collect();
    match missing.len() == all.len() && is_of_the_job {
        true => said.push("no reading counts".to_owned()),
        false => said.extend(told("no reading counts:", &missing)),
    }
    said
}

/// A sentence of some pieces; nothing for none.
fn told(what: &str, pieces: &[i64]) -> Option<String> {
    (!pieces.is_empty()).then(|| format!("{what} {}", named(pieces)))
}

/// How many readings have no verdict, by why.
fn without_verdict(of: &OfFeature) -> Vec<String> {
    let mut tally: BTreeMap<&str, usize> = BTreeMap::new();
    for (why, readings) in of.pieces.values().flat_map(|piece| &piece.without_verdict) {
        *tally.entry(why).or_default() += readings;
    }
    let said = tally
        .into_iter()
        .map(|(why, readings)| format!("{} without verdict: {why}", counted(readings, "reading")));
    said.collect()
}
