//! Do the pieces keep their limits?

use overwire_core::judge::NOT_FUNCTIONAL_SIZE;
use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Caution, Evidence, Refused, Steadiness, Tolerance,
};
use overwire_core::stats::limits::Sigma;
use overwire_core::stats::{Moments, Readings, Undefined};

use super::percentiles::percentiles;
use super::pictures::summary;
use super::process::{Charted, Question, Scatter};
use super::{Findings, Section, Shown, Table};
use crate::chart;

/// The limits of the single piece, for a picture.
pub(super) fn tolerance(question: &Question, shown: &Shown) -> Option<chart::Tolerance> {
    let (lower, upper) = question.limits?;
    Some(chart::Tolerance {
        lower: lower.map(|mm| shown.value(mm)),
        upper: upper.map(|mm| shown.value(mm)),
        guard: 0.0,
    })
}

/// What a chart and its readings say before limits are asked about.
pub(super) struct Basis {
    /// The spread from piece to piece.
    pub within: Option<Sigma>,
    /// What the chart says.
    pub steadiness: Steadiness,
    /// How often chance alone would make normal readings look like these.
    pub normality: Option<f64>,
    /// The spread of the gauge.
    pub gauge: Option<f64>,
}

/// Pieces that chance would make look like theirs less often than this do not scatter normally.
const NOT_NORMAL: f64 = 0.05;

/// Does it keep the limits, if there are any?
pub(super) fn capability(
    findings: &mut Findings,
    charted: &Charted<'_>,
    basis: &Basis,
    shown: &Shown,
) -> Result<(), Undefined> {
    let (question, series) = (charted.question, &charted.series);
    let Some((lower, upper)) = question.limits else {
        return Ok(());
    };
    let tolerance = Tolerance::new(lower, upper)?;
    let moments = Moments::of(&Readings::of_numbers(series.readings())?)?;
    let extremes = series
        .readings()
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), mm| {
            (low.min(*mm), high.max(*mm))
        });
    let evidence = Evidence {
        within: basis.within,
        steadiness: basis.steadiness,
        step: question.step_mm,
        normality: basis.normality,
        gauge: basis.gauge,
        ..Evidence::without_chart(moments, extremes)
    };
    let within = |mm: &f64| lower.is_none_or(|l| *mm >= l) && upper.is_none_or(|u| *mm <= u);
    let outside = Outside::of(series.readings(), (lower, upper));
    match series.readings().iter().any(within) {
        true => say_capability(findings, &evidence, (&tolerance, outside), shown),
        false => findings.add(none_inside(moments.count)),
    }
    let not_normal = basis.normality.is_some_and(|chance| chance < NOT_NORMAL);
    let scatter = question.scatter.or(not_normal.then_some(Scatter::AsRead));
    if let Some(scatter) = scatter {
        percentiles(findings, series.readings(), &tolerance, scatter, shown);
    }
    findings.add(figures(&moments, extremes, shown));
    draw_histogram(findings, charted, &moments, shown);
    Ok(())
}

/// The answer on limits.
pub(super) const LIMITS_KEPT: &str = "Does it keep the limits?";

/// What there is to say where no piece keeps the limits.
pub(super) fn none_inside(pieces: usize) -> Section {
    let sentence =
        format!("No: not one of {pieces} lies inside. Is the unit right, and are the limits?");
    Section::said(LIMITS_KEPT, vec![sentence])
}

fn say_capability(
    findings: &mut Findings,
    evidence: &Evidence,
    (tolerance, outside): (&Tolerance, Outside),
    shown: &Shown,
) {
    let settings = CapabilitySettings::default();
    let found = Capability::of(evidence, tolerance, settings);
    say_found(findings, &found, outside, shown);
}

/// How many pieces lie outside their limits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Outside {
    pieces: usize,
    below: usize,
    above: usize,
}

impl Outside {
    /// Of so many pieces, each with its mean, mm; on a limit is inside.
    pub fn of(means: &[f64], (lower, upper): (Option<f64>, Option<f64>)) -> Outside {
        let below = |mm: &&f64| lower.is_some_and(|lower| **mm < lower);
        let above = |mm: &&f64| upper.is_some_and(|upper| **mm > upper);
        Outside {
            pieces: means.len(),
            below: means.iter().filter(below).count(),
            above: means.iter().filter(above).count(),
        }
    }

