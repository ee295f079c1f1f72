//! A display that is coarse for what it shows is told once beside the answer and once under every picture.
//!
//! By construction (no source): the same sizes with two decimal places, so that they spread by half a step, and with
//! three, so that they spread by five.

use std::path::{Path, PathBuf};

use overwire_tests::Folder;
use overwire_tests::charts::{found_by, written};
use serde_json::Value;

const TOLD: &str = "The display is coarse for this spread";

/// Four sizes, two people, four rounds: of every master as it is (`size`), and without what masters differ by
/// (`alike`).
fn sizes(folder: &Folder, name: &str, zeros: &str) -> PathBuf {
    let mut text = "size,alike,aim,person,own,day,wire\n".to_owned();
    for round in 0..4_usize {
        for piece in 0..4_usize {
            for (person, who) in ["A", "B"].into_iter().enumerate() {
                let wobble =
                    usize::from((round * 7 + piece * 5 + person * 3 + round * piece) % 11 < 5);
                let size = format!("9.{}{zeros}", 10 + 20 * piece + wobble);
                let alike = format!("9.{}{zeros}", 10 + wobble);
                let aim = format!("9.{}", 10 + 20 * piece);
                let wire = ["left", "middle", "right"][(round + piece + person) % 3];
                text += &format!(
                    "{size},{alike},{aim},{who},{who}{piece},2027-01-0{},{wire}\n",
                    round + 1
                );
            }
        }
    }
    written(folder, name, &text)
}

/// How often it is told beside the answers, and under each picture.
fn told(question: &[&str], file: &Path) -> (usize, Vec<usize>) {
    let found = found_by(question, file);
    let count = |value: &Value| value.to_string().matches(TOLD).count();
    let pictures = found["pictures"].as_array().expect("pictures");
    (
        count(&found["sections"]),
        pictures.iter().map(count).collect(),
    )
}

#[test]
fn every_study_and_chart_tells_a_coarse_display_once_and_under_each_picture() {
    let folder = Folder::new("coarse");
    let coarse = sizes(&folder, "coarse.csv", "");
    let fine = sizes(&folder, "fine.csv", "0");
    let size = ["--column", "size"];
    let alike = ["--column", "alike"];
    // The question, and how many pictures it has.
    let questions: [(&[&str], &[&str], usize); 12] = [
        (
            &["study", "methods", "--method", "person", "--margin", "0.02"],
            &alike,
            0,
        ),
        (
            &["study", "agreement", "--method", "person", "--piece", "aim"],
            &size,
            1,
        ),
        (&["study", "repeats"], &alike, 1),
        (
            &["study", "gauge", "--piece", "aim", "--operator", "person"],
            &size,
            1,
        ),
        (
            &[
                "study",
                "gauge",
                "--piece",
                "own",
                "--operator",
                "person",
                "--nested",
            ],
            &size,
            1,
        ),
        (&["study", "linearity", "--master", "aim"], &size, 1),
        (&["study", "stability", "--day", "day"], &alike, 1),
        (&["study", "wires", "--wire", "wire"], &alike, 0),
        (&["chart", "--lower", "9.0", "--upper", "9.2"], &alike, 5),
        (&["chart", "--group-size", "4"], &alike, 2),
        (&["chart", "--group", "day"], &alike, 2),
        (&["chart", "--nominal", "aim", "--standardised"], &size, 2),
    ];
    for (question, column, pictures) in questions {
        let question = [question, column].concat();
        assert_eq!(
            told(&question, &coarse),
            (1, vec![1; pictures]),
            "{question:?}"
        );
        assert_eq!(
            told(&question, &fine),
            (0, vec![0; pictures]),
            "{question:?}"
        );
    } // Capability does not say it in other words again.
    let limits = [
        "chart", "--column", "alike", "--lower", "9.0", "--upper", "9.2",
    ];
    let kept = found_by(&limits, &coarse)["sections"].to_string();
    assert!(
        kept.contains("Ppk = 6") && !kept.contains("is not really known"),
        "{kept}"
    );
}
