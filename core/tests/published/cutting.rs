//! In-feeds of a cross slide and a swung compound.

use overwire_core::cutting::{Dial, Graduation, InFeed, Lathe, Slide};
use overwire_core::units::{Angle, Length};

use crate::{Row, check, mm, rows};

const INCH: f64 = 25.4;

/// Both dials of a kind, the compound swung as the row says.
fn in_feed(row: &Row, graduated: Graduation, diameter: Length) -> InFeed {
    let dial = Some(Dial {
        graduated,
        smallest_division: None,
    });
    let degrees = row.number("compound_deg_from_cross_slide");
    let lathe = Lathe {
        cross_slide_dial: dial,
        compound_dial: dial,
        compound_angle: Some(Angle::from_degrees(degrees).expect("an angle")),
    };
    lathe.in_feed(Slide::Compound, diameter)
}

fn diameter(row: &Row) -> Length {
    match row.quantity.as_str() {
        "infeed_remaining" => mm((row.number("M") - row.number("M_target")) * INCH),
        "compound_travel_per_diameter" => mm(INCH),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn in_feed_along_the_compound() {
    let table = rows(include_str!("cutting.csv"));
    let figure = |row: &Row, graduated| {
        let in_feed = in_feed(row, graduated, diameter(row));
        in_feed.dial.expect("a figure").inches()
    };
    check(
        &table,
        10,
        |row| figure(row, Graduation::Radius),
        |row| row.differs_by,
    );
    // A dial graduated on diameter shows twice as much.
    check(
        &table,
        10,
        |row| figure(row, Graduation::Diameter) / 2.0,
        |row| row.differs_by,
    );
}
