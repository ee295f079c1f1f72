//! Walks a TOML table and notes every mistake on the way instead of stopping at the first.
//!
//! A [`Reader`] hands out the keys that are asked for; whatever was not asked for by the time it is
//! finished is an unknown key. A getter that meets a mistake notes it and gives `None` (or the
//! default): the caller goes on, and the value built is thrown away if any mistake was noted.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::problem::Problem;

/// Where mistakes are gathered, with the text they are in.
pub(crate) struct Notes<'a> {
    text: &'a str,
    problems: RefCell<Vec<Problem>>,
}

impl<'a> Notes<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Notes {
            text,
            problems: RefCell::new(Vec::new()),
        }
    }

    fn line_of(&self, offset: usize) -> usize {
        let upto = self
            .text
            .as_bytes()
            .get(..offset)
            .unwrap_or(self.text.as_bytes());
        1 + upto.iter().filter(|&&byte| byte == b'\n').count()
    }

    /// Parses the text, noting every syntax mistake.
    pub(crate) fn parse(&self) -> Spanned<DeTable<'a>> {
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for error in errors {
            let line = error.span().map_or(0, |span| self.line_of(span.start));
            let found = error.message().to_owned();
            self.note(
                line,
                "",
                found,
                "valid TOML, as `key = \"text\"` or `key = 12`",
            );
        }
        table
    }

    pub(crate) fn note(
        &self,
        line: usize,
        key: &str,
        found: impl Into<String>,
        wanted: impl Into<String>,
    ) {
        self.problems.borrow_mut().push(Problem {
            line,
            key: key.to_owned(),
            found: found.into(),
            wanted: wanted.into(),
        });
    }

    /// Everything noted, in the order of the file.
    pub(crate) fn into_problems(self) -> Vec<Problem> {
        let mut problems = self.problems.into_inner();
        problems.sort_by_key(|problem| problem.line);
        problems
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.problems.borrow().is_empty()
    }
}

/// A value with the place it stands at, for mistakes found later.
#[derive(Debug, Clone)]
pub(crate) struct At<T> {
    pub(crate) value: T,
    pub(crate) line: usize,
}

/// One table of the file.
pub(crate) struct Reader<'n, 'a> {
    notes: &'n Notes<'a>,
    table: &'n DeTable<'a>,
    line: usize,
    path: String,
    asked: RefCell<BTreeSet<&'static str>>,
}

impl<'n, 'a> Reader<'n, 'a> {
    pub(crate) fn new(
        notes: &'n Notes<'a>,
        table: &'n DeTable<'a>,
        span: Range<usize>,
        path: impl Into<String>,
    ) -> Self {
        let line = notes.line_of(span.start);
        Reader {
            notes,
            table,
            line,
            path: path.into(),
            asked: RefCell::new(BTreeSet::new()),
        }
    }

    /// Line the table begins at.
    pub(crate) fn line(&self) -> usize {
        self.line
    }

    /// The key with the table's own path before it.
    pub(crate) fn full_key(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// Notes a mistake of one key of this table.
    pub(crate) fn note(
        &self,
        line: usize,
        key: &str,
        found: impl Into<String>,
        wanted: impl Into<String>,
    ) {
        self.notes.note(line, &self.full_key(key), found, wanted);
    }

    fn get(&self, key: &'static str) -> Option<(&'n DeValue<'a>, usize)> {
        self.asked.borrow_mut().insert(key);
        let value = self.table.get(key)?;
        Some((value.get_ref(), self.notes.line_of(value.span().start)))
    }

    /// A table within this one.
    pub(crate) fn table(&self, key: &'static str) -> Option<Reader<'n, 'a>> {
        self.asked.borrow_mut().insert(key);
        let value = self.table.get(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Reader::new(
                self.notes,
                table,
                value.span(),
                self.full_key(key),
            )),
            other => {
                let line = self.notes.line_of(value.span().start);
                self.note(line, key, describe(other), format!("a table, as `[{key}]`"));
                None
            }
        }
    }

    /// Every table of a list of tables.
    pub(crate) fn tables(&self, key: &'static str) -> Vec<Reader<'n, 'a>> {
        self.asked.borrow_mut().insert(key);
        let Some(value) = self.table.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(items) = value.get_ref() else {
            let line = self.notes.line_of(value.span().start);
            self.note(
                line,
                key,
                describe(value.get_ref()),
                format!("one or more `[[{key}]]`"),
            );
            return Vec::new();
        };
        let mut readers = Vec::new();
        for (index, item) in items.iter().enumerate() {
            let path = format!("{}[{}]", self.full_key(key), index + 1);
            match item.get_ref() {
                DeValue::Table(table) => {
                    readers.push(Reader::new(self.notes, table, item.span(), path));
                }
                other => {
                    let line = self.notes.line_of(item.span().start);
                    self.notes.note(
                        line,
                        &path,
                        describe(other),
                        format!("a table, as `[[{key}]]`"),
                    );
                }
            }
        }
        readers
    }

