//! The CSV opened in LibreOffice as a person opens it, columns left to the program: what could be run stays
//! text, and numbers stay numbers. (`csv.rs` has every column read as text and compares each value.)

use std::path::Path;

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder, client, office};
use serde_json::{Value, json};

/// Free texts that a spreadsheet would run, or that are awkward to carry.
fn hostile() -> Vec<String> {
    let mut texts: Vec<String> = [
        "=1+1",
        "+2+3",
        "-4-5",
        "@SUM(A1:A9)",
        "=HYPERLINK(\"http://shop.invalid\",\"see here\")",
        "'=1+1",
        "\"quoted\", with commas",
        "semi;colon, tab and | bar",
        "مقاس ‏M12 قلاووظ",
        "🔩 Ø12 ½″",
        "0042-07",
    ]
    .map(str::to_owned)
    .to_vec();
    texts.push("x".repeat(200));
    texts
}

/// One reading for each text, with the text wherever a person may write.
fn readings(daemon: &Daemon) {
    for text in hostile() {
        let short: String = text.chars().take(80).collect();
        let set = json!({"wire_set":text,"unit":"in","diameters":["0.04811"],"by":text});
        daemon.done("/api/wire-sets", &set);
        let feature = json!({"name":text,"thread":"1 1/16-12 UN-2A","wire_set":text});
        let job = json!({"job":text,"drawing":text,"features":[feature],"by":text});
        daemon.done("/api/jobs", &job);
        let tags = json!({"job":text,"operator":short,"position":short,"purpose":"inspecting"});
        daemon.done("/api/stations/s0/tags", &tags);
        let reading = daemon.done("/api/stations/s0/reading", &json!({"text":"1.0777"}));
        let say = |what: &str, form: Value| {
            daemon.done(&format!("/api/readings/{}/{what}", reading["entry"]), &form);
        };
        say("comment", json!({"text":text,"by":text}));
        say("retag", json!({"piece":9,"reason":text,"by":text}));
        let two_lines = format!("{text}\nand a second line");
        say("void", json!({"reason":two_lines,"by":text}));
    }
}

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
