//! Readings found again by what they are tagged with, and written in every dialect, a row a reading and a row a
//! piece.

use std::collections::BTreeMap;
use std::process::Command;

use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder, client, office};
use serde_json::{Value, json};

/// Two jobs to two drawings, two stations, two people; a void, a re-tagged reading, a piece that was begun again.
struct Shop {
    folder: Folder,
    daemon: Daemon,
    /// What the page says of the functional check of the first piece of J-2.
    check: String,
}

impl Shop {
    fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 2, ""));
        let set = json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811"],"by":"AK"});
        daemon.done("/api/wire-sets", &set);
        let instrument = json!({"instrument":"MIC-1","serial":"S-4711","unit":"in","by":"AK"});
        daemon.done("/api/instruments", &instrument);
        for (job, drawing, lot) in [("J-1", "HF-1716-03", "71"), ("J-2", "SP-40-0007", "H 5")] {
            let feature = json!({"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"});
            let form = json!({"job":job,"drawing":drawing,"drawing_revision":"C","lot":lot,
                "readings_a_piece":2,"features":[feature],"by":"AK"});
            daemon.done("/api/jobs", &form);
        }
        let mut shop = Shop {
            folder,
            daemon,
            check: String::new(),
        };
        shop.readings();
        shop
    }

    fn readings(&mut self) {
        self.tags(
            "s0",
            json!({"job":"J-1","purpose":"inspecting","operator":"AK"}),
        );
        self.tags(
            "s1",
            json!({"job":"J-2","purpose":"inspecting","operator":"BL"}),
        );
        for text in ["1.0770", "1.0772", "1.0775", "1.07735"] {
            self.measure("s0", text);
        }
        let slipped = self.measure("s1", "1.0749");
        self.say(&slipped, "void", json!({"reason":"wire slipped","by":"BL"}));
        for text in ["1.0760", "1.0761", "1.0763"] {
            self.measure("s1", text);
        }
        // The fourth was a piece of the other job.
        let moved = self.measure("s1", "1.0766");
        let moved_to =
            json!({"job":"J-1","feature":"end","piece":9,"reason":"wrong tray","by":"BL"});
        self.say(&moved, "retag", moved_to);
        let check = json!({"job":"J-2","feature":"end","piece":1,"attempt":1,"result":"goes","gauge":"RING-12","by":"BL"});
        let told = self.daemon.done("/api/functional-checks", &check);
        self.check = told["sentence"].as_str().expect("a sentence").to_owned();
        self.tags("s1", json!({"piece":1}));
        self.measure("s1", "1.0758");
    }

    fn tags(&self, station: &str, tags: Value) {
        self.daemon
            .done(&format!("/api/stations/{station}/tags"), &tags);
    }

    fn measure(&self, station: &str, text: &str) -> Value {
        let path = format!("/api/stations/{station}/reading");
        self.daemon.done(&path, &json!({"text":text}))
    }

    fn say(&self, reading: &Value, what: &str, form: Value) {
        let path = format!("/api/readings/{}/{what}", reading["entry"]);
        self.daemon.done(&path, &form);
    }

    /// A download from the page, as text.
    fn file(&self, words: &str) -> String {
        let (status, _, body) = client::fetch(self.daemon.address, &format!("/export.csv?{words}"));
        assert_eq!(status, 200, "{words}");
        String::from_utf8(body).expect("UTF-8")
    }

    /// The rows of a download, by the names of its columns.
    fn rows(&self, words: &str) -> Vec<BTreeMap<String, String>> {
        parsed(&self.file(words), b',')
    }

    /// Over-wires texts of the readings that are found.
    fn found(&self, words: &str) -> Vec<String> {
        let rows = self.rows(words);
        rows.into_iter()
            .map(|row| row["over_wires"].clone())
            .collect()
    }
}

fn parsed(text: &str, separator: u8) -> Vec<BTreeMap<String, String>> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .from_reader(text.as_bytes());
    reader
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("a CSV")
}

const JOB_1: [&str; 5] = ["1.0770", "1.0772", "1.0775", "1.07735", "1.0766"];
const JOB_2: [&str; 6] = ["1.0749", "1.0760", "1.0761", "1.0763", "1.0766", "1.0758"];

