//! Readings in the order they were taken, with what is missing or left out kept in its place.
//!
//! A chain of neighbours (moving ranges, runs) never reaches across a gap, and a gap is never
//! filled in: it keeps its place on the chart and its reason.

use std::ops::Range;

use super::Undefined;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Why there is no reading to count at some place of a series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Gap {
    /// No reading was taken.
    Missing,
    /// A reading that a person left out.
    Excluded {
        /// What it was, in millimetres.
        reading: f64,
        /// Why it was left out.
        reason: String,
    },
    /// Nothing is missing, but what comes is not a neighbour of what came before: a new tool,
    /// another day. Takes no place on the chart.
    FreshStart {
        /// What happened.
        reason: String,
    },
}

/// A gap and where it is.
#[derive(Debug, Clone, PartialEq)]
pub struct GapAt {
    /// How many counted readings came before it.
    pub before: usize,
    /// What it is.
    pub gap: Gap,
}

/// Readings in order, in millimetres, and the gaps between them.
///
/// ```
/// use overwire_core::stats::series::Series;
/// let mut series = Series::from_readings(vec![9.71, 9.72])?;
/// series.push_missing();
/// series.push(9.70)?;
/// series.push_excluded(9.91, "wire slipped")?;
/// assert_eq!(series.readings(), [9.71, 9.72, 9.70]);
/// assert_eq!(series.place(2), 4);
/// assert_eq!(series.stretches().map(|(_, part)| part.len()).collect::<Vec<_>>(), [2, 1]);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    readings: Vec<f64>,
    gaps: Vec<GapAt>,
}

impl Series {
    /// A series without gaps.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] when a reading is no number.
    pub fn from_readings(readings: Vec<f64>) -> Result<Series, Undefined> {
        let finite = |all: bool, reading: &f64| all & reading.is_finite();
        if !readings.iter().fold(true, finite) {
            let at = readings.iter().position(|reading| !reading.is_finite());
            return Err(Undefined::NotAReading {
                at: at.unwrap_or_default(),
            });
        }
        Ok(Series {
            readings,
            gaps: Vec::new(),
        })
    }

    /// From counts of display steps: equal counts stay equal readings.
    pub fn from_counts(counts: &[i64], step: Length) -> Series {
        Series {
            readings: counts
                .iter()
                .map(|&count| count as f64 * step.mm())
                .collect(),
            gaps: Vec::new(),
        }
    }

    /// Adds a reading.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] when it is no number.
    pub fn push(&mut self, reading: f64) -> Result<(), Undefined> {
        self.check(reading)?;
        self.readings.push(reading);
        Ok(())
    }

    /// Notes that a reading is missing.
    pub fn push_missing(&mut self) {
        self.push_gap(Gap::Missing);
    }

    /// Notes a reading that a person left out.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] when it is no number.
    pub fn push_excluded(&mut self, reading: f64, reason: &str) -> Result<(), Undefined> {
        self.check(reading)?;
        self.push_gap(Gap::Excluded {
            reading,
            reason: reason.to_owned(),
        });
        Ok(())
    }

    /// Notes that what comes is no neighbour of what came before.
    pub fn push_fresh_start(&mut self, reason: &str) {
        self.push_gap(Gap::FreshStart {
            reason: reason.to_owned(),
        });
    }

    pub(super) fn with_room_for(readings: usize) -> Series {
        Series {
            readings: Vec::with_capacity(readings),
            gaps: Vec::new(),
        }
    }

    /// Adds figures that this crate has worked out from finite readings.
    pub(super) fn extend(&mut self, figures: impl IntoIterator<Item = f64>) {
        self.readings.extend(figures);
    }

    fn push_gap(&mut self, gap: Gap) {
        let before = self.readings.len();
        self.gaps.push(GapAt { before, gap });
    }

    fn check(&self, reading: f64) -> Result<(), Undefined> {
        match reading.is_finite() {
            true => Ok(()),
            false => Err(Undefined::NotAReading { at: self.places() }),
        }
    }

    /// The readings that count.
    pub fn readings(&self) -> &[f64] {
        &self.readings
    }

    /// The gaps, in order.
    pub fn gaps(&self) -> &[GapAt] {
        &self.gaps
    }

    /// How many readings were left out by a person.
    pub fn excluded(&self) -> usize {
        self.count(|gap| matches!(gap, Gap::Excluded { .. }))
    }

