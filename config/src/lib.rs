//! What overwire's files say, read into checked values.
//!
//! | file | read by | gives |
//! | --- | --- | --- |
//! | settings (`overwire.toml`) | [`settings`] | [`Settings`]: the shop, its rules, its stations |
//! | instrument profile (`instruments/*.toml`) | [`profile`] | [`Profile`]: how an instrument speaks |
//!
//! Reading never stops at the first mistake: a file gives either a checked value or *every*
//! [`Problem`] in it, each with line, key, what was found and what was wanted. After that no other
//! code checks again. This crate reads files; it opens no port and writes nothing.
#![deny(missing_docs)]

pub mod lathe;
pub mod live;
pub mod problem;
pub mod profile;
mod reader;
pub mod settings;
pub mod uncertainty;

pub use lathe::LatheSettings;
pub use live::LiveSettings;
pub use problem::{ConfigError, Problem};
pub use profile::{LineSettings, Profile};
pub use settings::{Settings, StationSettings};
pub use uncertainty::UncertaintySettings;
