//! Runs the daemon: builds the collector and the page from what comes in from outside, and ends both.

use std::net::SocketAddr;
use std::sync::Arc;

use anyhow::Context as _;
use overwire_config::Settings;
use tokio::net::TcpListener;
use tokio::sync::watch;

use crate::clock::{Clock, SystemClock};
use crate::collect::{Collector, Desk, Parts};
use crate::feed::Feed;
use crate::live::follow::Live;
use crate::page::guard::Guard;
use crate::page::{Shared, routes, server};
use crate::record::writer::Store;
use crate::record::{RecordWriter, reader};
use crate::view::station::ShopView;

/// What the daemon touches of the world. [`Io::system`] is the real thing; a test puts its own.
pub struct Io {
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Keeps entries.
    pub store: Box<dyn Store>,
    /// Where the page listens.
    pub listener: std::net::TcpListener,
}

impl Io {
    /// The machine's clock, the record of the settings, and a socket at their address.
    ///
    /// # Errors
    /// The record cannot be opened, or the address is not free.
    pub fn system(settings: &Settings) -> anyhow::Result<Io> {
        let file = &settings.record_file;
        let store = RecordWriter::open(file).map_err(|error| {
            let hint = error.hint();
            anyhow::Error::new(error).context(format!("{} ({hint})", file.display()))
        })?;
        let listen = settings.page.listen;
        let listener = std::net::TcpListener::bind(listen).with_context(|| {
            format!("the page cannot listen on {listen}: another program does, or the address is not this machine's; set [page] listen or --listen")
        })?;
        Ok(Io {
            clock: Arc::new(SystemClock::new()),
            store: Box::new(store),
            listener,
        })
    }
}

/// Runs until `shutdown` resolves, then keeps what is held and ends.
///
/// `started` is told the page's address once it can be asked.
///
/// # Errors
/// The record cannot be read, or the system refuses what the daemon needs.
pub async fn run(
    settings: Settings,
    io: Io,
    started: impl FnOnce(SocketAddr),
    shutdown: impl Future<Output = ()>,
) -> anyhow::Result<()> {
    let feed = Arc::new(Feed::default());
    let listen = io.listener.local_addr()?;
    io.listener.set_nonblocking(true)?;
    let listener = TcpListener::from_std(io.listener)?;
    let record_file = settings.record_file.clone();
    let live = settings.live.clone();
    let look = reader::open(&record_file)?;
    let shop = shop(&settings);
    let guard = Arc::new(Guard::new(listen, &settings.page.host_names));
    let (collector, desk) = Collector::new(Parts {
        settings,
        store: io.store,
        look,
        clock: io.clock.clone(),
        feed: feed.clone(),
    })?;
    let live = live
        .map(|live| Live::start(live, record_file.clone(), io.clock.now(), feed.clone()))
        .transpose()?;
    let (ended, mut collector_ended) = tokio::sync::oneshot::channel();
    let thread = std::thread::Builder::new()
        .name("collector".to_owned())
        .spawn(move || {
            let result = collector.run();
            // Nobody waits any more when the daemon is ending.
            let _ = ended.send(());
            result
        })?;
    let (end, ending) = watch::channel(false);
    let shared = Shared {
        answered: Arc::default(),
        desk: desk.clone(),
        feed,
        shop: Arc::new(shop),
        record_file: Arc::new(record_file),
        clock: io.clock,
        ending: ending.clone(),
        guard,
    };
    let page = tokio::spawn(server::serve(listener, routes::router(shared), ending));
    started(listen);
    tokio::select! {
        () = shutdown => {}
        _ = &mut collector_ended => tracing::error!("The collector ended by itself."),
    }
    let ended = end_all(&desk, end, page, thread).await;
    if let Some(live) = live {
        live.end();
    }
    ended
}

async fn end_all(
    desk: &Desk,
    end: watch::Sender<bool>,
    page: tokio::task::JoinHandle<()>,
    thread: std::thread::JoinHandle<std::io::Result<()>>,
) -> anyhow::Result<()> {
    desk.stop();
    // The page may have ended already.
    let _ = end.send(true);
    let _ = page.await;
    match thread.join() {
        Ok(result) => result.context("the collector had to end"),
        Err(_) => anyhow::bail!("the collector ended by a fault of the program; see the log"),
    }
}

fn shop(settings: &Settings) -> ShopView {
    ShopView {
        name: settings.shop.name.clone(),
        methods: settings.shop.methods.clone(),
        operators: settings.shop.operators.clone(),
        void_reasons: settings.shop.void_reasons.clone(),
    }
}
