//! The check of the instrument's zero at the start of a job, and how old it may get.
//!
//! The anvils are closed, or put on a standard of known size, and what the instrument reads is
//! compared with what it should read. Best of all is a plain cylinder over the very wires the
//! job uses: it shows the zero, the wires and the feel in one, and reads the cylinder's diameter
//! plus twice the wire. What was read too much is in every reading until the zero is set; it
//! goes into a correction or a diagnosis, never silently into a reading. Ages and tolerances
//! are the shop's own settings. Source: common practice, no published source.
//!
//! Times are seconds on one clock of the caller's choosing; this crate has none.

use crate::judge::FLOAT_NOISE;
use crate::units::{Length, Unit};
use crate::wires::Wires;

/// What the anvils met.
#[derive(Debug, Clone, PartialEq)]
pub enum Standard {
    /// Each other.
    ClosedAnvils,
    /// A standard of known length, by its name: a setting rod, a gauge block, a plug.
    Named {
        /// Its name in the register.
        name: String,
        /// Its length, from its certificate.
        length: Length,
    },
    /// A plain cylinder of known diameter over three wires.
    CylinderOverWires {
        /// Its name in the register.
        name: String,
        /// Its diameter, from its certificate.
        diameter: Length,
        /// The wires.
        wires: Wires,
    },
}

impl Standard {
    /// What should be read.
    ///
    /// ```
    /// use overwire_core::units::{Length, WireDiameter};
    /// use overwire_core::wires::Wires;
    /// use overwire_core::zero_check::Standard;
    /// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.866)?)?);
    /// let plug = Standard::CylinderOverWires {
    ///     name: "plug 10".to_owned(),
    ///     diameter: Length::from_mm(10.0)?,
    ///     wires,
    /// };
    /// assert!((plug.should_read().mm() - 11.732).abs() < 1e-12);
    /// # Ok::<(), overwire_core::units::UnitError>(())
    /// ```
    pub fn should_read(&self) -> Length {
        match self {
            Standard::ClosedAnvils => Length::ZERO,
            Standard::Named { length, .. } => *length,
            // The anvil on the pair meets the two midway.
            Standard::CylinderOverWires {
                diameter, wires, ..
            } => *diameter + wires.seated_mean() * 2.0,
        }
    }

    /// What it is, in words.
    pub fn words(&self) -> String {
        match self {
            Standard::ClosedAnvils => "closed anvils".to_owned(),
            Standard::Named { name, .. } => name.clone(),
            Standard::CylinderOverWires { name, .. } => format!("{name} over wires"),
        }
    }
}

/// One zero check.
#[derive(Debug, Clone, PartialEq)]
pub struct ZeroCheck {
    /// What the anvils met.
    pub standard: Standard,
    /// What was read.
    pub reading: Length,
    /// When, in seconds on the caller's clock.
    pub at_seconds: i64,
}

impl ZeroCheck {
    /// What was read too much; negative when too little.
    pub fn offset(&self) -> Length {
        self.reading - self.standard.should_read()
    }
}

/// What a zero check must meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZeroRule {
    tolerance: Length,
    oldest_seconds: i64,
}

/// Why a rule was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ZeroRuleError {
    /// The tolerance.
    #[error("the tolerance of a zero check must be above 0, found {found_mm} mm")]
    ToleranceNotPositive {
        /// What was given.
        found_mm: f64,
    },
    /// The age.
    #[error("the age of a zero check must be 1 to 10080 minutes, found {found_minutes}")]
    AgeOutOfRange {
        /// What was given.
        found_minutes: i64,
    },
}

impl ZeroRuleError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            ZeroRuleError::ToleranceNotPositive { .. } => "tolerance-not-positive",
            ZeroRuleError::AgeOutOfRange { .. } => "age-out-of-range",
        }
    }
}

impl ZeroRule {
    /// A rule: how far off, either way, a check may be, and how old.
    ///
    /// # Errors
    /// A tolerance that is not above zero; an age outside one minute to seven days.
    pub fn checked(tolerance: Length, oldest_minutes: i64) -> Result<ZeroRule, ZeroRuleError> {
        if tolerance <= Length::ZERO {
            return Err(ZeroRuleError::ToleranceNotPositive {
                found_mm: tolerance.mm(),
            });
        }
        if !(1..=7 * 24 * 60).contains(&oldest_minutes) {
            return Err(ZeroRuleError::AgeOutOfRange {
                found_minutes: oldest_minutes,
            });
        }
        Ok(ZeroRule {
            tolerance,
            oldest_seconds: oldest_minutes * 60,
        })
    }

    /// Where the last check stands at this moment. An offset outside the tolerance is told before
    /// an age that is too high: it is the graver of the two.
    pub fn standing(&self, last: Option<&ZeroCheck>, now_seconds: i64) -> ZeroStanding {
        let Some(check) = last else {
            return ZeroStanding::Missing;
        };
        let offset = check.offset();
        let age_seconds = now_seconds.saturating_sub(check.at_seconds);
        if offset.abs() > self.tolerance + FLOAT_NOISE {
            ZeroStanding::OffBy {
                offset,
                tolerance: self.tolerance,
                age_seconds,
            }
        } else if age_seconds < 0 {
            ZeroStanding::ClockWentBack {
                by_seconds: age_seconds.saturating_neg(),
            }
        } else if age_seconds > self.oldest_seconds {
            ZeroStanding::Old {
                offset,
                age_seconds,
                oldest_seconds: self.oldest_seconds,
            }
        } else {
            ZeroStanding::Within {
                offset,
                age_seconds,
            }
        }
    }
}

