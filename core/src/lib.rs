//! Trade knowledge for measuring external threads over three wires.
//!
//! A micrometer reading over three wires says nothing by itself. This crate
//! turns it into a pitch diameter, says whether the wires sat where they
//! should, and judges the result against the limits of a thread. It is
//! arithmetic on values it is handed: no files, ports, clocks, logging,
//! randomness or global state.
//!
//! # The rooms
//!
//! | room | what it knows |
//! | --- | --- |
//! | [`units`] | lengths in millimetres inside, angles, pitch, and the lengths that must not be mixed up |
//! | [`decimal`] | a number exactly as a display showed it |
//! | [`wires`] | the three wires of a set: the single one and the pair |
//! | [`thread`] | the geometry of a thread, its limits, and the systems that give them |
//! | [`thread::designation`] | reading `1/2-13 UNC-2A` or `M10x1.5-6g` |
//! | [`plane`] | the plane formulas printed in handbooks, which leave the lead out |
//! | [`helix`] | the exact seat of a wire in a helical groove, both ways |
//! | [`seat`] | where a wire touches, and which wire sizes can be used at all |
//! | [`suitability`] | whether wires suit a thread, why, and by how much; what the usual formulas would say |
//! | [`compression`] | what the measuring force squeezes out of a reading |
//! | [`correction`] | zero, warmth and force as signed terms of their own |
//! | [`holding`] | what a holding aid adds to a reading |
//! | [`uncertainty`] | sensitivities, the budget, and how many digits it supports |
//! | [`acceptance`] | decision rules and guard bands |
//! | [`functional`] | what errors of pitch and angle amount to |
//! | [`functional_check`] | what a go gauge or the mating part said, beside a verdict over wires |
//! | [`judge`] | verdict, what is left to cut, warnings in plain words |
//! | [`cutting`] | between passes: dial figures, the next pass, readings that cannot be true |
//! | [`diagnosis`] | what a reading that cannot be true may come from |
//! | [`form`] | taper and out-of-round from readings at tagged places |
//! | [`zero_check`] | the check of the instrument at the start, and how old it may get |
//! | [`plating`] | limits before and after plating |
//! | [`stats`] | what a set of readings says: distributions, spread, strays, and what a chart needs |
//! | [`study`] | studies of the measurement: the plan, and what comes of it |
//!
//! # The few words
//!
//! *Over wires* (M) is the reading over the three wires. *Pitch diameter* (d2,
//! E in inch practice) is the diameter of the cylinder on which groove and ridge
//! are equally wide. The *single* wire sits alone under one anvil, the *pair*
//! sits in neighbouring grooves under the other. *Limits* are pitch diameter
//! limits. The *plane* value is what a handbook formula without the lead gives.
//!
//! # From a designation to a verdict
//!
//! ```
//! use overwire_core::judge::{Judge, Purpose, Verdict};
//! use overwire_core::thread::designation;
//! use overwire_core::units::{Length, WireDiameter};
//! use overwire_core::wires::Wires;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let thread = designation::parse("9/16-18 UNF-2A")?;
//! let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.0395)?)?);
//! let judge = Judge::new(&thread, &wires)?;
//!
//! let judgement = judge.judge(Length::from_inches(0.5931)?, Purpose::Inspecting);
//! assert_eq!(judgement.verdict, Verdict::Pass);
//! # Ok(())
//! # }
//! ```
//!
//! # What a pitch diameter over wires does not say
//!
//! It is not the functional size: pitch and angle errors of the thread make it
//! assemble as if it were larger. See [`judge::NOT_FUNCTIONAL_SIZE`].

#![deny(missing_docs)]
#![cfg_attr(not(test), deny(clippy::float_cmp))]

pub mod acceptance;
mod bisection;
pub mod compression;
pub mod correction;
pub mod cutting;
pub mod decimal;
pub mod diagnosis;
pub mod form;
pub mod functional;
pub mod functional_check;
pub mod helix;
pub mod holding;
pub mod judge;
pub mod plane;
pub mod plating;
pub mod seat;
pub mod stats;
pub mod study;
pub mod suitability;
pub mod thread;
pub mod uncertainty;
pub mod units;
pub mod wires;
pub mod zero_check;

pub use decimal::{Decimal, DecimalError};
pub use judge::{Judge, JudgeError, Judgement, Purpose, Verdict, Warning};
pub use seat::{Seat, WireRange};
pub use thread::{Basis, Flanks, Geometry, Hand, Limits, System, Thread, ThreadError};
pub use units::{Angle, Length, OverWires, Pitch, PitchDiameter, Unit, UnitError, WireDiameter};
pub use wires::Wires;
