//! What is said of pieces held against limits.

use overwire_core::decimal::format_to;
use overwire_core::stats::capability::Steadiness;
use overwire_core::stats::individuals::moving_ranges;
use overwire_core::stats::limits::Standing;
use overwire_core::stats::phases::Part;
use overwire_core::stats::resolution::reading_uncertainty;
use overwire_core::study::Difference;

use super::{FEW_POINTS, Held};
use crate::findings::signals::Order;
use crate::findings::{Shown, Table};

/// Most steps told one by one.
const MOST_STEPS: usize = 3;

impl Held {
    /// Whether anything stands out, with the steps that do.
    pub fn verdict(&self, order: &Order) -> String {
        let (judged, wide) = (self.judged_words(), self.wide_words(order));
        let link = match judged.starts_with("Not steady") {
            true => "And",
            false => "But",
        };
        let wide = wide
            .map(|words| format!(" {link} {words}"))
            .unwrap_or_default();
        format!("{judged}.{wide} The limits: {}.", self.standing_words())
    }

    fn judged_words(&self) -> String {
        match (self.in_phases(), self.freeze_after) {
            (true, _) => self.phases_words(),
            (false, None) => self.own_words(),
            (false, Some(after)) => self.frozen_words(after),
        }
    }

    /// Pieces held against their own limits.
    fn own_words(&self) -> String {
        let (hits, count) = (self.hits_in_all(), self.judged().readings().len());
        match (hits, Steadiness::of_all(&self.signals)) {
            (1.., Steadiness::Steady { .. }) => format!(
                "Steady as far as these rules see: {hits} points stand out, no more than chance gives among so many"
            ),
            (0, _) if count < FEW_POINTS => {
                format!("Too few pieces to call it steady: nothing stands out among {count}")
            }
            (0, _) => "Steady as far as these rules see".to_owned(),
            (1, _) => "Not steady: 1 point stands out".to_owned(),
            (hits, _) => format!("Not steady: {hits} points stand out"),
        }
    }

    fn frozen_words(&self, after: usize) -> String {
        let later = self.judged().readings().len() - after;
        match (later, self.hits(true)) {
            (0, _) => format!("Nothing is judged yet: no piece came after the first {after}"),
            (_, 0) => format!(
                "Steady as far as these rules see: of {later} pieces after the freezing none stands out"
            ),
            (_, 1) => format!("Not steady: of {later} pieces after the freezing 1 stands out"),
            (_, hits) => {
                format!("Not steady: of {later} pieces after the freezing {hits} stand out")
            }
        }
    }

    fn phases_words(&self) -> String {
        let parts = &self.phased.parts;
        let judged = |part: &&Part| part.chart.is_ok() && part.range.len() >= FEW_POINTS;
        let enough = parts.iter().filter(judged).count();
        let short = match parts.len() - enough {
            0 => String::new(),
            1 => "; 1 phase has too few pieces to say so of it".to_owned(),
            short => format!("; {short} phases have too few pieces to say so of them"),
        };
        let all = parts.len();
        match (self.hits_in_all(), Steadiness::of_all(&self.signals)) {
            (0, _) if enough == 0 => {
                format!(
                    "Too few pieces in each of {all} phases to call it steady: nothing stands out"
                )
            }
            (0, _) | (_, Steadiness::Steady { .. }) => {
                format!("Steady within its {all} phases, as far as these rules see{short}")
            }
            (1, _) => format!("Not steady within its {all} phases: 1 point stands out"),
            (hits, _) => format!("Not steady within its {all} phases: {hits} points stand out"),
        }
    }

