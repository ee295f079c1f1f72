//! Limits kept by pieces that do not scatter normally: the percentile method.

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::{PercentileIndices, Tolerance};

use super::process::Scatter;
use super::{Findings, Section, Shown, Table};

const TITLE: &str = "Without a normal distribution";

/// Indices by percentiles, of a named distribution or read off the readings, mm.
pub(super) fn percentiles(
    findings: &mut Findings,
    readings: &[f64],
    tolerance: &Tolerance,
    scatter: Scatter,
    shown: &Shown,
) {
    let found = match scatter {
        Scatter::As(shape) => PercentileIndices::of(shape, readings, tolerance),
        Scatter::AsRead => PercentileIndices::empirical(readings, tolerance),
    };
    match found {
        Err(reason) => findings.add(Section::undefined(TITLE, &reason)),
        Ok(found) => {
            let mut section = Section::said(TITLE, vec![found.sentence()]);
            section.table = Some(table(&found, shown));
            findings.add(section);
            findings.settings.push(found.settings_words());
        }
    }
}

fn table(found: &PercentileIndices, shown: &Shown) -> Table {
    let columns = [
        "0.135 % below",
        "half below",
        "99.865 % below",
        "Pp",
        "Ppl",
        "Ppu",
    ];
    let index = |index: Result<f64, Undefined>| match index {
        Ok(index) => overwire_core::decimal::format_to(index, 2),
        Err(_) => "–".to_owned(),
    };
    let lengths = [found.low, found.middle, found.high].map(|mm| shown.fine(mm));
    let indices = [found.both, found.lower, found.upper].map(index);
    Table {
        columns: columns.map(str::to_owned).to_vec(),
        rows: vec![lengths.into_iter().chain(indices).collect()],
    }
}
