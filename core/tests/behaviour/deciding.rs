//! Decision rules: what passes, what fails, and what cannot be decided.

use overwire_core::acceptance::{
    Acceptance, DecisionRule, Guard, Outcome, capability_ratio, conformance_probability,
};
use overwire_core::functional::{FlankErrors, FormErrors, equivalent};
use overwire_core::thread::Limits;
use overwire_core::uncertainty::{Coverage, Uncertainty};
use overwire_core::units::{Angle, Unit};
use proptest::prelude::*;

use crate::{mm, thread};

fn limits() -> Limits {
    Limits::checked(mm(8.862), mm(8.994)).expect("limits")
}

fn known(standard: f64) -> Uncertainty {
    Uncertainty::stated(mm(standard), Coverage::Factor(2.0)).expect("an uncertainty")
}

fn rule(accept: Guard, reject: Guard) -> DecisionRule {
    DecisionRule::guarded(accept, reject).expect("a rule")
}

fn lay(rule: DecisionRule, standard: f64) -> Acceptance {
    Acceptance::new(limits(), rule, Some(known(standard))).expect("a rule with its uncertainty")
}

fn outcomes(acceptance: &Acceptance, diameters: [f64; 5]) -> [Outcome; 5] {
    diameters.map(|diameter| acceptance.decide(mm(diameter)).outcome)
}

use Outcome::{FailOver, FailUnder, Pass, UndecidedOver, UndecidedUnder};

#[test]
fn the_same_readings_by_every_rule() {
    // Guard bands of 3.3 and 4 micrometres about 8.862 and 8.994.
    let readings = [8.856, 8.860, 8.864, 8.930, 8.9955];
    let simple = lay(DecisionRule::Simple, 0.002);
    assert_eq!(
        outcomes(&simple, readings),
        [FailUnder, FailUnder, Pass, Pass, FailOver]
    );
    let default = lay(DecisionRule::iso_14253(), 0.002);
    let expected = [
        FailUnder,
        UndecidedUnder,
        UndecidedUnder,
        Pass,
        UndecidedOver,
    ];
    assert_eq!(outcomes(&default, readings), expected);
    let acceptance = lay(rule(Guard::ExpandedTimes(1.0), Guard::None), 0.002);
    let expected = [FailUnder, FailUnder, UndecidedUnder, Pass, FailOver];
    assert_eq!(outcomes(&acceptance, readings), expected);
    let rejection = lay(rule(Guard::None, Guard::ExpandedTimes(1.0)), 0.002);
    let expected = [FailUnder, UndecidedUnder, Pass, Pass, UndecidedOver];
    assert_eq!(outcomes(&rejection, readings), expected);
}

#[test]
fn limits_of_a_rule_are_there_to_be_shown() {
    let default = lay(DecisionRule::iso_14253(), 0.002);
    let inside = default.acceptance_limits().expect("a zone");
    assert_eq!(inside.lower.to_text(Unit::Millimetre, 4), "8.8653 mm");
    assert_eq!(inside.upper.to_text(Unit::Millimetre, 4), "8.9907 mm");
    let outside = default.rejection_limits();
    assert_eq!(outside.lower.to_text(Unit::Millimetre, 4), "8.8587 mm");
    assert_eq!(outside.upper.to_text(Unit::Millimetre, 4), "8.9973 mm");
    let simple = Acceptance::new(limits(), DecisionRule::Simple, None).expect("no need of more");
    assert_eq!(simple.rejection_limits().lower, limits().pitch_diameter_min);
    assert_eq!(simple.decide(mm(8.994)).outcome, Pass);
    assert_eq!(simple.decide(mm(8.994)).conformance_probability, None);
}

