//! The inspection report, made by the daemon and at the command line from a record with everything in it, and printed
//! by a real browser: its page sizes, numbers of pages, repeated table heads, and its values beside those of the CSV
//! and of `/api`.

use std::collections::HashMap;
use std::path::PathBuf;
use std::process::Command;

use overwire_tests::daemon::{program, settings};
use overwire_tests::sheet::{A4, LETTER, are_all, numbered, pages, print, sizes, text_of};
use overwire_tests::{Daemon, Dice, Folder};
use serde_json::{Value, json};

/// A text that would run or break out of its place if it were taken for more than text.
const HOSTILE: &str = "<script>alert(1)</script>\"&'--> {x}";

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    fn new(name: &str, more: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, more));
        Shop { folder, daemon }
    }

    /// Wires, an instrument whose calibration is overdue, and a job of one thread with a characteristic number.
    fn set_up(&self, due: &str) {
        for (path, form) in [
            (
                "/api/wire-sets",
                json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811","0.04812","0.04810"],
                       "certificate":"C-2031","convention":"under_load","uncertainty":"0.00002",
                       "due":"2099-01-31","by":"AK"}),
            ),
            (
                "/api/instruments",
                json!({"instrument":"MIC-0","serial":"77-4410","unit":"in","resolution":"0.0001",
                       "max_error":"0.0001","certificate":"C-1993","due":due,"by":"AK"}),
            ),
            (
                "/api/jobs",
                json!({"job":"J-2417","drawing":"D-118","drawing_revision":"C","order":"PO-88","lot":"0042-07",
                       "features":[{"name":"stud end","characteristic":"12","thread":"1 1/16-12 UN-2A",
                                    "wire_set":"WS-12A"}],"by":"AK"}),
            ),
            (
                "/api/stations/s0/tags",
                json!({"job":"J-2417","purpose":"inspecting","operator":"AK","reason":"no standard here"}),
            ),
        ] {
            self.daemon.done(path, &form);
        }
    }

    fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    fn say(&self, reading: &Value, what: &str, form: &Value) {
        let entry = &reading["entry"];
        self.daemon
            .done(&format!("/api/readings/{entry}/{what}"), form);
    }

    fn check(&self, piece: i64, form: &Value) {
        let mut whole = json!({"job":"J-2417","feature":"stud end","piece":piece,"by":"AK"});
        if let (Some(whole), Some(form)) = (whole.as_object_mut(), form.as_object()) {
            whole.extend(form.clone());
        }
        self.daemon.done("/api/functional-checks", &whole);
    }

    /// Pieces that pass, one that fails, a void, a re-tag, and what gauges said.
    fn play(&self) {
        let first = self.measure("1.0760");
        assert_eq!(first["verdict"], "pass", "{first}");
        self.check(1, &json!({"result":"goes","gauge":"RING-12"}));
        let slipped = self.measure("1.0745");
        self.say(
            &slipped,
            "void",
            &json!({"reason":"wire slipped","by":"MB"}),
        );
        let doubted = self.measure("1.0751");
        self.say(&doubted, "void", &json!({"reason":"burr seen","by":"MB"}));
        let back = json!({"reason":"the burr is on another piece","by":"AK"});
        self.say(&doubted, "restore", &back);
        let failing = self.measure("1.0800");
        assert_eq!(failing["verdict"], "fail_over", "{failing}");
        self.check(3, &json!({"result":"does_not_go","gauge":"RING-12"}));
        let astray = self.measure("1.0755");
        self.say(
            &astray,
            "retag",
            &json!({"piece":6,"reason":"piece picked up in the wrong order","by":"MB"}),
        );
        let told = self.measure("1.0757");
        self.say(&told, "comment", &json!({"text":HOSTILE,"by":"AK"}));
    }

    fn page(&self, more: &str) -> String {
        self.daemon.text(&format!("/report?job=J-2417{more}"))
    }

    fn overwire(&self, arguments: &[&str]) -> (i32, String, String) {
        let output = Command::new(program("overwire", "overwire"))
            .args(arguments)
            .arg("--settings")
            .arg(self.folder.join("overwire.toml"))
            .output()
            .expect("overwire runs");
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        (
            output.status.code().unwrap_or(-1),
            text(output.stdout),
            text(output.stderr),
        )
    }

    /// The exported readings of the job as rows of named cells.
    fn rows(&self) -> Vec<HashMap<String, String>> {
        let (_, text, _) = self.overwire(&["export", "--job", "J-2417"]);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        reader
            .deserialize()
            .map(|row| row.expect("a row"))
            .collect()
    }

    fn print(&self, name: &str, html: &str) -> PathBuf {
        print(&self.folder, name, html)
    }
}