#[test]
fn readings_are_found_by_whatever_they_are_tagged_with() {
    let shop = Shop::new("finding");
    assert_eq!(shop.found("").len(), 10);
    assert_eq!(
        shop.found("job=j-1"),
        JOB_1,
        "the one that was moved there too"
    );
    assert_eq!(
        shop.found("job=J-2"),
        JOB_2,
        "and the one that was moved away"
    );
    assert_eq!(shop.found("job=J-*").len(), 10);
    assert_eq!(shop.found("drawing=hf-1716-03"), JOB_1);
    assert_eq!(shop.found("lot=H+5"), JOB_2);
    assert_eq!(shop.found("drawing=HF*&lot=H+5"), Vec::<String>::new());
    assert_eq!(shop.found("operator=ak"), JOB_1[..4]);
    assert_eq!(
        shop.found("instrument=S-4711"),
        JOB_2,
        "by its serial number"
    );
    assert_eq!(shop.found("instrument=MIC-0"), JOB_1[..4]);
    assert_eq!(shop.found("wire_set=WS*").len(), 10);
    assert_eq!(shop.found("job=J-1&piece=2"), ["1.0775", "1.07735"]);
    assert_eq!(shop.found("piece=9"), ["1.0766"]);
    assert_eq!(shop.found("station=s1&purpose=inspecting"), JOB_2);
    let today = &shop.rows("")[0]["local_time"][..10];
    assert_eq!(
        shop.found(&format!("from={today}&instrument=MIC-1")).len(),
        6
    );
    assert_eq!(
        shop.found(&format!("from={today}&to={today}")).len(),
        10,
        "both days belong to it"
    );
    assert_eq!(shop.found("to=2020-01-01"), Vec::<String>::new());
    assert_eq!(shop.found("from=2020-01-01&to=2099-12-31").len(), 10);
    command_line_finds_the_same(&shop);
}

fn command_line_finds_the_same(shop: &Shop) {
    for (conditions, words) in [
        (
            &["instrument=S-4711", "from=2020-01-01"][..],
            "instrument=MIC-1",
        ),
        (&["wire-set=ws-12a", "operator=BL"][..], "operator=BL"),
        (&["drawing=SP*"][..], "drawing=SP-40-0007"),
    ] {
        let mut command = Command::new(program("overwire", "overwire"));
        command
            .args(["export", "--record"])
            .arg(shop.folder.join("record.db"));
        for condition in conditions {
            command.args(["--where", condition]);
        }
        let output = command.output().expect("overwire export");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        assert_eq!(
            String::from_utf8_lossy(&output.stdout),
            shop.file(words),
            "{conditions:?}"
        );
    }
}

#[test]
fn what_cannot_be_asked_is_refused_at_its_field() {
    let shop = Shop::new("finding-refused");
    for (words, field) in [
        ("from=31.3.2026", "from"),
        ("piece=seven", "piece"),
        ("from=2026-03-02&to=2026-03-01", "to"),
        ("jop=J-1", "jop"),
        ("dialect=odd", "dialect"),
        ("rows=columns", "rows"),
    ] {
        let (status, answer) = shop.daemon.ask(&format!("/export.csv?{words}"));
        assert_eq!(status, 422, "{words}");
        assert!(answer["fields"][field].is_string(), "{words}: {answer}");
    }
    for (condition, wanted) in [
        ("jop=J-1", "drawing"),
        ("from=1.2.", "2026-03-31"),
        ("J-1", "operator=AK"),
    ] {
        let output = Command::new(program("overwire", "overwire"))
            .args(["export", "--where", condition, "--record"])
            .arg(shop.folder.join("record.db"))
            .output()
            .expect("overwire export");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(wanted) && output.stdout.is_empty(), "{said}");
    }
}

/// Each dialect says the same: what is parted and marked its own way comes back as the exchange form has it.
#[test]
fn dialects_differ_in_their_marks_only() {
    let shop = Shop::new("finding-dialects");
    for rows in ["readings", "pieces"] {
        let exchange = shop.file(&format!("rows={rows}"));
        let wanted = parsed(&exchange, b',');
        assert!(!exchange.starts_with('\u{FEFF}') && wanted.len() > 5);
        for (dialect, separator, mark) in [
            ("point", b',', true),
            ("comma", b';', true),
            ("tab", b'\t', false),
        ] {
            let text = shop.file(&format!("rows={rows}&dialect={dialect}"));
            assert_eq!(text.starts_with('\u{FEFF}'), mark, "{dialect}");
            let mut found = parsed(&text, separator);
            for row in &mut found {
                for (name, cell) in row.iter_mut() {
                    let is_length = name.starts_with("pitch_diameter")
                        || name.contains("over_")
                        || name.contains("lead_angle");
                    if dialect == "comma" && is_length {
                        assert!(!cell.contains('.'), "{name}: {cell}");
                        *cell = cell.replace(',', ".");
                    }
                }
            }
            assert_eq!(found, wanted, "{dialect}");
        }
    }
}

