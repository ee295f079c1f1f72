//! What can be asked of the page's address.

use std::time::Duration;

use axum::Router;
use axum::extract::{Path, Query, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::{
    Shared, assets, drawing, exports, finding, findings, functional, guard, picture, report, stream,
};
use crate::collect::command::{Answer, Ask, Refusal, Saying, Signed};
use crate::register::WireSet;
use crate::register::forms::{CoatingForm, CustomForm, FeatureForm, LimitsForm};
use crate::view::register::ThreadView;
use crate::view::station::state_json;

/// Largest body taken in, bytes.
const LARGEST_BODY: usize = 64 * 1024;
/// Time in which a body must have come.
const BODY_TIME: Duration = Duration::from_secs(10);

/// Every route.
pub fn router(shared: Shared) -> Router {
    Router::new()
        .route(
            "/",
            get(async || assets::asset("index.html").unwrap_or_else(not_there)),
        )
        .route("/{file}", get(file))
        .route("/health", get(health))
        .route("/events", get(stream::events))
        .route("/report", get(report::report))
        .route("/picture", get(picture_of_station))
        .route("/export.csv", get(exports::csv))
        .route("/export.datapackage.json", get(exports::descriptor))
        .route("/export.xlsx", get(exports::xlsx))
        .route("/api/state", get(state))
        .route("/api/thread", get(thread).post(feature_thread))
        .route("/api/stations/{name}/tags", post(tags))
        .route("/api/stations/{name}/piece", post(piece))
        .route("/api/stations/{name}/reading", post(typed))
        .route("/api/readings/{entry}/void", post(void))
        .route("/api/readings/{entry}/restore", post(restore))
        .route("/api/readings/{entry}/comment", post(comment))
        .route("/api/readings/{entry}/retag", post(retag))
        .route("/api/readings/{entry}/answer", post(answer))
        .route(
            "/api/functional-checks",
            get(functional::checks).post(functional_check),
        )
        .route("/api/readings", get(finding::readings))
        .route("/api/readings/count", get(finding::count))
        .route("/api/pieces", get(finding::pieces))
        .route("/api/calibrations", get(finding::calibrations))
        .route("/api/jobs", post(job))
        .route("/api/wire-sets", post(wire_set))
        .route("/api/instruments", post(instrument))
        .route("/api/studies", post(study))
        .route("/api/studies/{name}", get(findings::study_found))
        .route("/api/statistics", get(findings::statistics))
        .route("/api/summary", get(findings::summarised))
        .route("/api/outlook", get(findings::outlook::outlook))
        .route("/findings.svg", get(findings::picture))
        .route("/findings.png", get(findings::dots))
        .fallback(|| async { not_there() })
        .method_not_allowed_fallback(|| async {
            Refusal::new(
                405,
                "other-method",
                "This address is not asked that way.",
                "The page itself is at `/`.",
            )
            .into_response()
        })
        .layer(axum::middleware::from_fn_with_state(
            shared.clone(),
            guard::stand,
        ))
        .with_state(shared)
}

fn not_there() -> Response {
    Refusal::new(
        404,
        "not-there",
        "There is nothing at this address.",
        "The page is at `/`.",
    )
    .into_response()
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::BAD_REQUEST);
        json(status, serde_json::to_string(&self).unwrap_or_default())
    }
}

pub(super) fn json(status: StatusCode, body: String) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], body).into_response()
}

fn answered(answer: Answer) -> Response {
    match answer {
        Ok(body) => json(StatusCode::OK, body),
        Err(refusal) => refusal.into_response(),
    }
}

async fn file(Path(name): Path<String>) -> Response {
    assets::asset(&name).unwrap_or_else(not_there)
}

async fn health(State(shared): State<Shared>) -> Response {
    let shown = shared.feed.shown();
    let stores = shown.record.trouble.is_none();
    let listening = shown
        .stations
        .iter()
        .filter(|s| s.link == crate::link::State::Listening)
        .count();
    let body = serde_json::json!({
        "stores_readings": stores,
        "trouble": shown.record.trouble,
        "live": shown.record.live,
        "entries": shown.record.entries,
        "ports_listening": listening,
        "ports": shown.stations.len(),
    });
    let status = if stores {
        StatusCode::OK
    } else {
        StatusCode::SERVICE_UNAVAILABLE
    };
    json(status, body.to_string())
}

