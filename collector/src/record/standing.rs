//! A reading as it stands now: the entry as made, and what was said of it since.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::RecordError;
use super::entry::{Change, Flags, Held, Judged, Kind, Reading, Revised, StampedTags};
use super::grounds::Grounds;

/// A reading with every later change applied, and what it was before.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The reading with the tags, unit and judgement that hold now.
    pub reading: Reading,
    /// The tags and unit it was first stamped with, where it was re-tagged.
    pub before: Option<Before>,
    /// The void that holds, if it is void.
    pub void: Option<Said>,
    /// The last void that was taken back, and what was said then.
    pub restored: Option<Box<(Said, Said)>>,
    /// Why it was re-tagged or kept, and by whom.
    pub moved: Option<Said>,
    /// The last remark.
    pub comment: Option<Said>,
}

/// What a re-tagged reading was stamped with.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    /// Tags as stamped.
    pub tags: Arc<StampedTags>,
    /// Unit as stamped.
    pub unit: &'static str,
    /// Judgement as made.
    pub judged: Judged,
}

/// Who said what, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// Reason or remark.
    pub text: String,
    /// Who.
    pub by: String,
    /// When, microseconds since 1970.
    pub wall_us: i64,
    /// The shop's offset from UTC then, seconds.
    pub utc_offset_s: i32,
}

impl Said {
    pub(super) fn of(change: &Change) -> Said {
        Said {
            text: change.reason.clone(),
            by: change.by.clone(),
            wall_us: change.head.stamp.wall_us,
            utc_offset_s: change.head.stamp.utc_offset_s,
        }
    }
}

impl Standing {
    /// A reading nothing has been said of yet.
    pub fn fresh(reading: Reading) -> Standing {
        Standing {
            reading,
            before: None,
            void: None,
            restored: None,
            moved: None,
            comment: None,
        }
    }

    /// Whether it counts now.
    pub fn counts(&self) -> bool {
        self.void.is_none() && self.reading.judged.counted
    }

    /// Applies one later change.
    ///
    /// # Errors
    /// A body this program does not understand.
    pub fn apply(&mut self, change: &Change) -> Result<(), RecordError> {
        match change.kind {
            Kind::Void => self.void = Some(Said::of(change)),
            Kind::Restore => {
                if let Some(void) = self.void.take() {
                    self.restored = Some(Box::new((void, Said::of(change))));
                }
            }
            Kind::Comment => self.comment = Some(Said::of(change)),
            Kind::Retag | Kind::Keep => self.restate(change)?,
            Kind::Job
            | Kind::WireSet
            | Kind::Instrument
            | Kind::Study
            | Kind::FunctionalCheck
            | Kind::Tags
            | Kind::Start => {}
        }
        Ok(())
    }

    fn restate(&mut self, change: &Change) -> Result<(), RecordError> {
        let strange = |what: String| RecordError::Strange {
            entry: change.head.entry,
            what,
        };
        let restated: Restated =
            serde_json::from_str(&change.body).map_err(|error| strange(error.to_string()))?;
        if change.kind == Kind::Retag && self.before.is_none() {
            self.before = Some(Before {
                tags: self.reading.tags.clone(),
                unit: self.reading.unit,
                judged: self.reading.judged.clone(),
            });
        }
        let instrument = self.reading.tags.instrument.clone();
        self.reading.unit =
            known(&restated.unit, UNITS).ok_or_else(|| strange(restated.unit.clone()))?;
        self.reading.judged = restated
            .judged()
            .ok_or_else(|| strange("an unknown word".to_owned()))?;
        self.reading.tags = Arc::new(
            restated
                .tags(instrument)
                .ok_or_else(|| strange("an unknown word".to_owned()))?,
        );
        self.moved = Some(Said::of(change));
        Ok(())
    }
}

/// Units, as the record writes them.
pub const UNITS: &[&str] = &["mm", "in"];
/// Purposes, as the record writes them.
pub const PURPOSES: &[&str] = &["cutting", "inspecting", "zero", "study"];
/// Verdicts, as the record writes them.
pub const VERDICTS: &[&str] = &[
    "pass",
    "fail_under",
    "fail_over",
    "still_to_cut",
    "undecided",
    "zero_within",
    "zero_off",
    "none",
];
/// How wires sit, as the record writes it.
pub const SEATS: &[&str] = &[
    "",
    "ok",
    "rides_crest_edge",
    "below_crest",
    "bottoms_on_root",
    "neighbours_touch",
    "beyond_model",
];

