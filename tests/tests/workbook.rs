//! The workbook: the same numbers as the CSV and the page, text that stays text, sheets that go on.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use overwire::export::Choice;
use overwire::export::columns::{COLUMNS, Holds};
use overwire::export::workbook::{Options, write};
use overwire_tests::daemon::{program, settings};
use overwire_tests::workbook::{Row, Workbook, digits, shown_by_libreoffice, text};
use overwire_tests::{Daemon, Folder, client};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

/// A job in inches and one in millimetres, an instrument that is overdue, and two readings a piece.
fn shop(name: &str) -> Shop {
    let folder = Folder::new(name);
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    for (set, unit, diameter) in [("WS-12A", "in", "0.04811"), ("WS-M150", "mm", "0.866")] {
        let form = json!({"wire_set":set,"unit":unit,"diameters":[diameter],"certificate":"C-7","due":"2099-01-31","by":"AK"});
        daemon.done("/api/wire-sets", &form);
    }
    let form = json!({"instrument":"MIC-0","serial":"00071","range_min":"1","range_max":"2","unit":"in",
        "resolution":"0.0001","certificate":"C-9","due":"2020-01-31","by":"AK"});
    daemon.done("/api/instruments", &form);
    for (job, name, thread, set) in [
        ("J-1", "end", "1 1/16-12 UN-2A", "WS-12A"),
        ("J-2", "nose", "M40x1.5-4h", "WS-M150"),
    ] {
        let feature = json!({"name":name,"thread":thread,"wire_set":set});
        let form = json!({"job":job,"drawing":"0042-07","drawing_revision":"B","order":"1E5","lot":"00071",
            "readings_a_piece":2,"features":[feature],"by":"AK"});
        daemon.done("/api/jobs", &form);
    }
    let tags = json!({"job":"J-1","purpose":"inspecting","operator":"AK"});
    daemon.done("/api/stations/s0/tags", &tags);
    Shop { folder, daemon }
}

impl Shop {
    fn measure(&self, text: &str, unit: &str) -> Value {
        let form = json!({"text":text,"unit":unit});
        self.daemon.done("/api/stations/s0/reading", &form)
    }

    fn say(&self, reading: &Value, what: &str, form: &Value) -> Value {
        let path = format!("/api/readings/{}/{what}", reading["entry"]);
        self.daemon.done(&path, form)
    }

    fn fetched(&self, path: &str, name: &str) -> PathBuf {
        let (status, _, body) = client::fetch(self.daemon.address, path);
        assert_eq!(status, 200, "{path}");
        let file = self.folder.join(name);
        std::fs::write(&file, body).expect("written");
        file
    }

