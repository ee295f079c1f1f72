//! What is said about wires on a thread.

use super::{Check, Condition, Suitability};
use crate::units::{Length, Unit};

impl Condition {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Condition::ProudOfCrest => "proud_of_crest",
            Condition::BelowFlankTop => "below_flank_top",
            Condition::AboveFlankBottom => "above_flank_bottom",
            Condition::ClearOfRoot => "clear_of_root",
            Condition::ClearOfNeighbour => "clear_of_neighbour",
        }
    }
}

impl Check {
    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let amount = self.margin.abs().to_text(unit, places);
        match (self.condition, self.is_met()) {
            (Condition::ProudOfCrest, true) => {
                format!("The wires stand {amount} proud of the crest.")
            }
            (Condition::ProudOfCrest, false) => format!(
                "The wires lie {amount} below the crest, or flush with it: the anvil would meet the \
                 thread. Use thicker wires."
            ),
            (Condition::BelowFlankTop, true) => format!(
                "The wires touch {amount} on diameter below the upper end of the straight flank."
            ),
            (Condition::BelowFlankTop, false) => format!(
                "The wires would touch {amount} on diameter beyond the upper end of the straight \
                 flank, on the crest's edge. Use thinner wires."
            ),
            (Condition::AboveFlankBottom, true) => format!(
                "The wires touch {amount} on diameter above the lower end of the straight flank."
            ),
            (Condition::AboveFlankBottom, false) => format!(
                "The wires would touch {amount} on diameter below the lower end of the straight \
                 flank. Use thicker wires."
            ),
            (Condition::ClearOfRoot, true) => {
                format!("The wires stay {amount} on diameter clear of the root.")
            }
            (Condition::ClearOfRoot, false) => format!(
                "The wires would reach {amount} on diameter into the root. Use thicker wires."
            ),
            (Condition::ClearOfNeighbour, true) => {
                format!("The wires of the pair stay {amount} apart.")
            }
            (Condition::ClearOfNeighbour, false) => format!(
                "The wires of the pair are {amount} too thick to lie side by side. Use thinner wires."
            ),
        }
    }
}

impl Suitability {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self.is_suitable() {
            true => "suitable",
            false => "not_suitable",
        }
    }

    /// What is wrong, or how far the wires are off the best size.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let failures: Vec<String> = self
            .failures()
            .map(|check| check.sentence(unit, places))
            .collect();
        if !failures.is_empty() {
            return failures.join(" ");
        }
        let side = match self.off_best < Length::ZERO {
            true => "below",
            false => "above",
        };
        format!(
            "The wires suit the thread, {} {side} the best size; an error of one degree of both flank \
             angles would move the pitch diameter by {}.",
            self.off_best.abs().to_text(unit, places),
            self.for_one_degree.abs().to_text(unit, places)
        )
    }
}
