//! The functional checks of a job, for programs: `GET /api/functional-checks?job=`.

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};

use super::Shared;
use super::routes::json;
use crate::collect::command::Refusal;
use crate::record::functional::{FunctionalCheck, of_job, standing};
use crate::record::reader;
use crate::view::functional::FunctionalView;

/// What is asked about.
#[derive(Debug, Deserialize)]
pub struct Asked {
    job: String,
}

#[derive(Serialize)]
struct ChecksView<'a> {
    job: &'a str,
    /// The check that stands of each piece that has one.
    standing: Vec<FunctionalView<'a>>,
    /// Those that later ones took the place of, oldest first.
    superseded: Vec<FunctionalView<'a>>,
}

/// Answers `GET /api/functional-checks?job=`.
pub async fn checks(State(shared): State<Shared>, Query(asked): Query<Asked>) -> Response {
    let file = shared.record_file.clone();
    let name = asked.job.clone();
    let work = move || -> Result<Vec<FunctionalCheck>, Refusal> {
        Ok(of_job(&reader::open(&file)?, &name)?)
    };
    let failed = |_| {
        let hint = "Look at the log; it says why.";
        Refusal::new(500, "not-read", "The checks could not be read.", hint)
    };
    let found = tokio::task::spawn_blocking(work).await.map_err(failed);
    match found.and_then(|found| found) {
        Ok(found) => json(StatusCode::OK, as_json(&asked.job, &found)),
        Err(refusal) => refusal.into_response(),
    }
}

fn as_json(job: &str, found: &[FunctionalCheck]) -> String {
    let stands = standing(found);
    let mut view = ChecksView {
        job,
        standing: Vec::new(),
        superseded: Vec::new(),
    };
    for check in found {
        let each = FunctionalView::of(&check.of, Some(check));
        match stands.contains(&check.entry) {
            true => view.standing.push(each),
            false => view.superseded.push(each),
        }
    }
    serde_json::to_string(&view).unwrap_or_default()
}
