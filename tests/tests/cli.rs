//! The command line as a person and a program meet it: what it says, where, and its exit codes.

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

fn overwire(arguments: &[&str]) -> Output {
    Command::new(program("overwire", "overwire"))
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .expect("overwire runs")
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path of plain characters")
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

#[test]
fn check_accepts_what_is_sound_and_says_when_there_is_no_file() {
    let folder = Folder::new("cli-sound");
    let file = settings(&folder, 2, "");
    let plain = overwire(&["check", "--settings", text(&file)]);
    assert_eq!(plain.status.code(), Some(0), "{}", said(&plain.stderr));
    assert!(said(&plain.stdout).contains("2 station"));
    let as_json = overwire(&["check", "--json", "--settings", text(&file)]);
    let found: Value = serde_json::from_slice(&as_json.stdout).expect("JSON");
    assert_eq!(found, json!({"sound": true, "error": null, "problems": []}));
    let missing = folder.join("nowhere.toml");
    for arguments in [
        &["check", "--settings", text(&missing)][..],
        &["check", "--json", "--settings", text(&missing)][..],
        &["run", "--settings", text(&missing)][..],
    ] {
        assert_eq!(overwire(arguments).status.code(), Some(66), "{arguments:?}");
    }
}

#[test]
fn ports_lists_what_is_plugged_in() {
    let plain = overwire(&["ports"]);
    assert_eq!(plain.status.code(), Some(0), "{}", said(&plain.stderr));
    let listed = overwire(&["ports", "--json"]);
    let found: Value = serde_json::from_slice(&listed.stdout).expect("JSON");
    let found = found.as_array().expect("a list");
    for port in found {
        let path = port["port"].as_str().expect("its path");
        assert!(Path::new(path).exists(), "{path} is listed and not there");
        assert!(said(&plain.stdout).contains(path), "{path}");
        assert!(port["can_be_opened"].is_boolean() && port["names"].is_array());
    }
    if found.is_empty() {
        assert!(said(&plain.stdout).contains("No serial ports"));
    }
}

/// Asks `overwire convert` and gives the answer to each line, read before the next is sent.
fn convert<'a>(lines: impl IntoIterator<Item = &'a [u8]>) -> Vec<Value> {
    let mut child = Command::new(program("overwire", "overwire"))
        .arg("convert")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("overwire convert");
    let mut ask = child.stdin.take().expect("its input");
    let mut answers = BufReader::new(child.stdout.take().expect("its output")).lines();
    let mut all = Vec::new();
    for line in lines {
        ask.write_all(line).expect("the line is taken");
        ask.write_all(b"\n").expect("the line is taken");
        let answer = answers.next().expect("an answer").expect("text");
        all.push(serde_json::from_str(&answer).expect("JSON"));
    }
    drop(ask);
    assert!(answers.next().is_none(), "nothing more is said");
    assert!(child.wait().expect("its end").success());
    all
}

fn converted(question: &Value) -> Value {
    convert([question.to_string().as_bytes()]).remove(0)
}

fn number(answer: &Value, name: &str) -> f64 {
    answer[name]
        .as_f64()
        .unwrap_or_else(|| panic!("{name} of {answer}"))
}

/// 9/16-18 UNF-2A over 0.0395 in: pitch diameter 0.5205 to 0.5250 in (ASME B1.1, from memory). By hand,
/// with the plane formula M = d2 + 3 w - 0.866025 P (common practice, no source): 0.59089 to 0.59539; the
/// lead angle adds about 0.00003. To four places 0.5909 to 0.5954.
#[test]
fn convert_gives_the_window_and_a_verdict() {
    let ask = |over_wires: f64| {
        converted(&json!({"thread":"9/16-18 UNF-2A","wires":0.0395,"over_wires":over_wires}))
    };
    let answer = ask(0.5930);
    let places = |name: &str| format!("{:.4}", number(&answer, name));
    assert_eq!(places("over_wires_min"), "0.5909");
    assert_eq!(places("over_wires_max"), "0.5954");
    for (name, by_hand) in [("over_wires_min", 0.59089), ("over_wires_max", 0.59539)] {
        let above_the_plane = number(&answer, name) - by_hand;
        assert!(
            (0.00002..0.00005).contains(&above_the_plane),
            "{name}: {answer}"
        );
    }
    for (over_wires, verdict) in [
        (0.5908, "fail_under"),
        (0.5910, "pass"),
        (0.5953, "pass"),
        (0.5956, "fail_over"),
    ] {
        assert_eq!(ask(over_wires)["verdict"], verdict, "{over_wires}");
    }
}