/// The word of a list that equals the one given.
pub fn known(word: &str, words: &[&'static str]) -> Option<&'static str> {
    words.iter().copied().find(|known| *known == word)
}

/// Body of a re-tag or of a held reading that was kept: tags, unit and judgement from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)]
pub struct Restated {
    pub job: Option<String>,
    pub job_entry: i64,
    pub feature: Option<String>,
    pub piece: i64,
    pub attempt: i64,
    pub position: Option<String>,
    pub wire_set: Option<String>,
    pub wire_set_entry: i64,
    pub method: String,
    pub operator: Option<String>,
    pub purpose: String,
    pub unit: String,
    pub over_wires_mm: f64,
    pub pitch_diameter_mm: Option<f64>,
    pub plane_pitch_diameter_mm: Option<f64>,
    pub lead_angle_correction_mm: Option<f64>,
    pub limit_min_mm: Option<f64>,
    pub limit_max_mm: Option<f64>,
    pub seat: String,
    pub verdict: String,
    pub held: Option<String>,
    pub counted: bool,
    pub flags: String,
    #[serde(default, skip_serializing_if = "is_bare")]
    pub grounds: Grounds,
}

fn is_bare(grounds: &Grounds) -> bool {
    *grounds == Grounds::default()
}

impl Restated {
    /// Of the tags, unit and judgement given.
    pub fn of(tags: &StampedTags, unit: &str, judged: &Judged) -> Restated {
        let name = |revised: &Option<Revised>| revised.as_ref().map(|r| r.name.to_string());
        let entry = |revised: &Option<Revised>| revised.as_ref().map_or(0, |r| r.entry);
        let text = |text: &Option<Arc<str>>| text.as_deref().map(str::to_owned);
        Restated {
            job: name(&tags.job),
            job_entry: entry(&tags.job),
            feature: text(&tags.feature),
            piece: tags.piece,
            attempt: tags.attempt,
            position: text(&tags.position),
            wire_set: name(&tags.wire_set),
            wire_set_entry: entry(&tags.wire_set),
            method: tags.method.to_string(),
            operator: text(&tags.operator),
            purpose: tags.purpose.to_owned(),
            unit: unit.to_owned(),
            over_wires_mm: judged.over_wires_mm,
            pitch_diameter_mm: judged.pitch_diameter_mm,
            plane_pitch_diameter_mm: judged.plane_pitch_diameter_mm,
            lead_angle_correction_mm: judged.lead_angle_correction_mm,
            limit_min_mm: judged.limit_min_mm,
            limit_max_mm: judged.limit_max_mm,
            seat: judged.seat.to_owned(),
            verdict: judged.verdict.to_owned(),
            held: judged.held.as_ref().map(Held::to_code),
            counted: judged.counted,
            flags: judged.flags.to_text(),
            grounds: judged.grounds(),
        }
    }

    fn tags(&self, instrument: Revised) -> Option<StampedTags> {
        let revised = |name: &Option<String>, entry| {
            name.as_deref().map(|name| Revised {
                name: name.into(),
                entry,
            })
        };
        let text = |text: &Option<String>| text.as_deref().map(Arc::from);
        Some(StampedTags {
            job: revised(&self.job, self.job_entry),
            feature: text(&self.feature),
            piece: self.piece,
            attempt: self.attempt,
            position: text(&self.position),
            wire_set: revised(&self.wire_set, self.wire_set_entry),
            instrument,
            method: self.method.as_str().into(),
            operator: text(&self.operator),
            purpose: known(&self.purpose, PURPOSES)?,
        })
    }

    fn judged(&self) -> Option<Judged> {
        let held = match &self.held {
            Some(code) => Some(Held::from_code(code)?),
            None => None,
        };
        Some(Judged {
            over_wires_mm: self.over_wires_mm,
            pitch_diameter_mm: self.pitch_diameter_mm,
            plane_pitch_diameter_mm: self.plane_pitch_diameter_mm,
            lead_angle_correction_mm: self.lead_angle_correction_mm,
            limit_min_mm: self.limit_min_mm,
            limit_max_mm: self.limit_max_mm,
            seat: known(&self.seat, SEATS)?,
            verdict: known(&self.verdict, VERDICTS)?,
            held,
            counted: self.counted,
            flags: Flags::from_text(&self.flags),
            grounds: self.grounds.to_text().map(Into::into),
        })
    }
}
