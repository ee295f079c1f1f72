//! The plain figures of a job, from sums: how many pieces, where they lie, whether they keep the limits.
//!
//! Whether the process is steady needs the pieces one by one and is not asked here; the answer says so.

use std::collections::BTreeMap;

use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Evidence, Indices, Refused, Tolerance,
};
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::limits::Sigma;
use overwire_core::stats::piece_sums::SoFar;
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::{Moments, Undefined};
use overwire_core::thread::Thread;
use overwire_core::units::Unit;
use rusqlite::Connection;
use serde::Serialize;

use super::limits_kept::{self, LIMITS_KEPT, Outside};
use super::process::{self, GAUGE, INDIVIDUALS};
use super::revised::{self, Revised};
use super::{Findings, Section, Shown};
use crate::record::RecordError;
use crate::record::inspected::Feature;
use crate::record::sums::FeatureSums;
use crate::view::places_in;

/// What is asked about.
#[derive(Debug, Clone)]
pub struct Question {
    /// Job and feature.
    pub title: String,
    /// Thread.
    pub about: String,
    /// The pieces, summed up.
    pub sums: SoFar,
    /// The limits, mm.
    pub limits: Option<(Option<f64>, Option<f64>)>,
    /// What earlier revisions of the job did to its readings.
    pub revised: Revised,
    /// How many pieces lie outside the limits.
    pub outside: Outside,
}

impl Question {
    /// The question of a feature, its thread and its sums. Where they reach beyond a limit, the record is asked how
    /// many pieces do.
    ///
    /// # Errors
    /// SQLite refuses, or an entry is not understood.
    pub fn of(
        record: &Connection,
        feature: Feature<'_>,
        thread: &Thread,
        (sums, revised): (&FeatureSums, Revised),
    ) -> Result<Question, RecordError> {
        let sums = sums.pieces.so_far();
        let limits = process::Question::limits_of(thread.limits.as_ref());
        let extremes = sums.means.extremes().zip(limits);
        let beyond = extremes.filter(|((least, greatest), limits)| {
            Outside::of(&[*least, *greatest], *limits).count() > 0
        });
        let outside = match beyond {
            None => Outside::none_of(sums.means.count()),
            Some((_, limits)) => {
                let (readings, _) = revised::readings(record, feature, thread)?;
                let counted = readings.iter().filter(|reading| reading.left_out.is_none());
                let pieces = Pieces::of(counted.map(|reading| (reading.piece, reading.mm)));
                pieces.map_or_else(
                    |_| Outside::default(),
                    |pieces| Outside::of(pieces.means().readings(), limits),
                )
            }
        };
        Ok(Question {
            title: format!("{}, {}", feature.job, feature.name),
            about: thread.designation.clone(),
            sums,
            limits,
            revised,
            outside,
        })
    }
}

/// Most decimal places of a reading, in a unit.
pub fn places(sums: &FeatureSums, unit: Unit) -> u8 {
    let shown = sums
        .displays()
        .map(|(own, places)| places_in(places, own, unit));
    shown.max().unwrap_or_default()
}

/// A summary: in words, and as numbers for programs.
#[derive(Debug, Clone, Serialize)]
pub struct Summary {
    /// In words.
    #[serde(flatten)]
    pub findings: Findings,
    /// As numbers.
    pub figures: Figures,
}

/// Figures in millimetres; one that cannot be had is none, with its reason.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Figures {
    /// Pieces that count.
    pub pieces: usize,
    /// Readings that a person left out.
    pub left_out: usize,
    /// Every figure by its name.
    #[serde(flatten)]
    pub named: BTreeMap<&'static str, Option<f64>>,
    /// Why some are none, by their names.
    pub undefined: BTreeMap<&'static str, String>,
}

impl Figures {
    fn put(&mut self, name: &'static str, figure: Result<f64, String>) {
        if let Err(reason) = &figure {
            self.undefined.insert(name, reason.clone());
        }
        self.named.insert(name, figure.ok());
    }
}

/// Summarises a job.
///
/// # Errors
/// Not a single piece counts.
pub fn summary(question: &Question, shown: &Shown) -> Result<Summary, Undefined> {
    let sums = &question.sums;
    let moments = sums.means.moments()?;
    let extremes = sums
        .means
        .extremes()
        .unwrap_or((moments.mean, moments.mean));
    let chart = Individuals::from_sums(&sums.means, IndividualsSettings::default());
    let repeats = sums.repeats.sigma();
    let evidence = Evidence {
        within: chart.as_ref().ok().map(|chart| chart.sigma),
        step: Some(shown.step_mm()),
        gauge: repeats.as_ref().ok().map(|sigma| sigma.sigma),
        ..Evidence::without_chart(moments, extremes)
    };
    let capability = capability(question, &evidence)?;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    say_limits(&mut findings, capability.as_ref(), question.outside, shown);
    question
        .revised
        .tell(&mut findings, revised::CAPABILITY, shown);
    limits_kept::mind_function(&mut findings);
    let mut plain = limits_kept::figures(&moments, extremes, shown);
    plain.sentences.extend(process::left_out(sums.left_out));
    findings.add(plain);
    match &chart {
        Ok(chart) => {
            let words = chart.sentence(shown.unit, shown.places);
            findings.add(Section::said(INDIVIDUALS, vec![words]));
            findings.settings.push(chart.settings.settings_words());
        }
        Err(reason) => findings.add(Section::undefined(INDIVIDUALS, reason)),
    }
    if sums.repeats.pieces() > 0 {
        findings.add(match &repeats {
            Ok(sigma) => Section::said(GAUGE, vec![process::repeat_words(sigma, shown)]),
            Err(reason) => Section::undefined(GAUGE, reason),
        });
    }
    let mut figures = Figures {
        pieces: moments.count,
        left_out: sums.left_out,
        ..Figures::default()
    };
    put_lengths(&mut figures, &moments, extremes);
    put_limits(&mut figures, &chart);
    let repeats = repeats.map(|sigma| sigma.sigma);
    figures.put("repeats_mm", repeats.map_err(|reason| reason.to_string()));
    put_indices(
        &mut figures,
        capability.as_ref(),
        &chart.map(|chart| chart.sigma),
    );
    Ok(Summary { findings, figures })
}

