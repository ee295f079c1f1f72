//! A small HTTP client for the daemon's page on this machine: one request a connection, JSON both ways.
//!
//! The Host and Origin headers are the page's own address, as a browser on that page would send them.
//! Replies are bounded in size and time, so that a stuck server cannot hang a tool.

use std::io::{self, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use serde_json::Value;

/// Longest wait for a connection, and for each read and write.
const PATIENCE: Duration = Duration::from_secs(10);

/// Largest reply taken.
const LARGEST_REPLY: u64 = 16 * 1024 * 1024;

/// Why a request brought no answer that can be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum HttpError {
    /// The text is no address of a page on this machine.
    #[error("`{0}` is no page address such as http://127.0.0.1:7070/")]
    NoAddress(String),
    /// Nobody answers, or the connection broke.
    #[error("{method} {path}: {source}")]
    Broken {
        /// The method asked for.
        method: &'static str,
        /// The path asked for.
        path: String,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The reply is no HTTP reply, or its body no JSON.
    #[error("{method} {path}: {what}")]
    Garbled {
        /// The method asked for.
        method: &'static str,
        /// The path asked for.
        path: String,
        /// What could not be read.
        what: &'static str,
    },
    /// The server refused, with its reason.
    #[error("{method} {path}: refused with {status}: {reason}")]
    Refused {
        /// The method asked for.
        method: &'static str,
        /// The path asked for.
        path: String,
        /// The status.
        status: u16,
        /// The server's own sentence, or its whole body.
        reason: String,
    },
}

/// The page of a running daemon.
#[derive(Debug, Clone)]
pub struct Page {
    address: SocketAddr,
}

impl Page {
    /// The page at an address such as `http://127.0.0.1:7070/`.
    ///
    /// # Errors
    /// [`HttpError::NoAddress`].
    pub fn at(url: &str) -> Result<Page, HttpError> {
        url.strip_prefix("http://")
            .map(|rest| rest.trim_end_matches('/'))
            .and_then(|authority| authority.parse().ok())
            .map(|address| Page { address })
            .ok_or_else(|| HttpError::NoAddress(url.to_owned()))
    }

    /// The address, for a person.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Asks for JSON.
    ///
    /// # Errors
    /// [`HttpError`], also for every status that is not 200 to 299.
    pub fn get(&self, path: &str) -> Result<Value, HttpError> {
        self.request("GET", path, None)
    }

    /// Sends JSON; the reply's JSON, or null where it has none.
    ///
    /// # Errors
    /// [`HttpError`], also for every status that is not 200 to 299.
    pub fn post(&self, path: &str, body: &Value) -> Result<Value, HttpError> {
        self.request("POST", path, Some(body))
    }

    fn request(
        &self,
        method: &'static str,
        path: &str,
        body: Option<&Value>,
    ) -> Result<Value, HttpError> {
        let reply = self
            .exchange(method, path, body)
            .map_err(|source| HttpError::Broken {
                method,
                path: path.to_owned(),
                source,
            })?;
        let garbled = |what| HttpError::Garbled {
            method,
            path: path.to_owned(),
            what,
        };
        let (status, body) = read_reply(&reply).map_err(garbled)?;
        let json: Option<Value> = serde_json::from_slice(&body).ok();
        if !(200..300).contains(&status) {
            let reason = refusal(json.as_ref(), &body);
            return Err(HttpError::Refused {
                method,
                path: path.to_owned(),
                status,
                reason,
            });
        }
        match json {
            Some(json) => Ok(json),
            None if body.is_empty() => Ok(Value::Null),
            None => Err(garbled("the body of the reply is no JSON")),
        }
    }

    fn exchange(&self, method: &str, path: &str, body: Option<&Value>) -> io::Result<Vec<u8>> {
        let mut stream = TcpStream::connect_timeout(&self.address, PATIENCE)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        let address = self.address;
        let mut request =
            format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n");
        let body = body.map(Value::to_string).unwrap_or_default();
        if !body.is_empty() {
            request.push_str(&format!(
                "Origin: http://{address}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n",
                body.len()
            ));
        }
        request.push_str("\r\n");
        request.push_str(&body);
        stream.write_all(request.as_bytes())?;
        let mut reply = Vec::new();
        stream.take(LARGEST_REPLY).read_to_end(&mut reply)?;
        Ok(reply)
    }
}

/// The server's own sentence and advice where it gave them, else what it sent.
fn refusal(json: Option<&Value>, body: &[u8]) -> String {
    let part = |name| json.and_then(|json| json.get(name)).and_then(Value::as_str);
    match (part("error"), part("hint")) {
        (Some(error), Some(hint)) => format!("{error} ({hint})"),
        (Some(error), None) => error.to_owned(),
        _ => String::from_utf8_lossy(body).trim().to_owned(),
    }
}

/// Status and body of a whole reply; a chunked body is put together.
fn read_reply(reply: &[u8]) -> Result<(u16, Vec<u8>), &'static str> {
    let split = reply
        .windows(4)
        .position(|four| four == b"\r\n\r\n")
        .ok_or("the reply has no end of its head")?;
    let head =
        std::str::from_utf8(&reply[..split]).map_err(|_| "the head of the reply is no text")?;
    let status = head
        .strip_prefix("HTTP/1.")
        .and_then(|rest| rest.split(' ').nth(1))
        .and_then(|status| status.parse().ok())
        .ok_or("the reply has no status")?;
    let body = &reply[split + 4..];
    let header = |name: &str| {
        head.lines()
            .filter_map(|line| line.split_once(':'))
            .find(|(found, _)| found.eq_ignore_ascii_case(name))
            .map(|(_, value)| value.trim())
    };
    if header("transfer-encoding").is_some_and(|value| value.eq_ignore_ascii_case("chunked")) {
        return Ok((status, join_chunks(body)?));
    }
    match header("content-length").map(str::parse::<usize>) {
        Some(Ok(length)) if length <= body.len() => Ok((status, body[..length].to_vec())),
        Some(_) => Err("the reply is shorter than it says"),
        None => Ok((status, body.to_vec())),
    }
}

