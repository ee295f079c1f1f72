//! `overwire ports`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde::Serialize;

#[derive(Debug, clap::Args)]
pub struct Ports {
    /// JSON instead of text
    #[arg(long)]
    json: bool,
}

/// A port that is there.
#[derive(Debug, Serialize)]
struct Found {
    port: String,
    /// Names that stay with the adapter (by-id) or the socket (by-path).
    names: Vec<String>,
    can_be_opened: bool,
}

impl Ports {
    pub fn act(self) -> ExitCode {
        let found = match serialport::available_ports() {
            Ok(ports) => ports
                .into_iter()
                .map(|port| port.port_name)
                .collect::<Vec<_>>(),
            Err(error) => {
                super::complain(
                    &format!("the ports cannot be listed: {error}"),
                    "A port can still be named by its path.",
                );
                return ExitCode::from(69);
            }
        };
        let names = stable_names();
        let mut found: Vec<Found> = found
            .into_iter()
            .map(|port| Found {
                names: names.get(Path::new(&port)).cloned().unwrap_or_default(),
                can_be_opened: may_open(&port),
                port,
            })
            .collect();
        found.sort_by(|a, b| a.port.cmp(&b.port));
        if self.json {
            super::print(&(serde_json::to_string(&found).unwrap_or_default() + "\n"));
        } else {
            super::print(&text(&found));
        }
        ExitCode::SUCCESS
    }
}

fn text(found: &[Found]) -> String {
    if found.is_empty() {
        return "No serial ports are plugged in. A port can still be named by its path in the settings.\n"
            .to_owned();
    }
    let mut text = String::new();
    for port in found {
        let may = if port.can_be_opened {
            ""
        } else {
            "  (this user may not open it)"
        };
        text.push_str(&format!("{}{may}\n", port.port));
        for name in &port.names {
            text.push_str(&format!("    {name}\n"));
        }
    }
    text.push_str(
        "Use a by-id name in the settings: it stays with the adapter when sockets are swapped.\n",
    );
    text
}

/// Links under /dev/serial, by the node they lead to.
fn stable_names() -> BTreeMap<PathBuf, Vec<String>> {
    let mut names: BTreeMap<PathBuf, Vec<String>> = BTreeMap::new();
    for folder in ["/dev/serial/by-id", "/dev/serial/by-path"] {
        let Ok(entries) = std::fs::read_dir(folder) else {
            continue;
        };
        for link in entries.flatten().map(|entry| entry.path()) {
            if let Ok(node) = link.canonicalize() {
                names
                    .entry(node)
                    .or_default()
                    .push(link.display().to_string());
            }
        }
    }
    names
}

fn may_open(port: &str) -> bool {
    rustix::fs::access(
        port,
        rustix::fs::Access::READ_OK | rustix::fs::Access::WRITE_OK,
    )
    .is_ok()
}
