//! Settings of the charts for small shifts, as they are written, and how long such a chart stays silent, in words.

use std::str::FromStr;

use thiserror::Error;

use super::cusum::CusumSettings;
use super::ewma::EwmaSettings;
use crate::decimal::format_to;

/// Limits further out than this are none: in sigma. Our own figure.
const WIDEST: f64 = 20.0;
/// A decision limit above this is none: in sigma. Our own figure.
const HIGHEST: f64 = 100.0;
/// An average run length above this is not told by its digits.
const LONGEST: f64 = 1e5;

/// Settings that cannot be had as they are written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("expected {wanted}, found `{found}`")]
pub struct ShiftSettingsError {
    /// What it takes.
    pub wanted: &'static str,
    /// What was written.
    pub found: String,
}

fn refused(wanted: &'static str, found: &str) -> ShiftSettingsError {
    ShiftSettingsError {
        wanted,
        found: found.to_owned(),
    }
}

/// A number within what makes sense.
fn number(
    text: &str,
    wanted: &'static str,
    sensible: impl Fn(f64) -> bool,
) -> Result<f64, ShiftSettingsError> {
    let number = text.parse().ok().filter(|&number| sensible(number));
    number.ok_or_else(|| refused(wanted, text))
}

fn parts(said: &str) -> Vec<&str> {
    let parts = said.split([',', ' ', ';']);
    parts.filter(|part| !part.is_empty()).collect()
}

/// Weight and limits: `0.2,2.962`.
///
/// ```
/// use overwire_core::stats::ewma::EwmaSettings;
/// let settings: EwmaSettings = "0.1, 2.7".parse()?;
/// assert_eq!((settings.weight, settings.width), (0.1, 2.7));
/// let refused = "1.5,3".parse::<EwmaSettings>().unwrap_err();
/// assert_eq!(refused.to_string(), "expected a weight above 0 and at most 1, found `1.5`");
/// # Ok::<(), overwire_core::stats::small_shifts::ShiftSettingsError>(())
/// ```
impl FromStr for EwmaSettings {
    type Err = ShiftSettingsError;

    fn from_str(said: &str) -> Result<EwmaSettings, ShiftSettingsError> {
        let [weight, width] = parts(said)[..] else {
            return Err(refused("a weight and limits in sigma, as 0.2,2.962", said));
        };
        let weight = number(weight, "a weight above 0 and at most 1", |weight| {
            weight > 0.0 && weight <= 1.0
        });
        Ok(EwmaSettings {
            weight: weight?,
            width: number(width, "limits above 0 and at most 20 sigma", |width| {
                width > 0.0 && width <= WIDEST
            })?,
        })
    }
}

/// Allowance and decision limit, with a head start of half the limit where that is said: `0.5,5`, `0.5,5,half`.
///
/// ```
/// use overwire_core::stats::cusum::CusumSettings;
/// let settings: CusumSettings = "0.5,4,half".parse()?;
/// assert_eq!((settings.allowance, settings.decision, settings.head_start), (0.5, 4.0, 2.0));
/// assert!("0.5,4,third".parse::<CusumSettings>().is_err());
/// # Ok::<(), overwire_core::stats::small_shifts::ShiftSettingsError>(())
/// ```
impl FromStr for CusumSettings {
    type Err = ShiftSettingsError;

    fn from_str(said: &str) -> Result<CusumSettings, ShiftSettingsError> {
        let (allowance, decision, start) = match parts(said)[..] {
            [allowance, decision] => (allowance, decision, None),
            [allowance, decision, start] => (allowance, decision, Some(start)),
            _ => {
                let wanted = "an allowance and a limit in sigma, as 0.5,5 or 0.5,5,half";
                return Err(refused(wanted, said));
            }
        };
        let allowance = number(allowance, "an allowance from 0 to 20 sigma", |allowance| {
            (0.0..=WIDEST).contains(&allowance)
        });
        let settings = CusumSettings {
            allowance: allowance?,
            decision: number(decision, "a limit above 0 and at most 100 sigma", |limit| {
                limit > 0.0 && limit <= HIGHEST
            })?,
            head_start: 0.0,
        };
        match start {
            None => Ok(settings),
            Some("half") => Ok(settings.with_head_start()),
            Some(start) => Err(refused("half for a head start, or nothing", start)),
        }
    }
}

