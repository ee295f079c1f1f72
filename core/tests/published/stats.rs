//! Published and independently computed cases for the statistics.
//!
//! Each file beside this one holds an array of cases
//!
//! ```text
//! { id, kind, function, inputs, expected, tolerance { rel, abs, abs_by_key? },
//!   source { type, ref, confirmed_by? }, note? }
//! ```
//!
//! A number passes within `abs + rel |expected|`; where `abs_by_key` names the key, that figure alone
//! holds. Texts that are decimals are compared as numbers, other texts and truth values exactly, and
//! `null` stands for a figure that must be refused with a reason. `source.type` is `published` or
//! `computed`; `(memory)` marks what was written down from memory and agrees with a calculation from
//! the data. Large inputs stand in `data`. Indices count from 0.
//!
//! An adapter answers a case with a JSON object: it may say more than is expected, never less. A
//! figure that cannot be had is answered by [`refused`].

use std::panic::catch_unwind;

use overwire_core::decimal::Decimal;
use overwire_core::units::Length;
use serde_json::{Value, json};

mod anova_oneway;
mod answers;
mod capability;
mod conformance;
mod constants;
mod control_charts;
mod data;
mod method_comparison;
mod msa;
mod normality;
mod outliers;
mod resolution;
mod rounding;
mod run_rules;
mod studies;
mod thread_form;
mod univariate;

use answers::differences;

/// What answers the cases of one kind.
type Adapter = fn(&Case) -> Value;

/// A file of cases and what answers them.
struct File {
    kind: &'static str,
    cases: &'static str,
    /// How many cases there must be.
    count: usize,
    adapter: Adapter,
}

macro_rules! file {
    ($kind:literal, $count:literal, $adapter:expr) => {
        File {
            kind: $kind,
            cases: include_str!(concat!("stats/", $kind, ".json")),
            count: $count,
            adapter: $adapter,
        }
    };
}

fn files() -> [File; 15] {
    [
        file!("anova_oneway", 10, anova_oneway::answer),
        file!("capability", 22, capability::answer),
        file!("conformance", 16, conformance::answer),
        file!("constants", 37, constants::answer),
        file!("control_charts", 18, control_charts::answer),
        file!("method_comparison", 20, method_comparison::answer),
        file!("msa", 17, msa::answer),
        file!("normality", 9, normality::answer),
        file!("outliers", 30, outliers::answer),
        file!("resolution", 7, resolution::answer),
        file!("rounding", 18, rounding::answer),
        file!("run_rules", 29, run_rules::answer),
        file!("studies", 19, studies::answer),
        file!("thread_form", 4, thread_form::answer),
        file!("univariate", 9, univariate::answer),
    ]
}

/// One case.
pub struct Case {
    pub id: String,
    /// What to compute, in words.
    pub function: String,
    pub inputs: Value,
    expected: Value,
    tolerance: Tolerance,
}

/// How far an answer may be off.
pub struct Tolerance {
    relative: f64,
    absolute: f64,
    by_key: Value,
}

impl Case {
    fn read(case: &Value, kind: &str) -> Case {
        let text = |name: &str| case[name].as_str().unwrap_or_default().to_owned();
        let id = text("id");
        assert_eq!(text("kind"), kind, "{id}: kind");
        let source = &case["source"];
        let kind_of_source = source["type"].as_str().unwrap_or_default();
        assert!(
            ["published", "computed"].contains(&kind_of_source),
            "{id}: source"
        );
        assert!(
            !source["ref"].as_str().unwrap_or_default().is_empty(),
            "{id}: no source"
        );
        let tolerance = |name: &str| case["tolerance"][name].as_f64().expect("a tolerance");
        Case {
            id,
            function: text("function"),
            inputs: case["inputs"].clone(),
            expected: case["expected"].clone(),
            tolerance: Tolerance {
                relative: tolerance("rel"),
                absolute: tolerance("abs"),
                by_key: case["tolerance"]["abs_by_key"].clone(),
            },
        }
    }

    /// An expected value that is given as a text.
    pub fn expected_text(&self, name: &str) -> &str {
        let found = self.expected[name].as_str();
        found.unwrap_or_else(|| panic!("{}: no expected text `{name}`", self.id))
    }

    /// An input that is a number.
    pub fn number(&self, name: &str) -> f64 {
        let found = self.inputs[name].as_f64();
        found.unwrap_or_else(|| panic!("{}: no number `{name}`", self.id))
    }

    /// An input that is a count.
    pub fn count(&self, name: &str) -> usize {
        let found = self.inputs[name].as_u64();
        found.unwrap_or_else(|| panic!("{}: no count `{name}`", self.id)) as usize
    }

    /// An input that is a text.
    pub fn text(&self, name: &str) -> &str {
        let found = self.inputs[name].as_str();
        found.unwrap_or_else(|| panic!("{}: no text `{name}`", self.id))
    }

    /// An input that is a list of numbers.
    pub fn numbers(&self, name: &str) -> Vec<f64> {
        numbers(&self.inputs[name])
    }

