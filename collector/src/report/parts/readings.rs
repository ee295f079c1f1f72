//! The readings that count: an actual value for every instance, with its verdict in words.
//!
//! What is the same for all of a thread's readings is told once above them; what differs stands in each row.

use overwire_core::units::Unit;

use super::super::gather::{Gathered, OfFeature};
use super::super::html::{Table, free, paragraph, plain, time};
use super::super::{MOST_ROWS, Question};
use super::{Offsets, counted, section, when};
use crate::record::Flags;
use crate::record::functional::FunctionalCheck;
use crate::record::standing::Standing;
use crate::view::functional::caution;
use crate::view::grounds::{GroundsView, why_no_verdict};
use crate::view::{ReadingView, unit_of};

/// Tables of the readings of each thread.
pub fn readings(question: &Question, gathered: &Gathered) -> String {
    let offsets = Offsets::of(gathered);
    let mut html = paragraph(&plain(&offsets.sentence()));
    for of in &gathered.features {
        html.push_str(&of_feature(of, question, gathered, &offsets));
    }
    section("Readings", &html)
}

/// A reading in the unit of the report.
pub fn shown<'a>(standing: &'a Standing, question: &Question) -> ReadingView<'a> {
    let own = unit_of(standing.reading.unit);
    ReadingView::shown_in(standing, question.unit.unwrap_or(own))
}

/// Something a reading was made with, as a name and ready HTML; a note, which is a sentence, has no name.
type Detail = (&'static str, String);

/// One reading, ready to be told.
struct Row<'a> {
    standing: &'a Standing,
    view: ReadingView<'a>,
    details: Vec<Detail>,
}

fn of_feature(
    of: &OfFeature,
    question: &Question,
    gathered: &Gathered,
    offsets: &Offsets,
) -> String {
    let rows: Vec<Row<'_>> = of
        .listed
        .iter()
        .map(|standing| Row::of(standing, question, gathered))
        .collect();
    let mut html = extent(of);
    if rows.is_empty() {
        return html;
    }
    let common = common(&rows);
    let caption = caption(of, &common, gathered);
    let placed = rows.iter().any(|row| row.view.position.is_some());
    let known = rows.iter().any(|row| row.view.uncertainty.is_some());
    let mut columns = vec!["Piece"];
    columns.extend(placed.then_some("Position"));
    columns.extend(["Over wires, as shown", "Pitch diameter"]);
    columns.extend(known.then_some("Known to"));
    columns.extend(["Verdict", "Functional check", "When"]);
    let mut table = Table::new("readings", &caption, &columns);
    for row in &rows {
        let tags = &row.standing.reading.tags;
        let check = gathered.check(&of.name, tags.piece, tags.attempt);
        table.row(&row.cells(placed, known, check, offsets));
        let remarks = row.remarks(&common, check);
        if !remarks.is_empty() {
            table.remark(&remarks);
        }
    }
    html.push_str(&table.end());
    html
}

/// How many readings there are, and which of them are listed.
fn extent(of: &OfFeature) -> String {
    let name = free(&of.name);
    let pieces = counted(of.pieces.len(), "piece");
    let mut said = match of.counted {
        0 => format!("<strong>{name}</strong>: no reading counts."),
        count => format!(
            "<strong>{name}</strong>: {} of {pieces}.",
            counted(count, "reading that counts")
                .replace("reading that countss", "readings that count")
        ),
    };
    if of.only_failing {
        said.push_str(&format!(
            " These are more than the {MOST_ROWS} that a report lists: listed are {} that do not pass. Every reading \
             is in the CSV export of the job.",
            of.listed.len()
        ));
    }
    paragraph(&said)
}

