//! `overwire chart`: is what a CSV says of a process steady, and in limits?

mod choices;

use std::collections::{HashMap, HashSet};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::value_parser;
use overwire_core::stats::run_rules::RunRules;
use overwire_core::stats::short_run::Run;

use choices::{PictureName, ShapeChoice, ShiftSetting, SpreadChoice, named_break, shift_setting};

use super::numbers::{Source, Told, undefined, write_picture};
use crate::chart::MarkKind;
use crate::findings::groups::{self, Grouping};
use crate::findings::numbers::Column;
use crate::findings::process::{
    Break, Freeze, PieceReading, ProcessError, Question, Target, Watch, process,
};
use crate::findings::{Findings, Shown, short_run};

/// `overwire chart`.
#[derive(Debug, clap::Args)]
pub struct Chart {
    #[command(flatten)]
    source: Source,
    /// Column that names pieces; repeats are put together
    #[arg(long, value_name = "NAME")]
    piece: Option<String>,
    /// Column that names groups of pieces: chart means
    #[arg(
        long,
        value_name = "NAME",
        group = "grouping",
        conflicts_with = "piece"
    )]
    group: Option<String>,
    /// So many lines are a group: chart means
    #[arg(long, value_name = "N", value_parser = value_parser!(u32).range(2..), group = "grouping",
        conflicts_with = "piece")]
    group_size: Option<u32>,
    /// Spread of groups: range, deviation (left out: fits)
    #[arg(long, value_enum, hide_possible_values = true, requires = "grouping")]
    spread: Option<SpreadChoice>,
    /// Column of what was aimed at: chart deviations
    #[arg(long, value_name = "NAME",
        conflicts_with_all = ["piece", "group", "group_size", "lower", "upper"])]
    nominal: Option<String>,
    /// Column that names the part (left out: the nominal)
    #[arg(long, value_name = "NAME", requires = "nominal")]
    part: Option<String>,
    /// Count each deviation in its part's sigma too
    #[arg(long, requires = "nominal")]
    standardised: bool,
    /// Limits of first N only; --freeze-up-to: to piece N
    #[arg(long, value_name = "N", value_parser = value_parser!(u32).range(2..), conflicts_with = "nominal")]
    freeze_after: Option<u32>,
    /// Limits of the pieces up to number N only
    #[arg(long, value_name = "N", hide = true, conflicts_with_all = ["freeze_after", "nominal"])]
    freeze_up_to: Option<i64>,
    /// Column whose change begins a phase with own limits
    #[arg(long = "phase", value_name = "NAME", conflicts_with = "nominal")]
    phases: Vec<String>,
    /// A phase begins with piece N: 41=new insert
    #[arg(long = "break", value_name = "N=WHAT", value_parser = named_break, conflicts_with = "nominal")]
    breaks: Vec<Break>,
    /// Smallest value allowed
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    lower: Option<f64>,
    /// Largest value allowed
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    upper: Option<f64>,
    /// Shape: log-normal, weibull, folded-normal, as-read
    #[arg(
        long,
        value_enum,
        hide_possible_values = true,
        conflicts_with = "nominal"
    )]
    shape: Option<ShapeChoice>,
    /// usual, nelson, western-electric; some: nelson:1,2=8
    #[arg(long, default_value = "usual", hide_default_value = true)]
    rules: RunRules,
    /// ewma=0.2,2.962 cusum=0.5,5,half target=middle
    #[arg(long, value_name = "HOW", value_parser = shift_setting, value_delimiter = ' ',
        conflicts_with_all = ["group", "group_size", "nominal"])]
    shifts: Vec<ShiftSetting>,
    /// Picture to write: run, individuals, trend ...
    #[arg(
        long,
        value_enum,
        value_name = "NAME",
        requires = "out",
        hide_possible_values = true
    )]
    picture: Option<PictureName>,
    /// The picture's file, .svg or .png
    #[arg(long, value_name = "FILE", requires = "picture")]
    out: Option<PathBuf>,
}

impl Chart {
    pub fn act(self) -> ExitCode {
        let found = self.found();
        self.source.tell(found)
    }

    fn found(&self) -> Result<Findings, Told> {
        let findings = match &self.nominal {
            Some(nominal) => self.short_runs(nominal),
            None => self.pieces(),
        }?;
        if let (Some(picture), Some(out)) = (self.picture, &self.out) {
            write_picture(&findings, picture.name(), out, picture.hint())?;
        }
        Ok(findings)
    }

    fn about(&self) -> String {
        self.source.file.display().to_string()
    }

    /// The limits of a piece, mm.
    fn limits(&self, shown: &Shown) -> Option<(Option<f64>, Option<f64>)> {
        let mm = |limit: Option<f64>| limit.map(|limit| limit * shown.unit.mm_per_unit());
        let limits = (mm(self.lower), mm(self.upper));
        (limits != (None, None)).then_some(limits)
    }