    /// The same of pieces that all lie inside.
    pub(super) const fn none_of(pieces: usize) -> Outside {
        Outside {
            pieces,
            below: 0,
            above: 0,
        }
    }

    /// How many.
    pub(super) const fn count(self) -> usize {
        self.below + self.above
    }

    /// Of how many pieces.
    pub(super) const fn pieces(self) -> usize {
        self.pieces
    }

    fn sentence(self) -> String {
        let Outside {
            pieces,
            below,
            above,
        } = self;
        let side = match (below, above) {
            (_, 0) => "below".to_owned(),
            (0, _) => "above".to_owned(),
            _ => format!("{below} below, {above} above"),
        };
        match (pieces, self.count()) {
            (1, 0) => "The one piece lies inside the limits.".to_owned(),
            (_, 0) => format!("All {pieces} pieces lie inside the limits."),
            (_, 1) => format!("1 of {pieces} pieces lies outside the limits ({side})."),
            (_, outside) => {
                format!("{outside} of {pieces} pieces lie outside the limits ({side}).")
            }
        }
    }
}

/// What was found of capability, or why it is refused.
pub(super) fn say_found(
    findings: &mut Findings,
    found: &Result<Capability, Box<Refused>>,
    outside: Outside,
    shown: &Shown,
) {
    let first = outside.sentence();
    match found {
        Ok(found) => {
            let mut section = Section::said(LIMITS_KEPT, vec![first, found.sentence()]);
            let indices = found.within.iter().chain([&found.overall]);
            section
                .sentences
                .extend(indices.map(|indices| indices.words()));
            section.cautions = caution_sentences(found, findings.coarse.is_some(), shown);
            findings.add(section);
            findings.settings.push(found.settings_words());
        }
        Err(refused) => findings.add(Section::said(
            LIMITS_KEPT,
            vec![
                first,
                refused.sentence(),
                refused.figures(shown.unit, shown.places),
            ],
        )),
    }
}

/// What to know about an index; that the display is coarse for the spread is told once, with the chart.
fn caution_sentences(found: &Capability, told: bool, shown: &Shown) -> Vec<String> {
    let coarse = |caution: &Caution| {
        matches!(
            caution,
            Caution::StepCoarseForSpread | Caution::StepCoarseForRanges { .. }
        )
    };
    let cautions = found.cautions.iter();
    let cautions = cautions.filter(|caution| !(told && coarse(caution)));
    cautions
        .map(|caution| caution.sentence(shown.unit, shown.places))
        .collect()
}

/// Says beside the answer on limits what wires do not see of a thread.
pub fn mind_function(findings: &mut Findings) {
    let mut sections = findings.sections.iter_mut();
    if let Some(section) = sections.find(|section| section.heading == LIMITS_KEPT) {
        section.cautions.push(NOT_FUNCTIONAL_SIZE.to_owned());
    }
}

/// The plain figures of the pieces.
pub(super) fn figures(moments: &Moments, (least, greatest): (f64, f64), shown: &Shown) -> Section {
    Section {
        heading: "Figures".to_owned(),
        table: Some(Table {
            columns: ["pieces", "mean", "standard deviation", "least", "greatest"]
                .map(str::to_owned)
                .to_vec(),
            rows: vec![vec![
                moments.count.to_string(),
                shown.fine(moments.mean),
                shown.figure(moments.standard_deviation()),
                shown.fine(least),
                shown.fine(greatest),
            ]],
        }),
        ..Section::default()
    }
}

/// A curve is drawn from so many pieces on.
const CURVE_FROM: usize = 30;

fn draw_histogram(
    findings: &mut Findings,
    charted: &Charted<'_>,
    moments: &Moments,
    shown: &Shown,
) {
    let (question, series) = (charted.question, &charted.series);
    let summary = summary(series, shown);
    let curve = summary
        .mean
        .zip(summary.standard_deviation)
        .filter(|_| moments.count >= CURVE_FROM);
    let data = chart::Histogram {
        heading: findings.heading(),
        quantity: shown.quantity(&question.quantity),
        noun: "piece".to_owned(),
        values: series
            .readings()
            .iter()
            .map(|mm| shown.value(*mm))
            .collect(),
        summary,
        tolerance: tolerance(question, shown),
        density: curve.map(|(mean, deviation)| chart::Density::normal(mean, deviation)),
        zoomed: false,
    };
    findings.draw("histogram", chart::histogram(&data, &shown.format));
}
