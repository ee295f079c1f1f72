//! Charts of groups: X-bar and R, X-bar and s.
//!
//! A group is several *pieces* made one after another. Sigma comes from the spread inside the groups,
//! so that a change from group to group stands out. Repeat readings of one piece are no group: their
//! spread is that of the gauge, and every piece would signal. For those see [`super::pieces`].
//!
//! With groups of different sizes each has limits of its own, and run rules are held against points
//! counted in sigma from the centre line.
//!
//! Source: NIST/SEMATECH e-Handbook 6.3.2.1 and ISO 7870-2 (from memory).

mod chart;

pub use chart::GroupChart;

use super::Undefined;
use super::limits::SigmaBasis;
use super::running::Running;
use super::series::Series;

/// Which spread of a group is charted, and what sigma comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GroupSpread {
    /// Largest minus smallest: R. Up to ten readings.
    #[default]
    Range,
    /// The standard deviation, s; sigma from the mean of them.
    Deviation,
    /// The standard deviation, s; sigma from all of them pooled. For groups of different sizes.
    PooledDeviation,
}

impl GroupSpread {
    /// What sigma comes from.
    pub const fn basis(self) -> SigmaBasis {
        match self {
            GroupSpread::Range => SigmaBasis::MeanRange,
            GroupSpread::Deviation => SigmaBasis::MeanDeviation,
            GroupSpread::PooledDeviation => SigmaBasis::Pooled,
        }
    }
}

/// How many readings the groups have.
#[derive(Debug, Clone, PartialEq)]
pub enum Sizes {
    /// All the same.
    Equal(u32),
    /// Each its own, in order.
    Each(Vec<u32>),
}

/// Readings put into groups, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// The mean of each group.
    pub means: Series,
    /// The spread of each group; missing for a group of one.
    pub spreads: Series,
    /// Which spread that is.
    pub spread: GroupSpread,
    /// How many readings each has.
    pub sizes: Sizes,
    /// The sums of all readings in groups.
    pub sums: Running,
    /// Readings that made no whole group and are left out: at the end, or before a gap.
    pub left_over: usize,
    /// Sum of the squared differences of the readings from the means of their groups; only with
    /// standard deviations.
    within_squares: f64,
}

impl Groups {
    /// Groups of so many readings one after another. No group reaches across a gap.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for a size below two, or when there is no whole group.
    ///
    /// ```
    /// use overwire_core::stats::groups::{GroupSpread, Groups};
    /// use overwire_core::stats::series::Series;
    /// let series = Series::from_readings(vec![9.70, 9.72, 9.71, 9.75, 9.73])?;
    /// let groups = Groups::of_size(&series, 2, GroupSpread::Range)?;
    /// assert_eq!((groups.len(), groups.left_over), (2, 1));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of_size(series: &Series, size: u32, spread: GroupSpread) -> Result<Groups, Undefined> {
        Undefined::unless_enough("readings in a group", 2, size as usize)?;
        let mut groups = Groups::empty(spread, Sizes::Equal(size));
        let mut parts = Parts::with_room_for(series.readings().len() / size as usize);
        for (start, stretch) in series.stretches() {
            if start > 0 {
                parts.gap("readings are missing or begin afresh here");
            }
            let whole = stretch.len() - stretch.len() % size as usize;
            groups.left_over += stretch.len() - whole;
            let grouped = stretch.get(..whole).unwrap_or_default();
            groups.sums.break_chain();
            groups.sums.take(grouped);
            parts.take(grouped, size, spread);
        }
        groups.with(parts)
    }

    /// Groups as they were put together by a person or a clock.
    ///
    /// # Errors
    /// [`Undefined`] when there is none, one is empty, or a reading is no number.
    pub fn of<Group: AsRef<[f64]>>(
        listed: &[Group],
        spread: GroupSpread,
    ) -> Result<Groups, Undefined> {
        let sizes = listed.iter().map(|group| group.as_ref().len() as u32);
        let mut groups = Groups::empty(spread, sizes_of(sizes.collect()));
        let mut parts = Parts::with_room_for(listed.len());
        for group in listed.iter().map(AsRef::as_ref) {
            Undefined::unless_enough("readings in a group", 1, group.len())?;
            groups.sums.break_chain();
            groups.sums.take(group);
            parts.take(group, group.len() as u32, spread);
        }
        groups.with(parts)
    }

    fn empty(spread: GroupSpread, sizes: Sizes) -> Groups {
        Groups {
            means: Series::default(),
            spreads: Series::default(),
            spread,
            sizes,
            sums: Running::default(),
            left_over: 0,
            within_squares: 0.0,
        }
    }

    fn with(mut self, parts: Parts) -> Result<Groups, Undefined> {
        Undefined::unless_enough("groups", 1, parts.means.readings().len())?;
        self.sums.moments()?;
        (self.means, self.spreads) = (parts.means, parts.spreads);
        self.within_squares = parts.within_squares;
        Ok(self)
    }

    /// How many groups there are.
    pub fn len(&self) -> usize {
        self.means.readings().len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The size of each group, in order.
    pub fn each_size(&self) -> impl Iterator<Item = u32> {
        let (same, listed) = match &self.sizes {
            Sizes::Equal(size) => (Some(*size), [].as_slice()),
            Sizes::Each(sizes) => (None, sizes.as_slice()),
        };
        let same = same
            .into_iter()
            .flat_map(|size| std::iter::repeat_n(size, self.len()));
        same.chain(listed.iter().copied())
    }

    /// How many of the first groups have a spread: the index of a group among the spreads.
    pub(super) fn spread_index(&self, groups: usize) -> usize {
        self.each_size()
            .take(groups)
            .filter(|&size| size > 1)
            .count()
    }

    /// The same with a fresh start before each of some groups, and what happened there.
    pub(super) fn with_fresh_starts(self, starts: &[(usize, &str)]) -> Groups {
        let of_spreads = starts
            .iter()
            .map(|(group, reason)| (self.spread_index(*group), *reason));
        Groups {
            means: self.means.with_fresh_starts(starts.iter().copied()),
            spreads: self.spreads.with_fresh_starts(of_spreads),
            ..self
        }
    }

    /// What the settings print.
    pub fn settings_words(&self) -> String {
        let size = match &self.sizes {
            Sizes::Equal(size) => format!("of {size} readings"),
            Sizes::Each(_) => "of different sizes, each with limits of its own".to_owned(),
        };
        let left = match self.left_over {
            0 => String::new(),
            1 => "; 1 reading made no whole group and is left out".to_owned(),
            left => format!("; {left} readings made no whole group and are left out"),
        };
        format!("{} groups {size}{left}.", self.len())
    }
}

