//! A workbook, as openpyxl and LibreOffice read it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use crate::office::converted;

/// A cell that holds something: kind (`number`, `date`, `text`, `formula`), value, number format, quote mark.
pub type Cell = Value;

/// A row by the heads of its columns.
pub type Row = BTreeMap<String, Cell>;

/// A workbook as openpyxl reads it.
#[derive(Debug)]
pub struct Workbook {
    /// Sheets, properties, and how each sheet is set up.
    pub about: Value,
    cells: Vec<Cell>,
}

/// A Python that has openpyxl: the first one, or else the system's own.
fn python() -> &'static str {
    let has_it = |python: &&str| {
        let asked = Command::new(python)
            .args(["-c", "import openpyxl"])
            .output();
        asked.is_ok_and(|output| output.status.success())
    };
    let found = ["python3", "/usr/bin/python3"].into_iter().find(has_it);
    found.expect("openpyxl: Debian's package python3-openpyxl; tools/test.sh installs it")
}

impl Workbook {
    /// Reads it.
    pub fn read(file: &Path) -> Workbook {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/python/read_workbook.py");
        let read = Command::new(python())
            .arg(script)
            .arg(file)
            .output()
            .expect("python");
        let complaint = String::from_utf8_lossy(&read.stderr);
        assert!(read.status.success(), "{complaint}");
        let text = String::from_utf8(read.stdout).expect("UTF-8");
        let mut lines = text
            .lines()
            .map(|line| serde_json::from_str(line).expect("JSON"));
        Workbook {
            about: lines.next().expect("a first line"),
            cells: lines.collect(),
        }
    }

    /// The names of its sheets.
    pub fn sheets(&self) -> Vec<&str> {
        let names = self.about["sheets"].as_array().expect("sheets");
        names.iter().filter_map(Value::as_str).collect()
    }

    /// How a sheet is set up.
    pub fn setup(&self, sheet: &str) -> &Value {
        &self.about["setup"][sheet]
    }

    /// Every cell.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// The rows of a sheet under its heads.
    pub fn table(&self, sheet: &str) -> Vec<Row> {
        let of_sheet = || self.cells.iter().filter(|cell| cell["sheet"] == sheet);
        let head = |cell: &&Cell| cell["row"] == 1;
        let heads: BTreeMap<u64, String> = of_sheet()
            .filter(head)
            .map(|cell| (column(cell), text(cell)))
            .collect();
        let mut rows: BTreeMap<u64, Row> = BTreeMap::new();
        for cell in of_sheet().filter(|cell| !head(cell)) {
            let row = rows
                .entry(cell["row"].as_u64().expect("a row"))
                .or_default();
            let head = heads.get(&column(cell)).expect("a head over every cell");
            row.insert(head.clone(), cell.clone());
        }
        rows.into_values().collect()
    }

    /// The lines of the summary: what each is, and its cell.
    pub fn summary(&self) -> Vec<(String, Cell)> {
        let mut lines: BTreeMap<u64, (String, Cell)> = BTreeMap::new();
        for cell in self.cells.iter().filter(|cell| cell["sheet"] == "Summary") {
            let line = lines
                .entry(cell["row"].as_u64().expect("a row"))
                .or_default();
            match column(cell) {
                1 => line.0 = text(cell),
                _ => line.1 = cell.clone(),
            }
        }
        lines.into_values().collect()
    }

    /// The first line of the summary that is about something; panics without one.
    pub fn told(&self, label: &str) -> Cell {
        let found = self.summary().into_iter().find(|(own, _)| own == label);
        found
            .unwrap_or_else(|| panic!("nothing is said of {label}"))
            .1
    }
}

fn column(cell: &Cell) -> u64 {
    cell["column"].as_u64().expect("a column")
}

/// The text of a cell.
pub fn text(cell: &Cell) -> String {
    cell["value"].as_str().unwrap_or_default().to_owned()
}

/// The digits that a number's format shows; whole numbers as they are.
pub fn digits(cell: &Cell) -> String {
    let number: f64 = text(cell)
        .parse()
        .unwrap_or_else(|_| panic!("no number: {cell}"));
    let format = cell["format"].as_str().expect("a format");
    let places = format.split_once('.').map_or(0, |(_, after)| after.len());
    format!("{number:.places$}")
}

/// Has LibreOffice write each sheet as a CSV, as it shows the cells; gives the folder and the workbook's stem.
pub fn shown_by_libreoffice(
    file: &Path,
    folder: &crate::Folder,
) -> impl Fn(&str) -> Vec<Vec<String>> {
    // Comma, quote, UTF-8, cells as shown, every sheet to a file of its own.
    let form = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1";
    let (out, told) = converted(folder, file, &[form]);
    let stem: PathBuf = out.join(file.file_stem().expect("a name"));
    move |sheet| {
        let file = PathBuf::from(format!("{}-{sheet}.csv", stem.display()));
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_path(&file)
            .unwrap_or_else(|error| panic!("{error}; {told}"));
        let rows = reader.records().map(|row| row.expect("a row"));
        rows.map(|row| row.iter().map(str::to_owned).collect())
            .collect()
    }
}
