//! The risks of a rule over all threads of a process.

use overwire_core::acceptance::{
    Acceptance, DecisionRule, Guard, Process, RiskError, Risks, two_percent_guard,
};
use overwire_core::stats::distribution::normal_probability;
use overwire_core::thread::Limits;
use overwire_core::uncertainty::{Coverage, Uncertainty};
use proptest::prelude::*;

use crate::mm;

fn acceptance(rule: DecisionRule, standard: f64) -> Acceptance {
    let limits = Limits::checked(mm(9.9), mm(10.1)).expect("limits");
    let known = Uncertainty::stated(mm(standard), Coverage::Factor(2.0)).expect("an uncertainty");
    Acceptance::new(limits, rule, Some(known)).expect("a rule")
}

fn process(mean: f64, spread: f64) -> Process {
    Process {
        mean: mm(mean),
        standard_deviation: mm(spread),
    }
}

#[test]
fn risks_need_an_uncertainty_and_a_spread() {
    let limits = Limits::checked(mm(9.9), mm(10.1)).expect("limits");
    let bare = Acceptance::new(limits, DecisionRule::Simple, None).expect("a rule");
    let risks = bare.global_risks(&process(10.0, 0.05));
    assert_eq!(risks, Err(RiskError::UncertaintyMissing));
    let none = acceptance(DecisionRule::Simple, 0.01).global_risks(&process(10.0, 0.0));
    assert_eq!(none.unwrap_err().code(), "process-spread");
}

/// Without uncertainty only the guard rejects good threads, and nothing bad passes.
#[test]
fn a_perfect_measurement_errs_by_its_guard_alone() {
    let risks = acceptance(DecisionRule::Simple, 0.0).global_risks(&process(10.0, 0.05));
    let risks = risks.expect("risks");
    assert!(risks.consumer.abs() < 1e-12 && risks.producer.abs() < 1e-12);
}

/// Guard bands that leave nothing: no thread passes, so all good ones are refused.
#[test]
fn where_nothing_passes_the_producer_bears_it_all() {
    let rule = DecisionRule::guarded(Guard::StandardTimes(3.0), Guard::None).expect("a rule");
    let nothing = acceptance(rule, 0.05);
    assert_eq!(nothing.left_to_accept(mm(10.0)), None);
    let risks = nothing.global_risks(&process(10.0, 0.05)).expect("risks");
    assert!(risks.consumer.abs() < 1e-300);
    assert!((risks.producer - (2.0 * normal_probability(2.0) - 1.0)).abs() < 1e-14);
}

#[test]
fn the_two_per_cent_guard_ends() {
    assert_eq!(two_percent_guard(0.0), None);
    assert_eq!(two_percent_guard(f64::NAN), None);
    // None is left at 4.6 to 1; NCSL practice, from memory.
    assert!(two_percent_guard(4.5).is_some_and(|factor| factor > 0.0));
    assert!(two_percent_guard(4.7).is_some_and(|factor| factor.abs() < 1e-300));
}

/// What passes is what is good, less the good refused, plus the bad passed; and what passes is known from the spread of
/// the results alone. Gives by how much the two differ, and the risks.
fn imbalance(
    (mean, spread): (f64, f64),
    standard: f64,
    rule: DecisionRule,
) -> Option<(f64, Risks)> {
    let acceptance = acceptance(rule, standard);
    let bounds = acceptance.acceptance_limits()?;
    let risks = acceptance
        .global_risks(&process(mean, spread))
        .expect("risks");
    let share = |lower: f64, upper: f64, deviation: f64| {
        normal_probability((upper - mean) / deviation)
            - normal_probability((lower - mean) / deviation)
    };
    let passing = share(bounds.lower.mm(), bounds.upper.mm(), spread.hypot(standard));
    let good = share(9.9, 10.1, spread);
    Some((passing - (good - risks.producer + risks.consumer), risks))
}

/// A narrow process fifty standard deviations out, measured with forty times its spread.
#[test]
fn the_books_balance_far_out() {
    for mean in [9.85, 10.15, 9.8999] {
        let (off, risks) = imbalance(
            (mean, 0.001),
            0.041_644_572_669_237_55,
            DecisionRule::Simple,
        )
        .expect("a zone");
        assert!(off.abs() < 1e-12, "{mean}: {off} {risks:?}");
    }
}

proptest! {
    #[test]
    fn the_books_balance(
        mean in 9.85..10.15_f64, spread in 0.001..0.1_f64, standard in 0.0005..0.05_f64,
        guard in 0.0..2.0_f64,
    ) {
        let rule = match guard > 0.01 {
            true => DecisionRule::guarded(Guard::StandardTimes(guard), Guard::None).expect("a rule"),
            false => DecisionRule::Simple,
        };
        let found = imbalance((mean, spread), standard, rule);
        prop_assume!(found.is_some());
        let (off, risks) = found.expect("a zone");
        prop_assert!(off.abs() < 1e-10, "{off} {risks:?}");
        prop_assert!(risks.consumer >= 0.0 && risks.producer >= 0.0);
    }
}
