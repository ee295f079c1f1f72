//! Finding readings: the newest of them page by page, and how many there are.
//!
//! A page is had by walking the record backwards (or forwards) until it is full, so that the newest readings come
//! at once however many there are. Where nothing but the walk itself can tell what is meant, a page looks at so
//! many readings at most and says where to go on: no question holds its answer back for long.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::ControlFlow;

use rusqlite::params_from_iter;
use rusqlite::types::Value as Sql;

use super::ExportError;
use super::columns::View;
use super::scan::{Said, Scan};
use super::seen::{Field, Seen, Wanted};
use crate::record::reader;

/// Where a page begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Place {
    /// With the newest reading.
    #[default]
    Newest,
    /// With the newest reading before an entry.
    Before(i64),
    /// So that it ends just after an entry.
    After(i64),
}

/// A page that is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Page {
    /// Where it begins.
    pub place: Place,
    /// Readings that it holds at most.
    pub most: usize,
    /// Readings looked at one by one before the index of the jobs is asked.
    pub tried: usize,
    /// Readings looked at where no index helps.
    pub looked_at: usize,
}

impl Page {
    /// Of at most so many readings, with the usual effort.
    pub fn new(place: Place, most: usize) -> Page {
        Page {
            place,
            most,
            tried: 20_000,
            looked_at: 200_000,
        }
    }
}

/// Gives the readings of a page: newest first, after an entry oldest first. What comes back is the entry to go on
/// from, or none where there is nothing more that way.
///
/// # Errors
/// The record cannot be read, or what takes the readings fails.
pub fn page(
    scan: &Scan<'_>,
    fields: impl IntoIterator<Item = Field>,
    page: Page,
    mut take: impl FnMut(&View<'_>) -> Result<(), ExportError>,
) -> Result<Option<i64>, ExportError> {
    let walk = Walk::new(scan, fields)?;
    let index = scan.sieve.by_index();
    let mut found = 0;
    let mut last = None;
    let mut each = |entry: i64, view: Option<&View<'_>>| {
        last = Some(entry);
        if let Some(view) = view {
            take(view)?;
            found += 1;
        }
        Ok(match found < page.most {
            true => ControlFlow::Continue(()),
            false => ControlFlow::Break(()),
        })
    };
    let first = match index {
        Some(_) => page.tried,
        None => page.looked_at,
    };
    let mut walked = walk.pass(page.place, None, first, &mut each)?;
    if let (Passed::Limit(entry), Some(index)) = (&walked, index) {
        let on = match page.place {
            Place::After(_) => Place::After(*entry),
            Place::Newest | Place::Before(_) => Place::Before(*entry),
        };
        walked = walk.pass(on, Some(index), usize::MAX, &mut each)?;
    }
    Ok(match walked {
        Passed::All => None,
        Passed::Limit(entry) => Some(entry),
        Passed::Enough => last,
    })
}

/// How a walk ended.
#[derive(Debug)]
enum Passed {
    /// At the end of the record.
    All,
    /// At its limit, with this entry.
    Limit(i64),
    /// As it was told to.
    Enough,
}

/// What every stretch of a walk needs.
struct Walk<'s, 'c> {
    scan: &'s Scan<'c>,
    wanted: Wanted,
    said: Said,
}

impl<'s, 'c> Walk<'s, 'c> {
    fn new(
        scan: &'s Scan<'c>,
        fields: impl IntoIterator<Item = Field>,
    ) -> Result<Walk<'s, 'c>, ExportError> {
        Ok(Walk {
            scan,
            wanted: Wanted::of(fields.into_iter().chain(scan.sieve.fields())),
            said: Said::of(scan.connection)?,
        })
    }

