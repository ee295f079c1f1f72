//! `overwire chart` as a person or a program runs it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

use crate::Folder;
use crate::daemon::program;
use crate::findings::section;

/// Runs `overwire chart`.
pub fn overwire(arguments: &[&str], file: &Path) -> Output {
    asked(&[&["chart"], arguments].concat(), file)
}

/// Runs a command of statistics on a file.
fn asked(arguments: &[&str], file: &Path) -> Output {
    Command::new(program("overwire", "overwire"))
        .args(arguments)
        .arg(file)
        .output()
        .expect("overwire runs")
}

/// What `overwire chart` finds in a file.
pub fn found(arguments: &[&str], file: &Path) -> Value {
    found_by(&[&["chart"], arguments].concat(), file)
}

/// What a command of statistics finds in a file; the exit code is 3 where the main answer is a dash, else 0.
pub fn found_by(arguments: &[&str], file: &Path) -> Value {
    let output = asked(&[arguments, &["--json"]].concat(), file);
    let complaint = String::from_utf8_lossy(&output.stderr);
    let told: Value = serde_json::from_slice(&output.stdout).unwrap_or_default();
    let headline = told["headline"].as_str().unwrap_or_default();
    let code = if headline.starts_with("–: ") { 3 } else { 0 };
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}: {complaint}"
    );
    told
}

/// The complaint about a question that is refused, and the exit code.
pub fn refused(arguments: &[&str], file: &Path) -> (i32, String) {
    let output = overwire(arguments, file);
    let code = output.status.code().expect("an exit code");
    (code, String::from_utf8_lossy(&output.stderr).into_owned())
}

/// A file with a text.
pub fn written(folder: &Folder, name: &str, text: &str) -> PathBuf {
    let file = folder.join(name);
    std::fs::write(&file, text).expect("written");
    file
}

/// The sentences of an answer, as JSON.
pub fn sentences(findings: &Value, heading: &str) -> String {
    section(findings, heading)["sentences"].to_string()
}

/// Whether all of some figures are told.
pub fn holds(told: &str, figures: &[&str]) {
    for figure in figures {
        assert!(told.contains(figure), "{figure}: {told}");
    }
}

/// A case of core's published ones.
pub fn published(id: &str) -> Value {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../core/tests/published/stats/control_charts.json");
    let text = std::fs::read_to_string(file).expect("the cases");
    let cases: Vec<Value> = serde_json::from_str(&text).expect("JSON");
    let case = cases.into_iter().find(|case| case["id"] == id);
    case.expect("the case")
}
