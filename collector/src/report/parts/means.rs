//! What was measured with: instruments and wires with their certificates as they stood at the time of the readings,
//! how the wires were held, how well the pitch diameter is known, by which rule was decided, zero checks.

use super::super::equipment::{Equipment, MOST_ZEROS, Use};
use super::super::gather::Gathered;
use super::super::html::{Table, free, list, paragraph, plain, time};
use super::{counted, section};
use crate::register::forms::{InstrumentForm, WireSetForm};

/// The section.
pub fn means(gathered: &Gathered) -> String {
    let equipment = &gathered.equipment;
    let html = instruments(equipment) + &wires(equipment) + &ways(equipment) + &zeros(equipment);
    section("Measured with", &html)
}

/// How a calibration stood, as each reading noted it when it was made.
fn stood(used: Use, due: &str) -> String {
    let readings = counted(used.readings, "reading");
    match (used.overdue, due) {
        (0, "") => format!("no due date given; {readings}"),
        (0, _) => format!("in date for {readings}"),
        (overdue, _) if overdue == used.readings => {
            format!("<strong>OVERDUE</strong> on the day of {readings}")
        }
        (overdue, _) => format!(
            "<strong>OVERDUE</strong> on the day of {overdue} of {readings}, in date for the others"
        ),
    }
}

fn instruments(equipment: &Equipment) -> String {
    let columns = [
        "Instrument",
        "Serial number",
        "Certificate",
        "Calibration due",
        "When used",
        "Resolution, largest error",
    ];
    let mut table = Table::new("means", "Instruments", &columns);
    for ((name, entry), used) in &equipment.instruments {
        let cells = match equipment.instrument(*entry) {
            Some(form) => instrument(name, form, *used),
            None => {
                let told = "<strong>not in the register</strong>".to_owned();
                let readings = counted(used.readings, "reading");
                let dash = || "–".to_owned();
                vec![free(name), told, dash(), dash(), readings, dash()]
            }
        };
        table.row(&cells);
    }
    table.end()
}

fn instrument(name: &str, form: &InstrumentForm, used: Use) -> Vec<String> {
    let length = |text: &str| match text {
        "" => "–".to_owned(),
        text => format!("{} {}", plain(text), plain(&form.unit)),
    };
    vec![
        free(name),
        free(&form.serial),
        free(&form.certificate),
        free(&form.due),
        stood(used, &form.due),
        format!("{}, {}", length(&form.resolution), length(&form.max_error)),
    ]
}

fn wires(equipment: &Equipment) -> String {
    let columns = [
        "Wire set",
        "Actual diameters",
        "Certificate",
        "Calibration due",
        "When used",
        "Diameters given, known to",
    ];
    let mut table = Table::new("means", "Wires, the one on the single side first", &columns);
    for ((name, entry), used) in &equipment.wire_sets {
        if let Some(form) = equipment.wire_set(*entry) {
            table.row(&wire_set(name, form, *used));
        }
    }
    table.end()
}

fn wire_set(name: &str, form: &WireSetForm, used: Use) -> Vec<String> {
    let diameters = match form.diameters.as_slice() {
        [all] => format!("{} {} (all three)", plain(all), plain(&form.unit)),
        each => format!("{} {}", plain(&each.join(", ")), plain(&form.unit)),
    };
    let given = match form.convention.as_str() {
        "under_load" => "under load",
        "free" => "free",
        _ => "how is not stated",
    };
    let known = match form.uncertainty.as_str() {
        "" => "–".to_owned(),
        text => format!("± {} {} (k = 2)", plain(text), plain(&form.unit)),
    };
    vec![
        free(name),
        diameters,
        free(&form.certificate),
        free(&form.due),
        stood(used, &form.due),
        format!("{given}, {known}"),
    ]
}

/// Methods, uncertainty and decision rules.
fn ways(equipment: &Equipment) -> String {
    let mut said = vec![
        "Method: pitch diameter by measurement over three wires, converted by the exact seat of the wires on the \
         helical flanks."
            .to_owned(),
    ];
    for (method, readings) in &equipment.methods {
        said.push(format!(
            "Wires held: {} ({}).",
            free(method),
            counted(*readings, "reading")
        ));
    }
    for (factor, readings) in &equipment.factors {
        said.push(format!(
            "Uncertainty: expanded, coverage factor k = {}, from the budget as it stood at each reading ({}).",
            plain(factor),
            counted(*readings, "reading")
        ));
    }
    if equipment.without_uncertainty > 0 {
        said.push(format!(
            "Uncertainty: not stated for {}.",
            counted(equipment.without_uncertainty, "reading")
        ));
    }
    for (rule, readings) in &equipment.rules {
        let readings = counted(*readings, "reading");
        said.push(match rule.as_str() {
            "" => format!(
                "Decision rule: the unrounded pitch diameter is compared with the limits; a value on a limit passes \
                 ({readings})."
            ),
            rule => format!("Decision rule: {} ({readings}).", plain(rule.trim_end_matches('.'))),
        });
    }
    for (why, readings) in &equipment.without_verdict {
        said.push(format!(
            "No verdict for {}: {why}.",
            counted(*readings, "reading")
        ));
    }
    list(&said)
}

fn zeros(equipment: &Equipment) -> String {
    let mut html = String::new();
    if !equipment.zeros.is_empty() {
        let columns = [
            "Instrument",
            "Zero checked",
            "Showed too much",
            "May be off by",
            "Stood",
            "Readings on it",
        ];
        let mut table = Table::new("zeros", "Zero checks", &columns);
        for ((name, zero, unit), readings) in &equipment.zeros {
            let stood = if zero.stands {
                "yes"
            } else {
                "<strong>NO</strong>: off, or too old"
            };
            table.row(&[
                free(name),
                time(&zero.at),
                format!("{} {unit}", plain(&zero.off)),
                format!("{} {unit}", plain(&zero.tolerance)),
                stood.to_owned(),
                readings.to_string(),
            ]);
        }
        html.push_str(&table.end());
    }
    if equipment.more_zeros {
        html.push_str(&paragraph(&format!(
            "More than the {MOST_ZEROS} zero checks listed; every reading in the CSV export names its own."
        )));
    }
    if equipment.without_zero > 0 {
        html.push_str(&paragraph(&format!(
            "Zero check: none that stood is recorded for {}.",
            counted(equipment.without_zero, "reading")
        )));
    }
    html
}
