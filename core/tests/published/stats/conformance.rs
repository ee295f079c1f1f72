//! Conformance: probabilities, guards and risks.

use overwire_core::acceptance::{
    Acceptance, DecisionRule, Guard, Process, capability_ratio, conformance_probability,
    two_percent_guard,
};
use overwire_core::stats::distribution::normal_quantile;
use overwire_core::thread::Limits;
use overwire_core::uncertainty::{Coverage, Uncertainty};
use serde_json::{Value, json};

use super::Case;
use crate::mm;

pub fn answer(case: &Case) -> Value {
    match &case.function {
        function if function.starts_with("conformance") => probability(case),
        function if function.starts_with("guard band: relative") => relative(case),
        function if function.starts_with("ISO 14253-1") => zones(case),
        function if function.starts_with("JCGM 106 global") => risks(case),
        function if function.starts_with("guard band factor") => factor(case),
        function if function.starts_with("how much is left") => left(case),
        other => panic!("nothing computes `{other}`"),
    }
}

/// Sizes are taken for millimetres, also those of the oil and of the speed.
fn limits(lower: f64, upper: f64) -> Limits {
    Limits::checked(mm(lower), mm(upper)).expect("limits")
}

fn known(standard: f64) -> Option<Uncertainty> {
    Some(Uncertainty::stated(mm(standard), Coverage::Factor(2.0)).expect("an uncertainty"))
}

fn probability(case: &Case) -> Value {
    let limits = limits(case.number("tl"), case.number("tu"));
    let (result, standard) = (mm(case.number("y")), mm(case.number("u")));
    json!({ "p_conform": conformance_probability(result, &limits, standard) })
}

/// The uncertainty grows with the result, so that the limit for rejection is found step by step.
fn relative(case: &Case) -> Value {
    let limit = case.number("limit");
    let guard = Guard::ConsumersRisk(1.0 - case.number("conf"));
    let rule = DecisionRule::guarded(Guard::None, guard).expect("a rule");
    let mut result = limit;
    for _ in 0..100 {
        let known = known(case.number("u_rel") * result);
        let acceptance = Acceptance::new(limits(1.0, limit), rule, known).expect("a rule");
        result = acceptance.rejection_limits().upper.mm();
    }
    json!({ "limit_out": result, "guard": result - limit, "exact": result })
}

fn zones(case: &Case) -> Value {
    let limits = limits(case.number("lsl"), case.number("usl"));
    let known = known(case.number("U_k2") / 2.0);
    let pair = |lower, upper| {
        let rule = DecisionRule::guarded(lower, upper).expect("a rule");
        let acceptance = Acceptance::new(limits, rule, known).expect("a rule");
        let (inside, outside) = (
            acceptance.acceptance_limits(),
            acceptance.rejection_limits(),
        );
        let inside = inside.expect("a zone");
        (
            [inside.lower.mm(), inside.upper.mm()],
            [outside.lower.mm(), outside.upper.mm()],
        )
    };
    let deviate = normal_quantile(0.95).expect("a deviate");
    let by_probability = Guard::StandardTimes(deviate);
    let (accept, reject) = pair(by_probability, by_probability);
    let by_expanded = Guard::ExpandedTimes(1.0);
    json!({
        "accept_g95": accept, "reject_beyond_g95": reject,
        "accept_gU": pair(by_expanded, by_expanded).0,
        "TUR": capability_ratio(&limits, &known.expect("an uncertainty")),
    })
}

/// The limits are counted from nothing; a diameter is not.
fn risks(case: &Case) -> Value {
    let size = |name: &str| 10.0 + case.number(name);
    let standard = case.number("um");
    let rule = match case.number("guard") {
        guard if guard > 0.0 => {
            DecisionRule::guarded(Guard::StandardTimes(guard / standard), Guard::None)
        }
        _ => Ok(DecisionRule::Simple),
    };
    let limits = limits(size("tl"), size("tu"));
    let rule = rule.expect("a rule");
    let acceptance = Acceptance::new(limits, rule, known(standard)).expect("a rule");
    let process = Process {
        mean: mm(size("mu")),
        standard_deviation: mm(case.number("s0")),
    };
    let risks = acceptance.global_risks(&process).expect("risks");
    json!({ "consumer": risks.consumer, "producer": risks.producer })
}

fn factor(case: &Case) -> Value {
    let ratio = case.number("tur");
    let factor = two_percent_guard(ratio).expect("a factor");
    json!({ "M2": factor, "accept_fraction_of_limit": 1.0 - factor / ratio })
}

fn left(case: &Case) -> Value {
    let limits = limits(case.number("lsl"), case.number("usl"));
    let known = known(case.number("guard"));
    let rule = DecisionRule::guarded(Guard::StandardTimes(1.0), Guard::None).expect("a rule");
    let acceptance = Acceptance::new(limits, rule, known).expect("a rule");
    let left = acceptance
        .left_to_accept(mm(case.number("pd")))
        .expect("a zone");
    json!({
        "to_upper": left.to_upper.mm(), "to_middle": left.to_middle.mm(),
        "to_lower": left.to_lower.mm(),
    })
}
