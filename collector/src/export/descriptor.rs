//! What stands beside a CSV so that a program can read it without guessing: a descriptor by Frictionless Data
//! Package 2.0 with a Table Schema (<https://datapackage.org>), as JSON.
//!
//! It names every column with its type, decimal mark and unit, which columns carry the guard against formulas and
//! how it is taken off, the dialect, the CSV's size and hash, the choice made and the record's head. What the
//! standard has no word for stands under `overwire` and under `unitField`, `unit` and `formulaGuard` of a field.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum as _;
use rusqlite::Connection;
use serde_json::{Map, Value as Json, json};
use sha2::{Digest as _, Sha256};

use super::columns::{Column, Holds};
use super::csv::Dialect;
use super::scan::Progress;
use super::{Choice, ExportError, Form, Shape, Source, Written, wide};
use crate::clock::{Stamp, iso};
use crate::live::line::AS_OF;
use crate::record::chain::hex;
use crate::record::reader;
use crate::record::standing::{PURPOSES, SEATS, UNITS, VERDICTS};

/// The profile that it follows.
const PROFILE: &str = "https://datapackage.org/profiles/2.0/datapackage.json";
/// What is put before text that a spreadsheet could run.
const GUARD: &str = "'";
const ABOUT_THE_GUARD: &str = "In fields with formulaGuard a text that a spreadsheet could run as a formula, and one \
    that begins with the guard itself, has the guard before it: a text that begins with the guard has it taken off \
    once.";

/// Where the descriptor of a CSV stands: beside it, under its name, so that each CSV of a folder has its own.
pub fn path(csv: &Path) -> PathBuf {
    let stem = match csv.extension() {
        Some(ending) if ending == "csv" => csv.with_extension(""),
        _ => csv.to_owned(),
    };
    let mut name = stem.into_os_string();
    name.push(".datapackage.json");
    PathBuf::from(name)
}

/// Writes the chosen readings as a CSV, and gives its descriptor. `name` is what the CSV is called.
///
/// # Errors
/// The record cannot be read, or the writer refuses.
pub fn write(
    connection: &Connection,
    choice: &Choice,
    form: &Form,
    (name, now): (&str, Stamp),
    progress: Progress<'_>,
    out: &mut (impl Write + ?Sized),
) -> Result<(u64, Json), ExportError> {
    let source = Source::new(connection, choice)?;
    let tip = reader::tip(&source.transaction)?;
    let mut out = Summing {
        out,
        bytes: 0,
        sum: Sha256::new(),
    };
    let written = source.write(form, progress, &mut out)?;
    let mut resource = resource(name, form, schema(form, &written)?);
    resource["bytes"] = json!(out.bytes);
    resource["hash"] = json!(format!("sha256:{}", hex(&out.sum.finalize())));
    let descriptor = json!({
        "$schema": PROFILE,
        "name": plain(name),
        "created": iso(now.wall_us, now.utc_offset_s),
        "overwire": {
            "version": env!("CARGO_PKG_VERSION"),
            "record": { "entry": tip.entry, "head": hex(&tip.hash) },
            "choice": chosen(choice),
            "rowsOf": form.shape.to_possible_value().map(|value| value.get_name().to_owned()),
            "rowCount": written.rows,
            "formulaGuard": ABOUT_THE_GUARD,
        },
        "resources": [resource],
    });
    Ok((written.rows, descriptor))
}

/// The descriptor of a live file: it grows, so it has neither size nor hash, and the same `entry` may come again, in
/// which case its last line holds. It is the same whenever it is made.
pub fn of_live_file(name: &str, dialect: Dialect, columns: &[Column]) -> Json {
    let form = Form {
        dialect,
        ..Form::default()
    };
    let mut fields = vec![json!({
        "name": AS_OF,
        "type": "integer",
        "description": "entry of the record for which the line was written; it rises from line to line",
        "constraints": { "required": true, "unique": true },
    })];
    for column in columns {
        let mut field = field(&form, column.name, column.holds, column.about);
        if column.name == "entry" {
            field["constraints"] = json!({ "required": true });
        }
        fields.push(field);
    }
    let schema = json!({
        "fields": fields, "fieldsMatch": "exact", "missingValues": [""], "primaryKey": [AS_OF],
    });
    json!({
        "$schema": PROFILE,
        "name": plain(name),
        "overwire": {
            "version": env!("CARGO_PKG_VERSION"),
            "grows": true,
            "lastLineHolds": "entry",
            "formulaGuard": ABOUT_THE_GUARD,
        },
        "resources": [resource(name, &form, schema)],
    })
}

/// Whether a text is the descriptor of a live file, of this version or another.
pub fn is_of_live_file(text: &str) -> bool {
    let found: Json = serde_json::from_str(text).unwrap_or_default();
    found["overwire"]["grows"] == json!(true)
}

/// What holds for every CSV.
fn resource(name: &str, form: &Form, schema: Json) -> Json {
    json!({
        "name": plain(name),
        "type": "table",
        "path": name,
        "format": form.dialect.ending(),
        "mediatype": form.dialect.media_type().split(';').next(),
        "encoding": "utf-8",
        "byteOrderMark": form.has_mark(),
        "dialect": dialect(form),
        "schema": schema,
    })
}

