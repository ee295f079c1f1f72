//! An answer held against what is expected.

use serde_json::Value;

use super::{Case, Tolerance};

/// Everything in which an answer differs from what a case expects.
pub fn differences(case: &Case, answer: &Value) -> Vec<String> {
    let expected = case.expected.as_object().expect("expected values by name");
    let mut found = Vec::new();
    for (key, expected) in expected {
        let allowed = Allowed::of(&case.tolerance, key);
        let label = format!("{} {key}", case.id);
        compare(&label, expected, answer.get(key), &allowed, &mut found);
    }
    found
}

struct Allowed {
    relative: f64,
    absolute: f64,
}

impl Allowed {
    fn of(tolerance: &Tolerance, key: &str) -> Allowed {
        match tolerance.by_key[key].as_f64() {
            Some(absolute) => Allowed {
                relative: 0.0,
                absolute,
            },
            None => Allowed {
                relative: tolerance.relative,
                absolute: tolerance.absolute,
            },
        }
    }

    fn holds(&self, expected: f64, found: f64) -> bool {
        (found - expected).abs() <= self.absolute + self.relative * expected.abs()
    }
}

fn compare(
    label: &str,
    expected: &Value,
    answer: Option<&Value>,
    allowed: &Allowed,
    found: &mut Vec<String>,
) {
    let Some(answer) = answer else {
        found.push(format!("{label}: no answer"));
        return;
    };
    match (expected, answer) {
        (Value::Array(list), Value::Array(answers)) if list.len() == answers.len() => {
            for (index, (expected, answer)) in list.iter().zip(answers).enumerate() {
                compare(
                    &format!("{label}[{index}]"),
                    expected,
                    Some(answer),
                    allowed,
                    found,
                );
            }
        }
        (Value::Object(fields), Value::Object(answers)) => {
            for (name, expected) in fields {
                compare(
                    &format!("{label}.{name}"),
                    expected,
                    answers.get(name),
                    allowed,
                    found,
                );
            }
        }
        _ if same(expected, answer, allowed) => {}
        _ => found.push(format!("{label}: {answer} against {expected}")),
    }
}

/// Whether two single values agree.
fn same(expected: &Value, answer: &Value, allowed: &Allowed) -> bool {
    if expected.is_null() {
        return answer["refused"].is_string();
    }
    match (number(expected), number(answer)) {
        (Some(expected), Some(answer)) => allowed.holds(expected, answer),
        (None, None) => expected == answer,
        _ => false,
    }
}

/// A number, also one that is written as a decimal text.
fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(number) => number.as_f64(),
        Value::String(text) => text.parse().ok(),
        _ => None,
    }
}
