//! Do groups of pieces stay where they are, and does each spread as much as the others?
//!
//! A group is several pieces made one after another. Its mean is charted against the spread inside the groups; the
//! spread itself, as a range or a standard deviation, on a chart of its own.

mod held;
mod picture;
mod table;

use std::slice::from_ref;

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::groups::{GroupSpread, Groups, Sizes};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::resolution::{Adequacy, Use};
use overwire_core::stats::run_rules::{Explanation, RunRules, Signals};
use overwire_core::stats::series::Series;

use super::limits_kept::{Basis, capability};
use super::process::{self, Charted, Freeze, Scatter};
use super::signals::{Order, patterns_of};
use super::{Findings, Section, Shown, Table, drift};
use held::{Held, Judged};

/// Ranges of more readings than this waste too much of what the readings say.
const LARGEST_FOR_RANGES: usize = 10;

/// Pieces that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What it is called.
    pub name: String,
    /// Its readings, mm.
    pub mm: Vec<f64>,
}

/// Which spread of a group is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Spread {
    /// The range up to ten readings in every group, the standard deviation above or where sizes differ.
    #[default]
    Fitting,
    /// The range.
    Range,
    /// The standard deviation.
    Deviation,
}

/// What is asked about.
#[derive(Debug, Clone)]
pub struct Question {
    /// Name of the column.
    pub title: String,
    /// Name of the file.
    pub about: String,
    /// What is measured.
    pub quantity: String,
    /// The groups in order.
    pub groups: Vec<Group>,
    /// Whether the readings of a group are known to be of pieces, each of its own.
    pub are_pieces: bool,
    /// Readings at the end that made no whole group.
    pub left_over: usize,
    /// Groups whose readings were not taken one after another.
    pub scattered: Vec<String>,
    /// Which spread is charted.
    pub spread: Spread,
    /// Which runs are looked for.
    pub rules: RunRules,
    /// The limits of a single piece, mm.
    pub limits: Option<(Option<f64>, Option<f64>)>,
    /// Step of the display, mm.
    pub step_mm: Option<f64>,
    /// How pieces scatter, where they are known not to scatter normally.
    pub scatter: Option<Scatter>,
}

impl Question {
    fn spread(&self) -> GroupSpread {
        let first = self.groups.first().map_or(0, |group| group.mm.len());
        let alike = self.groups.iter().all(|group| group.mm.len() == first);
        match (self.spread, alike) {
            (Spread::Range, _) => GroupSpread::Range,
            (Spread::Fitting, true) if first <= LARGEST_FOR_RANGES => GroupSpread::Range,
            (_, true) => GroupSpread::Deviation,
            (_, false) => GroupSpread::PooledDeviation,
        }
    }
}

/// Everything that is said of groups.
///
/// # Errors
/// There is no group, one is empty, or a reading is no number.
pub fn groups(question: &Question, shown: &Shown) -> Result<Findings, Undefined> {
    let listed: Vec<&[f64]> = question.groups.iter().map(|group| &*group.mm).collect();
    let mut groups = Groups::of(&listed, question.spread())?;
    groups.left_over = question.left_over;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    let mut notes = Vec::new();
    let held = Held::of(&groups, question.rules);
    match &held {
        Ok(held) => {
            notes.extend(coarse(question, &groups, held));
            say(&mut findings, question, &groups, (held, &notes), shown);
        }
        Err(reason) => findings.add(Section::undefined(STEADY, reason)),
    }
    let held = held.ok();
    findings.add(table::figures(question, &groups, held.as_ref(), shown)?);
    findings.settings.push(groups.settings_words());
    if let Some(held) = &held {
        findings.settings.extend(settings(question, held));
        let drawn = picture::picture(question, &groups, (held, &notes), shown);
        findings.draw("means", drawn);
    }
    limits_kept(&mut findings, question, (held.as_ref(), notes), shown)?;
    Ok(findings)
}

/// What to know where the display is coarse for the spread inside the groups.
fn coarse(question: &Question, groups: &Groups, held: &Held) -> Option<String> {
    let range_limit = match (&groups.sizes, groups.spread) {
        (Sizes::Equal(size), GroupSpread::Range) => held.chart.spread_limits(*size).ok(),
        _ => None,
    };
    let adequacy = Adequacy::of(&Use {
        step: question.step_mm?,
        tolerance: None,
        range_limit: range_limit.and_then(|limits| limits.upper),
        process_deviation: Some(held.chart.sigma.sigma),
    });
    adequacy.ok()?.coarse_sentence()
}

