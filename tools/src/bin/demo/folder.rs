//! The folder in which the demonstration keeps its settings, its record and its ports.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

/// First line of the settings that the demonstration writes; it overwrites no others.
pub const SETTINGS_HEAD: &str =
    "# Settings of the overwire demonstration; written anew at each start.";

/// A folder that is removed in the end, unless it is to be kept or was given by the user.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    keep: bool,
}

impl Folder {
    /// The folder given, or a new one for this run.
    pub fn make(given: Option<&Path>, keep: bool) -> anyhow::Result<Folder> {
        if let Some(given) = given {
            fs::create_dir_all(given)
                .with_context(|| format!("cannot make the folder {}", given.display()))?;
            let path = given.canonicalize()?;
            return Folder { path, keep: true }.without_foreign_settings();
        }
        let path = new_folder().with_context(|| {
            format!("cannot make a folder in {}", std::env::temp_dir().display())
        })?;
        Ok(Folder { path, keep })
    }

    /// Where the folder is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it stays when the demonstration ends.
    pub fn is_kept(&self) -> bool {
        self.keep
    }

    /// A file in it.
    pub fn file(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    fn without_foreign_settings(self) -> anyhow::Result<Folder> {
        let settings = self.file("overwire.toml");
        match fs::read_to_string(&settings) {
            Ok(text) if !text.starts_with(SETTINGS_HEAD) => bail!(
                "{} is not the demonstration's own; give another --dir, nothing is overwritten",
                settings.display()
            ),
            _ => Ok(self),
        }
    }
}

/// A folder that was not there before: one that another run left behind is not taken for ours.
fn new_folder() -> io::Result<PathBuf> {
    let mut tries = 0..100;
    loop {
        let name = format!("overwire-demo-{}-{}", std::process::id(), tries.start);
        let path = std::env::temp_dir().join(name);
        match fs::create_dir(&path) {
            Err(error)
                if error.kind() == io::ErrorKind::AlreadyExists && tries.next().is_some() => {}
            made => return made.map(|()| path),
        }
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if !self.keep {
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}
