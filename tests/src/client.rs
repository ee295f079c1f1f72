//! A small HTTP client: one request a connection, and a listener to the event stream.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use serde_json::Value;

/// Sends a request as it is and gives the status, the head and the body.
pub fn raw(address: SocketAddr, request: &str) -> (u16, String, Vec<u8>) {
    let mut stream = TcpStream::connect(address).expect("the page answers");
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("a time-out");
    stream
        .write_all(request.as_bytes())
        .expect("the request is sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("the answer comes");
    let end = answer
        .windows(4)
        .position(|four| four == b"\r\n\r\n")
        .expect("a head");
    let head = String::from_utf8_lossy(&answer[..end]).into_owned();
    let status = head
        .split(' ')
        .nth(1)
        .and_then(|status| status.parse().ok())
        .expect("a status");
    let body = answer[end + 4..].to_vec();
    let chunked = head
        .to_ascii_lowercase()
        .contains("transfer-encoding: chunked");
    (status, head, if chunked { unchunked(&body) } else { body })
}

fn unchunked(mut body: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    while let Some(line) = body.windows(2).position(|two| two == b"\r\n") {
        let size = std::str::from_utf8(&body[..line]).expect("a chunk's size");
        let size = usize::from_str_radix(size, 16).expect("a chunk's size");
        if size == 0 {
            return whole;
        }
        whole.extend_from_slice(&body[line + 2..line + 2 + size]);
        body = &body[line + 2 + size + 2..];
    }
    panic!("the answer broke off");
}

/// GET, whole.
pub fn fetch(address: SocketAddr, path: &str) -> (u16, String, Vec<u8>) {
    raw(
        address,
        &format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n"),
    )
}

/// GET as JSON.
pub fn get(address: SocketAddr, path: &str) -> Value {
    let (status, _, body) = fetch(address, path);
    assert_eq!(status, 200, "{path}");
    serde_json::from_slice(&body).expect("JSON")
}

/// POST as JSON.
pub fn post(address: SocketAddr, path: &str, body: &Value) -> (u16, Value) {
    let body = body.to_string();
    let (status, _, answer) = raw(
        address,
        &format!(
            "POST {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        ),
    );
    (
        status,
        serde_json::from_slice(&answer).unwrap_or(Value::Null),
    )
}

/// An attached page: gives each event's name and data until the stream ends or `take` says no.
pub fn listen(
    address: SocketAddr,
    last_seen: Option<i64>,
    mut take: impl FnMut(&str, &str) -> bool,
) -> std::io::Result<()> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    let last_seen = last_seen
        .map(|id| format!("Last-Event-ID: {id}\r\n"))
        .unwrap_or_default();
    write!(
        stream,
        "GET /events HTTP/1.1\r\nHost: {address}\r\n{last_seen}\r\n"
    )?;
    let mut event = String::new();
    for line in BufReader::new(stream).lines() {
        let line = line?;
        if let Some(name) = line.strip_prefix("event: ") {
            event = name.to_owned();
        } else if let Some(data) = line.strip_prefix("data: ")
            && !take(&event, data)
        {
            break;
        }
    }
    Ok(())
}
