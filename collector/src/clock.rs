//! The clock, passed in so that time can be tested.

use std::sync::OnceLock;

use serde::Serialize;

/// The moment something happened, three ways, so that a clock that was set can be told from time
/// that passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Stamp {
    /// Wall clock, microseconds since 1970-01-01T00:00:00Z.
    pub wall_us: i64,
    /// The shop's offset from UTC at that moment, seconds east.
    pub utc_offset_s: i32,
    /// Time since the machine was started, nanoseconds, suspended time included.
    pub mono_ns: i64,
}

/// Tells the time.
pub trait Clock: Send + Sync {
    /// Now.
    fn now(&self) -> Stamp;
    /// Which start of the machine `mono_ns` counts from.
    fn boot_id(&self) -> [u8; 16];
}

/// The machine's own clock.
#[derive(Debug)]
pub struct SystemClock {
    zone: jiff::tz::TimeZone,
    boot_id: OnceLock<[u8; 16]>,
}

impl SystemClock {
    /// A clock in the machine's time zone.
    pub fn new() -> Self {
        SystemClock {
            zone: jiff::tz::TimeZone::system(),
            boot_id: OnceLock::new(),
        }
    }
}

impl Default for SystemClock {
    fn default() -> Self {
        Self::new()
    }
}

impl Clock for SystemClock {
    fn now(&self) -> Stamp {
        let wall = jiff::Timestamp::now();
        let since_boot = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
        Stamp {
            wall_us: wall.as_microsecond(),
            utc_offset_s: self.zone.to_offset(wall).seconds(),
            mono_ns: since_boot.tv_sec * 1_000_000_000 + since_boot.tv_nsec,
        }
    }

    fn boot_id(&self) -> [u8; 16] {
        *self.boot_id.get_or_init(|| {
            std::fs::read_to_string("/proc/sys/kernel/random/boot_id")
                .ok()
                .and_then(|text| uuid::Uuid::parse_str(text.trim()).ok())
                .map_or([0; 16], uuid::Uuid::into_bytes)
        })
    }
}

/// ISO 8601 with offset, to the millisecond: `2026-03-04T09:14:05.120+00:00`.
pub fn iso(wall_us: i64, utc_offset_s: i32) -> String {
    let mut text = String::with_capacity(29);
    Civil::default().iso(&mut text, wall_us, utc_offset_s);
    text
}

/// Writes moments in the shop's civil time. The calendar is asked once a day, so that writing many moments in
/// their order costs little more than their digits.
#[derive(Debug, Default)]
pub struct Civil {
    day: Option<i64>,
    date: String,
}

impl Civil {
    /// As [`iso`], at the end of a text.
    pub fn iso(&mut self, text: &mut String, wall_us: i64, utc_offset_s: i32) {
        let of_day_us = self.date(text, wall_us, utc_offset_s);
        text.push('T');
        time(text, of_day_us);
        text.push('.');
        digits(text, of_day_us / 1000 % 1000, 100);
        offset(text, utc_offset_s);
    }

    /// Date and time without the offset, as spreadsheets read it: `2026-03-04 09:14:05`.
    pub fn plain(&mut self, text: &mut String, wall_us: i64, utc_offset_s: i32) {
        let of_day_us = self.date(text, wall_us, utc_offset_s);
        text.push(' ');
        time(text, of_day_us);
    }

    /// Writes the date; gives the microseconds since midnight.
    fn date(&mut self, text: &mut String, wall_us: i64, utc_offset_s: i32) -> i64 {
        let day = shop_day(wall_us, utc_offset_s);
        if self.day != Some(day) {
            let date = local(wall_us, utc_offset_s).date();
            self.date = date.to_string();
            self.day = Some(day);
        }
        text.push_str(&self.date);
        wall_us + i64::from(utc_offset_s) * 1_000_000 - day * 86_400_000_000
    }
}

/// The offset from UTC as `+01:00`.
pub fn offset(text: &mut String, utc_offset_s: i32) {
    text.push(if utc_offset_s < 0 { '-' } else { '+' });
    let minutes = i64::from(utc_offset_s.unsigned_abs() / 60);
    digits(text, minutes / 60, 10);
    text.push(':');
    digits(text, minutes % 60, 10);
}

fn time(text: &mut String, of_day_us: i64) {
    let seconds = of_day_us / 1_000_000;
    digits(text, seconds / 3600, 10);
    text.push(':');
    digits(text, seconds / 60 % 60, 10);
    text.push(':');
    digits(text, seconds % 60, 10);
}

/// A number with its leading zeros, from the given power of ten down.
fn digits(text: &mut String, number: i64, mut power: i64) {
    while power > 0 {
        text.push(char::from(b'0' + (number / power % 10) as u8));
        power /= 10;
    }
}

/// The shop's civil time of a moment.
pub fn local(wall_us: i64, utc_offset_s: i32) -> jiff::civil::DateTime {
    let offset = jiff::tz::Offset::from_seconds(utc_offset_s).unwrap_or(jiff::tz::Offset::UTC);
    let moment = jiff::Timestamp::from_microsecond(wall_us).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    offset.to_datetime(moment)
}

/// The day a moment falls on in the shop, as days since 1970-01-01.
pub fn shop_day(wall_us: i64, utc_offset_s: i32) -> i64 {
    (wall_us + i64::from(utc_offset_s) * 1_000_000).div_euclid(86_400_000_000)
}

/// A day, days since 1970-01-01, as `2027-01-31`.
pub fn day_text(day: i64) -> String {
    let first = jiff::civil::date(1970, 1, 1);
    let date = jiff::Span::new()
        .try_days(day)
        .and_then(|days| first.checked_add(days));
    date.map_or_else(|_| "–".to_owned(), |date| date.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_carry_their_offset() {
        assert_eq!(iso(0, 0), "1970-01-01T00:00:00.000+00:00");
        assert_eq!(iso(1_500_000, -12_600), "1969-12-31T20:30:01.500-03:30");
    }

    #[test]
    fn moments_are_written_as_the_calendar_has_them() {
        let mut civil = Civil::default();
        for wall_us in (-90_000_000_000_000..4_000_000_000_000_000).step_by(1_234_567_891_011) {
            for offset_s in [0, 3600, -12_600, 20_700, 50_400] {
                let local = local(wall_us, offset_s);
                let mut text = String::new();
                civil.plain(&mut text, wall_us, offset_s);
                assert_eq!(text, local.strftime("%Y-%m-%d %H:%M:%S").to_string());
                text.clear();
                civil.iso(&mut text, wall_us, offset_s);
                let wanted = local.strftime("%Y-%m-%dT%H:%M:%S%.3f").to_string();
                assert_eq!(text[..23], wanted, "{wall_us} {offset_s}");
            }
        }
    }

    #[test]
    fn the_day_turns_at_the_shop_s_midnight() {
        assert_eq!(day_text(0), "1970-01-01");
        assert_eq!(day_text(20_849), "2027-01-31");
        assert_eq!(shop_day(0, 0), 0);
        assert_eq!(shop_day(0, -3600), -1);
        assert_eq!(shop_day(86_399_999_999, 1), 1);
    }
}
