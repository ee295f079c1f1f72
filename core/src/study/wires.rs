//! Do the three wires differ? Each wire in each seat, on one thread.
//!
//! The lone wire counts more than one of the pair: with the lone wire's sensitivity c and that of one of
//! the pair c', a reading with wire i alone is `c d_i + c' (d_j + d_k)` and what all readings share, that is,
//! `(c - c') d_i` and what all share. Comparing readings by their lone wire compares the wires: a
//! difference of readings over `c - c'` is a difference of diameters. The mean of the three cannot be
//! had so; it needs a certificate. Nor is one wire of the pair told from the other.

use super::anova::{Blocked, OneWay};
use super::comparisons::{Pair, tukey, tukey_in_blocks};
use super::figure::{Estimate, FRatio, length, percent, probability, shortest, signed};
use super::method_comparison::{MethodReadings, Pairing};
use crate::stats::{Interval, Undefined};
use crate::uncertainty::Sensitivities;
use crate::units::Unit;

/// How much more a reading rises for a thicker lone wire than for a thicker wire of the pair, in mm for
/// mm: sensitivities are of the pitch diameter, which falls as wires grow thicker.
pub fn lone_wire_gain(sensitivities: &Sensitivities) -> f64 {
    let [lone, first, second] = sensitivities.wires;
    ((first + second) / 2.0 - lone) / sensitivities.reading
}

/// One wire against the mean of all three, in mm of diameter.
#[derive(Debug, Clone, PartialEq)]
pub struct WireFigures {
    /// What is said of its seat; its name is in it.
    pub name: String,
    /// How many readings with it alone.
    pub count: usize,
    /// By how much it is thicker than the mean of the three.
    pub above_mean: Estimate,
    /// The interval of that.
    pub interval: Interval,
}

/// Two wires, in mm of diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WirePair {
    /// The first wire, counted from 0.
    pub first: usize,
    /// The second.
    pub second: usize,
    /// Second minus first.
    pub difference: f64,
    /// Its interval, together with those of the other two pairs.
    pub interval: Interval,
    /// The probability of such a difference by chance in any of the three.
    pub probability: f64,
}

/// Three wires, compared.
#[derive(Debug, Clone, PartialEq)]
pub struct WireStudy {
    /// How much more a reading rises for the lone wire.
    pub gain: f64,
    /// Whether readings were compared within rounds.
    pub pairing: Pairing,
    /// The confidence of intervals; one minus it is the significance.
    pub confidence: f64,
    /// Whether readings differ by lone wire.
    pub ratio: Result<FRatio, Undefined>,
    /// Each wire.
    pub wires: Vec<WireFigures>,
    /// Each pair of wires.
    pub pairs: Vec<WirePair>,
}

impl WireStudy {
    /// Of readings in mm with each wire alone in turn, and the gain of [`lone_wire_gain`].
    ///
    /// # Errors
    /// [`Undefined`] unless there are three wires with two readings each at least (and as many of each,
    /// when paired), for a gain not above zero, or a confidence that is none.
    pub fn of(
        seated: &[MethodReadings],
        gain: f64,
        pairing: Pairing,
        confidence: f64,
    ) -> Result<WireStudy, Undefined> {
        check(seated, gain)?;
        let groups: Vec<&[f64]> = seated.iter().map(|one| one.readings.as_slice()).collect();
        let (ratio, pairs) = match pairing {
            Pairing::Blocks => (
                Blocked::of(&groups)?.ratio,
                tukey_in_blocks(&groups, confidence)?,
            ),
            Pairing::Apart => (OneWay::of(&groups)?.ratio, tukey(&groups, confidence)?),
        };
        let pair = |pair: &Pair| WirePair {
            first: pair.first,
            second: pair.second,
            difference: pair.estimate.value / gain,
            interval: Interval {
                low: pair.adjusted.interval.low / gain,
                high: pair.adjusted.interval.high / gain,
                confidence,
            },
            probability: pair.adjusted.probability,
        };
        let wires: Result<Vec<WireFigures>, Undefined> = seated
            .iter()
            .enumerate()
            .map(|(index, one)| figures(index, one, &pairs, gain, confidence))
            .collect();
        Ok(WireStudy {
            gain,
            pairing,
            confidence,
            ratio,
            wires: wires?,
            pairs: pairs.iter().map(pair).collect(),
        })
    }

