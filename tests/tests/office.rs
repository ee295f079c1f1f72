//! The CSV opened in LibreOffice as a person opens it, columns left to the program: what could be run stays
//! text, and numbers stay numbers. (`csv.rs` has every column read as text and compares each value.)

use std::path::Path;

use overwire_tests::daemon::settings;
use overwire_tests::hostile::{hostile, readings};
use overwire_tests::{Daemon, Folder, client, office};
use serde_json::{Value, json};

/// Comma, quote, UTF-8, from line 1, columns left to the program, numbers with signs recognised, and formulas
/// evaluated: the way in that a guard is for.
const AS_A_PERSON: &str = "CSV:44,34,76,1,,0,false,true,false,false,false,0,true";

fn opened(folder: &Folder, csv: &Path) -> Vec<Vec<Value>> {
    office::opened(folder, csv, AS_A_PERSON)
}

fn text_of(cell: &Value) -> &str {
    cell["text"].as_str().unwrap_or_default()
}

#[test]
fn nothing_is_run_and_numbers_stay_numbers() {
    let folder = Folder::new("office");
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    readings(&daemon);
    let (status, _, body) = client::fetch(daemon.address, "/export.csv");
    assert_eq!(status, 200);
    let file = folder.join("readings.csv");
    std::fs::write(&file, &body).expect("the file");
    let rows = opened(&folder, &file);
    let texts = hostile();
    assert_eq!(rows.len(), texts.len() + 1, "one row a reading");
    let names: Vec<&str> = rows[0].iter().map(text_of).collect();
    let column = |name: &str| {
        let found = names.iter().position(|found| *found == name);
        found.unwrap_or_else(|| panic!("no column {name}"))
    };
    for (row, text) in rows[1..].iter().zip(&texts) {
        for (cell, name) in row.iter().zip(&names) {
            assert_eq!(cell["formula"], Value::Null, "{name} of {text}: {cell}");
        }
        for name in [
            "job",
            "feature",
            "wire_set",
            "operator",
            "position",
            "comment",
            "moved_reason",
            "moved_by",
            "void_by",
            "void_reason",
        ] {
            let cell = &row[column(name)];
            assert_eq!(cell["kind"], "string", "{name} of {text}: {cell}");
            // README: one apostrophe at the front is a guard; taking it off gives the text back.
            let shown = text_of(cell);
            let shown = shown.strip_prefix('\'').unwrap_or(shown);
            let wanted: String = match name {
                "operator" | "position" => text.chars().take(80).collect(),
                "void_reason" => format!("{text}\nand a second line"),
                _ => text.clone(),
            };
            assert_eq!(shown, wanted, "{name}");
        }
        for (name, wanted) in [
            ("piece", "9"),
            ("original_piece", "1"),
            ("over_wires", "1.0777"),
            ("over_max", "-0.0012"),
        ] {
            let cell = &row[column(name)];
            assert_eq!(
                (&cell["kind"], &cell["number"]),
                (&json!("float"), &json!(wanted)),
                "{name} of {text}"
            );
        }
    }
}

/// The control: the same way in does run what is not guarded, so that the check above can fail.
#[test]
fn the_same_way_in_runs_what_is_not_guarded() {
    let folder = Folder::new("office-control");
    let file = folder.join("plain.csv");
    std::fs::write(&file, "a,b\r\n=1+1,'=1+1\r\n").expect("the file");
    let rows = opened(&folder, &file);
    assert!(rows[1][0]["formula"].is_string(), "{rows:?}");
    assert_eq!(rows[1][1]["formula"], Value::Null, "{rows:?}");
}
