//! Wear: a line through the pieces and where it leads; and whether the pieces scatter as a normal distribution does.

use overwire_core::decimal::format_to;
use overwire_core::stats::normality::AndersonDarling;
use overwire_core::stats::step::Step;
use overwire_core::stats::trend::{FIRM_PIECES, Forecast, Trend};
use overwire_core::stats::{Moments, Readings};
use overwire_core::uncertainty::normal_quantile;

use super::limits_kept::tolerance;
use super::process::Charted;
use super::{Findings, Section, Shown};
use crate::chart;

/// Pieces from which wear is looked for.
const WEAR_FROM: usize = FIRM_PIECES;
/// A slope that chance gives less often is one.
const SIGNIFICANCE: f64 = 0.05;

/// Does it drift, and when does the drift meet a limit? Only the counted pieces from an index on are asked; they keep
/// their places on the chart.
pub(super) fn wear(findings: &mut Findings, charted: &Charted<'_>, from: usize, shown: &Shown) {
    let since = match from {
        0 => charted.series.clone(),
        from => charted.series.with_fresh_starts([(from, "another phase")]),
    };
    if since.readings().len() < from + WEAR_FROM {
        return;
    }
    let title = "Does it drift with wear?";
    let trend = match Trend::since_fresh_start(&since) {
        Ok(trend) => trend,
        Err(reason) => return findings.add(Section::undefined(title, &reason)),
    };
    findings.settings.push(trend.settings_words());
    let proven = trend
        .slope_chance()
        .is_ok_and(|chance| chance < SIGNIFICANCE);
    if let (true, Some(step)) = (proven, trend.clear_step()) {
        let place = trend.residuals.place(step.at);
        let stepped = stepped(step, &charted.order.piece_at(place), shown);
        return findings.add(Section::said(title, vec![stepped]));
    }
    let mut sentences = vec![trend.sentence(shown.unit, shown.places)];
    let (lower, upper) = charted.question.limits.unwrap_or_default();
    let forecast = match proven {
        true => trend.forecast_within(lower, upper).ok(),
        false => None,
    };
    let told = forecast.as_ref().map(|forecast| {
        let last = charted.series.places() as f64;
        [forecast.left_sentence(last), forecast.sentence()].map(|told| named(told, charted))
    });
    sentences.extend(told.iter().flatten().cloned());
    let mut section = Section::said(title, sentences);
    if proven {
        section.cautions = trend.cautions(charted.order.noun());
    }
    findings.add(section);
    if proven {
        let left = told.map(|[left, _]| left);
        draw(findings, (charted, from), &trend, (forecast, left), shown);
    }
}

/// What is said in place of a drift where pieces stepped from one level to another.
fn stepped(step: &Step, piece: &str, shown: &Shown) -> String {
    let way = if step.rise > 0.0 { "higher" } else { "lower" };
    format!(
        "No steady drift: a step fits clearly better than a line. From {piece} on the pieces lie {} {} {way}. Was a \
         tool changed, or an offset set? There is no forecast; begin a phase there to tell the two levels apart.",
        shown.fine(step.rise.abs()),
        shown.unit
    )
}

/// Where points of the chart are not numbered as the pieces are, a forecast is of points.
fn named(told: String, charted: &Charted<'_>) -> String {
    match charted.order.noun() {
        "piece" => told,
        noun => told.replace("piece", noun),
    }
}

/// A forecast is drawn at most so many times as far ahead as there are pieces.
const FARTHEST: f64 = 2.0;
/// Points of the interval ahead.
const AHEAD: usize = 24;

