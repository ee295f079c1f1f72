//! The workbook holds whatever people and devices write as text, and says when it cannot be written.

use std::process::Command;

use overwire_tests::daemon::program;
use overwire_tests::two_jobs::Shop;
use overwire_tests::workbook::{Workbook, digits, shown_by_libreoffice, text};
use serde_json::json;

/// What may not become a formula, and what is awkward to carry.
fn hostile() -> Vec<String> {
    let mut texts: Vec<String> = [
        "=1+1",
        "+2+3",
        "-4-5",
        "@SUM(A1:A9)",
        "=HYPERLINK(\"http://shop.invalid\",\"see\")",
        "'=1+1",
        "\"quoted\", with commas",
        "two\nlines",
        "tab\there",
        " spaces ",
        "مقاس ‏M12 قلاووظ",
        "🔩 Ø12 ½″",
        "0042-07",
        "1E5",
        "4-40",
        "bell \u{7}, escape \u{1b}, return \r, unit \u{1f}",
        "_x0041_",
        "<b>&amp;</b> ]]>",
        "TRUE",
        "#N/A",
    ]
    .map(str::to_owned)
    .to_vec();
    texts.push("x".repeat(10_000));
    texts.push(format!("{}END", "ü".repeat(40_000)));
    texts
}

const FREE: [&str; 9] = [
    "station",
    "job",
    "feature",
    "position",
    "wire_set",
    "instrument",
    "method",
    "operator",
    "comment",
];

