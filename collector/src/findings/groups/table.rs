//! The groups one by one.

use overwire_core::stats::groups::GroupSpread;
use overwire_core::stats::{Moments, Readings, Undefined};

use super::gathered::{Gathered, Group};
use super::held::{Held, limits};
use super::{Section, Shown, Table};
use crate::findings::phasing::figures_or_dash;

/// The groups one by one; where sizes differ, with the limits of each.
pub fn figures(
    gathered: &Gathered,
    spread: GroupSpread,
    held: Option<&Held<'_>>,
    shown: &Shown,
) -> Result<Section, Undefined> {
    let ranges = spread == GroupSpread::Range;
    let spread = if ranges {
        "range"
    } else {
        "standard deviation"
    };
    let mut columns = vec!["group", "n", "mean", spread];
    let own_limits = held.filter(|held| held.size().is_none());
    if own_limits.is_some() {
        columns.extend(["mean from", "mean to", "spread to"]);
    }
    let rows = gathered.groups.iter().enumerate().map(|(at, group)| {
        let mut row = row(group, ranges, shown)?;
        if let Some(held) = own_limits {
            let size = group.mm.len() as u32;
            let figures = held.chart_of(at).map(|chart| limits(chart, size).to_vec());
            row.extend(figures_or_dash(figures, 3, shown));
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
