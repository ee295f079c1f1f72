//! Files out of the record, and finding readings in it.

use std::collections::BTreeMap;

use axum::body::Body;
use axum::extract::{Query, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use clap::ValueEnum;

use super::Shared;
use crate::collect::command::Refusal;
use crate::export::choice::ChoiceError;
use crate::export::{self, Choice, Form};
use crate::register::forms::Refusals;

/// What is asked by the address: fields of a choice, and words beside them.
type Words = BTreeMap<String, String>;

impl From<ChoiceError> for Refusal {
    fn from(error: ChoiceError) -> Refusal {
        let mut refusals = Refusals::default();
        refusals.note(error.field, error.sentence);
        Refusal::from(refusals)
    }
}

/// The choice among the words; they are taken out.
fn choice(words: &mut Words) -> Result<Choice, Refusal> {
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
        let mut refusals = Refusals::default();
        let sentence = format!(
            "`{text}` is not known here; it can be {}.",
            known.join(", ")
        );
        refusals.note(name, sentence);
        Refusal::from(refusals)
    })
}

/// Nothing may be left: a slip in a word would else give readings that nobody asked for.
fn nothing_left(words: &Words) -> Result<(), Refusal> {
    let mut refusals = Refusals::default();
    for name in words.keys() {
        refusals.note(
            name,
            format!("`{name}` is nothing that can be asked for here."),
        );
    }
    refusals.into_result().map_err(Refusal::from)
}

fn asked(words: &mut Words) -> Result<(Choice, Form), Refusal> {
    let choice = choice(words)?;
    let form = Form {
        dialect: word(words, "dialect")?,
        shape: word(words, "rows")?,
        ..Form::default()
    };
    nothing_left(words)?;
    Ok((choice, form))
}

/// `GET /export.csv`.
pub async fn csv(State(shared): State<Shared>, Query(mut words): Query<Words>) -> Response {
    let (choice, form) = match asked(&mut words) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    let name = choice.file_name(form.dialect.ending());
    let media_type = form.dialect.media_type();
    let body = export::body(shared.record_file.as_ref().clone(), move |look, out| {
        export::write(look, &choice, &form, &mut |_, _| {}, out).map(|_| ())
    });
    attachment(&name, media_type, Body::from_stream(body))
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
