//! The statistics of any CSV at the command line, held against printed examples.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use overwire_tests::Folder;
use overwire_tests::charts::found_by as found;
use overwire_tests::daemon::program;
use overwire_tests::findings::{cell, section};
use serde_json::Value;

fn overwire(arguments: &[&str]) -> Output {
    Command::new(program("overwire", "overwire"))
        .args(arguments)
        .output()
        .expect("overwire runs")
}

/// NIST/SEMATECH e-Handbook 6.3.2.2, individuals of flow rates: mean 50.81, mean moving range 1.8778, limits
/// 55.8041 and 45.8159 (from memory).
#[test]
fn chart_gives_the_handbook_s_limits_of_individuals() {
    let folder = Folder::new("findings-csv");
    let file = folder.join("flow.csv");
    let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let text: String = rates.iter().map(|rate| format!("{rate}\n")).collect();
    std::fs::write(&file, format!("rate\n{text}")).expect("written");
    let file = file.to_str().expect("a plain path");
    let output = overwire(&["chart", file, "--json"]);
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let told = section(&found, "Is it steady?")["sentences"].to_string();
    for limit in ["45.82 mm", "50.81 mm", "55.80 mm"] {
        assert!(told.contains(limit), "{limit}: {told}");
    }
    let svg = folder.join("i.svg");
    let out = svg.to_str().expect("a plain path");
    let drawn = overwire(&["chart", file, "--picture", "individuals", "--out", out]);
    assert_eq!(drawn.status.code(), Some(0));
    assert!(
        std::fs::read_to_string(&svg)
            .expect("the picture")
            .starts_with("<svg")
    );
    let described = overwire(&["describe", file, "--json"]);
    let found: Value = serde_json::from_slice(&described.stdout).expect("JSON");
    assert_eq!(cell(&section(&found, "Description"), "n"), "10");
}

fn written(folder: &Folder, name: &str, text: &str) -> PathBuf {
    let file = folder.join(name);
    std::fs::write(&file, text).expect("written");
    file
}

fn sentences(findings: &Value, heading: &str) -> String {
    section(findings, heading)["sentences"].to_string()
}

/// Bland & Altman, Lancet 1986;i:307-310: peak flow by two meters, first readings of 17 people; mean
/// difference -2.1, standard deviation 38.8, limits -79.7 to 75.5 with a factor of 2 (from memory). With 1.96 in
/// its place they are -78.1 and 73.9.
#[test]
fn agreement_gives_the_limits_of_the_first_paper() {
    let large = [
        494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427,
    ];
    let mini = [
        512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451,
    ];
    let folder = Folder::new("csv-agreement");
    let mut text = "flow,meter,person\n".to_owned();
    for (person, (large, mini)) in large.iter().zip(&mini).enumerate() {
        text += &format!("{large},large,{person}\n{mini},mini,{person}\n");
    }
    let file = written(&folder, "flow.csv", &text);
    let picture = folder.join("flow.svg");
    let question = [
        "study",
        "agreement",
        "--column",
        "flow",
        "--method",
        "meter",
        "--piece",
        "person",
        "--baseline",
        "mini",
        "--margin",
        "50",
        "--out",
        picture.to_str().expect("a plain path"),
    ];
    let told = sentences(&found(&question, &file), "Can large stand in for mini?");
    for figure in [
        "2.1 mm lower",
        "17 pieces",
        "-78.1 mm to +73.9 mm",
        "is not shown",
    ] {
        assert!(told.contains(figure), "{figure}: {told}");
    }
    let drawn = std::fs::read_to_string(&picture).expect("the picture");
    assert!(drawn.starts_with("<svg"));
}

/// AIAG Measurement Systems Analysis, ten parts by three people, three times each: by analysis of variance
/// repeats 0.199933, people 0.226838, gauge 0.302373, parts 1.042327; the gauge 27.9 % of the study's spread
/// (from memory).
#[test]
fn gauge_gives_the_manual_s_components() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../core/tests/published/stats/data/aiag_grr.csv");
    let question = [
        "study",
        "gauge",
        "--column",
        "y",
        "--piece",
        "part",
        "--operator",
        "appraiser",
    ];
    let findings = found(&question, &data);
    let varies = section(&findings, "How much of what varies is the measurement?");
    let rows = varies["table"]["rows"].as_array().expect("rows");
    let part = |name: &str| -> (String, String) {
        let row = rows.iter().find(|row| row[0] == name).expect("the part");
        (row[1].to_string(), row[5].to_string())
    };
    assert_eq!(part("repeats").0, "\"0.200\"");
    assert_eq!(part("operators").0, "\"0.227\"");
    assert_eq!(
        part("the whole gauge"),
        ("\"0.302\"".to_owned(), "\"27.9 %\"".to_owned())
    );
    assert_eq!(part("pieces").0, "\"1.042\"");
    assert!(findings["pictures"].to_string().contains("components"));
    let missing = data.with_file_name("aiag_grr.csv");
    let text = std::fs::read_to_string(&missing).expect("the data");
    let folder = Folder::new("csv-gauge");
    let short: Vec<&str> = text.lines().take(80).collect();
    let file = written(&folder, "short.csv", &short.join("\n"));
    let told = sentences(
        &found(&question, &file),
        "How much of what varies is the measurement?",
    );
    assert!(
        told.contains("–"),
        "a table with holes gets no figure: {told}"
    );
}