fn draw(
    findings: &mut Findings,
    (charted, from): (&Charted<'_>, usize),
    trend: &Trend,
    (forecast, left): (Option<Forecast>, Option<String>),
    shown: &Shown,
) {
    let (question, series) = (charted.question, &charted.series);
    let last = series.places() as f64;
    let place = |index: usize| series.place(index) as f64;
    let points = series.readings().iter().enumerate().skip(from);
    let points: Vec<(f64, f64)> = points
        .map(|(at, mm)| (place(at), shown.value(*mm)))
        .collect();
    let ahead = forecast
        .as_ref()
        .filter(|forecast| forecast.piece < FARTHEST * last)
        .map(|forecast| {
            let end = forecast
                .latest
                .unwrap_or(forecast.piece)
                .min(FARTHEST * last);
            let at = |step: usize| last + (end.max(last + 1.0) - last) * step as f64 / AHEAD as f64;
            let interval = (0..=AHEAD).filter_map(|step| {
                let held = trend.expected_at(at(step), forecast.confidence).ok()?;
                Some((at(step), shown.value(held.low), shown.value(held.high)))
            });
            chart::Forecast {
                interval: interval.collect(),
                // Whole pieces, as the sentence says them.
                crossing: Some(chart::Crossing {
                    at: forecast.piece.round(),
                    earliest: forecast.earliest.map(f64::floor),
                    latest: forecast.latest.map(f64::ceil),
                    limit: format!("limit {}", shown.fine(forecast.limit)),
                }),
            }
        });
    let mut heading = findings.heading();
    heading.notes.splice(0..0, left);
    let data = chart::Trend {
        heading,
        quantity: shown.quantity(&question.quantity),
        along: chart::Quantity {
            name: charted.order.noun().to_owned(),
            unit: String::new(),
            places: 0,
            step_in_last_place: 1,
        },
        segments: vec![chart::TrendSegment {
            from: points.first().map_or(1.0, |point| point.0),
            to: last,
            intercept: shown.value(trend.line.at(0.0)),
            slope: shown.value(trend.line.slope),
            half_width: shown.value(trend.width * trend.sigma.sigma),
        }],
        points,
        forecast: ahead,
        tolerance: tolerance(question, shown),
        basis: format!("sloped limits: line ± {} s", format_to(trend.width, 0)),
    };
    findings.draw("trend", chart::trend(&data, &shown.format));
}

/// Whether the pieces scatter as a normal distribution; gives the probability that chance alone does this.
pub(super) fn normality(
    findings: &mut Findings,
    charted: &Charted<'_>,
    shown: &Shown,
) -> Option<f64> {
    let series = &charted.series;
    let readings = Readings::of_numbers(series.readings()).ok()?;
    let title = "Do the pieces scatter normally?";
    let found = match charted.question.step_of_a_mean() {
        Some(step) => AndersonDarling::of_rounded(&readings, step),
        None => AndersonDarling::of(&readings),
    };
    let found = match found {
        Ok(found) => found,
        Err(reason) => {
            findings.add(Section::undefined(title, &reason));
            return None;
        }
    };
    let likely = if found.chance < SIGNIFICANCE {
        "no: chance alone would hardly do this"
    } else {
        "nothing speaks against it"
    };
    let mut section = Section::said(
        title,
        vec![format!(
            "{} pieces, A\u{b2}* = {}, probability {}: {likely}.",
            found.count,
            format_to(found.adjusted, 3),
            found.chance_words()
        )],
    );
    let cautions = found.cautions();
    section.cautions = cautions
        .iter()
        .map(|caution| caution.sentence().to_owned())
        .collect();
    findings.add(section);
    findings.settings.push(found.settings_words().to_owned());
    draw_normal(findings, charted, shown);
    Some(found.chance)
}

fn draw_normal(findings: &mut Findings, charted: &Charted<'_>, shown: &Shown) {
    let (question, series) = (charted.question, &charted.series);
    let mut values: Vec<f64> = series
        .readings()
        .iter()
        .map(|mm| shown.value(*mm))
        .collect();
    values.sort_by(f64::total_cmp);
    let count = values.len() as f64;
    // Blom's positions.
    let score = |rank: usize| normal_quantile((rank as f64 + 0.625) / (count + 0.25));
    let points = values.iter().enumerate();
    let moments = Readings::of_numbers(&values)
        .and_then(|readings| Moments::of(&readings))
        .ok();
    let data = chart::NormalPlot {
        heading: findings.heading(),
        quantity: shown.quantity(&question.quantity),
        noun: "piece".to_owned(),
        points: points
            .filter_map(|(rank, value)| Some((*value, score(rank)?)))
            .collect(),
        positions: "(i - 0.375) / (n + 0.25)".to_owned(),
        summary: chart::Summary {
            mean: moments.as_ref().map(|moments| moments.mean),
            standard_deviation: moments.and_then(|moments| moments.standard_deviation().ok()),
        },
        tolerance: tolerance(question, shown),
    };
    findings.draw("normal", chart::normal_plot(&data, &shown.format));
}
