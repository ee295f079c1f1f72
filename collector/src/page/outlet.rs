//! One page's connection, as both sides see it: the server that answers on it, and the collector that tells
//! of readings.
//!
//! A reading should be on the page as soon as it is durable, and handing it to another thread costs more than
//! everything else after the commit. So the collector writes an event straight to the socket when nothing
//! else is on its way there; the body's chunk framing (RFC 9112, 7.1) lets the two take turns. Whenever that
//! is not so (the head is not out yet, a page that catches up, a full socket) the event waits in a bounded
//! queue that the server's task empties. One lock decides whose turn it is:
//!
//! * The socket is *clear* when the server has flushed all it had, its body has nothing more to give, and no
//!   chunk is half sent. Only then does [`Outlet::tell`] write.
//! * As soon as the body gives something to the server, the socket is no longer clear.
//! * What the socket took of a chunk only in part goes out before anything else.

use std::collections::VecDeque;
use std::io;
use std::net::Shutdown;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, Waker, ready};

use bytes::{Buf, Bytes};
use socket2::SockRef;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;

use crate::feed::{Listener, Told};

/// Messages that a slow page may lie behind before it is let go. With [`crate::feed::A_MESSAGE`] this bounds
/// the queues, which share their messages, to some 16 MB, whatever the rate.
const QUEUE: usize = 256;

/// A page's connection.
#[derive(Debug)]
pub struct Outlet {
    socket: TcpStream,
    turn: Mutex<Turn>,
}

/// Whose turn it is, and what waits.
#[derive(Debug, Default)]
struct Turn {
    /// A stream of events is the answer being given.
    attached: bool,
    /// Its body is sent in chunks, so that the collector may add one.
    chunked: bool,
    /// The page knows all up to this entry.
    caught_up_to: i64,
    queue: VecDeque<Told>,
    /// The page lay too far behind, or its socket failed.
    fallen: bool,
    /// What the socket has not taken yet of a chunk.
    rest: Bytes,
    /// The body had nothing more to give.
    idle: bool,
    /// All that the server had is out.
    clear: bool,
    body: Option<Waker>,
}

/// What the stream of a page does next.
#[derive(Debug)]
pub enum Next {
    /// Send these events.
    Events(Bytes),
    /// The page is too slow or gone: end the stream.
    Fallen,
}

impl Outlet {
    /// Takes a connection over.
    pub fn new(socket: TcpStream) -> Outlet {
        Outlet {
            socket,
            turn: Mutex::default(),
        }
    }

    /// A stream of events begins; `chunked` when its body is sent in chunks.
    pub fn attach(&self, chunked: bool) {
        *self.turn() = Turn {
            attached: true,
            chunked,
            ..Turn::default()
        };
    }

    /// The page has been sent all up to this entry in another way.
    pub fn caught_up(&self, upto: i64) {
        self.turn().caught_up_to = upto;
    }

    /// The stream of events ends. What is half sent still goes out.
    pub fn detach(&self) {
        let mut turn = self.turn();
        let rest = std::mem::take(&mut turn.rest);
        *turn = Turn {
            rest,
            ..Turn::default()
        };
    }

    /// What the body of the stream gives next.
    pub fn poll_next(&self, context: &mut Context<'_>) -> Poll<Next> {
        let mut turn = self.turn();
        if turn.fallen {
            turn.clear = false;
            return Poll::Ready(Next::Fallen);
        }
        if let Some(told) = turn.queue.pop_front() {
            turn.clear = false;
            turn.idle = false;
            return Poll::Ready(Next::Events(told.events()));
        }
        turn.idle = true;
        turn.body = Some(context.waker().clone());
        Poll::Pending
    }

    /// The body is about to give something of its own, or to end.
    pub fn not_clear(&self) {
        let mut turn = self.turn();
        turn.clear = false;
        turn.idle = false;
    }

    fn turn(&self) -> MutexGuard<'_, Turn> {
        self.turn.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Sends what is left of a chunk; true when nothing is left.
    fn send_rest(&self, turn: &mut Turn) -> io::Result<bool> {
        while !turn.rest.is_empty() {
            match self.socket.try_write(&turn.rest) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(taken) => turn.rest.advance(taken),
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => return Ok(false),
                Err(error) => return Err(error),
            }
        }
        Ok(true)
    }
}

impl Listener for Outlet {
    fn tell(&self, told: &Told) {
        let mut turn = self.turn();
        let known = told.upto != 0 && told.upto <= turn.caught_up_to;
        if !turn.attached || turn.fallen || known {
            return;
        }
        if turn.clear && turn.chunked {
            turn.rest = told.chunk().clone();
            match self.send_rest(&mut turn) {
                Ok(true) => return,
                Ok(false) => turn.clear = false,
                Err(_) => turn.fallen = true,
            }
        } else if turn.queue.len() < QUEUE {
            turn.queue.push_back(told.clone());
        } else {
            turn.fallen = true;
            turn.queue.clear();
        }
        if let Some(body) = turn.body.take() {
            body.wake();
        }
    }
}

/// The server's end of the connection.
#[derive(Debug)]
pub struct Line(pub Arc<Outlet>);

impl AsyncRead for Line {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        loop {
            ready!(self.0.socket.poll_read_ready(context))?;
            match self.0.socket.try_read_buf(buffer) {
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
                read => return Poll::Ready(read.map(|_| ())),
            }
        }
    }
}

