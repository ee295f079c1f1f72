//! Sequences against the rules they must break, and average run lengths.

use overwire_core::stats::run_rules::{Rule, RuleSet, RunRules, Signals, Watch, Zones};
use overwire_core::stats::series::Series;
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    if case.has("z") {
        return sequence(&case.numbers("z"));
    }
    let rules = match case.has("k") {
        true => {
            let length = case.count("k") as u8;
            let rules = RunRules::nelson().only(RuleSet::of(&[Rule::SameSide]));
            rules
                .with_length(Rule::SameSide, length)
                .expect("a run length")
        }
        false => {
            let numbers = case.numbers("rules");
            let rules = RunRules::western_electric();
            let on = rules.on().iter().filter(|rule| {
                let number = rule.number(rules.book()).expect("a rule of the book");
                numbers.iter().any(|&on| on as u8 == number)
            });
            rules.only(RuleSet::of(&on.collect::<Vec<_>>()))
        }
    };
    let run_length = rules.points_to_signal(0.0).expect("rules about zones");
    json!({ "arl0": run_length, "exact": run_length })
}

fn sequence(points: &[f64]) -> Value {
    json!({
        "nelson": by_number(points, RunRules::nelson()),
        "western_electric": by_number(points, RunRules::western_electric()),
    })
}

/// The indices of the hits of each rule; fed at once and point by point.
fn by_number(points: &[f64], rules: RunRules) -> Value {
    let series = Series::from_readings(points.to_vec()).expect("finite points");
    let signals = Signals::find(&series, Zones::standard(), rules);
    let mut watch = Watch::new(rules, Zones::standard());
    let one_by_one: Vec<RuleSet> = points.iter().map(|&point| watch.next(point)).collect();
    let indices = |rule: Rule| -> Vec<usize> {
        let hits = signals.hits.iter().filter(|hit| hit.rules.contains(rule));
        let at_once: Vec<usize> = hits.map(|hit| hit.index).collect();
        let each = one_by_one.iter().enumerate();
        let singly = each.filter(|(_, found)| found.contains(rule));
        assert_eq!(at_once, singly.map(|(index, _)| index).collect::<Vec<_>>());
        at_once
    };
    let numbered = rules.on().iter().map(|rule| {
        let number = rule.number(rules.book()).expect("a rule of the book");
        (number.to_string(), json!(indices(rule)))
    });
    Value::Object(numbered.collect())
}