#[test]
fn a_guard_band_that_eats_the_zone_lets_nothing_pass() {
    for eaten in [
        lay(DecisionRule::iso_14253(), 0.05),
        lay(rule(Guard::ConsumersRisk(0.05), Guard::None), 0.05),
    ] {
        assert_eq!(eaten.acceptance_limits(), None);
        let decision = eaten.decide(limits().middle());
        assert_ne!(decision.outcome, Pass);
        assert_eq!(
            decision.remark.expect("a remark").code(),
            "nothing_can_pass"
        );
        let said = decision.sentence(Unit::Millimetre, 3);
        assert!(said.contains("no result can pass"), "{said}");
    }
    let just_over = lay(DecisionRule::iso_14253(), 0.05)
        .decide(mm(8.94))
        .outcome;
    assert_eq!(just_over, UndecidedOver);
}

#[test]
fn a_ratio_that_is_not_reached_is_said() {
    let four_to_one = DecisionRule::simple_with_ratio(4.0).expect("a rule");
    let good = lay(four_to_one, 0.008);
    assert_eq!(good.remark(), None);
    let bad = lay(four_to_one, 0.009);
    let decision = bad.decide(limits().middle());
    assert_eq!(decision.outcome, Pass);
    let said = decision.sentence(Unit::Millimetre, 3);
    assert!(
        said.contains("4:1 against the uncertainty and finds 3.7:1"),
        "{said}"
    );
    let ratio = capability_ratio(&limits(), &known(0.009)).expect("a ratio");
    assert!((ratio - 0.132 / 0.036).abs() < 1e-9);
    assert_eq!(capability_ratio(&limits(), &known(0.0)), None);
}

#[test]
fn rules_have_names_and_sentences() {
    let named = [
        (DecisionRule::Simple, "simple", "Simple acceptance:"),
        (
            DecisionRule::SimpleWithRatio { ratio: 10.0 },
            "simple-with-ratio",
            "Simple acceptance at 10:1 (ASME B89.7.3.1, from memory)",
        ),
        (
            DecisionRule::iso_14253(),
            "guarded",
            "Guarded by 1.65 standard uncertainties on either side",
        ),
        (
            rule(Guard::ExpandedTimes(1.0), Guard::None),
            "guarded-acceptance",
            "Guarded acceptance: a result passes only 1 times the expanded",
        ),
        (
            rule(Guard::None, Guard::ConsumersRisk(0.025)),
            "guarded-rejection",
            "Guarded rejection: a result passes within the limits",
        ),
        (
            rule(Guard::StandardTimes(2.0), Guard::ExpandedTimes(0.5)),
            "guarded",
            "Guarded: a result passes only 2 standard",
        ),
        (
            rule(Guard::None, Guard::None),
            "simple",
            "Simple acceptance:",
        ),
    ];
    for (rule, code, beginning) in named {
        assert_eq!(rule.code(), code);
        assert!(
            rule.sentence().starts_with(beginning),
            "{}",
            rule.sentence()
        );
    }
}

#[test]
fn rules_that_make_no_sense_are_refused() {
    let code = |accept, reject| {
        DecisionRule::guarded(accept, reject)
            .expect_err("nonsense")
            .code()
    };
    assert_eq!(code(Guard::StandardTimes(0.0), Guard::None), "factor");
    assert_eq!(code(Guard::None, Guard::ExpandedTimes(f64::NAN)), "factor");
    assert_eq!(code(Guard::ConsumersRisk(0.5), Guard::None), "risk");
    assert!(DecisionRule::simple_with_ratio(0.5).is_err());
    let unchecked = DecisionRule::SimpleWithRatio { ratio: f64::NAN };
    let error = Acceptance::new(limits(), unchecked, Some(known(0.002))).expect_err("no ratio");
    assert_eq!(error.code(), "ratio");
    let missing = Acceptance::new(limits(), DecisionRule::iso_14253(), None);
    let error = missing.expect_err("no uncertainty");
    assert_eq!(error.code(), "uncertainty-missing");
    assert!(
        error
            .to_string()
            .contains("`guarded` needs the uncertainty"),
        "{error}"
    );
}

