//! What does not count and why: voids with their reasons, readings that wait, that were pressed twice, earlier
//! attempts, and readings that were put elsewhere.

use super::super::gather::{Apart, Gathered, OfFeature};
use super::super::html::{Table, free, list, paragraph, plain, time};
use super::super::{MOST_ROWS, Question};
use super::readings::{moved, shown};
use super::{Offsets, counted, section, when};
use crate::record::standing::Standing;
use crate::view::{ReadingView, SaidView};

/// The section.
pub fn trail(question: &Question, gathered: &Gathered) -> String {
    let offsets = Offsets::of(gathered);
    let mut html = String::new();
    for of in &gathered.features {
        html.push_str(&of_feature(of, question, &offsets));
    }
    section("Not counted above", &html)
}

fn of_feature(of: &OfFeature, question: &Question, offsets: &Offsets) -> String {
    let name = free(&of.name);
    let mut html = String::new();
    match of.apart_count {
        0 => html.push_str(&paragraph(&format!(
            "{name}: nothing is void, moved away or left out."
        ))),
        count => {
            let columns = [
                "Piece",
                "Over wires, as shown",
                "Pitch diameter",
                "When",
                "Why",
            ];
            let caption = format!("{name}: {} not counted", counted(count, "reading"));
            let mut table = Table::new("apart", &caption, &columns);
            for (standing, why) in &of.apart {
                table.row(&row(standing, *why, question, offsets));
            }
            html.push_str(&table.end());
        }
    }
    if of.apart_count > of.apart.len() {
        html.push_str(&paragraph(&format!(
            "Of them {MOST_ROWS} are listed; every one is in the CSV export of the job."
        )));
    }
    let restored = of.restored.iter();
    html.push_str(&list(
        &restored
            .filter_map(|standing| taken_back(standing, question))
            .collect::<Vec<_>>(),
    ));
    if of.between_passes > 0 {
        html.push_str(&paragraph(&format!(
            "{name}: {} between passes stand in the record and say nothing of the finished thread.",
            counted(of.between_passes, "reading")
        )));
    }
    html
}

fn row(standing: &Standing, why: Apart, question: &Question, offsets: &Offsets) -> Vec<String> {
    let view = shown(standing, question);
    let reading = &standing.reading;
    let stamp = reading.head.stamp;
    let value = view.pitch_diameter.as_deref();
    let value = value.map_or_else(|| "–".to_owned(), |value| format!("{value} {}", view.unit));
    let piece = match (why, &standing.before) {
        (Apart::Elsewhere, Some(before)) => before.tags.piece,
        _ => view.piece,
    };
    vec![
        piece.to_string(),
        format!("{} {}", plain(view.text), reading.unit),
        value,
        when(stamp.wall_us, stamp.utc_offset_s, offsets),
        reason(standing, &view, why),
    ]
}

fn reason(standing: &Standing, view: &ReadingView<'_>, why: Apart) -> String {
    let mut said = match why {
        Apart::Void => void(view.void.as_ref()),
        Apart::Held => {
            let question = view.held.as_ref().map(|held| held.sentence.as_str());
            format!(
                "<strong>Waits for an answer.</strong> {}",
                plain(question.unwrap_or_default())
            )
        }
        Apart::NotCounted => {
            let notes: Vec<String> = view.notes.iter().map(|note| plain(note)).collect();
            notes.join(" ")
        }
        Apart::EarlierAttempt => format!("Attempt {}: the piece was begun again.", view.attempt),
        Apart::Elsewhere => format!(
            "Now at job {}, thread {}, piece {}.",
            free(view.job.unwrap_or_default()),
            free(view.feature.unwrap_or_default()),
            view.piece
        ),
    };
    if let Some(more) = moved(standing, view) {
        said.push(' ');
        said.push_str(&more);
    }
    if let Some(text) = view.comment {
        said.push_str(&format!(" Remark: {}.", free(text)));
    }
    said
}

fn void(said: Option<&SaidView<'_>>) -> String {
    let Some(said) = said else {
        return "Void.".to_owned();
    };
    format!("<strong>VOID</strong>: {}.", told(said))
}

/// Reason, who and when.
fn told(said: &SaidView<'_>) -> String {
    let by = match said.by {
        "" => "somebody not named".to_owned(),
        by => free(by),
    };
    format!("{}, by {by}, {}", free(said.reason), time(&said.at))
}

/// A void that was taken back, with what was said both times.
fn taken_back(standing: &Standing, question: &Question) -> Option<String> {
    let (void, back) = standing.restored.as_deref()?;
    let view = shown(standing, question);
    Some(format!(
        "Piece {}, {} {}: was void: {}; taken back: {}.",
        view.piece,
        plain(view.text),
        standing.reading.unit,
        told(&SaidView::of(void)),
        told(&SaidView::of(back))
    ))
}
