//! The groups one by one.

use overwire_core::stats::groups::{GroupSpread, Groups, Sizes};
use overwire_core::stats::{Moments, Readings, Undefined};

use super::held::Held;
use super::{Group, Question, Section, Shown, Table};

/// The groups one by one; where sizes differ, with the limits of each.
pub fn figures(
    question: &Question,
    groups: &Groups,
    held: Option<&Held>,
    shown: &Shown,
) -> Result<Section, Undefined> {
    let ranges = groups.spread == GroupSpread::Range;
    let spread = if ranges {
        "range"
    } else {
        "standard deviation"
    };
    let mut columns = vec!["group", "n", "mean", spread];
    let own_limits = held.filter(|_| matches!(groups.sizes, Sizes::Each(_)));
    if own_limits.is_some() {
        columns.extend(["mean from", "mean to", "spread to"]);
    }
    let rows = question.groups.iter().map(|group| {
        let mut row = row(group, ranges, shown)?;
        if let Some(held) = own_limits {
            row.extend(limits(group, held, shown));
        }
        Ok(row)
    });
    Ok(Section {
        heading: "Groups".to_owned(),
        table: Some(Table {
            rows: rows.collect::<Result<_, Undefined>>()?,
            columns: columns.into_iter().map(str::to_owned).collect(),
        }),
        ..Section::default()
    })
}

fn row(group: &Group, ranges: bool, shown: &Shown) -> Result<Vec<String>, Undefined> {
    let moments = Moments::of(&Readings::of_numbers(&group.mm)?)?;
    let spread = match (ranges, group.mm.len()) {
        (true, 2..) => {
            let least = group.mm.iter().copied().fold(f64::INFINITY, f64::min);
            let most = group.mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Ok(most - least)
        }
        _ => moments.standard_deviation(),
    };
    Ok(vec![
        group.name.clone(),
        group.mm.len().to_string(),
        shown.fine(moments.mean),
        shown.figure(spread),
    ])
}

/// The limits of a group that has its own.
fn limits(group: &Group, held: &Held, shown: &Shown) -> Vec<String> {
    let size = group.mm.len() as u32;
    let end = |mm: Option<f64>| mm.map_or_else(|| "–".to_owned(), |mm| shown.fine(mm));
    let mean = held.chart.mean_limits(size).ok();
    let spread = held.chart.spread_limits(size).ok();
    vec![
        end(mean.and_then(|limits| limits.lower)),
        end(mean.and_then(|limits| limits.upper)),
        end(spread.and_then(|limits| limits.upper)),
    ]
}