/// AIAG Measurement Systems Analysis, linearity: five masters, twelve readings of each; slope -0.131667,
/// intercept 0.736667 (from memory).
#[test]
fn linearity_gives_the_manual_s_line() {
    let readings: [(f64, [f64; 12]); 5] = [
        (
            2.0,
            [2.7, 2.5, 2.4, 2.5, 2.7, 2.3, 2.5, 2.5, 2.4, 2.4, 2.6, 2.4],
        ),
        (
            4.0,
            [5.1, 3.9, 4.2, 5.0, 3.8, 3.9, 3.9, 3.9, 3.9, 4.0, 4.1, 3.8],
        ),
        (
            6.0,
            [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1],
        ),
        (
            8.0,
            [7.6, 7.7, 7.8, 7.7, 7.8, 7.8, 7.8, 7.7, 7.8, 7.5, 7.6, 7.7],
        ),
        (
            10.0,
            [9.1, 9.3, 9.5, 9.3, 9.4, 9.5, 9.5, 9.5, 9.6, 9.2, 9.3, 9.4],
        ),
    ];
    let mut text = "master,reading\n".to_owned();
    for (master, of_it) in readings {
        for reading in of_it {
            text += &format!("{master},{reading}\n");
        }
    }
    let folder = Folder::new("csv-linearity");
    let file = written(&folder, "masters.csv", &text);
    let question = [
        "study",
        "linearity",
        "--column",
        "reading",
        "--master",
        "master",
    ];
    let findings = found(&question, &file);
    let heading = "Does the bias change with size?";
    let told = sentences(&findings, heading);
    assert!(told.contains("-0.13 mm for every 1 mm"), "{told}");
    let svg = folder.join("bias.svg");
    let mut drawn = question.to_vec();
    drawn.extend(["--out", svg.to_str().expect("a plain path")]);
    found(&drawn, &file);
    let drawn = std::fs::read_to_string(&svg).expect("the picture");
    assert!(drawn.starts_with("<svg") && drawn.contains("Bias over size"));
    let rows = section(&findings, heading)["table"]["rows"].clone();
    // Mean bias and height of the line at the first and the last master.
    assert_eq!((&rows[0][2], &rows[0][3]), (&"0.49".into(), &"0.47".into()));
    assert_eq!(
        (&rows[4][2], &rows[4][3]),
        (&"-0.62".into(), &"-0.58".into())
    );
}

/// Shapes whose answer is plain by construction (no source): a piece that grows, and one that does not.
#[test]
fn stability_tells_a_drift_and_the_day_that_is_off() {
    let folder = Folder::new("csv-stability");
    let wobble = [0, 1, -1, 1, 0, -1, 0, 1, -1, 0];
    let lines = |drift: i64, off: i64| -> String {
        let line = |(day, wobble): (i64, &i64)| {
            let shift = if day == 15 { off } else { 0 };
            let size = 9700 + drift * day + wobble + shift;
            format!("2027-03-{:02}T08:00:00,9.{:03}\n", day + 1, size - 9000)
        };
        let wobbles = wobble.iter().cycle().take(30);
        (0..).zip(wobbles).map(line).collect()
    };
    let question = ["study", "stability", "--column", "size", "--day", "when"];
    let heading = "Does it stay the same?";
    let grows = written(&folder, "grows.csv", &format!("when,size\n{}", lines(1, 0)));
    let told = sentences(&found(&question, &grows), heading);
    assert!(told.contains("It drifts by +0.0298 mm"), "{told}");
    let jumps = written(&folder, "jumps.csv", &format!("when,size\n{}", lines(0, 9)));
    let told = sentences(&found(&question, &jumps), heading);
    assert!(told.contains("visit 16"), "{told}");
    assert!(told.contains("No drift is shown"), "{told}");
}

/// Wires 2 micrometres apart, by construction (no source): a reading over a 60 degree thread rises by 0.75 of it.
#[test]
fn wires_that_differ_are_told_apart() {
    let folder = Folder::new("csv-wires");
    let wires = [
        ("a", 0, [1, -1, 0]),
        ("b", 15, [0, 1, -1]),
        ("c", -15, [-1, 0, 1]),
    ];
    let mut text = "lone,over_wires\n".to_owned();
    for round in 0..6 {
        for (wire, above, wobble) in wires {
            text += &format!("{wire},11.2{:03}\n", 500 + above + wobble[round % 3]);
        }
    }
    let file = written(&folder, "wires.csv", &text);
    let question = [
        "study",
        "wires",
        "--column",
        "over_wires",
        "--wire",
        "lone",
        "--paired",
    ];
    let told = sentences(&found(&question, &file), "Do the wires differ?");
    assert!(told.contains("The wires differ"), "{told}");
    assert!(told.contains("b: +0.00200"), "{told}");
    assert!(told.contains("c: -0.00200"), "{told}");
}