#[test]
fn form_errors_are_worth_a_diameter() {
    let geometry = thread("M10x1.5-6g").geometry;
    let errors = FormErrors {
        pitch: Some(mm(-0.004)),
        flanks: Some(FlankErrors {
            leading: Angle::from_degrees(0.25).expect("an angle"),
            trailing: Angle::from_degrees(-0.25).expect("an angle"),
            depth: mm(0.974),
        }),
    };
    let found = equivalent(&geometry, &errors).expect("an equivalent");
    let said = found.sentence(mm(8.95), Unit::Millimetre, 4);
    assert_eq!(
        said,
        "Functional diameter 8.9667 mm: 8.9500 mm over wires, and for the pitch error 0.0069 mm, \
         for the flank angles 0.0098 mm. A go gauge still has the last word."
    );
    let nothing = equivalent(&geometry, &FormErrors::default()).expect("an equivalent");
    assert!(
        nothing
            .sentence(mm(8.95), Unit::Millimetre, 3)
            .contains("the pitch error not measured")
    );
    let code = |errors: FormErrors| equivalent(&geometry, &errors).expect_err("nonsense").code();
    let flanks = |leading: f64, depth: f64| FormErrors {
        pitch: None,
        flanks: Some(FlankErrors {
            leading: Angle::from_degrees(leading).expect("an angle"),
            trailing: Angle::default(),
            depth: mm(depth),
        }),
    };
    assert_eq!(code(flanks(15.0, 1.0)), "angle-error");
    assert_eq!(code(flanks(1.0, 0.0)), "flank-depth");
    let pitch = FormErrors {
        pitch: Some(mm(0.75)),
        flanks: None,
    };
    assert_eq!(code(pitch), "pitch-error");
}

fn guards() -> impl Strategy<Value = Guard> {
    prop_oneof![
        Just(Guard::None),
        (0.1..3.0).prop_map(Guard::StandardTimes),
        (0.1..1.5).prop_map(Guard::ExpandedTimes),
        (0.001..0.4).prop_map(Guard::ConsumersRisk),
    ]
}

/// From fail under to fail over.
fn rank(outcome: Outcome) -> u8 {
    match outcome {
        FailUnder => 0,
        UndecidedUnder => 1,
        Pass => 2,
        UndecidedOver => 3,
        FailOver => 4,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn a_larger_thread_is_never_called_smaller(
        accept in guards(),
        reject in guards(),
        standard in 0.0..0.06,
        one in 8.8..9.05,
        other in 8.8..9.05,
    ) {
        let acceptance = lay(rule(accept, reject), standard);
        let at = |diameter: f64| rank(acceptance.decide(mm(diameter)).outcome);
        prop_assert!(at(f64::min(one, other)) <= at(f64::max(one, other)));
    }

    /// What passes a guarded rule passes the simple one, and what fails it fails the simple one.
    #[test]
    fn guards_only_take_certainty_away(
        accept in guards(),
        reject in guards(),
        standard in 0.0..0.06,
        diameter in 8.8..9.05,
    ) {
        let guarded = lay(rule(accept, reject), standard).decide(mm(diameter)).outcome;
        let simple = lay(DecisionRule::Simple, standard).decide(mm(diameter)).outcome;
        match guarded {
            UndecidedOver | UndecidedUnder => {}
            decided => prop_assert_eq!(decided, simple),
        }
    }

    /// A stated risk is kept wherever a result passes, limits on both sides counted.
    #[test]
    fn a_stated_risk_is_kept(risk in 0.001..0.4, standard in 0.0001..0.06, diameter in 8.8..9.05) {
        let decision = lay(rule(Guard::ConsumersRisk(risk), Guard::None), standard).decide(mm(diameter));
        let probability = decision.conformance_probability.expect("a probability");
        if decision.outcome == Pass {
            prop_assert!(probability >= 1.0 - risk - 1e-6);
        }
        let simply = conformance_probability(mm(diameter), &limits(), mm(standard));
        prop_assert_eq!(probability, simply);
        prop_assert!((0.0..=1.0).contains(&probability));
    }
}