/// Where the last zero check stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ZeroStanding {
    /// Within the tolerance and young enough.
    Within {
        /// What was read too much.
        offset: Length,
        /// How old it is.
        age_seconds: i64,
    },
    /// Off by more than the tolerance.
    OffBy {
        /// What was read too much.
        offset: Length,
        /// What is allowed, either way.
        tolerance: Length,
        /// How old it is.
        age_seconds: i64,
    },
    /// Within the tolerance, but too long ago.
    Old {
        /// What was read too much.
        offset: Length,
        /// How old it is.
        age_seconds: i64,
        /// How old it may be.
        oldest_seconds: i64,
    },
    /// The check is dated later than now: its age is not known.
    ClockWentBack {
        /// How much later.
        by_seconds: i64,
    },
    /// There was none.
    Missing,
}

impl ZeroStanding {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            ZeroStanding::Within { .. } => "within",
            ZeroStanding::OffBy { .. } => "off_by",
            ZeroStanding::Old { .. } => "old",
            ZeroStanding::ClockWentBack { .. } => "clock_went_back",
            ZeroStanding::Missing => "missing",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self {
            ZeroStanding::Within { age_seconds, .. } => {
                format!("Zero checked {} ago.", age_words(*age_seconds))
            }
            ZeroStanding::OffBy {
                offset, tolerance, ..
            } => format!(
                "The zero is off: {} too {}, and {} is allowed. Wipe the anvils, set the zero and \
                 check again.",
                offset.abs().to_text(unit, places),
                if *offset > Length::ZERO {
                    "much"
                } else {
                    "little"
                },
                tolerance.to_text(unit, places)
            ),
            ZeroStanding::Old {
                age_seconds,
                oldest_seconds,
                ..
            } => format!(
                "The last zero check was {} ago, and it may be {} old. Check the zero again.",
                age_words(*age_seconds),
                age_words(*oldest_seconds)
            ),
            ZeroStanding::ClockWentBack { by_seconds } => format!(
                "The last zero check is dated {} later than now: the clock was set back. Check the \
                 zero again.",
                age_words(*by_seconds)
            ),
            ZeroStanding::Missing => "The zero was not checked. Close the anvils, or measure a \
                                      standard, before the first reading."
                .to_owned(),
        }
    }

    /// Whether a job may be started now.
    ///
    /// # Errors
    /// [`StartRefused`] when the check does not stand and no reason is given.
    ///
    /// ```
    /// use overwire_core::units::Length;
    /// use overwire_core::zero_check::{Start, ZeroRule, ZeroStanding};
    /// let rule = ZeroRule::checked(Length::from_mm(0.002)?, 240)?;
    /// let standing = rule.standing(None, 0);
    /// assert_eq!(standing.start(None).unwrap_err().standing, ZeroStanding::Missing);
    /// let started = standing.start(Some("standard is at calibration"))?;
    /// assert_eq!(started.code(), "without_check");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn start(self, reason: Option<&str>) -> Result<Start, StartRefused> {
        let reason = reason.map(str::trim).filter(|reason| !reason.is_empty());
        match (self, reason) {
            (ZeroStanding::Within { .. }, _) => Ok(Start::Checked),
            (standing, Some(reason)) => Ok(Start::WithoutCheck {
                standing,
                reason: reason.to_owned(),
            }),
            (standing, None) => Err(StartRefused { standing }),
        }
    }
}

/// How a job was started.
#[derive(Debug, Clone, PartialEq)]
pub enum Start {
    /// With a zero check that stands.
    Checked,
    /// Without one, for a reason that belongs in the record.
    WithoutCheck {
        /// Where the check stood.
        standing: ZeroStanding,
        /// The reason, as given.
        reason: String,
    },
}

impl Start {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Start::Checked => "checked",
            Start::WithoutCheck { .. } => "without_check",
        }
    }
}

/// A start without a zero check that stands, and without a reason.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("expected a zero check that stands or a reason to start without one, found the check {}", .standing.code())]
pub struct StartRefused {
    /// Where the check stands.
    pub standing: ZeroStanding,
}

impl StartRefused {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "zero-not-checked"
    }
}

/// An age in words: `40 s`, `12 min`, `3 h 5 min`, `2 d 4 h`.
pub fn age_words(seconds: i64) -> String {
    let seconds = seconds.max(0);
    let minutes = seconds / 60;
    let (hours, days) = (minutes / 60, minutes / 1440);
    match (days, hours, minutes) {
        (0, 0, 0) => format!("{seconds} s"),
        (0, 0, minutes) => format!("{minutes} min"),
        (0, hours, minutes) => format!("{hours} h {} min", minutes % 60),
        (days, hours, _) => format!("{days} d {} h", hours % 24),
    }
}
