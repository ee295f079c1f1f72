//! The first sheet: what the workbook is of, in two columns.

use std::collections::HashMap;

use rust_xlsxwriter::{Formula, Worksheet, utility::column_number_to_name};

use super::charts::MOST_THREADS;
use super::grid::Grid;
use super::looks::Look;
use super::sheets::{Sheets, set_up};
use super::statistics::Told;
use super::tally::{Group, Tally};
use super::{Asked, Beside, Setup};
use crate::clock::iso;
use crate::export::ExportError;
use crate::export::value::Value;
use crate::findings::{Findings, Section};
use crate::record::grounds::known_to;
use crate::record::{Kind, reader};
use crate::register::forms::JobForm;
use crate::view::limits;

/// Threads whose particulars are told at most.
const MOST_GROUPS: usize = 100;
/// Instruments and wire sets that are told at most; the others stand on their sheet.
const MOST_GAUGES: usize = 50;

const NOT_FUNCTIONAL: &str = "Pitch diameter over wires is not the functional size: it says nothing of flank angle, \
    pitch and form over the length of the thread. Whether the thread goes is told by a go gauge or the mating part.";

struct Page {
    grid: Grid,
}

fn count(count: u64) -> Value<'static> {
    Value::Whole(i64::try_from(count).unwrap_or(i64::MAX))
}

impl Page {
    fn new(setup: &Setup) -> Result<Page, ExportError> {
        let mut sheet = Worksheet::new();
        sheet.set_name("Summary")?;
        set_up(&mut sheet, setup)?;
        sheet.set_freeze_panes(1, 0)?;
        sheet.set_repeat_rows(0, 0)?;
        sheet.set_column_width(0, 34)?;
        sheet.set_column_width(1, 100)?;
        let mut grid = Grid::new(sheet, &setup.looks.at_the_left(), 0);
        grid.heading(0, "Readings over three wires")?;
        grid.heading(1, "")?;
        grid.row = 1;
        Ok(Page { grid })
    }

    fn head(&mut self, text: &str) -> Result<(), ExportError> {
        self.grid.row += 1;
        self.grid.heading(0, text)?;
        self.grid.heading(1, " ")?;
        self.grid.row += 1;
        Ok(())
    }

    fn label(&mut self, label: &str) -> Result<(), ExportError> {
        self.grid.wrapped(0, label, true)
    }

    fn pair(&mut self, label: &str, value: &Value<'_>) -> Result<(), ExportError> {
        self.label(label)?;
        self.grid.cell(1, value)?;
        self.grid.row += 1;
        Ok(())
    }

    /// A text, which may be long.
    fn told(&mut self, label: &str, text: &str) -> Result<(), ExportError> {
        self.label(label)?;
        self.grid.wrapped(1, text, true)?;
        self.grid.row += 1;
        Ok(())
    }

    /// The same, left out where there is none.
    fn told_if(&mut self, label: &str, text: &str) -> Result<(), ExportError> {
        if text.is_empty() {
            return Ok(());
        }
        self.told(label, text)
    }
}

/// The sheet.
pub(super) fn sheet(
    asked: &Asked<'_>,
    tally: &Tally,
    readings: &Sheets,
    beside: Option<&Beside>,
) -> Result<Worksheet, ExportError> {
    let mut page = Page::new(&asked.setup)?;
    origin(&mut page, asked, tally)?;
    counts(&mut page, asked, tally, readings)?;
    if let Some(beside) = beside {
        threads(&mut page, asked, tally)?;
        gauges(&mut page, beside)?;
        pieces(&mut page, beside)?;
        findings(&mut page, asked, tally, &beside.statistics)?;
    }
    sheets(&mut page, readings, beside)?;
    Ok(page.grid.sheet)
}

/// Of which readings, out of which record, made when.
fn origin(page: &mut Page, asked: &Asked<'_>, tally: &Tally) -> Result<(), ExportError> {
    let mut choice = asked.choice.clone();
    let mut all = true;
    for (name, text) in choice.fields_mut() {
        all &= text.is_empty();
        page.told_if(&format!("Chosen: {}", name.replace('_', " ")), text)?;
    }
    if all {
        page.told("Chosen", "all readings of the record")?;
    }
    if let Some([first, last]) = tally.span {
        page.told("First reading", &iso(first.0, first.1))?;
        page.told("Last reading", &iso(last.0, last.1))?;
    }
    let made = asked.options.made;
    page.told("Made", &iso(made.wall_us, made.utc_offset_s))?;
    page.told("Made by", concat!("overwire ", env!("CARGO_PKG_VERSION")))?;
    let (entry, hash) = &asked.setup.head;
    page.pair("Record: last entry", &Value::Whole(*entry))?;
    page.told("Record: its hash", hash)?;
    page.told(
        "Times",
        "Columns with (UTC) are in UTC; those with (shop) in the shop's time, with utc_offset beside them.",
    )?;
    page.told("To know", NOT_FUNCTIONAL)
}