/// A reading for each hostile text, written past the daemon, which would not take some of them.
fn hostile_record(shop: &Shop) {
    let reading = shop.measure("1.0760", "in")["entry"].to_string();
    let record = rusqlite::Connection::open(shop.folder.join("record.db")).expect("the record");
    let columns = |table: &str, instead: &[(&str, &str)]| -> String {
        let mut statement = record
            .prepare(&format!("SELECT name FROM pragma_table_info('{table}')"))
            .expect("sql");
        let names = statement
            .query_map([], |row| row.get::<_, String>(0))
            .expect("columns");
        let name_or = |name: String| {
            let found = instead.iter().find(|(own, _)| *own == name);
            found.map_or(name, |(_, value)| (*value).to_owned())
        };
        names
            .map(|name| name_or(name.expect("a name")))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let readings = columns(
        "reading",
        &[
            ("entry", "?1"),
            ("sequence", "?1"),
            ("station", "?2"),
            ("job", "?2"),
            ("feature", "?2"),
            ("position", "?2"),
            ("wire_set", "?2"),
            ("instrument", "?2"),
            ("method", "?2"),
            ("operator", "?2"),
            ("raw", "CAST(?2 AS BLOB)"),
        ],
    );
    shop.say(
        &json!({"entry":reading.parse::<i64>().expect("an entry")}),
        "comment",
        &json!({"text":"x","by":"AK"}),
    );
    let changes = columns(
        "change",
        &[
            ("entry", "?1"),
            ("sequence", "?1"),
            ("reading", "?3"),
            ("reason", "?2"),
            ("by", "?2"),
        ],
    );
    let by = changes.contains("?2");
    assert!(by, "{changes}");
    for (index, text) in (1000_i64..).zip(hostile()) {
        let entry = index * 2;
        let copy =
            format!("INSERT INTO reading SELECT {readings} FROM reading WHERE entry = {reading}");
        record
            .execute(&copy, rusqlite::params![entry, text])
            .expect("a reading");
        let copy = format!(
            "INSERT INTO change SELECT {changes} FROM change WHERE kind = 'comment' AND reading = {reading}"
        );
        record
            .execute(&copy, rusqlite::params![entry + 1, text, entry])
            .expect("a remark");
    }
}

/// A text that takes one UTF-16 unit for each character, cut to what a cell holds.
fn cut(text: &str, characters: usize) -> String {
    let word = format!(" … [cut: {characters} characters in the record]");
    let kept = text.chars().take(32_767 - word.chars().count());
    kept.collect::<String>() + &word
}

/// As LibreOffice writes a text into a CSV: an escape sequence of a return is a line end.
fn lines_alike(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n")
}

#[test]
fn hostile_text_stays_text_in_every_field() {
    let shop = Shop::new("workbook-hostile");
    hostile_record(&shop);
    let file = shop.folder.join("all.xlsx");
    let (code, told) = shop.export(&["--out", file.to_str().expect("a plain path")]);
    assert_eq!(code, Some(0), "{told}");
    let book = Workbook::read(&file);
    let shown = shown_by_libreoffice(&file, &shop.folder);
    let (readings, office) = (book.table("Readings"), shown("Readings"));
    let texts = hostile();
    assert_eq!(
        (readings.len(), office.len()),
        (texts.len() + 1, texts.len() + 2)
    );
    for ((row, office_row), text_in_record) in readings[1..].iter().zip(&office[2..]).zip(&texts) {
        for name in FREE {
            let cell = &row[name];
            assert_eq!(
                (&cell["kind"], &cell["quoted"]),
                (&json!("text"), &json!(true)),
                "{name}: {cell}"
            );
            let wanted = match text_in_record.chars().count() {
                40_003 => cut(&"ü".repeat(32_767), 40_003),
                _ => text_in_record.clone(),
            };
            assert_eq!(text(cell), wanted, "{name}");
            let column = office[0]
                .iter()
                .position(|head| head == name)
                .expect("its column");
            assert_eq!(
                lines_alike(&office_row[column]),
                lines_alike(&wanted),
                "{name} in LibreOffice"
            );
        }
        for (name, wanted) in [("over_wires", "1.0760"), ("pitch_diameter_min", "1.0010")] {
            assert_eq!(digits(&row[name]), wanted, "{name}");
            let column = office[0]
                .iter()
                .position(|head| head == name)
                .expect("its column");
            let number = |digits: &str| digits.parse::<f64>().expect("a number");
            let same = number(&office_row[column]).to_bits() == number(wanted).to_bits();
            assert!(same, "{name} in LibreOffice: {}", office_row[column]);
        }
        let negative = office[0]
            .iter()
            .position(|head| head == "over_max")
            .expect("its column");
        assert!(
            office_row[negative].starts_with('-'),
            "a negative number stays one"
        );
    }
    let formulas = book.cells().iter().filter(|cell| cell["kind"] == "formula");
    assert!(
        formulas.clone().count() > 0 && formulas.clone().all(|cell| cell["sheet"] == "Summary")
    );
    let summary = shown("Summary");
    let told = |label: &str| summary.iter().find(|row| row[0] == label).expect("a line")[1].clone();
    assert_eq!(
        told("Verdict PASS"),
        (texts.len() + 1).to_string(),
        "the formula counts them"
    );
    // 10 of the reading, 7 of its piece, 6 of the remark.
    let cut = "23 were longer than a cell holds and end with a word on it";
    assert_eq!(text(&book.told("Texts")), cut);
}

/// A disk that is full while temporary files are written: said so, and no file is left under the name.
#[test]
fn a_full_disk_is_told_and_leaves_no_file() {
    let shop = Shop::new("workbook-full");
    hostile_record(&shop);
    let file = shop.folder.join("full.xlsx");
    let export = "trap '' XFSZ; ulimit -f 16; exec \"$@\"";
    let output = Command::new("bash")
        .args(["-c", export, "bash"])
        .arg(program("overwire", "overwire"))
        .args(["export", "--record"])
        .arg(shop.folder.join("record.db"))
        .arg("--out")
        .arg(&file)
        .output()
        .expect("bash");
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(74), "{told}");
    assert!(told.contains("is the disk full?"), "{told}");
    // In our own words and no others: two lines, the second says what to do.
    assert!(
        !told.contains("panic") && !told.contains("RUST_BACKTRACE"),
        "{told}"
    );
    assert_eq!(told.trim_end().lines().count(), 2, "{told}");
    let left: Vec<_> = std::fs::read_dir(shop.folder.join("."))
        .expect("the folder")
        .flatten()
        .map(|each| each.file_name())
        .collect();
    assert!(
        !left
            .iter()
            .any(|name| name.to_string_lossy().contains("xlsx")),
        "{left:?}"
    );
}
