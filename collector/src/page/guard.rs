//! Who may ask. The page is for this machine (or for the names the settings give it); another web page
//! open in the same browser must be able neither to read it nor to change anything.
//!
//! - `Host` must be one of our own names: a foreign name that points here (DNS rebinding) is refused.
//! - `Origin`, where a browser sends it, must be our own; so must `Sec-Fetch-Site`.
//! - What changes something must be JSON: a form of another page cannot send that.

use std::collections::BTreeSet;
use std::net::SocketAddr;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::Shared;
use crate::collect::command::Refusal;

/// The names this page is called by, each with its port.
#[derive(Debug, Clone)]
pub struct Guard {
    authorities: BTreeSet<String>,
}

impl Guard {
    /// For a listener and the further host names of the settings.
    pub fn new(listen: SocketAddr, host_names: &[String]) -> Guard {
        let port = listen.port();
        let mut names = vec![
            "localhost".to_owned(),
            "127.0.0.1".to_owned(),
            "[::1]".to_owned(),
        ];
        if !listen.ip().is_unspecified() {
            names.push(match listen {
                SocketAddr::V4(address) => address.ip().to_string(),
                SocketAddr::V6(address) => format!("[{}]", address.ip()),
            });
        }
        names.extend(host_names.iter().cloned());
        let mut authorities = BTreeSet::new();
        for name in names {
            authorities.insert(format!("{name}:{port}"));
            if port == 80 {
                authorities.insert(name);
            }
        }
        Guard { authorities }
    }

    /// Whether a request may be answered.
    ///
    /// # Errors
    /// Why not, and what to do.
    pub fn check(&self, method: &Method, path: &str, headers: &HeaderMap) -> Result<(), Refusal> {
        self.check_host(headers)?;
        let opens_the_page = method == Method::GET && path == "/";
        if !opens_the_page {
            self.check_site(headers)?;
        }
        if !matches!(*method, Method::GET | Method::HEAD) {
            check_json(headers)?;
        }
        Ok(())
    }

    fn check_host(&self, headers: &HeaderMap) -> Result<(), Refusal> {
        let mut hosts = headers.get_all(header::HOST).iter();
        let (host, second) = (hosts.next(), hosts.next());
        let host = host
            .and_then(|host| host.to_str().ok())
            .map(str::to_ascii_lowercase);
        match host {
            Some(host) if second.is_none() && self.authorities.contains(&host) => Ok(()),
            _ => Err(Refusal::new(
                421,
                "foreign-host",
                "This page does not go by the name it was called with.",
                format!(
                    "Open it as http://{}/, or add the name under [page] host_names in the settings.",
                    self.authorities.first().map_or("127.0.0.1", String::as_str)
                ),
            )),
        }
    }

    fn check_site(&self, headers: &HeaderMap) -> Result<(), Refusal> {
        let foreign = || {
            Refusal::new(
                403,
                "foreign-page",
                "Another web page asked for this; only overwire's own page may.",
                "Open overwire's own page, or send the request without Origin from a program of your own.",
            )
        };
        for origin in headers.get_all(header::ORIGIN) {
            let own = origin
                .to_str()
                .ok()
                .and_then(|origin| origin.strip_prefix("http://"))
                .is_some_and(|authority| {
                    self.authorities.contains(&authority.to_ascii_lowercase())
                });
            if !own {
                return Err(foreign());
            }
        }
        match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
            None | Some(b"same-origin" | b"none") => Ok(()),
            Some(_) => Err(foreign()),
        }
    }
}

fn check_json(headers: &HeaderMap) -> Result<(), Refusal> {
    let kind = headers
        .get(header::CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok());
    let is_json = kind.is_some_and(|kind| {
        let essence = kind.split(';').next().unwrap_or_default().trim();
        essence.eq_ignore_ascii_case("application/json")
    });
    if is_json {
        return Ok(());
    }
    Err(Refusal::new(
        415,
        "not-json",
        "What changes something must come as JSON.",
        "Send it with the header `Content-Type: application/json`.",
    ))
}

/// Lets a request through if it may be, and puts the safety headers on every answer.
pub async fn stand(State(shared): State<Shared>, request: Request, next: Next) -> Response {
    let allowed = shared
        .guard
        .check(request.method(), request.uri().path(), request.headers());
    let mut response = match allowed {
        Ok(()) => next.run(request).await,
        Err(refusal) => refusal.into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    ));
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(*name, HeaderValue::from_str(value).unwrap());
        }
        headers
    }

    fn code(method: &Method, path: &str, pairs: &[(&'static str, &str)]) -> &'static str {
        let guard = Guard::new(
            SocketAddr::from(([127, 0, 0, 1], 7070)),
            &["lathe-pc".to_owned()],
        );
        guard
            .check(method, path, &headers(pairs))
            .map_or_else(|refusal| refusal.code, |()| "ok")
    }

    #[test]
    fn only_our_own_names_are_answered() {
        for host in [
            "127.0.0.1:7070",
            "localhost:7070",
            "LOCALHOST:7070",
            "[::1]:7070",
            "lathe-pc:7070",
        ] {
            assert_eq!(code(&Method::GET, "/", &[("host", host)]), "ok", "{host}");
        }
        for host in [
            "evil.example",
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost:7071",
            "127.0.0.1.evil.example:7070",
            "localhost.:7070",
            "",
        ] {
            assert_eq!(
                code(&Method::GET, "/", &[("host", host)]),
                "foreign-host",
                "{host}"
            );
        }
        assert_eq!(code(&Method::GET, "/", &[]), "foreign-host");
        let twice = [("host", "localhost:7070"), ("host", "evil.example")];
        assert_eq!(code(&Method::GET, "/", &twice), "foreign-host");
    }

    #[test]
    fn another_page_can_neither_read_nor_change() {
        let host = ("host", "localhost:7070");
        let json = ("content-type", "application/json; charset=utf-8");
        let own = ("origin", "http://localhost:7070");
        let post = |more: &[(&'static str, &str)]| {
            code(&Method::POST, "/api/jobs", &[&[host], more].concat())
        };
        assert_eq!(post(&[json]), "ok", "a program of one's own");
        assert_eq!(post(&[json, own, ("sec-fetch-site", "same-origin")]), "ok");
        for origin in [
            "http://evil.example",
            "http://localhost:7071",
            "https://localhost:7070",
            "null",
        ] {
            assert_eq!(
                post(&[json, ("origin", origin)]),
                "foreign-page",
                "{origin}"
            );
        }
        assert_eq!(
            post(&[json, ("sec-fetch-site", "cross-site")]),
            "foreign-page"
        );
        assert_eq!(
            post(&[json, ("sec-fetch-site", "same-site")]),
            "foreign-page"
        );
        for kind in [
            "application/x-www-form-urlencoded",
            "text/plain",
            "multipart/form-data; boundary=x",
        ] {
            assert_eq!(post(&[("content-type", kind)]), "not-json", "{kind}");
        }
        assert_eq!(post(&[]), "not-json");
        assert_eq!(
            code(
                &Method::GET,
                "/events",
                &[host, ("sec-fetch-site", "cross-site")]
            ),
            "foreign-page"
        );
        assert_eq!(
            code(&Method::GET, "/", &[host, ("sec-fetch-site", "cross-site")]),
            "ok",
            "a link to the page"
        );
    }
}
