//! Programs as child processes of a test, and folders of its own.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// Longest wait for anything.
pub const PATIENCE: Duration = Duration::from_secs(20);

/// A folder of a test's own, removed in the end.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let name = format!("{name}-{}", std::process::id());
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A child process that never outlives its test.
pub struct Program(pub Child);

impl Program {
    pub fn start(mut command: Command) -> Program {
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        Program(command.spawn().unwrap())
    }

    /// Waits for the end; success, standard output, standard error.
    pub fn finish(mut self) -> (bool, String, String) {
        drop(self.0.stdin.take());
        let mut output = String::new();
        let mut errors = String::new();
        self.0
            .stdout
            .take()
            .unwrap()
            .read_to_string(&mut output)
            .unwrap();
        self.0
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut errors)
            .unwrap();
        (self.0.wait().unwrap().success(), output, errors)
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}
