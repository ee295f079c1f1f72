//! Which readings: by what they are tagged with, and when they were made.

use std::collections::{BTreeSet, HashSet};

use rusqlite::Connection;
use rusqlite::types::Value as Sql;

use super::books::{Books, instruments_by_serial};
use super::seen::{Field, Seen};
use crate::clock::shop_day;
use crate::record::RecordError;
use crate::register::forms::due_day;

/// Which readings. An empty text asks for nothing; capitals and small letters are one; `*` stands for any text. A job
/// that is named to the letter is meant alone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choice {
    /// Of this job, now or when they were made.
    pub job: String,
    /// Of this thread on the piece.
    pub feature: String,
    /// Of jobs to this drawing.
    pub drawing: String,
    /// Of jobs of this lot or serial.
    pub lot: String,
    /// Of this piece, by its number.
    pub piece: String,
    /// By this person.
    pub operator: String,
    /// With this instrument, by its name or serial number.
    pub instrument: String,
    /// With this wire set.
    pub wire_set: String,
    /// At this station.
    pub station: String,
    /// For this purpose.
    pub purpose: String,
    /// From this day of the shop on, `YYYY-MM-DD`.
    pub from: String,
    /// Up to and with this day of the shop, `YYYY-MM-DD`.
    pub to: String,
}

/// Why a choice cannot be understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{sentence}")]
pub struct ChoiceError {
    /// The field.
    pub field: &'static str,
    /// What is wrong with it, and what to write.
    pub sentence: String,
}

impl Choice {
    /// Of a job alone.
    pub fn of_job(job: &str) -> Choice {
        Choice {
            job: job.to_owned(),
            ..Choice::default()
        }
    }

