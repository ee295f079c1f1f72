//! The workbook: the same numbers as the CSV and the page, text that stays text, sheets that go on.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use overwire::export::Choice;
use overwire::export::columns::{COLUMNS, Holds};
use overwire::export::workbook::{Options, write};
use overwire_tests::client;
use overwire_tests::two_jobs::Shop;
use overwire_tests::workbook::{Row, Workbook, digits, shown_by_libreoffice, text};
use serde_json::{Value, json};

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
    let shop = Shop::new("workbook-same");
    let api = shop.measured();
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
    verdicts_are_counted_without_voids(&book, &long);
    voids_and_gauges(&book);
    let held = api.values().filter(|view| !view["held"].is_null());
    summary_tells(&shop, &book, held.count());
    printed_well(&book);
}

/// What stands cached behind each count is the count of the rows that are not void.
fn verdicts_are_counted_without_voids(book: &Workbook, long: &[BTreeMap<String, String>]) {
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    for row in long.iter().filter(|row| row["void"] == "0") {
        *counts.entry(&row["verdict_words"]).or_default() += 1;
    }
    let pass = long.iter().filter(|row| row["verdict"] == "pass");
    assert!(counts["PASS"] < pass.count() as u64, "one of them is void");
    for (words, count) in counts {
        let told = book.told(&format!("Verdict {words}"));
        assert_eq!(told["cached"].as_u64(), Some(count), "{words}: {told}");
    }
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
            "Pictures",
            "Charts",
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
        // A picture has a page of its own: no line goes on, and a page is broken by hand.
        let goes_on = sheet != "Pictures";
        let titles = goes_on.then_some("$1:$1");
        assert_eq!(setup["titles"], json!(titles), "{sheet}");
        let fit = if goes_on {
            json!([true, null, 0])
        } else {
            json!([false, null, null])
        };
        assert_eq!(setup["fit"], fit, "{sheet}");
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
        book.setup("Charts")["charts"],
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

#[test]
fn a_table_that_is_too_long_goes_on_on_the_next_sheet() {
    let shop = Shop::new("workbook-long");
    shop.measured();
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
            "Pictures",
            "Charts",
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
    let shop = Shop::new("workbook-lean");
    shop.measured();
    let file = shop.folder.join("lean.XLSX");
    let out = file.to_str().expect("a plain path");
    let only = "entry,at,job,station,raw,over_wires,pitch_diameter,verdict";
    let (code, told) = shop.export(&[
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
        let (code, told) = shop.export(&arguments);
        assert_eq!(code, Some(2), "{wrong:?}: {told}");
    }
    let (status, _, body) = client::fetch(shop.daemon.address, "/export.xlsx?jobs=J-1");
    assert_eq!(status, 422, "{}", String::from_utf8_lossy(&body));
    let empty = shop.fetched("/export.xlsx?job=nobody", "empty.xlsx");
    assert_eq!(digits(&Workbook::read(&empty).told("Readings")), "0");
}