    /// An input that is a list of lists of numbers.
    pub fn rows(&self, name: &str) -> Vec<Vec<f64>> {
        let rows = self.inputs[name].as_array();
        let rows = rows.unwrap_or_else(|| panic!("{}: no rows `{name}`", self.id));
        rows.iter().map(numbers).collect()
    }

    /// Whether an input is given.
    pub fn has(&self, name: &str) -> bool {
        !self.inputs[name].is_null()
    }

    /// The readings, as texts: `x`, or the column `y` of the file that is named.
    pub fn readings_as_shown(&self) -> Vec<String> {
        match self.inputs["data_file"].as_str() {
            Some(file) => data::column(file, "y"),
            None => {
                let listed = self.inputs["x"].as_array().expect("readings");
                listed.iter().map(Value::to_string).collect()
            }
        }
    }

    /// The readings as numbers.
    pub fn readings(&self) -> Vec<f64> {
        let shown = self.readings_as_shown();
        shown
            .iter()
            .map(|text| text.parse().expect("a number"))
            .collect()
    }

    /// The readings as counts of steps of their last place, with that step as a length.
    pub fn counts(&self) -> (Vec<i64>, Length) {
        let parse = |text: &String| Decimal::parse(text).expect("a decimal");
        let shown: Vec<Decimal> = self.readings_as_shown().iter().map(parse).collect();
        let places = shown
            .iter()
            .map(|decimal| decimal.places())
            .max()
            .expect("readings");
        let finer = |decimal: &Decimal| 10_i64.pow(u32::from(places - decimal.places()));
        let step = Decimal::from_steps(1, places).expect("a step").value();
        (
            shown
                .iter()
                .map(|decimal| decimal.steps() * finer(decimal))
                .collect(),
            Length::from_mm(step).expect("a length"),
        )
    }

    /// A column of the file that is named, as texts.
    pub fn column(&self, name: &str) -> Vec<String> {
        data::column(self.text("data_file"), name)
    }
}

/// The numbers of a list.
pub fn numbers(list: &Value) -> Vec<f64> {
    let list = list.as_array().expect("a list of numbers");
    list.iter()
        .map(|number| number.as_f64().expect("a number"))
        .collect()
}

/// The answer for a figure that cannot be had, with the reason in words.
pub fn refused(reason: impl std::fmt::Display) -> Value {
    json!({ "refused": reason.to_string() })
}

/// The answer for a figure that may be refused.
pub fn figure<E: std::fmt::Display>(figure: Result<f64, E>) -> Value {
    match figure {
        Ok(number) => json!(number),
        Err(reason) => refused(reason),
    }
}

/// What is wrong in one file.
fn failures(file: &File) -> Vec<String> {
    let cases: Vec<Value> = serde_json::from_str(file.cases).expect("an array of cases");
    let mut wrong = Vec::new();
    if cases.len() != file.count {
        wrong.push(format!(
            "{}: {} cases, not {}",
            file.kind,
            cases.len(),
            file.count
        ));
    }
    for case in &cases {
        let case = Case::read(case, file.kind);
        // A case that stops its adapter must not hide the others.
        let answer = catch_unwind(|| (file.adapter)(&case));
        match answer {
            Ok(answer) => wrong.extend(differences(&case, &answer)),
            Err(_) => wrong.push(format!("{}: its adapter gave up, see above", case.id)),
        }
    }
    wrong
}

#[test]
fn every_case_of_every_file() {
    let wrong: Vec<String> = files().iter().flat_map(failures).collect();
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// The harness itself must be able to fail.
#[test]
fn a_wrong_answer_is_seen() {
    let case = Case::read(
        &json!({
            "id": "self", "kind": "self", "function": "", "inputs": {},
            "expected": { "a": 1.0, "b": [1, 2], "c": null, "d": "x", "e": "1.50", "f": true },
            "tolerance": { "rel": 0, "abs": 0.1, "abs_by_key": { "b": 0.5 } },
            "source": { "type": "computed", "ref": "by hand" }
        }),
        "self",
    );
    let good = json!({
        "a": 1.05, "b": [1.4, 2], "c": refused("none"), "d": "x", "e": 1.5, "f": true, "more": 1
    });
    assert_eq!(differences(&case, &good), Vec::<String>::new());
    for (key, bad) in [
        ("a", json!(1.2)),
        ("a", json!(f64::NAN)),
        ("b", json!([1, 3])),
        ("b", json!([1])),
        ("c", json!(null)),
        ("c", json!(0)),
        ("d", json!("y")),
        ("e", json!(1.7)),
        ("f", json!(false)),
    ] {
        let mut answer = good.clone();
        answer[key] = bad.clone();
        assert_eq!(differences(&case, &answer).len(), 1, "{key} {bad}");
    }
    let mut less = good.clone();
    less.as_object_mut().expect("an object").remove("a");
    assert_eq!(differences(&case, &less).len(), 1);
}
