//! LibreOffice as a person uses it, without its window.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use crate::Folder;

/// Converts a file to another form, in the folder that is given back; and what it complained of.
pub fn converted(folder: &Folder, file: &Path, arguments: &[&str]) -> (PathBuf, String) {
    let out = folder.join("out");
    // It takes some seconds; a profile of its own keeps it from any other one that runs.
    let office = Command::new("timeout")
        .args(["120", "soffice", "--headless", "--norestore"])
        .arg(format!(
            "-env:UserInstallation=file://{}",
            folder.join("profile").display()
        ))
        .arg("--convert-to")
        .args(arguments)
        .arg("--outdir")
        .arg(&out)
        .arg(file)
        .output()
        .expect("timeout, of Debian's coreutils");
    let complaint = String::from_utf8_lossy(&office.stderr);
    let told = format!("is Debian's package libreoffice-calc installed? {complaint}");
    (out, told)
}

/// Opens a file by an import filter with its options and gives its rows of cells, as `read_sheet.py` tells them.
pub fn opened(folder: &Folder, file: &Path, filter: &str) -> Vec<Vec<Value>> {
    let (out, told) = converted(folder, file, &["fods", &format!("--infilter={filter}")]);
    let sheet = out
        .join(file.file_name().expect("a name"))
        .with_extension("fods");
    assert!(sheet.exists(), "soffice made no sheet; {told}");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/python/read_sheet.py");
    let read = Command::new("python3")
        .arg(script)
        .arg(&sheet)
        .output()
        .expect("python3");
    // The next file of this name must not be taken for this one.
    std::fs::remove_file(&sheet).expect("the sheet goes");
    assert!(
        read.status.success(),
        "{}",
        String::from_utf8_lossy(&read.stderr)
    );
    let text = String::from_utf8(read.stdout).expect("UTF-8");
    text.lines()
        .map(|row| serde_json::from_str(row).expect("a row"))
        .collect()
}
