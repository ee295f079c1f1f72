//! Conformance probabilities and the guard bands that go with them.

use overwire_core::acceptance::{Acceptance, DecisionRule, Guard, conformance_probability};
use overwire_core::thread::Limits;
use overwire_core::uncertainty::{Coverage, Uncertainty};

use crate::{Row, check, mm, rows};

fn probability(row: &Row) -> f64 {
    if row.has("distance_inside_limit_in_u") {
        let limits = Limits::checked(mm(10.0), mm(20.0)).expect("limits");
        let result = mm(20.0 - row.number("distance_inside_limit_in_u") * 0.01);
        return conformance_probability(result, &limits, mm(0.01));
    }
    // The limits are counted from nothing; a diameter is not.
    let size = |name: &str| mm(1.0 + row.number(name));
    let limits = Limits::checked(size("lower"), size("upper")).expect("limits");
    conformance_probability(size("measured"), &limits, mm(row.number("u")))
}

#[test]
fn conformance_probabilities() {
    let table = rows(include_str!("acceptance.csv"));
    check(&table, 2, probability, |row| row.differs_by);
}

/// The guard of ISO 14253-1 and that for a risk of 5 % are one and the same but for rounding;
/// source: ISO 14253-1 and JCGM 106, from memory.
#[test]
fn a_risk_of_five_per_cent_is_the_default_guard() {
    let limits = Limits::checked(mm(10.0), mm(10.1)).expect("limits");
    let known = Uncertainty::stated(mm(0.002), Coverage::Factor(2.0)).expect("an uncertainty");
    let upper = |rule| {
        let acceptance = Acceptance::new(limits, rule, Some(known)).expect("a rule");
        acceptance.acceptance_limits().expect("a zone").upper
    };
    let by_risk = DecisionRule::guarded(Guard::ConsumersRisk(0.05), Guard::None).expect("a rule");
    assert!((upper(by_risk).mm() - (10.1 - 1.644_854 * 0.002)).abs() < 1e-8);
    assert!((upper(DecisionRule::iso_14253()).mm() - (10.1 - 1.65 * 0.002)).abs() < 1e-12);
}
