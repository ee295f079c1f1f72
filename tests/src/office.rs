//! LibreOffice as a person uses it, without its window.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::Folder;

/// Opens a file by an import filter with its options and gives its rows of cells, as `read_sheet.py` tells them.
pub fn opened(folder: &Folder, file: &Path, filter: &str) -> Vec<Vec<Value>> {
    let out = folder.join("out");
    let profile = folder.join("profile");
    // It takes some seconds; a profile of its own keeps it from any other one that runs.
    let office = Command::new("timeout")
        .args(["120", "soffice", "--headless", "--norestore"])
        .arg(format!(
            "-env:UserInstallation=file://{}",
            profile.display()
        ))
        .args(["--convert-to", "fods"])
        .arg(format!("--infilter={filter}"))
        .arg("--outdir")
        .arg(&out)
        .arg(file)
        .output()
        .expect("timeout, of Debian's coreutils");
    let sheet = out
        .join(file.file_name().expect("a name"))
        .with_extension("fods");
    assert!(
        sheet.exists(),
        "soffice made no sheet; is Debian's package libreoffice-calc installed? {}",
        String::from_utf8_lossy(&office.stderr)
    );
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