/// The figures of a piece, worked out here from the pitch diameters as the record holds them.
#[test]
fn a_row_a_piece_tells_what_its_readings_add_up_to() {
    let shop = Shop::new("finding-pieces");
    let rows = shop.rows("rows=pieces&job=J-2");
    let pieces: Vec<[&str; 4]> = rows
        .iter()
        .map(|row| ["piece", "attempt", "newest", "readings"].map(|name| row[name].as_str()))
        .collect();
    assert_eq!(
        pieces,
        [
            ["1", "1", "0", "2"],
            ["1", "2", "1", "1"],
            ["2", "1", "1", "1"]
        ],
        "{rows:#?}"
    );
    let first = &rows[0];
    assert_eq!(
        (first["left_out"].as_str(), first["lot"].as_str()),
        ("1", "H 5")
    );
    assert_eq!(first["thread"], "1 1/16-12 UN-2A");
    let record = rusqlite::Connection::open(shop.folder.join("record.db")).expect("the record");
    let exact = |text: &str| -> f64 {
        let sql = "SELECT pitch_diameter_mm / 25.4 FROM reading WHERE text = ?1 AND job = 'J-2'";
        record
            .query_row(sql, [text], |row| row.get(0))
            .expect("a pitch diameter")
    };
    let (low, high) = (exact("1.0760"), exact("1.0761"));
    assert_eq!(
        first["pitch_diameter_mean"],
        format!("{:.5}", (low + high) / 2.0)
    );
    assert_eq!(first["pitch_diameter_smallest"], format!("{low:.4}"));
    assert_eq!(first["pitch_diameter_largest"], format!("{high:.4}"));
    assert_eq!(first["pitch_diameter_range"], "0.0001");
    assert_eq!(
        (
            first["over_wires_1"].as_str(),
            first["over_wires_2"].as_str()
        ),
        ("1.0760", "1.0761")
    );
    assert_eq!(first["pitch_diameter_2"], format!("{high:.4}"));
    // ASME B1.1, 1 1/16-12 UN-2A: 1.0010 to 1.0067, from the formulas of the standard.
    let limits = (
        first["pitch_diameter_min"].as_str(),
        first["pitch_diameter_max"].as_str(),
    );
    assert_eq!(limits, ("1.0010", "1.0067"));
    let check =
        ["functional_result", "functional_gauge", "functional_by"].map(|name| first[name].as_str());
    assert_eq!(check, ["goes", "RING-12", "BL"]);
    assert_eq!(first["functional_check"], shop.check, "as the page says it");
    let single = &rows[1];
    assert_eq!(
        single["functional_result"], "none",
        "begun again, it was not tried again"
    );
    assert_eq!(
        (
            single["pitch_diameter_range"].as_str(),
            single["pitch_diameter_2"].as_str()
        ),
        ("", "")
    );
    moved_readings_stand_with_their_piece(&shop);
}

fn moved_readings_stand_with_their_piece(shop: &Shop) {
    let rows = shop.rows("rows=pieces&job=J-1");
    let pieces: Vec<(&str, &str)> = rows
        .iter()
        .map(|row| (row["piece"].as_str(), row["readings"].as_str()))
        .collect();
    assert_eq!(pieces, [("1", "2"), ("2", "2"), ("9", "1")]);
    assert_eq!(rows[2]["operator"], "BL");
    assert_eq!(rows[2]["over_wires_1"], "1.0766");
    // One display read a place finer than the other: the piece is told as finely.
    assert_eq!(rows[1]["pitch_diameter_smallest"].len(), "0.00000".len());
}

/// A reading in millimetres on a piece that was read in inches: 27.33 mm are 1.07598 in (25.4 mm an inch).
#[test]
fn lengths_of_a_row_are_in_the_row_s_unit() {
    let shop = Shop::new("finding-units");
    shop.tags("s0", json!({"job":"J-1","purpose":"inspecting","piece":20}));
    shop.measure("s0", "1.0768");
    let other = json!({"text":"27.330","unit":"mm"});
    shop.daemon.done("/api/stations/s0/reading", &other);
    let rows = shop.rows("rows=pieces&job=J-1&piece=20");
    assert_eq!(rows[0]["unit"], "in");
    assert_eq!(rows[0]["over_wires_1"], "1.0768");
    assert_eq!(rows[0]["over_wires_2"], "1.07598");
}

