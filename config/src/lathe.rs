//! The lathe at a station: how its dials count and how its compound is set. Asked once a lathe, never
//! guessed; what is left out is not known, and no dial figure is shown then.

use overwire_core::cutting::{Aim, Dial, Graduation, Lathe, PassSettings, Slide, USUAL_SHARE};
use overwire_core::units::{Angle, Length, Unit};

use crate::reader::Reader;

/// A station's lathe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LatheSettings {
    /// Its dials and its compound.
    pub lathe: Lathe,
    /// The slide that takes the cut.
    pub slide: Slide,
    /// How careful the passes are to be.
    pub passes: PassSettings,
    /// The deepest pass this shop takes, on diameter.
    pub deepest: Option<Length>,
}

/// Reads `[station.lathe]`; lengths are in the station's unit.
pub(crate) fn read(table: &Reader<'_, '_>, unit: Unit) -> LatheSettings {
    let share = table.number("share", 0.1..=0.9).unwrap_or(USUAL_SHARE);
    let deepest = length(table, "deepest_pass", unit);
    let slide = slide(table);
    let settings = LatheSettings {
        lathe: Lathe {
            cross_slide_dial: dial(table, "cross_slide_dial", "cross_slide_division", unit),
            compound_dial: dial(table, "compound_dial", "compound_division", unit),
            compound_angle: table
                .number("compound_angle_deg", 0.0..=80.0)
                .and_then(|degrees| Angle::from_degrees(degrees).ok()),
        },
        slide,
        passes: PassSettings::checked(share, Aim::Middle, deepest).unwrap_or_default(),
        deepest,
    };
    let (key, known) = match slide {
        Slide::CrossSlide => (
            "cross_slide_dial",
            settings.lathe.cross_slide_dial.is_some(),
        ),
        Slide::Compound => ("compound_dial", settings.lathe.compound_dial.is_some()),
    };
    if !known {
        let wanted = "`radius` or `diameter`: what the dial of the slide that cuts counts";
        table.note(table.line(), key, "nothing", wanted);
    }
    if slide == Slide::Compound && settings.lathe.compound_angle.is_none() {
        let wanted = "how far the compound is swung from the cross slide, in degrees";
        table.note(table.line(), "compound_angle_deg", "nothing", wanted);
    }
    settings
}

fn slide(table: &Reader<'_, '_>) -> Slide {
    let Some(text) = table.text("slide") else {
        return Slide::CrossSlide;
    };
    match text.value.as_str() {
        "cross_slide" => Slide::CrossSlide,
        "compound" => Slide::Compound,
        other => {
            table.note(
                text.line,
                "slide",
                format!("`{other}`"),
                "`cross_slide` or `compound`: the slide that takes the cut",
            );
            Slide::CrossSlide
        }
    }
}

fn dial(
    table: &Reader<'_, '_>,
    key: &'static str,
    division_key: &'static str,
    unit: Unit,
) -> Option<Dial> {
    let smallest_division = length(table, division_key, unit);
    let text = table.text(key)?;
    let graduated = Graduation::parse(&text.value);
    if graduated.is_none() {
        table.note(
            text.line,
            key,
            format!("`{}`", text.value),
            "`radius` or `diameter`: what the numbers on the dial count",
        );
    }
    Some(Dial {
        graduated: graduated?,
        smallest_division,
    })
}

fn length(table: &Reader<'_, '_>, key: &'static str, unit: Unit) -> Option<Length> {
    let number = table.number(key, 0.000_01..=10.0)?;
    Length::from_unit(number, unit).ok()
}
