//! Pictures outside the page: in the workbook, as files, and on its paper.

use std::process::Command;

use overwire_tests::client;
use overwire_tests::daemon::program;
use overwire_tests::office::converted;
use overwire_tests::two_jobs::Shop;
use overwire_tests::workbook::{Workbook, text};
use serde_json::Value;

/// What a PNG file begins with (ISO/IEC 15948, 5.2).
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The workbook has the pictures of every thread's statistics, dot by dot those that the page gives.
#[test]
fn the_workbook_shows_what_the_page_shows() {
    let shop = Shop::new("pictures-workbook");
    shop.measured();
    let file = shop.fetched("/export.xlsx", "all.xlsx");
    let book = Workbook::read(&file);
    let pictures = book.about["pictures"].as_array().expect("pictures");
    let mut expected = Vec::new();
    for (job, feature) in [("J-1", "end"), ("J-2", "nose")] {
        let asked = format!("job={job}&feature={feature}");
        let found = shop.daemon.get(&format!("/api/statistics?{asked}"));
        for drawn in found["pictures"].as_array().expect("pictures") {
            let name = drawn["name"].as_str().expect("a name");
            let path = format!("/findings.png?{asked}&picture={name}");
            let (status, head, dots) = client::fetch(shop.daemon.address, &path);
            assert_eq!(status, 200, "{path}");
            assert!(
                head.to_lowercase().contains("content-type: image/png"),
                "{head}"
            );
            assert!(dots.starts_with(PNG), "{path}");
            expected.push((format!("{job}, {feature}: "), drawn.clone(), hex(&dots)));
        }
    }
    assert!(expected.len() >= 6 && pictures.len() == expected.len());
    for (shown, (thread, drawn, dots)) in pictures.iter().zip(&expected) {
        assert!(shown["file"] == **dots, "{}", drawn["title"]);
        let width = shown["size"][0].as_f64().expect("a width");
        assert!(
            (width - 1080.0).abs() < 0.1,
            "half as wide as it has dots: {width}"
        );
        let described = drawn["description"].as_str().expect("a description");
        let alt = shown["alt"].as_str().expect("a text");
        assert!(
            alt.len() > 30 && alt.chars().count() <= 255 && described.starts_with(alt),
            "{alt}"
        );
        let above = shown["row"].as_u64().expect("a row") - 1;
        let caption = book
            .cells()
            .iter()
            .find(|cell| cell["sheet"] == "Pictures" && cell["row"] == above);
        let caption = text(caption.expect("a line above the picture"));
        let kind = described.split(". ").next().expect("words");
        assert_eq!(caption, format!("{thread}{kind}"));
    }
    whole_on_paper(&shop, &file, expected.len());
}

/// Printed by LibreOffice, every picture is on one page, whole, and not stretched.
fn whole_on_paper(shop: &Shop, file: &std::path::Path, count: usize) {
    let (out, told) = converted(&shop.folder, file, &["pdf"]);
    let listed = Command::new("pdfimages")
        .arg("-list")
        .arg(out.join("all.pdf"))
        .output()
        .expect("pdfimages is needed: Debian's poppler-utils; tools/test.sh installs it");
    let listed = String::from_utf8_lossy(&listed.stdout).into_owned();
    let rows: Vec<Vec<&str>> = listed
        .lines()
        .skip(2)
        .map(|line| line.split_whitespace().collect())
        .collect();
    assert_eq!(rows.len(), count, "{told} {listed}");
    let column = |at: usize| rows.iter().map(move |row| row[at]);
    let mut pages: Vec<&str> = column(0).collect();
    pages.dedup();
    assert_eq!(pages.len(), count, "{listed}");
    for (across, down) in column(12).zip(column(13)) {
        let [across, down] = [across, down].map(|dots| dots.parse::<i32>().expect("dots an inch"));
        assert!((across - down).abs() <= 2 && across >= 190, "{listed}");
    }
}

/// The command line writes either form, by the file's name.
#[test]
fn a_picture_of_a_csv_is_written_as_its_name_says() {
    let folder = overwire_tests::Folder::new("pictures-chart");
    let lines: String = (0..30)
        .map(|at| format!("0.46{}\n", 750 + (at * 7) % 11))
        .collect();
    let file = folder.join("sizes.csv");
    std::fs::write(&file, format!("size\n{lines}")).expect("written");
    let chart = |out: &str| {
        let output = Command::new(program("overwire", "overwire"))
            .args(["chart", "--picture", "run", "--unit", "in", "--out"])
            .args([&folder.join(out), &file])
            .output()
            .expect("overwire runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.code(), told, std::fs::read(folder.join(out)))
    };
    for (name, begins) in [
        ("run.png", PNG),
        ("RUN.PNG", PNG),
        ("run.svg", b"<svg "),
        ("run", b"<svg "),
    ] {
        let (code, told, written) = chart(name);
        assert_eq!(code, Some(0), "{told}");
        assert!(written.expect("a file").starts_with(begins), "{name}");
    }
    let (code, told, _) = chart("nowhere/run.png");
    assert_eq!(code, Some(74), "{told}");
    assert!(told.contains("Choose another place"), "{told}");
}

/// What is not there is told as for the drawing.
#[test]
fn a_picture_that_is_not_there_is_refused() {
    let shop = Shop::new("pictures-none");
    shop.measured();
    for (path, words) in [
        (
            "job=J-1&feature=end&picture=view",
            "There is no picture view.",
        ),
        ("job=J-9&feature=end&picture=run", "There is no job J-9."),
    ] {
        let (status, _, body) =
            client::fetch(shop.daemon.address, &format!("/findings.png?{path}"));
        let told: Value = serde_json::from_slice(&body).expect("JSON");
        assert_eq!((status, told["error"].as_str()), (404, Some(words)));
    }
}

/// The caption says once what a rule is, however many points it stands at; each point says its own when it is pointed at.
#[test]
fn a_caption_names_each_rule_once_with_its_points() {
    let folder = overwire_tests::Folder::new("pictures-caption");
    let far = [7, 21];
    let size = |at: usize| {
        if far.contains(&at) {
            790
        } else {
            750 + (at * 7) % 5
        }
    };
    let lines: String = (1..=30).map(|at| format!("0.46{}\n", size(at))).collect();
    let file = folder.join("sizes.csv");
    std::fs::write(&file, format!("size\n{lines}")).expect("written");
    let out = folder.join("run.svg");
    let output = Command::new(program("overwire", "overwire"))
        .args([
            "chart",
            "--json",
            "--picture",
            "run",
            "--unit",
            "in",
            "--out",
        ])
        .args([&out, &file])
        .output()
        .expect("overwire runs");
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let told = found["pictures"][0]["description"]
        .as_str()
        .expect("a description");
    assert!(
        told.contains("1\u{a0}= a point beyond a limit (pieces 7, 21)"),
        "{told}"
    );
    let svg = std::fs::read_to_string(&out).expect("a picture");
    for at in far {
        let words = format!("rule 1: Point {at} lies above the upper control limit");
        assert!(svg.contains(&words), "{words}");
    }
}
