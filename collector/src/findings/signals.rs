//! Signals of a chart, told one pattern at a time.

use overwire_core::stats::run_rules::{Book, Explanation, Signals};
use overwire_core::stats::series::Series;

use crate::chart;

/// Most patterns told one by one.
const MOST_PATTERNS: usize = 20;

/// Every pattern once, as long as it grew, in sentences.
pub(super) fn patterns(signals: &Signals, series: &Series) -> Vec<String> {
    patterns_of(signals, series, Explanation::sentence)
}

/// The same, each in the caller's words.
pub(super) fn patterns_of(
    signals: &Signals,
    series: &Series,
    words: impl Fn(&Explanation) -> String,
) -> Vec<String> {
    let mut patterns: Vec<Explanation> = Vec::new();
    for hit in &signals.hits {
        for explained in signals.explain(series, hit) {
            let grown = |known: &Explanation| {
                (known.rule, known.first) == (explained.rule, explained.first)
            };
            match patterns.iter_mut().find(|known| grown(known)) {
                Some(known) => *known = explained,
                None => patterns.push(explained),
            }
        }
    }
    let further = patterns.len().saturating_sub(MOST_PATTERNS);
    let mut told: Vec<String> = patterns.iter().take(MOST_PATTERNS).map(words).collect();
    if further > 0 {
        told.push(format!("And {further} further signals."));
    }
    told
}

/// Each hit in words, at its place on the chart.
pub(super) fn told_signals(signals: &Signals, series: &Series) -> Vec<chart::Signal> {
    let mut told = Vec::new();
    for hit in &signals.hits {
        for explained in signals.explain(series, hit) {
            let number = explained.rule.number(Book::Nelson1984);
            told.push(chart::Signal {
                index: series.place(hit.index).saturating_sub(1),
                rule: number.map_or_else(String::new, |number| number.to_string()),
                words: explained.sentence(),
            });
        }
    }
    told
}
