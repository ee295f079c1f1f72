//! Phases, frozen limits, steps, wear and a coarse display, as `overwire chart` tells them.
//!
//! Readings with a known jump: NIST/SEMATECH e-Handbook 6.3.2.3 (as in `core/tests/published/stats`); limits and
//! intervals by numpy and scipy.

use std::path::PathBuf;

use overwire_tests::Folder;
use overwire_tests::charts::{found, holds, overwire, published, refused, sentences, written};
use overwire_tests::findings::section;

/// The readings of the case as a file: their numbers from 101 on, and what the wires were.
fn jumping(folder: &Folder) -> PathBuf {
    let case = published("nist-pmc323-cusum");
    let readings = case["inputs"]["x"].as_array().expect("readings");
    let mut text = "piece,size,wires\n".to_owned();
    for (number, size) in readings.iter().zip(101..) {
        let wires = if number.as_f64() < Some(326.0) {
            "A"
        } else {
            "B"
        };
        text += &format!("{size},{:.3},{wires}\n", number.as_f64().expect("a number"));
    }
    written(folder, "jumping.csv", &text)
}

const NAMED: [&str; 4] = ["--column", "size", "--piece", "piece"];

#[test]
fn phases_have_limits_of_their_own_and_the_break_is_drawn_and_named() {
    let folder = Folder::new("phases");
    let file = jumping(&folder);
    let told = found(&[&NAMED[..], &["--phase", "wires"]].concat(), &file);
    let steady = sentences(&told, "Is it steady?");
    // scipy: Welch's interval of the step, 2.3013 to 3.5091 about 2.9052.
    holds(
        &steady,
        &[
            "Steady within its 2 phases",
            "With wires B the mean rises by 2.9052 mm (95 % sure: +2.3013 to +3.5091 mm)",
            "the last phase only, from piece 113 on: 8 pieces",
        ],
    );
    let table = section(&told, "Is it steady?")["table"]["rows"].to_string();
    holds(
        &table,
        &[
            "323.5409",
            "326.0425",
            "324.8008",
            "330.5929",
            "wires B",
            "piece 113",
        ],
    );
    let settings = told["settings"].to_string();
    holds(
        &settings,
        &["Phase 2: Limits from piece 113 to piece 120, 8 points, provisional"],
    );
    let pictures = told["pictures"].to_string();
    holds(&pictures, &["wires B from point 13", "uprights, changes"]);
    assert!(!pictures.contains("Gaps"), "{pictures}");
    // A person names the break; at one piece two changes are one.
    let breaks = ["--break", "113=new insert", "--break", "113=new bar"];
    let told = found(&[&NAMED[..], &breaks[..]].concat(), &file);
    holds(
        &sentences(&told, "Is it steady?"),
        &["With new insert, new bar the mean rises"],
    );
    let (code, complaint) = refused(&[&NAMED[..], &["--break", "99"]].concat(), &file);
    assert_eq!(code, 1);
    holds(&complaint, &["no piece 99", "Name a piece"]);
    let (code, complaint) = refused(&[&NAMED[..], &["--break", "soon"]].concat(), &file);
    assert_eq!(code, 2);
    holds(&complaint, &["41=new insert"]);
}

#[test]
fn limits_are_frozen_up_to_a_named_piece_or_from_the_first_of_each_phase() {
    let folder = Folder::new("phases-frozen");
    let file = jumping(&folder);
    let told = found(&[&NAMED[..], &["--freeze-up-to", "112"]].concat(), &file);
    let steady = sentences(&told, "Is it steady?");
    holds(
        &steady,
        &[
            "of 8 pieces after the freezing 8 stand out",
            "frozen from the first 12 pieces",
            "323.5409",
            "326.0425",
        ],
    );
    let by_count = found(&[&NAMED[..], &["--freeze-after", "12"]].concat(), &file);
    assert_eq!(sentences(&by_count, "Is it steady?"), steady);
    let both = ["--phase", "wires", "--freeze-after", "5"];
    let told = found(&[&NAMED[..], &both[..]].concat(), &file);
    holds(
        &told["settings"].to_string(),
        &[
            "first 5 pieces of each phase",
            "Phase 1: Limits from piece 101 to piece 105",
            "Phase 2: Limits from piece 113 to piece 117",
        ],
    );
    let both = ["--phase", "wires", "--freeze-up-to", "105"];
    let (code, complaint) = refused(&[&NAMED[..], &both[..]].concat(), &file);
    assert_eq!(code, 1);
    holds(
        &complaint,
        &["several phases", "at the start of each phase"],
    );
}

/// Within the limits of the points, but one step of 5 where steps are 1: above 3.27 times their mean, 1.17.
#[test]
fn a_step_that_stands_out_is_said_beside_the_verdict() {
    let folder = Folder::new("phases-steps");
    let line = |step: &i32| format!("{:.3}\n", 9.700 + 0.001 * f64::from(*step));
    let plain = [0, 1].repeat(10);
    let steps = [&plain[..], &[-2, 3], &plain[..]].concat();
    let text: String = steps.iter().map(line).collect();
    let file = written(&folder, "steps.csv", &format!("size\n{text}"));
    let told = found(&[], &file);
    let verdict = section(&told, "Is it steady?")["sentences"][0].to_string();
    // 41 steps, each by chance beyond in 0.916 % of cases (2 Φ(-2.606)): 0.4.
    holds(
        &verdict,
        &[
            "Steady as far as these rules see. But 1 step",
            "to piece 22; chance gives about 0.4",
        ],
    );
    let even = written(
        &folder,
        "even.csv",
        &format!("size\n{}", plain.iter().map(line).collect::<String>()),
    );
    let verdict = section(&found(&[], &even), "Is it steady?")["sentences"][0].to_string();
    assert!(!verdict.contains("But"), "{verdict}");
}

