//! Many conversions at once, for simulations and for restating a record.
//!
//! One conversion is a chain of operations of which each waits for the one before. A few abreast
//! keep the processor busy meanwhile. The equations, the starts and the last steps are those of
//! [`super::groove`]; whatever is not ordinary (flanks or wires that differ, a reading without a
//! seat, a search that takes longer) is left to the single conversion.

use super::groove::{WireSeat, sound};
use super::real::{ABREAST, Real, Row};
use super::root::LAST_STEP;
use super::touch::Touch;
use super::{HelixError, Laid, Seated, checked_diameter};
use crate::units::Length;

/// Steps that ordinary threads need at most.
const STEPS: u32 = 4;

/// Seats abreast on flanks that are alike, and the other length that belongs to each.
struct Found {
    contact: Row,
    axis: Row,
    climb: Row,
    other: Row,
}

impl Laid {
    /// [`Laid::pitch_diameter`] of many readings, in less time than one by one.
    ///
    /// `found` is called for each, in order.
    ///
    /// ```
    /// use overwire_core::{helix::Laid, thread::designation, units::*, wires::Wires};
    /// let thread = designation::parse("M8x1.25-6g")?;
    /// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.722)?)?);
    /// let laid = Laid::new(&thread.geometry, &wires);
    /// let readings = [Length::from_mm(8.150)?; 20];
    /// let mut sum = Length::ZERO;
    /// laid.pitch_diameters(&readings, |seated| sum = sum + seated.map_or(Length::ZERO, |s| s.pitch_diameter));
    /// assert!((sum.mm() / 20.0 - laid.pitch_diameter(readings[0])?.pitch_diameter.mm()).abs() < 1e-13);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn pitch_diameters(
        &self,
        over_wires: &[Length],
        mut found: impl FnMut(Result<Seated, HelixError>),
    ) {
        let (rows, rest) = over_wires.as_chunks::<ABREAST>();
        for row in rows {
            match self.row_at_axis(row) {
                Some(seats) => (0..ABREAST).for_each(|place| {
                    let (seat, diameter) = (seats.seat(place), seats.other.0[place]);
                    found(Ok(self.seated(&seat, row[place].mm(), diameter)));
                }),
                None => row.iter().for_each(|one| found(self.pitch_diameter(*one))),
            }
        }
        rest.iter().for_each(|one| found(self.pitch_diameter(*one)));
    }

    /// [`Laid::over_wires`] of many pitch diameters, in less time than one by one.
    ///
    /// `found` is called for each, in order.
    pub fn readings_over_wires(
        &self,
        pitch_diameters: &[Length],
        mut found: impl FnMut(Result<Seated, HelixError>),
    ) {
        let (rows, rest) = pitch_diameters.as_chunks::<ABREAST>();
        for row in rows {
            match self.row_at_diameter(row) {
                Some(seats) => (0..ABREAST).for_each(|place| {
                    let (seat, reading) = (seats.seat(place), seats.other.0[place]);
                    found(Ok(self.seated(&seat, reading, row[place].mm())));
                }),
                None => row.iter().for_each(|one| found(self.over_wires(*one))),
            }
        }
        rest.iter().for_each(|one| found(self.over_wires(*one)));
    }

    /// Half the wire, where all wires and both flanks are alike.
    fn half_of_all_alike(&self) -> Option<f64> {
        (self.equal && self.groove.symmetric).then(|| self.wires.single.mm() / 2.0)
    }

    fn row_at_axis(&self, over_wires: &[Length; ABREAST]) -> Option<Found> {
        let half_wire = self.half_of_all_alike()?;
        let axis = Row(over_wires.map(|reading| reading.mm() / 2.0 - half_wire));
        let groove = &self.groove;
        let flank = &groove.flanks[0];
        let axis_square = axis * axis;
        let start = axis - Row::of(half_wire * flank.sine);
        let mut square = start * start;
        for _ in 0..STEPS {
            let touch = Touch::of(flank, groove.advance, half_wire, square);
            let excess = (square - axis_square) + touch.beyond;
            let step = Row::of(0.0) - excess / touch.spread();
            if last(&step, &square) {
                let at = square.root();
                let step = step / (at + at);
                let axial = touch.axial(at, axis) + touch.axial_rate() * step;
                let axial = Row::of(groove.pitch / 2.0) + axial + axial;
                let radius = axis + axial * Row::of(groove.over_slopes);
                return Found {
                    contact: at + step,
                    axis,
                    climb: touch.climb(),
                    other: radius + radius,
                }
                .sound(&axis, &touch, half_wire);
            }
            square = square + step;
        }
        None
    }

    fn row_at_diameter(&self, diameters: &[Length; ABREAST]) -> Option<Found> {
        let half_wire = self.half_of_all_alike()?;
        let groove = &self.groove;
        let flank = &groove.flanks[0];
        let level = Row(diameters.map(|diameter| diameter.mm() / 2.0));
        let mut radius = Row(level
            .0
            .map(|level| groove.plane_axis_radius(half_wire, level) - half_wire * flank.sine));
        for _ in 0..STEPS {
            let touch = Touch::of(flank, groove.advance, half_wire, radius * radius);
            let excess = Row::of(groove.pitch / 4.0) + touch.axial(radius, level);
            let over_rate = touch.axis_square() / (touch.climb() * touch.spread());
            let step = Row::of(0.0) - excess * over_rate;
            if last(&step, &radius) {
                let at = touch.axis_square().root();
                let axis = at + radius * touch.spread() / at * step;
                let side = axis + Row::of(half_wire);
                return Found {
                    contact: radius + step,
                    axis,
                    climb: touch.climb(),
                    other: side + side,
                }
                .sound(&level, &touch, half_wire);
            }
            radius = radius + step;
        }
        None
    }
}

/// Whether this step is the last one in every place.
#[inline(always)]
fn last(step: &Row, unknown: &Row) -> bool {
    step.all(unknown, |step, unknown| step.abs() <= LAST_STEP * unknown)
}

impl Found {
    fn seat(&self, place: usize) -> WireSeat {
        let (contact, climb) = (self.contact.0[place], self.climb.0[place]);
        WireSeat {
            contact: [contact, contact],
            axis_radius: self.axis.0[place],
            climb: [climb, climb],
        }
    }

    /// These, when every one is as sound as the single conversion asks for. `given` is what was
    /// started from, as a radius: what is not above half the wire is looked at singly.
    fn sound(self, given: &Row, touch: &Touch<Row>, half_wire: f64) -> Option<Found> {
        let spread = touch.spread();
        let places = 0..ABREAST;
        let all = places.into_iter().all(|place| {
            spread.0[place] > 0.0
                && given.0[place] > half_wire
                && checked_diameter(self.other.0[place]).is_some()
                && sound(self.seat(place)).is_some()
        });
        all.then_some(self)
    }
}
