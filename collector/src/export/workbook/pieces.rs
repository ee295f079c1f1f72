//! A row a piece, with what a go gauge or the mating part said of it.

use std::collections::BTreeMap;
use std::rc::Rc;

use rust_xlsxwriter::Workbook;

use super::Setup;
use super::charts::Charts;
use super::sheets::{Head, Sheets};
use crate::export::ExportError;
use crate::export::columns::Holds;
use crate::export::pieces::{self, Piece};
use crate::export::scan::{Progress, Scan};
use crate::export::value::Value;
use crate::export::wide;
use crate::record::functional::{FunctionalCheck, PieceKey, newest_of_job};
use crate::view::functional::sentence;

/// More readings than this of one piece do not stand beside each other.
const MOST_BESIDE: usize = 1000;

/// The table and what was counted.
pub struct Sheet {
    /// The table.
    pub sheets: Sheets,
    /// Pieces by what is recorded of a functional check, in words.
    pub checks: BTreeMap<&'static str, u64>,
    /// The most readings of a piece, where they are too many to stand beside each other.
    pub too_many: Option<usize>,
}

fn heads(most: usize) -> Vec<Head> {
    let plain = wide::COLUMNS
        .iter()
        .map(|column| Head::new(column.name, column.holds));
    let check = [Head::new("functional_check", Holds::Free)];
    let numbered = wide::names(most).into_iter().skip(wide::COLUMNS.len());
    let numbered = numbered.map(|name| Head::new(&name, Holds::Free));
    plain.chain(check).chain(numbered).collect()
}

/// Checks of the job that is at hand.
#[derive(Default)]
struct Checks {
    job: Option<String>,
    newest: BTreeMap<PieceKey, FunctionalCheck>,
}

impl Checks {
    fn of(
        &mut self,
        scan: &Scan<'_>,
        piece: &Piece,
    ) -> Result<Option<&FunctionalCheck>, ExportError> {
        if self.job.as_ref() != Some(&piece.job) {
            self.newest = newest_of_job(scan.connection, &piece.job)?;
            self.job = Some(piece.job.clone());
        }
        Ok(self.newest.get(&PieceKey {
            job: piece.job.clone(),
            feature: piece.feature.clone(),
            piece: piece.piece,
            attempt: piece.attempt,
        }))
    }
}

/// Writes every piece.
pub fn sheets(
    scan: &Scan<'_>,
    book: &mut Workbook,
    setup: &Rc<Setup>,
    progress: Progress<'_>,
    charts: &mut Charts,
) -> Result<Sheet, ExportError> {
    let (mut most, mut rows) = (0, 0_u64);
    let mut first_half = |passed: i64, last: i64| progress(passed / 2, last);
    pieces::each(scan, &mut first_half, |piece| {
        most = most.max(piece.instances.len());
        rows += 1;
        Ok(())
    })?;
    let beside = most.min(MOST_BESIDE);
    let mut sheets = Sheets::new(book, setup, "Pieces", heads(beside), Some(rows))?;
    let (mut checks, mut counts) = (Checks::default(), BTreeMap::new());
    let mut second_half = |passed: i64, last: i64| progress(last / 2 + passed / 2, last);
    pieces::each(scan, &mut second_half, |piece| {
        let check = checks.of(scan, piece)?;
        let words = check.map_or("none recorded", |check| check.result.words());
        *counts.entry(words).or_default() += 1;
        charts.take(piece);
        let mut cells = wide::cells(piece, scan.books, beside);
        cells.insert(wide::COLUMNS.len(), Value::Free(sentence(check).into()));
        sheets.row(book, cells)
    })?;
    Ok(Sheet {
        sheets,
        checks: counts,
        too_many: (most > beside).then_some(most),
    })
}
