//! A row a piece: its mean, spread and verdict, and its readings beside each other.

use std::io::Write;

use overwire_core::decimal::{Decimal, format_to};
use overwire_core::units::Unit;

use super::books::Books;
use super::columns::Holds;
use super::csv::{Dialect, Lines};
use super::pieces::{self, Instance, Piece};
use super::scan::{Progress, Scan};
use super::value::Value;
use super::{ExportError, Written};
use crate::record::grounds;
use crate::view::functional::sentence;
use crate::view::limits::Places;
use crate::view::{places_in, verdict_words};

/// A column of a row a piece.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What kind of thing stands in it.
    pub holds: Holds,
    /// What it says, for people.
    pub about: &'static str,
    value: for<'p> fn(&'p Piece, &'p Books) -> Value<'p>,
}

fn free(text: &str) -> Value<'_> {
    Value::Free(text.into())
}

fn named(piece: &Piece, index: usize) -> Value<'_> {
    Value::Free(
        piece
            .named
            .get(index)
            .map_or("".into(), |names| match names.as_slice() {
                [one] => one.as_str().into(),
                several => several.join(", ").into(),
            }),
    )
}

fn length(piece: &Piece, mm: Option<f64>, finer: u8) -> Value<'_> {
    let Some((unit, places)) = piece.shape else {
        return Value::Empty;
    };
    Value::number(mm.map(|mm| mm / unit.mm_per_unit()), places + finer)
}

fn limit(piece: &Piece, of: impl Fn((f64, f64)) -> f64) -> Value<'_> {
    let (Some((min, max)), Some((unit, _))) = (piece.limits, piece.shape) else {
        return Value::Empty;
    };
    let extremes = [f64::min, f64::max].map(|of| beside(piece, extreme(piece, of)).limits);
    let places = extremes[0].max(extremes[1]);
    Value::Number(of((min, max)) / unit.mm_per_unit(), places)
}

/// Places of a pitch diameter of the piece beside its limits.
fn beside(piece: &Piece, mm: Option<f64>) -> Places {
    let (unit, places) = piece.shape.unwrap_or((Unit::Millimetre, 0));
    Places::of(mm, piece.limits, unit, places)
}

/// A pitch diameter of the piece, as the display or finer.
fn size(piece: &Piece, mm: Option<f64>) -> Value<'_> {
    let Some((unit, _)) = piece.shape else {
        return Value::Empty;
    };
    let number = mm.map(|mm| mm / unit.mm_per_unit());
    Value::number(number, beside(piece, mm).value)
}

fn known_to(piece: &Piece) -> Value<'_> {
    let (Some(known), Some((unit, places))) = (piece.uncertainty, piece.shape) else {
        return Value::Empty;
    };
    let shown = grounds::known_to(known.expanded_mm, unit, places);
    Value::Number(shown.number, shown.places)
}

fn extreme(piece: &Piece, of: impl Fn(f64, f64) -> f64) -> Option<f64> {
    piece
        .instances
        .iter()
        .filter_map(|instance| instance.mm)
        .reduce(of)
}

macro_rules! columns {
    ($($name:literal $holds:ident $about:literal $value:expr;)*) => {
        /// The columns before those of the single readings, in order.
        pub const COLUMNS: &[Column] = &[$(Column {
            name: $name,
            holds: Holds::$holds,
            about: $about,
            value: $value,
        }),*];
    };
}