async fn state(State(shared): State<Shared>) -> Response {
    let shown = shared.feed.shown();
    let now = shared.clock.now();
    let body = state_json(
        &shared.shop,
        shown.record,
        &shown.stations,
        &shown.register,
        now,
    );
    json(StatusCode::OK, body)
}

/// The body of a request as a JSON object, within its time and size.
async fn object(request: Request) -> Result<Map<String, Value>, Refusal> {
    let too_large = || {
        Refusal::new(
            413,
            "too-large",
            "That is more than fits here.",
            "At most 64 KiB are taken.",
        )
    };
    let announced = request.headers().get(header::CONTENT_LENGTH);
    let announced = announced.and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    if announced.is_some_and(|length| length > LARGEST_BODY as u64) {
        return Err(too_large());
    }
    let body = axum::body::to_bytes(request.into_body(), LARGEST_BODY);
    let bytes = match tokio::time::timeout(BODY_TIME, body).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(_)) => return Err(too_large()),
        Err(_) => {
            return Err(Refusal::new(
                408,
                "too-slow",
                "The rest of the request did not come in time.",
                "Send it again.",
            ));
        }
    };
    serde_json::from_slice(&bytes).map_err(|error| bad_json(&error))
}

fn bad_json(error: &serde_json::Error) -> Refusal {
    Refusal::new(
        400,
        "bad-json",
        format!("The request cannot be read: {error}."),
        "Send one JSON object with the fields named in the project's documents.",
    )
}

fn form<T: DeserializeOwned>(object: Map<String, Value>) -> Result<T, Refusal> {
    serde_json::from_value(Value::Object(object)).map_err(|error| bad_json(&error))
}

/// A form to be saved, apart from who fills it in and what the page was told of the last revision.
fn signed<T: DeserializeOwned>(mut object: Map<String, Value>) -> Result<Signed<T>, Refusal> {
    let by = match object.remove("by") {
        Some(Value::String(by)) => by,
        _ => String::new(),
    };
    object.remove("revision");
    object.remove("entry");
    Ok(Signed {
        form: form(object)?,
        by,
    })
}

/// Reads the body, asks the collector, and waits until what the answer tells of is durable.
async fn ask(
    shared: &Shared,
    request: Request,
    make: impl FnOnce(Map<String, Value>) -> Result<Ask, Refusal>,
) -> Response {
    let asked = match object(request).await.and_then(make) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    match shared.desk.ask(asked).await {
        Ok(answer) => answered(answer),
        Err(_) => Refusal::new(
            503,
            "ending",
            "overwire is ending.",
            "Start it again and send this again.",
        )
        .into_response(),
    }
}

async fn tags(
    State(shared): State<Shared>,
    Path(station): Path<String>,
    request: Request,
) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Tags {
            station,
            form: form(object)?,
        })
    })
    .await
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PieceForm {
    go: String,
}

async fn piece(
    State(shared): State<Shared>,
    Path(station): Path<String>,
    request: Request,
) -> Response {
    ask(&shared, request, |object| {
        let wanted: PieceForm = form(object)?;
        let by = match wanted.go.as_str() {
            "next" => 1,
            "back" => -1,
            _ => {
                return Err(Refusal::new(
                    422,
                    "other-way",
                    "Pieces go `next` or `back`.",
                    "Send {\"go\":\"next\"}.",
                ));
            }
        };
        Ok(Ask::Piece { station, by })
    })
    .await
}

async fn typed(
    State(shared): State<Shared>,
    Path(station): Path<String>,
    request: Request,
) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Typed {
            station,
            form: form(object)?,
        })
    })
    .await
}

async fn say(shared: Shared, entry: i64, what: Saying, request: Request) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Say {
            entry,
            what,
            form: form(object)?,
        })
    })
    .await
}

async fn void(State(shared): State<Shared>, Path(entry): Path<i64>, request: Request) -> Response {
    say(shared, entry, Saying::Void, request).await
}

async fn restore(
    State(shared): State<Shared>,
    Path(entry): Path<i64>,
    request: Request,
) -> Response {
    say(shared, entry, Saying::Restore, request).await
}

async fn comment(
    State(shared): State<Shared>,
    Path(entry): Path<i64>,
    request: Request,
) -> Response {
    say(shared, entry, Saying::Comment, request).await
}

