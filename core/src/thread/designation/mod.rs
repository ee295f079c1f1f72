//! Reading a thread designation as it stands on a drawing.
//!
//! Inch: `1/2-13 UNC-2A`, `.500-13UNC-2A`, `#10-32 UNF-3A LH`, `1-1/16-12 UN-2A`, `1 1/16-12 UNJ-3A`,
//! `0.750-0.0625P-0.1875L (3 STARTS) UNR-2A`, `1/2-13 UNC-2A LE 1.5`, `1/2-13 UNC-2A (22)`, `1.00 UNM`.
//! Metric: `M10-6g` (coarse pitch), `M10x1.5-6g`, `M20x1.5-5g6g LH`, `M16xPh3P1.5-6g`,
//! `M6x0.75-5h6h-S-LH`, `MJ6x1-4h6h`.
//! Leadscrews: `1.5-4 ACME-2G`, `2.875-0.4P-0.8L-ACME-3G`, `1/2-20 STUB ACME`, `2.5-8 BUTT-2A-LH`,
//! `Tr40x7-7e`, `Tr40x14(P7)LH-7e`, `S40x7`. British: `1/2-12 BSW medium`, `1/2 BSF close`, `G 1/2 A`,
//! `4 BA normal`. Worms, in words of our own: `WORM m2 d22.4 z2 20deg`.
//!
//! Spaces are free and letters may be of either case, except the position letter of a metric
//! class: capitals mean an internal thread, and wires measure external ones. Dashes of any length,
//! `½` and `×` are read too. What follows the class may stand in any order, each thing once: hand
//! (`LH`, `left hand`), starts (`2 START`, `(two starts)`, `LEAD 0.125`), length of engagement,
//! gauging system. Nothing is guessed: a class that is missing is asked for. What is not
//! understood is refused with its place, what was found and what was expected; no text makes the
//! reader panic. What is understood prints canonically, and reading that print gives the same.

mod acme;
mod after_class;
mod british_association;
mod buttress;
mod fraction;
mod inch;
mod inch_pitch;
mod lead_and_pitch;
mod metric;
mod miniature;
mod pipe_parallel;
mod saw_tooth;
mod scanner;
mod tail;
mod trapezoidal;
mod unified;
mod whitworth;
mod worm;

use thiserror::Error;

use super::{Ranged, Thread, ThreadError};
use scanner::Scanner;
use tail::Tail;

/// The longest text looked at, in characters.
pub const LONGEST: usize = 80;

/// Why a designation was not understood.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("at character {}: found {found}, expected {expected}", .at + 1)]
pub struct DesignationError {
    /// Index of the character where reading stopped, counted from 0.
    pub at: usize,
    /// What stands there.
    pub found: String,
    /// What would have been understood.
    pub expected: String,
}

impl DesignationError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        "designation"
    }

    /// A number that was read well but lies outside the standard.
    fn refused(places: Places, error: ThreadError) -> DesignationError {
        match error {
            ThreadError::OutsideStandard {
                standard,
                what,
                found,
                range,
            } => DesignationError {
                at: places.of(what),
                found: format!("{what} of {found}"),
                expected: format!("{range} ({standard})"),
            },
            other => DesignationError {
                at: places.diameter,
                found: other.to_string(),
                expected: "a thread that can exist".to_owned(),
            },
        }
    }

    /// The same, where what follows the class may be what is refused.
    fn refused_after_class(places: Places, tail: &Tail, error: ThreadError) -> DesignationError {
        let engagement = match &error {
            ThreadError::OutsideStandard {
                what: Ranged::EngagementInches | Ranged::EngagementMm,
                ..
            } => tail.engagement,
            _ => None,
        };
        let refused = DesignationError::refused(places, error);
        match engagement {
            Some(stated) => DesignationError {
                at: stated.at,
                ..refused
            },
            None => refused,
        }
    }
}

/// Where the numbers of a designation begin.
#[derive(Clone, Copy)]
struct Places {
    diameter: usize,
    pitch: usize,
    class: usize,
}

impl Places {
    fn of(self, what: Ranged) -> usize {
        match what {
            Ranged::DiameterInches | Ranged::DiameterMm => self.diameter,
            Ranged::ThreadsPerInch | Ranged::PitchMm | Ranged::Module | Ranged::DiametralPitch => {
                self.pitch
            }
            Ranged::Grade
            | Ranged::PressureAngle
            | Ranged::EngagementInches
            | Ranged::EngagementMm => self.class,
        }
    }
}

/// Reads a designation and works out the thread's limits.
///
/// # Errors
/// [`DesignationError`] with the place in the text.
///
/// ```
/// use overwire_core::thread::designation::parse;
///
/// let thread = parse(".500-13unc-2a")?;
/// assert_eq!(thread.designation, "1/2-13 UNC-2A");
/// assert_eq!(parse(&thread.designation)?, thread);
///
/// let refused = parse("M10x1,5-6g").unwrap_err();
/// assert_eq!(refused.at, 5);
/// assert_eq!(
///     refused.to_string(),
///     "at character 6: found `,`, expected a decimal point, as in 1.5"
/// );
/// # Ok::<(), overwire_core::thread::designation::DesignationError>(())
/// ```
pub fn parse(text: &str) -> Result<Thread, DesignationError> {
    let mut scanner = Scanner::new(text);
    scanner.refuse_longer_than(LONGEST)?;
    scanner.skip_spaces();
    match scanner.peek() {
        Some('m' | 'M') => metric::parse(&mut scanner),
        Some('t' | 'T') => trapezoidal::parse(&mut scanner),
        Some('s' | 'S') => saw_tooth::parse(&mut scanner),
        Some('g' | 'G') => pipe_parallel::parse(&mut scanner),
        Some('w' | 'W') => worm::parse(&mut scanner),
        Some('#' | '.' | '0'..='9' | '¼'..='¾' | '⅛'..='⅞' | 'n' | 'N') => {
            inch::parse(&mut scanner)
        }
        _ => Err(scanner.expected("a designation such as 1/2-13 UNC-2A or M10x1.5-6g")),
    }
}