#[test]
fn convert_answers_a_bad_line_and_goes_on() {
    let good = br#"{"thread":"9/16-18 UNF-2A","wires":0.0395,"over_wires":0.5930}"#;
    let bad: [&[u8]; 9] = [
        b"nonsense",
        b"[1,2]",
        b"\xff\xfe",
        br#"{"thread":"9/16-18 UNF-2A","wires":-1,"over_wires":0.59}"#,
        br#"{"thread":"9/16-18 UNX-2A","wires":0.0395,"over_wires":0.59}"#,
        br#"{"thread":"9/16-18 UNF-2A","wires":[0.03,0.03],"over_wires":0.59}"#,
        br#"{"thread":"9/16-18 UNF-2A","wirse":0.0395}"#,
        br#"{"thread":"9/16-18 UNF-2A","wires":0.0395,"over_wires":1e300}"#,
        br#"{"wires":0.0395,"over_wires":0.59}"#,
    ];
    let lines = bad.iter().flat_map(|bad| [*bad, &good[..]]);
    for (index, answer) in convert(lines).iter().enumerate() {
        if index % 2 == 0 {
            let error = answer["error"].as_str().unwrap_or_default();
            assert!(!error.is_empty(), "line {index}: {answer}");
        } else {
            assert_eq!(answer["verdict"], "pass", "line {index}: {answer}");
        }
    }
}

/// Rows of the reference that core is tested with: an independent solution at 40 digits.
struct Row {
    geometry: Value,
    wire: f64,
    pitch_diameter: f64,
    over_wires: f64,
}

fn reference() -> Vec<Row> {
    let table = include_str!("../../core/tests/published/helix_reference.csv");
    let rows = table.lines().skip(1).filter(|line| !line.trim().is_empty());
    rows.map(|line| {
        let cells: Vec<f64> = line
            .split(',')
            .take(7)
            .map(|cell| cell.parse().expect("a number"))
            .collect();
        Row {
            geometry: json!({"pitch":cells[0],"starts":cells[1] as u32,"leading_flank_deg":cells[2],"trailing_flank_deg":cells[3]}),
            wire: cells[4],
            pitch_diameter: cells[5],
            over_wires: cells[6],
        }
    })
    .collect()
}

/// A part in a million of a tenth of a micrometre: what is told is core's own number, unrounded.
const EXACT_MM: f64 = 1e-9;

#[test]
fn convert_agrees_with_the_reference_both_ways() {
    let rows = reference();
    let ask = |row: &Row, name: &str, value: f64| {
        json!({"geometry":row.geometry,"unit":"mm","wires":row.wire,name:value}).to_string()
    };
    let forth: Vec<String> = rows
        .iter()
        .map(|row| ask(row, "pitch_diameter", row.pitch_diameter))
        .collect();
    let back: Vec<String> = rows
        .iter()
        .map(|row| ask(row, "over_wires", row.over_wires))
        .collect();
    let lines = forth.iter().chain(&back).map(String::as_bytes);
    let answers = convert(lines);
    let (forth, back) = answers.split_at(rows.len());
    let mut compared = 0;
    for (index, row) in rows.iter().enumerate() {
        for (answer, name, wanted) in [
            (&forth[index], "over_wires", row.over_wires),
            (&back[index], "pitch_diameter", row.pitch_diameter),
        ] {
            // The reference also holds wires that no person could lay; those are refused, with a reason.
            if answer["seat"] == "neighbours_touch" {
                assert!(row.wire > 0.8 * number(&row.geometry, "pitch"), "{answer}");
                assert_eq!(answer[name], Value::Null);
                continue;
            }
            let off = (number(answer, name) - wanted).abs();
            assert!(
                off < EXACT_MM,
                "row {}: off by {off:e}: {answer}",
                index + 2
            );
            compared += 1;
        }
    }
    assert!(compared >= 80, "only {compared} were compared");
}

/// Over three unequal wires the lone one counts half and each of the pair a quarter; the readings over
/// each wire alone are the reference's.
#[test]
fn convert_takes_unequal_wires() {
    let rows = reference();
    let mut checked = 0;
    for three in rows.windows(3) {
        let [single, first, second] = three else {
            continue;
        };
        let alike = |other: &Row| {
            other.geometry == single.geometry && other.pitch_diameter == single.pitch_diameter
        };
        if !alike(first) || !alike(second) {
            continue;
        }
        let wires = json!([single.wire, first.wire, second.wire]);
        let wanted = single.over_wires / 2.0 + (first.over_wires + second.over_wires) / 4.0;
        let answer = converted(
            &json!({"geometry":single.geometry,"wires":wires,"pitch_diameter":single.pitch_diameter}),
        );
        if answer["seat"] == "neighbours_touch" {
            continue;
        }
        let off = (number(&answer, "over_wires") - wanted).abs();
        assert!(off < EXACT_MM, "off by {off:e}: {answer}");
        checked += 1;
    }
    assert!(checked >= 5, "only {checked} were checked");
}