async fn retag(State(shared): State<Shared>, Path(entry): Path<i64>, request: Request) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Retag {
            entry,
            form: form(object)?,
        })
    })
    .await
}

async fn answer(
    State(shared): State<Shared>,
    Path(entry): Path<i64>,
    request: Request,
) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Held {
            entry,
            form: form(object)?,
        })
    })
    .await
}

async fn functional_check(State(shared): State<Shared>, request: Request) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Functional(form(object)?))
    })
    .await
}

async fn job(State(shared): State<Shared>, request: Request) -> Response {
    ask(&shared, request, |object| Ok(Ask::Job(signed(object)?))).await
}

async fn wire_set(State(shared): State<Shared>, request: Request) -> Response {
    ask(&shared, request, |object| Ok(Ask::WireSet(signed(object)?))).await
}

async fn instrument(State(shared): State<Shared>, request: Request) -> Response {
    ask(&shared, request, |object| {
        Ok(Ask::Instrument(signed(object)?))
    })
    .await
}

async fn study(State(shared): State<Shared>, request: Request) -> Response {
    ask(&shared, request, |object| Ok(Ask::Study(signed(object)?))).await
}

#[derive(Deserialize)]
struct ThreadQuery {
    #[serde(default)]
    designation: String,
    #[serde(default)]
    wire_set: String,
}

async fn thread(State(shared): State<Shared>, Query(query): Query<ThreadQuery>) -> Response {
    match overwire_core::thread::designation::parse(&query.designation) {
        Ok(thread) => {
            let register = shared.feed.shown().register;
            let wires: Option<&WireSet> = register.wire_sets.get(&query.wire_set);
            let view = ThreadView::of(&thread, wires);
            json(
                StatusCode::OK,
                serde_json::to_string(&view).unwrap_or_default(),
            )
        }
        Err(error) => {
            let body = serde_json::json!({
                "error": format!("{error}."),
                "code": "designation-refused",
                "hint": "Write it as on the drawing, as 1/2-13 UNC-2A or M10x1.5-6g, or give the thread's numbers.",
                "at": error.at,
            });
            json(StatusCode::UNPROCESSABLE_ENTITY, body.to_string())
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FeatureQuery {
    #[serde(default)]
    thread: Option<String>,
    #[serde(default)]
    custom: Option<CustomForm>,
    #[serde(default)]
    limits: Option<LimitsForm>,
    #[serde(default)]
    coating: Option<CoatingForm>,
    #[serde(default)]
    wire_set: Option<String>,
}

async fn feature_thread(State(shared): State<Shared>, request: Request) -> Response {
    let query: FeatureQuery = match object(request).await.and_then(form) {
        Ok(query) => query,
        Err(refusal) => return refusal.into_response(),
    };
    let feature = FeatureForm {
        limits: query.limits,
        coating: query.coating,
        name: String::new(),
        characteristic: String::new(),
        thread: query.thread,
        custom: query.custom,
        wire_set: None,
    };
    match feature.thread() {
        Ok(thread) => {
            let register = shared.feed.shown().register;
            let wires = query
                .wire_set
                .and_then(|name| register.wire_sets.get(&name));
            let view = ThreadView::of(&thread, wires);
            json(
                StatusCode::OK,
                serde_json::to_string(&view).unwrap_or_default(),
            )
        }
        Err(refusals) => Refusal::from(refusals).into_response(),
    }
}

#[derive(Deserialize)]
struct PictureQuery {
    #[serde(default)]
    station: String,
}

async fn picture_of_station(
    State(shared): State<Shared>,
    Query(query): Query<PictureQuery>,
) -> Response {
    let shown = shared.feed.shown();
    let station = shown
        .stations
        .iter()
        .find(|board| *board.name == *query.station);
    let svg = match station.map(|board| drawing::scene(board)) {
        None => picture::empty("There is no such station."),
        Some(Err(sentence)) => picture::empty(&sentence),
        Some(Ok(scene)) => picture::svg(&scene),
    };
    drawing_response(svg)
}

/// A picture as an answer: it brings its own style, and nothing else may run in it.
pub(super) fn drawing_response(svg: String) -> Response {
    let policy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'";
    let headers = [
        (
            header::CONTENT_TYPE,
            HeaderValue::from_static("image/svg+xml"),
        ),
        (
            header::CONTENT_SECURITY_POLICY,
            HeaderValue::from_static(policy),
        ),
    ];
    (headers, svg).into_response()
}