    fn overwire(&self, arguments: &[&str]) -> (Option<i32>, String) {
        let output = Command::new(program("overwire", "overwire"))
            .arg("export")
            .args(arguments)
            .arg("--settings")
            .arg(self.folder.join("overwire.toml"))
            .output()
            .expect("overwire runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.code(), told)
    }
}

/// Readings of both jobs, a void, a re-tag, a remark, and a piece that was begun again; each as the page got it
/// at last, by its entry.
fn measured(shop: &Shop) -> BTreeMap<String, Value> {
    let mut seen = Vec::new();
    for text in ["1.0760", "1.0761", "1.0762", "1.0763", "1.0732", "1.0777"] {
        seen.push(shop.measure(text, "in"));
    }
    let back = shop
        .daemon
        .done("/api/stations/s0/piece", &json!({"go":"back"}));
    assert_eq!(back["tags"]["attempt"], 2, "begun again: {back}");
    for text in ["1.0759", "1.0758", "1.0757"] {
        seen.push(shop.measure(text, "in"));
    }
    shop.daemon
        .done("/api/stations/s0/tags", &json!({"job":"J-2"}));
    for text in ["40.250", "40.2505", "40.244"] {
        seen.push(shop.measure(text, "mm"));
    }
    let by = "AK";
    seen[1] = shop.say(&seen[1], "void", &json!({"reason":"wire slipped","by":by}));
    let form =
        json!({"job":"J-2","feature":"nose","piece":7,"reason":"the wrong drawing","by":"BR"});
    seen[3] = shop.say(&seen[3], "retag", &form);
    seen[4] = shop.say(
        &seen[4],
        "comment",
        &json!({"text":"burr taken off","by":by}),
    );
    let by_entry = |reading: Value| (reading["entry"].to_string(), reading);
    seen.into_iter().map(by_entry).collect()
}

fn csv_rows(file: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(file).expect("a CSV");
    let heads = reader.headers().expect("heads").clone();
    let rows = reader.records().map(|row| row.expect("a row"));
    rows.map(|row| {
        let cells = heads.iter().zip(row.iter());
        cells
            .map(|(head, cell)| (head.to_owned(), cell.to_owned()))
            .collect()
    })
    .collect()
}

/// UTC to the millisecond, as openpyxl gives a date, of ISO 8601 with offset.
fn utc(iso: &str) -> String {
    let (moment, offset) = iso.split_at(iso.len() - 6);
    let (hours, minutes) = offset[1..].split_once(':').expect("an offset");
    let minutes: i64 =
        hours.parse::<i64>().expect("hours") * 60 + minutes.parse::<i64>().expect("minutes");
    let sign = if offset.starts_with('-') { 1 } else { -1 };
    let script = "import datetime,sys; m=datetime.datetime.fromisoformat(sys.argv[1]); \
        print((m+datetime.timedelta(minutes=int(sys.argv[2]))).isoformat(timespec='milliseconds'))";
    let output = Command::new("python3")
        .args(["-c", script, moment, &(sign * minutes).to_string()])
        .output()
        .expect("python3");
    String::from_utf8_lossy(&output.stdout).trim().to_owned()
}

/// Holds a cell against the same of the CSV.
fn same(row: &Row, name: &str, holds: Holds, csv: &str) {
    let head = match holds {
        Holds::Moment => format!("{name} (UTC)"),
        Holds::Local => format!("{name} (shop)"),
        _ => name.to_owned(),
    };
    let Some(cell) = row.get(&head) else {
        assert_eq!(csv, "", "{name} is missing in the workbook");
        return;
    };
    match holds {
        Holds::Code => assert_eq!(
            (&cell["kind"], &*text(cell)),
            (&json!("text"), csv),
            "{name}"
        ),
        Holds::Free => {
            let plain = overwire::export::guard::unguarded(csv);
            assert_eq!(
                (&cell["kind"], &*text(cell)),
                (&json!("text"), plain),
                "{name}"
            );
            assert_eq!(cell["quoted"], true, "{name}: {cell}");
        }
        Holds::Whole | Holds::Flag | Holds::Length | Holds::Number => {
            assert_eq!(cell["kind"], "number", "{name}: {cell}");
            assert_eq!(digits(cell), csv.trim_start_matches('+'), "{name}: {cell}");
        }
        Holds::Moment => assert_eq!(
            (&cell["kind"], text(cell)),
            (&json!("date"), utc(csv)),
            "{name}"
        ),
        Holds::Local => {
            let local = text(cell).replace('T', " ");
            assert_eq!(local.strip_suffix(".000"), Some(csv), "{name}");
        }
    }
}

#[test]
fn every_number_is_the_same_in_csv_workbook_and_api() {
    let shop = shop("workbook-same");
    let api = measured(&shop);
    let long = csv_rows(&shop.fetched("/export.csv", "long.csv"));
    let wide = csv_rows(&shop.fetched("/export.csv?rows=pieces", "wide.csv"));
    let book = Workbook::read(&shop.fetched("/export.xlsx", "job.xlsx"));
    assert_eq!(long.len(), api.len());
    for row in &long {
        let view = &api[&row["entry"]];
        for (name, told) in [
            ("over_wires", &view["over_wires"]),
            ("pitch_diameter", &view["pitch_diameter"]),
            ("pitch_diameter_min", &view["limits"]["min"]),
            ("pitch_diameter_max", &view["limits"]["max"]),
            ("verdict", &view["verdict"]),
            ("at", &view["at"]),
            ("void_reason", &view["void"]["reason"]),
        ] {
            assert_eq!(row[name], told.as_str().unwrap_or_default(), "{name}");
        }
        assert_eq!(row["piece"], view["piece"].to_string());
        assert_eq!(row["counted"] == "1", view["counted"] == true);
    }
    let readings = book.table("Readings");
    assert_eq!(readings.len(), long.len());
    for (cells, row) in readings.iter().zip(&long) {
        for column in COLUMNS {
            same(cells, column.name, column.holds, &row[column.name]);
        }
    }
    let pieces = book.table("Pieces");
    assert_eq!(pieces.len(), wide.len());
    let wide_columns = overwire::export::wide::COLUMNS;
    let numbered = [
        "over_wires_1",
        "over_wires_2",
        "pitch_diameter_1",
        "pitch_diameter_2",
    ];
    for (cells, row) in pieces.iter().zip(&wide) {
        for column in wide_columns {
            same(cells, column.name, column.holds, &row[column.name]);
        }
        for name in numbered {
            same(cells, name, Holds::Length, &row[name]);
        }
        assert_eq!(text(&cells["functional_check"]), "none recorded");
    }
    assert!(
        wide.iter()
            .any(|row| row["attempt"] == "2" && row["newest"] == "1")
    );
    voids_and_gauges(&book);
    let held = api.values().filter(|view| !view["held"].is_null());
    summary_tells(&shop, &book, held.count());
    printed_well(&book);
}

fn voids_and_gauges(book: &Workbook) {
    let voids = book.table("Voids");
    let told: Vec<(String, String, String)> = voids
        .iter()
        .map(|row| (text(&row["what"]), text(&row["reason"]), text(&row["by"])))
        .collect();
    let told: Vec<(&str, &str, &str)> = told.iter().map(|(a, b, c)| (&**a, &**b, &**c)).collect();
    assert_eq!(
        told,
        [
            ("void", "wire slipped", "AK"),
            ("re-tagged", "the wrong drawing", "BR"),
            ("remark", "burr taken off", "AK")
        ]
    );
    let moved = &voids[1];
    for (name, wanted) in [
        ("job", "J-2"),
        ("original_job", "J-1"),
        ("original_verdict", "pass"),
    ] {
        assert_eq!(text(&moved[name]), wanted, "{name}");
    }
    assert_eq!(
        (digits(&moved["piece"]), digits(&moved["original_piece"])),
        ("7".into(), "2".into())
    );
    let gauges = book.table("Gauges");
    let micrometer = &gauges[0];
    assert_eq!(text(&micrometer["serial"]), "00071", "zeros in front stay");
    assert_eq!(digits(&micrometer["resolution"]), "0.0001");
    assert_eq!(
        digits(&micrometer["overdue_readings"]),
        digits(&micrometer["readings"])
    );
    assert_eq!(digits(&gauges[1]["diameter_1"]), "0.04811");
}

fn summary_tells(shop: &Shop, book: &Workbook, held: usize) {
    let record = rusqlite::Connection::open(shop.folder.join("record.db")).expect("the record");
    let (entry, hash): (i64, String) = record
        .query_row(
            "SELECT entry, lower(hex(hash)) FROM (SELECT entry, hash FROM reading UNION ALL
             SELECT entry, hash FROM change) ORDER BY entry DESC LIMIT 1",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .expect("a head");
    assert_eq!(text(&book.told("Record: its hash")), hash);
    assert_eq!(digits(&book.told("Record: last entry")), entry.to_string());
    assert_eq!(book.about["properties"]["Record head hash"], hash);
    for (label, wanted) in [
        ("Readings", "12"),
        ("void", "1"),
        ("held", &held.to_string()),
        ("Rows on Pieces", &book.table("Pieces").len().to_string()),
    ] {
        assert_eq!(digits(&book.told(label)), wanted, "{label}");
    }
    for (label, wanted) in [
        ("Drawing", "0042-07"),
        ("Order", "1E5"),
        ("Lot", "00071"),
        ("Thread", "1 1/16-12 UN-2A"),
        ("Decision rule", "compared with the limits"),
    ] {
        assert_eq!(text(&book.told(label)), wanted, "{label}");
    }
    assert!(
        text(&book.told("instrument")).contains("serial 00071; certificate C-9; due 2020-01-31")
    );
    assert!(
        text(&book.told("instrument")).contains("OVERDUE"),
        "{}",
        book.told("instrument")
    );
    assert!(text(&book.told("wire set")).contains("0.04811 in; certificate C-7; due 2099-01-31; "));
    assert!(text(&book.told("To know")).contains("not the functional size"));
    let found = shop.daemon.get("/api/statistics?job=J-1&feature=end");
    let told: Vec<String> = book.summary().iter().map(|(_, cell)| text(cell)).collect();
    for section in found["sections"].as_array().expect("sections") {
        for sentence in section["sentences"].as_array().expect("sentences") {
            let sentence = sentence.as_str().expect("text");
            assert!(told.iter().any(|line| line == sentence), "{sentence}");
        }
        let rows = section["table"]["rows"].as_array();
        for figure in rows
            .into_iter()
            .flatten()
            .flat_map(|row| row.as_array().expect("cells"))
        {
            let figure = figure.as_str().expect("text");
            let shown = |(_, cell): &(String, Value)| match cell["kind"].as_str() {
                Some("number") => digits(cell) == figure,
                _ => text(cell) == figure,
            };
            assert!(
                figure.is_empty() || book.summary().iter().any(shown),
                "{figure}"
            );
        }
    }
    let formulas: Vec<&Value> = book
        .cells()
        .iter()
        .filter(|cell| cell["kind"] == "formula")
        .collect();
    assert!(!formulas.is_empty() && formulas.iter().all(|cell| cell["sheet"] == "Summary"));
}

fn printed_well(book: &Workbook) {
    assert_eq!(
        book.sheets(),
        [
            "Summary",
            "Readings",
            "Pieces",
            "Voids",
            "Gauges",
            "Chart_data"
        ]
    );
    for sheet in book.sheets() {
        let setup = book.setup(sheet);
        assert_eq!(setup["merged"], 0, "{sheet}");
        assert_eq!(
            (&setup["landscape"], &setup["paper"]),
            (&json!("landscape"), &json!(9)),
            "{sheet}"
        );
        assert_eq!(setup["titles"], "$1:$1", "{sheet}");
        assert_eq!(setup["fit"], json!([true, 1, 0]), "{sheet}");
        assert_eq!(setup["footer"], "Page &P of &N", "{sheet}");
    }
    let readings = book.setup("Readings");
    assert_eq!(readings["frozen"], "B2");
    assert!(
        readings["filter"]
            .as_str()
            .is_some_and(|filter| filter.starts_with("A1:") && filter.ends_with("13"))
    );
    assert_eq!(
        book.setup("Chart_data")["charts"],
        4,
        "a run chart and a histogram for each thread"
    );
    for sheet in ["Pieces", "Gauges"] {
        assert_eq!(
            book.setup(sheet)["tables"]
                .as_object()
                .map(serde_json::Map::len),
            Some(1),
            "{sheet}"
        );
    }
    let marks = readings["marks"].to_string();
    for mark in [
        r#"["FAIL",true,false,null,true]"#,
        r#"["UNDECIDED",false,true,null"#,
        r#"["HELD",false,false,"single""#,
    ] {
        assert!(marks.contains(mark), "{mark}: {marks}");
    }
}

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
    let shop = shop("workbook-hostile");
    hostile_record(&shop);
    let file = shop.folder.join("all.xlsx");
    let (code, told) = shop.overwire(&["--out", file.to_str().expect("a plain path")]);
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

#[test]
fn a_table_that_is_too_long_goes_on_on_the_next_sheet() {
    let shop = shop("workbook-long");
    measured(&shop);
    let file = shop.folder.join("small.xlsx");
    let options = Options {
        rows_a_sheet: 5,
        ..Options::now()
    };
    let record =
        overwire::record::reader::open(&shop.folder.join("record.db")).expect("the record");
    let out = std::fs::File::create(&file).expect("a file");
    let rows =
        write(&record, &Choice::default(), &options, &mut |_, _| {}, out).expect("a workbook");
    assert_eq!(rows, 12);
    let book = Workbook::read(&file);
    assert_eq!(
        book.sheets(),
        [
            "Summary",
            "Readings",
            "Readings2",
            "Readings3",
            "Pieces",
            "Pieces2",
            "Voids",
            "Gauges",
            "Chart_data"
        ]
    );
    let mut entries = Vec::new();
    for (sheet, count) in [("Readings", 5), ("Readings2", 5), ("Readings3", 2)] {
        let rows = book.table(sheet);
        assert_eq!(rows.len(), count, "{sheet}");
        entries.extend(
            rows.iter()
                .map(|row| digits(&row["entry"]).parse::<i64>().expect("an entry")),
        );
    }
    assert!(entries.is_sorted() && entries.len() == 12);
    let told = book.summary();
    let goes_on = told
        .iter()
        .find(|(label, cell)| label == "Readings" && cell["kind"] == "text");
    assert_eq!(
        goes_on.map(|(_, cell)| text(cell)).as_deref(),
        Some("goes on over 3 sheets, Readings to Readings3")
    );
    let shown = shown_by_libreoffice(&file, &shop.folder)("Summary");
    for (label, cell) in told.iter().filter(|(_, cell)| cell["kind"] == "formula") {
        let recounted = &shown.iter().find(|row| row[0] == *label).expect("its line")[1];
        assert_eq!(
            *recounted,
            cell["cached"].to_string(),
            "{label} over all sheets"
        );
    }
}

#[test]
fn named_columns_alone_make_a_lean_workbook_and_slips_are_told() {
    let shop = shop("workbook-lean");
    measured(&shop);
    let file = shop.folder.join("lean.XLSX");
    let out = file.to_str().expect("a plain path");
    let only = "entry,at,job,station,raw,over_wires,pitch_diameter,verdict";
    let (code, told) = shop.overwire(&[
        "--only", only, "--out", out, "--job", "J-1", "--paper", "letter",
    ]);
    assert_eq!(code, Some(0), "{told}");
    let book = Workbook::read(&file);
    assert_eq!(book.sheets(), ["Summary", "Readings"]);
    assert_eq!(book.setup("Readings")["paper"], 1);
    assert_eq!(book.setup("Readings")["header"], "J-1");
    assert_eq!(book.about["properties"]["Job"], "J-1");
    assert_eq!(text(&book.told("Chosen: job")), "J-1");
    let rows = book.table("Readings");
    assert_eq!(
        (rows.len(), digits(&rows[0]["over_wires"])),
        (9, "1.0760".to_owned())
    );
    for wrong in [
        &["--dialect", "comma"][..],
        &["--mark", "yes"],
        &["--rows", "pieces"],
        &["--only", "entri"],
    ] {
        let mut arguments = vec!["--out", out];
        arguments.extend(wrong);
        let (code, told) = shop.overwire(&arguments);
        assert_eq!(code, Some(2), "{wrong:?}: {told}");
    }
    let (status, _, body) = client::fetch(shop.daemon.address, "/export.xlsx?jobs=J-1");
    assert_eq!(status, 422, "{}", String::from_utf8_lossy(&body));
    let empty = shop.fetched("/export.xlsx?job=nobody", "empty.xlsx");
    assert_eq!(digits(&Workbook::read(&empty).told("Readings")), "0");
}

/// A disk that is full while temporary files are written: said so, and no file is left under the name.
#[test]
fn a_full_disk_is_told_and_leaves_no_file() {
    let shop = shop("workbook-full");
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
