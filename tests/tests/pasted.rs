//! What the page puts on the clipboard, in LibreOffice set to write 0.5 and set to write 0,5: numbers are
//! numbers, nothing is run, and in the table ids stay text. (The browser's own tests read the clipboard back.)

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use overwire_tests::Folder;
use overwire_tests::office;
use serde_json::{Value, json};

/// A spreadsheet's habit: the decimal mark it writes, and its language as a Windows language identifier.
const HABITS: [(&str, &str); 2] = [(".", "1033"), (",", "1031")];

/// Ids that spreadsheets are known to damage, and texts they would run (common practice, no source; CWE-1236).
const TEXTS: [&str; 8] = [
    "0042-07",
    "4-40",
    "1E5",
    "00071",
    "=1+1",
    "-2",
    "'quoted",
    "two\tcells\nand \"lines\"",
];
const WHEN: &str = "2026-03-04 09:14:05";
const SIZES: [(&str, f64); 4] = [
    ("1.0060", 1.006),
    ("-0.0012", -0.0012),
    ("+0.51234", 0.51234),
    ("1234.567", 1234.567),
];

fn told() -> Value {
    let columns = json!([
        {"name":"local_time","holds":"local"}, {"name":"job","holds":"free"}, {"name":"piece","holds":"whole"},
        {"name":"pitch_diameter","holds":"length"}, {"name":"verdict","holds":"code"},
    ]);
    let rows: Vec<Value> = (0..TEXTS.len())
        .map(|at| {
            json!({"local_time":WHEN,"job":TEXTS[at],"piece":at.to_string(),
                "pitch_diameter":SIZES[at % SIZES.len()].0,"verdict":"PASS"})
        })
        .collect();
    json!({"columns":columns,"rows":rows})
}

fn clip(mark: &str, kind: &str, file: &Path) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/browser/clip.mjs");
    let mut node = Command::new("node")
        .args([script, mark, kind])
        .stdin(Stdio::piped())
        .stdout(std::fs::File::create(file).expect("a file"))
        .spawn()
        .expect("node is needed: Debian's package nodejs");
    let mut input = node.stdin.take().expect("its input");
    input
        .write_all(told().to_string().as_bytes())
        .expect("the rows are taken");
    drop(input);
    assert!(node.wait().expect("its end").success());
}

#[test]
fn numbers_are_numbers_by_either_habit_and_nothing_is_run() {
    let folder = Folder::new("pasted");
    for (mark, language) in HABITS {
        for (kind, ending, filter) in [
            (
                "text",
                "tsv",
                format!("CSV:9,34,76,1,,{language},false,true,false,false,false,0,true"),
            ),
            ("table", "html", format!("HTML (StarCalc):{language} false")),
        ] {
            let file = folder.join(&format!("clip-{language}.{ending}"));
            clip(mark, kind, &file);
            let rows = office::opened(&folder, &file, &filter);
            assert_eq!(rows.len(), TEXTS.len() + 1, "{kind} {mark}");
            for (at, row) in rows[1..].iter().enumerate() {
                let told = format!("{kind} {mark} {}", TEXTS[at]);
                for cell in row {
                    assert_eq!(cell["formula"], Value::Null, "{told}: {cell}");
                }
                for (cell, wanted) in [(&row[2], at as f64), (&row[3], SIZES[at % SIZES.len()].1)] {
                    assert_eq!(cell["kind"], "float", "{told}: {cell}");
                    let number: f64 = cell["number"]
                        .as_str()
                        .and_then(|n| n.parse().ok())
                        .expect("a number");
                    assert!((number - wanted).abs() < 1e-12, "{told}: {cell}");
                }
                assert_eq!(row[0]["kind"], "date", "{told}: {}", row[0]);
                assert_eq!(row[0]["text"], WHEN, "{told}");
                if kind == "table" {
                    assert_eq!(row[1]["kind"], "string", "{told}: {}", row[1]);
                    let shown = row[1]["text"].as_str().unwrap_or_default();
                    let shown = overwire::export::guard::unguarded(shown);
                    // A table's cell has no tabs.
                    assert_eq!(
                        shown.replace('\t', ""),
                        TEXTS[at].replace('\t', ""),
                        "{told}"
                    );
                }
            }
        }
    }
}

/// The guard is the one of the CSV, character by character.
#[test]
fn the_page_guards_as_the_csv_does() {
    let script = "import { guarded } from './collector/assets/guard.js';
        const texts = JSON.parse(process.argv[1]);
        process.stdout.write(JSON.stringify(texts.map(guarded)));";
    let starts: Vec<char> = (0..=0x2FF)
        .chain(0xFF00..=0xFFEF)
        .filter_map(char::from_u32)
        .collect();
    let texts: Vec<String> = starts
        .iter()
        .flat_map(|c| [format!("{c}1"), format!(" {c}"), format!("a{c}")])
        .chain([String::new()])
        .collect();
    let output = Command::new("node")
        .args(["--input-type=module", "-e", script])
        .arg(json!(texts).to_string())
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
        .output()
        .expect("node");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let found: Vec<String> = serde_json::from_slice(&output.stdout).expect("texts");
    assert_eq!(found.len(), texts.len());
    for (text, found) in texts.iter().zip(found) {
        assert_eq!(found, overwire::export::guard::guarded(text), "{text:?}");
    }
}