    /// Text, if the key stands there.
    pub(crate) fn text(&self, key: &'static str) -> Option<At<String>> {
        let (value, line) = self.get(key)?;
        match value {
            DeValue::String(text) => Some(At {
                value: text.to_string(),
                line,
            }),
            other => {
                self.note(line, key, describe(other), "text in quotes");
                None
            }
        }
    }

    /// Text that must stand there and must not be empty.
    pub(crate) fn needed_text(&self, key: &'static str, wanted: &str) -> Option<At<String>> {
        if self.table.get(key).is_none() {
            self.asked.borrow_mut().insert(key);
            self.note(self.line, key, "nothing", wanted);
            return None;
        }
        let text = self.text(key)?;
        if text.value.trim().is_empty() {
            self.note(text.line, key, "empty text", wanted);
            return None;
        }
        Some(text)
    }

    /// A whole number within a range, if the key stands there.
    pub(crate) fn whole(
        &self,
        key: &'static str,
        range: std::ops::RangeInclusive<i64>,
    ) -> Option<i64> {
        let (value, line) = self.get(key)?;
        let wanted = format!("a whole number from {} to {}", range.start(), range.end());
        let DeValue::Integer(number) = value else {
            self.note(line, key, describe(value), wanted);
            return None;
        };
        match i64::from_str_radix(number.as_str(), number.radix()) {
            Ok(number) if range.contains(&number) => Some(number),
            _ => {
                self.note(line, key, format!("`{}`", number.as_str()), wanted);
                None
            }
        }
    }

    /// A number within a range, if the key stands there.
    pub(crate) fn number(
        &self,
        key: &'static str,
        range: std::ops::RangeInclusive<f64>,
    ) -> Option<f64> {
        let (value, line) = self.get(key)?;
        let wanted = format!("a number from {} to {}", range.start(), range.end());
        let text = match value {
            DeValue::Integer(number) => number.as_str(),
            DeValue::Float(number) => number.as_str(),
            other => {
                self.note(line, key, describe(other), wanted);
                return None;
            }
        };
        match text.parse::<f64>() {
            Ok(number) if range.contains(&number) => Some(number),
            _ => {
                self.note(line, key, format!("`{text}`"), wanted);
                None
            }
        }
    }

    /// Yes or no, if the key stands there.
    pub(crate) fn yes_no(&self, key: &'static str) -> Option<bool> {
        let (value, line) = self.get(key)?;
        match value {
            DeValue::Boolean(flag) => Some(*flag),
            other => {
                self.note(line, key, describe(other), "`true` or `false`");
                None
            }
        }
    }

    /// A list of texts, if the key stands there.
    pub(crate) fn texts(&self, key: &'static str) -> Option<At<Vec<String>>> {
        let (value, line) = self.get(key)?;
        let DeValue::Array(items) = value else {
            self.note(
                line,
                key,
                describe(value),
                "a list of texts, as `[\"a\", \"b\"]`",
            );
            return None;
        };
        let mut texts = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => texts.push(text.to_string()),
                other => {
                    let line = self.notes.line_of(item.span().start);
                    self.note(line, key, describe(other), "text in quotes");
                }
            }
        }
        Some(At { value: texts, line })
    }

    /// Every key and text of a table whose keys are the writer's own.
    pub(crate) fn pairs(&self) -> Vec<(String, At<String>)> {
        let mut pairs = Vec::new();
        for (key, value) in self.table.iter() {
            let line = self.notes.line_of(value.span().start);
            match value.get_ref() {
                DeValue::String(text) => {
                    pairs.push((
                        key.get_ref().to_string(),
                        At {
                            value: text.to_string(),
                            line,
                        },
                    ));
                }
                other => self.note(line, key.get_ref(), describe(other), "text in quotes"),
            }
        }
        pairs
    }

    /// Notes every key that nobody asked for, with the nearest one that is known.
    pub(crate) fn finish(self) {
        let asked = self.asked.borrow();
        for (key, _) in self.table.iter() {
            let name = key.get_ref().as_ref();
            if asked.contains(name) {
                continue;
            }
            let line = self.notes.line_of(key.span().start);
            let known = asked.iter().copied().collect::<Vec<_>>().join(", ");
            let wanted = match nearest(name, &asked) {
                Some(near) => format!("`{near}`? Known here: {known}"),
                None => format!("one of {known}"),
            };
            self.note(line, name, "an unknown key", wanted);
        }
    }
}

/// Says what a value is, in words.
fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{text}\""),
        DeValue::Integer(number) => format!("the number {}", number.as_str()),
        DeValue::Float(number) => format!("the number {}", number.as_str()),
        DeValue::Boolean(flag) => format!("`{flag}`"),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// The known key at an edit distance of at most two, if there is one.
fn nearest(name: &str, known: &BTreeSet<&'static str>) -> Option<&'static str> {
    known
        .iter()
        .map(|candidate| (distance(name, candidate), *candidate))
        .filter(|(distance, _)| *distance <= 2)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Edit distance (insert, delete, replace), row by row.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
