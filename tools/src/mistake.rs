//! Mistakes that people make with wires and a data button, and what the display then shows.
//!
//! Geometry of a thread between a flat anvil and wires, symbols as in the trade: M over the wires, D
//! major diameter, W wire diameter. Worked out here from the picture, no source: from the axis the
//! reading reaches M/2 on a side that has its wires, D/2 on a side whose anvil sits on the crests,
//! D/2 + W on a side whose wire rides on a crest.

use crate::dice::Dice;
use crate::workpiece::Workpiece;

/// A mistake at the instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mistake {
    /// The button was pressed with the jaws closed.
    ClosedJaws,
    /// The single wire fell out: that anvil sits on the crests.
    MissingWire,
    /// A wire rides on a crest instead of sitting in its groove.
    WireOnCrest,
    /// The button was pressed twice.
    DoublePress,
}

impl Mistake {
    /// The mistakes that happen by chance, all equally often.
    pub const ALL: [Mistake; 4] = [
        Mistake::ClosedJaws,
        Mistake::MissingWire,
        Mistake::WireOnCrest,
        Mistake::DoublePress,
    ];

    /// One of them by chance.
    pub fn any(dice: &mut Dice) -> Mistake {
        Mistake::ALL[dice.whole(0, Mistake::ALL.len() - 1)]
    }

    /// What is read instead of the size `over_wires_mm`.
    pub fn reads_mm(self, over_wires_mm: f64, workpiece: &Workpiece) -> f64 {
        let Workpiece {
            major_mm, wire_mm, ..
        } = workpiece;
        match self {
            Mistake::ClosedJaws => 0.0,
            Mistake::MissingWire => (over_wires_mm + major_mm) / 2.0,
            Mistake::WireOnCrest => (over_wires_mm + major_mm) / 2.0 + wire_mm,
            Mistake::DoublePress => over_wires_mm,
        }
    }

    /// What happened, for a person.
    pub fn words(self) -> &'static str {
        match self {
            Mistake::ClosedJaws => "pressed with the jaws closed",
            Mistake::MissingWire => "the single wire has fallen out",
            Mistake::WireOnCrest => "a wire rides on a crest",
            Mistake::DoublePress => "pressed twice",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand for the stud end at M 1.0760, D 1.0625, W 0.04811 in: a missing wire reads
    // (1.0760 + 1.0625) / 2 = 1.06925; a wire on a crest reads 0.04811 more, 1.11736.
    #[test]
    fn mistakes_read_as_worked_out_by_hand() {
        let stud_end = Workpiece::stud_end();
        let inches = |mistake: Mistake| mistake.reads_mm(1.0760 * 25.4, &stud_end) / 25.4;
        assert!((inches(Mistake::MissingWire) - 1.06925).abs() < 1e-9);
        assert!((inches(Mistake::WireOnCrest) - 1.11736).abs() < 1e-9);
        assert!(inches(Mistake::ClosedJaws).abs() < 1e-12);
        assert!((inches(Mistake::DoublePress) - 1.0760).abs() < 1e-9);
    }
}