    /// Its fields by name.
    pub fn fields_mut(&mut self) -> [(&'static str, &mut String); 12] {
        [
            ("job", &mut self.job),
            ("feature", &mut self.feature),
            ("drawing", &mut self.drawing),
            ("lot", &mut self.lot),
            ("piece", &mut self.piece),
            ("operator", &mut self.operator),
            ("instrument", &mut self.instrument),
            ("wire_set", &mut self.wire_set),
            ("station", &mut self.station),
            ("purpose", &mut self.purpose),
            ("from", &mut self.from),
            ("to", &mut self.to),
        ]
    }

    /// Asks for a text in a field.
    ///
    /// # Errors
    /// There is no such field.
    pub fn set(&mut self, field: &str, text: &str) -> Result<(), ChoiceError> {
        let mut fields = self.fields_mut();
        let known = fields.each_ref().map(|(name, _)| *name).join(", ");
        let wanted = field.trim().replace('-', "_");
        let found = fields.iter_mut().find(|(name, _)| *name == wanted);
        let (_, place) = found.ok_or_else(|| ChoiceError {
            field: "where",
            sentence: format!("`{field}` is no field to look by; there are {known}."),
        })?;
        if !place.is_empty() {
            return Err(ChoiceError {
                field: "where",
                sentence: format!("`{field}` is given twice; * stands for any text."),
            });
        }
        text.trim().clone_into(place);
        Ok(())
    }

    /// Whether it can be understood.
    ///
    /// # Errors
    /// The first field that cannot.
    pub fn check(&self) -> Result<(), ChoiceError> {
        self.numbers().map(|_| ())
    }

    /// Whether it leaves out readings of a thread of a job.
    pub fn narrower_than_a_thread(&self) -> bool {
        let whole = Choice {
            job: self.job.clone(),
            feature: self.feature.clone(),
            drawing: self.drawing.clone(),
            lot: self.lot.clone(),
            ..Choice::default()
        };
        whole != *self
    }

    /// A name for the file, of plain characters only.
    pub fn file_name(&self, ending: &str) -> String {
        let plain = |text: &str| -> String {
            text.chars()
                .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
                .take(60)
                .collect()
        };
        let named = [
            &self.job,
            &self.feature,
            &self.drawing,
            &self.lot,
            &self.piece,
            &self.operator,
            &self.instrument,
            &self.wire_set,
            &self.station,
            &self.from,
            &self.to,
        ];
        let parts = named.iter().filter(|text| !text.is_empty());
        let parts: Vec<String> = parts.map(|text| plain(text)).collect();
        let name: String = parts.join("-").chars().take(120).collect();
        match name.is_empty() {
            true => format!("readings.{ending}"),
            false => format!("readings-{name}.{ending}"),
        }
    }

    /// The choice made ready for a record.
    ///
    /// # Errors
    /// A field that cannot be understood, or SQLite refuses.
    pub fn prepare(
        &self,
        connection: &Connection,
        books: &Books,
    ) -> Result<Result<Sieve, ChoiceError>, RecordError> {
        let (piece, from, to) = match self.numbers() {
            Ok(numbers) => numbers,
            Err(error) => return Ok(Err(error)),
        };
        let wanted = |text: &str| (!text.is_empty()).then(|| Pattern::of(text));
        let jobs = self.jobs(books);
        let instrument = match wanted(&self.instrument) {
            None => None,
            Some(wanted) => {
                let by_serial = instruments_by_serial(connection, |serial| wanted.is(serial))?;
                Some((wanted, by_serial))
            }
        };
        Ok(Ok(Sieve {
            jobs,
            texts: [
                (Field::Feature, &self.feature),
                (Field::Operator, &self.operator),
                (Field::WireSet, &self.wire_set),
                (Field::Station, &self.station),
                (Field::Purpose, &self.purpose),
            ]
            .into_iter()
            .filter_map(|(field, text)| Some((field, wanted(text)?)))
            .collect(),
            instrument,
            piece,
            days: (from, to),
        }))
    }

    /// The jobs and revisions that are meant; none where every reading is.
    fn jobs(&self, books: &Books) -> Option<Jobs> {
        let wanted = [&self.job, &self.drawing, &self.lot].map(|text| match text.as_str() {
            "" => None,
            text => Some(Pattern::of(text)),
        });
        if wanted.iter().all(Option::is_none) {
            return None;
        }
        let [mut job, drawing, lot] = wanted;
        // Where a job is named to the letter, no other is meant.
        if let Some(job) = &mut job {
            job.to_the_letter = books.revisions().any(|revision| revision.name == job.exact);
        }
        let is = |wanted: &Option<Pattern>, text: &str| wanted.as_ref().is_none_or(|w| w.is(text));
        let mut jobs = Jobs::default();
        for revision in books.revisions() {
            let (name, facts) = (&revision.name, &revision.facts);
            if is(&job, name) && is(&drawing, &facts.drawing) && is(&lot, &facts.lot) {
                jobs.entries.insert(revision.entry);
                jobs.names.insert(name.clone());
            }
        }
        Some(jobs)
    }

    #[allow(clippy::type_complexity)]
    fn numbers(&self) -> Result<(Option<i64>, Option<i64>, Option<i64>), ChoiceError> {
        let piece = match self.piece.trim() {
            "" => None,
            text => Some(text.parse().map_err(|_| ChoiceError {
                field: "piece",
                sentence: format!("`{text}` is no piece number; write a whole number, as 7."),
            })?),
        };
        let day = |field, text: &str| match text.trim() {
            "" => Ok(None),
            text => day_of(text).map(Some).ok_or_else(|| ChoiceError {
                field,
                sentence: format!("`{text}` is no day; write it as 2026-03-31."),
            }),
        };
        let (from, to) = (day("from", &self.from)?, day("to", &self.to)?);
        match from.zip(to) {
            Some((from, to)) if from > to => Err(ChoiceError {
                field: "to",
                sentence: "The last day comes before the first.".to_owned(),
            }),
            _ => Ok((piece, from, to)),
        }
    }
}

/// A day written as such, without a time.
fn day_of(text: &str) -> Option<i64> {
    due_day(text).filter(|_| text.len() == "2026-03-31".len())
}

/// A text to compare with.
#[derive(Debug, Clone)]
pub(super) struct Pattern {
    exact: String,
    to_the_letter: bool,
    parts: Vec<String>,
}

impl Pattern {
    pub(super) fn of(text: &str) -> Pattern {
        let folded = text.to_lowercase();
        Pattern {
            parts: folded.split('*').map(str::to_owned).collect(),
            exact: text.to_owned(),
            to_the_letter: false,
        }
    }

    /// Whether a text is meant: the same to the letter, or the same but for capitals and what `*` stands for.
    pub(super) fn is(&self, text: &str) -> bool {
        if self.to_the_letter || text == self.exact {
            return text == self.exact;
        }
        let folded = text.to_lowercase();
        let [first, between @ .., last] = self.parts.as_slice() else {
            return folded == self.parts.concat();
        };
        let Some(mut rest) = folded.strip_prefix(first.as_str()) else {
            return false;
        };
        for part in between {
            let Some((_, after)) = rest.split_once(part.as_str()) else {
                return false;
            };
            rest = after;
        }
        rest.ends_with(last.as_str())
    }
}

/// Revisions of jobs.
#[derive(Debug, Clone, Default)]
struct Jobs {
    names: BTreeSet<String>,
    entries: HashSet<i64>,
}

/// A choice ready for a record.
#[derive(Debug, Clone)]
pub struct Sieve {
    jobs: Option<Jobs>,
    texts: Vec<(Field, Pattern)>,
    instrument: Option<(Pattern, HashSet<i64>)>,
    piece: Option<i64>,
    days: (Option<i64>, Option<i64>),
}

/// More jobs than this are looked for by reading everything.
const MOST_JOBS: usize = 500;

impl Sieve {
    /// Fields that it looks at.
    pub fn fields(&self) -> Vec<Field> {
        let mut fields: Vec<Field> = self.texts.iter().map(|(field, _)| *field).collect();
        if self.jobs.is_some() {
            fields.push(Field::JobEntry);
        }
        if self.instrument.is_some() {
            fields.extend([Field::Instrument, Field::InstrumentEntry]);
        }
        if self.piece.is_some() {
            fields.push(Field::Piece);
        }
        if self.days != (None, None) {
            fields.extend([Field::WallUs, Field::OffsetS]);
        }
        fields
    }