impl EwmaSettings {
    /// How long it stays silent, in a sentence; with the lasting limits.
    pub fn silence_words(&self) -> String {
        words(|shift| self.points_to_signal(shift))
    }
}

impl CusumSettings {
    /// How long it stays silent, in a sentence.
    pub fn silence_words(&self) -> String {
        words(|shift| self.points_to_signal(shift))
    }
}

fn words(points_to_signal: impl Fn(f64) -> Option<f64>) -> String {
    let after = |shift| points_to_signal(shift).map(points);
    match (after(0.0), after(1.0)) {
        (Some(chance), Some(shifted)) => format!(
            "Of normal readings chance alone gives a signal every {chance} points on average; a shift of one sigma \
             is found after {shifted}."
        ),
        _ => "How long it stays silent on average is not worked out for such settings.".to_owned(),
    }
}

fn points(length: f64) -> String {
    match length {
        long if long > LONGEST => format!("more than {}", format_to(LONGEST, 0)),
        many if many >= 100.0 => format_to(many, 0),
        few => format_to(few, 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_makes_no_sense_is_refused_in_plain_words() {
        let wanted = |error: ShiftSettingsError| error.wanted;
        for (said, told) in [
            ("", "a weight and limits"),
            ("0.2", "a weight and limits"),
            ("0,2,2,962", "a weight and limits"),
            ("0,3", "a weight above 0"),
            ("1.01,3", "a weight above 0"),
            ("NaN,3", "a weight above 0"),
            ("0.2,0", "limits above 0"),
            ("0.2,inf", "limits above 0"),
            ("0.2,-3", "limits above 0"),
        ] {
            let error = said.parse::<EwmaSettings>().map_err(wanted).unwrap_err();
            assert!(error.starts_with(told), "{said}: {error}");
        }
        for (said, told) in [
            ("0.5", "an allowance and a limit"),
            ("0.5,5,half,half", "an allowance and a limit"),
            ("-0.1,5", "an allowance from 0"),
            ("half,5", "an allowance from 0"),
            ("0.5,0", "a limit above 0"),
            ("0.5,101", "a limit above 0"),
            ("0.5,5,2", "half for a head start"),
        ] {
            let error = said.parse::<CusumSettings>().map_err(wanted).unwrap_err();
            assert!(error.starts_with(told), "{said}: {error}");
        }
    }

    /// 500 and 10.5 points: R spc 0.6.7 `xewma.arl(0.2, 2.962, mu, sided = "two")`; 465 and 10.4, with a head start
    /// 430 and 6.3: Lucas & Crosier, Technometrics 24 (1982), from memory.
    #[test]
    fn how_long_a_chart_stays_silent_is_told() {
        let ewma = EwmaSettings::default().silence_words();
        assert!(
            ewma.contains("every 500 points") && ewma.contains("after 10.5"),
            "{ewma}"
        );
        let sums = CusumSettings::default();
        let told = sums.silence_words();
        assert!(
            told.contains("every 465 points") && told.contains("after 10.4"),
            "{told}"
        );
        let told = sums.with_head_start().silence_words();
        assert!(
            told.contains("every 430 points") && told.contains("after 6.3"),
            "{told}"
        );
        let rare = CusumSettings {
            decision: 12.0,
            ..sums
        };
        assert!(
            rare.silence_words().contains("more than 100000"),
            "{}",
            rare.silence_words()
        );
        let wide = CusumSettings {
            decision: 90.0,
            ..sums
        };
        assert!(wide.silence_words().contains("not worked out"));
    }
}