fn counts(
    page: &mut Page,
    asked: &Asked<'_>,
    tally: &Tally,
    readings: &Sheets,
) -> Result<(), ExportError> {
    page.head("Counts")?;
    page.pair("Readings", &count(tally.readings))?;
    page.pair("of these counted", &count(tally.counted))?;
    page.pair("void", &count(tally.void))?;
    page.pair("held", &count(tally.held))?;
    for (words, number) in &tally.verdicts {
        page.label(&format!("Verdict {words}"))?;
        let columns = readings
            .column("verdict_words")
            .zip(readings.column("void"));
        match columns {
            Some(columns) => {
                let formula = Formula::new(times(words, columns, readings));
                let formula = formula.set_result(number.to_string());
                let looks = asked.setup.looks.at_the_left();
                let format = looks.of(Look::Whole);
                let row = page.grid.row;
                page.grid
                    .sheet
                    .write_formula_with_format(row, 1, formula, format)?;
            }
            None => page.grid.cell(1, &count(*number))?,
        }
        page.grid.row += 1;
    }
    Ok(())
}

/// A formula that counts how often a word stands in a column of readings that are not void, so that the count can be
/// checked where it is.
fn times(words: &str, (verdict, void): (u16, u16), readings: &Sheets) -> String {
    let (verdict, void) = (column_number_to_name(verdict), column_number_to_name(void));
    let counted = readings.sheets().into_iter().map(|(name, rows)| {
        let last = rows + 1;
        let cells = |letter: &str| format!("{name}!${letter}$2:${letter}${last}");
        format!(
            "COUNTIFS({},\"{words}\",{},0)",
            cells(&verdict),
            cells(&void)
        )
    });
    format!("={}", counted.collect::<Vec<_>>().join("+"))
}

fn threads(page: &mut Page, asked: &Asked<'_>, tally: &Tally) -> Result<(), ExportError> {
    let used = tally.groups.iter().map(|group| group.job_entry);
    let used: std::collections::HashSet<i64> = used.collect();
    let mut forms: HashMap<i64, JobForm> = HashMap::new();
    for change in reader::changes_of_kinds(asked.scan.connection, &[Kind::Job])? {
        if used.contains(&change.head.entry) {
            forms.insert(change.head.entry, change.form()?);
        }
    }
    for group in tally.groups.iter().take(MOST_GROUPS) {
        page.head("Job and thread")?;
        page.told("Job", &group.job)?;
        page.told("Thread on the piece", &group.feature)?;
        if let Some(form) = forms.get(&group.job_entry) {
            job(page, form, group)?;
        }
        page.pair(
            "Entry of the job's revision",
            &Value::Whole(group.job_entry),
        )?;
        page.pair("Readings of this thread", &count(group.readings))?;
        page.pair("of these counted", &count(group.counted))?;
        judged(page, group)?;
    }
    if tally.groups.len() > MOST_GROUPS {
        let text = format!(
            "{} of {} threads are told here; ask for one job to have its own.",
            MOST_GROUPS,
            tally.groups.len()
        );
        page.told("Threads", &text)?;
    }
    Ok(())
}

fn job(page: &mut Page, form: &JobForm, group: &Group) -> Result<(), ExportError> {
    for (label, text) in [
        ("Drawing", &form.drawing),
        ("Drawing revision", &form.drawing_revision),
        ("Order", &form.order),
        ("Lot", &form.lot),
        ("Material", &form.material),
    ] {
        page.told_if(label, text)?;
    }
    let feature = form.features.iter().find(|each| each.name == group.feature);
    let Some(Ok(thread)) = feature.map(|feature| feature.thread()) else {
        return Ok(());
    };
    page.told("Thread", &thread.designation)?;
    page.told("Unit of the thread", thread.unit.as_str())?;
    if let Some(limits) = &thread.limits {
        let (min, max) = (
            limits.pitch_diameter_min.mm(),
            limits.pitch_diameter_max.mm(),
        );
        let places = limits::places_of((min, max), thread.unit);
        let limit = |mm: f64| Value::Number(mm / thread.unit.mm_per_unit(), places);
        page.pair("Smallest pitch diameter", &limit(min))?;
        page.pair("Largest pitch diameter", &limit(max))?;
    }
    page.told("Limits from", &thread.basis.sentence())
}

/// How well the pitch diameter is known, and the rule it is judged by.
fn judged(page: &mut Page, group: &Group) -> Result<(), ExportError> {
    let (unit, places) = group.shape;
    let length = |mm: f64| known_to(mm, unit, places).digits();
    let factor = |factor: f64| Value::Number(factor, 2).to_text();
    let range = |least: String, most: String| match least == most {
        true => least,
        false => format!("{least} to {most}"),
    };
    let known = match (group.uncertainty, group.factor) {
        (Some(known), Some(factors)) => format!(
            "{} {unit}, expanded by {}",
            range(length(known.0), length(known.1)),
            range(factor(factors.0), factor(factors.1)),
            unit = unit.as_str(),
        ),
        _ => "not known for these readings".to_owned(),
    };
    page.told("Expanded uncertainty", &known)?;
    let rules = group.rules.iter().map(|rule| match rule.is_empty() {
        true => "compared with the limits",
        false => rule.as_str(),
    });
    page.told("Decision rule", &rules.collect::<Vec<_>>().join("; "))
}