/// Do single pieces keep the limits? The spread from piece to piece is that inside the groups.
fn limits_kept(
    findings: &mut Findings,
    question: &Question,
    (held, notes): (Option<&Held>, Vec<String>),
    shown: &Shown,
) -> Result<(), Undefined> {
    let pieces = process::Question {
        title: question.title.clone(),
        about: question.about.clone(),
        quantity: question.quantity.clone(),
        readings: Vec::new(),
        limits: question.limits,
        step_mm: question.step_mm,
        rules: question.rules,
        freeze: Freeze::Never,
        breaks: Vec::new(),
        scatter: question.scatter,
    };
    let readings = question.groups.iter().flat_map(|group| &group.mm);
    let charted = Charted {
        question: &pieces,
        series: Series::from_readings(readings.copied().collect())?,
        order: Order::default(),
        notes,
    };
    let means = held.map(|held| &held.means.signals);
    let basis = Basis {
        within: held.map(|held| held.chart.sigma),
        steadiness: means.map_or(Steadiness::Unknown, Steadiness::of),
        normality: drift::normality(findings, &charted, shown),
        gauge: None,
    };
    capability(findings, &charted, &basis, shown)
}

const STEADY: &str = "Are the groups steady?";

/// What the spread of a group is called, several of them.
fn spreads(spread: GroupSpread) -> &'static str {
    match spread {
        GroupSpread::Range => "ranges",
        GroupSpread::Deviation | GroupSpread::PooledDeviation => "standard deviations",
    }
}

fn settings(question: &Question, held: &Held) -> Vec<String> {
    let chosen = match question.spread {
        Spread::Fitting => format!(
            "Ranges where every group has the same size, {LARGEST_FOR_RANGES} at most; else standard deviations, \
             pooled where sizes differ."
        ),
        Spread::Range | Spread::Deviation => "The spread was chosen by whoever asked.".to_owned(),
    };
    let rules = |judged: &Judged| judged.signals.rules.settings_words();
    let (means, spread) = (rules(&held.means), rules(&held.spreads));
    let mut settings = vec![held.chart.settings_words(), chosen];
    match means == spread {
        true => settings.push(means),
        false => settings.extend([
            format!("Means: {means}"),
            format!("{}: {spread}", capital(spreads(held.chart.spread))),
        ]),
    }
    settings
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

fn say(
    findings: &mut Findings,
    question: &Question,
    groups: &Groups,
    (held, notes): (&Held, &[String]),
    shown: &Shown,
) {
    let mut steady = Section::said(
        STEADY,
        vec![
            held.verdict(),
            held.chart.sentence(shown.unit, shown.places),
        ],
    );
    steady.cautions = cautions(question, held);
    steady.cautions.extend(notes.iter().cloned());
    findings.add(steady);
    let size = match &groups.sizes {
        Sizes::Equal(size) => Some(*size),
        Sizes::Each(_) => None,
    };
    let limits = size.map(|size| held.chart.mean_limits(size));
    findings.add(part(question, "means", &held.means, limits, shown));
    let limits = size.map(|size| held.chart.spread_limits(size));
    let what = spreads(held.chart.spread);
    findings.add(part(question, what, &held.spreads, limits, shown));
}

/// Limits and signals of the means, or of the spreads; no limits where each size has its own.
fn part(
    question: &Question,
    what: &str,
    judged: &Judged,
    limits: Option<Result<ControlLimits, Undefined>>,
    shown: &Shown,
) -> Section {
    let lines = match limits {
        Some(Ok(limits)) => limits.words(shown.unit, shown.places.saturating_add(1)),
        Some(Err(reason)) => format!("limits –: {reason}"),
        None => "each size of group has limits of its own, as in the table".to_owned(),
    };
    let mut sentences = vec![format!("{}.", capital(&lines))];
    sentences.extend(told(question, &judged.signals, &judged.judged));
    Section::said(&format!("{} of the groups", capital(what)), sentences)
}

/// Signals in words, with the name of the group where it is not its number.
fn told(question: &Question, signals: &Signals, series: &Series) -> Vec<String> {
    patterns_of(from_ref(signals), series, |pattern: &Explanation| {
        let group = question.groups.get(pattern.last.saturating_sub(1));
        let name = group.map_or("", |group| group.name.as_str());
        match name.is_empty() || name == pattern.last.to_string() {
            true => pattern.sentence(),
            false => format!("Group {name}: {}", pattern.sentence()),
        }
    })
}

fn cautions(question: &Question, held: &Held) -> Vec<String> {
    let mut cautions = Vec::new();
    if held.chart.looks_like_repeats(&held.means.signals) {
        cautions.push(
            match question.are_pieces {
                true => {
                    "So many means lie beyond their limits that pieces differ far more from group to group than \
                     within one: chart them piece by piece."
                }
                false => {
                    "So many means lie beyond their limits that the groups are probably repeat readings of single \
                     pieces, whose spread is the gauge's; then ask by piece, not by group."
                }
            }
            .to_owned(),
        );
    }
    if !held.spreads.signals.hits.is_empty() {
        cautions.push(format!(
            "The {} are not steady, and the limits of the means come from them; look at those first.",
            spreads(held.chart.spread)
        ));
    }
    if let Some(first) = question.scattered.first() {
        cautions.push(format!(
            "The lines of {} groups do not follow one another, first those of {first}; they were put together all \
             the same.",
            question.scattered.len()
        ));
    }
    cautions
}
