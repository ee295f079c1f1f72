//! `overwire describe` and `overwire chart`: the statistics of any CSV.

use std::collections::HashMap;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::ValueEnum;
use overwire_core::stats::run_rules::RunRules;
use overwire_core::units::Unit;

use crate::chart::{Format, Look, Width};
use crate::findings::numbers::{self, Choice, Column};
use crate::findings::process::{PieceReading, Question, process};
use crate::findings::{Findings, Shown};

/// The file and how it is written.
#[derive(Debug, clap::Args)]
pub struct Source {
    /// CSV file with a header line; - reads the standard input
    file: PathBuf,
    /// Column of the numbers (left out: the only one)
    #[arg(long, value_name = "NAME")]
    column: Option<String>,
    /// Unit of the numbers
    #[arg(long, value_enum, default_value_t = UnitChoice::Mm)]
    unit: UnitChoice,
    /// The decimal mark is a comma, and cells are parted by semicolons
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
        numbers::read(file, &choice).map_err(|error| {
            let hint = "Look at the file; with decimal commas, say --decimal-comma.";
            (error.to_string(), hint, 1)
        })
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
            Ok(findings) if self.json => {
                let text = serde_json::to_string(&findings).unwrap_or_default();
                super::print(&(text + "\n"));
                ExitCode::SUCCESS
            }
            Ok(findings) => {
                super::print(&findings.to_text());
                ExitCode::SUCCESS
            }
            Err((error, hint, code)) => {
                super::complain(&error, hint);
                ExitCode::from(code)
            }
        }
    }
}

pub(super) fn undefined(reason: impl std::fmt::Display) -> Told {
    (
        format!("{reason}"),
        "There are too few numbers for this.",
        1,
    )
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

/// `overwire chart`.
#[derive(Debug, clap::Args)]
pub struct Chart {
    #[command(flatten)]
    source: Source,
    /// Column that numbers or names the pieces; repeats of one piece are put together (left out: each
    /// line is a piece of its own)
    #[arg(long, value_name = "NAME")]
    piece: Option<String>,
    /// Smallest value allowed
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    lower: Option<f64>,
    /// Largest value allowed
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    upper: Option<f64>,
    /// Run rules: usual (a point beyond a limit, nine on one side), nelson (eight), western-electric (four)
    #[arg(long, value_enum, default_value_t = Rules::Usual)]
    rules: Rules,
    /// Write this picture as SVG
    #[arg(long, value_enum, requires = "out")]
    picture: Option<PictureName>,
    /// The picture's file
    #[arg(long, value_name = "FILE", requires = "picture")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Rules {
    Usual,
    Nelson,
    WesternElectric,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PictureName {
    Run,
    Individuals,
    Histogram,
    Normal,
    Trend,
}

impl PictureName {
    fn name(self) -> &'static str {
        match self {
            PictureName::Run => "run",
            PictureName::Individuals => "individuals",
            PictureName::Histogram => "histogram",
            PictureName::Normal => "normal",
            PictureName::Trend => "trend",
        }
    }
}

impl Chart {
    pub fn act(self) -> ExitCode {
        let found = self.found();
        self.source.tell(found)
    }

    fn found(&self) -> Result<Findings, Told> {
        let beside: Vec<&str> = self.piece.as_deref().into_iter().collect();
        let column = self.source.read(&beside)?;
        let shown = self.source.shown(&column);
        let mm = |limit: Option<f64>| limit.map(|limit| limit * shown.unit.mm_per_unit());
        let limits = (mm(self.lower), mm(self.upper));
        let question = Question {
            title: column.name.clone(),
            about: self.source.file.display().to_string(),
            quantity: column.name.clone(),
            readings: pieces(&column, self.piece.is_some()),
            limits: (limits != (None, None)).then_some(limits),
            step_mm: Some(10f64.powi(-i32::from(column.places)) * shown.unit.mm_per_unit()),
            rules: match self.rules {
                Rules::Usual => RunRules::usual(),
                Rules::Nelson => RunRules::nelson(),
                Rules::WesternElectric => RunRules::western_electric(),
            },
        };
        let findings = process(&question, &shown).map_err(undefined)?;
        if let (Some(picture), Some(out)) = (self.picture, &self.out) {
            let hint = "A histogram needs --lower or --upper, individuals two numbers that differ, a normal \
                        plot eight numbers, a trend one that is proven.";
            write_picture(&findings, picture.name(), out, hint)?;
        }
        Ok(findings)
    }
}

/// Writes a picture to its file.
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
    std::fs::write(out, &drawn.svg).map_err(|error| {
        (
            format!("{}: {error}", out.display()),
            "Choose another place.",
            74,
        )
    })
}

/// Each line a piece, or lines of one name one piece.
fn pieces(column: &Column, named: bool) -> Vec<PieceReading> {
    let mut numbers: HashMap<&str, i64> = HashMap::new();
    let lines = column.mm.iter().zip(column.named(0)).zip(1..);
    lines
        .map(|((mm, name), line)| {
            let next = numbers.len() as i64 + 1;
            PieceReading {
                piece: match named {
                    true => *numbers.entry(name).or_insert(next),
                    false => line,
                },
                mm: *mm,
                left_out: None,
            }
        })
        .collect()
}
