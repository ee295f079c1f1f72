//! Whether a chart lets its readings count as one process.

use crate::stats::distribution::{normal_quantile, student_beyond};
use crate::stats::run_rules::{Rule, RunRules, Signals};

/// How often a steady chart may be called one that is not at most, all rules together; because numbers of hits are
/// whole it comes less often on short charts, and because sigma is that of the readings a little more often on long ones. Our own figure.
const FALSE_ALARM: f64 = 0.06;

/// Of more runs by chance than this the bound comes from a normal distribution.
const MANY_RUNS: f64 = 300.0;

/// Degrees of freedom that a mean moving range gives for each point; common practice, no source (for many
/// points 1/1.65: the mean moving range has 0.826/n times the variance of its square, from memory).
const FREEDOM_OF_A_POINT: f64 = 0.6;

/// What the chart says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steadiness {
    /// No signals, or no more than chance gives on a chart of that length.
    Steady {
        /// How many points complete a pattern.
        hits: usize,
    },
    /// More signals than chance gives, or a point too far out for chance.
    NotSteady {
        /// How many points complete a pattern.
        hits: usize,
    },
    /// Nobody looked.
    Unknown,
}

impl Steadiness {
    /// What the signals of a chart of readings or means amount to. Not for charts of ranges, which are not
    /// normal and have more points beyond their upper limit by chance.
    ///
    /// A steady chart of any length has signals now and then: as many as the average run lengths of its rules
    /// say ([`RunRules::hits_by_chance`]). Steady is a chart that has no more of any rule than steady ones have
    /// in all but a few of a hundred cases, and no point further out than they have.
    pub fn of(signals: &Signals) -> Steadiness {
        Steadiness::of_all([signals])
    }

    /// The same of the phases of a chart together. Nobody looked where there is none.
    pub fn of_all<'a>(phases: impl IntoIterator<Item = &'a Signals>) -> Steadiness {
        let phases: Vec<&Signals> = phases.into_iter().collect();
        let Some(first) = phases.first() else {
            return Steadiness::Unknown;
        };
        let hits = phases.iter().map(|signals| signals.hits.len()).sum();
        let points: f64 = phases.iter().map(|signals| signals.points()).sum();
        let level = FALSE_ALARM / first.rules.on().iter().count().max(1) as f64;
        let by_chance = |rule: Rule| {
            let expected = points * first.rules.hits_by_chance(rule);
            let found: usize = phases.iter().map(|signals| signals.count(rule)).sum();
            found as f64 <= most_by_chance(expected, goes_on(rule, &first.rules), level)
        };
        let not_too_far = |signals: &&Signals| {
            let freedom = (FREEDOM_OF_A_POINT * signals.points()).max(1.0);
            let beyond = student_beyond(signals.farthest, freedom).unwrap_or_default();
            2.0 * points * beyond >= level
        };
        let steady =
            hits == 0 || first.rules.on().iter().all(by_chance) && phases.iter().all(not_too_far);
        match steady {
            true => Steadiness::Steady { hits },
            false => Steadiness::NotSteady { hits },
        }
    }
}

/// How probably the point after one that completes a pattern of a rule completes it too: signals come in runs.
/// Two of three and four of five go on with 0.02 and 0.16 (two million normal numbers with numpy); more here,
/// because their patterns also come back after a point that completes none.
fn goes_on(rule: Rule, rules: &RunRules) -> f64 {
    match rule {
        Rule::BeyondLimit => 0.0,
        Rule::SameSide => 0.5,
        Rule::Trend => 1.0 / (f64::from(rules.length(rule)) + 1.0),
        // Of long orders that go up and down in turn a share of 2/π goes on to do so.
        Rule::Alternating => std::f64::consts::FRAC_2_PI,
        Rule::TwoOfThree => 0.1,
        Rule::FourOfFive => 0.35,
        Rule::NearCentre => 0.683,
        Rule::AwayFromCentre => 0.317,
    }
}

/// The number of hits that chance exceeds with a probability of `level` at most: runs of hits come about by
/// chance, and each goes on with a probability of its own (Pólya and Aeppli's distribution; its recursion from
/// Johnson, Kotz & Kemp, Univariate discrete distributions, from memory).
fn most_by_chance(expected: f64, goes_on: f64, level: f64) -> f64 {
    let runs = expected * (1.0 - goes_on);
    if runs > MANY_RUNS {
        let deviate = normal_quantile(1.0 - level).unwrap_or_default();
        return expected + deviate * (runs * (1.0 + goes_on)).sqrt() / (1.0 - goes_on);
    }
    let (mut before, mut here, mut most) = (0.0, (-runs).exp(), 0.0);
    let mut within = here;
    while 1.0 - within > level {
        most += 1.0;
        let next = (runs * (1.0 - goes_on) + 2.0 * goes_on * (most - 1.0)) * here
            - goes_on * goes_on * (most - 2.0) * before;
        (before, here) = (here, next / most);
        within += here;
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Poisson: scipy.stats.poisson.ppf(1 - level, expected), scipy 1.17.1. In runs: a million sums of Poisson many
    /// geometric numbers with numpy 2.4.6, which exceed the bound less often than the level and one below it more often.
    #[test]
    fn bounds_are_those_of_their_distribution() {
        for (expected, level, most) in [
            (0.162, 0.025, 1.0),
            (2.7, 0.025, 6.0),
            (27.0, 0.025, 38.0),
            (0.01, 0.025, 0.0),
        ] {
            assert_eq!(most_by_chance(expected, 0.0, level), most, "{expected}");
        }
        for (expected, goes_on, most) in RUNS {
            assert_eq!(most_by_chance(expected, goes_on, 0.025), most, "{expected}");
        }
        let step = most_by_chance(299.9, 0.0, 0.025) - most_by_chance(300.1, 0.0, 0.025);
        assert!(step.abs() <= 2.0, "both ways meet: {step}");
    }

    /// Expected hits, how probably they go on, and the bound.
    const RUNS: [(f64, f64, f64); 3] = [(0.234, 0.5, 3.0), (3.9, 0.5, 12.0), (40.0, 0.683, 72.0)];
}
