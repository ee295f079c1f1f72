//! A daemon with a clock or a store of a test's own in it.

use std::path::Path;
use std::sync::Arc;

use overwire::clock::Clock;
use overwire::record::writer::Store;
use overwire::run::{Io, run};

/// What is put in place of the machine's.
pub struct Own {
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// The store.
    pub store: Box<dyn Store>,
}

/// Runs it as `PROGRAM run --settings FILE`; `own` is asked with the settings' file and the record's.
///
/// # Errors
/// The arguments or settings are wrong, or it cannot begin.
pub fn run_own(own: impl FnOnce(&Path, &Path) -> anyhow::Result<Own>) -> anyhow::Result<()> {
    let file = std::env::args()
        .nth(3)
        .ok_or_else(|| anyhow::anyhow!("run --settings FILE"))?;
    let settings = overwire_config::settings::load(Path::new(&file))?;
    let own = own(Path::new(&file), &settings.record_file)?;
    let io = Io {
        clock: own.clock,
        store: own.store,
        listener: std::net::TcpListener::bind(settings.page.listen)?,
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(run(
        settings,
        io,
        |at| println!("page http://{at}/"),
        std::future::pending(),
    ))
}
