//! Do groups of pieces stay where they are, and does each spread as much as the others?
//!
//! A group is several pieces made one after another. Its mean is charted against the spread inside the groups; the
//! spread itself, as a range or a standard deviation, on a chart of its own.

mod gathered;
mod held;
mod picture;
mod table;

use overwire_core::stats::Undefined;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::phases::JudgedPoints;
use overwire_core::stats::run_rules::{Explanation, Signals};
use overwire_core::stats::series::Series;

use super::coarse::{ON_CHARTS, Spread as Displayed};
use super::limits_kept::{Basis, capability};
use super::process::{self, Charted, ProcessError};
use super::signals::{Order, patterns_of};
use super::{Findings, Section, Shown, Table, drift, phases};
pub use gathered::Grouping;
use gathered::{Gathered, Group, Pieces};
use held::Held;

/// Ranges of more readings than this waste too much of what the readings say.
const LARGEST_FOR_RANGES: usize = 10;

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
    /// The pieces with their limits, phases and rules.
    pub pieces: process::Question,
    /// Which of them are a group.
    pub grouping: Grouping,
    /// Whether they are known to be pieces, each of its own.
    pub are_pieces: bool,
    /// Which spread is charted.
    pub spread: Spread,
}

impl Question {
    fn spread(&self, groups: &[Group]) -> GroupSpread {
        let first = groups.first().map_or(0, |group| group.mm.len());
        let alike = groups.iter().all(|group| group.mm.len() == first);
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
/// There is no group, or a reading is no number; or the phases asked for cannot be had.
pub fn groups(question: &Question, shown: &Shown) -> Result<Findings, ProcessError> {
    let (_, series, order) = process::ordered(&question.pieces)?;
    let starts = phases::starts(&series, &order, &question.pieces.breaks)?;
    let pieces = Pieces {
        series: &series,
        order: &order,
    };
    let mut gathered = Gathered::of(&pieces, &starts, &question.grouping);
    let after = gathered.freeze_after(question.pieces.freeze, &pieces)?;
    let mut findings = Findings {
        title: question.pieces.title.clone(),
        about: question.pieces.about.clone(),
        ..Findings::default()
    };
    let listed: Vec<&[f64]> = gathered.groups.iter().map(|group| &*group.mm).collect();
    let spread = question.spread(&gathered.groups);
    let mut groups = Groups::of(&listed, spread)?;
    groups.left_over = gathered.left_over;
    let held = Held::of(&gathered, spread, after, question.pieces.rules);
    match &held {
        Ok(held) => {
            findings.mind_display(within_groups(question, held));
            say(&mut findings, question, (&gathered, held), shown);
        }
        Err(reason) => findings.add(Section::undefined(STEADY, reason)),
    }
    let held = held.ok();
    findings.add(table::figures(&gathered, spread, held.as_ref(), shown)?);
    findings.settings.push(groups.settings_words());
    if let Some(held) = &held {
        findings.settings.extend(settings(question, held, shown));
        let drawn = picture::picture(findings.heading(), question, held, shown);
        findings.draw("means", drawn);
    }
    limits_kept(&mut findings, question, (&gathered, held.as_ref()), shown)?;
    Ok(findings)
}

/// How pieces spread inside the groups.
fn within_groups(question: &Question, held: &Held<'_>) -> Displayed {
    let chart = held.latest().ok();
    let ranges = chart.filter(|chart| chart.spread == GroupSpread::Range);
    let range_limits = ranges
        .zip(held.size())
        .and_then(|(chart, size)| chart.spread_limits(size).ok());
    Displayed {
        step_mm: question.pieces.step_mm,
        deviation: chart.map(|chart| chart.sigma.sigma),
        range_limit: range_limits.and_then(|limits| limits.upper),
        blurred: ON_CHARTS,
    }
}

/// Do single pieces keep the limits? The spread from piece to piece is that inside the groups; of several phases
/// the last one is asked.
fn limits_kept(
    findings: &mut Findings,
    question: &Question,
    (gathered, held): (&Gathered, Option<&Held<'_>>),
    shown: &Shown,
) -> Result<(), Undefined> {
    let from = held.map_or(0, Held::last_from);
    let readings = gathered.groups.iter().skip(from);
    let readings = readings.flat_map(|group| &group.mm);
    let charted = Charted {
        question: &question.pieces,
        series: Series::from_readings(readings.copied().collect())?,
        order: Order::default(),
    };
    let chart = held.and_then(|held| held.latest().ok());
    let basis = Basis {
        within: chart.map(|chart| chart.sigma),
        steadiness: held.map_or(Steadiness::Unknown, Held::steadiness),
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

fn settings(question: &Question, held: &Held<'_>, shown: &Shown) -> Vec<String> {
    let chosen = match question.spread {
        Spread::Fitting => format!(
            "Ranges where every group has the same size, {LARGEST_FOR_RANGES} at most; else standard deviations, \
             pooled where sizes differ."
        ),
        Spread::Range | Spread::Deviation => "The spread was chosen by whoever asked.".to_owned(),
    };
    let rules = question.pieces.rules;
    let (means, spread) = (rules.settings_words(), rules.for_spread().settings_words());
    let chart = held.latest().ok();
    let mut settings: Vec<String> = chart.map(GroupChart::settings_words).into_iter().collect();
    settings.push(chosen);
    settings.extend(held.settings_words(shown));
    match means == spread {
        true => settings.push(means),
        false => settings.extend([
            format!("Means: {means}"),
            format!("{}: {spread}", capital(spreads(held.groups().spread))),
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
    (gathered, held): (&Gathered, &Held<'_>),
    shown: &Shown,
) {
    let mut sentences = vec![held.verdict()];
    if let (false, Ok(chart)) = (held.in_phases(), held.latest()) {
        sentences.push(chart.sentence(shown.unit, shown.places));
    }
    sentences.extend(held.steps(question.pieces.step_mm, shown));
    sentences.extend(gathered.said.iter().cloned());
    let mut steady = Section::said(STEADY, sentences);
    steady.table = held.table(shown);
    steady.cautions = cautions(question, gathered, held);
    steady.cautions.extend(findings.coarse.clone());
    findings.add(steady);
    let chart = held.latest();
    let limits = |of: fn(&GroupChart, u32) -> Result<ControlLimits, Undefined>| {
        let own = "each size of group has limits of its own, as in the table";
        match (held.in_phases(), held.size()) {
            (true, _) => "each phase has limits of its own, as in its table".to_owned(),
            (false, None) => own.to_owned(),
            (false, Some(size)) => match chart.and_then(|chart| of(chart, size)) {
                Ok(limits) => limits.words(shown.unit, shown.places.saturating_add(1)),
                Err(reason) => format!("limits –: {reason}"),
            },
        }
    };
    let of_means = limits(GroupChart::mean_limits);
    findings.add(part(gathered, "means", &held.means, &of_means));
    let of_spreads = limits(GroupChart::spread_limits);
    let what = spreads(held.groups().spread);
    findings.add(part(gathered, what, &held.spreads, &of_spreads));
}

/// Limits and signals of the means, or of the spreads.
fn part(gathered: &Gathered, what: &str, judged: &JudgedPoints, limits: &str) -> Section {
    let mut sentences = vec![format!("{}.", capital(limits))];
    sentences.extend(told(gathered, judged));
    Section::said(&format!("{} of the groups", capital(what)), sentences)
}

/// Signals in words, with the name of the group where it is not its number.
fn told(gathered: &Gathered, judged: &JudgedPoints) -> Vec<String> {
    patterns_of(&judged.signals, &judged.series, |pattern: &Explanation| {
        let group = gathered.groups.get(pattern.last.saturating_sub(1));
        let name = group.map_or("", |group| group.name.as_str());
        match name.is_empty() || name == pattern.last.to_string() {
            true => pattern.sentence(),
            false => format!("Group {name}: {}", pattern.sentence()),
        }
    })
}

fn cautions(question: &Question, gathered: &Gathered, held: &Held<'_>) -> Vec<String> {
    let mut cautions = Vec::new();
    if held.looks_like_repeats() {
        let why = match question.are_pieces {
            true => {
                "So many means lie beyond their limits that pieces differ far more from group to group than within \
                 one: chart them piece by piece."
            }
            false => {
                "So many means lie beyond their limits that the groups are probably repeat readings of single \
                 pieces, whose spread is the gauge's; then ask by piece, not by group."
            }
        };
        cautions.push(why.to_owned());
    }
    let unsteady = |signals: &Signals| !signals.hits.is_empty();
    if held.spreads.signals.iter().any(unsteady) {
        cautions.push(format!(
            "The {} are not steady, and the limits of the means come from them; look at those first.",
            spreads(held.groups().spread)
        ));
    }
    cautions.extend(held.early_caution());
    if let Some(first) = gathered.scattered.first() {
        cautions.push(format!(
            "The pieces of {} groups do not follow one another, first those of {first}; they were put together all \
             the same.",
            gathered.scattered.len()
        ));
    }
    cautions
}
