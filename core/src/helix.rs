//! The exact seat of a wire in a helical groove.
//!
//! # What is assumed
//!
//! * Each flank is the surface a straight cutting edge sweeps when it lies in an
//!   axial plane: straight in the axial section, as cut by a tool on centre height
//!   and not tilted to the helix. Pitch, lead, angle and form are without error.
//! * The wire is a straight, rigid cylinder, free to slide, tilt and settle, and
//!   no force flattens it. Anvils are flat and parallel.
//! * The pitch diameter d2 is that of the cylinder on which the groove, measured
//!   along the axis, is half a pitch wide.
//!
//! # Why a ball may stand for the wire
//!
//! ```text
//!      anvil ─────────────────────────────     x, away from the axis
//!                     .-''-.                   ▲
//!        crest       /  C   \       crest      │      C  wire axis, at radius X
//!      ▓▓▓▓▓▓▓▓\    |   +    |    /▓▓▓▓▓▓▓▓    │      1,2  the two contacts, at
//!      ▓▓▓▓▓▓▓▓▓\    \      /    /▓▓▓▓▓▓▓▓▓    │           radii r1 and r2
//!      - - - - - 1.   `-..-'   .2 - - - - -   d2/2
//!      ▓▓▓▓▓▓▓▓▓▓▓\           /▓▓▓▓▓▓▓▓▓▓▓▓    │
//!      ▓▓▓▓▓▓▓▓▓▓▓▓\_________/▓▓▓▓▓▓▓▓▓▓▓▓▓    └──────▶ z, along the axis
//! ```
//!
//! A settled wire is held by three forces: the anvil and two flanks. Every normal
//! of a cylinder meets its axis. The anvil's push acts along x, so without friction
//! the two flank normals must meet the wire axis in one point C; otherwise they would
//! turn the wire about x. A ball of the wire's diameter round C touches the same two
//! points. So the wire settles exactly as deep as a ball.
//!
//! # Where the ball rests
//!
//! Let `h = lead / 2π`, half the wire `q`, a flank's slope `t = tan a`, and
//! measure angles round the thread axis. The flank `z = h θ + P/4 + (r - d2/2) t`
//! has at radius r the normal `(-t, -h/r, 1)` in radial, circumferential and axial
//! direction. Stepping q along it, out of the metal, leads to the ball's centre.
//! With `W = q / sqrt(r²(1 + t²) + h²)` the centre lies
//!
//! * `B = r (1 + W t)` outward and `A = W h` sideways, so at radius `X = sqrt(A² + B²)`
//!   and at the angle `φ = atan2(A, B)` from the contact, and
//! * at the axial place `z_C = P/4 + (r - d2/2) t - W r - h φ` once the angle is turned back
//!   to where the centre sits.
//!
//! The other flank is the mirror image. Both must put the ball in one place: equal X,
//! and axial places that cancel:
//!
//! ```text
//!   P/2 + Σ [ (r_i - d2/2) t_i - W_i r_i - h φ_i ] = 0          (balance)
//! ```
//!
//! From a pitch diameter to a reading this is one equation in one contact radius.
//! From a reading to a pitch diameter X is known, each r_i follows from its own
//! `X(r_i) = X`, in which d2 does not appear, and the balance then gives d2 outright.
//! Turning the thread half a turn turns one side's problem into the other's, whatever
//! the number of starts, so a reading over equal wires is `M = 2 X + 2 q`.
//! Hand and exchanging the flanks are reflections and change nothing.
//! The helix along which the offset flanks meet is the wire's own direction: its tilt
//! is `atan(h / X)`, the lead angle at the wire's axis and not at the pitch cylinder.
//!
//! With three unequal wires the lone one gives `X + q`; the anvil on the pair meets
//! the two midway, which gives the mean of their `X + q`. To first order in their
//! difference this is exact.
//!
//! # Accuracy
//!
//! Both directions agree with an independent 40-digit solution of the tangency
//! equations to 4 parts in 10¹⁶ on 62 threads of 0 to 45 degree flanks, 1 to 8 starts and
//! up to 25 degrees of lead, and with each other to 4 parts in 10¹⁵ on any thread up
//! to 30 degrees of lead (see the tests). Every search is bracketed and bounded;
//! what has no solution is an error, never a number. Nothing is allocated.
//! The h = 0 limit is the plane formula of [`crate::plane`].