fn gauges(page: &mut Page, beside: &Beside) -> Result<(), ExportError> {
    page.head("Measured with")?;
    for (kind, line) in beside.gauges.lines().take(MOST_GAUGES) {
        page.told(kind, &line)?;
    }
    if beside.gauges.lines().count() > MOST_GAUGES {
        page.told("and more", "See the sheet Gauges for all of them.")?;
    }
    Ok(())
}

fn pieces(page: &mut Page, beside: &Beside) -> Result<(), ExportError> {
    page.head("Pieces")?;
    let pieces = &beside.pieces;
    page.pair(
        "Pieces, with each time one was begun",
        &count(pieces.sheets.rows),
    )?;
    for (words, number) in &pieces.checks {
        page.pair(&format!("Functional check: {words}"), &count(*number))?;
    }
    if let Some(most) = pieces.too_many {
        let text = format!(
            "A piece has {most} readings: too many to stand beside each other. The sheet Readings has all of them."
        );
        page.told("Readings of a piece", &text)?;
    }
    let charts = &beside.charts;
    if charts.threads_left_out > 0 || charts.pieces_left_out > 0 {
        let text = format!(
            "{} threads are not charted, and {} older pieces of those that are.",
            charts.threads_left_out, charts.pieces_left_out
        );
        page.told("Charts", &text)?;
    }
    Ok(())
}

fn findings(
    page: &mut Page,
    asked: &Asked<'_>,
    tally: &Tally,
    statistics: &[Told],
) -> Result<(), ExportError> {
    let narrower = asked.choice.narrower_than_a_thread();
    for told in statistics {
        page.head("Statistics")?;
        page.told("Of", &told.title)?;
        if narrower {
            let text = "These are of all pieces of the thread, not of the chosen readings alone.";
            page.told("Mind", text)?;
        }
        match &told.found {
            Ok(found) => found_of_a_thread(page, found)?,
            Err(reason) => page.told("–", reason)?,
        }
    }
    if tally.groups.len() > MOST_THREADS {
        let text = format!(
            "Worked out for {MOST_THREADS} of {} threads; ask for one job to have its own.",
            tally.groups.len()
        );
        page.told("Statistics", &text)?;
    }
    Ok(())
}

fn found_of_a_thread(page: &mut Page, found: &Findings) -> Result<(), ExportError> {
    for section in &found.sections {
        answer(page, section)?;
    }
    for setting in &found.settings {
        page.told("By this convention", setting)?;
    }
    Ok(())
}

fn answer(page: &mut Page, section: &Section) -> Result<(), ExportError> {
    let mut label = section.heading.as_str();
    for sentence in &section.sentences {
        page.told(label, sentence)?;
        label = "";
    }
    for caution in &section.cautions {
        page.told("Mind", caution)?;
    }
    let Some(table) = &section.table else {
        return Ok(());
    };
    for row in &table.rows {
        for (column, cell) in table.columns.iter().zip(row) {
            let first = row.first().filter(|_| table.rows.len() > 1);
            let label = match first {
                Some(first) => format!("{first}: {column}"),
                None => column.clone(),
            };
            page.pair(&label, &figure(cell))?;
        }
    }
    Ok(())
}

/// A figure as a number where it is one, its digits kept.
fn figure(cell: &str) -> Value<'_> {
    let digits = cell.strip_prefix('-').unwrap_or(cell);
    let plain = digits.starts_with(|c: char| c.is_ascii_digit())
        && digits
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'.');
    match plain {
        true => Value::Decimal(cell.into()),
        false => Value::Free(cell.into()),
    }
}

fn sheets(page: &mut Page, readings: &Sheets, beside: Option<&Beside>) -> Result<(), ExportError> {
    page.head("Sheets")?;
    let mut all = vec![readings];
    if let Some(beside) = beside {
        all.extend([&beside.pieces.sheets, &beside.voids]);
    }
    for table in &all {
        let sheets = table.sheets();
        if let [(first, _), .., (last, _)] = sheets.as_slice() {
            let text = format!("goes on over {} sheets, {first} to {last}", sheets.len());
            page.told(first, &text)?;
        }
        for (name, rows) in &sheets {
            page.pair(&format!("Rows on {name}"), &Value::Whole(i64::from(*rows)))?;
        }
    }
    let cut: u64 = all.iter().map(|table| table.cut()).sum();
    if cut > 0 {
        let text = format!("{cut} were longer than a cell holds and end with a word on it");
        page.told("Texts", &text)?;
    }
    Ok(())
}
