//! Words and lists of the captions.

use crate::sheet::printable;

/// Names longer than this are cut; a caption is no place for a page of text.
const LONGEST_NAME: usize = 160;
/// So many members of a list are told one by one.
const MOST_LISTED: usize = 8;

/// A text of bounded length, of characters that can be drawn.
pub(super) fn clipped(text: &str) -> String {
    let mut characters = text.chars().map(printable);
    let kept: String = characters.by_ref().take(LONGEST_NAME).collect();
    if characters.next().is_some() {
        format!("{}\u{2026}", kept.trim_end())
    } else {
        kept
    }
}

/// `1 reading`, `2 readings`.
pub(super) fn counted(count: usize, noun: &str) -> String {
    let noun = clipped(noun);
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}

/// The first few of a list, and how many more there are.
pub(super) fn listed(parts: &[String], between: &str) -> String {
    let mut text = parts
        .iter()
        .take(MOST_LISTED)
        .cloned()
        .collect::<Vec<_>>()
        .join(between);
    if parts.len() > MOST_LISTED {
        text.push_str(&format!("{between}and {} more", parts.len() - MOST_LISTED));
    }
    text
}

/// Numbers of points as people count them, from 1.
pub(super) fn numbers(indexes: &[usize]) -> String {
    let parts: Vec<String> = indexes
        .iter()
        .take(MOST_LISTED + 1)
        .map(|index| (index + 1).to_string())
        .collect();
    let mut text = parts[..parts.len().min(MOST_LISTED)].join(", ");
    if indexes.len() > MOST_LISTED {
        text.push_str(&format!(" and {} more", indexes.len() - MOST_LISTED));
    }
    text
}

/// A part of something in percent, or as a multiple when it is more than all of it.
pub(super) fn times(ratio: f64) -> String {
    if ratio < 10.0 {
        format!("{ratio:.1}")
    } else {
        format!("{ratio:.0}")
    }
}

/// A sentence for readings that could not be drawn.
pub(super) fn left_out(count: usize, noun: &str) -> Option<String> {
    (count > 0).then(|| {
        format!(
            "{} cannot be drawn: no number, or beyond any axis.",
            counted(count, noun)
        )
    })
}