    /// Whether the wires are shown to differ.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when readings do not differ within a wire.
    pub fn differ(&self) -> Result<bool, Undefined> {
        Ok(self.ratio?.probability < 1.0 - self.confidence)
    }

    /// What is printed with every result.
    pub fn settings_words(&self) -> String {
        format!(
            "Each wire alone in turn, {}; a reading rises by {} more for the diameter of the lone wire \
             than for that of one of the pair; pairs of wires all at once (Tukey); intervals {}.",
            self.pairing.words(),
            shortest(self.gain),
            percent(self.confidence)
        )
    }

    /// What is said.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let widest = self.pairs.iter().map(|pair| {
            let interval = pair.interval;
            interval.low.abs().max(interval.high.abs())
        });
        let widest = widest.fold(0.0, f64::max);
        let verdict = match (self.differ(), self.ratio) {
            (Ok(true), Ok(ratio)) => format!(
                "The wires differ (probability by chance {}).",
                probability(ratio.probability)
            ),
            (Ok(false), Ok(ratio)) => format!(
                "That the wires differ is not shown (probability by chance {}); no two differ by more \
                 than {}.",
                probability(ratio.probability),
                length(widest, unit, finer)
            ),
            (Err(reason), _) | (_, Err(reason)) => {
                format!("Whether the wires differ cannot be told: {reason}.")
            }
        };
        let wire = |wire: &WireFigures| {
            format!(
                "{}: {} against the mean of the three ({} to {}).",
                wire.name,
                signed(wire.above_mean.value, unit, finer),
                signed(wire.interval.low, unit, finer),
                signed(wire.interval.high, unit, finer)
            )
        };
        std::iter::once(verdict)
            .chain(self.wires.iter().map(wire))
            .collect()
    }
}

fn check(seated: &[MethodReadings], gain: f64) -> Result<(), Undefined> {
    Undefined::unless_enough("wires", 3, seated.len())?;
    if seated.len() > 3 {
        return Err(Undefined::TooMany {
            of: "wires",
            most: 3,
            found: seated.len(),
        });
    }
    for one in seated {
        Undefined::unless_enough("readings of each wire", 2, one.readings.len())?;
    }
    match gain > 0.0 && gain.is_finite() {
        true => Ok(()),
        false => Err(Undefined::Senseless {
            what: "the gain of the lone wire",
            found: gain,
        }),
    }
}

/// A wire against the mean of all three: a third of what it is above each of the others.
fn figures(
    index: usize,
    seated: &MethodReadings,
    pairs: &[Pair],
    gain: f64,
    confidence: f64,
) -> Result<WireFigures, Undefined> {
    let own = pairs.iter().filter_map(|pair| {
        let away = match (pair.first == index, pair.second == index) {
            (true, _) => -pair.estimate.value,
            (_, true) => pair.estimate.value,
            _ => return None,
        };
        Some((away, pair.estimate))
    });
    let own: Vec<(f64, Estimate)> = own.collect();
    let value: f64 = own.iter().map(|(away, _)| away).sum::<f64>() / 3.0;
    // The variance of (2 m_i - m_j - m_k)/3 is (4 v_i + v_j + v_k)/9; the three pairs give v_i + v_j,
    // v_i + v_k and v_j + v_k.
    let squares = |pair: &Pair| pair.estimate.standard_error.powi(2);
    let with: f64 = own
        .iter()
        .map(|(_, estimate)| estimate.standard_error.powi(2))
        .sum();
    let all: f64 = pairs.iter().map(squares).sum();
    let variance = (2.0 * with - (all - with)) / 9.0;
    let degrees_of_freedom = own
        .first()
        .map_or(0.0, |(_, estimate)| estimate.degrees_of_freedom);
    let above_mean = Estimate {
        value: value / gain,
        standard_error: variance.max(0.0).sqrt() / gain,
        degrees_of_freedom,
    };
    Ok(WireFigures {
        name: seated.name.clone(),
        count: seated.readings.len(),
        above_mean,
        interval: above_mean.interval(confidence)?,
    })
}
