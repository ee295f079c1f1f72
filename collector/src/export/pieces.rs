//! Readings put together piece by piece, in the order of jobs, threads and pieces.
//!
//! Only inspected readings belong to a piece; those that were left out (void, held, pressed twice) are counted
//! beside it and in none of its figures. The pieces come out of an index of the record one after another, so
//! that memory holds one piece and the readings of which something was said.

use std::collections::BTreeMap;

use overwire_core::stats::pieces::Piece as Repeats;
use overwire_core::units::Unit;
use rusqlite::{Connection, params_from_iter};

use super::ExportError;
use super::columns::View;
use super::scan::{Progress, Said, Scan};
use super::seen::{Field, Seen, Wanted};
use crate::record::Flags;
use crate::record::functional::{self, FunctionalCheck, PieceKey};
use crate::record::grounds::UncertaintyNote;
use crate::record::reader;
use crate::view::places_in;

/// One reading of a piece that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Instance {
    /// Its entry.
    pub entry: i64,
    /// The display's text.
    pub text: String,
    /// Its unit.
    pub unit: Unit,
    /// Pitch diameter, mm.
    pub mm: Option<f64>,
    /// Where on the thread.
    pub position: String,
    /// Verdict, by its code.
    pub verdict: String,
}

/// When a reading was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Moment {
    /// Its entry; 0 for none.
    pub entry: i64,
    /// Microseconds since 1970.
    pub wall_us: i64,
    /// The shop's offset from UTC then, seconds.
    pub offset_s: i32,
}

/// A piece, at one beginning of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Piece {
    /// Job.
    pub job: String,
    /// Entry of the job's revision that its last reading was judged by.
    pub job_entry: i64,
    /// Thread on the piece.
    pub feature: String,
    /// Its number.
    pub piece: i64,
    /// How often it was begun.
    pub attempt: i64,
    /// Whether it was not begun again: the statistics take this one.
    pub newest: bool,
    /// Its first reading.
    pub first: Moment,
    /// Its last reading.
    pub last: Moment,
    /// What it was measured with and by, each named once.
    pub named: [Vec<String>; 4],
    /// Limits of the last reading, mm.
    pub limits: Option<(f64, f64)>,
    /// Unit of the first display, and most decimal places of any.
    pub shape: Option<(Unit, u8)>,
    /// Its readings that count.
    pub instances: Vec<Instance>,
    /// How many inspected readings of it do not count.
    pub left_out: i64,
    /// The largest expanded uncertainty among its readings.
    pub uncertainty: Option<UncertaintyNote>,
    /// Decision rules its readings were judged by, each once; an empty one compares with the limits.
    pub rules: Vec<String>,
    /// How many of its readings were made when the calibration of the instrument, and that of the wires, was overdue.
    pub overdue: [i64; 2],
    /// What a go gauge or the mating part said of it, where that was recorded.
    pub functional: Option<FunctionalCheck>,
}

/// The fields of `named`, in their order.
pub const NAMED: [Field; 4] = [
    Field::WireSet,
    Field::Instrument,
    Field::Method,
    Field::Operator,
];

/// Fields that a piece is made from.
const FIELDS: &[Field] = &[
    Field::Job,
    Field::JobEntry,
    Field::Feature,
    Field::Piece,
    Field::Attempt,
    Field::WallUs,
    Field::OffsetS,
    Field::WireSet,
    Field::Instrument,
    Field::Method,
    Field::Operator,
    Field::Purpose,
    Field::Text,
    Field::Unit,
    Field::PitchDiameter,
    Field::LimitMin,
    Field::LimitMax,
    Field::Position,
    Field::Verdict,
    Field::Held,
    Field::Counted,
    Field::Flags,
    Field::Grounds,
];

impl Piece {
    fn begin(view: &View<'_>) -> Piece {
        let seen = view.seen();
        Piece {
            job: seen.text(Field::Job).into_owned(),
            feature: seen.text(Field::Feature).into_owned(),
            piece: seen.whole(Field::Piece),
            attempt: seen.whole(Field::Attempt),
            ..Piece::default()
        }
    }