    /// Walks so many readings at most, of those that an index names, and gives each with its view if it is meant.
    fn pass(
        &self,
        place: Place,
        index: Option<(String, Vec<Sql>)>,
        most: usize,
        each: &mut impl FnMut(i64, Option<&View<'_>>) -> Result<ControlFlow<()>, ExportError>,
    ) -> Result<Passed, ExportError> {
        let (range, order) = match place {
            Place::Newest => ("entry < 9223372036854775807".to_owned(), "DESC"),
            Place::Before(entry) => (format!("entry < {entry}"), "DESC"),
            Place::After(entry) => (format!("entry > {entry}"), "ASC"),
        };
        let (condition, parameters) = match index {
            None => (String::new(), Vec::new()),
            Some((condition, parameters)) => {
                let of_jobs = format!(
                    "AND entry IN (SELECT entry FROM reading WHERE {condition} AND {range}
                     UNION SELECT reading FROM change WHERE kind = 'retag')"
                );
                (of_jobs, parameters)
            }
        };
        let sql = format!(
            "SELECT {} FROM reading WHERE {range} {condition} ORDER BY entry {order}",
            self.wanted.sql()
        );
        let mut statement = self.scan.connection.prepare(&sql)?;
        let mut rows = statement.query(params_from_iter(parameters))?;
        let mut passed = 0;
        while let Some(row) = rows.next()? {
            let entry: i64 = row.get(0)?;
            passed += 1;
            let told = if self.said.has(entry) {
                match reader::standing(self.scan.connection, entry)? {
                    Some(standing) => self.tell(entry, Seen::Standing(&standing), each)?,
                    None => ControlFlow::Continue(()),
                }
            } else {
                self.tell(entry, Seen::Row(row, &self.wanted), each)?
            };
            if told.is_break() {
                return Ok(Passed::Enough);
            }
            if passed == most {
                return Ok(Passed::Limit(entry));
            }
        }
        Ok(Passed::All)
    }

    fn tell(
        &self,
        entry: i64,
        seen: Seen<'_>,
        each: &mut impl FnMut(i64, Option<&View<'_>>) -> Result<ControlFlow<()>, ExportError>,
    ) -> Result<ControlFlow<()>, ExportError> {
        match self.scan.sieve.takes(&seen) {
            true => each(entry, Some(&View::of(seen, self.scan.books))),
            false => each(entry, None),
        }
    }
}

/// How many readings are meant.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct Counts {
    /// All of them.
    pub readings: u64,
    /// Pieces that they were made on, while cutting or inspecting.
    pub pieces: u64,
    /// The readings by what is to be said of each: `void`, `held`, `not_counted`, or its verdict.
    pub standing: BTreeMap<String, u64>,
    /// Whether all were counted; if not, there are more than these.
    pub whole: bool,
}

/// Readings between two questions whether it has taken long enough.
const ASK_EVERY: u64 = 1 << 12;

/// Counts until `enough` says so.
///
/// # Errors
/// The record cannot be read.
pub fn count(scan: &Scan<'_>, mut enough: impl FnMut() -> bool) -> Result<Counts, ExportError> {
    const FIELDS: [Field; 7] = [
        Field::Job,
        Field::Feature,
        Field::Piece,
        Field::Purpose,
        Field::Verdict,
        Field::Held,
        Field::Counted,
    ];
    let walk = Walk::new(scan, FIELDS)?;
    let mut counts = Counts::default();
    let mut pieces = Pieces::default();
    let mut passed = 0_u64;
    let walked = walk.pass(
        Place::Newest,
        scan.sieve.by_index(),
        usize::MAX,
        &mut |_, view| {
            if let Some(view) = view {
                counts.take(view.seen(), &mut pieces);
            }
            passed += 1;
            Ok(match passed.is_multiple_of(ASK_EVERY) && enough() {
                true => ControlFlow::Break(()),
                false => ControlFlow::Continue(()),
            })
        },
    )?;
    counts.pieces = pieces.seen.len() as u64;
    counts.whole = matches!(walked, Passed::All);
    Ok(counts)
}

impl Counts {
    fn take(&mut self, seen: &Seen<'_>, pieces: &mut Pieces) {
        self.readings += 1;
        let purpose = seen.text(Field::Purpose);
        if matches!(&*purpose, "cutting" | "inspecting") {
            pieces.take(seen);
        }
        let verdict = seen.text(Field::Verdict);
        let class = if seen.said().is_some_and(|said| said.void.is_some()) {
            "void"
        } else if seen.held() {
            "held"
        } else if purpose != "zero" && !seen.counts() {
            "not_counted"
        } else {
            &*verdict
        };
        match self.standing.get_mut(class) {
            Some(count) => *count += 1,
            None => {
                self.standing.insert(class.to_owned(), 1);
            }
        }
    }
}

/// Pieces that were seen, in little room: names of jobs and threads are kept once.
#[derive(Debug, Default)]
struct Pieces {
    names: HashMap<String, u32>,
    seen: HashSet<(u32, u32, i64)>,
}

impl Pieces {
    fn take(&mut self, seen: &Seen<'_>) {
        let job = seen.text(Field::Job);
        if job.is_empty() {
            return;
        }
        let key = (
            self.number(&job),
            self.number(&seen.text(Field::Feature)),
            seen.whole(Field::Piece),
        );
        self.seen.insert(key);
    }

    fn number(&mut self, name: &str) -> u32 {
        if let Some(number) = self.names.get(name) {
            return *number;
        }
        let next = self.names.len() as u32;
        self.names.insert(name.to_owned(), next);
        next
    }
}