fn sizes_of(sizes: Vec<u32>) -> Sizes {
    match sizes.split_first() {
        Some((&first, rest)) if rest.iter().all(|&size| size == first) => Sizes::Equal(first),
        _ => Sizes::Each(sizes),
    }
}

/// What groups are built from.
struct Parts {
    means: Series,
    spreads: Series,
    within_squares: f64,
}

impl Parts {
    fn with_room_for(groups: usize) -> Parts {
        Parts {
            means: Series::with_room_for(groups),
            spreads: Series::with_room_for(groups),
            within_squares: 0.0,
        }
    }

    fn gap(&mut self, reason: &str) {
        self.means.push_fresh_start(reason);
        self.spreads.push_fresh_start(reason);
    }

    /// Takes whole groups. The usual sizes are known when this is compiled, so that the loop over a
    /// group is none.
    fn take(&mut self, readings: &[f64], size: u32, spread: GroupSpread) {
        match (spread, size) {
            (_, 1) => self.take_single(readings),
            (GroupSpread::Range, 2) => self.take_ranges::<2>(readings),
            (GroupSpread::Range, 3) => self.take_ranges::<3>(readings),
            (GroupSpread::Range, 4) => self.take_ranges::<4>(readings),
            (GroupSpread::Range, 5) => self.take_ranges::<5>(readings),
            (GroupSpread::Range, 6) => self.take_ranges::<6>(readings),
            (GroupSpread::Deviation | GroupSpread::PooledDeviation, _) => {
                self.take_deviations(readings, size as usize);
            }
            (GroupSpread::Range, _) => {
                for group in readings.chunks_exact(size as usize) {
                    self.take_range(group);
                }
            }
        }
    }

    fn take_single(&mut self, readings: &[f64]) {
        self.means.extend(readings.iter().copied());
        for _ in readings {
            self.spreads.push_missing();
        }
    }

    fn take_ranges<const SIZE: usize>(&mut self, readings: &[f64]) {
        let (groups, _) = readings.as_chunks::<SIZE>();
        self.means.extend(groups.iter().map(|group| mean(group)));
        self.spreads.extend(groups.iter().map(|group| range(group)));
    }

    fn take_range(&mut self, group: &[f64]) {
        self.means.extend([mean(group)]);
        self.spreads.extend([range(group)]);
    }

    fn take_deviations(&mut self, readings: &[f64], size: usize) {
        for group in readings.chunks_exact(size) {
            let mean = mean(group);
            let squares: f64 = group.iter().map(|reading| (reading - mean).powi(2)).sum();
            self.within_squares += squares;
            self.means.extend([mean]);
            self.spreads.extend([(squares / (size - 1) as f64).sqrt()]);
        }
    }
}

/// The mean of a group, from the differences to its first reading.
#[inline]
fn mean(group: &[f64]) -> f64 {
    let first = group.first().copied().unwrap_or_default();
    let away: f64 = group.iter().map(|reading| reading - first).sum();
    first + away / group.len() as f64
}

#[inline]
fn range(group: &[f64]) -> f64 {
    let first = group.first().copied().unwrap_or_default();
    let ends = group.iter().fold((first, first), |(low, high), &reading| {
        let low = if reading < low { reading } else { low };
        let high = if reading > high { reading } else { high };
        (low, high)
    });
    ends.1 - ends.0
}
