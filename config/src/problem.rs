//! A mistake in a file, told so that it can be mended without guessing.

use std::fmt;
use std::path::{Path, PathBuf};

/// One mistake: where it is, what stands there and what was wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Line in the file, from 1; 0 when the mistake is of the whole file.
    pub line: usize,
    /// Dotted key, as `station[2].port`; empty for the whole file.
    pub key: String,
    /// What stands in the file.
    pub found: String,
    /// What was wanted, with advice where there is any.
    pub wanted: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}", self.line)?;
        } else {
            f.write_str("whole file")?;
        }
        if !self.key.is_empty() {
            write!(f, ", `{}`", self.key)?;
        }
        write!(f, ": found {}, wanted {}", self.found, self.wanted)
    }
}

/// Why a file could not be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ConfigError {
    /// The file could not be read at all.
    #[error("cannot read {}: {source}", path.display())]
    Unreadable {
        /// The file asked for.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file was read and has mistakes: all of them, in the order of the file.
    #[error("{}", list(path, problems))]
    Mistakes {
        /// The file read.
        path: PathBuf,
        /// Every mistake found in it.
        problems: Vec<Problem>,
    },
}

impl ConfigError {
    /// Stable short name of the error, for programs.
    pub fn code(&self) -> &'static str {
        match self {
            ConfigError::Unreadable { .. } => "settings-unreadable",
            ConfigError::Mistakes { .. } => "settings-mistakes",
        }
    }

    /// Every mistake, or none when the file could not be read.
    pub fn problems(&self) -> &[Problem] {
        match self {
            ConfigError::Unreadable { .. } => &[],
            ConfigError::Mistakes { problems, .. } => problems,
        }
    }

    /// What to do next.
    pub fn hint(&self) -> &'static str {
        match self {
            ConfigError::Unreadable { .. } => {
                "Check the path and that this user may read the file; --settings names another."
            }
            ConfigError::Mistakes { .. } => {
                "Mend the lines named, then run `overwire check` again; nothing was started."
            }
        }
    }
}

fn list(path: &Path, problems: &[Problem]) -> String {
    let mut text = format!(
        "{} has {} mistake{}:",
        path.display(),
        problems.len(),
        if problems.len() == 1 { "" } else { "s" }
    );
    for problem in problems {
        text.push_str(&format!("\n  {problem}"));
    }
    text
}
