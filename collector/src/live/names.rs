//! Which file a line goes to, and its name.

use std::fmt::Write as _;

use overwire_config::live::Rotate;
use sha2::{Digest as _, Sha256};

use super::steps::Step;

/// What one file is for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Period {
    /// Everything.
    All,
    /// A civil day of the shop, days since 1970-01-01.
    Day(i64),
    /// A job; empty: readings without one.
    Job(String),
}

impl Period {
    /// The periods that a step belongs to: a reading that was put into another job is told of in both.
    pub fn of(step: &Step, rotate: Rotate) -> Vec<Period> {
        match rotate {
            Rotate::Never => vec![Period::All],
            Rotate::Day => vec![Period::Day(step.day)],
            Rotate::Job => step.jobs.iter().cloned().map(Period::Job).collect(),
        }
    }

    /// Name of its file without the ending, of plain characters; no two periods have the same, not even on a
    /// disk to which capitals and small letters are one.
    pub fn name(&self) -> String {
        match self {
            Period::All => "readings".to_owned(),
            Period::Day(day) => {
                let date = crate::clock::local(day * 86_400_000_000, 0).date();
                format!("readings-{date}")
            }
            Period::Job(job) if job.is_empty() => "readings".to_owned(),
            Period::Job(job) => format!("readings-{}", plain(job)),
        }
    }
}

/// Longest plain name.
const LONGEST: usize = 60;

/// Capitals, digits, `-` and `_` stay as they are; a name with anything else in it gets a mark of its own.
fn plain(name: &str) -> String {
    let fits = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '-' || c == '_';
    if name.len() <= LONGEST && name.chars().all(fits) {
        return name.to_owned();
    }
    let shown = |c: char| match c.is_ascii_alphanumeric() || fits(c) {
        true => c,
        false => '-',
    };
    let mut text: String = name.chars().take(LONGEST).map(shown).collect();
    text.push('.');
    for byte in Sha256::digest(name.as_bytes()).iter().take(6) {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_jobs_share_a_file_and_names_are_plain() {
        let jobs = [
            "J-1",
            "j-1",
            "J/1",
            "J 1",
            "J.1",
            "..",
            "../J-1",
            "J-1\u{301}",
            "ジョブ",
            "a\0b",
            "",
        ];
        let long = ["X".repeat(61), "X".repeat(62)];
        let all = jobs.iter().copied().chain(long.iter().map(String::as_str));
        let names: Vec<String> = all.map(|job| Period::Job(job.to_owned()).name()).collect();
        for (index, name) in names.iter().enumerate() {
            let plain = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
            assert!(name.chars().all(plain) && name.len() < 100, "{name}");
            let same = |other: &String| other.eq_ignore_ascii_case(name);
            assert!(!names[..index].iter().any(same), "{name} twice");
        }
        assert_eq!(names[0], "readings-J-1");
        assert!(names[1].starts_with("readings-j-1."), "{}", names[1]);
    }

    #[test]
    fn days_are_written_as_the_calendar_has_them() {
        assert_eq!(Period::Day(20_516).name(), "readings-2026-03-04");
    }
}
