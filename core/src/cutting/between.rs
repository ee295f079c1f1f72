//! What a reading cannot do between two passes on one piece.
//!
//! While a thread is being cut its pitch diameter cannot rise, and it cannot fall by more than
//! was cut. A reading that does either is doubted: it gets no PASS until it has been repeated
//! with the wires lifted and seated again. A range of plausible sizes does not catch a fallen
//! wire, whose reading looks like a slightly small thread; this rule does, as soon as there is a
//! reading before it. Source: common practice, no published source.
//!
//! All lengths of one check must be of a kind: either pitch diameters (better, and exact with a
//! large lead) or readings over the same wires.

use crate::units::{Length, Unit};

/// How far two readings of one size may lie apart, when nothing better is known: five steps of
/// the display or a quarter of the tolerance, whichever is more. A habit, no published source.
pub fn usual_noise(step: Length, tolerance: Length) -> Length {
    let (by_display, by_tolerance) = (step * 5.0, tolerance * 0.25);
    if by_display > by_tolerance {
        by_display
    } else {
        by_tolerance
    }
}

/// Two readings on one piece with a pass, or none, between them.
///
/// ```
/// use overwire_core::cutting::PassCheck;
/// use overwire_core::units::Length;
/// let mm = Length::from_mm;
/// let check = PassCheck {
///     before: mm(10.400)?,
///     after: mm(10.240)?,
///     most_cut: Some(mm(0.080)?),
///     noise: mm(0.020)?,
/// };
/// assert_eq!(check.doubt().map(|doubt| doubt.code()), Some("fell_too_far"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassCheck {
    /// The last reading that was believed.
    pub before: Length,
    /// The new one.
    pub after: Length,
    /// The most that can have come off the diameter since: what was dialled, or the deepest pass
    /// this shop takes. `None` when nothing is known; then only a rise is caught.
    pub most_cut: Option<Length>,
    /// How far apart two readings of one size may lie.
    pub noise: Length,
}

/// Why a reading is not believed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// It is larger than the one before.
    Rose {
        /// By how much.
        by: Length,
    },
    /// It fell by more than was cut.
    FellTooFar {
        /// By how much it fell.
        fell: Length,
        /// The most that can have come off.
        most_cut: Length,
    },
}

impl Doubt {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Doubt::Rose { .. } => "rose",
            Doubt::FellTooFar { .. } => "fell_too_far",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: &Length| length.to_text(unit, places);
        match self {
            Doubt::Rose { by } => format!(
                "This is {} larger than before, and cutting makes nothing larger. Brush out chips \
                 and burrs, lift the wires, seat all three and read again.",
                text(by)
            ),
            Doubt::FellTooFar { fell, most_cut } => format!(
                "This is {} smaller than before, and at most {} was cut. A wire may have fallen \
                 out: lift the wires, seat all three and read again.",
                text(fell),
                text(most_cut)
            ),
        }
    }
}

impl PassCheck {
    /// Why the new reading cannot be believed; `None` when it can.
    pub fn doubt(&self) -> Option<Doubt> {
        let fell = self.before - self.after;
        if fell < -self.noise {
            return Some(Doubt::Rose { by: fell.abs() });
        }
        match self.most_cut {
            Some(most_cut) if fell > most_cut + self.noise => {
                Some(Doubt::FellTooFar { fell, most_cut })
            }
            _ => None,
        }
    }
}

/// What became of a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outcome {
    /// Nothing speaks against it.
    Believed,
    /// It is doubted: no PASS until it is repeated with the wires lifted.
    Doubted(Doubt),
    /// A reading is waiting to be repeated, and this one was taken without lifting the wires.
    StillWaiting(Doubt),
    /// Repeated with the wires lifted, and now it fits what was read before the doubted one.
    Cleared,
    /// Repeated with the wires lifted, and it agrees with the doubted one: that one was true,
    /// and the reading before it was not.
    Confirmed,
}

