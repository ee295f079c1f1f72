//! `overwire check`.

use std::path::PathBuf;
use std::process::ExitCode;

use overwire_config::{Settings, settings};

#[derive(Debug, clap::Args)]
pub struct Check {
    /// Settings file
    #[arg(long, value_name = "FILE", default_value = "overwire.toml")]
    settings: PathBuf,
    /// JSON instead of text
    #[arg(long)]
    json: bool,
}

impl Check {
    pub fn act(self) -> ExitCode {
        let loaded = settings::load_knowing(&self.settings, Some(&super::known_words()));
        if self.json {
            return as_json(&loaded);
        }
        match loaded {
            Ok(settings) => {
                super::print(&text(&settings));
                ExitCode::SUCCESS
            }
            Err(error) => super::settings_refused(&error),
        }
    }
}

fn text(settings: &Settings) -> String {
    let mut text = format!(
        "Settings are sound: {} station(s).\n",
        settings.stations.len()
    );
    for station in &settings.stations {
        let line = &station.profile.line;
        text.push_str(&format!(
            "  {}: {} on {}, profile {}, {} Bd, frames without a unit are {}\n",
            station.name,
            station.instrument,
            station.port.display(),
            station.profile.name,
            line.baud,
            station.unit
        ));
    }
    text.push_str(&format!("  record {}\n", settings.record_file.display()));
    if let Some(live) = &settings.live {
        text.push_str(&super::live_words(live));
    }
    text.push_str(&format!("  page http://{}/\n", settings.page.listen));
    text
}

fn as_json(loaded: &Result<Settings, overwire_config::ConfigError>) -> ExitCode {
    let (sound, error, problems) = match loaded {
        Ok(_) => (true, None, Vec::new()),
        Err(error) => {
            let problems = error.problems().iter().map(|problem| {
                serde_json::json!({
                    "line": problem.line,
                    "key": problem.key,
                    "found": problem.found,
                    "wanted": problem.wanted,
                })
            });
            (false, Some(error.code()), problems.collect())
        }
    };
    let body = serde_json::json!({ "sound": sound, "error": error, "problems": problems });
    super::print(&format!("{body}\n"));
    match error {
        None => ExitCode::SUCCESS,
        Some("settings-unreadable") => ExitCode::from(66),
        Some(_) => ExitCode::from(1),
    }
}
