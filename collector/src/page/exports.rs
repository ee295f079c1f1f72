//! Files out of the record.

use std::collections::BTreeMap;
use std::path::Path;

use axum::body::Body;
use axum::extract::{Query, RawQuery, State};
use axum::http::{HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use clap::ValueEnum;

use super::Shared;
use crate::collect::command::Refusal;
use crate::export::choice::ChoiceError;
use crate::export::workbook::{self, Options};
use crate::export::{self, Choice, Form, columns, descriptor};
use crate::record::reader;
use crate::register::forms::Refusals;

/// What is asked by the address: fields of a choice, and words beside them.
pub(super) type Words = BTreeMap<String, String>;

impl From<ChoiceError> for Refusal {
    fn from(error: ChoiceError) -> Refusal {
        Refusal::at(error.field, error.sentence)
    }
}

impl Refusal {
    /// Of one field.
    pub(super) fn at(field: &str, sentence: impl Into<String>) -> Refusal {
        let mut refusals = Refusals::default();
        refusals.note(field, sentence);
        Refusal::from(refusals)
    }
}

/// The choice among the words; they are taken out.
pub(super) fn choice(words: &mut Words) -> Result<Choice, Refusal> {
    let mut choice = Choice::default();
    for (name, field) in choice.fields_mut() {
        *field = words.remove(name).unwrap_or_default();
    }
    choice.check()?;
    Ok(choice)
}

/// One of some words; it is taken out.
fn word<T: ValueEnum + Default>(words: &mut Words, name: &'static str) -> Result<T, Refusal> {
    let Some(text) = words.remove(name).filter(|text| !text.is_empty()) else {
        return Ok(T::default());
    };
    T::from_str(&text, true).map_err(|_| {
        let known = T::value_variants()
            .iter()
            .filter_map(ValueEnum::to_possible_value);
        let known: Vec<String> = known.map(|value| value.get_name().to_owned()).collect();
        let known = known.join(", ");
        Refusal::at(
            name,
            format!("`{text}` is not known here; it can be {known}."),
        )
    })
}

/// Nothing may be left: a slip in a word would else give readings that nobody asked for.
pub(super) fn nothing_left(words: &Words) -> Result<(), Refusal> {
    let mut refusals = Refusals::default();
    for name in words.keys() {
        refusals.note(
            name,
            format!("`{name}` is nothing that can be asked for here."),
        );
    }
    refusals.into_result().map_err(Refusal::from)
}

/// Names of columns with commas between, under `only`; they are taken out.
pub(super) fn only(words: &mut Words) -> Result<Vec<String>, Refusal> {
    let text = words.remove("only").unwrap_or_default();
    let names = text
        .split(',')
        .map(str::trim)
        .filter(|name| !name.is_empty());
    let names: Vec<String> = names.map(str::to_owned).collect();
    match columns::named(names.iter().map(String::as_str)) {
        Ok(_) => Ok(names),
        Err(unknown) => Err(Refusal::at(
            "only",
            format!("There is no column `{unknown}`; `overwire export --columns` lists them."),
        )),
    }
}

fn asked(words: &mut Words) -> Result<(Choice, Form), Refusal> {
    let choice = choice(words)?;
    let form = Form {
        dialect: word(words, "dialect")?,
        shape: word(words, "rows")?,
        columns: only(words)?,
        ..Form::default()
    };
    nothing_left(words)?;
    Ok((choice, form))
}

/// `GET /export.csv`.
pub async fn csv(
    State(shared): State<Shared>,
    RawQuery(query): RawQuery,
    Query(mut words): Query<Words>,
) -> Response {
    let query = query.unwrap_or_default();
    let (choice, form) = match asked(&mut words) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    let name = choice.file_name(form.dialect.ending());
    let media_type = form.dialect.media_type();
    let described_by = described_by(&query);
    let body = export::body(shared.record_file.as_ref().clone(), move |look, out| {
        export::write(look, &choice, &form, &mut |_, _| {}, out).map(|_| ())
    });
    let mut answer = attachment(&name, media_type, Body::from_stream(body));
    answer.headers_mut().extend(described_by);
    answer
}

/// Where the descriptor of the CSV of some words is to be had (RFC 8288, relation `describedby`).
fn described_by(query: &str) -> Option<(HeaderName, HeaderValue)> {
    let asked = if query.is_empty() { "" } else { "?" };
    let link = format!("</export.datapackage.json{asked}{query}>; rel=\"describedby\"");
    Some((header::LINK, HeaderValue::from_str(&link).ok()?))
}

/// `GET /export.datapackage.json`: what is to stand beside the CSV that the same words give.
pub async fn descriptor(State(shared): State<Shared>, Query(mut words): Query<Words>) -> Response {
    let (choice, form) = match asked(&mut words) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    let name = choice.file_name(form.dialect.ending());
    let beside = descriptor::path(Path::new(&name)).display().to_string();
    let now = shared.clock.now();
    let work = move || {
        let look = reader::open(&shared.record_file)?;
        let mut nowhere = std::io::sink();
        let called = (&*name, now);
        descriptor::write(&look, &choice, &form, called, &mut |_, _| {}, &mut nowhere)
    };
    let made = tokio::task::spawn_blocking(work).await;
    let failed = |error: String| {
        let hint = "Look at the record's trouble on the page.";
        Refusal::new(503, "record-trouble", error, hint).into_response()
    };
    match made {
        Ok(Ok((_, descriptor))) => attachment(
            &beside,
            "application/json",
            Body::from(descriptor.to_string()),
        ),
        Ok(Err(error)) => failed(format!("{error}.")),
        Err(error) => failed(format!("{error}.")),
    }
}

/// `GET /export.xlsx`.
pub async fn xlsx(State(shared): State<Shared>, Query(mut words): Query<Words>) -> Response {
    let (choice, options) = match asked_for_workbook(&mut words, &shared) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    let name = choice.file_name("xlsx");
    let body = export::body(shared.record_file.as_ref().clone(), move |look, out| {
        workbook::write(look, &choice, &options, &mut |_, _| {}, out).map(|_| ())
    });
    attachment(&name, workbook::MEDIA_TYPE, Body::from_stream(body))
}

fn asked_for_workbook(words: &mut Words, shared: &Shared) -> Result<(Choice, Options), Refusal> {
    let choice = choice(words)?;
    let options = Options {
        paper: word(words, "paper")?,
        made: shared.clock.now(),
        work_folder: shared.record_file.parent().map(Path::to_owned),
        ..Options::now()
    };
    nothing_left(words)?;
    Ok((choice, options))
}

/// A file to be kept.
fn attachment(name: &str, media_type: &'static str, body: Body) -> Response {
    let disposition = HeaderValue::from_str(&format!("attachment; filename=\"{name}\""));
    let disposition = disposition.unwrap_or(HeaderValue::from_static("attachment"));
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(media_type)),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, body).into_response()
}