impl Outcome {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Outcome::Believed => "believed",
            Outcome::Doubted(_) => "doubted",
            Outcome::StillWaiting(_) => "still_waiting",
            Outcome::Cleared => "cleared",
            Outcome::Confirmed => "confirmed",
        }
    }

    /// Why a verdict must be withheld; `None` when it may be given.
    pub const fn withheld(&self) -> Option<&Doubt> {
        match self {
            Outcome::Doubted(doubt) | Outcome::StillWaiting(doubt) => Some(doubt),
            Outcome::Believed | Outcome::Cleared | Outcome::Confirmed => None,
        }
    }
}

/// One reading as the watch sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taken {
    /// Its pitch diameter (or all of them readings over the same wires).
    pub diameter: Length,
    /// The most that can have come off the diameter since the reading before this one, whether
    /// that one was believed or not; `None` when nothing is known.
    pub most_cut: Option<Length>,
    /// How far apart two readings of one size may lie.
    pub noise: Length,
    /// Whether the wires were lifted and seated again before it.
    pub wires_lifted: bool,
}

/// Follows the readings on one piece while it is being cut. Start a new one with every piece.
///
/// ```
/// use overwire_core::cutting::{Taken, Watch};
/// use overwire_core::units::Length;
/// let reading = |mm: f64, wires_lifted: bool| Length::from_mm(mm).map(|diameter| Taken {
///     diameter,
///     most_cut: Length::from_mm(0.1).ok(),
///     noise: Length::from_mm(0.02).unwrap_or_default(),
///     wires_lifted,
/// });
/// let mut watch = Watch::default();
/// assert_eq!(watch.take(&reading(10.40, false)?).code(), "believed");
/// assert_eq!(watch.take(&reading(10.15, false)?).code(), "doubted");
/// assert_eq!(watch.take(&reading(10.31, true)?).code(), "cleared");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Watch {
    believed: Option<Length>,
    waiting: Option<Waiting>,
}

/// A doubted reading that is to be repeated.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Waiting {
    diameter: Length,
    doubt: Doubt,
    /// The most cut since the last believed reading.
    most_cut: Option<Length>,
}

impl Watch {
    /// Goes on from a reading that is believed already, after a restart or a person's word.
    pub const fn from_believed(diameter: Length) -> Watch {
        Watch {
            believed: Some(diameter),
            waiting: None,
        }
    }

    /// The last reading that was believed.
    pub const fn believed(&self) -> Option<Length> {
        self.believed
    }

    /// Takes the next reading.
    pub fn take(&mut self, taken: &Taken) -> Outcome {
        let Some(before) = self.believed else {
            return self.believe(taken, Outcome::Believed);
        };
        let most_cut = match self.waiting {
            None => taken.most_cut,
            Some(waiting) => added(waiting.most_cut, taken.most_cut),
        };
        let check = |before, most_cut| PassCheck {
            before,
            after: taken.diameter,
            most_cut,
            noise: taken.noise,
        };
        let doubt = check(before, most_cut).doubt();
        match (self.waiting, doubt) {
            (None, None) => self.believe(taken, Outcome::Believed),
            (None, Some(doubt)) => self.wait(taken, doubt, most_cut, Outcome::Doubted(doubt)),
            (Some(waiting), doubt) if !taken.wires_lifted => {
                let doubt = doubt.unwrap_or(waiting.doubt);
                self.wait(taken, doubt, most_cut, Outcome::StillWaiting(doubt))
            }
            (Some(_), None) => self.believe(taken, Outcome::Cleared),
            (Some(waiting), Some(doubt)) => match check(waiting.diameter, taken.most_cut).doubt() {
                None => self.believe(taken, Outcome::Confirmed),
                Some(_) => self.wait(taken, doubt, most_cut, Outcome::Doubted(doubt)),
            },
        }
    }

    fn believe(&mut self, taken: &Taken, outcome: Outcome) -> Outcome {
        *self = Watch::from_believed(taken.diameter);
        outcome
    }

    fn wait(
        &mut self,
        taken: &Taken,
        doubt: Doubt,
        most_cut: Option<Length>,
        outcome: Outcome,
    ) -> Outcome {
        self.waiting = Some(Waiting {
            diameter: taken.diameter,
            doubt,
            most_cut,
        });
        outcome
    }
}

fn added(one: Option<Length>, other: Option<Length>) -> Option<Length> {
    Some(one? + other?)
}
