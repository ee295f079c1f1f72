//! What is said of pieces held against limits.

use overwire_core::stats::individuals::moving_ranges;
use overwire_core::stats::resolution::reading_uncertainty;

use super::Held;
use crate::findings::phasing::{chance_words, count_or_dash, figures_or_dash, phases_words};
use crate::findings::signals::Order;
use crate::findings::{Shown, Table};

/// Most steps told one by one.
const MOST_STEPS: usize = 3;

impl Held {
    /// Whether anything stands out, with the steps that do.
    pub fn verdict(&self, order: &Order) -> String {
        let phasing = self.phasing();
        let (judged, wide) = (phasing.judged_words(), self.wide_words(order));
        let link = match judged.starts_with("Not steady") {
            true => "And",
            false => "But",
        };
        let wide = wide
            .map(|words| format!(" {link} {words}"))
            .unwrap_or_default();
        format!("{judged}.{wide} The limits: {}.", phasing.standing_words())
    }

    /// The steps from piece to piece that are beyond their limit; nothing where there are none.
    fn wide_words(&self, order: &Order) -> Option<String> {
        let by_chance = self.phased.parts.iter().filter_map(|part| {
            let steps = moving_ranges(self.judged())
                .enumerate()
                .filter(|(index, range)| range.is_some() && part.range.contains(index));
            let chart = part.chart.as_ref().ok()?;
            Some(chart.wide_steps_by_chance(steps.count()))
        });
        let chance = chance_words(by_chance.sum());
        let first = self.wide.iter().take(MOST_STEPS).copied();
        let named: Vec<String> = first.map(self.piece_at(order)).collect();
        let more = match self.wide.len().saturating_sub(MOST_STEPS) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let to = format!("to {}{more}", named.join(", "));
        match self.wide.len() {
            0 => None,
            1 => Some(format!(
                "1 step from one piece to the next stands out ({to}; {chance})."
            )),
            wide => Some(format!(
                "{wide} steps from one piece to the next stand out ({to}; {chance})."
            )),
        }
    }

    /// The piece at an index, in words.
    fn piece_at<'a>(&'a self, order: &'a Order) -> impl Fn(usize) -> String + 'a {
        |index| order.piece_at(self.judged().place(index))
    }

    /// What to know: limits frozen too early, and neighbours that read the same.
    pub fn cautions(&self) -> Vec<String> {
        let coarse = self
            .signals
            .iter()
            .find_map(|signals| signals.coarseness.warning());
        let early = self.phasing().early_caution();
        early.into_iter().chain(coarse).collect()
    }

    /// Phases and freezing as they are printed with a chart.
    pub fn settings_words(&self, shown: &Shown) -> Vec<String> {
        let mut words = self.phasing().settings_words();
        if self.in_phases() {
            words.extend(phases_words(&self.phases, shown));
        }
        words
    }

    /// The phases one by one.
    pub fn table(&self, order: &Order, shown: &Shown) -> Option<Table> {
        if !self.in_phases() {
            return None;
        }
        let columns = [
            "phase",
            "from",
            "pieces",
            "lower limit",
            "centre",
            "upper limit",
            "sigma",
            "stand out",
        ];
        let phasing = self.phasing();
        let rows = phasing.rows(self.piece_at(order)).into_iter();
        let rows = rows.zip(&self.phased.parts).zip(phasing.each_hits());
        let rows = rows.map(|((mut row, part), hits)| {
            let figures = part.chart.map(|chart| {
                let limits = chart.limits;
                vec![
                    limits.lower,
                    Some(limits.centre),
                    limits.upper,
                    Some(chart.sigma.sigma),
                ]
            });
            row.extend(figures_or_dash(figures, 4, shown));
            row.push(count_or_dash(hits));
            row
        });
        Some(Table {
            rows: rows.collect(),
            columns: columns.map(str::to_owned).to_vec(),
        })
    }

    /// Whether the mean moved from one phase to the next, each step by itself.
    pub fn steps(&self, step_mm: Option<f64>, shown: &Shown) -> Vec<String> {
        let least = step_mm.map_or(0.0, reading_uncertainty);
        self.phasing().steps(self.judged().readings(), least, shown)
    }

    /// Of which pieces the rest is, where that is not all of them.
    pub fn rest_words(&self, order: &Order) -> Option<String> {
        let last = self.phasing().last(self.piece_at(order));
        last.map(|last| format!("What follows is {last}"))
    }
}