/// Twenty pieces on one level and twenty on another: a line through them rises, and would lead somewhere.
#[test]
fn a_step_is_told_in_place_of_a_forecast() {
    let folder = Folder::new("phases-step");
    let size = |at: u32| 9.700 + 0.001 * f64::from(at * 7 % 5) + if at > 20 { 0.015 } else { 0.0 };
    let text: String = (1..=40).map(|at| format!("{:.3}\n", size(at))).collect();
    let file = written(&folder, "step.csv", &format!("size\n{text}"));
    let told = found(&["--lower", "9.690", "--upper", "9.730"], &file);
    let wear = sentences(&told, "Does it drift with wear?");
    holds(
        &wear,
        &[
            "No steady drift",
            "From piece 21 on the pieces lie 0.0150 mm higher",
            "no forecast",
        ],
    );
    assert!(!wear.contains("left before the limit"), "{wear}");
    let named = told["pictures"].as_array().expect("pictures");
    assert!(named.iter().all(|picture| picture["name"] != "trend"));
    // The levels told apart, nothing drifts.
    let told = found(&["--break", "21=new insert", "--upper", "9.730"], &file);
    holds(
        &sentences(&told, "Does it drift with wear?"),
        &["No trend is proven"],
    );
}

#[test]
fn a_coarse_display_is_told_under_every_picture() {
    let folder = Folder::new("phases-coarse");
    let mut text = "size\n".to_owned();
    for number in 0..60_u32 {
        text += &format!(
            "{:.2}\n",
            9.70 + 0.01 * f64::from(number * number * 7 % 11 / 9)
        );
    }
    let file = written(&folder, "coarse.csv", &text);
    let told = found(&["--lower", "9.6", "--upper", "9.8"], &file);
    let pictures = told["pictures"].as_array().expect("pictures");
    assert!(pictures.len() >= 4, "{pictures:?}");
    for picture in pictures {
        holds(
            &picture.to_string(),
            &["The display is coarse for this spread"],
        );
    }
    let cautions = section(&told, "Is it steady?")["cautions"].to_string();
    holds(
        &cautions,
        &["The display is coarse", "neighbours are equal"],
    );
    let groups = found(&["--group-size", "4"], &file);
    holds(&groups["pictures"].to_string(), &["The display is coarse"]);
}

/// A line of 0.0004 mm a piece from 9.700 with a wave about it: the limit 9.730 is 75 pieces off, less the spread.
#[test]
fn wear_says_how_many_pieces_are_left_and_shifts_are_drawn() {
    let folder = Folder::new("phases-wear");
    let mut text = "size\n".to_owned();
    for piece in 1..=40 {
        let piece = f64::from(piece);
        text += &format!(
            "{:.4}\n",
            9.700 + 0.0004 * piece + 0.0008 * (piece * 2.3).sin()
        );
    }
    let file = written(&folder, "wear.csv", &text);
    let out = folder.join("trend.svg");
    let picture = out.to_str().expect("a path");
    let asked = ["--upper", "9.73", "--picture", "trend", "--out", picture];
    let told = found(&asked, &file);
    let wear = sentences(&told, "Does it drift with wear?");
    holds(
        &wear,
        &["About 30 pieces left before the limit (", "95 % sure"],
    );
    let svg = std::fs::read_to_string(&out).expect("the picture");
    assert!(svg.contains("About 30 pieces left"), "{svg}");
    assert!(told["pictures"].to_string().contains("\"shifts\""));
    let unknown = overwire(&["--picture", "curve", "--out", picture], &file);
    assert_eq!(unknown.status.code(), Some(2));
    holds(
        &String::from_utf8_lossy(&unknown.stderr),
        &["standardised", "shifts"],
    );
}

#[test]
fn a_script_can_tell_an_answer_from_a_dash_and_from_a_file_it_cannot_read() {
    let folder = Folder::new("phases-codes");
    let code = |arguments: &[&str], file: &std::path::Path| overwire(arguments, file).status.code();
    let same = written(&folder, "same.csv", "size\n9.7\n9.7\n9.7\n");
    assert_eq!(code(&[], &same), Some(3));
    let told = found(&[], &same);
    assert_eq!(told["main"], 0);
    holds(&told["headline"].to_string(), &["–: no spread"]);
    assert_eq!(
        section(&told, "Is it steady?")["sentences"][0],
        told["headline"]
    );
    let sound = written(&folder, "sound.csv", "size\n9.7\n9.8\n9.75\n");
    assert_eq!(code(&[], &sound), Some(0));
    let wrong = written(&folder, "wrong.csv", "size\n9.7\nabout 9\n");
    assert_eq!(code(&[], &wrong), Some(1));
    assert_eq!(code(&["--group-size", "1"], &sound), Some(2));
    assert_eq!(code(&[], &folder.join("none.csv")), Some(66));
}