impl Summary {
    /// What is told of a thread that cannot be summed up: a dash with the reason, and no figure.
    pub fn nothing(title: String, about: String, reason: &str) -> Summary {
        let mut findings = Findings {
            title,
            about,
            ..Findings::default()
        };
        findings.add(Section::undefined(LIMITS_KEPT, &reason));
        let mut figures = Figures::default();
        for name in NAMES {
            figures.put(name, Err(reason.to_owned()));
        }
        Summary { findings, figures }
    }
}

/// What is found of capability.
enum Kept {
    /// No piece lies inside.
    NoneInside,
    /// The indices, or why they are refused.
    Looked(Box<Result<Capability, Box<Refused>>>),
}

/// None without limits.
fn capability(question: &Question, evidence: &Evidence) -> Result<Option<Kept>, Undefined> {
    let Some((lower, upper)) = question.limits else {
        return Ok(None);
    };
    let tolerance = Tolerance::new(lower, upper)?;
    let (least, greatest) = evidence.extremes;
    let all_outside =
        upper.is_some_and(|upper| least > upper) || lower.is_some_and(|lower| greatest < lower);
    let settings = CapabilitySettings::default();
    Ok(Some(match all_outside {
        true => Kept::NoneInside,
        false => Kept::Looked(Box::new(Capability::of(evidence, &tolerance, settings))),
    }))
}

fn say_limits(findings: &mut Findings, capability: Option<&Kept>, outside: Outside, shown: &Shown) {
    match capability {
        None => findings.add(Section::undefined(LIMITS_KEPT, &NO_LIMITS)),
        Some(Kept::NoneInside) => findings.add(limits_kept::none_inside(outside.pieces())),
        Some(Kept::Looked(found)) => limits_kept::say_found(findings, found, outside, shown),
    }
}

const NO_LIMITS: &str = "the thread has no limits";

fn put_lengths(figures: &mut Figures, moments: &Moments, (least, greatest): (f64, f64)) {
    let told = |figure: Result<f64, Undefined>| figure.map_err(|reason| reason.to_string());
    figures.put("mean_mm", Ok(moments.mean));
    figures.put("standard_deviation_mm", told(moments.standard_deviation()));
    figures.put("least_mm", Ok(least));
    figures.put("greatest_mm", Ok(greatest));
}

fn put_limits(figures: &mut Figures, chart: &Result<Individuals, Undefined>) {
    let of = |figure: fn(&Individuals) -> Option<f64>| match chart {
        Ok(chart) => figure(chart).ok_or_else(|| "there is none".to_owned()),
        Err(reason) => Err(reason.to_string()),
    };
    figures.put("lower_control_limit_mm", of(|chart| chart.limits.lower));
    figures.put("upper_control_limit_mm", of(|chart| chart.limits.upper));
    figures.put("upper_range_limit_mm", of(|chart| chart.range_limits.upper));
    figures.put("sigma_within_mm", of(|chart| Some(chart.sigma.sigma)));
}

/// Every figure by its name.
const NAMES: [&str; 13] = [
    "mean_mm",
    "standard_deviation_mm",
    "least_mm",
    "greatest_mm",
    "lower_control_limit_mm",
    "upper_control_limit_mm",
    "upper_range_limit_mm",
    "sigma_within_mm",
    "repeats_mm",
    WITHIN.0,
    WITHIN.1,
    OVERALL.0,
    OVERALL.1,
];

/// How a spread is called, and its two indices.
type Named = (&'static str, &'static str);
const WITHIN: Named = ("cp", "cpk");
const OVERALL: Named = ("pp", "ppk");

fn put_indices(
    figures: &mut Figures,
    capability: Option<&Kept>,
    within: &Result<Sigma, Undefined>,
) {
    let refused = match capability {
        None => Err(NO_LIMITS.to_owned()),
        Some(Kept::NoneInside) => Err("no piece lies inside the limits".to_owned()),
        Some(Kept::Looked(found)) => found
            .as_ref()
            .as_ref()
            .map_err(|refused| refused.sentence()),
    };
    let no_chart = || match within {
        Err(reason) => reason.to_string(),
        Ok(_) => "there is no spread from piece to piece".to_owned(),
    };
    let of_within = refused
        .clone()
        .and_then(|found| found.within.as_ref().ok_or_else(no_chart));
    put_pair(figures, WITHIN, of_within);
    put_pair(figures, OVERALL, refused.map(|found| &found.overall));
}

fn put_pair(figures: &mut Figures, (both, least): Named, indices: Result<&Indices, String>) {
    let one_limit = "there is one limit only";
    let of_both = indices.clone().and_then(|indices| {
        let both = indices.both.as_ref();
        both.map(|index| index.value)
            .ok_or_else(|| one_limit.to_owned())
    });
    figures.put(both, of_both);
    figures.put(least, indices.map(|indices| indices.least.value));
}