#[test]
fn a_job_with_everything_in_it_is_told_whole() {
    let shop = Shop::new("report-whole", "[uncertainty]\npitch_mm = 0.002\n");
    shop.set_up("2020-01-31");
    shop.play();
    let html = shop.page("");
    let text = text_of(&html);
    for wanted in [
        "Tarn Mill Machine Shop",
        "Drawing D-118",
        "Drawing revision C",
        "Order PO-88",
        "Lot or serial 0042-07",
        "1 1/16-12 UN-2A",
        "No. 12, stud end",
        "NOT PASSED. 4 of 5 pieces PASS over wires; 1 does not.",
        "Thread stud end: fails over wires: piece 3.",
        "Thread stud end: functional check does not go: piece 3.",
        "Calibration of the instrument was overdue on the day of 5 of 5 readings.",
        "goes: 1, does not go: 1, none recorded: 3",
        "done with RING-12 by AK on",
        "functional check: none recorded for 3 pieces (2, 5 to 6)",
        "77-4410 C-1993 2020-01-31 OVERDUE on the day of 5 readings",
        "0.04811, 0.04812, 0.04810 in C-2031 2099-01-31 in date for 5 readings",
        "VOID: wire slipped, by MB",
        "Piece 2, 1.0751 in: was void: burr seen, by MB,",
        "taken back: the burr is on another piece, by AK,",
        "Re-tagged by MB",
        "piece picked up in the wrong order; stamped as job J-2417, thread stud end, piece 4",
        "Remark: <script>alert(1)</script>\"&'--> {x}.",
        "Zero check: none that stood is recorded for 5 readings",
        "coverage factor k = ",
        "not functional size",
        "No histogram",
        "Inspected by",
        "Reviewed by",
    ] {
        assert!(text.contains(wanted), "`{wanted}` is missing in:\n{text}");
    }
    assert!(!html.contains("<script"), "no text becomes a script");
    for (at, _) in html.match_indices("://") {
        let before = &html[at.saturating_sub(4)..at + 16];
        assert!(before.contains("http://www.w3.org"), "an address: {before}");
    }
    let record = shop.daemon.get("/api/state")["record"].clone();
    let (entries, head) = (&record["entries"], record["head"].as_str().expect("a head"));
    assert!(text.contains(&format!(
        "Record up to entry {entries} Head of its chain {head}"
    )));
}

