//! `overwire run`.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

use overwire_config::settings;
use tokio::signal::unix::{SignalKind, signal};

use crate::run::{Io, run};

#[derive(Debug, clap::Args)]
pub struct Run {
    /// Settings file
    #[arg(long, value_name = "FILE", default_value = "overwire.toml")]
    settings: PathBuf,
    /// Address and port of the page, instead of the settings' ones; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<SocketAddr>,
    /// Log each frame too
    #[arg(long)]
    verbose: bool,
}

impl Run {
    pub fn act(self) -> ExitCode {
        start_log(self.verbose);
        let mut settings = match settings::load_knowing(&self.settings, Some(&super::known_words()))
        {
            Ok(settings) => settings,
            Err(error) => return super::settings_refused(&error),
        };
        if let Some(listen) = self.listen {
            if !listen.ip().is_loopback() && settings.page.listen.ip().is_loopback() {
                super::complain(
                    &format!("--listen {listen} would open the page to the network"),
                    "Say so in the settings: [page] allow_lan = true, with the address as listen.",
                );
                return ExitCode::from(2);
            }
            settings.page.listen = listen;
        }
        let runtime = match tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
        {
            Ok(runtime) => runtime,
            Err(error) => {
                super::complain(&format!("the runtime cannot start: {error}"), "");
                return ExitCode::from(69);
            }
        };
        let result = runtime.block_on(serve(settings));
        // A query of a page that is still under way must not hold up the end.
        runtime.shutdown_timeout(std::time::Duration::from_millis(200));
        match result {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                super::complain(&format!("{error:#}"), "");
                ExitCode::from(69)
            }
        }
    }
}

async fn serve(settings: overwire_config::Settings) -> anyhow::Result<()> {
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    let io = Io::system(&settings)?;
    let file = settings.record_file.display().to_string();
    let started = move |address: SocketAddr| {
        tracing::info!(record = file, "Started.");
        super::print(&format!("page http://{address}/\n"));
    };
    let shutdown = async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
        tracing::info!("Ending.");
    };
    run(settings, io, started, shutdown).await
}

/// The log goes to stderr, where systemd and a terminal both find it.
pub fn start_log(verbose: bool) {
    let level = if verbose {
        tracing::Level::DEBUG
    } else {
        tracing::Level::INFO
    };
    let log = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_max_level(level)
        .with_target(false)
        .with_ansi(false)
        .without_time();
    log.init();
}
