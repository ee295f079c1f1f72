//! `overwire verify`.

use std::process::ExitCode;

use crate::record::verify::{Verified, verify};

#[derive(Debug, clap::Args)]
pub struct Verify {
    #[command(flatten)]
    record: super::RecordChoice,
    /// JSON instead of text
    #[arg(long)]
    json: bool,
}

impl Verify {
    pub fn act(self) -> ExitCode {
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        let verified = match verify(&connection) {
            Ok(verified) => verified,
            Err(error) => {
                super::complain(&error.to_string(), error.hint());
                return ExitCode::from(74);
            }
        };
        let body = if self.json {
            serde_json::to_string(&verified).unwrap_or_default() + "\n"
        } else {
            text(&verified)
        };
        super::print(&body);
        if verified.broken.is_some() {
            ExitCode::from(1)
        } else {
            ExitCode::SUCCESS
        }
    }
}

fn text(verified: &Verified) -> String {
    match &verified.broken {
        None => format!(
            "Sound: {} entries, {} of them readings.\nhead {}\nThe chain shows that nothing was altered before this head; compare it with one kept elsewhere.\n",
            verified.entries, verified.readings, verified.head
        ),
        Some(broken) => format!(
            "BROKEN at entry {}: {}.\n{} entries before it are sound; the last sound head is {}\n",
            broken.entry, broken.what, verified.entries, verified.head
        ),
    }
}