    /// What the index of the jobs can already tell: a condition that every reading meets that is meant, but for
    /// those that were re-tagged, and its parameters. None where there is nothing to be gained.
    pub fn by_index(&self) -> Option<(String, Vec<Sql>)> {
        let names = &self.jobs.as_ref()?.names;
        if names.len() > MOST_JOBS {
            return None;
        }
        let list = vec!["?"; names.len()].join(", ");
        let parameters = names.iter().map(|name| Sql::Text(name.clone()));
        Some((format!("job IN ({list})"), parameters.collect()))
    }

    /// Whether a reading is meant; one that was re-tagged also by the job it was stamped with.
    pub fn takes(&self, seen: &Seen<'_>) -> bool {
        let before = seen.said().and_then(|standing| standing.before.as_ref());
        let before = before.and_then(|before| before.tags.job.as_ref());
        self.tagged(seen) && (self.of_job(seen) || before.is_some_and(|job| self.names(job.entry)))
    }

    /// Whether a reading is meant where it stands now.
    pub fn takes_now(&self, seen: &Seen<'_>) -> bool {
        self.tagged(seen) && self.of_job(seen)
    }

    fn tagged(&self, seen: &Seen<'_>) -> bool {
        let text = |(field, wanted): &(Field, Pattern)| wanted.is(&seen.text(*field));
        self.piece
            .is_none_or(|piece| seen.whole(Field::Piece) == piece)
            && self.texts.iter().all(text)
            && self.of_instrument(seen)
            && self.of_days(seen)
    }

    fn of_job(&self, seen: &Seen<'_>) -> bool {
        // Without a job in the choice the entry is not read from the table.
        self.jobs.is_none() || self.names(seen.whole(Field::JobEntry))
    }

    /// Whether a revision of a job is meant.
    fn names(&self, entry: i64) -> bool {
        let jobs = self.jobs.as_ref();
        jobs.is_none_or(|jobs| jobs.entries.contains(&entry))
    }

    fn of_instrument(&self, seen: &Seen<'_>) -> bool {
        self.instrument.as_ref().is_none_or(|(name, by_serial)| {
            name.is(&seen.text(Field::Instrument))
                || by_serial.contains(&seen.whole(Field::InstrumentEntry))
        })
    }

    fn of_days(&self, seen: &Seen<'_>) -> bool {
        let (from, to) = self.days;
        if from.is_none() && to.is_none() {
            return true;
        }
        let offset_s = i32::try_from(seen.whole(Field::OffsetS)).unwrap_or_default();
        let day = shop_day(seen.whole(Field::WallUs), offset_s);
        from.is_none_or(|from| day >= from) && to.is_none_or(|to| day <= to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_compared_without_capitals_and_with_any_text_for_a_star() {
        let is = |wanted: &str, text: &str| Pattern::of(wanted).is(text);
        assert!(is("J-2417", "j-2417") && !is("J-2417", "J-24170") && !is("J-24", "J-2417"));
        assert!(
            is("J-24*", "j-2417") && is("*17", "J-2417") && is("*24*", "J-2417") && is("*", "")
        );
        assert!(is("a*b*c", "a-b-b-c") && !is("a*b*c", "a-c-b") && !is("ab*ba", "aba"));
        assert!(is("J*7", "J*7") && is("Größe", "GRÖSSE") == ("GRÖSSE".to_lowercase() == "größe"));
    }

    #[test]
    fn what_is_no_day_and_no_number_is_refused_at_its_field() {
        let refused = |choice: Choice| choice.numbers().unwrap_err();
        let day = Choice {
            from: "31.3.2026".to_owned(),
            ..Choice::default()
        };
        assert_eq!(refused(day).field, "from");
        let piece = Choice {
            piece: "seven".to_owned(),
            ..Choice::default()
        };
        assert_eq!(refused(piece).field, "piece");
        let timed = Choice {
            from: "2026-03-31T05:00".to_owned(),
            ..Choice::default()
        };
        assert_eq!(refused(timed).field, "from");
        let mut twice = Choice::of_job("J-1");
        assert!(twice.set("job", "J-2").is_err());
        let turned = Choice {
            from: "2026-03-31".to_owned(),
            to: "2026-03-30".to_owned(),
            ..Choice::default()
        };
        assert_eq!(refused(turned).field, "to");
    }

    #[test]
    fn file_names_are_of_plain_characters() {
        assert_eq!(Choice::default().file_name("csv"), "readings.csv");
        assert_eq!(
            Choice::of_job("J/24 ü").file_name("csv"),
            "readings-J-24--.csv"
        );
    }
}
