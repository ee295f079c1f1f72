//! The three wires of a set and their seats.
//!
//! One wire sits alone under one anvil, the other two in neighbouring grooves
//! under the opposite anvil. When the three differ, the lone wire weighs twice
//! as much as each of the pair: the anvil on the pair meets them midway.

use crate::units::{Length, WireDiameter};

/// The actual diameters of three wires, by seat.
///
/// ```
/// use overwire_core::units::{Length, WireDiameter};
/// use overwire_core::wires::Wires;
/// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.866)?)?);
/// assert!(wires.is_equal());
/// assert_eq!(wires.mean().mm(), 0.866);
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wires {
    /// The wire alone under its anvil.
    pub single: WireDiameter,
    /// The two wires in neighbouring grooves under the other anvil.
    pub pair: [WireDiameter; 2],
}

impl Wires {
    /// Three wires of one diameter.
    pub const fn equal(diameter: WireDiameter) -> Wires {
        Wires {
            single: diameter,
            pair: [diameter, diameter],
        }
    }

    /// Three wires measured one by one: first the one that sits alone.
    pub const fn three(single: WireDiameter, first: WireDiameter, second: WireDiameter) -> Wires {
        Wires {
            single,
            pair: [first, second],
        }
    }

    /// The three diameters, the lone wire first.
    pub const fn as_list(&self) -> [WireDiameter; 3] {
        [self.single, self.pair[0], self.pair[1]]
    }

    /// Whether the three diameters are the very same number.
    pub fn is_equal(&self) -> bool {
        let single = self.single.mm().to_bits();
        self.pair.iter().all(|wire| wire.mm().to_bits() == single)
    }

    /// The plain mean of the three diameters.
    pub fn mean(&self) -> Length {
        if self.is_equal() {
            return self.single.length();
        }
        let sum: f64 = self.as_list().iter().map(|wire| wire.mm()).sum();
        Length::computed(sum / 3.0)
    }

    /// The mean as the anvils weigh it: half the lone wire, a quarter of each of the pair.
    pub fn seated_mean(&self) -> Length {
        if self.is_equal() {
            return self.single.length();
        }
        let pair_mean = (self.pair[0].mm() + self.pair[1].mm()) / 2.0;
        Length::computed((self.single.mm() + pair_mean) / 2.0)
    }

    /// The thinnest of the three.
    pub fn thinnest(&self) -> Length {
        let widths = self.as_list().map(WireDiameter::mm);
        Length::computed(widths.into_iter().fold(f64::INFINITY, f64::min))
    }

    /// The thickest of the three.
    pub fn thickest(&self) -> Length {
        let widths = self.as_list().map(WireDiameter::mm);
        Length::computed(widths.into_iter().fold(0.0, f64::max))
    }
}
