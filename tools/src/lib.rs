//! Simulated instruments and the means to play them to overwire.
//!
//! A simulated micrometer sits on a pseudo-terminal: a reader opens its link as it would open a serial
//! adapter's port, and cannot tell the two apart except by modem lines and baud rate, which a
//! pseudo-terminal does not have. What the instrument shows comes from a seeded model of a thread being
//! cut; how it speaks is encoded here, apart from the program's own decoder, so that a fault in one
//! cannot cancel out in the other.
//!
//! Three programs stand on this library: `micrometer` (one simulated instrument), `demo` (a whole
//! invented shop beside the real daemon) and `load` (many ports, numbered values, a ledger of what was
//! sent). The daemon is started as a program, never linked.

#![forbid(unsafe_code)]
#![deny(missing_docs)]

pub mod commands;
pub mod cutting;
pub mod daemon;
pub mod dice;
pub mod display;
pub mod encoder;
pub mod http;
pub mod instrument;
pub mod mistake;
pub mod player;
pub mod pty;
pub mod terminal;
pub mod workpiece;