    fn take(&mut self, view: &View<'_>) {
        let seen = view.seen();
        let entry = seen.whole(Field::Entry);
        let moment = Moment {
            entry,
            wall_us: seen.whole(Field::WallUs),
            offset_s: i32::try_from(seen.whole(Field::OffsetS)).unwrap_or_default(),
        };
        if self.first.entry == 0 || entry < self.first.entry {
            self.first = moment;
        }
        if entry > self.last.entry {
            self.last = moment;
            self.job_entry = seen.whole(Field::JobEntry);
        }
        for (list, field) in self.named.iter_mut().zip(NAMED) {
            let name = seen.text(field);
            if !name.is_empty() && !list.iter().any(|known| *known == *name) {
                list.push(name.into_owned());
            }
        }
        if !seen.counts() || seen.held() {
            self.left_out += 1;
            return;
        }
        let (unit, places) = view.shape();
        self.shape = Some(match self.shape {
            None => (unit, places),
            Some((first, most)) => (first, most.max(places_in(places, unit, first))),
        });
        let limits = seen.mm(Field::LimitMin).zip(seen.mm(Field::LimitMax));
        self.limits = limits.or(self.limits);
        self.take_grounds(view);
        self.instances.push(Instance {
            entry,
            text: seen.text(Field::Text).into_owned(),
            unit,
            mm: seen.mm(Field::PitchDiameter),
            position: seen.text(Field::Position).into_owned(),
            verdict: seen.text(Field::Verdict).into_owned(),
        });
    }

    /// How well a reading that counts is known, by which rule it was judged, and whether that was with overdue gauges.
    fn take_grounds(&mut self, view: &View<'_>) {
        let grounds = view.grounds();
        let known = self.uncertainty.into_iter().chain(grounds.uncertainty);
        self.uncertainty = known.max_by(|one, other| one.expanded_mm.total_cmp(&other.expanded_mm));
        let rule = grounds.rule.as_ref().map_or("", |rule| &rule.rule);
        if !self.rules.iter().any(|known| known == rule) {
            self.rules.push(rule.to_owned());
        }
        let flags = Flags::from_text(&view.seen().text(Field::Flags));
        let overdue = [Flags::OVERDUE_INSTRUMENT, Flags::OVERDUE_WIRES];
        for (count, flag) in self.overdue.iter_mut().zip(overdue) {
            *count += i64::from(flags.any(flag));
        }
    }

    /// The rules in words; empty where all of them compare with the limits.
    pub fn rule_words(&self) -> String {
        let plain = self.rules.iter().all(String::is_empty);
        let words = self.rules.iter().map(|rule| match rule.as_str() {
            "" => "compared with the limits",
            rule => rule,
        });
        let words: Vec<&str> = words.filter(|_| !plain).collect();
        words.join("; ")
    }

    /// Which piece it is, for the functional checks.
    fn key(&self) -> PieceKey {
        PieceKey {
            job: self.job.clone(),
            feature: self.feature.clone(),
            piece: self.piece,
            attempt: self.attempt,
        }
    }

    /// Its pitch diameters, mm, as repeats of one piece.
    pub fn repeats(&self) -> Repeats<i64> {
        Repeats {
            name: self.piece,
            readings: self
                .instances
                .iter()
                .filter_map(|instance| instance.mm)
                .collect(),
            came_again: false,
        }
    }

    /// The verdict that weighs most among those of its readings.
    pub fn verdict(&self) -> &str {
        let verdicts = self.instances.iter();
        weightiest(verdicts.map(|instance| instance.verdict.as_str()))
    }
}

/// The verdict that weighs most, by its code: a piece is as good as the worst of its readings, and one without a
/// verdict has not passed.
pub fn weightiest<'a>(verdicts: impl Iterator<Item = &'a str>) -> &'a str {
    const WEIGHT: [&str; 6] = [
        "fail_under",
        "fail_over",
        "still_to_cut",
        "undecided",
        "none",
        "pass",
    ];
    let weight = |code: &str| WEIGHT.iter().position(|known| *known == code);
    verdicts.min_by_key(|code| weight(code)).unwrap_or("none")
}

/// Job, feature and piece: the order of the walk.
type Key = (String, String, i64);

fn key(seen: &Seen<'_>) -> Key {
    (
        seen.text(Field::Job).into_owned(),
        seen.text(Field::Feature).into_owned(),
        seen.whole(Field::Piece),
    )
}

/// The readings of one piece, however often it was begun.
#[derive(Debug, Default)]
struct Open {
    key: Key,
    attempts: BTreeMap<i64, Piece>,
}

impl Open {
    fn take(&mut self, view: &View<'_>) {
        let attempt = view.seen().whole(Field::Attempt);
        let piece = self
            .attempts
            .entry(attempt)
            .or_insert_with(|| Piece::begin(view));
        piece.take(view);
    }