fn join_chunks(mut rest: &[u8]) -> Result<Vec<u8>, &'static str> {
    const BROKEN: &str = "the reply breaks off within a chunk";
    let mut body = Vec::new();
    loop {
        let line_end = rest
            .windows(2)
            .position(|two| two == b"\r\n")
            .ok_or(BROKEN)?;
        let line = std::str::from_utf8(&rest[..line_end]).map_err(|_| BROKEN)?;
        let digits = line.split(';').next().unwrap_or_default().trim();
        let length = usize::from_str_radix(digits, 16).map_err(|_| BROKEN)?;
        rest = &rest[line_end + 2..];
        if length == 0 {
            return Ok(body);
        }
        body.extend_from_slice(rest.get(..length).ok_or(BROKEN)?);
        rest = rest
            .get(length..)
            .and_then(|rest| rest.strip_prefix(b"\r\n"))
            .ok_or(BROKEN)?;
    }
}

#[cfg(test)]
mod tests {
    use std::io::BufRead;
    use std::net::TcpListener;

    use serde_json::json;

    use super::*;

    /// Answers one request with `reply`; the request's head and body come back when it is joined.
    fn serve(reply: &'static str) -> (Page, std::thread::JoinHandle<String>) {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let url = format!("http://{}/", listener.local_addr().unwrap());
        let server = std::thread::spawn(move || {
            let (stream, _) = listener.accept().unwrap();
            let mut reader = io::BufReader::new(stream);
            let mut request = String::new();
            while !request.ends_with("\r\n\r\n") {
                reader.read_line(&mut request).unwrap();
            }
            let length = request
                .lines()
                .find_map(|line| line.strip_prefix("Content-Length: "))
                .map_or(0, |length| length.parse().unwrap());
            let mut body = vec![0; length];
            reader.read_exact(&mut body).unwrap();
            reader.get_mut().write_all(reply.as_bytes()).unwrap();
            request + &String::from_utf8(body).unwrap()
        });
        (Page::at(&url).unwrap(), server)
    }

    #[test]
    fn a_post_names_host_origin_and_kind() {
        let (page, server) = serve("HTTP/1.1 200 OK\r\nContent-Length: 11\r\n\r\n{\"piece\":2}");
        assert_eq!(
            page.post("/api/x", &json!({"go": "next"})).unwrap(),
            json!({"piece": 2})
        );
        let request = server.join().unwrap();
        let authority = page.url().replace("http://", "").replace('/', "");
        assert!(request.starts_with("POST /api/x HTTP/1.1\r\n"), "{request}");
        assert!(
            request.contains(&format!("\r\nHost: {authority}\r\n")),
            "{request}"
        );
        assert!(
            request.contains(&format!("\r\nOrigin: http://{authority}\r\n")),
            "{request}"
        );
        assert!(
            request.contains("\r\nContent-Type: application/json\r\n"),
            "{request}"
        );
        assert!(request.ends_with("\r\n\r\n{\"go\":\"next\"}"), "{request}");
    }

    #[test]
    fn chunks_are_put_together() {
        let (page, _server) = serve(
            "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n5\r\n{\"a\":\r\n2;x=1\r\n7}\r\n0\r\n\r\n",
        );
        assert_eq!(page.get("/").unwrap(), json!({"a": 7}));
    }

    #[test]
    fn a_refusal_keeps_the_servers_words() {
        let (page, _server) = serve(
            "HTTP/1.1 422 No\r\nContent-Length: 46\r\n\r\n{\"error\":\"no such job\",\"hint\":\"make it first\"}",
        );
        let refused = page.post("/api/x", &json!({})).unwrap_err().to_string();
        assert_eq!(
            refused,
            "POST /api/x: refused with 422: no such job (make it first)"
        );
    }

    #[test]
    fn half_a_reply_is_an_error() {
        assert!(read_reply(b"HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\n{}").is_err());
        assert!(read_reply(b"HTTP/1.1 200 OK\r\n").is_err());
        assert!(read_reply(b"SSH-2.0\r\n\r\n").is_err());
        assert!(join_chunks(b"5\r\nab").is_err());
        assert!(join_chunks(b"zz\r\n").is_err());
    }

    #[test]
    fn only_addresses_of_pages_are_taken() {
        assert!(Page::at("http://127.0.0.1:7070/").is_ok());
        assert!(Page::at("http://[::1]:7070").is_ok());
        assert!(Page::at("127.0.0.1:7070").is_err());
        assert!(Page::at("http://").is_err());
    }
}