/// A name as the standard wants it: small letters, digits, `-`, `_` and `.`.
fn plain(name: &str) -> String {
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let shown = stem.chars().map(|c| if fits(c) { c } else { '-' });
    shown.collect::<String>().to_ascii_lowercase()
}

/// What was asked for.
fn chosen(choice: &Choice) -> Map<String, Json> {
    let mut choice = choice.clone();
    let fields = choice.fields_mut();
    let asked = fields.iter().filter(|(_, text)| !text.is_empty());
    asked
        .map(|(name, text)| ((*name).to_owned(), json!(text)))
        .collect()
}

fn dialect(form: &Form) -> Json {
    json!({
        "header": true,
        "delimiter": form.dialect.separator().to_string(),
        "lineTerminator": "\r\n",
        "quoteChar": "\"",
        "doubleQuote": true,
        "skipInitialSpace": false,
    })
}

fn schema(form: &Form, written: &Written) -> Result<Json, ExportError> {
    let told: Vec<(String, Holds, &str)> = match form.shape {
        Shape::Readings => form
            .columns()?
            .iter()
            .map(|column| (column.name.to_owned(), column.holds, column.about))
            .collect(),
        Shape::Pieces => wide::told(written.most),
    };
    let fields: Vec<Json> = told
        .iter()
        .map(|(name, holds, about)| field(form, name, *holds, about))
        .collect();
    let key: &[&str] = match form.shape {
        Shape::Readings => &["entry"],
        Shape::Pieces => &["job", "feature", "piece", "attempt"],
    };
    let mut schema = json!({ "fields": fields, "fieldsMatch": "exact", "missingValues": [""] });
    let has = |name: &&str| told.iter().any(|(told, ..)| told == name);
    if key.iter().all(has) {
        schema["primaryKey"] = json!(key);
    }
    Ok(schema)
}

fn field(form: &Form, name: &str, holds: Holds, about: &str) -> Json {
    let mut field = json!({ "name": name, "description": about });
    let decimal_mark = form.dialect.decimal_mark().to_string();
    match holds {
        Holds::Code => {
            field["type"] = json!("string");
            if name == "id" {
                field["format"] = json!("uuid");
            }
        }
        Holds::Free => {
            field["type"] = json!("string");
            field["formulaGuard"] = json!(GUARD);
        }
        Holds::Whole => field["type"] = json!("integer"),
        Holds::Flag => {
            field["type"] = json!("boolean");
            field["trueValues"] = json!(["1"]);
            field["falseValues"] = json!(["0"]);
        }
        Holds::Length => {
            field["type"] = json!("number");
            field["decimalChar"] = json!(decimal_mark);
            field["unitField"] = json!("unit");
        }
        Holds::Number => {
            field["type"] = json!("number");
            field["decimalChar"] = json!(decimal_mark);
            if name.ends_with("_celsius") {
                // The code of the Unified Code for Units of Measure.
                field["unit"] = json!("Cel");
            }
        }
        Holds::Moment => field["type"] = json!("datetime"),
        Holds::Local => {
            field["type"] = json!("datetime");
            field["format"] = json!("%Y-%m-%d %H:%M:%S");
        }
    }
    if let Some(constraints) = constraints(form.shape, name) {
        field["constraints"] = constraints;
    }
    field
}

/// What holds for every cell of a column.
fn constraints(shape: Shape, name: &str) -> Option<Json> {
    let words = |words: &[&str]| {
        let words: Vec<&str> = words
            .iter()
            .copied()
            .filter(|word| !word.is_empty())
            .collect();
        json!({ "enum": words })
    };
    Some(match name {
        "entry" => json!({ "required": true, "unique": true }),
        "hash" => json!({ "required": true, "pattern": "[0-9a-f]{64}" }),
        "utc_offset" => json!({ "required": true, "pattern": "UTC[+-][0-9]{2}:[0-9]{2}" }),
        "purpose" => words(PURPOSES),
        "unit" | "original_unit" => words(UNITS),
        "unit_from" => words(&["frame", "station", "typed"]),
        "seat" => words(SEATS),
        "verdict" if shape == Shape::Readings => words(&[VERDICTS, &["held"]].concat()),
        "verdict" | "original_verdict" => words(VERDICTS),
        _ => return None,
    })
}

/// Counts and sums up what is written.
struct Summing<'o, W: ?Sized> {
    out: &'o mut W,
    bytes: u64,
    sum: Sha256,
}

impl<W: Write + ?Sized> Write for Summing<'_, W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.bytes += written as u64;
        self.sum.update(bytes.get(..written).unwrap_or(bytes));
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_csv_of_a_folder_has_a_descriptor_of_its_own() {
        let of = |csv: &str| path(Path::new(csv)).display().to_string();
        assert_eq!(
            of("out/readings-J-1.csv"),
            "out/readings-J-1.datapackage.json"
        );
        assert_eq!(of("readings-J.1.csv"), "readings-J.1.datapackage.json");
        assert_eq!(of("readings.tsv"), "readings.tsv.datapackage.json");
        assert_eq!(of("readings"), "readings.datapackage.json");
    }

    #[test]
    fn names_are_as_the_standard_wants_them() {
        assert_eq!(plain("readings-J-2417 ü.csv"), "readings-j-2417--");
    }
}
