//! Repeats on one piece, from the record: how well the measurement repeats with the wires laid anew.
//!
//! Readings of one attempt at one piece, at one position, by one method and instrument, are repeats of one
//! size; what they scatter is the measurement's doing. So are the readings of one piece by one person in a study.
//! Pieces are pooled, each by its own mean.

use std::collections::BTreeMap;

use overwire_core::stats::resolution::spread_for_budget;
use overwire_core::stats::{Moments, Readings, moments};
use rusqlite::{Connection, params};

use super::RecordError;
use super::reader::collect;
use super::rows::READING_COLUMNS;
use super::standing::Standing;

/// How many of the last readings of a feature are looked at.
const MOST_READINGS: i64 = 300;

/// Which repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Which<'a> {
    /// Job.
    pub job: &'a str,
    /// Feature of the job.
    pub feature: &'a str,
    /// How the wires were held.
    pub method: &'a str,
    /// Instrument.
    pub instrument: &'a str,
}

/// Standard deviation of one reading, mm, and the degrees of freedom behind it; none without repeats. Repeats that
/// differ less than the display can show count as its step's uncertainty: equal readings do not prove that nothing
/// varies.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn repeats(
    connection: &Connection,
    which: &Which<'_>,
) -> Result<Option<(f64, u32)>, RecordError> {
    let sql = format!(
        "SELECT {READING_COLUMNS} FROM reading WHERE job = ?1 AND feature = ?2
         ORDER BY entry DESC LIMIT ?3"
    );
    let found = collect(
        connection,
        &sql,
        params![which.job, which.feature, MOST_READINGS],
    )?;
    let mut groups: BTreeMap<Group, Vec<f64>> = BTreeMap::new();
    let mut step = 0.0_f64;
    for standing in &found {
        if let Some(mm) = repeat(standing, which) {
            groups.entry(group(standing)).or_default().push(mm);
            step = step.max(standing.reading.step_mm());
        }
    }
    let found = pooled(groups.values());
    Ok(found.map(|(deviation, freedom)| (spread_for_budget(deviation, step), freedom)))
}

/// What readings of one size have in common: the study they were made for, piece, attempt, and the position or
/// who measured.
type Group = (Option<String>, i64, i64, Option<String>);

fn group(standing: &Standing) -> Group {
    let (tags, judged) = (&standing.reading.tags, &standing.reading.judged);
    let study = judged.grounds().study.map(|note| note.study);
    let mark = match study.is_some() {
        true => &tags.operator,
        false => &tags.position,
    };
    let mark = mark.as_deref().map(str::to_owned);
    (study, tags.piece, tags.attempt, mark)
}

/// The pitch diameter, if the reading is one of those asked for.
fn repeat(standing: &Standing, which: &Which<'_>) -> Option<f64> {
    let tags = &standing.reading.tags;
    let belongs = standing.counts()
        && matches!(tags.purpose, "inspecting" | "study")
        && tags.job.as_ref().is_some_and(|job| *job.name == *which.job)
        && tags.feature.as_deref() == Some(which.feature)
        && *tags.method == *which.method
        && *tags.instrument.name == *which.instrument;
    standing
        .reading
        .judged
        .pitch_diameter_mm
        .filter(|_| belongs)
}

/// The pooled standard deviation, each group about its own mean.
fn pooled<'a>(groups: impl Iterator<Item = &'a Vec<f64>>) -> Option<(f64, u32)> {
    let sets = groups.filter_map(|group| Moments::of(&Readings::of_numbers(group).ok()?).ok());
    let sets: Vec<Moments> = sets.collect();
    let found = moments::pooled(&sets).ok()?;
    Some((found.standard_deviation, found.degrees_of_freedom as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: {1, 2, 3} has squares 2 on 2, {10, 14} squares 8 on 1: sqrt(10 / 3).
    #[test]
    fn pieces_are_pooled_each_about_its_own_mean() {
        let groups = [vec![1.0, 2.0, 3.0], vec![10.0, 14.0], vec![99.0]];
        let (deviation, freedom) = pooled(groups.iter()).unwrap();
        assert_eq!(freedom, 3);
        assert!((deviation - (10.0_f64 / 3.0).sqrt()).abs() < 1e-15);
        assert_eq!(pooled([vec![1.0], vec![2.0]].iter()), None);
    }
}
