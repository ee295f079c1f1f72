//! The inspection report of a job: `GET /report?job=&feature=&piece=&paper=&unit=`, from a read-only connection of its
//! own.

use axum::extract::{Query, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use overwire_core::units::Unit;

use super::Shared;
use super::exports::{Words, nothing_left};
use crate::collect::command::Refusal;
use crate::record::reader;
use crate::register::forms::Refusals;
use crate::report::{Maker, Paper, Question, ReportError, Which};

/// What is asked for.
fn asked(mut words: Words) -> Result<Question, Refusal> {
    let mut taken = |name: &str| words.remove(name).unwrap_or_default();
    let (job, feature) = (taken("job"), taken("feature"));
    let [piece, paper, unit] = ["piece", "paper", "unit"].map(taken);
    nothing_left(&words)?;
    let mut refusals = Refusals::default();
    let which = Which::parse(&piece);
    if which.is_none() {
        refusals.note(
            "piece",
            "Say `first` or a piece number, or leave it out for every piece.",
        );
    }
    let paper = Paper::parse(&paper);
    if paper.is_none() {
        refusals.note("paper", "Say a4 or letter.");
    }
    let unit = match unit.as_str() {
        "" => None,
        text => Unit::parse(text)
            .map_err(|_| refusals.note("unit", "Say mm or in, or leave it out."))
            .ok(),
    };
    refusals.into_result()?;
    Ok(Question {
        job,
        feature,
        which: which.unwrap_or_default(),
        paper: paper.unwrap_or_default(),
        unit,
    })
}

impl From<ReportError> for Refusal {
    fn from(error: ReportError) -> Refusal {
        let status = match error {
            ReportError::Record(_) => 503,
            ReportError::NothingInspected(_) => 409,
            _ => 404,
        };
        Refusal::new(status, error.code(), format!("{error}."), error.hint())
    }
}

/// Answers `GET /report`.
pub async fn report(State(shared): State<Shared>, Query(words): Query<Words>) -> Response {
    let question = match asked(words) {
        Ok(question) => question,
        Err(refusal) => return refusal.into_response(),
    };
    let (file, shop) = (shared.record_file.clone(), shared.shop.clone());
    let at = shared.clock.now();
    let work = move || -> Result<String, ReportError> {
        let maker = Maker {
            shop: shop.name.clone(),
            at,
        };
        crate::report::report(&reader::open(&file)?, &question, &maker)
    };
    match tokio::task::spawn_blocking(work).await {
        Ok(Ok(page)) => (StatusCode::OK, headers(), page).into_response(),
        Ok(Err(error)) => Refusal::from(error).into_response(),
        Err(_) => {
            let hint = "Look at the log; it says why.";
            Refusal::new(500, "not-made", "The report could not be made.", hint).into_response()
        }
    }
}

/// The page brings its own style, and nothing in it may run or fetch.
fn headers() -> [(HeaderName, HeaderValue); 2] {
    let policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; \
                  frame-ancestors 'none'";
    [
        (
            header::CONTENT_TYPE,
            HeaderValue::from_static("text/html; charset=utf-8"),
        ),
        (
            header::CONTENT_SECURITY_POLICY,
            HeaderValue::from_static(policy),
        ),
    ]
}