impl AsyncWrite for Line {
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        loop {
            ready!(self.0.socket.poll_write_ready(context))?;
            let mut turn = self.0.turn();
            if !self.0.send_rest(&mut turn)? {
                continue;
            }
            match self.0.socket.try_write(bytes) {
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
                written => return Poll::Ready(written),
            }
        }
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        loop {
            let mut turn = self.0.turn();
            if self.0.send_rest(&mut turn)? {
                // The server flushes when it has nothing left in its own buffer.
                turn.clear = turn.attached && turn.idle && turn.queue.is_empty() && !turn.fallen;
                return Poll::Ready(Ok(()));
            }
            drop(turn);
            ready!(self.0.socket.poll_write_ready(context))?;
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        ready!(self.as_mut().poll_flush(context))?;
        Poll::Ready(SockRef::from(&self.0.socket).shutdown(Shutdown::Write))
    }
}

#[cfg(test)]
mod tests {
    use std::future::poll_fn;

    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::net::TcpListener;

    use super::*;

    async fn connected() -> (Arc<Outlet>, TcpStream) {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let page = TcpStream::connect(listener.local_addr().unwrap())
            .await
            .unwrap();
        let (socket, _) = listener.accept().await.unwrap();
        (Arc::new(Outlet::new(socket)), page)
    }

    /// The server has sent all it had and its body waits.
    async fn at_rest(outlet: &Arc<Outlet>) {
        let pending = poll_fn(|context| Poll::Ready(outlet.poll_next(context).is_pending())).await;
        assert!(pending);
        Line(outlet.clone()).flush().await.unwrap();
    }

    async fn read(page: &mut TcpStream, length: usize) -> String {
        let mut bytes = vec![0; length];
        page.read_exact(&mut bytes).await.unwrap();
        String::from_utf8(bytes).unwrap()
    }

    async fn next(outlet: &Outlet) -> Next {
        poll_fn(|context| outlet.poll_next(context)).await
    }

    #[tokio::test]
    async fn an_event_goes_straight_out_as_one_chunk_when_the_socket_is_clear() {
        let (outlet, mut page) = connected().await;
        outlet.attach(true);
        at_rest(&outlet).await;
        outlet.tell(&Told::new(7, b"event: reading\n\n"));
        assert_eq!(read(&mut page, 22).await, "10\r\nevent: reading\n\n\r\n");
        assert!(outlet.turn().queue.is_empty());
    }

    #[tokio::test]
    async fn an_event_waits_for_the_server_until_all_before_it_is_out() {
        let (outlet, _page) = connected().await;
        outlet.attach(true);
        outlet.tell(&Told::new(1, b"first"));
        let Next::Events(first) = next(&outlet).await else {
            panic!("fell")
        };
        assert_eq!(&first[..], b"first");
        // Given to the server, not flushed by it: the next must not overtake.
        outlet.tell(&Told::new(2, b"second"));
        Line(outlet.clone()).flush().await.unwrap();
        let Next::Events(second) = next(&outlet).await else {
            panic!("fell")
        };
        assert_eq!(&second[..], b"second");
    }

    #[tokio::test]
    async fn a_body_that_is_not_chunked_gets_everything_through_the_server() {
        let (outlet, _page) = connected().await;
        outlet.attach(false);
        at_rest(&outlet).await;
        outlet.tell(&Told::new(1, b"plain"));
        assert_eq!(outlet.turn().queue.len(), 1);
    }

    #[tokio::test]
    async fn what_a_page_knows_already_is_not_told_twice() {
        let (outlet, mut page) = connected().await;
        outlet.attach(true);
        outlet.caught_up(5);
        at_rest(&outlet).await;
        outlet.tell(&Told::new(5, b"known"));
        outlet.tell(&Told::new(6, b"new"));
        assert_eq!(read(&mut page, 8).await, "3\r\nnew\r\n");
    }

    #[tokio::test]
    async fn a_page_that_reads_slowly_gets_every_byte_in_order_and_whole() {
        let (outlet, mut page) = connected().await;
        outlet.attach(true);
        at_rest(&outlet).await;
        let event = vec![b'x'; 60_000];
        let server = outlet.clone();
        let told = 200;
        for entry in 1..=told {
            outlet.tell(&Told::new(entry, &event));
        }
        assert!(!outlet.turn().rest.is_empty(), "the socket took everything");
        let serving = tokio::spawn(async move {
            let mut line = Line(server.clone());
            loop {
                match tokio::time::timeout(std::time::Duration::from_millis(300), next(&server))
                    .await
                {
                    Ok(Next::Events(events)) => {
                        let chunk = Told::new(0, &events).chunk().clone();
                        line.write_all(&chunk).await.unwrap();
                    }
                    Ok(Next::Fallen) => panic!("fell"),
                    Err(_) => return line.flush().await.unwrap(),
                }
            }
        });
        let mut expected = b"ea60\r\n".to_vec();
        expected.extend_from_slice(&event);
        expected.extend_from_slice(b"\r\n");
        let mut chunk = vec![0; expected.len()];
        for _ in 0..told {
            page.read_exact(&mut chunk).await.unwrap();
            assert!(chunk == expected);
        }
        serving.await.unwrap();
    }

    #[tokio::test]
    async fn a_page_that_takes_nothing_is_let_go_and_keeps_little_waiting() {
        let (outlet, _page) = connected().await;
        outlet.attach(true);
        for entry in 1..2 * QUEUE as i64 {
            outlet.tell(&Told::new(entry, b"x"));
        }
        assert!(matches!(next(&outlet).await, Next::Fallen));
        assert!(outlet.turn().queue.is_empty());
    }
}