#[test]
fn a_wrong_column_or_name_is_told_with_what_to_do() {
    let folder = Folder::new("csv-wrong");
    let file = written(&folder, "some.csv", "size,who\n9.7,AK\n9.8,BL\n");
    let file = file.to_str().expect("a plain path");
    let wrong: [(&[&str], &str); 4] = [
        (
            &["study", "repeats", "--column", "Size"],
            "no column `Size`",
        ),
        (
            &["study", "methods", "--column", "size", "--method", "who"],
            "--tolerance",
        ),
        (
            &[
                "study",
                "methods",
                "--column",
                "size",
                "--method",
                "who",
                "--tolerance",
                "1",
                "--baseline",
                "CM",
            ],
            "no method `CM`",
        ),
        (
            &["study", "linearity", "--column", "size", "--master", "who"],
            "`AK` is no number",
        ),
    ];
    for (arguments, complaint) in wrong {
        let mut arguments = arguments.to_vec();
        arguments.push(file);
        let output = overwire(&arguments);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_ne!(output.status.code(), Some(0), "{arguments:?}");
        assert!(told.contains(complaint), "{arguments:?}: {told}");
    }
}

/// Pieces 101 to 130, the one numbered 107 far off: the piece is named, not only its place.
#[test]
fn chart_names_the_piece_that_stands_out() {
    let folder = Folder::new("csv-named");
    let wobble = [0, 1, -1, 2, 0, -2, 1, 0, -1, 1];
    let line = |(piece, wobble): (i64, &i64)| {
        let off = if piece == 107 { 30 } else { 0 };
        format!("{piece},9.{}\n", 700 + wobble + off)
    };
    let lines: String = (101..=130).zip(wobble.iter().cycle()).map(line).collect();
    let file = written(&folder, "named.csv", &format!("no,size\n{lines}"));
    let question = ["chart", "--column", "size", "--piece", "no"];
    let told = sentences(&found(&question, &file), "Is it steady?");
    assert!(told.contains("Point 7 lies above"), "{told}");
    assert!(told.contains("(piece 107)"), "{told}");
    let limits = ["--lower", "383", "--upper", "384"];
    let question: Vec<&str> = question.into_iter().chain(limits).collect();
    let told = sentences(&found(&question, &file), "Does it keep the limits?");
    assert!(told.contains("not one of 30 lies inside"), "{told}");
}

/// Core's case `nonnormal-lognormal` (source: computed with scipy): percentiles and indices of a fitted log-normal.
#[test]
fn chart_keeps_limits_by_percentiles_where_pieces_are_not_normal() {
    let cases =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/tests/published/stats/capability.json");
    let cases = std::fs::read_to_string(cases).expect("the cases");
    let cases: Value = serde_json::from_str(&cases).expect("JSON");
    let cases = cases.as_array().expect("a list");
    let case = cases
        .iter()
        .find(|case| case["id"] == "nonnormal-lognormal");
    let case = case.expect("the case");
    let readings = case["inputs"]["x"].as_array().expect("readings");
    let lines: String = readings
        .iter()
        .map(|reading| format!("{reading}\n"))
        .collect();
    let folder = Folder::new("csv-percentiles");
    let file = written(&folder, "taper.csv", &format!("taper\n{lines}"));
    let question = [
        "chart",
        "--lower",
        "0.1",
        "--upper",
        "3.5",
        "--shape",
        "log-normal",
    ];
    let findings = found(&question, &file);
    let row = section(&findings, "Without a normal distribution")["table"]["rows"][0].clone();
    let number = |at: usize| -> f64 {
        let text = row[at].as_str().expect("a cell");
        text.parse().expect("a number")
    };
    let expected = &case["expected"];
    let lengths = (0..3).map(|at| (at, &expected["q"][at], 0.51e-5));
    let indices = [(3, "Pp"), (4, "Ppl"), (5, "Ppu")];
    let indices = indices.map(|(at, key)| (at, &expected[key], 0.51e-2));
    for (at, wanted, within) in lengths.chain(indices) {
        let wanted = wanted.as_f64().expect("a number");
        assert!((number(at) - wanted).abs() <= within, "{wanted}: {row}");
    }
    let plain = found(&["chart", "--lower", "0.1", "--upper", "3.5"], &file);
    let told = sentences(&plain, "Without a normal distribution");
    assert!(
        told.contains("1000"),
        "too few to read percentiles off: {told}"
    );
}
