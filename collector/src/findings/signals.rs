//! Signals of a chart, told one pattern at a time.

use overwire_core::stats::run_rules::{Book, Explanation, Rule, Signals};
use overwire_core::stats::series::Series;

use crate::chart;

/// Most patterns told one by one.
const MOST_PATTERNS: usize = 20;

/// The numbers of the pieces, point by point.
#[derive(Debug, Default)]
pub(super) struct Order(pub Vec<i64>);

impl Order {
    /// Which pieces some points are, where the numbers of points do not say it; points are counted from 1.
    pub fn named(&self, first: usize, last: usize) -> String {
        let piece = |point: usize| self.0.get(point.saturating_sub(1)).copied();
        match (piece(first), piece(last)) {
            (Some(one), Some(other)) if (one, other) == (first as i64, last as i64) => {
                String::new()
            }
            (Some(one), Some(other)) if first == last && one == other => format!(" (piece {one})"),
            (Some(one), Some(other)) => format!(" (pieces {one} to {other})"),
            _ => String::new(),
        }
    }

    /// The piece at a place counted from 1, in words.
    pub fn piece_at(&self, place: usize) -> String {
        match self.0.get(place.saturating_sub(1)) {
            Some(piece) => format!("piece {piece}"),
            None => format!("point {place}"),
        }
    }

    /// The pieces from a place on, counted from 1.
    pub fn since(&self, place: usize) -> Order {
        Order(
            self.0
                .get(place.saturating_sub(1)..)
                .unwrap_or_default()
                .to_vec(),
        )
    }

    /// What a point of a picture is: a piece, where its number is that of the piece.
    pub fn noun(&self) -> &'static str {
        let plain = self.0.iter().zip(1..).all(|(piece, point)| *piece == point);
        if plain { "piece" } else { "point" }
    }

    /// What to know where pieces do not stand in the order of their numbers.
    pub fn caution(&self) -> Option<String> {
        let falls = self.0.windows(2).any(|pair| pair[0] > pair[1]);
        falls.then(|| {
            "pieces are charted in the order they were first measured, which is not the order of their numbers."
                .to_owned()
        })
    }

    fn sentence(&self, explained: &Explanation) -> String {
        let first = match explained.rule {
            Rule::BeyondLimit => explained.last,
            _ => explained.first,
        };
        let sentence = explained.sentence();
        let named = self.named(first, explained.last);
        format!("{}{named}.", sentence.trim_end_matches('.'))
    }
}

/// Every pattern once, as long as it grew, in sentences; the phases of a chart one after the other.
pub(super) fn patterns(phases: &[Signals], series: &Series, order: &Order) -> Vec<String> {
    patterns_of(phases, series, |explained| order.sentence(explained))
}

/// The same, each in the caller's words.
pub(super) fn patterns_of(
    phases: &[Signals],
    series: &Series,
    words: impl Fn(&Explanation) -> String,
) -> Vec<String> {
    let mut patterns: Vec<Explanation> = Vec::new();
    for explained in explained(phases, series) {
        let grown =
            |known: &Explanation| (known.rule, known.first) == (explained.rule, explained.first);
        match patterns.iter_mut().find(|known| grown(known)) {
            Some(known) => *known = explained,
            None => patterns.push(explained),
        }
    }
    let further = patterns.len().saturating_sub(MOST_PATTERNS);
    let mut told: Vec<String> = patterns.iter().take(MOST_PATTERNS).map(words).collect();
    if further > 0 {
        let patterns = if further == 1 { "pattern" } else { "patterns" };
        told.push(format!("And {further} further {patterns}."));
    }
    told
}

/// Every hit of every phase, once for each of its rules.
fn explained<'a>(
    phases: &'a [Signals],
    series: &'a Series,
) -> impl Iterator<Item = Explanation> + 'a {
    phases.iter().flat_map(|signals| {
        let hits = signals.hits.iter();
        hits.flat_map(|hit| signals.explain(series, hit))
    })
}

/// Each hit in words, at its place on the chart.
pub(super) fn told_signals(
    phases: &[Signals],
    series: &Series,
    order: &Order,
) -> Vec<chart::Signal> {
    let told = explained(phases, series).map(|explained| {
        let number = explained.rule.number(Book::Nelson1984);
        chart::Signal {
            index: explained.last.saturating_sub(1),
            rule: number.map_or_else(String::new, |number| number.to_string()),
            meaning: explained.pattern_words(),
            words: order.sentence(&explained),
        }
    });
    told.collect()
}
