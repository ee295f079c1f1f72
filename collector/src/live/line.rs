//! A step as a line. What the record gives for a step is the same whenever it is asked, so a file can be told by
//! its last line and made again from the record.

use rusqlite::Connection;

use super::LiveError;
use super::steps::Step;
use crate::export::books::Books;
use crate::export::columns::{self, COLUMNS, Column, View};
use crate::export::csv::{Dialect, Lines, MARK};
use crate::export::descriptor;
use crate::export::seen::Seen;
use crate::export::value::Value;
use crate::record::reader;

/// Name of the first column: the entry for which a line was written.
pub const AS_OF: &str = "as_of";
/// Columns that follow it on every line.
const LEAD: [&str; 2] = ["entry", "void"];

/// Makes lines.
#[derive(Debug)]
pub struct LineMaker {
    dialect: Dialect,
    columns: Vec<Column>,
    lines: Lines,
    books: Books,
    text: String,
}

impl LineMaker {
    /// With the columns of the given names after those that lead; all of them where none is named. Names that no
    /// column has are passed over: the settings have been checked.
    pub fn new(dialect: Dialect, names: &[String]) -> LineMaker {
        let lead = columns::named(LEAD).unwrap_or_default();
        let chosen: Vec<Column> = match names.is_empty() {
            true => COLUMNS.to_vec(),
            false => names
                .iter()
                .filter_map(|name| Some(columns::named([name.as_str()]).ok()?.remove(0)))
                .collect(),
        };
        let rest = chosen
            .into_iter()
            .filter(|column| !LEAD.contains(&column.name));
        LineMaker {
            dialect,
            columns: lead.into_iter().chain(rest).collect(),
            lines: Lines::new(dialect),
            books: Books::default(),
            text: String::with_capacity(1024),
        }
    }

    /// Descriptor of a file of these lines, by the file's name.
    pub fn descriptor(&self, name: &str) -> serde_json::Value {
        descriptor::of_live_file(name, self.dialect, &self.columns)
    }

    /// The first line, with the byte-order mark where the dialect has one.
    pub fn heading(&mut self) -> String {
        let names = self.columns.iter().map(|column| column.name);
        let mut text = match self.dialect.has_mark() {
            true => MARK.to_owned(),
            false => String::new(),
        };
        let names = std::iter::once(AS_OF).chain(names);
        self.lines
            .line(names.map(|name| Value::Code(name.into())), &mut text);
        text
    }

    /// The line of a step.
    ///
    /// # Errors
    /// The record cannot be read.
    pub fn line(&mut self, connection: &Connection, step: &Step) -> Result<&str, LiveError> {
        self.text.clear();
        let Some(standing) = reader::standing_at(connection, step.entry, step.as_of)? else {
            return Ok("");
        };
        let tags = &standing.reading.tags;
        if !self
            .books
            .knows(tags.job.as_ref().map_or(0, |job| job.entry))
        {
            self.books = Books::read(connection)?;
        }
        let view = View::of(Seen::Standing(&standing), &self.books);
        let cells = self.columns.iter().map(|column| column.value(&view));
        let cells = std::iter::once(Value::Whole(step.as_of)).chain(cells);
        self.lines.line(cells, &mut self.text);
        keep_to_one_line(&mut self.text);
        Ok(&self.text)
    }
}

/// Line ends within a text become spaces: whoever watches the file line by line gets a whole line.
fn keep_to_one_line(line: &mut String) {
    let end = line.len().saturating_sub(2);
    if line[..end].contains(['\r', '\n']) {
        let inner = line[..end].replace(['\r', '\n'], " ");
        line.replace_range(..end, &inner);
    }
}

/// The entry at the front of a line.
pub fn as_of(line: &[u8]) -> Option<i64> {
    let digits = line.iter().take_while(|byte| byte.is_ascii_digit()).count();
    std::str::from_utf8(line.get(..digits)?).ok()?.parse().ok()
}
