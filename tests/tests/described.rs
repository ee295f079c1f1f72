//! What stands beside a CSV says enough to read it: a script that knows the descriptor alone gives back the values
//! of the record, whatever the dialect.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use overwire_tests::daemon::{program, settings};
use overwire_tests::hostile::{hostile, readings};
use overwire_tests::{Daemon, Folder, client, until};
use serde_json::{Value, json};

const DIALECTS: [&str; 4] = ["exchange", "point", "comma", "tab"];

fn by_descriptor(descriptor: &Path) -> Output {
    Command::new("python3")
        .arg(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/python/read_described.py"
        ))
        .arg(descriptor)
        .output()
        .expect("python3")
}

fn read(descriptor: &Path) -> Value {
    let output = by_descriptor(descriptor);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{}: {said}", descriptor.display());
    serde_json::from_slice(&output.stdout).expect("rows")
}

fn export(folder: &Folder, name: &str, more: &[&str]) -> PathBuf {
    let file = folder.join(name);
    let output = Command::new(program("overwire", "overwire"))
        .args(["export", "--settings"])
        .arg(folder.join("overwire.toml"))
        .args(more)
        .arg("--out")
        .arg(&file)
        .output()
        .expect("overwire export");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    file
}

fn json_of(file: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(file).expect("the file")).expect("JSON")
}

/// A record of hostile texts, and two pieces of an ordinary job; the daemon still runs.
fn shop(name: &str) -> (Folder, Daemon) {
    shop_with(name, "")
}

fn shop_with(name: &str, more: &str) -> (Folder, Daemon) {
    let folder = Folder::new(name);
    std::fs::create_dir(folder.join("live")).expect("a folder");
    let daemon = Daemon::start(&settings(&folder, 1, more));
    readings(&daemon);
    let wires = json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"});
    daemon.done("/api/wire-sets", &wires);
    let feature = json!({"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS"});
    let job = json!({"job":"J-1","readings_a_piece":2,"features":[feature],"by":"AK"});
    daemon.done("/api/jobs", &job);
    let tags = json!({"job":"J-1","purpose":"inspecting","part_celsius":"21.5"});
    daemon.done("/api/stations/s0/tags", &tags);
    for text in ["1.0760", "1.0759", "1.0762"] {
        daemon.done("/api/stations/s0/reading", &json!({"text":text}));
    }
    (folder, daemon)
}

/// The rows of every dialect are the same; those of the first are given.
fn of_every_dialect(folder: &Folder, more: &[&str]) -> Vec<Value> {
    let mut all = Vec::new();
    for dialect in DIALECTS {
        let ending = if dialect == "tab" { "tsv" } else { "csv" };
        let file = export(
            folder,
            &format!("{dialect}.{ending}"),
            &[more, &["--dialect", dialect]].concat(),
        );
        let beside = overwire::export::descriptor::path(&file);
        all.push(read(&beside));
    }
    assert!(
        all.iter().all(|rows| *rows == all[0]),
        "the dialects differ"
    );
    all[0]["rows"].as_array().expect("rows").clone()
}

#[test]
fn the_descriptor_alone_gives_the_record_s_values_in_every_dialect() {
    let (folder, daemon) = shop("described");
    let state = daemon.get("/api/state");
    let rows = of_every_dialect(&folder, &[]);
    let texts = hostile();
    assert_eq!(rows.len(), texts.len() + 3);
    for (row, text) in rows.iter().zip(&texts) {
        for name in [
            "job",
            "feature",
            "wire_set",
            "comment",
            "moved_reason",
            "moved_by",
            "void_by",
        ] {
            assert_eq!(row[name], text.as_str(), "{name}");
        }
        assert_eq!(row["void_reason"], format!("{text}\nand a second line"));
        assert_eq!((&row["void"], &row["piece"]), (&json!(true), &json!(9)));
        assert_eq!(row["over_max"], "-0.0012");
    }
    let recent = state["stations"][0]["recent"].as_array().expect("recent");
    for reading in recent {
        let row = rows
            .iter()
            .find(|row| row["entry"] == reading["entry"])
            .expect("its row");
        for name in [
            "id",
            "station",
            "sequence",
            "job",
            "feature",
            "piece",
            "operator",
            "unit",
            "purpose",
            "over_wires",
            "pitch_diameter",
            "verdict",
            "counted",
            "comment",
        ] {
            assert_eq!(row[name], reading[name], "{name}");
        }
        let at = reading["at"].as_str().expect("a time");
        assert!(
            row["at"]
                .as_str()
                .is_some_and(|read| read.starts_with(&at[..23])),
            "{row} {at}"
        );
    }
    let last = &rows[texts.len()];
    assert_eq!(
        (&last["part_celsius"], &last["typed"]),
        (&json!("21.5"), &json!(true))
    );
    let few = of_every_dialect(
        &folder,
        &["--only", "verdict,at,over_wires", "--job", "J-1"],
    );
    assert_eq!(few.len(), 3);
    assert_eq!(few[2]["over_wires"], "1.0762");
}

#[test]
fn a_row_a_piece_is_described_as_well() {
    let (folder, _daemon) = shop("described-pieces");
    let rows = of_every_dialect(&folder, &["--rows", "pieces"]);
    let ours: Vec<&Value> = rows.iter().filter(|row| row["job"] == "J-1").collect();
    assert_eq!(ours.len(), 2);
    let read = |name: &str| ours[0][name].as_str().expect("a number").to_owned();
    assert_eq!(
        (read("over_wires_1"), read("over_wires_2")),
        ("1.0760".to_owned(), "1.0759".to_owned())
    );
    assert_eq!(read("pitch_diameter_range"), "0.0001");
    assert_eq!(
        ours[1]["over_wires_2"],
        Value::Null,
        "a piece of one reading"
    );
    let descriptor = json_of(&folder.join("comma.datapackage.json"));
    let fields = descriptor["resources"][0]["schema"]["fields"]
        .as_array()
        .expect("fields");
    let unit = |name: &str| {
        let field = fields
            .iter()
            .find(|field| field["name"] == name)
            .expect("the field");
        field["unitField"].clone()
    };
    assert_eq!(
        (unit("pitch_diameter_1"), unit("over_wires_1")),
        (json!("unit"), json!("unit"))
    );
}

