//! Pages printed by a real browser, and what poppler reads of them.
//!
//! `OVERWIRE_REPORTS=folder` keeps every page and sheet. `CHROMIUM` names the browser.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::Folder;

/// Prints a page by the browser; gives the file.
pub fn print(folder: &Folder, name: &str, html: &str) -> PathBuf {
    let page = folder.join(&format!("{name}.html"));
    std::fs::write(&page, html).expect("the page is written");
    let sheet = folder.join(&format!("{name}.pdf"));
    let chromium = std::env::var("CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned());
    let printed = Command::new(&chromium)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("browser").display()
        ))
        .arg(format!("--print-to-pdf={}", sheet.display()))
        .arg(format!("file://{}", page.display()))
        .output()
        .unwrap_or_else(|error| panic!("{chromium}: {error}; tools/test.sh installs it"));
    assert!(
        sheet.exists(),
        "nothing was printed: {}",
        String::from_utf8_lossy(&printed.stderr)
    );
    if let Some(folder) = std::env::var_os("OVERWIRE_REPORTS") {
        let folder = PathBuf::from(folder);
        std::fs::create_dir_all(&folder).expect("a folder for reports");
        for file in [&page, &sheet] {
            let name = file.file_name().expect("a name");
            std::fs::copy(file, folder.join(name)).expect("the report is kept");
        }
    }
    sheet
}

/// What poppler reads of a sheet, page by page.
pub fn pages(sheet: &Path) -> Vec<String> {
    let output = Command::new("pdftotext")
        .args(["-layout", "-enc", "UTF-8"])
        .arg(sheet)
        .arg("-")
        .output()
        .expect("pdftotext is needed: Debian's poppler-utils; tools/test.sh installs it");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
    // Every page ends with a form feed.
    pages.pop();
    pages
}

/// Every page's width and height in points, as poppler tells them.
pub fn sizes(sheet: &Path) -> Vec<(f64, f64)> {
    let output = Command::new("pdfinfo")
        .args(["-f", "1", "-l", "9999"])
        .arg(sheet)
        .output()
        .expect("pdfinfo is needed: Debian's poppler-utils; tools/test.sh installs it");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let of_page = |line: &&str| line.starts_with("Page ") && line.contains(" size:");
    let number = |text: &str| text.parse().expect("a number");
    text.lines()
        .filter(of_page)
        .map(|line| {
            let size: Vec<&str> = line.split_whitespace().collect();
            match size.as_slice() {
                ["Page", _, "size:", width, "x", height, ..] => (number(width), number(height)),
                other => panic!("{other:?}"),
            }
        })
        .collect()
}

/// A4 (ISO 216) in points of 1/72 in.
pub const A4: (f64, f64) = (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0);
/// Letter (ANSI/ASME Y14.1, size A) likewise.
pub const LETTER: (f64, f64) = (8.5 * 72.0, 11.0 * 72.0);

/// Whether every page is of the size, to a point: browsers round to whole pixels.
pub fn are_all(sizes: &[(f64, f64)], (width, height): (f64, f64)) -> bool {
    let near = |found: f64, wanted: f64| (found - wanted).abs() < 1.0;
    let is = |size: &(f64, f64)| near(size.0, width) && near(size.1, height);
    !sizes.is_empty() && sizes.iter().all(is)
}

/// The text of HTML, as a person reads it: tags taken out, spaces drawn together.
pub fn text_of(html: &str) -> String {
    let mut text = String::new();
    let mut rest = html;
    while let Some((before, tag)) = rest.split_once('<') {
        text.push_str(before);
        let (name, after) = tag.split_once('>').unwrap_or((tag, ""));
        rest = after;
        if name == "style" {
            rest = after.split_once("</style>").map_or("", |(_, after)| after);
        }
        if !["small", "strong", "bdi", "span"].iter().any(|inline| {
            let name = name.trim_start_matches('/');
            name == *inline || name.starts_with(&format!("{inline} "))
        }) {
            text.push(' ');
        }
    }
    text.push_str(rest);
    for (escaped, character) in [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ] {
        text = text.replace(escaped, character);
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every page says which of how many it is.
pub fn numbered(pages: &[String]) {
    for (index, page) in pages.iter().enumerate() {
        let number = format!("Page {} of {}", index + 1, pages.len());
        assert!(page.contains(&number), "{number} in:\n{page}");
    }
}