/// A spreadsheet that writes decimal commas opens its dialect with numbers as numbers and ids as text.
#[test]
fn a_spreadsheet_with_decimal_commas_reads_numbers() {
    let shop = Shop::new("finding-office");
    let file = shop.folder.join("readings.csv");
    std::fs::write(&file, shop.file("dialect=comma")).expect("the file");
    // Semicolon, quote, UTF-8, from line 1, columns left to the program, German habits (LCID 1031).
    let habits = "CSV:59,34,76,1,,1031,false,true,false,false,false,0,true";
    let rows = office::opened(&shop.folder, &file, habits);
    let names: Vec<&str> = rows[0]
        .iter()
        .map(|cell| cell["text"].as_str().unwrap_or_default())
        .collect();
    for (row, wanted) in rows[1..].iter().zip(shop.rows("")) {
        for (cell, name) in row.iter().zip(&names) {
            let wanted = &wanted[*name];
            let is_length = ["over_wires", "pitch_diameter", "over_max", "over_min"].contains(name);
            if is_length && !wanted.is_empty() {
                assert_eq!(cell["kind"], "float", "{name}: {cell}");
                let number: f64 = cell["number"]
                    .as_str()
                    .and_then(|n| n.parse().ok())
                    .expect("a number");
                assert_eq!(Ok(number), wanted.parse(), "{name}");
            }
        }
    }
    assert_eq!(rows.len(), 11);
}

fn run(shop: &Shop, arguments: &[&str]) -> (Option<i32>, String) {
    let output = Command::new(program("overwire", "overwire"))
        .args(arguments)
        .arg("--settings")
        .arg(shop.folder.join("overwire.toml"))
        .current_dir(shop.folder.join("."))
        .output()
        .expect("overwire");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), said)
}

/// Neither the record nor what belongs to it nor the settings are written over, by whatever name they are called.
#[test]
fn what_overwire_keeps_is_spared() {
    let shop = Shop::new("finding-spared");
    let record = std::fs::read(shop.folder.join("record.db")).expect("the record");
    let settings = std::fs::read(shop.folder.join("overwire.toml")).expect("the settings");
    std::os::unix::fs::symlink(shop.folder.join("record.db"), shop.folder.join("link.csv"))
        .expect("a link");
    for out in [
        "record.db",
        "./record.db",
        "link.csv",
        "record.db-wal",
        "overwire.toml",
    ] {
        for command in [&["export"][..], &["report", "--job", "J-1"]] {
            let (code, said) = run(&shop, &[command, &["--out", out]].concat());
            assert_eq!(code, Some(2), "{command:?} {out}: {said}");
            assert!(said.contains("kept by overwire itself"), "{said}");
        }
    }
    assert!(record == std::fs::read(shop.folder.join("record.db")).expect("the record"));
    assert!(settings == std::fs::read(shop.folder.join("overwire.toml")).expect("the settings"));
    assert_eq!(run(&shop, &["verify"]).0, Some(0));
}

#[test]
fn options_that_do_not_go_together_are_refused_and_nothing_found_is_said() {
    let shop = Shop::new("finding-options");
    for (arguments, wanted) in [
        (&["--rows", "pieces", "--only", "piece"][..], "--only"),
        (&["--out", "x.ods"][..], ".xlsx"),
        (&["--job", "J-1", "--where", "job=J-2"][..], "given twice"),
        (&["--where", "from=2026-11-30T05:00"][..], "no day"),
    ] {
        let (code, said) = run(&shop, &[&["export"], arguments].concat());
        assert_eq!(code, Some(2), "{arguments:?}: {said}");
        assert!(said.contains(wanted), "{said}");
    }
    let (code, said) = run(&shop, &["export", "--job", "NOSUCH", "--out", "none.csv"]);
    assert_eq!(code, Some(0));
    assert!(said.contains("No reading is meant"), "{said}");
    let (code, said) = run(&shop, &["export", "--out", "nowhere/x.csv"]);
    assert_eq!(code, Some(74));
    assert!(said.contains("nowhere/x.csv"), "{said}");
}

/// Two jobs whose names differ in capitals only can be had one by one.
#[test]
fn a_job_named_to_the_letter_is_meant_alone() {
    let shop = Shop::new("finding-letter");
    let feature = json!({"name":"end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"});
    shop.daemon.done(
        "/api/jobs",
        &json!({"job":"j-1","features":[feature],"by":"AK"}),
    );
    shop.tags("s0", json!({"job":"j-1","purpose":"inspecting"}));
    shop.measure("s0", "1.0768");
    assert_eq!(shop.found("job=j-1"), ["1.0768"]);
    assert_eq!(shop.found("job=J-1"), JOB_1);
    assert_eq!(shop.found("job=J-1*").len(), JOB_1.len() + 1);
}
