//! Answers of the statistics, as programs read them.

use serde_json::Value;

/// The answer under a heading; panics without one.
pub fn section(findings: &Value, heading: &str) -> Value {
    let sections = findings["sections"].as_array().expect("sections").clone();
    let found = sections
        .into_iter()
        .find(|section| section["heading"] == heading);
    found.unwrap_or_else(|| panic!("no `{heading}` in {findings}"))
}

/// A cell of the first row of an answer's table.
pub fn cell(section: &Value, column: &str) -> String {
    let columns = section["table"]["columns"].as_array().expect("columns");
    let at = columns
        .iter()
        .position(|name| name == column)
        .expect("the column");
    section["table"]["rows"][0][at]
        .as_str()
        .expect("a cell")
        .to_owned()
}
