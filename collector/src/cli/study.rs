//! `overwire study`: studies of the measurement, of any CSV.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Subcommand};
use overwire_core::study::{
    AgreementPiece, Comparison, ComparisonSettings, Crossed, GaugeSettings, GaugeTolerance, Level,
    Margin, MethodReadings, NestedReadings, OnePieceSettings, Pairing, TaggedReading, Visit,
};

use super::numbers::{Source, Told, above_zero, undefined, write_picture};
use crate::findings::numbers::Column;
use crate::findings::study::{say_agreement, say_comparison, say_strays, say_wires};
use crate::findings::{Findings, Shown, gauge, masters};
use crate::register::forms::due_day;

/// `overwire study`.
#[derive(Debug, Args)]
pub struct StudyCommand {
    #[command(subcommand)]
    question: Question,
}

/// What is asked of the numbers.
#[derive(Debug, Subcommand)]
enum Question {
    /// Do methods differ on one piece? Each is compared with the baseline
    Methods(Methods),
    /// Can one method stand in for another? Both have measured the same pieces
    Agreement(Agreement),
    /// How well does it repeat on one piece, and how far is it off?
    Repeats(Repeats),
    /// How much of what varies is the measurement? Several people, several pieces
    Gauge(Gauge),
    /// Does the bias change with size? Masters of several sizes
    Linearity(Masters),
    /// Does the measurement stay the same? One check piece, day after day
    Stability(Checks),
    /// Do the three wires differ? Each is alone on its side in turn
    Wires(WireTurns),
}

impl StudyCommand {
    pub fn act(self) -> ExitCode {
        match self.question {
            Question::Methods(asked) => asked.source.tell(asked.found()),
            Question::Agreement(asked) => {
                asked
                    .drawing
                    .tell(&asked.source, asked.found(), "agreement")
            }
            Question::Repeats(asked) => asked.drawing.tell(&asked.source, asked.found(), "run"),
            Question::Gauge(asked) => {
                asked
                    .drawing
                    .tell(&asked.source, asked.found(), "components")
            }
            Question::Linearity(asked) => asked.drawing.tell(&asked.source, asked.found(), "bias"),
            Question::Stability(asked) => {
                asked.drawing.tell(&asked.source, asked.found(), "visits")
            }
            Question::Wires(asked) => asked.source.tell(asked.found()),
        }
    }
}

/// How much of a difference would not matter.
#[derive(Debug, Args)]
struct Allowed {
    /// How far a method may read off the baseline and still be called equivalent
    #[arg(long, value_name = "NUMBER", conflicts_with = "tolerance", value_parser = above_zero)]
    margin: Option<f64>,
    /// Tolerance of the thread; the margin is a tenth of it
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    tolerance: Option<f64>,
}

impl Allowed {
    fn margin(&self, shown: &Shown) -> Option<Margin> {
        let mm = shown.unit.mm_per_unit();
        match (self.margin, self.tolerance) {
            (Some(margin), _) => Some(Margin {
                length_mm: margin * mm,
                tolerance_mm: None,
            }),
            (None, Some(tolerance)) => Some(Margin::share_of(tolerance * mm, 0.10)),
            (None, None) => None,
        }
    }
}

/// Where the picture goes.
#[derive(Debug, Args)]
struct Drawing {
    /// Write the picture, as SVG or PNG by its name
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Drawing {
    /// Tells the answer, then writes its picture.
    fn tell(&self, source: &Source, found: Result<Findings, Told>, name: &str) -> ExitCode {
        let hint = "The answer above says why.";
        let written = match (&found, &self.out) {
            (Ok(findings), Some(out)) => write_picture(findings, name, out, hint),
            _ => Ok(()),
        };
        let told = source.tell(found);
        match written {
            Ok(()) => told,
            Err(error) => source.tell(Err(error)),
        }
    }
}

fn titled(column: &Column, question: &str) -> Findings {
    Findings {
        title: format!("{}: {question}", column.name),
        ..Findings::default()
    }
}

#[derive(Debug, Args)]
struct Methods {
    #[command(flatten)]
    source: Source,
    /// Column that names the method of each number
    #[arg(long, value_name = "NAME")]
    method: String,
    /// The baseline (left out: the method of the first line)
    #[arg(long, value_name = "METHOD")]
    baseline: Option<String>,
    #[command(flatten)]
    allowed: Allowed,
    /// The numbers of each method belong together line by line, as blocks
    #[arg(long)]
    paired: bool,
}

/// Which of the names a person meant; the first where nothing was said.
fn named_at(names: &[String], wanted: Option<&str>, column: &str) -> Result<usize, Told> {
    let Some(wanted) = wanted else {
        return Ok(0);
    };
    let found = names.iter().position(|name| name == wanted);
    found.ok_or_else(|| {
        let error = format!("there is no method `{wanted}` in column `{column}`");
        (error, "Write the method as it stands in the file.", 1)
    })
}

impl Methods {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.method])?;
        let shown = self.source.shown(&column);
        let Some(margin) = self.allowed.margin(&shown) else {
            let why = "say --margin or --tolerance: how much of a difference would not matter";
            let hint = "A tenth of the tolerance is common practice.";
            return Err((why.to_owned(), hint, 2));
        };
        let groups = column.groups();
        let names: Vec<String> = groups.iter().map(|(name, _)| name.clone()).collect();
        let baseline = named_at(&names, self.baseline.as_deref(), &self.method)?;
        let settings = ComparisonSettings {
            pairing: pairing(self.paired),
            step_mm: Some(shown.step_mm()),
            ..ComparisonSettings::usual(margin)
        };
        let methods = methods(groups);
        let comparison = Comparison::of(&methods, baseline, settings).map_err(undefined)?;
        let mut findings = Findings {
            title: format!("{} by {}", column.name, self.method),
            about: format!("baseline: {}", comparison.baseline_name()),
            ..Findings::default()
        };
        say_comparison(&mut findings, &comparison, &methods, &shown);
        say_strays(&mut findings, &methods, &shown);
        Ok(findings)
    }
}