#[test]
fn a_descriptor_says_which_record_and_choice_and_belongs_to_one_csv() {
    let (folder, daemon) = shop("described-one");
    let file = export(
        &folder,
        "readings.csv",
        &["--job", "J-1", "--where", "from=2026-01-01"],
    );
    let beside = folder.join("readings.datapackage.json");
    let descriptor = json_of(&beside);
    let health = daemon.get("/health");
    let head = daemon.get("/api/state")["record"]["head"].clone();
    let ours = &descriptor["overwire"];
    assert_eq!(
        ours["record"],
        json!({"entry": health["entries"], "head": head})
    );
    assert_eq!(ours["choice"], json!({"job": "J-1", "from": "2026-01-01"}));
    // A byte changed in the CSV, and then a decimal mark that is not its own, are found.
    let csv = std::fs::read(&file).expect("the file");
    std::fs::write(
        &file,
        String::from_utf8(csv)
            .expect("UTF-8")
            .replace("1.0762", "1.0763"),
    )
    .expect("the file");
    let found = by_descriptor(&beside);
    assert!(String::from_utf8_lossy(&found.stderr).contains("its hash"));
    export(&folder, "comma.csv", &["--dialect", "comma"]);
    let text = std::fs::read_to_string(folder.join("comma.datapackage.json")).expect("it");
    std::fs::write(
        folder.join("wrong.datapackage.json"),
        text.replace("\"decimalChar\": \",\"", "\"decimalChar\": \".\""),
    )
    .expect("it");
    assert!(
        !by_descriptor(&folder.join("wrong.datapackage.json"))
            .status
            .success()
    );
    // Not wanted: none is made.
    export(&folder, "plain.csv", &["--no-descriptor"]);
    assert!(!folder.join("plain.datapackage.json").exists());
}

#[test]
fn the_page_s_address_gives_the_same_descriptor() {
    let (folder, daemon) = shop("described-page");
    for (words, name) in [
        ("?job=J-1&dialect=comma", "readings-J-1"),
        ("?rows=pieces", "readings"),
    ] {
        let (status, head, csv) = client::fetch(daemon.address, &format!("/export.csv{words}"));
        assert_eq!(status, 200, "{head}");
        // The answer itself says where that is.
        let link = format!("link: </export.datapackage.json{words}>; rel=\"describedby\"");
        assert!(head.to_lowercase().contains(&link.to_lowercase()), "{head}");
        let descriptor = daemon.text(&format!("/export.datapackage.json{words}"));
        std::fs::write(folder.join(&format!("{name}.csv")), csv).expect("the CSV");
        let beside = folder.join(&format!("{name}.datapackage.json"));
        std::fs::write(&beside, descriptor).expect("the descriptor");
        assert!(!read(&beside)["rows"].as_array().expect("rows").is_empty());
    }
    assert_eq!(daemon.ask("/export.datapackage.json?dialect=german").0, 422);
}

/// By the descriptor beside it the last line of each entry in a file that grows is what the record gives; a file of
/// another's under its name is left alone.
#[test]
fn a_live_file_is_described_as_well() {
    const COLUMNS: &str =
        "entry,void,job,over_wires,pitch_diameter,unit,part_celsius,comment,void_reason";
    for dialect in DIALECTS {
        let named = COLUMNS.replace(',', "\", \"");
        let live = format!(
            "[live]\nfolder = \"live\"\nrotate = \"never\"\ndialect = \"{dialect}\"\ncolumns = [\"{named}\"]\n"
        );
        let (folder, daemon) = shop_with(&format!("described-live-{dialect}"), &live);
        let last = daemon.station("s0")["last"]["entry"].clone();
        let path = format!("/api/readings/{last}/void");
        daemon.done(&path, &json!({"reason":"=slipped","by":"AK"}));
        let ending = if dialect == "tab" { "tsv" } else { "csv" };
        let file = folder.join(&format!("live/readings.{ending}"));
        until("all is written", || {
            std::fs::read_to_string(&file).is_ok_and(|text| text.contains("=slipped"))
        });
        let beside = overwire::export::descriptor::path(&file);
        let mut lines = read(&beside)["rows"].as_array().expect("rows").clone();
        for line in &mut lines {
            line.as_object_mut().expect("a row").remove("as_of");
        }
        let csv = export(&folder, "all.csv", &["--only", COLUMNS]);
        let rows = read(&overwire::export::descriptor::path(&csv))["rows"].clone();
        let one_line = |text: &Value| text.to_string().replace("\\r", " ").replace("\\n", " ");
        assert_eq!(one_line(&json!(lines)), one_line(&rows), "{dialect}");
        // What another program put there stays.
        assert!(daemon.end());
        std::fs::write(&beside, "{\"mine\": true}").expect("a file of another's");
        let daemon = Daemon::start(&settings(&folder, 1, &live));
        until("it is looked at", || {
            daemon.get("/health")["live"]["file"].is_string()
        });
        let kept = std::fs::read_to_string(&beside).expect("it");
        assert_eq!(kept, "{\"mine\": true}", "{dialect}");
    }
}
