//! A row a piece.

use std::collections::BTreeMap;
use std::rc::Rc;

use rust_xlsxwriter::Workbook;

use super::Setup;
use super::charts::Charts;
use super::sheets::{Head, Sheets};
use crate::export::ExportError;
use crate::export::columns::Holds;
use crate::export::pieces;
use crate::export::scan::{Progress, Scan};
use crate::export::wide;

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
    let numbered = wide::names(most).into_iter().skip(wide::COLUMNS.len());
    let numbered = numbered.map(|name| Head::new(&name, Holds::Free));
    plain.chain(numbered).collect()
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
    let mut checks = BTreeMap::new();
    let mut second_half = |passed: i64, last: i64| progress(last / 2 + passed / 2, last);
    pieces::each(scan, &mut second_half, |piece| {
        let check = piece.functional.as_ref();
        let words = check.map_or("none recorded", |check| check.result.words());
        *checks.entry(words).or_default() += 1;
        charts.take(piece);
        sheets.row(book, wide::cells(piece, scan.books, beside))
    })?;
    Ok(Sheet {
        sheets,
        checks,
        too_many: (most > beside).then_some(most),
    })
}
