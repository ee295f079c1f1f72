//! How long the rules stay silent: the average number of points to a signal.
//!
//! The rules that look at zones alone have finitely many states on a chart of independent normal
//! points: the watch itself is fed one point of each of the eight zones from every state it can
//! reach, and the chance of still being silent is followed until it shrinks by a constant factor.
//! Met are the run lengths of Champ & Woodall, Technometrics 29 (1987): 370.40 for one point beyond
//! a limit, 91.75 for all four of Western Electric.

use std::collections::BTreeMap;

use super::history::History;
use super::{LONGEST_RUN, Rule, RunRules, Zones};
use crate::stats::distribution::{normal_beyond, normal_probability};

/// A point in each zone, counted in sigma, from the lowest up.
const POINTS: [f64; 8] = [-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5];

/// More states than this are not followed.
const MOST_STATES: usize = 100_000;

/// More points than this are not followed one by one.
const MOST_POINTS: u32 = 100_000;

/// The factor of shrinking counts as constant when it changes less than this...
const CONSTANT: f64 = 1e-13;

/// ...for more points in a row than any pattern takes: before a run can have come about, the factor
/// is constant too.
const CONSTANT_FOR: u32 = 2 * LONGEST_RUN as u32;

/// Where the chain goes from one state: `None` is a signal.
type Moves = [Option<usize>; POINTS.len()];

impl RunRules {
    /// The average number of points until a signal when every point is normal and independent, and
    /// the mean lies `shift` sigma off the centre line; 0 gives how often the rules cry wolf.
    ///
    /// `None` when no rule is on, when one about rising, falling or alternating points is (they do
    /// not look at zones), or for a shift that is no number.
    ///
    /// ```
    /// use overwire_core::stats::run_rules::RunRules;
    /// let points = RunRules::western_electric().points_to_signal(0.0).ok_or("not zones")?;
    /// assert!((points - 91.75).abs() < 0.005);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn points_to_signal(&self, shift: f64) -> Option<f64> {
        let on = self.on();
        let zoneless = on.contains(Rule::Trend) || on.contains(Rule::Alternating);
        if on.is_empty() || zoneless || !shift.is_finite() {
            return None;
        }
        let chances = chances(shift);
        let moves = self.moves()?;
        let mut silent = vec![0.0; moves.len()];
        *silent.first_mut()? = 1.0;
        let (mut sum, mut left, mut factor, mut constant) = (1.0, 1.0, 0.0_f64, 0);
        for _ in 0..MOST_POINTS {
            silent = step(&silent, &moves, &chances);
            let still: f64 = silent.iter().sum();
            let now = still / left;
            sum += still;
            if still <= f64::MIN_POSITIVE {
                return Some(sum);
            }
            constant = match (now - factor).abs() <= CONSTANT {
                true => constant + 1,
                false => 0,
            };
            if constant >= CONSTANT_FOR && now < 1.0 {
                // From here on it is a geometric series.
                return Some(sum + still * now / (1.0 - now));
            }
            (left, factor) = (still, now);
        }
        None
    }

    /// Every state that can be reached without a signal, the empty chart first.
    fn moves(&self) -> Option<Vec<Moves>> {
        let zones = Zones::standard();
        let mut states = vec![History::default()];
        let mut known = BTreeMap::from([(History::default().essence(self), 0)]);
        let mut moves = Vec::new();
        while let Some(&from) = states.get(moves.len()) {
            let mut to = [None; POINTS.len()];
            for (place, point) in to.iter_mut().zip(POINTS) {
                let mut next = from;
                next.take(&[point], &zones);
                let mut signal = false;
                next.patterns(self, 1).each(|_, _| signal = true);
                if signal {
                    continue;
                }
                let fresh = states.len();
                let state = *known.entry(next.essence(self)).or_insert(fresh);
                if state == fresh {
                    states.push(next);
                }
                *place = Some(state);
            }
            moves.push(to);
            if states.len() > MOST_STATES {
                return None;
            }
        }
        Some(moves)
    }
}

/// The chance of each zone.
fn chances(shift: f64) -> [f64; POINTS.len()] {
    let mut below = 0.0;
    let mut chances = [0.0; POINTS.len()];
    for (index, chance) in chances.iter_mut().enumerate().take(POINTS.len() - 1) {
        let up_to = normal_probability(index as f64 - 3.0 - shift);
        *chance = up_to - below;
        below = up_to;
    }
    let highest = normal_probability(shift - 3.0);
    if let Some(last) = chances.last_mut() {
        *last = highest;
    }
    chances
}

/// One more point.
fn step(silent: &[f64], moves: &[Moves], chances: &[f64]) -> Vec<f64> {
    let mut next = vec![0.0; silent.len()];
    for (&here, to) in silent.iter().zip(moves) {
        for (&state, &chance) in to.iter().zip(chances) {
            if let Some(place) = state.and_then(|state| next.get_mut(state)) {
                *place += here * chance;
            }
        }
    }
    next
}

impl RunRules {
    /// The share of points that complete a pattern of a rule when every point is normal and independent:
    /// what to expect on a long chart by chance alone.
    ///
    /// A run of k on one side comes about with `2/2^k`, k steadily rising or falling with `2/k!`, k
    /// alternating with `2 E/k!`, E being the number of alternating orders (the zigzag numbers of
    /// André, 1881).
    ///
    /// ```
    /// use overwire_core::stats::run_rules::{Rule, RunRules};
    /// let share = RunRules::nelson().hits_by_chance(Rule::BeyondLimit);
    /// assert!((share - 0.0027).abs() < 1e-5);
    /// ```
    pub fn hits_by_chance(&self, rule: Rule) -> f64 {
        let length = i32::from(self.length(rule));
        match rule {
            Rule::BeyondLimit => 2.0 * normal_beyond(3.0),
            Rule::SameSide => 2.0 * 0.5_f64.powi(length),
            Rule::Trend => 2.0 / (1..=length).map(f64::from).product::<f64>(),
            Rule::Alternating => 2.0 * zigzag_share(length as usize),
            Rule::TwoOfThree => {
                let chance = normal_beyond(2.0);
                2.0 * chance * (1.0 - (1.0 - chance).powi(2))
            }
            Rule::FourOfFive => {
                let (chance, other) = (normal_beyond(1.0), normal_probability(1.0));
                2.0 * chance * (4.0 * chance.powi(3) * other + chance.powi(4))
            }
            Rule::NearCentre => (1.0 - 2.0 * normal_beyond(1.0)).powi(length),
            Rule::AwayFromCentre => (2.0 * normal_beyond(1.0)).powi(length),
        }
    }
}

impl RunRules {
    /// The hits to a point that chance alone gives, all rules that are on together.
    pub fn share_by_chance(&self) -> f64 {
        self.on().iter().map(|rule| self.hits_by_chance(rule)).sum()
    }
}

/// The share of all orders of so many numbers that go up and down in turn, beginning upwards: of the
/// orders by the rank of the last number, the next are the running sums backwards (Seidel's triangle).
fn zigzag_share(count: usize) -> f64 {
    let mut row = vec![1.0];
    for length in 2..=count {
        let mut sum = 0.0;
        let mut next = vec![0.0];
        for ways in row.iter().rev() {
            sum += ways;
            next.push(sum);
        }
        // Dividing as it goes keeps the numbers small.
        row = next.into_iter().map(|ways| ways / length as f64).collect();
    }
    row.iter().sum()
}
