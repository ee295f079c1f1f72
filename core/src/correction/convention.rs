//! Under what conditions a wire's certificate gives its diameter.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// What the diameter on a wire's certificate is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WireConvention {
    /// Under the measuring force, between a flat and a cylinder, as in ASME practice.
    UnderLoad,
    /// That of the free wire.
    Free,
    /// The certificate does not say.
    #[default]
    NotStated,
}

/// The wires of a set are certified by different conventions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error(
    "the wires of a set must be certified by one convention, found {} and {}",
    .first.words(),
    .second.words()
)]
pub struct ConventionError {
    /// One of those found.
    pub first: WireConvention,
    /// Another.
    pub second: WireConvention,
}

impl ConventionError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "mixed-conventions"
    }
}

impl WireConvention {
    /// The one convention of three wires.
    ///
    /// # Errors
    /// [`ConventionError`] when they differ: one wire with the compression in its diameter beside
    /// one without cannot be corrected either way.
    ///
    /// ```
    /// use overwire_core::correction::WireConvention::{self, *};
    /// assert_eq!(WireConvention::of_set([Free, Free, Free]), Ok(Free));
    /// assert!(WireConvention::of_set([Free, UnderLoad, Free]).is_err());
    /// ```
    pub fn of_set(wires: [WireConvention; 3]) -> Result<WireConvention, ConventionError> {
        let [first, second, third] = wires;
        match [second, third].into_iter().find(|&other| other != first) {
            Some(second) => Err(ConventionError { first, second }),
            None => Ok(first),
        }
    }

    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            WireConvention::UnderLoad => "under-load",
            WireConvention::Free => "free",
            WireConvention::NotStated => "not-stated",
        }
    }

    /// The convention with this name.
    pub fn parse(text: &str) -> Option<WireConvention> {
        use WireConvention::{Free, NotStated, UnderLoad};
        [UnderLoad, Free, NotStated]
            .into_iter()
            .find(|convention| convention.code() == text)
    }

    /// Two words for a person.
    pub const fn words(self) -> &'static str {
        match self {
            WireConvention::UnderLoad => "under load",
            WireConvention::Free => "free",
            WireConvention::NotStated => "not stated",
        }
    }

    /// One sentence for a person.
    pub const fn sentence(self) -> &'static str {
        match self {
            WireConvention::UnderLoad => {
                "The wires are certified under load: their compression is in their diameter, and none is added."
            }
            WireConvention::Free => {
                "The wires are certified free: the compression by the measuring force is added to the reading."
            }
            WireConvention::NotStated => {
                "The certificate does not say whether the wires were measured under load: no compression is added."
            }
        }
    }
}