columns! {
    "job" Free "job (guarded text)" |p, _| free(&p.job);
    "drawing" Free "drawing number (guarded text)" |p, b| free(&b.job(p.job_entry).drawing);
    "drawing_revision" Free "revision of the drawing (guarded text)"
        |p, b| free(&b.job(p.job_entry).drawing_revision);
    "order" Free "order (guarded text)" |p, b| free(&b.job(p.job_entry).order);
    "lot" Free "lot or serial (guarded text)" |p, b| free(&b.job(p.job_entry).lot);
    "feature" Free "thread on the piece (guarded text)" |p, _| free(&p.feature);
    "thread" Free "its designation (guarded text)" |p, b| free(b.job(p.job_entry).thread(&p.feature));
    "piece" Whole "piece number" |p, _| Value::Whole(p.piece);
    "attempt" Whole "how often the piece was begun" |p, _| Value::Whole(p.attempt);
    "newest" Flag "1: it was not begun again; statistics take this row" |p, _| Value::Flag(p.newest);
    "first_at" Moment "first inspected reading, ISO 8601 with offset"
        |p, _| Value::Moment(p.first.wall_us, p.first.offset_s);
    "last_at" Moment "last inspected reading likewise" |p, _| Value::Moment(p.last.wall_us, p.last.offset_s);
    "wire_set" Free "wire sets (guarded text)" |p, _| named(p, 0);
    "instrument" Free "instruments (guarded text)" |p, _| named(p, 1);
    "method" Free "how the wires were held (guarded text)" |p, _| named(p, 2);
    "operator" Free "by whom (guarded text)" |p, _| named(p, 3);
    "unit" Code "mm or in: of every length in the row"
        |p, _| Value::Code(p.shape.map_or("", |(unit, _)| unit.as_str()).into());
    "readings" Whole "inspected readings that count" |p, _| Value::Whole(p.instances.len() as i64);
    "left_out" Whole "inspected readings that do not: void, held, pressed twice"
        |p, _| Value::Whole(p.left_out);
    "pitch_diameter_mean" Length "mean pitch diameter, one place more than the display" |p, _| {
        let repeats = p.repeats();
        length(p, (!repeats.readings.is_empty()).then(|| repeats.mean()), 1)
    };
    "pitch_diameter_smallest" Length "smallest reading" |p, _| size(p, extreme(p, f64::min));
    "pitch_diameter_largest" Length "largest reading" |p, _| size(p, extreme(p, f64::max));
    "pitch_diameter_range" Length "largest minus smallest; empty for one reading"
        |p, _| length(p, p.repeats().range().ok(), 0);
    "pitch_diameter_min" Length "lower limit" |p, _| limit(p, |(min, _)| min);
    "pitch_diameter_max" Length "upper limit" |p, _| limit(p, |(_, max)| max);
    "verdict" Code "the verdict that weighs most among its readings" |p, _| Value::Code(p.verdict().into());
    "verdict_words" Code "the same for people" |p, _| Value::Code(verdict_words(p.verdict()).into());
    "uncertainty" Length "the largest expanded uncertainty of its readings" |p, _| known_to(p);
    "coverage_factor" Number "the factor that one was expanded by" |p, _| p.uncertainty.map_or(Value::Empty, |known| {
        Value::Decimal(format_to(known.factor, 2).into())
    });
    "decision_rule" Code "rules its verdicts were made by; empty: compared with the limits"
        |p, _| Value::Code(p.rule_words().into());
    "overdue_instrument" Whole "how many of its readings were made when the instrument's calibration was overdue"
        |p, _| Value::Whole(p.overdue[0]);
    "overdue_wires" Whole "the same for the wires" |p, _| Value::Whole(p.overdue[1]);
    "functional_check" Free "what a go gauge or the mating part said of it, in words (guarded text)"
        |p, _| Value::Free(sentence(p.functional.as_ref()).into());
    "functional_result" Code "the same for programs: none, goes, does_not_go, not_done or withdrawn"
        |p, _| Value::Code(p.functional.as_ref().map_or("none", |check| check.result.code()).into());
    "functional_gauge" Free "by what (guarded text)"
        |p, _| free(p.functional.as_ref().map_or("", |check| &check.gauge));
    "functional_by" Free "by whom (guarded text)"
        |p, _| free(p.functional.as_ref().map_or("", |check| &check.said.by));
    "functional_at" Moment "when" |p, _| p.functional.as_ref().map_or(Value::Empty, |check| {
        Value::Moment(check.said.wall_us, check.said.utc_offset_s)
    });
}

