//! The shape of a thread, as far as wires can feel it.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use super::ThreadError;
use crate::units::{Angle, Length, Pitch, UnitError};

/// The most starts a thread may have here.
pub const MOST_STARTS: u32 = 64;

/// Which way the helix runs. It does not change a measurement over wires.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    /// Right hand, the usual one.
    #[default]
    Right,
    /// Left hand, marked `LH`.
    Left,
}

/// The two flank angles, each from the plane square to the axis, in an axial section.
///
/// ```
/// use overwire_core::thread::Flanks;
/// use overwire_core::units::Angle;
/// let flanks = Flanks::symmetric(Angle::from_degrees(14.5)?);
/// assert!((flanks.included().degrees() - 29.0).abs() < 1e-12);
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flanks {
    /// The flank that leads when the thread is screwed in.
    pub leading: Angle,
    /// The other flank. Exchanging the two leaves a measurement over wires unchanged.
    pub trailing: Angle,
}

impl Flanks {
    /// Two equal flanks: 30 degrees each for a 60-degree thread.
    pub const fn symmetric(half_angle: Angle) -> Flanks {
        Flanks {
            leading: half_angle,
            trailing: half_angle,
        }
    }

    /// Two flanks in degrees. Refuses what no wire can rest in: a flank below 0 or above
    /// 75 degrees, or less than 10 degrees between the two.
    pub fn from_degrees(leading: f64, trailing: f64) -> Result<Flanks, ThreadError> {
        let flanks = Flanks {
            leading: Angle::from_degrees(leading)?,
            trailing: Angle::from_degrees(trailing)?,
        };
        flanks.check()?;
        Ok(flanks)
    }

    /// The angle between the flanks.
    pub fn included(&self) -> Angle {
        Angle::computed(self.leading.radians() + self.trailing.radians())
    }

    /// Whether both flanks have the very same angle.
    pub fn is_symmetric(&self) -> bool {
        self.leading.radians().to_bits() == self.trailing.radians().to_bits()
    }

    fn check(&self) -> Result<(), ThreadError> {
        let inside = |flank: Angle| (0.0..=75.0).contains(&flank.degrees());
        let wide_enough = self.included().degrees() > 10.0 - 1e-9;
        if inside(self.leading) && inside(self.trailing) && wide_enough {
            Ok(())
        } else {
            Err(ThreadError::FlanksUnusable {
                leading_deg: self.leading.degrees(),
                trailing_deg: self.trailing.degrees(),
            })
        }
    }
}

/// The shape of a thread, as far as wires can feel it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    /// From groove to neighbouring groove.
    pub pitch: Pitch,
    /// Number of starts; the lead is this many pitches.
    pub starts: u32,
    /// Which way the helix runs.
    pub hand: Hand,
    /// Flank angles.
    pub flanks: Flanks,
    /// The largest major diameter the crest may have; `None` when it is not known.
    pub major_diameter: Option<Length>,
    /// The diameter of the groove's bottom; `None` when bottoming is not to be checked.
    pub root_diameter: Option<Length>,
    /// How far, on diameter, the straight flank reaches above the pitch cylinder where the crest is
    /// round; `None` when it reaches the crest.
    pub straight_above: Option<Length>,
}

impl Geometry {
    /// A geometry whose numbers make sense together.
    ///
    /// # Errors
    /// Starts outside 1 to [`MOST_STARTS`], flanks no wire can rest in, a major or root
    /// diameter that is not above zero, or a root that is not below the crest.
    pub fn checked(
        pitch: Pitch,
        starts: u32,
        hand: Hand,
        flanks: Flanks,
        major_diameter: Option<Length>,
        root_diameter: Option<Length>,
    ) -> Result<Geometry, ThreadError> {
        if !(1..=MOST_STARTS).contains(&starts) {
            return Err(ThreadError::StartsOutOfRange { found: starts });
        }
        flanks.check()?;
        check_above_zero("major diameter", major_diameter)?;
        check_above_zero("root diameter", root_diameter)?;
        if let (Some(major), Some(root)) = (major_diameter, root_diameter)
            && root >= major
        {
            return Err(ThreadError::RootAboveCrest {
                root_mm: root.mm(),
                major_mm: major.mm(),
            });
        }
        Ok(Geometry {
            pitch,
            starts,
            hand,
            flanks,
            major_diameter,
            root_diameter,
            straight_above: None,
        })
    }

    /// The same with a round crest that the straight flank runs into so far, on diameter, above the
    /// pitch cylinder.
    pub const fn with_round_crest(self, straight_above: Length) -> Geometry {
        Geometry {
            straight_above: Some(straight_above),
            ..self
        }
    }

    /// Where the straight flank ends outward on a thread of this pitch diameter: at the crest, or
    /// where the crest's rounding begins; `None` when neither is known.
    pub fn flank_top(&self, pitch_diameter: Length) -> Option<Length> {
        let rounding = self.straight_above.map(|above| pitch_diameter + above);
        match (self.major_diameter, rounding) {
            (Some(crest), Some(rounding)) if rounding < crest => Some(rounding),
            (crest, rounding) => crest.or(rounding),
        }
    }

    /// How far the thread advances in one turn.
    pub fn lead(&self) -> Length {
        self.pitch.length() * f64::from(self.starts)
    }

    /// The angle of the helix on a cylinder of this diameter, from the plane square to the axis.
    pub fn lead_angle_at(&self, diameter: Length) -> Angle {
        Angle::computed(self.lead().mm().atan2(PI * diameter.mm()))
    }
}

fn check_above_zero(what: &'static str, length: Option<Length>) -> Result<(), ThreadError> {
    match length {
        Some(length) if length <= Length::ZERO => Err(ThreadError::Unit(UnitError::NotPositive {
            quantity: what,
            found: length.mm(),
        })),
        _ => Ok(()),
    }
}
