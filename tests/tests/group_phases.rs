//! Groups in phases and against frozen limits, as `overwire chart` tells them.
//!
//! Montgomery, Introduction to Statistical Quality Control, inside diameters of piston rings, 25 groups of five (from
//! memory, as in `core/tests/published/stats`): limits of the means 73.9878 and 74.0146 about 74.0012, of the ranges
//! 0.0491. Beside them the same rings a tenth larger; what else is by construction (no source).

use std::fmt::Write as _;
use std::path::PathBuf;

use overwire_tests::Folder;
use overwire_tests::charts::{found, holds, published, refused, sentences, written};
use overwire_tests::findings::section;
use serde_json::Value;

const MEANS: [&str; 2] = ["73.9878", "74.0146"];

/// The rings as lines `hour,bar,size`: 25 groups of another bar, a tenth larger, behind the book's or before them.
fn rings(folder: &Folder, larger_first: bool) -> PathBuf {
    let case = published("montgomery-rings-xbar-s");
    let groups = case["inputs"]["subgroups"].as_array().expect("groups");
    let mut text = "hour,bar,size\n".to_owned();
    for (part, larger) in [larger_first, !larger_first].into_iter().enumerate() {
        for (group, sizes) in groups.iter().enumerate() {
            for size in sizes.as_array().expect("a group") {
                let size = size.as_f64().expect("a number") + if larger { 0.1 } else { 0.0 };
                let (hour, bar) = (25 * part + group + 1, if larger { "L" } else { "B" });
                writeln!(text, "h{hour},{bar},{size:.3}").expect("a string");
            }
        }
    }
    written(folder, "rings.csv", &text)
}

const NAMED: [&str; 4] = ["--column", "size", "--group", "hour"];
const STEADY: &str = "Are the groups steady?";

fn asked(file: &std::path::Path, more: &[&str]) -> Value {
    found(&[&NAMED[..], more].concat(), file)
}

#[test]
fn the_second_phase_of_groups_has_the_book_s_limits() {
    let folder = Folder::new("group-phases");
    let file = rings(&folder, true);
    let picture = folder.join("means.svg");
    let drawn = [
        "--picture",
        "means",
        "--out",
        picture.to_str().expect("a plain path"),
    ];
    let limits = ["--phase", "bar", "--lower", "73.95", "--upper", "74.05"];
    let told = asked(&file, &[&limits[..], &drawn[..]].concat());
    let steady = sentences(&told, STEADY);
    holds(
        &steady,
        &[
            "Steady within its 2 phases",
            "firm in every phase",
            "With bar B the mean falls by 0.1000 mm",
            "of the last phase only, from group h26 on: 25 groups",
        ],
    );
    let rows = section(&told, STEADY)["table"]["rows"].clone();
    holds(
        &rows[1].to_string(),
        &["2: bar B", "group h26", "74.0012", "0.0491"],
    );
    holds(&rows[1].to_string(), &MEANS);
    holds(
        &rows[0].to_string(),
        &["the first group", "74.0878", "74.1146"],
    );
    holds(
        &told["settings"].to_string(),
        &[
            "Phase 2: Limits from group h26 to group h50, 25 points, firm",
            "no group reaches",
        ],
    );
    // Within 74.000 ± 0.050 the rings of the last phase have 0.1 / (6 × 0.0100) = 1.67.
    holds(&sentences(&told, "Does it keep the limits?"), &["1.67"]);
    holds(&told["pictures"].to_string(), &["bar B from group 26"]);
    let svg = std::fs::read_to_string(&picture).expect("the picture");
    holds(&svg, &["bar B"]);
    // Without phases everything stands out.
    holds(
        &sentences(&asked(&file, &[]), STEADY),
        &["Not steady: 50 means"],
    );
}

