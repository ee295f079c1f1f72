//! What the page says, in one line for the terminal.

use overwire_tools::instrument::Sent;
use serde_json::Value;

use crate::floor::Told;

/// One line: what was pressed at which station, and what the page says of it.
pub fn line(station: &str, told: &Told) -> String {
    let page = match &told.reading {
        Some(reading) => of_reading(reading),
        None => "the page shows no reading for it (a frame it cannot read is counted as refused)"
            .to_owned(),
    };
    format!("{station:<8} {}  ->  {page}", of_press(&told.sent))
}

fn of_press(sent: &Sent) -> String {
    let progress = sent.progress;
    let pass = match progress.passes {
        1 => "finished".to_owned(),
        passes => format!("pass {} of {passes}", progress.pass),
    };
    let mistake = sent
        .mistake
        .map(|mistake| format!(", {}", mistake.words()))
        .unwrap_or_default();
    let piece = progress.piece;
    format!(
        "piece {piece}, {pass}{mistake}: {} {}",
        sent.shown.text(),
        sent.shown.unit.as_str()
    )
}

/// Verdict, pitch diameter, what is left to cut, and why a reading does not count.
fn of_reading(reading: &Value) -> String {
    let text = |name: &str| reading[name].as_str().filter(|text| !text.is_empty());
    let unit = text("unit").unwrap_or_default();
    let mut parts = Vec::new();
    if let Some(sentence) = reading["held"]["sentence"].as_str() {
        parts.push(format!("HELD, the page asks: {sentence}"));
    } else {
        parts.extend(text("words").map(str::to_owned));
    }
    parts.extend(text("pitch_diameter").map(|size| format!("pitch diameter {size} {unit}")));
    parts.extend(text("left").map(str::to_owned));
    if reading["counted"] == false {
        let flags = reading["flags"].as_array().map_or(&[][..], Vec::as_slice);
        let flags: Vec<String> = flags
            .iter()
            .filter_map(Value::as_str)
            .map(|flag| flag.replace('_', " "))
            .collect();
        let why = if flags.is_empty() {
            String::new()
        } else {
            format!(" ({})", flags.join(", "))
        };
        parts.push(format!("kept, not counted{why}"));
    }
    parts.join(" | ")
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_reading_is_told_in_one_line() {
        let reading = json!({
            "words": "STILL TO CUT", "pitch_diameter": "1.00711", "unit": "in",
            "left": "0.0033 in to go to the middle", "counted": true, "flags": [], "held": null,
        });
        assert_eq!(
            of_reading(&reading),
            "STILL TO CUT | pitch diameter 1.00711 in | 0.0033 in to go to the middle"
        );
    }

    #[test]
    fn what_does_not_count_says_why() {
        let reading = json!({
            "words": "PASS", "pitch_diameter": null, "left": "", "counted": false,
            "flags": ["double_press"],
        });
        assert_eq!(
            of_reading(&reading),
            "PASS | kept, not counted (double press)"
        );
        let held = json!({"words": "", "held": {"sentence": "Is it inch?"}});
        assert_eq!(of_reading(&held), "HELD, the page asks: Is it inch?");
    }
}
