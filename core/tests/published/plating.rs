//! What a coat does to the pitch diameter, the lead left out.

use overwire_core::plating::growth_factor;

use crate::{check, geometry, mm, rows};

#[test]
fn growth_for_one_unit_of_thickness() {
    let table = rows(include_str!("plating.csv"));
    let factor = |row: &crate::Row| {
        // So fine a pitch on so large a cylinder has no lead to speak of.
        let thread = geometry(0.1, 1, (row.number("a1"), row.number("a2")));
        growth_factor(&thread, mm(9_000.0))
    };
    check(&table, 6, factor, |row| row.differs_by);
}