mod groove;
mod many;
mod real;
mod root;
mod touch;

use thiserror::Error;

use crate::thread::Geometry;
use crate::units::{Angle, LONGEST_MM, Length, WireDiameter};
use crate::wires::Wires;
use groove::Groove;
pub(crate) use groove::WireSeat;
use root::MOST_STEPS;

/// Why a wire has no seat within this model.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum HelixError {
    /// The reading is too small for the wires to have anything between them.
    #[error("a reading of {over_wires_mm} mm leaves no thread between wires of {wire_mm} mm")]
    NothingBetweenWires {
        /// The reading.
        over_wires_mm: f64,
        /// The lone wire's diameter.
        wire_mm: f64,
    },
    /// No place was found where the wire touches both flanks.
    #[error(
        "no seat found for a wire of {wire_mm} mm on a pitch of {pitch_mm} mm with a lead of \
         {lead_mm} mm: outside what the model of the seat covers"
    )]
    NoSeat {
        /// The wire's diameter.
        wire_mm: f64,
        /// The pitch.
        pitch_mm: f64,
        /// The lead.
        lead_mm: f64,
    },
}

impl HelixError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            HelixError::NothingBetweenWires { .. } => "nothing-between-wires",
            HelixError::NoSeat { .. } => "no-seat",
        }
    }
}

/// Wires at rest in a thread: the reading, the pitch diameter, and how they sit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seated {
    /// The reading over the three wires.
    pub over_wires: Length,
    /// The pitch diameter that belongs to it, lead included.
    pub pitch_diameter: Length,
    /// The pitch diameter a plane formula would give for this reading.
    pub plane_pitch_diameter: Length,
    /// What the lead takes off the plane value: `pitch_diameter = plane_pitch_diameter - this`.
    pub lead_angle_correction: Length,
    /// Radius at which the lone wire touches the leading and the trailing flank, in mm.
    pub contact_radius: [f64; 2],
    /// Distance of the lone wire's axis from the thread's axis, in mm.
    pub axis_radius: f64,
    /// How far a free wire tilts: the lead angle at its own axis.
    pub tilt: Angle,
}

/// The reading over these wires on a thread of this pitch diameter.
///
/// # Errors
/// [`HelixError`] when the wires have no seat.
///
/// ```
/// use overwire_core::{helix, thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("9/16-18 UNF-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.0395)?)?);
/// let seated = helix::over_wires(&thread.geometry, &wires, Length::from_inches(0.5250)?)?;
/// assert_eq!(seated.over_wires.to_text(Unit::Inch, 4), "0.5954 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn over_wires(
    geometry: &Geometry,
    wires: &Wires,
    pitch_diameter: Length,
) -> Result<Seated, HelixError> {
    Laid::new(geometry, wires).over_wires(pitch_diameter)
}

/// The pitch diameter of a thread that gives this reading over these wires.
///
/// # Errors
/// [`HelixError`] when no thread of this geometry could give the reading.
///
/// ```
/// use overwire_core::{helix, thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("M8x1.25-6g")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.722)?)?);
/// let seated = helix::pitch_diameter(&thread.geometry, &wires, Length::from_mm(8.150)?)?;
/// assert_eq!(seated.pitch_diameter.to_text(Unit::Millimetre, 3), "7.065 mm");
/// assert!(seated.tilt.degrees() > 2.9 && seated.tilt.degrees() < 3.1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn pitch_diameter(
    geometry: &Geometry,
    wires: &Wires,
    over_wires: Length,
) -> Result<Seated, HelixError> {
    Laid::new(geometry, wires).pitch_diameter(over_wires)
}

/// Wires laid in the grooves of one thread: what does not change from reading to reading is
/// reckoned once.
///
/// ```
/// use overwire_core::{helix::Laid, thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("M8x1.25-6g")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.722)?)?);
/// let laid = Laid::new(&thread.geometry, &wires);
/// let there = laid.pitch_diameter(Length::from_mm(8.150)?)?;
/// let back = laid.over_wires(there.pitch_diameter)?;
/// assert!((back.over_wires.mm() - 8.150).abs() < 1e-14);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    groove: Groove,
    wires: Wires,
    equal: bool,
    plane_constant: f64,
}

impl Laid {
    /// These wires on this thread.
    pub fn new(geometry: &Geometry, wires: &Wires) -> Laid {
        let groove = Groove::of(geometry);
        Laid {
            plane_constant: groove.plane_constant(wires),
            groove,
            wires: *wires,
            equal: wires.is_equal(),
        }
    }

