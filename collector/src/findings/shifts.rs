//! Small lasting shifts, which single points do not show: a weighted average and cumulative sums.

use overwire_core::stats::Undefined;
use overwire_core::stats::cusum::{Cusum, CusumPoint, CusumSettings};
use overwire_core::stats::ewma::{Ewma, EwmaPoint, EwmaSettings};
use overwire_core::stats::individuals::Individuals;
use overwire_core::stats::run_rules::Side;
use overwire_core::stats::series::Series;

use super::phasing::chance_words;
use super::process::{Charted, Question};
use super::{Findings, Section, Shown};
use crate::chart;

/// Limits of the average that differ by less than this share are drawn as one.
const SETTLED: f64 = 0.002;

/// How small shifts are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Watch {
    /// The weighted average.
    pub average: EwmaSettings,
    /// The cumulative sums.
    pub sums: CusumSettings,
    /// What both are held against.
    pub target: Target,
}

/// What pieces should not shift from.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Target {
    /// The centre line of the chart.
    #[default]
    Centre,
    /// The middle of the limits of a piece.
    Middle,
    /// A size, mm.
    At(f64),
}

impl Target {
    /// In mm.
    fn of(self, chart: &Individuals, question: &Question) -> Result<f64, Undefined> {
        let ends = question.limits.unwrap_or_default();
        match (self, ends) {
            (Target::Centre, _) => Ok(chart.limits.centre),
            (Target::At(mm), _) => Ok(mm),
            (Target::Middle, (Some(lower), Some(upper))) => Ok(lower + (upper - lower) / 2.0),
            (Target::Middle, (lower, upper)) => Err(Undefined::TooFew {
                of: "limits for a middle",
                needed: 2,
                found: lower.iter().chain(&upper).count(),
            }),
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Target::Centre => "the centre line",
            Target::Middle => "the middle of the limits",
            Target::At(_) => "as it was given",
        }
    }
}

impl Watch {
    /// The settings as they are printed with the chart, and how long it stays silent with them.
    fn settings_words(&self, watched: &Watched, shown: &Shown) -> Vec<String> {
        let (average, sums) = (&self.average, &self.sums);
        vec![
            format!("{} {}", average.settings_words(), average.silence_words()),
            format!("{} {}", sums.settings_words(), sums.silence_words()),
            self.target_words(watched, shown),
        ]
    }

    fn target_words(&self, watched: &Watched, shown: &Shown) -> String {
        format!(
            "Both go by a target of {} {}, {}, and by the sigma of the chart.",
            shown.fine(watched.target),
            shown.unit,
            self.target.words()
        )
    }
}

/// Both averages of a series, point by point.
struct Watched {
    average: Vec<EwmaPoint>,
    sums: Vec<CusumPoint>,
    target: f64,
    /// Above this a sum is a signal, mm.
    decision: f64,
}

impl Watched {
    fn of(charted: &Charted<'_>, chart: &Individuals) -> Result<Watched, Undefined> {
        let (question, series) = (charted.question, &charted.series);
        let Watch {
            average,
            sums,
            target,
        } = question.watch;
        let (target, sigma) = (target.of(chart, question)?, chart.sigma.sigma);
        Ok(Watched {
            average: Ewma::new(target, sigma, average)?.points(series),
            sums: Cusum::new(target, sigma, sums)?.points(series),
            target,
            decision: sums.decision * sigma,
        })
    }
}

/// Whether the pieces have shifted a little from their target.
pub(super) fn shifts(
    findings: &mut Findings,
    charted: &Charted<'_>,
    chart: &Individuals,
    shown: &Shown,
) {
    let title = "Has it shifted a little?";
    let watched = match Watched::of(charted, chart) {
        Ok(watched) => watched,
        Err(reason) => return findings.add(Section::undefined(title, &reason)),
    };
    let watch = &charted.question.watch;
    let average = Told {
        what: "weighted average",
        line: "its limits",
        every: watch.average.points_to_signal(0.0),
        beyond: watched.average.iter().map(|point| point.signal).collect(),
    };
    let sums = Told {
        what: "cumulative sum",
        line: "its limit",
        every: watch.sums.points_to_signal(0.0),
        beyond: watched
            .sums
            .iter()
            .map(|point| point.signal.is_some())
            .collect(),
    };
    let mut sentences = vec![average.sentence(charted), sums.sentence(charted)];
    sentences.extend(latest_sum(charted, &watched, shown));
    if watch.target != Target::Centre {
        sentences.push(watch.target_words(&watched, shown));
    }
    findings.add(Section::said(title, sentences));
    let settings = watch.settings_words(&watched, shown);
    findings.settings.extend(settings);
    let signals = (average.signals(charted), sums.signals(charted));
    draw(findings, charted, &watched, signals, shown);
}

/// What one of both charts says.
struct Told {
    what: &'static str,
    line: &'static str,
    /// After how many points it gives a signal by chance, on average.
    every: Option<f64>,
    /// Point by point, whether it is beyond its limits.
    beyond: Vec<bool>,
}

