//! The revisions of instruments and wire sets that the readings were made with, as they stood then.

use std::collections::{BTreeMap, HashSet};
use std::rc::Rc;

use rusqlite::Connection;
use rust_xlsxwriter::Workbook;

use super::Setup;
use super::sheets::{Head, Sheets};
use super::tally::{Tally, Use};
use crate::export::ExportError;
use crate::export::columns::Holds;
use crate::export::value::Value;
use crate::record::{Change, Kind, reader};
use crate::register::forms::{InstrumentForm, WireSetForm};

/// What stands on the sheet, in order.
const COLUMNS: [(&str, Holds); 20] = [
    ("kind", Holds::Code),
    ("name", Holds::Free),
    ("entry", Holds::Whole),
    ("entered_at", Holds::Moment),
    ("entered_by", Holds::Free),
    ("serial", Holds::Free),
    ("certificate", Holds::Free),
    ("due", Holds::Free),
    ("readings", Holds::Whole),
    ("overdue_readings", Holds::Whole),
    ("unit", Holds::Code),
    ("resolution", Holds::Number),
    ("range_min", Holds::Number),
    ("range_max", Holds::Number),
    ("diameter_1", Holds::Length),
    ("diameter_2", Holds::Length),
    ("diameter_3", Holds::Length),
    ("diameter_uncertainty", Holds::Number),
    ("convention", Holds::Free),
    ("material", Holds::Free),
];

/// A form of either kind.
#[derive(Debug)]
enum Form {
    Instrument(Box<InstrumentForm>),
    WireSet(Box<WireSetForm>),
    Unknown,
}

/// A revision and how often it was used.
#[derive(Debug)]
struct Gauge {
    kind: &'static str,
    uses: Use,
    entered: Option<(i64, i32, String)>,
    form: Form,
}

/// What was used.
#[derive(Debug)]
pub struct Gauges(Vec<Gauge>);

fn form(change: &Change) -> Result<Form, ExportError> {
    Ok(match change.kind {
        Kind::Instrument => Form::Instrument(change.form()?),
        Kind::WireSet => Form::WireSet(change.form()?),
        _ => Form::Unknown,
    })
}

impl Gauges {
    /// Of what the readings were made with.
    pub fn read(connection: &Connection, tally: &Tally) -> Result<Gauges, ExportError> {
        let uses = || tally.instruments.iter().chain(&tally.wire_sets);
        let wanted: HashSet<i64> = uses().map(|each| each.entry).collect();
        let mut changes = BTreeMap::new();
        for change in reader::changes_of_kinds(connection, &[Kind::Instrument, Kind::WireSet])? {
            if wanted.contains(&change.head.entry) {
                changes.insert(change.head.entry, change);
            }
        }
        let gauge = |kind: &'static str, uses: &Use| -> Result<Gauge, ExportError> {
            let change = changes.get(&uses.entry);
            let stamp = change.map(|change| (change.head.stamp, change.by.clone()));
            Ok(Gauge {
                kind,
                uses: uses.clone(),
                entered: stamp.map(|(stamp, by)| (stamp.wall_us, stamp.utc_offset_s, by)),
                form: change.map_or(Ok(Form::Unknown), form)?,
            })
        };
        let instruments = tally
            .instruments
            .iter()
            .map(|each| gauge("instrument", each));
        let wire_sets = tally.wire_sets.iter().map(|each| gauge("wire set", each));
        Ok(Gauges(
            instruments.chain(wire_sets).collect::<Result<_, _>>()?,
        ))
    }

    /// The sheet.
    pub fn sheets(&self, book: &mut Workbook, setup: &Rc<Setup>) -> Result<Sheets, ExportError> {
        let heads = COLUMNS.iter().map(|(name, holds)| Head::new(name, *holds));
        let rows = u64::try_from(self.0.len()).ok();
        let mut sheets = Sheets::new(book, setup, "Gauges", heads.collect(), rows)?;
        for gauge in &self.0 {
            sheets.row(book, gauge.cells())?;
        }
        Ok(sheets)
    }

    /// Each in a line: what it is, and its calibration when the readings were made.
    pub fn lines(&self) -> impl Iterator<Item = (&'static str, String)> {
        self.0.iter().map(|gauge| (gauge.kind, gauge.line()))
    }
}

impl Gauge {
    fn cells(&self) -> Vec<Value<'_>> {
        let free = |text: &'_ str| Value::Free(text.to_owned().into());
        let number = |text: &'_ str| Value::Decimal(text.trim().to_owned().into());
        let mut cells = vec![
            Value::Code(self.kind.into()),
            free(&self.uses.name),
            match self.uses.entry {
                0 => Value::Empty,
                entry => Value::Whole(entry),
            },
        ];
        match &self.entered {
            Some((wall_us, offset_s, by)) => {
                cells.extend([Value::Moment(*wall_us, *offset_s), free(by)]);
            }
            None => cells.extend([Value::Empty, Value::Empty]),
        }
        let (serial, certificate, due) = self.papers();
        cells.extend([free(serial), free(certificate), free(due)]);
        let count = |count: u64| Value::Whole(i64::try_from(count).unwrap_or(i64::MAX));
        cells.extend([count(self.uses.readings), count(self.uses.overdue)]);
        match &self.form {
            Form::Instrument(form) => {
                cells.push(Value::Code(form.unit.as_str().into()));
                cells.extend(
                    [&form.resolution, &form.range_min, &form.range_max].map(|t| number(t)),
                );
            }
            Form::WireSet(form) => {
                cells.push(Value::Code(form.unit.as_str().into()));
                cells.extend([Value::Empty, Value::Empty, Value::Empty]);
                let diameter = |index: usize| form.diameters.get(index);
                let diameters = [0, 1, 2].map(diameter);
                cells.extend(diameters.map(|text| text.map_or(Value::Empty, |t| number(t))));
                cells.push(number(&form.uncertainty));
                cells.extend([free(&form.convention), free(&form.material)]);
            }
            Form::Unknown => {}
        }
        cells
    }

    /// Serial number, certificate, and the day the calibration is due.
    fn papers(&self) -> (&str, &str, &str) {
        match &self.form {
            Form::Instrument(form) => (&form.serial, &form.certificate, &form.due),
            Form::WireSet(form) => ("", &form.certificate, &form.due),
            Form::Unknown => ("", "", ""),
        }
    }

    fn line(&self) -> String {
        let Use {
            entry,
            name,
            readings,
            overdue,
        } = &self.uses;
        let (serial, certificate, due) = self.papers();
        let mut parts = vec![name.clone()];
        if *entry == 0 {
            parts.push("not in the register: no calibration stands behind it".to_owned());
        }
        if let Form::WireSet(form) = &self.form {
            parts.push(format!("{} {}", form.diameters.join(", "), form.unit));
        }
        for (word, text) in [
            ("serial", serial),
            ("certificate", certificate),
            ("due", due),
        ] {
            if !text.is_empty() {
                parts.push(format!("{word} {text}"));
            }
        }
        if *entry != 0 && due.is_empty() {
            parts.push("no due date told".to_owned());
        }
        parts.push(match (readings, overdue) {
            (all, 0) => format!("{all} readings, none made overdue"),
            (all, some) => format!("{all} readings, {some} made when its calibration was OVERDUE"),
        });
        parts.join("; ")
    }
}