fn pairing(paired: bool) -> Pairing {
    match paired {
        true => Pairing::Blocks,
        false => Pairing::Apart,
    }
}

fn methods(groups: Vec<(String, Vec<f64>)>) -> Vec<MethodReadings> {
    let method = |(name, readings)| MethodReadings { name, readings };
    groups.into_iter().map(method).collect()
}

#[derive(Debug, Args)]
struct Agreement {
    #[command(flatten)]
    source: Source,
    /// Column that names the method of each number: two methods
    #[arg(long, value_name = "NAME")]
    method: String,
    /// Column that names the piece of each number
    #[arg(long, value_name = "NAME")]
    piece: String,
    /// The baseline (left out: the method of the first line)
    #[arg(long, value_name = "METHOD")]
    baseline: Option<String>,
    #[command(flatten)]
    allowed: Allowed,
    #[command(flatten)]
    drawing: Drawing,
}

impl Agreement {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.method, &self.piece])?;
        let shown = self.source.shown(&column);
        let names: Vec<String> = column.groups().into_iter().map(|(name, _)| name).collect();
        let baseline = named_at(&names, self.baseline.as_deref(), &self.method)?;
        let margin = self.allowed.margin(&shown).map(|margin| margin.length_mm);
        let mut findings = titled(&column, "do the methods agree?");
        let base = names.get(baseline).map_or("", String::as_str);
        for other in names.iter().filter(|name| *name != base) {
            let pieces = pieces_of(&column, other, base);
            let names = [other.as_str(), base];
            say_agreement(&mut findings, names, &pieces, margin, &column.name, &shown);
        }
        if names.len() < 2 {
            let error = format!("column `{}` names one method only", self.method);
            return Err((error, "Agreement needs two methods.", 1));
        }
        Ok(findings)
    }
}

/// The pieces that both methods have measured.
fn pieces_of(column: &Column, first: &str, second: &str) -> Vec<AgreementPiece> {
    let mut pieces: Vec<(&str, AgreementPiece)> = Vec::new();
    let mut places = std::collections::HashMap::new();
    let lines = column.mm.iter().zip(column.named(0)).zip(column.named(1));
    for ((mm, method), name) in lines {
        let at = *places.entry(name).or_insert(pieces.len());
        if at == pieces.len() {
            let empty = AgreementPiece {
                first: Vec::new(),
                second: Vec::new(),
            };
            pieces.push((name, empty));
        }
        match pieces.get_mut(at) {
            Some((_, piece)) if method == first => piece.first.push(*mm),
            Some((_, piece)) if method == second => piece.second.push(*mm),
            _ => {}
        }
    }
    let both = |piece: &AgreementPiece| !piece.first.is_empty() && !piece.second.is_empty();
    let pieces = pieces.into_iter().map(|(_, piece)| piece);
    pieces.filter(both).collect()
}

#[derive(Debug, Args)]
struct Repeats {
    #[command(flatten)]
    source: Source,
    /// What the piece truly measures
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    reference: Option<f64>,
    /// Tolerance that is to be measured
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    tolerance: Option<f64>,
    #[command(flatten)]
    drawing: Drawing,
}

impl Repeats {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[])?;
        let shown = self.source.shown(&column);
        let mm = |number: Option<f64>| number.map(|number| number * shown.unit.mm_per_unit());
        let settings = OnePieceSettings::usual(mm(self.reference), mm(self.tolerance));
        let mut findings = titled(&column, "repeats on one piece");
        gauge::say_one_piece(&mut findings, &column.mm, settings, &column.name, &shown);
        Ok(findings)
    }
}

