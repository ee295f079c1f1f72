//! Pieces put together into groups. A group belongs to one phase: where a phase begins, groups begin afresh.

use std::collections::HashMap;
use std::ops::Range;

use overwire_core::stats::series::Series;

use crate::findings::phases::{Freeze, PhaseError, Start};
use crate::findings::signals::Order;

/// Which pieces are a group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Grouping {
    /// So many, one after another.
    Size(usize),
    /// Those of one name, by their numbers.
    Named(HashMap<i64, String>),
}

/// Pieces that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What it is called.
    pub name: String,
    /// Its pieces, mm.
    pub mm: Vec<f64>,
    /// The index of its last piece.
    last: usize,
    /// The index of its first piece.
    first: usize,
}

/// Groups in order, and what there is to say of how they came about.
#[derive(Debug, Default)]
pub struct Gathered {
    /// The groups.
    pub groups: Vec<Group>,
    /// The groups that phases begin with.
    pub starts: Vec<Start>,
    /// Pieces that made no whole group.
    pub left_over: usize,
    /// Groups whose pieces do not follow one another.
    pub scattered: Vec<String>,
    /// Where a phase or the freezing meets the inside of a group.
    pub said: Vec<String>,
}

/// A series of pieces with what it is put together by.
pub struct Pieces<'a> {
    /// The pieces that count.
    pub series: &'a Series,
    /// The numbers of the pieces by their places.
    pub order: &'a Order,
}

impl Pieces<'_> {
    fn number(&self, index: usize) -> i64 {
        let place = self.series.place(index).saturating_sub(1);
        self.order.0.get(place).copied().unwrap_or_default()
    }

    fn mm(&self, range: Range<usize>) -> &[f64] {
        self.series.readings().get(range).unwrap_or_default()
    }
}

impl Gathered {
    /// Puts pieces together, phase by phase.
    pub fn of(pieces: &Pieces<'_>, starts: &[Start], grouping: &Grouping) -> Gathered {
        let mut gathered = Gathered::default();
        let count = pieces.series.readings().len();
        let begins = std::iter::once(None).chain(starts.iter().map(Some));
        let ends = starts.iter().map(|start| start.index).chain([count]);
        for ((start, end), next) in begins.zip(ends).zip(starts.iter().map(Some).chain([None])) {
            let range = start.map_or(0, |start| start.index)..end;
            let before = gathered.groups.len();
            match grouping {
                Grouping::Size(size) => {
                    let left = range.len() % size;
                    gathered.by_size(pieces, range.start..end - left, *size);
                    gathered.left_over += left;
                    let any = gathered.groups.len() > before;
                    let told = match (any, start, next) {
                        (false, Some(start), _) => Some(none_words(pieces, left, start)),
                        (_, _, Some(next)) => left_words(pieces, left, next),
                        (_, _, None) => None,
                    };
                    gathered.said.extend(told);
                }
                Grouping::Named(names) => gathered.by_name(pieces, range, names, before),
            }
            let begun = start.filter(|_| before > 0 && gathered.groups.len() > before);
            gathered.starts.extend(begun.map(|start| Start {
                index: before,
                change: start.change.clone(),
            }));
        }
        gathered
    }

    fn by_size(&mut self, pieces: &Pieces<'_>, range: Range<usize>, size: usize) {
        for (at, mm) in pieces.mm(range.clone()).chunks_exact(size).enumerate() {
            let first = range.start + at * size;
            self.groups.push(Group {
                name: (self.groups.len() + 1).to_string(),
                mm: mm.to_vec(),
                first,
                last: first + size - 1,
            });
        }
    }

    /// Pieces of one name are put together within their phase; `before` groups stand in earlier ones.
    fn by_name(
        &mut self,
        pieces: &Pieces<'_>,
        range: Range<usize>,
        names: &HashMap<i64, String>,
        before: usize,
    ) {
        let mut known: HashMap<&str, usize> = HashMap::new();
        let mut latest = None;
        for (index, mm) in range.clone().zip(pieces.mm(range.clone())) {
            let name = names.get(&pieces.number(index)).map_or("", String::as_str);
            let at = match known.get(name) {
                Some(&at) => at,
                None => {
                    let first = range.start;
                    let called = self.called(name, before, (pieces.number(first), range.start > 0));
                    self.groups.push(Group {
                        name: called,
                        mm: Vec::new(),
                        first: index,
                        last: index,
                    });
                    known.insert(name, self.groups.len() - 1);
                    self.groups.len() - 1
                }
            };
            let again = latest.replace(at).is_some_and(|latest| latest != at);
            if let Some(group) = self.groups.get_mut(at) {
                if again && !group.mm.is_empty() && !self.scattered.contains(&group.name) {
                    self.scattered.push(group.name.clone());
                }
                group.mm.push(*mm);
                group.last = index;
            }
        }
    }

    /// What a group is called; one that was begun in an earlier phase is another one.
    fn called(&mut self, name: &str, before: usize, (piece, later): (i64, bool)) -> String {
        let mut earlier = self.groups.iter().take(before);
        if !later || !earlier.any(|group| group.name == name) {
            return name.to_owned();
        }
        self.said.push(format!(
            "Group {name} is parted by the phase that begins with piece {piece}: its pieces before and from there on \
             are groups of their own."
        ));
        format!("{name} from piece {piece}")
    }

    /// From how many groups at the start of each phase limits come. A group that goes on behind the piece they are
    /// frozen up to is not one of them.
    pub fn freeze_after(
        &mut self,
        freeze: Freeze,
        pieces: &Pieces<'_>,
    ) -> Result<Option<usize>, PhaseError> {
        let after = freeze.after(pieces.series, pieces.order, self.starts.len() + 1)?;
        let Freeze::UpTo(piece) = freeze else {
            return Ok(after);
        };
        let count = after.unwrap_or_default();
        let whole = self
            .groups
            .iter()
            .take_while(|group| group.last < count)
            .count();
        if let Some(group) = self.groups.get(whole).filter(|group| group.first < count) {
            self.said.push(format!(
                "Group {} holds piece {piece} and later ones: it is judged, and the limits do not come from it.",
                group.name
            ));
        }
        Ok(Some(whole))
    }

    /// What a group is called in a sentence.
    pub fn group_at(&self, index: usize) -> String {
        let name = self.groups.get(index).map_or("", |group| &group.name);
        format!("group {name}")
    }
}

/// What is said of a phase without a single whole group.
fn none_words(pieces: &Pieces<'_>, left: usize, start: &Start) -> String {
    let (label, piece) = (&start.change.label, pieces.number(start.index));
    let left = match left {
        1 => "its piece is left out".to_owned(),
        left => format!("its {left} pieces are left out"),
    };
    format!("The phase that begins with {label} at piece {piece} has no whole group; {left}.")
}

/// What is said of pieces before a phase that make no whole group.
fn left_words(pieces: &Pieces<'_>, left: usize, next: &Start) -> Option<String> {
    let (label, piece) = (&next.change.label, pieces.number(next.index));
    let left = match left {
        0 => return None,
        1 => "1 piece before it makes no whole group and is left out".to_owned(),
        left => format!("{left} pieces before it make no whole group and are left out"),
    };
    Some(format!(
        "Groups begin afresh with {label} at piece {piece}; {left}."
    ))
}
