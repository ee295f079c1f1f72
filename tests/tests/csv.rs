//! The CSV in other hands: a strict parser, and LibreOffice.

use std::path::Path;
use std::process::Command;

use overwire_tests::command::output_of;
use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder, Line, until};
use serde_json::{Value, json};

/// Texts that spreadsheets are known to damage or to run (OWASP ASVS 5.0 1.2.10 and CWE-1236 for the signs;
/// the dates, common practice, no source).
const HOSTILE: [&str; 12] = [
    "=1+1",
    "+1-1",
    "-2",
    "@SUM(A1)",
    "0042-07",
    "1E5",
    "a,b;c\"d\"",
    "'leading",
    "４-40 ＝1",
    "שלום \u{202E}abc",
    "🧵 wire",
    "00071",
];

/// A record in which every free text is hostile, one reading for each.
fn hostile_record(folder: &Folder) -> Value {
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(folder, 1, ""));
    for (index, text) in HOSTILE.iter().enumerate() {
        daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":text,"unit":"in","diameters":["0.04811"],"by":text}),
        );
        daemon.done("/api/jobs", &json!({"job":text,"features":[{"name":text,"thread":"1 1/16-12 UN-2A","wire_set":text}],"by":text}));
        daemon.done(
            "/api/stations/s0/tags",
            &json!({"job":text,"operator":text,"position":text,"purpose":"inspecting"}),
        );
        line.send(format!("1.06{:02}\r\n", 90 - index).as_bytes());
        until("it is kept", || {
            daemon.station("s0")["today"]["readings"] == index + 1
        });
        let entry = daemon.station("s0")["last"]["entry"].clone();
        daemon.done(
            &format!("/api/readings/{entry}/comment"),
            &json!({"text":text,"by":text}),
        );
        daemon.done(
            &format!("/api/readings/{entry}/void"),
            &json!({"reason":text,"by":text}),
        );
    }
    let state = daemon.get("/api/state");
    assert!(daemon.end());
    state
}

fn export(folder: &Folder, file: &Path) {
    output_of(
        Command::new(program("overwire", "overwire"))
            .args(["export", "--settings"])
            .arg(folder.join("overwire.toml"))
            .arg("--out")
            .arg(file),
    );
}

/// Rows as Python's csv module reads them in strict mode, as JSON.
fn read_strictly(file: &Path) -> Vec<Value> {
    let script = "import csv, json, sys\nwith open(sys.argv[1], newline='', encoding='utf-8') as f:\n    rows = list(csv.DictReader(f, strict=True, restval='MISSING', restkey='EXTRA'))\nprint(json.dumps(rows))";
    let rows = output_of(Command::new("python3").args(["-c", script]).arg(file));
    serde_json::from_slice(&rows).expect("rows")
}

/// The text without the guard, as README tells importers to take it off.
fn unguarded(cell: &Value) -> String {
    overwire::export::guard::unguarded(cell.as_str().expect("a cell")).to_owned()
}

#[test]
fn hostile_text_survives_a_strict_parser() {
    let folder = Folder::new("csv-strict");
    let state = hostile_record(&folder);
    let file = folder.join("readings.csv");
    export(&folder, &file);
    let bytes = std::fs::read(&file).expect("the file");
    assert!(
        !bytes.starts_with(b"\xEF\xBB\xBF") && bytes.ends_with(b"\r\n"),
        "RFC 4180, no mark"
    );
    let rows = read_strictly(&file);
    assert_eq!(rows.len(), HOSTILE.len());
    for (row, text) in rows.iter().zip(HOSTILE) {
        for column in [
            "job",
            "feature",
            "position",
            "wire_set",
            "operator",
            "comment",
            "void_reason",
            "void_by",
        ] {
            assert_eq!(unguarded(&row[column]), text, "{column}");
            let cell = row[column].as_str().unwrap_or_default();
            assert!(
                !cell.starts_with(['=', '+', '-', '@']),
                "{column} could be run: {cell}"
            );
        }
        assert!(
            row.get("EXTRA").is_none() && !row.to_string().contains("MISSING"),
            "{row}"
        );
    }
    // The same numbers as the page, to the last digit.
    for reading in state["stations"][0]["recent"].as_array().expect("recent") {
        let entry = reading["entry"].to_string();
        let row = rows
            .iter()
            .find(|row| row["entry"] == entry.as_str())
            .expect("its row");
        assert_eq!(row["over_wires"], reading["over_wires"]);
        assert_eq!(row["pitch_diameter"], reading["pitch_diameter"]);
        assert_eq!(row["verdict"], reading["verdict"]);
        assert_eq!(row["at"], reading["at"]);
    }
    // Numbers are never guarded: the last ones are under size.
    let under = rows.last().expect("a row")["over_min"]
        .as_str()
        .unwrap_or_default()
        .to_owned();
    assert!(
        under.starts_with('-') && under.parse::<f64>().is_ok(),
        "{under}"
    );
}

/// LibreOffice reads every column as text or number as told, and gives every value back.
#[test]
fn libreoffice_keeps_every_value() {
    let folder = Folder::new("csv-office");
    hostile_record(&folder);
    let file = folder.join("readings.csv");
    export(&folder, &file);
    let rows = read_strictly(&file);
    let columns = overwire::export::columns::COLUMNS.len();
    // Comma, double quote, UTF-8, from line 1, each column as text (2): ids stay as they were typed.
    let as_text = (1..=columns)
        .map(|c| format!("{c}/2"))
        .collect::<Vec<_>>()
        .join("/");
    let filter = format!("CSV:44,34,76,1,{as_text}");
    let out = folder.join("office");
    let office = Command::new("soffice")
        .args([
            "--headless",
            "--norestore",
            "--convert-to",
            "csv:Text - txt - csv (StarCalc):44,34,76,1",
        ])
        .arg(format!(
            "-env:UserInstallation=file://{}",
            folder.join("profile").display()
        ))
        .arg(format!("--infilter={filter}"))
        .arg("--outdir")
        .arg(&out)
        .arg(&file)
        .output()
        .expect("soffice: Debian's package libreoffice-calc; tools/test.sh installs it");
    assert!(
        office.status.success(),
        "{}",
        String::from_utf8_lossy(&office.stderr)
    );
    assert_eq!(
        read_strictly(&out.join("readings.csv")),
        rows,
        "every value intact"
    );
}