#[derive(Debug, Args)]
struct Gauge {
    #[command(flatten)]
    source: Source,
    /// Column that names the piece of each number
    #[arg(long, value_name = "NAME")]
    piece: String,
    /// Column that names who measured
    #[arg(long, value_name = "NAME")]
    operator: String,
    /// Each person has pieces of their own
    #[arg(long)]
    nested: bool,
    /// Tolerance that is to be measured
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    tolerance: Option<f64>,
    #[command(flatten)]
    drawing: Drawing,
}

impl Gauge {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.piece, &self.operator])?;
        let shown = self.source.shown(&column);
        let lines = column.mm.iter().zip(column.named(0)).zip(column.named(1));
        let readings = lines.map(|((mm, piece), operator)| TaggedReading {
            piece,
            operator,
            value: *mm,
        });
        let readings: Vec<TaggedReading> = readings.collect();
        let tolerance = self
            .tolerance
            .map(|tolerance| GaugeTolerance::Between(tolerance * shown.unit.mm_per_unit()));
        let settings = GaugeSettings::usual(tolerance);
        let mut findings = titled(&column, "pieces, people and repeats");
        match self.nested {
            true => {
                let nested = NestedReadings::of(&readings);
                gauge::say_nested(&mut findings, nested, settings, &shown);
            }
            false => {
                let crossed = Crossed::of(&readings);
                gauge::say_crossed(&mut findings, crossed, settings, &shown);
            }
        }
        Ok(findings)
    }
}

#[derive(Debug, Args)]
struct Masters {
    #[command(flatten)]
    source: Source,
    /// Column of what each master truly measures, in the unit of the numbers
    #[arg(long, value_name = "NAME")]
    master: String,
    #[command(flatten)]
    drawing: Drawing,
}

impl Masters {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.master])?;
        let shown = self.source.shown(&column);
        let level = |(text, readings): (String, Vec<f64>)| {
            let reference = self.source.number(&text, &self.master)?;
            Ok(Level {
                reference: reference * shown.unit.mm_per_unit(),
                readings,
            })
        };
        let levels: Result<Vec<Level>, Told> = column.groups().into_iter().map(level).collect();
        let mut findings = titled(&column, "masters of several sizes");
        masters::linearity(&mut findings, &levels?, &shown);
        Ok(findings)
    }
}

#[derive(Debug, Args)]
struct Checks {
    #[command(flatten)]
    source: Source,
    /// Column of the day of each number: YYYY-MM-DD, with a time or without
    #[arg(long, value_name = "NAME")]
    day: String,
    /// What the piece truly measures
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    reference: Option<f64>,
    #[command(flatten)]
    drawing: Drawing,
}

impl Checks {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.day])?;
        let shown = self.source.shown(&column);
        let mut days: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
        for (mm, text) in column.mm.iter().zip(column.named(0)) {
            let Some(day) = day_of(text) else {
                let error = format!("column `{}`: `{text}` is no day", self.day);
                return Err((error, "Write days as 2027-01-31, a time may follow.", 1));
            };
            days.entry(day).or_default().push(*mm);
        }
        let visit = |(day, readings): (i64, Vec<f64>)| Visit {
            day: day as f64,
            readings,
        };
        let visits: Vec<Visit> = days.into_iter().map(visit).collect();
        let mut findings = titled(&column, "one piece, day after day");
        let reference = self.reference.map(|size| size * shown.unit.mm_per_unit());
        masters::stability(&mut findings, &visits, reference, &column.name, &shown);
        Ok(findings)
    }
}

/// The day a date lies on, days since 1970; a time may follow.
fn day_of(text: &str) -> Option<i64> {
    let (date, rest) = text.split_at_checked(10)?;
    let time = rest.is_empty() || rest.starts_with(['T', ' ']) && rest.contains(':');
    due_day(date).filter(|_| time)
}

#[derive(Debug, Args)]
struct WireTurns {
    #[command(flatten)]
    source: Source,
    /// Column that names the wire that was alone on its side
    #[arg(long, value_name = "NAME")]
    wire: String,
    /// By how much more a number rises for the diameter of the lone wire than for that of one of the pair:
    /// 0.75 for readings over wires in a 60 degree thread
    #[arg(long, value_name = "NUMBER", default_value_t = 0.75, value_parser = above_zero)]
    gain: f64,
    /// The numbers of each wire belong together line by line, as blocks
    #[arg(long)]
    paired: bool,
}

impl WireTurns {
    fn found(&self) -> Result<Findings, Told> {
        let column = self.source.read(&[&self.wire])?;
        let shown = self.source.shown(&column);
        let mut findings = titled(&column, "each wire alone in turn");
        let seated = methods(column.groups());
        let pairing = pairing(self.paired);
        say_wires(&mut findings, &seated, self.gain, pairing, &shown);
        say_strays(&mut findings, &seated, &shown);
        Ok(findings)
    }
}