impl Told {
    /// The points in a row that are beyond, each from its first to its last index.
    fn runs(&self) -> Vec<(usize, usize)> {
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for (index, _) in self
            .beyond
            .iter()
            .enumerate()
            .filter(|(_, beyond)| **beyond)
        {
            match runs.last_mut() {
                Some((_, last)) if *last + 1 == index => *last = index,
                _ => runs.push((index, index)),
            }
        }
        runs
    }

    /// How it stands at the last point, how often it was beyond its limits, and how often chance alone is.
    fn sentence(&self, charted: &Charted<'_>) -> String {
        let Told { what, line, .. } = self;
        let (runs, points) = (self.runs(), self.beyond.len());
        let Some(&(first, last)) = runs.last() else {
            return format!("The {what} stays within {line}.");
        };
        let stands = match last + 1 == points {
            true => format!("The {what} is beyond {line} at the last point, since"),
            false => {
                format!("The {what} is within {line} at the last point; it was beyond last at")
            }
        };
        let [from, to] = [first, last].map(|index| charted.series.place(index));
        let named = charted.order.named(from, to);
        let at = match from == to {
            true => format!("point {from}{named}"),
            false if last + 1 == points => {
                format!("point {from}{}", charted.order.named(from, from))
            }
            false => format!("points {from} to {to}{named}"),
        };
        let times = match runs.len() {
            1 => "Once it went beyond".to_owned(),
            times => format!("It went beyond {times} times"),
        };
        let chance = self.every.map_or_else(String::new, |every| {
            let chance = chance_words(points as f64 / every);
            format!("; on a steady chart of {points} points {chance}")
        });
        format!("{stands} {at}. {times}{chance}.")
    }

    /// Every point beyond, for a picture.
    fn signals(&self, charted: &Charted<'_>) -> Vec<chart::Signal> {
        let beyond = self
            .beyond
            .iter()
            .enumerate()
            .filter(|(_, beyond)| **beyond);
        let signals = beyond.map(|(index, _)| {
            let place = charted.series.place(index);
            chart::Signal {
                index: place.saturating_sub(1),
                rule: "1".to_owned(),
                meaning: format!("where the {} is beyond {}", self.what, self.line),
                words: format!(
                    "The {} is beyond {} at point {place}{}.",
                    self.what,
                    self.line,
                    charted.order.named(place, place)
                ),
            }
        });
        signals.collect()
    }
}

/// What the sums say of the mean, where one is beyond its limit at the last point.
fn latest_sum(charted: &Charted<'_>, watched: &Watched, shown: &Shown) -> Option<String> {
    let index = watched.sums.len().checked_sub(1)?;
    let point = watched.sums.get(index)?;
    point.sentence(charted.series.place(index), shown.unit, shown.places)
}

/// One value for each place of the chart.
fn placed(series: &Series, values: impl Iterator<Item = f64>, shown: &Shown) -> Vec<Option<f64>> {
    let mut places = vec![None; series.places()];
    for (index, value) in values.enumerate() {
        if let Some(place) = places.get_mut(series.place(index).saturating_sub(1)) {
            *place = Some(shown.value(value));
        }
    }
    places
}

fn draw(
    findings: &mut Findings,
    charted: &Charted<'_>,
    watched: &Watched,
    (average, sums_beyond): (Vec<chart::Signal>, Vec<chart::Signal>),
    shown: &Shown,
) {
    let series = &charted.series;
    let averages = watched.average.iter().map(|point| point.average);
    let sums = watched.sums.iter().map(larger);
    let data = chart::ControlChart {
        heading: findings.heading(),
        quantity: shown.quantity(&charted.question.quantity),
        noun: charted.order.noun().to_owned(),
        upper: chart::ControlPanel {
            kind: chart::PanelKind::WeightedAverages,
            values: placed(series, averages, shown),
            exclusions: Vec::new(),
            limits: limits(series, watched, shown),
            signals: average,
        },
        lower: chart::ControlPanel {
            kind: chart::PanelKind::CumulativeSums,
            values: placed(series, sums, shown),
            exclusions: Vec::new(),
            limits: vec![chart::ControlLimits {
                from: 0,
                lower: None,
                centre: None,
                upper: Some(shown.value(watched.decision)),
            }],
            signals: sums_beyond,
        },
        marks: Vec::new(),
    };
    findings.draw("shifts", chart::control_chart(&data, &shown.format));
}

fn larger(point: &CusumPoint) -> f64 {
    match point.signal {
        Some(Side::Above) => point.high.sum,
        Some(Side::Below) => point.low.sum,
        None => point.high.sum.max(point.low.sum),
    }
}

/// The limits of the average: they widen from the start until they stand still.
fn limits(series: &Series, watched: &Watched, shown: &Shown) -> Vec<chart::ControlLimits> {
    let mut drawn = Vec::new();
    let mut last: Option<f64> = None;
    for (index, point) in watched.average.iter().enumerate() {
        let reach = point.limits.upper.unwrap_or_default() - watched.target;
        if last.is_some_and(|last| (reach - last).abs() <= SETTLED * last) {
            continue;
        }
        last = Some(reach);
        drawn.push(chart::ControlLimits {
            from: series.place(index).saturating_sub(1),
            lower: point.limits.lower.map(|mm| shown.value(mm)),
            centre: Some(shown.value(watched.target)),
            upper: point.limits.upper.map(|mm| shown.value(mm)),
        });
    }
    drawn
}