#[test]
fn values_limits_and_verdicts_are_those_of_the_csv_and_of_the_page() {
    let shop = Shop::new("report-same", "[uncertainty]\npitch_mm = 0.002\n");
    shop.set_up("2099-01-31");
    shop.play();
    let text = text_of(&shop.page(""));
    for row in shop.rows() {
        let unit = &row["unit"];
        let value = format!(
            "{} {unit} {} {unit}",
            row["over_wires"], row["pitch_diameter"]
        );
        assert!(text.contains(&value), "{value}");
        if row["counted"] == "1" {
            let known = format!(
                "{value} ± {} {unit} {}",
                row["uncertainty"], row["verdict_words"]
            );
            assert!(text.contains(&known), "{known} in {text}");
            let factor = format!("coverage factor k = {}", row["coverage_factor"]);
            assert!(text.contains(&factor), "{factor}");
        }
        let limits = format!(
            "{} to {} {unit}",
            row["pitch_diameter_min"], row["pitch_diameter_max"]
        );
        assert!(text.contains(&limits), "{limits}");
        assert!(text.contains(&row["local_time"]), "{}", row["local_time"]);
    }
    let found = shop
        .daemon
        .get("/api/statistics?job=J-2417&feature=stud%20end");
    let sections = found["sections"].as_array().expect("sections");
    for section in sections {
        for sentence in section["sentences"].as_array().expect("sentences") {
            let sentence = sentence.as_str().expect("a sentence");
            let flat = sentence.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(text.contains(&flat), "{flat}");
        }
    }
    let (code, written, told) = shop.overwire(&["report", "--job", "J-2417"]);
    assert_eq!(code, 0, "{told}");
    let own = |text: &str| {
        let from = text.find("Readings Times").unwrap_or_default();
        let to = text.find("Report made").unwrap_or(text.len());
        text[from..to].to_owned()
    };
    assert_eq!(
        own(&text_of(&written)),
        own(&text),
        "the command line says the same"
    );
}

#[test]
fn another_unit_changes_what_is_shown_and_nothing_that_was_decided() {
    let shop = Shop::new("report-unit", "");
    shop.set_up("2099-01-31");
    // A ten-thousandth of an inch inside the limit: rounded to a hundredth of a millimetre it would lie on it.
    let reading = shop.measure("1.0788");
    let text = text_of(&shop.page("&unit=mm"));
    let value: f64 = reading["pitch_diameter"]
        .as_str()
        .and_then(|text| text.parse().ok())
        .expect("a number");
    let shown = format!("{:.3} mm", value * 25.4);
    assert!(
        text.contains(&format!("1.0788 in {shown} PASS")),
        "{shown} in {text}"
    );
    assert!(text.contains("25.42540 to 25.57018 mm"), "{text}");
    assert!(text.contains("1 in = 25.4 mm exactly"));
    assert!(!text_of(&shop.page("")).contains("25.4254"));
    let failing = shop.measure("1.0790");
    assert_eq!(failing["verdict"], "fail_over");
    let text = text_of(&shop.page("&unit=mm&piece=2"));
    assert!(text.contains("FAIL over"), "{text}");
}

#[test]
fn a_first_article_a_piece_and_what_is_not_there() {
    let shop = Shop::new("report-pieces", "");
    shop.set_up("2099-01-31");
    let (status, refused) = shop.daemon.ask("/report?job=J-2417");
    assert_eq!(
        (status, &refused["code"]),
        (409, &json!("nothing-inspected"))
    );
    shop.play();
    let first = text_of(&shop.page("&piece=first"));
    assert!(
        first.contains("First article inspection report, piece 1"),
        "{first}"
    );
    assert!(first.contains("No capability and no chart"), "{first}");
    assert!(!first.contains("does not go"), "nothing of another piece");
    let third = text_of(&shop.page("&piece=3&paper=letter"));
    assert!(third.contains("Inspection report, piece 3") && third.contains("NOT PASSED"));
    let left = text_of(&shop.page("&piece=4"));
    assert!(
        left.contains("Now at job J-2417, thread stud end, piece 6."),
        "{left}"
    );
    let void = text_of(&shop.page("&piece=2"));
    assert!(void.contains("VOID: wire slipped"), "{void}");
    for (query, status, code) in [
        ("job=J-9", 404, "no-job"),
        ("job=J-2417&feature=nose", 404, "no-feature"),
        ("job=J-2417&piece=77", 404, "no-piece"),
        ("job=J-2417&piece=0", 422, "form-refused"),
        ("job=J-2417&paper=a5", 422, "form-refused"),
        ("job=J-2417&unit=ft", 422, "form-refused"),
        ("job=J-2417&peice=3", 422, "form-refused"),
    ] {
        let (found, refused) = shop.daemon.ask(&format!("/report?{query}"));
        assert_eq!(
            (found, &refused["code"]),
            (status, &json!(code)),
            "{query}: {refused}"
        );
    }
    let (_, refused) = shop.daemon.ask("/report?job=J-2417&peice=3");
    assert!(refused["fields"]["peice"].is_string(), "{refused}");
    let (code, _, told) = shop.overwire(&["report", "--job", "J-9"]);
    assert!(code == 66 && told.contains("there is no job J-9"), "{told}");
    let file = shop.folder.join("first.html");
    let path = file.to_str().expect("a path");
    let arguments = [
        "report",
        "--job",
        "J-2417",
        "--first-article",
        "--paper",
        "letter",
    ];
    let (code, _, told) = shop.overwire(&[&arguments[..], &["--out", path]].concat());
    assert!(code == 0 && told.contains("print it"), "{told}");
    let written = std::fs::read_to_string(&file).expect("the report");
    assert!(written.contains("size: letter portrait"));
}

