//! The page itself, built into the program: nothing is fetched from elsewhere.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

macro_rules! assets {
    ($($name:literal),* $(,)?) => {
        /// Every file of the page, by name.
        pub const ASSETS: &[(&str, &str)] = &[$(($name, include_str!(concat!("../../assets/", $name)))),*];
    };
}

assets![
    "index.html",
    "page.css",
    "details.css",
    "measuring.css",
    "study.css",
    "findings.html",
    "findings.css",
    "find.html",
    "find.css",
    "api.js",
    "asked.js",
    "begin.js",
    "clip.js",
    "copypanel.js",
    "choices.js",
    "customthread.js",
    "cutboard.js",
    "decimal.js",
    "dom.js",
    "drawers.js",
    "facts.js",
    "feed.js",
    "fields.js",
    "find.js",
    "findings.js",
    "found.js",
    "fresh.js",
    "functional.js",
    "guard.js",
    "jobform.js",
    "kept.js",
    "limitparts.js",
    "line.js",
    "masterparts.js",
    "methodparts.js",
    "outlook.js",
    "overview.js",
    "pace.js",
    "page.js",
    "paths.js",
    "preview.js",
    "recent.js",
    "registerforms.js",
    "report.js",
    "shelf.js",
    "sound.js",
    "station.js",
    "study.js",
    "studyform.js",
    "tags.js",
    "take.js",
    "trust.js",
    "verdict.js",
    "words.js",
    "zero.js",
];

/// A file of the page by name, or none.
pub fn asset(name: &str) -> Option<Response> {
    let (name, text) = ASSETS.iter().find(|(known, _)| *known == name)?;
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        _ => "text/javascript; charset=utf-8",
    };
    let headers = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "no-cache"),
    ];
    Some((StatusCode::OK, headers, *text).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_the_page_is_built_in() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/assets");
        let mut found: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        found.sort();
        let mut built_in: Vec<&str> = ASSETS.iter().map(|(name, _)| *name).collect();
        built_in.sort_unstable();
        assert_eq!(found, built_in);
    }

    #[test]
    fn nothing_is_fetched_from_elsewhere() {
        for (name, text) in ASSETS {
            for (at, _) in text.match_indices("://") {
                let from = text[..at].rfind(|c: char| c.is_whitespace() || "'\"`(".contains(c));
                let address = &text[from.map_or(0, |from| from + 1)..];
                assert!(
                    address.starts_with("http://www.w3.org/"),
                    "{name} names an address: {}",
                    &address[..address.len().min(60)]
                );
            }
        }
    }
}
