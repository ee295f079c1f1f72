//! Reading the numbers of any CSV, and `overwire describe`.

use std::fmt::Display;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::ValueEnum;
use overwire_core::units::Unit;

use crate::chart::{Format, Look, Width, raster};
use crate::findings::numbers::{self, Choice, Column};
use crate::findings::{Findings, Shown};

/// The file and how it is written.
#[derive(Debug, clap::Args)]
pub struct Source {
    /// CSV file with a header line; - reads the standard input
    pub(super) file: PathBuf,
    /// Column of the numbers (left out: the only one)
    #[arg(long, value_name = "NAME")]
    column: Option<String>,
    /// Unit of the numbers: mm (left out) or in
    #[arg(long, value_enum, default_value_t = UnitChoice::Mm, hide_default_value = true, hide_possible_values = true)]
    unit: UnitChoice,
    /// Decimal comma; cells are parted by semicolons
    #[arg(long)]
    decimal_comma: bool,
    /// JSON instead of text
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum UnitChoice {
    Mm,
    In,
}

impl UnitChoice {
    fn unit(self) -> Unit {
        match self {
            UnitChoice::Mm => Unit::Millimetre,
            UnitChoice::In => Unit::Inch,
        }
    }
}

/// Exit code where everything was told, but the main answer is a dash with its reason.
const NO_ANSWER: u8 = 3;

/// An error, what to do next, and the exit code.
pub(super) type Told = (String, &'static str, u8);

impl Source {
    pub(super) fn read(&self, beside: &[&str]) -> Result<Column, Told> {
        let file: Box<dyn Read> = if self.file.as_os_str() == "-" {
            Box::new(std::io::stdin().lock())
        } else {
            let opened = File::open(&self.file);
            Box::new(opened.map_err(|error| {
                (
                    format!("{}: {error}", self.file.display()),
                    "Is the name right?",
                    66,
                )
            })?)
        };
        let choice = Choice {
            column: self.column.as_deref(),
            beside,
            unit: self.unit.unit(),
            decimal_comma: self.decimal_comma,
            separator: if self.decimal_comma { b';' } else { b',' },
        };
        numbers::read(file, &choice).map_err(|error| (error.to_string(), error.hint(), 1))
    }

    /// A number in a column of text.
    pub(super) fn number(&self, text: &str, column: &str) -> Result<f64, Told> {
        let plain = match self.decimal_comma {
            true => text.replace(',', "."),
            false => text.to_owned(),
        };
        let number = plain.parse().ok().filter(|number: &f64| number.is_finite());
        number.ok_or_else(|| {
            let error = format!("column `{column}`: `{text}` is no number");
            (error, "Look at the file; is it the right column?", 1)
        })
    }

    pub(super) fn shown(&self, column: &Column) -> Shown {
        Shown {
            unit: self.unit.unit(),
            places: column.places,
            format: Format {
                width: Width::Desk,
                look: Look::Fixed,
            },
        }
    }

    pub(super) fn tell(&self, told: Result<Findings, Told>) -> ExitCode {
        match told {
            Ok(findings) => {
                let text = match self.json {
                    true => serde_json::to_string(&findings).unwrap_or_default() + "\n",
                    false => findings.to_text(),
                };
                super::print(&text);
                match findings.is_answered() {
                    true => ExitCode::SUCCESS,
                    false => ExitCode::from(NO_ANSWER),
                }
            }
            Err((error, hint, code)) => {
                super::complain(&error, hint);
                ExitCode::from(code)
            }
        }
    }
}

/// Why a question has no answer, with what to do.
pub(super) fn undefined(reason: impl std::fmt::Display) -> Told {
    (
        format!("there is no answer: {reason}"),
        "Look at the numbers and at what was asked of them; more readings may help.",
        1,
    )
}

/// A length or a factor that must be above zero.
pub(super) fn above_zero(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number > 0.0 && number.is_finite() => Ok(number),
        _ => Err("say a number above zero".to_owned()),
    }
}

/// `overwire describe`.
#[derive(Debug, clap::Args)]
pub struct Describe {
    #[command(flatten)]
    source: Source,
    /// Describe group by group: the column that names the groups
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

impl Describe {
    pub fn act(self) -> ExitCode {
        let beside: Vec<&str> = self.by.as_deref().into_iter().collect();
        let found = self.source.read(&beside).and_then(|column| {
            let shown = self.source.shown(&column);
            numbers::describe(&column, self.by.is_some(), &shown).map_err(undefined)
        });
        self.source.tell(found)
    }
}

/// Writes a picture to its file: as dots where the name ends in .png, as a drawing else.
pub(super) fn write_picture(
    findings: &Findings,
    name: &str,
    out: &Path,
    hint: &'static str,
) -> Result<(), Told> {
    let Some(drawn) = findings.picture(name) else {
        return Err((
            format!("there is no {name} picture of these numbers"),
            hint,
            1,
        ));
    };
    let failed = |error: &dyn Display, hint| (format!("{}: {error}", out.display()), hint, 74);
    let ends = out.extension().and_then(|ends| ends.to_str());
    let picture = match ends.is_some_and(|ends| ends.eq_ignore_ascii_case("png")) {
        true => {
            raster::png(&drawn.svg).map_err(|error| failed(&error, "Choose a name in .svg."))?
        }
        false => drawn.svg.clone().into_bytes(),
    };
    std::fs::write(out, picture).map_err(|error| failed(&error, "Choose another place."))
}