    /// The reading on a thread of this pitch diameter.
    ///
    /// # Errors
    /// [`HelixError`] when the wires have no seat.
    pub fn over_wires(&self, pitch_diameter: Length) -> Result<Seated, HelixError> {
        let set = self.set_at(pitch_diameter.mm())?;
        Ok(self.seated(&set.single, set.over_wires, pitch_diameter.mm()))
    }

    /// The pitch diameter of a thread that gives this reading.
    ///
    /// # Errors
    /// [`HelixError`] when no thread of this geometry could give the reading.
    pub fn pitch_diameter(&self, over_wires: Length) -> Result<Seated, HelixError> {
        let (seat, diameter) = match self.equal {
            true => {
                let half_wire = self.wires.single.mm() / 2.0;
                let axis_radius = over_wires.mm() / 2.0 - half_wire;
                self.groove.seat_at_axis(half_wire, axis_radius)?
            }
            false => self.unequal_wires(over_wires.mm())?,
        };
        Ok(self.seated(&seat, over_wires.mm(), diameter))
    }

    fn seated(&self, seat: &WireSeat, over_wires: f64, diameter: f64) -> Seated {
        self.groove
            .seated(seat, self.plane_constant, over_wires, diameter)
    }

    /// Newton's rule on d2. A change of d2 moves the reading by nearly as much, so the plane
    /// value is a good start and every sound step is much smaller than the one before.
    fn unequal_wires(&self, over_wires: f64) -> Result<(WireSeat, f64), HelixError> {
        let mean = self.wires.seated_mean().mm() / 2.0;
        let no_seat = || self.groove.no_seat(mean);
        let start = self.groove.seat_at_axis(mean, over_wires / 2.0 - mean);
        let plane_start = over_wires - self.plane_constant;
        let mut diameter = start.map_or(plane_start, |(_, diameter)| diameter);
        let mut last_step = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            let set = self.set_at(diameter)?;
            let step = (over_wires - set.over_wires) / set.slope;
            if !step.is_finite() || step.abs() > last_step {
                return Err(no_seat());
            }
            if step.abs() <= LAST_STEP * diameter.abs() {
                let diameter = checked_diameter(diameter + step).ok_or_else(no_seat)?;
                return Ok((set.single, diameter));
            }
            last_step = step.abs();
            diameter += step;
        }
        Err(no_seat())
    }

    fn set_at(&self, diameter: f64) -> Result<SetSeat, HelixError> {
        let half = |wire: WireDiameter| wire.mm() / 2.0;
        let lone = half(self.wires.single);
        let single = self.groove.seat_at_diameter(lone, diameter)?;
        if self.equal {
            return Ok(SetSeat {
                single,
                over_wires: 2.0 * (single.axis_radius + lone),
                slope: 2.0 * self.groove.lift(&single),
            });
        }
        let [first, second] = self.wires.pair.map(half);
        let (one, other) = (
            self.groove.seat_at_diameter(first, diameter)?,
            self.groove.seat_at_diameter(second, diameter)?,
        );
        let lift = |seat| self.groove.lift(seat);
        let pair_side = (one.axis_radius + first + other.axis_radius + second) / 2.0;
        Ok(SetSeat {
            single,
            over_wires: single.axis_radius + lone + pair_side,
            slope: lift(&single) + (lift(&one) + lift(&other)) / 2.0,
        })
    }
}

/// A step of the pitch diameter this small, relative to it, is the last one. The seats belong to
/// the diameter before it, so it must not show in them.
const LAST_STEP: f64 = 1e-11;

fn checked_diameter(mm: f64) -> Option<f64> {
    (mm > 0.0 && mm <= LONGEST_MM).then_some(mm)
}

/// All three wires at rest.
struct SetSeat {
    single: WireSeat,
    over_wires: f64,
    /// How much the reading grows for one unit of pitch diameter: close to 1.
    slope: f64,
}

/// One wire's seat on a thread of this pitch diameter, all in mm.
pub(crate) fn wire_seat(
    geometry: &Geometry,
    wire_mm: f64,
    pitch_diameter_mm: f64,
) -> Result<WireSeat, HelixError> {
    Groove::of(geometry).seat_at_diameter(wire_mm / 2.0, pitch_diameter_mm)
}
