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
    let local = local(wall_us, utc_offset_s);
    let sign = if utc_offset_s < 0 { '-' } else { '+' };
    let minutes = utc_offset_s.unsigned_abs() / 60;
    format!(
        "{}{sign}{:02}:{:02}",
        local.strftime("%Y-%m-%dT%H:%M:%S%.3f"),
        minutes / 60,
        minutes % 60
    )
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_carry_their_offset() {
        assert_eq!(iso(0, 0), "1970-01-01T00:00:00.000+00:00");
        assert_eq!(iso(1_500_000, -12_600), "1969-12-31T20:30:01.500-03:30");
    }

    #[test]
    fn the_day_turns_at_the_shop_s_midnight() {
        assert_eq!(shop_day(0, 0), 0);
        assert_eq!(shop_day(0, -3600), -1);
        assert_eq!(shop_day(86_399_999_999, 1), 1);
    }
}