    fn close(
        self,
        checks: Option<&Connection>,
        give: &mut impl FnMut(&Piece) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let counted = self
            .attempts
            .values()
            .filter(|piece| !piece.instances.is_empty());
        let newest = counted.map(|piece| piece.attempt).max();
        let newest = newest.or(self.attempts.keys().last().copied());
        for mut piece in self.attempts.into_values() {
            piece.newest = Some(piece.attempt) == newest;
            piece.instances.sort_by_key(|instance| instance.entry);
            if let Some(checks) = checks {
                piece.functional = functional::newest(checks, &piece.key())?;
            }
            give(&piece)?;
        }
        Ok(())
    }
}

/// Gives every piece that is meant, a piece begun again once for each beginning.
///
/// # Errors
/// The record cannot be read, or what takes the pieces fails.
pub fn each(
    scan: &Scan<'_>,
    progress: Progress<'_>,
    mut give: impl FnMut(&Piece) -> Result<(), ExportError>,
) -> Result<(), ExportError> {
    let said = Said::of(scan.connection)?;
    let mut apart = apart(scan, &said)?;
    // Where none was ever recorded, none is looked for.
    let checks = functional::any(scan.connection)?.then_some(scan.connection);
    let wanted = Wanted::of(FIELDS.iter().copied().chain(scan.sieve.fields()));
    let (condition, parameters) = match scan.sieve.by_index() {
        None => ("job IS NOT NULL".to_owned(), Vec::new()),
        Some(condition) => condition,
    };
    let sql = format!(
        "SELECT {} FROM reading WHERE {condition} AND purpose = 'inspecting' ORDER BY job, feature, piece, entry",
        wanted.sql()
    );
    let mut statement = scan.connection.prepare(&sql)?;
    let mut rows = statement.query(params_from_iter(parameters))?;
    let last = reader::tip(scan.connection)?.entry;
    let mut open = Open::default();
    let mut passed = 0_i64;
    while let Some(row) = rows.next()? {
        passed += 1;
        if passed % (1 << 14) == 0 {
            progress(passed.min(last), last);
        }
        let seen = Seen::Row(row, &wanted);
        let entry: i64 = row.get(0)?;
        if said.has(entry) || !scan.sieve.takes_now(&seen) {
            continue;
        }
        let here = key(&seen);
        if here != open.key {
            std::mem::take(&mut open).close(checks, &mut give)?;
            for piece in before(&mut apart, &here) {
                piece.close(checks, &mut give)?;
            }
            open = apart.remove(&here).unwrap_or_default();
            open.key = here;
        }
        open.take(&View::of(seen, scan.books));
    }
    open.close(checks, &mut give)?;
    for piece in apart.into_values() {
        piece.close(checks, &mut give)?;
    }
    progress(last, last);
    Ok(())
}

/// Pieces that have readings of which something was said, with these readings.
fn apart(scan: &Scan<'_>, said: &Said) -> Result<BTreeMap<Key, Open>, ExportError> {
    let mut apart: BTreeMap<Key, Open> = BTreeMap::new();
    for entry in said.entries() {
        let Some(standing) = reader::standing(scan.connection, *entry)? else {
            continue;
        };
        let seen = Seen::Standing(&standing);
        let tags = &standing.reading.tags;
        if tags.job.is_none() || tags.purpose != "inspecting" || !scan.sieve.takes_now(&seen) {
            continue;
        }
        let open = apart.entry(key(&seen)).or_default();
        open.key = key(&seen);
        open.take(&View::of(seen, scan.books));
    }
    Ok(apart)
}

/// Takes out what comes before a piece.
fn before(apart: &mut BTreeMap<Key, Open>, here: &Key) -> Vec<Open> {
    let rest = apart.split_off(here);
    std::mem::replace(apart, rest).into_values().collect()
}

#[cfg(test)]
mod tests {
    use super::weightiest;

    #[test]
    fn a_piece_is_as_good_as_the_worst_of_its_readings() {
        let of = |verdicts: &[&'static str]| weightiest(verdicts.iter().copied());
        assert_eq!(of(&["pass", "pass"]), "pass");
        assert_eq!(of(&["pass", "none"]), "none", "not seen is not passed");
        assert_eq!(of(&["none", "undecided", "pass"]), "undecided");
        assert_eq!(of(&["fail_over", "none", "fail_under"]), "fail_under");
        assert_eq!(of(&[]), "none");
    }
}