#[test]
fn a_wire_that_rides_on_the_crest_gets_a_reason_and_no_number() {
    let answer = converted(&json!({"thread":"9/16-18 UNF-2A","wires":0.065,"over_wires":0.66}));
    assert_eq!(answer["seat"], "rides_crest_edge");
    for name in ["pitch_diameter", "verdict", "left_to_max", "left_to_middle"] {
        assert_eq!(answer.get(name), Some(&Value::Null), "{name}: {answer}");
    }
    let warnings = answer["warnings"].to_string();
    assert!(warnings.contains("crest"), "{warnings}");
    // What is named as usable must be usable.
    for name in ["wire_min", "wire_max", "best_wire"] {
        let wire = number(&answer, name);
        let wire = if name == "wire_min" {
            wire * 1.0001
        } else {
            wire * 0.9999
        };
        let again = converted(&json!({"thread":"9/16-18 UNF-2A","wires":wire}));
        assert!(again["over_wires_min"].is_number(), "{name}: {again}");
    }
}

/// A record with three typed readings of two jobs.
fn some_record(folder: &Folder) {
    let daemon = Daemon::start(&settings(folder, 1, ""));
    daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.0395"],"by":"AK"}),
    );
    for (job, texts) in [("J-1", &["0.5930", "0.5931"][..]), ("J-2", &["0.5932"][..])] {
        daemon.done("/api/jobs", &json!({"job":job,"features":[{"name":"end","thread":"9/16-18 UNF-2A","wire_set":"WS"}],"by":"AK"}));
        daemon.done(
            "/api/stations/s0/tags",
            &json!({"job":job,"purpose":"inspecting"}),
        );
        for text in texts {
            daemon.done("/api/stations/s0/reading", &json!({"text":text}));
        }
    }
    assert!(daemon.end());
}

#[test]
fn export_writes_the_same_to_a_file_and_to_standard_output() {
    let folder = Folder::new("cli-export");
    some_record(&folder);
    let record = folder.join("record.db");
    let out = folder.join("out.csv");
    let to_stdout = overwire(&["export", "--record", text(&record)]);
    assert_eq!(to_stdout.status.code(), Some(0));
    let settings_file = folder.join("overwire.toml");
    let to_file = overwire(&[
        "export",
        "--settings",
        text(&settings_file),
        "--out",
        text(&out),
    ]);
    assert_eq!(to_file.status.code(), Some(0), "{}", said(&to_file.stderr));
    assert!(to_file.stdout.is_empty());
    assert!(said(&to_file.stderr).contains("3 row"));
    assert_eq!(std::fs::read(&out).expect("the file"), to_stdout.stdout);
    assert!(!folder.join("out.csv.part").exists(), "a half file is left");
    assert_eq!(said(&to_stdout.stdout).lines().count(), 4);
    let one_job = overwire(&["export", "--record", text(&record), "--job", "J-2"]);
    let one_job = said(&one_job.stdout);
    assert_eq!(one_job.lines().count(), 2, "{one_job}");
    assert!(one_job.contains("0.5932") && !one_job.contains("J-1"));
    let columns = said(&overwire(&["export", "--columns"]).stdout);
    let header = said(&to_stdout.stdout);
    let header: Vec<&str> = header
        .lines()
        .next()
        .unwrap_or_default()
        .split(',')
        .collect();
    let explained: Vec<&str> = columns
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(explained, header, "each column is explained");
}