#[test]
fn a_result_is_a_pass_only_where_nothing_lacks() {
    let shop = Shop::new("report-lacks", "");
    shop.set_up("2099-01-31");
    shop.measure("1.0760");
    let text = text_of(&shop.page(""));
    assert!(
        text.contains("PASS over wires: the piece is within"),
        "{text}"
    );
    assert!(
        !text.contains("NOT ") && !text.contains("was overdue on"),
        "{text}"
    );
    let held = shop.measure("27.331");
    assert_eq!(held["verdict"], "held", "{held}");
    let holds = |more: &str, wanted: &[&str]| {
        let text = text_of(&shop.page(more));
        for wanted in wanted {
            assert!(text.contains(wanted), "`{wanted}` is missing in:\n{text}");
        }
        assert!(!text.contains("PASS over wires:"), "{text}");
    };
    let waits = "Thread stud end: a reading is held and waits for an answer: piece 2.";
    let incomplete = "NOT COMPLETE. 1 of 2 pieces PASS over wires; 1 was not wholly inspected.";
    holds("", &[incomplete, waits]);
    holds(
        "&piece=2",
        &["NOT COMPLETE. The piece was not wholly inspected.", waits],
    );
    shop.say(&held, "answer", &json!({"answer":"other_unit","by":"AK"}));
    let text = text_of(&shop.page(""));
    assert!(text.contains("PASS over wires: 2 of 2 pieces"), "{text}");
    // A gauge's word counts on a piece nothing was measured of.
    shop.check(3, &json!({"result":"does_not_go","gauge":"RING-12"}));
    holds(
        "",
        &[
            "NOT PASSED. 2 of 3 pieces PASS over wires; 1 was not wholly inspected.",
            "functional check does not go: piece 3.",
            "Functional check: does not go: 1, none recorded: 2.",
        ],
    );
    shop.check(3, &json!({"result":"withdrawn","reason":"another piece"}));
    holds("", &["NOT COMPLETE. 2 of 3", "no reading counts: piece 3."]);
    let last = shop.measure("1.0760");
    assert_eq!(last["piece"], 3, "{last}");
    shop.check(3, &json!({"result":"does_not_go","gauge":"RING-12"}));
    holds("", &["NOT PASSED. 3 of 3 pieces PASS over wires."]);
}

