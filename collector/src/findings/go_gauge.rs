//! Do a go gauge, or the mating part, and the measurement say the same of the pieces?
//!
//! Of each piece the newest attempt and the check of it that stands; the verdicts are those in the record.

use std::collections::HashMap;

use overwire_core::functional_check::FunctionalResult;
use overwire_core::study::{GoGauge, MeasuredSize};
use rusqlite::Connection;

use super::{Findings, Section, Table};
use crate::record::functional::{FunctionalCheck, newest_of_feature};
use crate::record::inspected::{Feature, Inspected};
use crate::record::{RecordError, reader};

/// Most pieces named one by one.
const MOST_NAMED: usize = 12;

/// Pieces that were tried, beside what was measured of them.
#[derive(Debug)]
pub struct Compared {
    /// Number, where it lies and whether the gauge goes.
    pieces: Vec<(i64, MeasuredSize, bool)>,
    /// Tried, and without a verdict by measurement.
    undecided: usize,
    /// How many pieces were measured.
    measured: usize,
}

/// Compares what was tried of a thread's pieces with their inspected readings, of their newest attempts; none where
/// nothing was ever tried.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn compared(
    record: &Connection,
    feature: Feature<'_>,
    readings: &[Inspected],
) -> Result<Option<Compared>, RecordError> {
    let checks = newest_of_feature(record, feature.job, feature.name)?;
    let mut tried = checks
        .values()
        .filter(|check| check.result.was_tried())
        .peekable();
    if tried.peek().is_none() {
        return Ok(None);
    }
    let mut entries: HashMap<(i64, i64), Vec<i64>> = HashMap::new();
    for reading in readings.iter().filter(|reading| reading.left_out.is_none()) {
        let own = entries.entry((reading.piece, reading.attempt)).or_default();
        own.push(reading.entry);
    }
    let mut found = Compared {
        pieces: Vec::new(),
        undecided: 0,
        measured: entries.len(),
    };
    for check in tried {
        // A piece that was begun again has to be tried again.
        if let Some(own) = entries.get(&(check.of.piece, check.of.attempt)) {
            found.take(check, measured(record, own)?);
        }
    }
    found.pieces.sort_by_key(|(piece, ..)| *piece);
    Ok(Some(found))
}

/// Where a piece lies by its readings: over where one of them is; none where one has no verdict.
fn measured(record: &Connection, entries: &[i64]) -> Result<Option<MeasuredSize>, RecordError> {
    let mut found = Some(MeasuredSize::Within);
    for entry in entries {
        let standing = reader::standing(record, *entry)?;
        let verdict = standing.map_or("none", |standing| standing.reading.judged.verdict);
        match (verdict, found) {
            ("fail_over" | "still_to_cut", _) => return Ok(Some(MeasuredSize::Over)),
            ("pass", _) => {}
            ("fail_under", Some(_)) => found = Some(MeasuredSize::Under),
            _ => found = None,
        }
    }
    Ok(found)
}

impl Compared {
    fn take(&mut self, check: &FunctionalCheck, measured: Option<MeasuredSize>) {
        let goes = check.result == FunctionalResult::Goes;
        match measured {
            Some(measured) => self.pieces.push((check.of.piece, measured, goes)),
            None => self.undecided += 1,
        }
    }

    /// Says it.
    pub fn tell(&self, findings: &mut Findings) {
        let title = "Does the go gauge say what the measurement says?";
        let found = GoGauge::of(
            self.pieces
                .iter()
                .map(|(_, measured, goes)| (*measured, *goes)),
        );
        let mut sentences = vec![self.tried_words()];
        if !self.pieces.is_empty() {
            sentences.splice(0..0, found.sentences());
            sentences.extend(self.named("Measured not over, does not go", false));
            sentences.extend(self.named("Measured over, goes", true));
        }
        let counts = found.counts;
        let row = |name: &str, goes: u32, does_not_go: u32| {
            vec![name.to_owned(), goes.to_string(), does_not_go.to_string()]
        };
        let table = Table {
            columns: ["measured", "goes", "does not go"]
                .map(str::to_owned)
                .to_vec(),
            rows: vec![
                row("not over", counts.both_passed, counts.second_refused),
                row("over", counts.first_refused, counts.both_refused),
            ],
        };
        findings.add(Section {
            cautions: found.cautions(),
            table: (!self.pieces.is_empty()).then_some(table),
            ..Section::said(title, sentences)
        });
        findings.settings.push(
            "Go gauge beside measurement: of each piece its newest attempt, the check that stands, and the verdicts \
             as they were given; a piece is over where one of its readings is. Kappa of Cohen, its interval by the \
             error of Fleiss, Cohen and Everitt."
                .to_owned(),
        );
    }

    fn tried_words(&self) -> String {
        let tried = self.pieces.len() + self.undecided;
        let without = match self.undecided {
            0 => String::new(),
            1 => "; of 1 the measurement gives no verdict, it is left out".to_owned(),
            many => format!("; of {many} the measurement gives no verdict, they are left out"),
        };
        format!(
            "{tried} of {} measured pieces were tried with a go gauge or the mating part{without}.",
            self.measured
        )
    }

    /// The pieces on which the two differ in one way.
    fn named(&self, what: &str, goes: bool) -> Option<String> {
        let differ = |(_, measured, own): &&(i64, MeasuredSize, bool)| {
            *own == goes && (*measured == MeasuredSize::Over) == goes
        };
        let pieces: Vec<i64> = self
            .pieces
            .iter()
            .filter(differ)
            .map(|(piece, ..)| *piece)
            .collect();
        let named: Vec<String> = pieces.iter().take(MOST_NAMED).map(i64::to_string).collect();
        let more = match pieces.len().saturating_sub(MOST_NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let noun = if pieces.len() == 1 { "piece" } else { "pieces" };
        (!pieces.is_empty()).then(|| format!("{what}: {noun} {}{more}.", named.join(", ")))
    }
}