#[test]
fn exit_codes_tell_what_is_wrong() {
    let folder = Folder::new("cli-codes");
    some_record(&folder);
    let record = folder.join("record.db");
    let missing = folder.join("nowhere.db");
    let other = folder.join("other.db");
    std::fs::write(&other, "this is no record ".repeat(400)).expect("a file");
    let no_folder = folder.join("nowhere/out.csv");
    for (code, arguments) in [
        (0, &["verify", "--record", text(&record)][..]),
        (66, &["verify", "--record", text(&missing)][..]),
        (74, &["verify", "--record", text(&other)][..]),
        (66, &["export", "--record", text(&missing)][..]),
        (74, &["export", "--record", text(&other)][..]),
        (
            74,
            &[
                "export",
                "--record",
                text(&record),
                "--out",
                text(&no_folder),
            ][..],
        ),
        (2, &["verify", "--recrod", text(&record)][..]),
        (2, &["measure"][..]),
        (2, &[][..]),
        (0, &["--version"][..]),
    ] {
        let output = overwire(arguments);
        let told = said(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {told}");
        assert!(!told.contains("panicked"), "{told}");
        assert_eq!(code == 0, told.is_empty(), "{arguments:?}: {told}");
    }
    assert!(!missing.exists(), "asking for a record must not make one");
}

/// Words of programmers that a person at a lathe need not know. Names of file forms (CSV, JSON) stay: they
/// are what is asked for.
const JARGON: [&str; 20] = [
    "stdin",
    "stdout",
    "sqlite",
    "schema",
    "tty",
    "socket",
    "regex",
    "parse",
    "null",
    "boolean",
    "string",
    "payload",
    "endpoint",
    "localhost",
    "mutex",
    "async",
    "hash",
    "utf-8",
    "api",
    "uuid",
];

#[test]
fn help_is_short_plain_and_fits_the_screen() {
    for command in [
        "", "run", "ports", "check", "export", "verify", "convert", "describe", "chart", "study",
    ] {
        let arguments: Vec<&str> = [command, "--help"]
            .into_iter()
            .filter(|word| !word.is_empty())
            .collect();
        let output = overwire(&arguments);
        assert_eq!(output.status.code(), Some(0), "{command}");
        let help = said(&output.stdout);
        assert!(help.lines().count() <= 30, "{command}: {help}");
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{command}: {line}");
        }
        let lower = help.to_lowercase();
        let mut words = lower.split(|c: char| !c.is_alphanumeric() && c != '-');
        let jargon = words.find(|word| JARGON.contains(word));
        assert_eq!(jargon, None, "{command}: {help}");
    }
    assert!(said(&overwire(&["--help"]).stdout).contains("Never measure on a turning spindle"));
}

/// 1/2-13 UNC-2A is 0.4485 to 0.4435 in, its box wire 0.04441 in and the box constant 0.866025 P less three
/// wires (handbook tables; ASME B1.1 class 2A).
#[test]
fn thread_says_limits_wires_constants_and_what_a_reading_means() {
    let plain = overwire(&[
        "thread",
        "1/2-13 UNC-2A",
        "--wires",
        "0.04441",
        "--reading",
        "0.5150",
    ]);
    assert_eq!(plain.status.code(), Some(0), "{}", said(&plain.stderr));
    let told = said(&plain.stdout);
    for words in [
        "pitch diameter 0.44350 in to 0.44850 in",
        "on wire boxes 0.04441 in",
        "0.06661 in as marked on a wire box",
        "PASS",
        "The formula without the lead would have said",
        "Pair it with a go gauge",
        "Never measure on a turning spindle",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let as_json = overwire(&["thread", "Tr40x14(P7)LH-7e", "--json"]);
    let found: Value = serde_json::from_slice(&as_json.stdout).expect("JSON");
    assert_eq!(found["thread"][0], "Tr40x14(P7)LH-7e");
    assert!(
        found["limits"][0]
            .as_str()
            .is_some_and(|line| line.contains("36.3750 mm"))
    );
}

/// An error of pitch is worth cot a times itself on diameter, 1.732 at 60 degrees (handbooks; geometry).
#[test]
fn thread_tells_what_errors_of_form_are_worth() {
    let plain = overwire(&["thread", "M10x1.5-6g", "--pitch-error", "0.010"]);
    let told = said(&plain.stdout);
    assert!(told.contains("for the pitch error 0.0173 mm"), "{told}");
    assert!(told.contains("flank angles not measured"), "{told}");
    let both = overwire(&["thread", "M10x1.5-6g", "--flank-errors", "0.2,-0.3"]);
    assert_eq!(both.status.code(), Some(0), "{}", said(&both.stderr));
}

#[test]
fn thread_refuses_with_the_place_and_what_to_do() {
    for (arguments, words) in [
        (&["thread", "1/2-13 UNX-2A"][..], "at character 8"),
        (
            &["thread", "M10x1.5-6g", "--wires", "0.3"],
            "usable from 0.8012",
        ),
        (
            &["thread", "M10x1.5-6g", "--wires", "0.8,0.9"],
            "Give one diameter, or three",
        ),
        (&["thread", "M10x1.5-6g", "--unit", "cm"], "Say mm or in"),
        (
            &["thread", "M10x1.5-6g", "--flank-errors", "0.2"],
            "Give two",
        ),
        (
            &["thread", "M10x1.5-6g", "--wires", "0,87"],
            "is no wire diameter",
        ),
    ] {
        let output = overwire(arguments);
        let told = said(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(told.contains(words), "{arguments:?}: {told}");
    }
}
