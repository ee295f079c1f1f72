//! The first piece: cut pass by pass at the lathe, inspected, and a spindle at the bench. Each step is
//! told in one line and checked against what was really sent.

use std::time::Duration;

use overwire_tools::mistake::Mistake;
use overwire_tools::terminal::say;
use serde_json::Value;

use crate::floor::{Floor, Told};
use crate::shop::Station;
use crate::words;

/// Index of the lathe among the places.
pub const LATHE: usize = 0;
/// Index of the bench among the places.
pub const BENCH: usize = 1;

/// Time in which the wires are hung again: longer than any double press.
const HANG_WIRES: Duration = Duration::from_millis(1800);

/// What was played, and what of it the page does not show as it should.
#[derive(Debug, Default)]
pub struct Account {
    pub sent: usize,
    pub faults: Vec<String>,
}

/// Plays the first piece. `Ok(None)` when it was broken off.
pub fn play(floor: &mut Floor, pause: Duration) -> anyhow::Result<Option<Account>> {
    let mut account = Account::default();
    while !floor.places[LATHE].micrometer.is_finished() {
        if !floor.stop.sleep(pause) {
            return Ok(None);
        }
        let told = floor.act(LATHE, |micrometer| Ok(micrometer.press()?))?;
        account.enter(floor.places[LATHE].station, &told);
    }
    say("         the finished thread is inspected: wires hung again; the button bounces");
    floor.set_purpose(LATHE, "inspecting")?;
    if !floor.stop.sleep(pause.max(HANG_WIRES)) {
        return Ok(None);
    }
    let told = floor.act(LATHE, |micrometer| {
        Ok(micrometer.press_wrongly(Mistake::DoublePress)?)
    })?;
    account.enter(floor.places[LATHE].station, &told);
    if !floor.stop.sleep(pause) {
        return Ok(None);
    }
    let told = floor.act(BENCH, |micrometer| Ok(micrometer.press()?))?;
    account.enter(floor.places[BENCH].station, &told);
    account.compare_record(&floor.state()?["record"]);
    Ok(Some(account))
}

impl Account {
    /// Tells each reading and notes what is not as it should be.
    fn enter(&mut self, station: &Station, told: &[Told]) {
        for told in told {
            say(words::line(station.name, told));
            self.sent += 1;
            self.faults.extend(fault(station, told));
        }
    }

    fn compare_record(&mut self, record: &Value) {
        let entries = record["entries"].as_u64().unwrap_or(0);
        if entries < self.sent as u64 {
            let sent = self.sent;
            self.faults.push(format!(
                "the record has {entries} entries after {sent} readings"
            ));
        }
        if let Some(trouble) = record["trouble"].as_str() {
            self.faults
                .push(format!("the record is in trouble: {trouble}"));
        }
    }
}

/// What is wrong with a reading, if anything is.
fn fault(station: &Station, told: &Told) -> Option<String> {
    let text = told.sent.shown.text();
    let Some(reading) = &told.reading else {
        return Some(format!(
            "{text} at {} never showed on the page",
            station.name
        ));
    };
    if reading["text"] != text.as_str() {
        return Some(format!(
            "{text} at {} shows as {}",
            station.name, reading["text"]
        ));
    }
    let is_double = told.sent.mistake == Some(Mistake::DoublePress);
    if is_double && reading["counted"] != false {
        return Some(format!(
            "the double press of {text} at {} was counted",
            station.name
        ));
    }
    let wanted = verdicts(station, text.parse().unwrap_or(0.0));
    let found = reading["verdict"].as_str().unwrap_or("none");
    if is_double || wanted.contains(&found) {
        return None;
    }
    Some(format!(
        "{text} at {} is judged {found}, not {}",
        station.name,
        wanted.join(" or ")
    ))
}

/// The verdicts that a value may get: one, or two within a display step of a limit.
fn verdicts(station: &Station, value: f64) -> Vec<&'static str> {
    let (min, max) = station.window;
    let near = if max < 10.0 { 0.00005 } else { 0.001 };
    let over = if station.purpose == "cutting" {
        "still_to_cut"
    } else {
        "fail_over"
    };
    let mut verdicts = Vec::new();
    if value >= max - near {
        verdicts.push(over);
    }
    if value <= min + near {
        verdicts.push("fail_under");
    }
    if (min - near..=max + near).contains(&value) {
        verdicts.push("pass");
    }
    verdicts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop;

    #[test]
    fn verdicts_follow_the_limits_from_outside() {
        assert_eq!(verdicts(&shop::LATHE, 1.0790), ["still_to_cut"]);
        assert_eq!(verdicts(&shop::LATHE, 1.0789), ["still_to_cut", "pass"]);
        assert_eq!(verdicts(&shop::LATHE, 1.0760), ["pass"]);
        assert_eq!(verdicts(&shop::LATHE, 1.0731), ["fail_under"]);
        assert_eq!(verdicts(&shop::BENCH, 40.400), ["fail_over"]);
        assert_eq!(verdicts(&shop::BENCH, 40.278), ["pass"]);
    }
}
