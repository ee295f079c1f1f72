//! Commands that must succeed.

use std::process::Command;

/// What a command writes to its standard output.
pub fn output_of(command: &mut Command) -> Vec<u8> {
    let output = command.output().expect("the command starts");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {complaint}");
    output.stdout
}