/// What is told of each single reading, in columns with its number behind the name.
pub const OF_A_READING: &[(&str, Holds, &str)] = &[
    (
        "position",
        Holds::Free,
        "where on the thread (guarded text)",
    ),
    (
        "over_wires",
        Holds::Length,
        "measurement over wires as the display showed it; in the row's unit where it showed another",
    ),
    ("pitch_diameter", Holds::Length, "exact pitch diameter"),
];

fn reading<'p>(piece: &Piece, instance: &'p Instance) -> [Value<'p>; 3] {
    let mm = match size(piece, instance.mm) {
        Value::Number(value, places) => Value::Number(value, places),
        _ => Value::Empty,
    };
    [free(&instance.position), over_wires(piece, instance), mm]
}

/// A length of the row is in the row's unit: one that was read in another is brought over.
fn over_wires<'p>(piece: &Piece, instance: &'p Instance) -> Value<'p> {
    let shown = Value::Decimal(instance.text.as_str().into());
    let Some((unit, _)) = piece.shape.filter(|(unit, _)| *unit != instance.unit) else {
        return shown;
    };
    let Some(read) = Decimal::parse(&instance.text).ok() else {
        return shown;
    };
    let places = places_in(read.places(), instance.unit, unit);
    match read.length(instance.unit) {
        Ok(length) => Value::Number(length.in_unit(unit), places),
        Err(_) => shown,
    }
}

/// The names of all columns where pieces have so many readings at most.
pub fn names(most: usize) -> Vec<String> {
    told(most).into_iter().map(|(name, ..)| name).collect()
}

/// The same with what each holds and says.
pub fn told(most: usize) -> Vec<(String, Holds, &'static str)> {
    let plain = COLUMNS
        .iter()
        .map(|column| (column.name.to_owned(), column.holds, column.about));
    let numbered = (1..=most).flat_map(|n| {
        let named = OF_A_READING.iter();
        named.map(move |(name, holds, about)| (format!("{name}_{n}"), *holds, *about))
    });
    plain.chain(numbered).collect()
}

/// The cells of a piece, as many as [`names`].
pub fn cells<'p>(piece: &'p Piece, books: &'p Books, most: usize) -> Vec<Value<'p>> {
    let mut cells: Vec<Value<'p>> = Vec::with_capacity(COLUMNS.len() + most * OF_A_READING.len());
    cells.extend(COLUMNS.iter().map(|column| (column.value)(piece, books)));
    for n in 0..most {
        match piece.instances.get(n) {
            Some(instance) => cells.extend(reading(piece, instance)),
            None => cells.extend([Value::Empty, Value::Empty, Value::Empty]),
        }
    }
    cells
}

/// How many readings the piece with the most of them has.
///
/// # Errors
/// The record cannot be read.
pub fn most(scan: &Scan<'_>) -> Result<usize, ExportError> {
    let mut most = 0;
    pieces::each(scan, &mut |_, _| {}, |piece| {
        most = most.max(piece.instances.len());
        Ok(())
    })?;
    Ok(most)
}

/// Writes a row a piece.
///
/// # Errors
/// The record cannot be read, or the writer refuses.
pub fn write(
    scan: &Scan<'_>,
    dialect: Dialect,
    progress: Progress<'_>,
    out: &mut (impl Write + ?Sized),
) -> Result<Written, ExportError> {
    let most = most(scan)?;
    let mut lines = Lines::new(dialect);
    let mut line = String::with_capacity(1024);
    let names = names(most);
    lines.line(
        names.iter().map(|name| Value::Code(name.as_str().into())),
        &mut line,
    );
    out.write_all(line.as_bytes())?;
    let mut rows = 0;
    pieces::each(scan, progress, |piece| {
        line.clear();
        lines.line(cells(piece, scan.books, most), &mut line);
        rows += 1;
        Ok(out.write_all(line.as_bytes())?)
    })?;
    Ok(Written { rows, most })
}
