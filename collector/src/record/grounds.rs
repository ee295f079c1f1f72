//! What a judgement rests on besides the reading: the zero check that stood, temperatures, corrections one
//! by one, the uncertainty and the decision rule.
//!
//! It is kept as JSON in the column `grounds` of a reading, which is NULL when there is nothing of the kind
//! (as in every entry of a file's first version). Lengths are millimetres, temperatures degrees Celsius.

use overwire_core::uncertainty::Shown;
use overwire_core::units::{Length, Unit};
use serde::{Deserialize, Serialize};

/// What a judgement rests on.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Grounds {
    /// The last zero check of the instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zero: Option<ZeroNote>,
    /// The cell of a study that it was made for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub study: Option<StudyNote>,
    /// What was dialled for the pass before it, on diameter, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dialled_mm: Option<f64>,
    /// Temperature of the part, where one was told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part_celsius: Option<f64>,
    /// Temperature of wires and micrometer, where one was told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gauge_celsius: Option<f64>,
    /// What was added to the reading before it was converted, one by one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub terms: Vec<TermNote>,
    /// How well the pitch diameter is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<UncertaintyNote>,
    /// The decision rule, where it is more than a comparison with the limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<RuleNote>,
}

/// A zero check.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ZeroNote {
    /// When it was made, microseconds since 1970.
    pub at_us: i64,
    /// What the instrument showed more than it should have, mm.
    pub off_mm: f64,
    /// How far it may be off, mm.
    pub tolerance_mm: f64,
    /// Whether it stood when the reading came: within its tolerance and young enough. Only then is a
    /// reading corrected by it.
    #[serde(default)]
    pub stands: bool,
}

/// A cell of a study.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyNote {
    /// The study.
    pub study: String,
    /// Its cell, from 0 in the order of the plan.
    pub cell: i64,
    /// The piece, by its name in the study.
    pub piece: String,
}

/// One correction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TermNote {
    /// What it corrects, by its code.
    pub kind: String,
    /// What was added to the reading, mm.
    pub mm: f64,
}

/// Uncertainty of the pitch diameter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct UncertaintyNote {
    /// Combined standard uncertainty, mm.
    pub standard_mm: f64,
    /// Effective degrees of freedom; none when they are without bound.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub freedom: Option<f64>,
    /// Coverage factor.
    pub factor: f64,
    /// Expanded uncertainty, mm.
    pub expanded_mm: f64,
}

/// What a reading is known to, mm, as it is shown beside a display of so many places: one place finer at most.
pub fn known_to(expanded_mm: f64, unit: Unit, places: u8) -> Shown {
    let known_to = Length::from_mm(expanded_mm).unwrap_or(Length::ZERO);
    Shown::of(known_to, unit, places + 1)
}

/// The decision rule and what it made of the limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RuleNote {
    /// The rule in words.
    pub rule: String,
    /// Smallest pitch diameter that passes, mm; none when nothing can pass.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub accept_min_mm: Option<f64>,
    /// Largest pitch diameter that passes, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub accept_max_mm: Option<f64>,
}

impl Grounds {
    /// As it stands in the record: JSON, or nothing.
    pub fn to_text(&self) -> Option<String> {
        let bare = *self == Grounds::default();
        (!bare).then(|| serde_json::to_string(self).ok()).flatten()
    }

    /// The reverse of [`Grounds::to_text`].
    ///
    /// # Errors
    /// The text is not such JSON.
    pub fn from_text(text: Option<&str>) -> serde_json::Result<Grounds> {
        text.map_or(Ok(Grounds::default()), serde_json::from_str)
    }

    /// What all corrections together add to the reading, mm.
    pub fn corrections_mm(&self) -> f64 {
        self.terms.iter().map(|term| term.mm).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grounds_come_back_as_they_were_written_and_nothing_is_no_text() {
        assert_eq!(Grounds::default().to_text(), None);
        let grounds = Grounds {
            zero: Some(ZeroNote {
                at_us: 1_764_000_000_000_000,
                off_mm: -0.0005,
                tolerance_mm: 0.002,
                stands: true,
            }),
            part_celsius: Some(27.5),
            terms: vec![TermNote {
                kind: "temperature".to_owned(),
                mm: -0.001_234_567_890_123,
            }],
            uncertainty: Some(UncertaintyNote {
                standard_mm: 0.002_7,
                freedom: None,
                factor: 2.0,
                expanded_mm: 0.005_4,
            }),
            ..Grounds::default()
        };
        let text = grounds.to_text();
        assert_eq!(Grounds::from_text(text.as_deref()).unwrap(), grounds);
        assert_eq!(Grounds::from_text(None).unwrap(), Grounds::default());
        assert!(Grounds::from_text(Some("{")).is_err());
    }
}