    /// How many readings are missing.
    pub fn missing(&self) -> usize {
        self.count(|gap| matches!(gap, Gap::Missing))
    }

    fn count(&self, of: fn(&Gap) -> bool) -> usize {
        self.gaps.iter().filter(|at| of(&at.gap)).count()
    }

    /// How many places the chart has: readings that count, missing and left out ones.
    pub fn places(&self) -> usize {
        self.readings.len() + self.gaps.iter().filter(|at| at.takes_place()).count()
    }

    /// The place on the chart, counted from 1, of the counted reading at `index`.
    pub fn place(&self, index: usize) -> usize {
        let before = self.gaps.partition_point(|at| at.before <= index);
        let taken = self.gaps.iter().take(before);
        index + 1 + taken.filter(|at| at.takes_place()).count()
    }

    /// The stretches without a gap, each with the index of its first reading.
    pub fn stretches(&self) -> impl Iterator<Item = (usize, &[f64])> {
        let ends = self.gaps.iter().map(|at| at.before);
        let mut start = 0;
        ends.chain([self.readings.len()]).filter_map(move |end| {
            let stretch = self.readings.get(start..end).unwrap_or_default();
            let from = std::mem::replace(&mut start, end);
            (!stretch.is_empty()).then_some((from, stretch))
        })
    }

    /// The stretches without a gap, each with whether a fresh start stands between it and the one
    /// before: for charts that carry on over a missing reading.
    pub(super) fn stretches_between_starts(&self) -> impl Iterator<Item = (bool, &[f64])> {
        let mut gaps = self.gaps.iter().peekable();
        self.stretches().map(move |(start, stretch)| {
            let mut fresh = false;
            while let Some(at) = gaps.next_if(|at| at.before <= start) {
                fresh |= !at.takes_place();
            }
            (fresh, stretch)
        })
    }

    /// Figures for the readings from an index on, with the gaps behind it.
    pub(super) fn since(&self, from: usize, figures: &[f64]) -> Series {
        Series {
            readings: figures.to_vec(),
            ..self.part(from..self.readings.len())
        }
    }

    /// The counted readings of a range of indices, with the gaps between them; a part that reaches to the end
    /// keeps the gaps there too.
    ///
    /// ```
    /// use overwire_core::stats::series::Series;
    /// let mut series = Series::from_readings(vec![9.71, 9.72, 9.70])?;
    /// series.push_excluded(9.91, "wire slipped")?;
    /// series.push(9.73)?;
    /// let part = series.part(1..4);
    /// assert_eq!((part.readings(), part.places()), ([9.72, 9.70, 9.73].as_slice(), 4));
    /// assert_eq!(series.part(0..3).places(), 3);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn part(&self, range: Range<usize>) -> Series {
        let last = range.end >= self.readings.len();
        let inside = |at: &&GapAt| at.before > range.start && (at.before < range.end || last);
        let gaps = self.gaps.iter().filter(inside).map(|at| GapAt {
            before: at.before - range.start,
            gap: at.gap.clone(),
        });
        Series {
            gaps: gaps.collect(),
            readings: self.readings.get(range).unwrap_or_default().to_vec(),
        }
    }

    /// The same with a fresh start before each of some counted readings, and what happened there.
    #[must_use]
    pub fn with_fresh_starts<'a>(
        &self,
        starts: impl IntoIterator<Item = (usize, &'a str)>,
    ) -> Series {
        let mut gaps = self.gaps.clone();
        gaps.extend(starts.into_iter().map(|(before, reason)| GapAt {
            before,
            gap: Gap::FreshStart {
                reason: reason.to_owned(),
            },
        }));
        // Stable: a fresh start stands behind a reading that was left out at the same place.
        gaps.sort_by_key(|at| at.before);
        Series {
            readings: self.readings.clone(),
            gaps,
        }
    }

    /// The same stretches of other figures, one for each reading (deviations from a line, say).
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] when one of them is no number.
    pub fn with_readings(&self, readings: Vec<f64>) -> Result<Series, Undefined> {
        debug_assert_eq!(readings.len(), self.readings.len(), "one for each reading");
        Ok(Series {
            gaps: self.gaps.clone(),
            ..Series::from_readings(readings)?
        })
    }
}

impl GapAt {
    const fn takes_place(&self) -> bool {
        !matches!(self.gap, Gap::FreshStart { .. })
    }
}
