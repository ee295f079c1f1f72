//! How small shifts are looked for, as it is said to `overwire chart`.
//!
//! Average run lengths: single points with limits of three sigma 370 and 43.9 (any handbook, from memory); sums with
//! allowance 0.5 and limit 4, 168 and 8.4, with a head start 149 and 5.3 (Lucas & Crosier, Technometrics 24 (1982),
//! from memory; R spc 0.6.7 agrees).

use std::path::PathBuf;

use overwire_tests::Folder;
use overwire_tests::charts::{found, holds, refused, sentences, written};

const SHIFTED: &str = "Has it shifted a little?";

/// 9.699 and 9.701 in turn: sigma 0.002 × √π / 2 = 0.0017725 about 9.700.
fn alternating(folder: &Folder) -> PathBuf {
    let text = "size\n".to_owned() + &"9.699\n9.701\n".repeat(10);
    written(folder, "alternating.csv", &text)
}

#[test]
fn settings_are_printed_with_how_long_the_chart_stays_silent() {
    let folder = Folder::new("shifts-settings");
    let file = alternating(&folder);
    let usual = found(&[], &file)["settings"].to_string();
    holds(
        &usual,
        &[
            "weight 0.2 for the latest reading, limits at 2.962 sigma",
            "every 500 points on average; a shift of one sigma is found after 10.5",
            "allowance 0.5 sigma, signal above 5 sigma, no head start",
            "every 465 points on average; a shift of one sigma is found after 10.4",
            "a target of 9.7000 mm, the centre line",
        ],
    );
    let own = [
        "--shifts",
        "ewma=1,3 cusum=0.5,4,half",
        "--shifts",
        "target=9.7",
    ];
    let own = found(&own, &file)["settings"].to_string();
    holds(
        &own,
        &[
            "every 370 points on average; a shift of one sigma is found after 43.9",
            "signal above 4 sigma, head start 2 sigma",
            "every 149 points on average; a shift of one sigma is found after 5.3",
            "9.7000 mm, as it was given",
        ],
    );
    let plain = found(&["--shifts", "cusum=0.5,4"], &file)["settings"].to_string();
    holds(
        &plain,
        &["every 168 points on average; a shift of one sigma is found after 8.4"],
    );
}

/// From a target of 9.6975 the readings are 0.846 and 1.975 sigma off in turn: less the allowance of a half the sum is
/// above 5 at the sixth point, with a head start of 2.5 at the fourth.
#[test]
fn a_target_a_limit_and_a_head_start_decide_when_a_shift_is_told() {
    let folder = Folder::new("shifts-target");
    let file = alternating(&folder);
    let told = |settings: &str| {
        let told = found(&["--shifts", settings], &file);
        let drawn = told["pictures"].as_array().expect("pictures");
        let drawn = drawn.iter().find(|picture| picture["name"] == "shifts");
        let description = drawn.expect("the picture")["description"].to_string();
        (sentences(&told, SHIFTED), description)
    };
    holds(
        &sentences(&found(&[], &file), SHIFTED),
        &["sum stays within its limit"],
    );
    let (words, drawn) = told("target=9.6975");
    holds(
        &words,
        &[
            "readings since about point 1 add up",
            "above the target",
            "target of 9.6975 mm",
        ],
    );
    holds(
        &drawn,
        &["the cumulative sum is beyond its limit (pieces 6, 7, 8,"],
    );
    let (words, drawn) = told("target=9.6975 cusum=0.5,5,half");
    holds(
        &words,
        &["since about point 1 add up to a signal above the target: their mean is about 9.700 mm"],
    );
    holds(
        &drawn,
        &["the cumulative sum is beyond its limit (pieces 4, 5, 6,"],
    );
    let (words, _) = told("target=9.6975 cusum=0.5,30 ewma=0.2,20");
    holds(
        &words,
        &["stays within its limits", "sum stays within its limit"],
    );
    let middle = [
        "--lower",
        "9.6875",
        "--upper",
        "9.7075",
        "--shifts",
        "target=middle",
    ];
    let middle = sentences(&found(&middle, &file), SHIFTED);
    holds(
        &middle,
        &[
            "add up to a signal above",
            "9.6975 mm, the middle of the limits",
        ],
    );
    let words = sentences(&found(&["--shifts", "target=middle"], &file), SHIFTED);
    holds(&words, &["–: needs 2 limits for a middle at least, has 0"]);
}

#[test]
fn settings_that_make_no_sense_are_refused_in_plain_words() {
    let folder = Folder::new("shifts-refused");
    let file = alternating(&folder);
    for (settings, complaint) in [
        (
            "ewma=1.5,3",
            "expected a weight above 0 and at most 1, found `1.5`",
        ),
        ("ewma=0.2", "a weight and limits in sigma, as 0.2,2.962"),
        ("cusum=0.5,0", "a limit above 0 and at most 100 sigma"),
        ("cusum=0.5,5,third", "half for a head start"),
        ("target=inf", "target=middle"),
        ("speed=3", "cusum=ALLOWANCE,LIMIT"),
    ] {
        let (code, told) = refused(&["--shifts", settings], &file);
        assert_eq!(code, 2, "{settings}");
        holds(&told, &[complaint]);
    }
    let (code, told) = refused(&["--group-size", "4", "--shifts", "target=9.7"], &file);
    assert_eq!(code, 2);
    holds(&told, &["--group-size"]);
}