#[test]
fn what_has_no_limits_or_is_undecided_is_no_reject() {
    let shop = Shop::new("report-no-limits", "[uncertainty]\npitch_mm = 0.002\n");
    shop.set_up("2020-01-31");
    shop.daemon.done(
        "/api/jobs",
        &json!({"job":"J-2417","decision":"guarded",
                "features":[{"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"},
                            {"name":"end","thread":"S27x2","wire_set":"WS-12A"}],"by":"AK"}),
    );
    let turn_to = |feature: &str| {
        let form = json!({"job":"J-2417","feature":feature,"purpose":"inspecting","operator":"AK"});
        shop.daemon.done("/api/stations/s0/tags", &form);
    };
    turn_to("end");
    for text in ["1.0760", "1.0761", "1.0762"] {
        let reading = shop.measure(text);
        assert_eq!(reading["verdict"], "none", "{reading}");
    }
    let text = text_of(&shop.page("&unit=mm"));
    for wanted in [
        "NOT COMPLETE. 0 of 3 pieces PASS over wires; 3 have no verdict.",
        "Thread stud end: no reading counts.",
        "Thread end: 3 readings without verdict: no limits are given.",
        "Calibration of the instrument was overdue on the day of 3 of 3 readings.",
        "No verdict for 3 readings: no limits are given.",
    ] {
        assert!(text.contains(wanted), "`{wanted}` is missing in:\n{text}");
    }
    assert!(!text.contains("compared"), "{text}");
    turn_to("stud end");
    let near = shop.measure("1.0788");
    assert_eq!(near["verdict"], "undecided", "{near}");
    shop.measure("1.0760");
    let text = text_of(&shop.page("&feature=stud%20end"));
    for wanted in [
        "NOT COMPLETE. 1 of 2 pieces PASS over wires; 1 is UNDECIDED.",
        "Thread stud end alone: other threads of the job are not reported on here.",
        "Thread stud end: UNDECIDED: piece 1.",
    ] {
        assert!(text.contains(wanted), "`{wanted}` is missing in:\n{text}");
    }
}

#[test]
fn a_single_piece_prints_on_a4_and_on_letter() {
    let shop = Shop::new("report-print-one", "");
    shop.set_up("2020-01-31");
    shop.play();
    for (paper, size) in [("a4", A4), ("letter", LETTER)] {
        let html = shop.page(&format!("&piece=first&paper={paper}"));
        let sheet = shop.print(&format!("one-{paper}"), &html);
        let (pages, sizes) = (pages(&sheet), sizes(&sheet));
        assert!(are_all(&sizes, size), "{sizes:?}");
        assert_eq!(pages.len(), sizes.len());
        numbered(&pages);
        let whole = pages.join(" ");
        for wanted in ["77-4410", "OVERDUE", "1.0760 in", "Signature", "Job J-2417"] {
            assert!(whole.contains(wanted), "`{wanted}` on {paper}: {whole}");
        }
    }
}

#[test]
fn three_hundred_pieces_print_with_repeated_heads_and_every_value() {
    let shop = Shop::new("report-print-many", "");
    shop.set_up("2099-01-31");
    let mut dice = Dice::new(7);
    let mut texts = Vec::new();
    for _ in 0..300 {
        let text = format!("1.07{:02}", 50 + dice.below(20));
        texts.push(shop.measure(&text));
    }
    let html = shop.page("");
    let sheet = shop.print("many", &html);
    let (pages, sizes) = (pages(&sheet), sizes(&sheet));
    assert!(are_all(&sizes, A4), "{sizes:?}");
    numbered(&pages);
    let heads = pages.iter().filter(|page| {
        page.lines()
            .any(|line| line.contains("Piece") && line.contains("Verdict") && line.contains("When"))
    });
    let heads = heads.count();
    assert!(heads >= 5, "heads on {heads} of {} pages", pages.len());
    let mut found = 0;
    let lines: Vec<String> = pages
        .iter()
        .flat_map(|page| page.lines())
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    for row in shop.rows() {
        let wanted = format!(
            "{} {} in {} in {}",
            row["piece"], row["over_wires"], row["pitch_diameter"], row["verdict_words"]
        );
        assert!(
            lines.iter().any(|line| line.starts_with(&wanted)),
            "{wanted}"
        );
        found += 1;
    }
    assert_eq!(found, 300);
}