    fn hits_in_all(&self) -> usize {
        self.signals.iter().map(|signals| signals.hits.len()).sum()
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
        let chance = match by_chance.sum::<f64>() {
            few if few < 0.1 => "chance hardly gives one".to_owned(),
            number => format!("chance gives about {}", format_to(number, 1)),
        };
        let place = |index: &usize| order.piece_at(self.judged().place(*index));
        let named: Vec<String> = self.wide.iter().take(MOST_STEPS).map(place).collect();
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

    /// How firm the limits are.
    fn standing_words(&self) -> String {
        let charts = self
            .phased
            .parts
            .iter()
            .filter_map(|part| part.chart.as_ref().ok());
        if self.in_phases() {
            let firm = charts
                .filter(|chart| chart.standing == Standing::Firm)
                .count();
            return match firm {
                0 => "provisional in every phase".to_owned(),
                firm if firm == self.phased.parts.len() => "firm in every phase".to_owned(),
                firm => format!("firm in {firm} of {} phases", self.phased.parts.len()),
            };
        }
        let standing = charts.map(|chart| chart.standing.words()).next();
        let standing = standing.unwrap_or_default();
        match self.freeze_after {
            Some(after) => format!("frozen from the first {after} pieces, {standing}"),
            None => standing,
        }
    }

    /// What to know: limits frozen too early.
    pub fn cautions(&self) -> Vec<String> {
        let frozen = self.freeze_after.filter(|_| self.hits(false) > 0);
        let early = frozen.map(|after| {
            let which = match self.in_phases() {
                true => format!("first {after} pieces of the phases"),
                false => format!("first {after} pieces"),
            };
            format!(
                "of the {which}, from which the limits come, {} stand out themselves; find the cause before you \
                 freeze.",
                self.hits(false)
            )
        });
        let coarse = self
            .signals
            .iter()
            .find_map(|signals| signals.coarseness.warning());
        early.into_iter().chain(coarse).collect()
    }

    /// Phases and freezing as they are printed with a chart.
    pub fn settings_words(&self, shown: &Shown) -> Vec<String> {
        let mut words = Vec::new();
        if let Some(after) = self.freeze_after {
            let of = if self.in_phases() {
                " of each phase"
            } else {
                ""
            };
            words.push(format!(
                "Limits frozen from the first {after} pieces{of}: later pieces do not move them; no pattern reaches \
                 from those pieces into the later ones."
            ));
        }
        if !self.in_phases() {
            return words;
        }
        words.push(
            "Each phase has limits of its own; no pattern and no moving range reaches from one into the next. A \
             phase begins where something was changed, not where the chart jumps."
                .to_owned(),
        );
        for (phase, number) in self.phases.phases().iter().zip(1..) {
            let limits = phase.limits.iter();
            let told = limits.flat_map(|limits| limits.words(shown.unit, shown.places));
            let told = told.filter(|line| !line.is_empty());
            words.extend(told.map(|line| format!("Phase {number}: {line}")));
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
        let mut signals = self.signals.iter();
        let rows = self.phased.parts.iter().enumerate().map(|(at, part)| {
            let place = self.judged().place(part.range.start);
            let begins = match at.checked_sub(1).and_then(|at| self.starts.get(at)) {
                Some(start) => start.change.label.clone(),
                None => "the first piece".to_owned(),
            };
            let mut row = vec![
                format!("{}: {begins}", at + 1),
                order.piece_at(place),
                part.range.len().to_string(),
            ];
            row.extend(match &part.chart {
                Ok(chart) => {
                    let hits = signals.next().map_or(0, |signals| signals.hits.len());
                    let limits = [
                        chart.limits.lower.unwrap_or_default(),
                        chart.limits.centre,
                        chart.limits.upper.unwrap_or_default(),
                        chart.sigma.sigma,
                    ];
                    let limits = limits.map(|mm| shown.fine(mm));
                    limits.into_iter().chain([hits.to_string()]).collect()
                }
                Err(reason) => {
                    let mut none = vec!["–".to_owned(); 5];
                    none[0] = format!("– ({reason})");
                    none
                }
            });
            row
        });
        Some(Table {
            rows: rows.collect(),
            columns: columns.map(str::to_owned).to_vec(),
        })
    }

    /// Whether the mean moved from one phase to the next, each step by itself.
    pub fn steps(&self, step_mm: Option<f64>, shown: &Shown) -> Vec<String> {
        let readings = self.judged().readings();
        let least = step_mm.map_or(0.0, reading_uncertainty);
        let pairs = self
            .phased
            .parts
            .iter()
            .zip(self.phased.parts.iter().skip(1));
        let steps = pairs
            .zip(&self.starts)
            .filter_map(|((before, after), start)| {
                let of = |part: &Part| readings.get(part.range.clone()).unwrap_or_default();
                let found = Difference::of_groups(of(after), of(before), least).ok()?;
                let interval = found.estimate.interval(0.95).ok()?;
                let ends = [interval.low, interval.high].map(|mm| signed(mm, shown));
                let between = format!("95 % sure: {} to {} {}", ends[0], ends[1], shown.unit);
                let label = &start.change.label;
                Some(match (interval.low > 0.0, interval.high < 0.0) {
                    (false, false) => {
                        format!("With {label} no step of the mean is shown ({between}).")
                    }
                    (rises, _) => format!(
                        "With {label} the mean {} by {} {} ({between}).",
                        if rises { "rises" } else { "falls" },
                        shown.fine(found.estimate.value.abs()),
                        shown.unit
                    ),
                })
            });
        steps.collect()
    }

    /// Of which pieces the rest is, where that is not all of them.
    pub fn rest_words(&self, order: &Order) -> Option<String> {
        let part = self.latest().filter(|_| self.in_phases())?;
        let first = order.piece_at(self.judged().place(part.range.start));
        Some(format!(
            "What follows is of the last phase only, from {first} on: {} pieces.",
            part.range.len()
        ))
    }
}

fn signed(mm: f64, shown: &Shown) -> String {
    let sign = if mm > 0.0 { "+" } else { "" };
    format!("{sign}{}", shown.fine(mm))
}