#[test]
fn limits_of_groups_are_frozen_from_the_first_ones_or_up_to_a_piece() {
    let folder = Folder::new("group-frozen");
    let file = rings(&folder, false);
    let by_count = asked(&file, &["--freeze-after", "25"]);
    let steady = sentences(&by_count, STEADY);
    holds(
        &steady,
        &[
            "of 25 groups after the freezing 25 means and no spread stand out",
            "frozen from the first 25 groups, firm",
        ],
    );
    holds(&sentences(&by_count, "Means of the groups"), &MEANS);
    holds(&by_count["pictures"].to_string(), &["limits frozen before"]);
    let cautions = section(&by_count, STEADY)["cautions"].to_string();
    assert!(!cautions.contains("repeat readings"), "{cautions}");
    let up_to = asked(&file, &["--freeze-up-to", "125"]);
    assert_eq!(sentences(&up_to, STEADY), steady);
    // Piece 123 is inside the twenty-fifth group.
    let inside = asked(&file, &["--freeze-up-to", "123"]);
    holds(
        &sentences(&inside, STEADY),
        &[
            "Group h25 holds piece 123 and later ones: it is judged",
            "first 24 groups",
        ],
    );
    let both = asked(&file, &["--phase", "bar", "--freeze-after", "20"]);
    holds(
        &both["settings"].to_string(),
        &[
            "first 20 groups of each phase",
            "Phase 2: Limits from group h26 to group h45",
        ],
    );
    let (code, complaint) = refused(
        &[&NAMED[..], &["--phase", "bar", "--freeze-up-to", "50"]].concat(),
        &file,
    );
    assert_eq!(code, 1);
    holds(&complaint, &["several phases"]);
    let few = asked(&file, &["--freeze-after", "60"]);
    holds(
        &sentences(&few, STEADY),
        &["–: needs 60 groups to freeze limits from at least, has 50"],
    );
}

/// Twelve pieces; the change comes with the eighth.
#[test]
fn a_phase_parts_a_group_and_says_so() {
    let folder = Folder::new("group-parted");
    let sizes = [0, 2, 1, 0, 2, 1, 2, 0, 1, 2, 1, 0];
    let line = |(at, size): (usize, &i32)| format!("h{},9.70{size}\n", at / 4 + 1);
    let text: String = sizes.iter().enumerate().map(line).collect();
    let file = written(&folder, "twelve.csv", &format!("hour,size\n{text}"));
    let insert = ["--break", "8=new insert"];
    let by_size = |more: &[&str]| {
        found(
            &[&["--column", "size", "--group-size", "4"], more].concat(),
            &file,
        )
    };
    let rows = |told: &Value| {
        let rows = section(told, "Groups")["table"]["rows"].clone();
        let cells = |row: &Value| {
            format!(
                "{} {}",
                row[0].as_str().expect("a name"),
                row[1].as_str().expect("n")
            )
        };
        rows.as_array()
            .expect("rows")
            .iter()
            .map(cells)
            .collect::<Vec<_>>()
    };
    let told = by_size(&insert);
    holds(
        &sentences(&told, STEADY),
        &[
            "begin afresh with new insert at piece 8; 3 pieces before it make no whole group and are left out",
        ],
    );
    assert_eq!(rows(&told), ["1 4", "2 4"]);
    holds(
        &told["settings"].to_string(),
        &["4 readings made no whole group"],
    );
    let told = by_size(&["--break", "8=new insert", "--break", "10=new bar"]);
    holds(
        &sentences(&told, STEADY),
        &[
            "begins with new insert at piece 8 has no whole group; its 2 pieces",
            "begins with new bar",
        ],
    );
    assert_eq!(rows(&told), ["1 4"]);
    let told = asked(&file, &insert);
    holds(
        &sentences(&told, STEADY),
        &["Group h2 is parted by the phase that begins with piece 8"],
    );
    assert_eq!(rows(&told), ["h1 4", "h2 3", "h2 from piece 8 1", "h3 4"]);
    // At the edge of a group nothing is parted or left out.
    let whole = by_size(&["--break", "9=new insert"]);
    let steady = sentences(&whole, STEADY);
    assert!(
        !steady.contains("left out") && !steady.contains("parted"),
        "{steady}"
    );
    assert_eq!(rows(&whole), ["1 4", "2 4", "3 4"]);
}
