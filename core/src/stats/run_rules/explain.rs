//! What a pattern consists of, looked up backwards from the point that completes it.

use super::{Rule, RunRules, Zones};

/// Above or below the centre line; for a trend, rising or falling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above, or rising.
    Above,
    /// Below, or falling.
    Below,
}

/// A pattern in the open: which points, which side, how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// The rule.
    pub rule: Rule,
    /// The place of its first point on the chart, counted from 1.
    pub first: usize,
    /// The place of the point that completes it.
    pub last: usize,
    /// The side, where the pattern has one.
    pub side: Option<Side>,
    /// How many points belong to it; a run that is longer than it need be counts whole.
    pub count: usize,
    /// The settings it was found with.
    pub rules: RunRules,
}

/// Explains the pattern of `rule` that the last of `known` completes; `known` begins behind the
/// latest gap, and `place` is where its last point stands on the chart.
pub(super) fn explain(
    known: &[f64],
    place: usize,
    rule: Rule,
    rules: RunRules,
    zones: &Zones,
) -> Explanation {
    let latest = known.last().copied().unwrap_or(zones.centre);
    let side = side(rule, known, latest, zones);
    let window = usize::from(rules.length(rule)).min(known.len());
    let (reach, count) = match rule {
        Rule::BeyondLimit => (1, 1),
        Rule::TwoOfThree => members(known, window, |point| beyond(point, latest, zones, 1)),
        Rule::FourOfFive => members(known, window, |point| beyond(point, latest, zones, 0)),
        _ => {
            let length = run_back(known, rule, latest, zones);
            (length, length)
        }
    };
    Explanation {
        rule,
        first: place.saturating_sub(reach - 1),
        last: place,
        side,
        count,
        rules,
    }
}

fn side(rule: Rule, known: &[f64], latest: f64, zones: &Zones) -> Option<Side> {
    let reference = match rule {
        Rule::Trend => known.iter().rev().nth(1).copied()?,
        Rule::Alternating | Rule::NearCentre | Rule::AwayFromCentre => return None,
        _ => zones.centre,
    };
    Some(match latest > reference {
        true => Side::Above,
        false => Side::Below,
    })
}

/// Whether a point is beyond the line `index` on the side where `latest` is.
fn beyond(point: f64, latest: f64, zones: &Zones, index: usize) -> bool {
    match latest > zones.centre {
        true => point > zones.upper[index],
        false => point < zones.lower[index],
    }
}

/// How far back the first member within the window lies, and how many members there are.
fn members(known: &[f64], window: usize, belongs: impl Fn(f64) -> bool) -> (usize, usize) {
    let latest = || known.iter().rev().take(window).enumerate();
    let within = || latest().filter(|&(_, &point)| belongs(point));
    let reach = within().last().map_or(1, |(back, _)| back + 1);
    (reach, within().count())
}

/// How many points the run takes that ends with the last.
fn run_back(known: &[f64], rule: Rule, latest: f64, zones: &Zones) -> usize {
    let back = || known.iter().rev().copied();
    let while_so = |so: &dyn Fn(f64) -> bool| back().take_while(|&point| so(point)).count();
    let steps = || {
        back()
            .zip(back().skip(1))
            .map(|(point, before)| point - before)
    };
    match rule {
        Rule::SameSide => while_so(&|point| match latest > zones.centre {
            true => point > zones.centre,
            false => point < zones.centre,
        }),
        Rule::NearCentre => while_so(&|point| point < zones.upper[0] && point > zones.lower[0]),
        Rule::AwayFromCentre => while_so(&|point| point > zones.upper[0] || point < zones.lower[0]),
        Rule::Trend => {
            let direction = steps().next().unwrap_or(0.0);
            1 + steps().take_while(|step| step * direction > 0.0).count()
        }
        Rule::Alternating => {
            let turns = steps().zip(steps().skip(1));
            2 + turns
                .take_while(|(step, before)| step * before < 0.0)
                .count()
        }
        Rule::BeyondLimit | Rule::TwoOfThree | Rule::FourOfFive => 1,
    }
}
