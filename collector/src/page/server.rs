//! The listener. Built on hyper directly so that a connection that stalls can be ended: a head must have
//! come within [`HEAD_TIME`], and what was sent must be taken within [`STALL_TIME`].

use std::io;
use std::sync::Arc;
use std::time::Duration;

use axum::{Extension, Router};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use socket2::SockRef;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;

use super::outlet::{Line, Outlet};

/// Time in which the head of a request must have come.
const HEAD_TIME: Duration = Duration::from_secs(10);
/// Time after which a page that takes nothing of what it was sent is let go.
const STALL_TIME: Duration = Duration::from_secs(20);
/// Most connections at once; further ones wait in the listener's queue.
const MOST_CONNECTIONS: usize = 400;
/// Time the connections get to end when the daemon does.
const GOODBYE: Duration = Duration::from_millis(300);

/// Serves until the daemon ends.
pub async fn serve(listener: TcpListener, router: Router, mut ending: watch::Receiver<bool>) {
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let mut connections = JoinSet::new();
    loop {
        let place = tokio::select! {
            _ = ending.changed() => break,
            place = room.clone().acquire_owned() => place,
        };
        let Ok(place) = place else { break };
        let accepted = tokio::select! {
            _ = ending.changed() => break,
            accepted = listener.accept() => accepted,
        };
        while connections.try_join_next().is_some() {}
        match accepted {
            Ok((stream, _)) => {
                let router = router.clone();
                connections.spawn(async move {
                    let _place = place;
                    connection(stream, router).await;
                });
            }
            Err(error) => {
                // Out of descriptors, most likely: give the others time to end.
                tracing::warn!(error = %error, "A connection could not be accepted.");
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        }
    }
    let goodbye = async { while connections.join_next().await.is_some() {} };
    let _ = tokio::time::timeout(GOODBYE, goodbye).await;
}

async fn connection(stream: TcpStream, router: Router) {
    if let Err(error) = prepare(&stream) {
        tracing::debug!(error = %error, "A connection could not be prepared.");
    }
    let outlet = Arc::new(Outlet::new(stream));
    let router = router.layer(Extension(outlet.clone()));
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .serve_connection(TokioIo::new(Line(outlet)), TowerToHyperService::new(router))
        .await;
    if let Err(error) = served {
        // A browser that closed its tab looks like this too.
        tracing::debug!(error = %error, "A connection ended early.");
    }
}

fn prepare(stream: &TcpStream) -> io::Result<()> {
    stream.set_nodelay(true)?;
    SockRef::from(stream).set_tcp_user_timeout(Some(STALL_TIME))
}
