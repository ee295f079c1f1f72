//! Charts of groups in phases and with frozen limits.
//!
//! Readings by construction, expected figures by hand: a mean range of 4 over d2 of two readings, 2/√π.
//! Published limits in phases: `core/tests/published/stats/control_charts.rs`.

use overwire_core::stats::Undefined;
use overwire_core::stats::groups::GroupSpread;
use overwire_core::stats::phases::{Freezing, JudgedPoints, PhasedGroups};
use overwire_core::stats::run_rules::{Rule, RunRules};
use overwire_core::units::Unit;

use crate::close;

const NONE: [usize; 0] = [];

/// Pairs that lie 4 apart about their means.
fn pairs(means: &[f64]) -> Vec<Vec<f64>> {
    means
        .iter()
        .map(|mean| vec![mean - 2.0, mean + 2.0])
        .collect()
}

fn phased(means: &[f64], starts: &[(usize, &str)], freeze_after: Option<usize>) -> PhasedGroups {
    PhasedGroups::of(&pairs(means), GroupSpread::Range, starts, freeze_after).expect("groups")
}

/// The indices that stand out, phase by phase.
fn hits(judged: &JudgedPoints) -> Vec<Vec<usize>> {
    let of =
        |hits: &[overwire_core::stats::run_rules::Hit]| hits.iter().map(|hit| hit.index).collect();
    judged
        .signals
        .iter()
        .map(|signals| of(&signals.hits))
        .collect()
}

fn means_out(phased: &PhasedGroups) -> Vec<Vec<usize>> {
    hits(&phased.means(RunRules::usual()).expect("limits"))
}

/// Means at 0 and at 100: sigma 4 × √π / 2 = 3.5449, limits 3 × 3.5449 / √2 = 7.5199 about each level.
#[test]
fn each_phase_has_limits_from_its_own_groups() {
    let means = [1.0, -1.0, 0.0, 100.0, 101.0, 99.0];
    let parted = phased(&means, &[(3, "new bar")], None);
    let limits = |group: usize| {
        let chart = parted.chart_of(group).expect("limits");
        chart.mean_limits(2).expect("limits")
    };
    close(limits(0).upper.expect("a limit"), 7.519_884_823_893_001);
    close(limits(5).lower.expect("a limit"), 92.480_115_176_107);
    close(
        parted.chart_of(5).expect("limits").sigma.sigma,
        3.544_907_701_811_032,
    );
    assert_eq!(means_out(&parted), [NONE, NONE]);
    assert_eq!(
        means_out(&phased(&means, &[], None)),
        [vec![0, 1, 2, 3, 4, 5]]
    );
    assert!(matches!(
        parted.chart_of(6),
        Err(Undefined::TooFew {
            needed: 7,
            found: 6,
            ..
        })
    ));
}

#[test]
fn frozen_limits_judge_later_groups_and_do_not_follow_them() {
    let means = [1.0, -1.0, 0.0, 0.0, 9.0, 0.0];
    let frozen = phased(&means, &[], Some(4));
    assert!(frozen.parts[0].is_frozen());
    assert_eq!(frozen.chart_of(5).expect("limits").groups, 4);
    assert_eq!(means_out(&frozen), [vec![4]]);
    // A wide group is one of the ranges, not of the means: D4 × 4 = 13.07.
    let mut listed = pairs(&means[..4]);
    listed.push(vec![-7.0, 7.0]);
    let frozen = PhasedGroups::of(&listed, GroupSpread::Range, &[], Some(4)).expect("groups");
    let spreads = frozen.spreads(RunRules::usual()).expect("limits");
    assert_eq!(
        (means_out(&frozen), hits(&spreads)),
        (vec![NONE.to_vec()], vec![vec![4]])
    );
    // More than a phase has.
    let few = phased(&means, &[(4, "wires")], Some(3));
    assert!(matches!(
        few.parts[1].chart,
        Err(Undefined::TooFew {
            needed: 3,
            found: 2,
            ..
        })
    ));
    assert_eq!(
        hits(&few.means(RunRules::usual()).expect("limits")).len(),
        1
    );
}

/// Five above the centre before and five behind are no run of nine, whether a phase or the freezing is between.
#[test]
fn no_run_of_groups_reaches_into_the_next_phase_or_across_the_freezing() {
    let level = [1.0; 5];
    let first = [&[-1.0; 5][..], &level[..]].concat();
    let means = [&first[..], &level[..], &[-1.0; 5][..]].concat();
    let runs = RunRules::usual();
    let nine = |phased: &PhasedGroups| -> usize {
        let judged = phased.means(runs).expect("limits");
        judged
            .signals
            .iter()
            .map(|signals| signals.count(Rule::SameSide))
            .sum()
    };
    assert_eq!(nine(&phased(&means, &[], None)), 2);
    assert_eq!(nine(&phased(&means, &[(10, "tool")], None)), 0);
    assert_eq!(nine(&phased(&means[..15], &[], Some(10))), 0);
}

/// A group of three among the pairs: points are counted in sigma of their own phase, a group of one has no range,
/// and a phase without limits leaves the others their places.
#[test]
fn groups_of_different_sizes_are_counted_in_sigma_of_their_phase() {
    let mut listed = pairs(&[0.0, 0.0]);
    listed.push(vec![5.0]);
    listed.push(vec![50.0]);
    listed.extend(pairs(&[100.0, 100.0, 109.0, 100.0]));
    listed.push(vec![97.0, 100.0, 103.0]);
    let starts = [(3, "one piece"), (4, "another level")];
    let phased = PhasedGroups::of(&listed, GroupSpread::PooledDeviation, &starts, None);
    let phased = phased.expect("groups");
    assert!(phased.parts[1].chart.is_err());
    let means = phased.means(RunRules::usual()).expect("limits");
    let chart = phased.chart_of(6).expect("limits");
    let standing = means.series.readings();
    close(
        standing[6],
        (109.0 - chart.centre) * 2.0_f64.sqrt() / chart.sigma.sigma,
    );
    close(
        standing[8],
        (100.0 - chart.centre) * 3.0_f64.sqrt() / chart.sigma.sigma,
    );
    assert_eq!((standing.len(), means.signals.len()), (9, 2));
    let spreads = phased.spreads(RunRules::usual()).expect("limits");
    // Pairs of the last phase: the fourth to the seventh of the spreads stand at one level, the trio above or below.
    assert_eq!(spreads.series.readings().len(), 7);
    assert_eq!(spreads.series.place(2), 5);
    close(spreads.series.readings()[2], spreads.series.readings()[5]);
    assert!(phased.phases(|_| Freezing::default()).at(8).is_none());
}

#[test]
fn what_limits_of_a_phase_stand_on_is_told() {
    let phased = phased(
        &[1.0, -1.0, 0.0, 100.0, 101.0, 99.0],
        &[(3, "bar")],
        Some(2),
    );
    let phases = phased.phases(|part| Freezing {
        first_reading: format!("group {}", part.range.start + 1),
        last_reading: format!("group {}", part.limits_to),
        ..Freezing::default()
    });
    let second = phases.at(4).expect("limits");
    let words = second.words(Unit::Millimetre, 3);
    assert!(
        words[0].starts_with("Limits from group 4 to group 5, 2 points, provisional"),
        "{words:?}"
    );
    close(second.limits.centre, 100.5);
}