    fn pieces(&self) -> Result<Findings, Told> {
        let named = self.piece.iter().chain(&self.group).chain(&self.phases);
        let beside: Vec<&str> = named.map(String::as_str).collect();
        let column = self.source.read(&beside)?;
        if let Some(piece) = &self.piece {
            let named = column.all_named(piece);
            named.map_err(|error| (error.to_string(), error.hint(), 1))?;
        }
        let shown = self.source.shown(&column);
        let pieces = self.asked(&column, &shown);
        let grouping = match (&self.group, self.group_size) {
            (Some(_), _) => {
                let names = column.named(0).map(str::to_owned);
                let numbers = pieces.readings.iter().map(|reading| reading.piece);
                Some(Grouping::Named(numbers.zip(names).collect()))
            }
            (None, Some(size)) => Some(Grouping::Size(size as usize)),
            (None, None) => None,
        };
        let found = match grouping {
            None => process(&pieces, &shown),
            Some(grouping) => {
                let question = groups::Question {
                    pieces,
                    grouping,
                    are_pieces: false,
                    spread: self.spread.map(SpreadChoice::spread).unwrap_or_default(),
                };
                groups::groups(&question, &shown)
            }
        };
        found.map_err(|error| match error {
            ProcessError::Phases(error) => (error.to_string(), error.hint(), 1),
            error => undefined(error),
        })
    }

    /// What is asked of the pieces, in groups or not.
    fn asked(&self, column: &Column, shown: &Shown) -> Question {
        let readings = pieces(column, self.piece.is_some());
        let mut breaks = self.breaks.clone();
        let first = usize::from(self.piece.is_some() || self.group.is_some());
        for (name, at) in self.phases.iter().zip(first..) {
            breaks.extend(changes(name, column.named(at), &readings));
        }
        Question {
            title: column.name.clone(),
            about: self.about(),
            quantity: column.name.clone(),
            readings,
            limits: self.limits(shown),
            step_mm: Some(shown.step_mm()),
            rules: self.rules,
            freeze: match (self.freeze_after, self.freeze_up_to) {
                (Some(after), _) => Freeze::First(after as usize),
                (None, Some(piece)) => Freeze::UpTo(piece),
                (None, None) => Freeze::Never,
            },
            breaks,
            scatter: self.shape.map(ShapeChoice::scatter),
            watch: self.watch(shown),
        }
    }

    /// How small shifts are looked for; said more than once, the last counts.
    fn watch(&self, shown: &Shown) -> Watch {
        let mut watch = Watch::default();
        for setting in &self.shifts {
            match *setting {
                ShiftSetting::Average(average) => watch.average = average,
                ShiftSetting::Sums(sums) => watch.sums = sums,
                ShiftSetting::Middle => watch.target = Target::Middle,
                ShiftSetting::Target(size) => {
                    watch.target = Target::At(size * shown.unit.mm_per_unit());
                }
            }
        }
        watch
    }

    fn short_runs(&self, nominal: &str) -> Result<Findings, Told> {
        let part = self.part.as_deref().unwrap_or(nominal);
        let column = self.source.read(&[nominal, part])?;
        let shown = self.source.shown(&column);
        let question = short_run::Question {
            title: column.name.clone(),
            about: self.about(),
            quantity: column.name.clone(),
            runs: self.runs(&column, nominal, &shown)?,
            rules: self.rules,
            standardised: self.standardised,
            step_mm: Some(shown.step_mm()),
            nominal: "nominal",
        };
        short_run::short_runs(&question, &shown).map_err(undefined)
    }

    /// Neighbouring lines of one part and nominal are a run.
    fn runs(&self, column: &Column, nominal: &str, shown: &Shown) -> Result<Vec<Run>, Told> {
        let mut runs: Vec<Run> = Vec::new();
        let lines = column.mm.iter().zip(column.named(0)).zip(column.named(1));
        for ((mm, text), part) in lines {
            let aim = self.source.number(text, nominal)? * shown.unit.mm_per_unit();
            match runs.last_mut() {
                Some(run) if run.part == part && run.nominal == aim => run.readings.push(*mm),
                _ => runs.push(Run {
                    part: part.to_owned(),
                    nominal: aim,
                    readings: vec![*mm],
                }),
            }
        }
        Ok(runs)
    }
}

/// Where the text of a column is another than beside the piece before, going by the first line of each.
fn changes<'a>(
    column: &str,
    texts: impl Iterator<Item = &'a str>,
    readings: &[PieceReading],
) -> Vec<Break> {
    let mut seen = HashSet::new();
    let mut firsts = readings.iter().zip(texts);
    let mut before = None;
    let change = |(reading, text): (&PieceReading, &'a str)| {
        if !seen.insert(reading.piece) {
            return None;
        }
        let changed = before.replace(text).is_some_and(|before| before != text);
        changed.then(|| Break {
            piece: reading.piece,
            kind: MarkKind::Other,
            label: format!("{column} {text}"),
        })
    };
    firsts.by_ref().filter_map(change).collect()
}

/// Each line a piece, or lines of one name one piece: by their numbers where all names are numbers, else by the
/// order they come in.
fn pieces(column: &Column, named: bool) -> Vec<PieceReading> {
    let numbers: Option<Vec<i64>> = column.named(0).map(|name| name.parse().ok()).collect();
    let mut places: HashMap<&str, i64> = HashMap::new();
    let mut in_order = || -> Vec<i64> {
        let place = |name| {
            let next = places.len() as i64 + 1;
            *places.entry(name).or_insert(next)
        };
        column.named(0).map(place).collect()
    };
    let numbers = match named {
        true => numbers.unwrap_or_else(&mut in_order),
        false => (1..).take(column.mm.len()).collect(),
    };
    let lines = column.mm.iter().zip(numbers);
    let reading = |(mm, piece): (&f64, i64)| PieceReading {
        piece,
        mm: *mm,
        left_out: None,
    };
    lines.map(reading).collect()
}
