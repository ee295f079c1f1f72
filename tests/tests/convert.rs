//! `overwire convert` against handbook figures, and what `overwire check` tells.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use overwire_tests::Folder;
use overwire_tests::daemon::program;
use serde_json::{Value, json};

fn overwire(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(program("overwire", "overwire"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("overwire");
    let mut stdin = child.stdin.take().expect("stdin");
    let input = input.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().expect("its output");
    let _ = writer.join();
    output
}

fn convert(lines: &[Value]) -> Vec<Value> {
    let input: String = lines.iter().map(|line| format!("{line}\n")).collect();
    let output = overwire(&["convert"], &input);
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    text.lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect()
}

fn near(found: &Value, wanted: f64, within: f64) -> bool {
    found
        .as_f64()
        .is_some_and(|found| (found - wanted).abs() <= within)
}

/// 9/16-18 UNF-2A over 0.0395 in wires: 0.5909 to 0.5954 in from the pitch-diameter limits 0.5205 and
/// 0.5250 (ASME B1.1 formulas). A shortcut in print that adds the wire constant to the limits of the major
/// diameter gives 0.586 for the lower one: wrong by more than the whole tolerance of 0.0045.
#[test]
fn limits_are_those_of_the_pitch_diameter() {
    let answer = &convert(&[json!({"thread":"9/16-18 UNF-2A","wires":0.0395})])[0];
    assert!(near(&answer["over_wires_min"], 0.5909, 5e-5), "{answer}");
    assert!(near(&answer["over_wires_max"], 0.5954, 5e-5), "{answer}");
    assert!(
        !near(&answer["over_wires_min"], 0.586, 0.0045),
        "the shortcut's limit"
    );
    assert_eq!(answer["verdict"], Value::Null);
}

/// A wire that rides the crest or lies below it gives a reason and the usable range, and no number.
#[test]
fn wires_that_do_not_sit_are_refused_with_the_usable_range() {
    let answers = convert(&[
        json!({"thread":"M10x1.5-6g","wires":1.6,"over_wires":12.3}),
        json!({"thread":"M10x1.5-6g","wires":0.7,"over_wires":9.7}),
        json!({"geometry":{"pitch":1.5,"major_diameter":10},"wires":0.866,"over_wires":11.4}),
    ]);
    for (answer, seat) in
        answers
            .iter()
            .zip(["neighbours_touch", "below_crest", "rides_crest_edge"])
    {
        assert_eq!(answer["seat"], seat, "{answer}");
        assert_eq!(
            (&answer["pitch_diameter"], &answer["verdict"]),
            (&Value::Null, &Value::Null)
        );
        let warnings = answer["warnings"].to_string();
        assert!(warnings.contains("Usable wires are"), "{warnings}");
    }
}

/// pitch_diameter = plane_pitch_diameter - lead_angle_correction; left is positive while metal must come off.
#[test]
fn the_parts_add_up() {
    let answer = &convert(&[json!({
        "geometry":{"pitch":3,"starts":4,"leading_flank_deg":15,"trailing_flank_deg":15,"major_diameter":24},
        "unit":"mm","wires":[1.553,1.5531,1.5529],"over_wires":24.50,
        "pitch_diameter_min":22.203,"pitch_diameter_max":22.415
    })])[0];
    let number = |field: &str| answer[field].as_f64().expect("a number");
    let sum = number("plane_pitch_diameter") - number("lead_angle_correction");
    assert!((number("pitch_diameter") - sum).abs() < 1e-12);
    assert!(
        number("lead_angle_correction") > 0.05,
        "the lead matters on four starts"
    );
    assert_eq!(answer["verdict"], "fail_over");
    assert!((number("left_to_max") - (number("pitch_diameter") - 22.415)).abs() < 1e-12);
    assert!((number("left_to_middle") - (number("pitch_diameter") - 22.309)).abs() < 1e-12);
    assert!(number("left_to_max") > 0.0);
}

#[test]
fn check_tells_every_mistake_and_where() {
    let folder = Folder::new("cli-check");
    let file = folder.join("bad.toml");
    std::fs::write(&file, "version = 1\n[shpo]\n[[station]]\nname = \"a\"\nport = 7\nprofile = \"decimal-line\"\ninstrument = \"M\"\nunit = \"cm\"\n").expect("written");
    let path = file.display().to_string();
    let output = overwire(&["check", "--settings", &path], "");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    for wanted in [
        "line 2, `shpo`",
        "line 5, `station[1].port`: found the number 7",
        "line 8, `station[1].unit`: found `cm`",
    ] {
        assert!(said.contains(wanted), "{wanted} in {said}");
    }
    let output = overwire(&["check", "--json", "--settings", &path], "");
    let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(told["problems"].as_array().map(Vec::len), Some(3), "{told}");
    let missing = folder.join("none.toml").display().to_string();
    assert_eq!(
        overwire(&["check", "--settings", &missing], "")
            .status
            .code(),
        Some(66)
    );
}
