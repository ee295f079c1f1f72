//! Between passes: what was dialled, what came off, and what the next pass should be. Pure; the rules are
//! core's ([`overwire_core::cutting`]), here they meet the readings of one station.

use overwire_config::LatheSettings;
use overwire_core::cutting::{Advice, Learned, Left, Pass, PassQuestion, Slide, next_pass};
use overwire_core::decimal::Decimal;
use overwire_core::thread::Thread;
use overwire_core::units::{Length, Unit};

/// Passes remembered to learn from.
const MOST_PASSES: usize = 20;

/// A size on the piece in the machine.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Size {
    piece: i64,
    attempt: i64,
    pitch_diameter: Length,
}

/// What was cut at a station.
#[derive(Debug, Default)]
pub struct PassBook {
    last: Option<Size>,
    passes: Vec<Pass>,
}

impl PassBook {
    /// Takes a believed reading between passes; `dialled` is what was dialled before it, on diameter.
    pub fn take(
        &mut self,
        piece: i64,
        attempt: i64,
        pitch_diameter: Length,
        dialled: Option<Length>,
    ) {
        let before = self
            .last
            .filter(|last| (last.piece, last.attempt) == (piece, attempt));
        if let (Some(before), Some(dialled)) = (before, dialled) {
            if self.passes.len() == MOST_PASSES {
                self.passes.remove(0);
            }
            self.passes.push(Pass {
                dialled,
                taken: before.pitch_diameter - pitch_diameter,
            });
        }
        self.last = Some(Size {
            piece,
            attempt,
            pitch_diameter,
        });
    }

    /// Another thread, or a reading that was taken back: the next reading starts afresh.
    pub fn forget_size(&mut self) {
        self.last = None;
    }

    /// What the passes say of the lathe.
    pub fn learned(&self, step: Length) -> Option<Learned> {
        Learned::from_passes(&self.passes, step)
    }
}

/// What is shown between passes.
#[derive(Debug, Clone, PartialEq)]
pub struct CutBoard {
    /// The slide that takes the cut.
    pub slide: Slide,
    /// What to do next.
    pub advice: Advice,
    /// What the lathe did so far.
    pub learned: Option<Learned>,
}

/// What to do next on a thread of this pitch diameter; nothing without limits.
pub fn next(
    thread: &Thread,
    pitch_diameter: Length,
    lathe: &LatheSettings,
    learned: Option<Learned>,
) -> Option<CutBoard> {
    let limits = thread.limits?;
    let question = PassQuestion {
        left: Left::between(pitch_diameter, &limits),
        settings: &lathe.passes,
        lathe: &lathe.lathe,
        slide: lathe.slide,
        flanks: &thread.geometry.flanks,
        learned: learned.as_ref(),
    };
    Some(CutBoard {
        slide: lathe.slide,
        advice: next_pass(&question),
        learned,
    })
}

/// What a dial figure takes off the diameter.
///
/// # Errors
/// A sentence: it is no figure, or the lathe is not known well enough.
pub fn dialled(text: &str, unit: Unit, lathe: Option<&LatheSettings>) -> Result<Length, String> {
    let Some(lathe) = lathe else {
        return Err(
            "How the dial counts is not known: tell it once in the settings, under [station.lathe]."
                .to_owned(),
        );
    };
    let figure = Decimal::parse_typed(text.trim()).map_err(|error| format!("{error}."))?;
    let figure = figure.length(unit).map_err(|error| format!("{error}."))?;
    if figure < Length::ZERO {
        return Err("Say what the dial was moved in by, 0 or more.".to_owned());
    }
    lathe
        .lathe
        .diameter_for(lathe.slide, figure)
        .map_err(|reason| format!("No cut can be told from the dial: {reason}."))
}

#[cfg(test)]
mod tests {
    use overwire_core::cutting::{Aim, Dial, Graduation, Lathe, PassSettings};

    use super::*;

    fn mm(value: f64) -> Length {
        Length::from_mm(value).unwrap()
    }

    fn lathe() -> LatheSettings {
        LatheSettings {
            lathe: Lathe {
                cross_slide_dial: Some(Dial {
                    graduated: Graduation::Diameter,
                    smallest_division: Some(mm(0.02)),
                }),
                ..Lathe::default()
            },
            slide: Slide::CrossSlide,
            passes: PassSettings::checked(0.6, Aim::Middle, None).unwrap(),
            deepest: None,
        }
    }

    #[test]
    fn the_lathe_is_learned_from_what_was_dialled_and_what_came_off() {
        let mut book = PassBook::default();
        book.take(1, 1, mm(10.0), None);
        book.take(1, 1, mm(9.7), Some(mm(0.4)));
        book.take(1, 1, mm(9.4), Some(mm(0.4)));
        let learned = book.learned(mm(0.001)).unwrap();
        assert_eq!(learned.passes, 2);
        assert!((learned.ratio - 0.75).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_learned_across_two_pieces_or_without_a_dialled_figure() {
        let mut book = PassBook::default();
        book.take(1, 1, mm(10.0), None);
        book.take(2, 1, mm(9.6), Some(mm(0.4)));
        book.take(2, 1, mm(9.2), None);
        book.forget_size();
        book.take(2, 1, mm(8.8), Some(mm(0.4)));
        assert!(book.learned(mm(0.001)).is_none());
    }

    #[test]
    fn a_dial_graduated_on_diameter_counts_what_comes_off() {
        let taken = dialled("0.40", Unit::Millimetre, Some(&lathe())).unwrap();
        assert!((taken.mm() - 0.4).abs() < 1e-12);
        let unknown = dialled("0.40", Unit::Millimetre, None).unwrap_err();
        assert!(unknown.contains("[station.lathe]"), "{unknown}");
        assert!(dialled("0,4", Unit::Millimetre, Some(&lathe())).is_err());
        assert!(dialled("-0.4", Unit::Millimetre, Some(&lathe())).is_err());
    }
}
