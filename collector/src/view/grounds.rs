//! What a judgement rested on, in words and figures, as reports print it: the zero check that stood, the
//! uncertainty and the decision rule. The figures have the places that exports give them.

use overwire_core::decimal::format_to;
use overwire_core::units::Unit;

use super::{LimitsView, places_in, unit_of};
use crate::clock::iso;
use crate::record::grounds::{ZeroNote, known_to};
use crate::record::{Judged, Reading};

/// What a judgement rested on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundsView {
    /// The last zero check before it.
    pub zero: Option<ZeroNoteView>,
    /// Expanded uncertainty of the pitch diameter.
    pub uncertainty: Option<String>,
    /// The factor it was expanded by.
    pub factor: Option<String>,
    /// The decision rule in words; none compares with the limits.
    pub rule: Option<String>,
    /// What passes by that rule.
    pub accept: Option<LimitsView>,
    /// Temperatures of the part, and of wires and micrometer, degrees Celsius.
    pub celsius: [Option<String>; 2],
}

/// A zero check.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ZeroNoteView {
    /// When it was made.
    pub at: String,
    /// What the instrument showed too much.
    pub off: String,
    /// How far it might be off.
    pub tolerance: String,
    /// Whether it stood when the reading came.
    pub stands: bool,
}

impl GroundsView {
    /// Of a reading, in a unit.
    pub fn of(reading: &Reading, unit: Unit) -> GroundsView {
        let grounds = reading.judged.grounds();
        let places = places_in(reading.places(), unit_of(reading.unit), unit);
        let length = |mm: f64, places: u8| format_to(mm / unit.mm_per_unit(), places);
        let zero = |note: ZeroNote| ZeroNoteView {
            at: iso(note.at_us, reading.head.stamp.utc_offset_s),
            off: length(note.off_mm, places),
            tolerance: length(note.tolerance_mm, places),
            stands: note.stands,
        };
        let rule = grounds.rule.as_ref();
        let accept = rule.and_then(|rule| rule.accept_min_mm.zip(rule.accept_max_mm));
        GroundsView {
            zero: grounds.zero.map(zero),
            uncertainty: grounds
                .uncertainty
                .map(|known| known_to(known.expanded_mm, unit, places).digits()),
            factor: grounds.uncertainty.map(|known| format_to(known.factor, 2)),
            rule: rule.map(|rule| rule.rule.clone()),
            accept: accept.map(|(min, max)| LimitsView {
                min: length(min, places + 1),
                max: length(max, places + 1),
            }),
            celsius: [grounds.part_celsius, grounds.gauge_celsius]
                .map(|celsius| celsius.map(|celsius| celsius.to_string())),
        }
    }
}

/// Why a reading has no verdict, in words; none for one that has.
pub fn why_no_verdict(judged: &Judged) -> Option<&'static str> {
    let limits = judged.limit_min_mm.or(judged.limit_max_mm);
    match (judged.verdict, limits, judged.pitch_diameter_mm) {
        ("none", None, _) => Some("no limits are given"),
        ("none", _, None) if judged.seat.is_empty() => {
            Some("it was not converted, no wires were known that fit")
        }
        ("none", _, None) => Some("the wires have no sound seat"),
        ("none", ..) => Some("the decision rule of the job could not be applied"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::clock::Stamp;
    use crate::export::books::Books;
    use crate::export::columns::{COLUMNS, View};
    use crate::export::seen::Seen;
    use crate::record::UnitFrom;
    use crate::record::standing::Standing;
    use crate::station::new_head;
    use crate::view::ReadingView;

    /// A display in tenths of a millimetre is far coarser than 0.0004 mm.
    #[test]
    fn what_a_reading_is_known_to_is_never_shown_as_nothing() {
        let grounds = r#"{"uncertainty":{"standard_mm":0.0002,"factor":2.0,"expanded_mm":0.0004}}"#;
        let stamp = Stamp {
            wall_us: 0,
            utc_offset_s: 0,
            mono_ns: 0,
        };
        let reading = |text: &str| Reading {
            head: new_head(&"s0".into(), stamp),
            raw: Vec::new(),
            text: text.into(),
            unit_from: UnitFrom::Frame,
            channel: None,
            tags: Arc::default(),
            unit: "mm",
            judged: Judged {
                pitch_diameter_mm: Some(12.7),
                grounds: Some(grounds.into()),
                ..Judged::default()
            },
        };
        let books = Books::default();
        let column = COLUMNS.iter().find(|column| column.name == "uncertainty");
        for (text, known) in [
            ("12.7", "0.01"),
            ("12.700", "0.0004"),
            ("12.70000", "0.00040"),
        ] {
            let standing = Standing::fresh(reading(text));
            let view = View::of(Seen::Standing(&standing), &books);
            let cell = column.expect("the column").value(&view).to_text();
            let shown = ReadingView::of(&standing).uncertainty;
            let printed = GroundsView::of(&standing.reading, Unit::Millimetre).uncertainty;
            let all = [Some(cell), shown, printed];
            assert_eq!(all, [(); 3].map(|()| Some(known.to_owned())), "{text}");
        }
    }
}