/// What is the same for all rows.
fn common(rows: &[Row<'_>]) -> Vec<Detail> {
    let Some((first, others)) = rows.split_first() else {
        return Vec::new();
    };
    let same = |detail: &&Detail| others.iter().all(|row| row.details.contains(detail));
    first.details.iter().filter(same).cloned().collect()
}

fn caption(of: &OfFeature, common: &[Detail], gathered: &Gathered) -> String {
    let features = &gathered.job.features;
    let form = features.iter().find(|each| each.name == of.name);
    let number = match form.map_or("", |form| &form.characteristic) {
        "" => String::new(),
        number => format!("No. {}, ", free(number)),
    };
    let named = common.iter().filter(|(name, _)| !name.is_empty());
    let told: Vec<String> = named.map(told).collect();
    let noted = common.iter().filter(|(name, _)| name.is_empty());
    let noted: Vec<String> = noted.map(|(_, note)| note.clone()).collect();
    let all = match (told.is_empty(), of.listed.len()) {
        (true, _) => String::new(),
        (false, 1) => format!("; {}", told.join("; ")),
        (false, _) => format!("; the same for all: {}", told.join("; ")),
    };
    let noted = match (noted.is_empty(), of.listed.len()) {
        (true, _) => String::new(),
        (false, 1) => format!(" {}", noted.join(" ")),
        (false, _) => format!(" Of all: {}", noted.join(" ")),
    };
    let listed = counted(of.listed.len(), "reading");
    format!("{number}{}, {listed}{all}.{noted}", free(&of.name))
}

fn told((name, said): &Detail) -> String {
    format!("{name} {said}")
}

/// With a capital letter at its beginning.
fn capital(text: &str) -> String {
    let mut characters = text.chars();
    let first = characters.next().map(|first| first.to_ascii_uppercase());
    first.into_iter().chain(characters).collect()
}

impl<'a> Row<'a> {
    fn of(standing: &'a Standing, question: &Question, gathered: &Gathered) -> Row<'a> {
        let view = shown(standing, question);
        let details = details(standing, &view, gathered);
        Row {
            standing,
            view,
            details,
        }
    }

    fn cells(
        &self,
        placed: bool,
        known: bool,
        check: Option<&FunctionalCheck>,
        offsets: &Offsets,
    ) -> Vec<String> {
        let (view, reading) = (&self.view, &self.standing.reading);
        let unit = view.unit;
        let attempt = match view.attempt {
            1 => String::new(),
            attempt => format!(" <small>attempt {attempt}</small>"),
        };
        let mut cells = vec![format!("{}{attempt}", view.piece)];
        if placed {
            cells.push(free(view.position.unwrap_or_default()));
        }
        cells.push(format!("{} {}", plain(view.text), reading.unit));
        let value = view.pitch_diameter.as_deref();
        cells.push(value.map_or_else(
            || "– <small>no sound seat</small>".to_owned(),
            |value| format!("<strong>{value}</strong> {unit}"),
        ));
        if known {
            let known = view.uncertainty.as_deref();
            cells.push(known.map_or_else(|| "–".to_owned(), |known| format!("± {known} {unit}")));
        }
        cells.push(verdict(view));
        cells.push(plain(
            check.map_or("none recorded", |check| check.result.words()),
        ));
        let stamp = reading.head.stamp;
        cells.push(when(stamp.wall_us, stamp.utc_offset_s, offsets));
        cells
    }

    /// What is to be said of this reading beside its row.
    fn remarks(&self, common: &[Detail], check: Option<&FunctionalCheck>) -> String {
        let view = &self.view;
        let own = self
            .details
            .iter()
            .filter(|detail| !common.contains(detail));
        let (notes, named): (Vec<_>, Vec<_>) = own.partition(|(name, _)| name.is_empty());
        let named: Vec<String> = named.into_iter().map(told).collect();
        let mut said: Vec<String> = Vec::new();
        if !named.is_empty() {
            said.push(format!("{}.", capital(&named.join(", "))));
        }
        said.extend(notes.into_iter().map(|(_, note)| note.clone()));
        if view.verdict != "pass" && !view.left.is_empty() {
            said.push(format!("<strong>{}.</strong>", plain(&view.left)));
        }
        said.extend(caution(check, view.verdict).map(plain));
        said.extend(moved(self.standing, view));
        said.extend(view.comment.map(|text| format!("Remark: {}.", free(text))));
        said.join(" ")
    }
}

/// The verdict; one that is not PASS stands out without colour.
pub fn verdict(view: &ReadingView<'_>) -> String {
    let class = if view.verdict == "pass" {
        "pass"
    } else {
        "not-pass"
    };
    format!("<span class=\"{class}\">{}</span>", plain(view.words))
}

/// What is noted of a reading, sentence by sentence; corrections are told one by one elsewhere.
fn notes(view: &ReadingView<'_>) -> impl Iterator<Item = String> {
    let corrected = Flags::CORRECTED.sentences().next();
    let told = |note: &&String| view.corrections.is_empty() || Some(note.as_str()) != corrected;
    let notes: Vec<String> = view
        .notes
        .iter()
        .filter(told)
        .map(|note| match note.contains("overdue") {
            true => format!("<strong>OVERDUE:</strong> {}", plain(note)),
            false => plain(note),
        })
        .collect();
    notes.into_iter()
}

fn corrections(view: &ReadingView<'_>) -> Option<String> {
    let each = view.corrections.iter().map(|term| {
        format!(
            "{} {} {}",
            plain(term.words),
            plain(&term.amount),
            view.unit
        )
    });
    let said = each.collect::<Vec<_>>().join("; ");
    (!said.is_empty()).then(|| format!("Added before conversion: {said}."))
}

/// Why and by whom a reading was re-tagged or kept, and what it was before.
pub fn moved(standing: &Standing, view: &ReadingView<'_>) -> Option<String> {
    let said = view.moved.as_ref()?;
    let by = match said.by {
        "" => "somebody not named".to_owned(),
        by => free(by),
    };
    let was = standing.before.as_ref().map(|before| {
        let tags = &before.tags;
        let name = tags.job.as_ref().map_or("", |job| &*job.name);
        format!(
            "; stamped as job {}, thread {}, piece {}, {} {}, {}",
            free(name),
            free(tags.feature.as_deref().unwrap_or_default()),
            tags.piece,
            plain(view.text),
            before.unit,
            crate::view::verdict_words(before.judged.verdict)
        )
    });
    let what = if was.is_some() { "Re-tagged" } else { "Kept" };
    Some(format!(
        "{what} by {by}, {}: {}{}.",
        time(&said.at),
        free(said.reason),
        was.unwrap_or_default()
    ))
}

/// What a reading was made with, each as it is told: once for all where it is the same.
fn details(standing: &Standing, view: &ReadingView<'_>, gathered: &Gathered) -> Vec<Detail> {
    let tags = &standing.reading.tags;
    let unit = Unit::parse(view.unit).unwrap_or(Unit::Millimetre);
    let grounds = GroundsView::of(&standing.reading, unit);
    let limits = match &view.limits {
        Some(limits) => format!("{} to {} {}", limits.min, limits.max, view.unit),
        None => "none".to_owned(),
    };
    let wires = tags.wire_set.as_ref();
    let wires = wires.map_or_else(|| "not named".to_owned(), |set| free(&set.name));
    let by = match view.operator {
        None | Some("") => "nobody named".to_owned(),
        Some(name) => free(name),
    };
    let job = tags.job.as_ref().map_or(0, |job| job.entry);
    let revision = gathered.revisions.get(&job);
    let mut details = vec![
        ("limits", format!("<strong>{limits}</strong>")),
        ("measured by", by),
        ("with", free(&tags.instrument.name)),
        ("over wires", wires),
        ("wires held:", free(&tags.method)),
    ];
    if gathered.revisions.len() > 1 {
        let number = revision.map_or_else(|| "–".to_owned(), |(number, _)| number.to_string());
        details.push(("judged by job revision", number));
    }
    if let Some(accept) = &grounds.accept {
        let passes = format!("{} to {} {}", accept.min, accept.max, view.unit);
        details.push(("passes inside", passes));
    }
    let [part, gauge] = grounds.celsius;
    let why = why_no_verdict(&standing.reading.judged);
    details.extend(why.map(|why| ("", format!("<strong>No verdict: {why}.</strong>"))));
    details.extend(notes(view).map(|note| ("", note)));
    details.extend(corrections(view).map(|said| ("", said)));
    details.extend(part.map(|celsius| ("part at", format!("{celsius} °C"))));
    details.extend(gauge.map(|celsius| ("wires and micrometer at", format!("{celsius} °C"))));
    details
}
