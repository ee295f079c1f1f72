//! The invented Tarn Mill Machine Shop: its settings, registers, jobs and stations.

use std::net::{Ipv4Addr, TcpListener};
use std::time::{SystemTime, UNIX_EPOCH};

use overwire_core::units::Unit;
use overwire_tools::display::Display;
use overwire_tools::encoder::{Encoder, LineEnd, Shape};
use overwire_tools::http::Page;
use overwire_tools::instrument::Settings;
use overwire_tools::workpiece::Workpiece;
use serde_json::{Value, json};

use crate::folder::{Folder, SETTINGS_HEAD};

/// One station of the shop with the job it works on.
#[derive(Debug)]
pub struct Station {
    pub name: &'static str,
    pub instrument: &'static str,
    pub unit: Unit,
    pub shape: Shape,
    pub profile: &'static str,
    pub job: &'static str,
    pub feature: &'static str,
    pub wire_set: &'static str,
    pub operator: &'static str,
    /// Purpose of its first reading.
    pub purpose: &'static str,
    /// Size of the standard that its micrometer's zero is checked on, mm.
    pub standard_mm: f64,
    /// Limits over the wires, in the station's unit, from outside the program: the pitch diameter
    /// limits of ASME B1.1's and ISO 965-1's formulas, taken over the wires with the customary
    /// small-angle lead term, by a script of its own. Good to a display step.
    pub window: (f64, f64),
}

/// The lathe at which the stud ends are cut.
pub const LATHE: Station = Station {
    name: "lathe-1",
    instrument: "MIC-07",
    unit: Unit::Inch,
    shape: Shape::DecimalLine,
    profile: "decimal-line",
    job: "J-2417",
    feature: "stud end",
    wire_set: "WS-12A",
    operator: "AK",
    purpose: "cutting",
    standard_mm: 25.4,
    window: (1.07319, 1.07889),
};

/// The bench at which the grinding spindles are inspected.
pub const BENCH: Station = Station {
    name: "bench-2",
    instrument: "MIC-11",
    unit: Unit::Millimetre,
    shape: Shape::DecimalUnitLine,
    profile: "decimal-unit-line",
    job: "J-2431",
    feature: "locknut thread",
    wire_set: "WS-M150",
    operator: "BR",
    purpose: "inspecting",
    standard_mm: 25.0,
    window: (40.230, 40.325),
};

/// The simulated micrometer of a station.
pub fn micrometer(station: &Station, folder: &Folder, seed: u64) -> Settings {
    let display = Display::customary(station.unit);
    let workpiece = match station.unit {
        Unit::Inch => Workpiece::stud_end(),
        Unit::Millimetre => Workpiece::spindle().finished(),
    };
    Settings {
        link: folder.file(station.name),
        workpiece,
        repeatability_mm: display.step_mm(),
        display,
        encoder: Encoder {
            shape: station.shape,
            end: LineEnd::Crlf,
            channel: String::new(),
        },
        mistake_rate: 0.0,
        noise_rate: 0.0,
        seed,
    }
}

/// The settings file.
pub fn settings(folder: &Folder, page_port: u16) -> String {
    let mut text = format!(
        "{SETTINGS_HEAD}\nversion = 1\n\n[shop]\nname = \"Tarn Mill Machine Shop\"\n\
         methods = [\"by hand\", \"rubber strips\", \"spring holder\"]\n\
         operators = [\"AK\", \"BR\"]\n\n[record]\nfile = \"record.db\"\n\n\
         [page]\nlisten = \"127.0.0.1:{page_port}\"\n\n\
         [uncertainty]\npitch_mm = 0.003\nflank_angle_deg = 0.5\nrepeatability_mm = 0.0015\n"
    );
    for station in [&LATHE, &BENCH] {
        let port = folder.file(station.name).to_string_lossy().into_owned();
        text.push_str(&format!(
            "\n[[station]]\nname = \"{}\"\nport = {}\nprofile = \"{}\"\ninstrument = \"{}\"\n\
             unit = \"{}\"\n",
            station.name,
            // A JSON string is a TOML basic string too.
            Value::String(port),
            station.profile,
            station.instrument,
            station.unit.as_str(),
        ));
        if station.purpose == "cutting" {
            text.push_str(LATHE_DIALS);
        }
    }
    text
}

/// The lathe at the first station.
const LATHE_DIALS: &str = "[station.lathe]\nslide = \"compound\"\ncompound_dial = \"radius\"\n\
    compound_division = 0.001\ncompound_angle_deg = 29.5\n";

/// 7070 if it is free, else 0: any free port.
pub fn free_page_port() -> u16 {
    const CUSTOMARY: u16 = 7070;
    match TcpListener::bind((Ipv4Addr::LOCALHOST, CUSTOMARY)) {
        Ok(_) => CUSTOMARY,
        Err(_) => 0,
    }
}

/// Registers instruments, wire sets and jobs.
pub fn register(page: &Page) -> anyhow::Result<()> {
    let due = format!("{}-01-31", this_year() + 1);
    for (path, bodies) in [
        ("/api/instruments", instruments(&due)),
        ("/api/wire-sets", wire_sets(&due)),
        ("/api/jobs", jobs()),
        ("/api/studies", studies()),
    ] {
        for body in bodies {
            page.post(path, &body)?;
        }
    }
    Ok(())
}

/// What the first readings of a station are tagged with.
pub fn tags(station: &Station) -> Value {
    json!({
        "job": station.job, "feature": station.feature, "wire_set": station.wire_set,
        "method": "by hand", "operator": station.operator, "purpose": station.purpose,
    })
}

fn instruments(due: &str) -> [Value; 2] {
    [
        json!({
            "instrument": "MIC-07", "serial": "TM-0307", "range_min": "1", "range_max": "2",
            "unit": "in", "resolution": "0.00005", "certificate": "C-1182", "due": due, "by": "AK",
            "max_error": "0.0001", "force_n": "8", "zero_standard": "1", "zero_tolerance": "0.0001",
        }),
        json!({
            "instrument": "MIC-11", "serial": "TM-0311", "range_min": "25", "range_max": "50",
            "unit": "mm", "resolution": "0.001", "certificate": "C-1183", "due": due, "by": "AK",
            "max_error": "0.002", "force_n": "8", "zero_standard": "25", "zero_tolerance": "0.002",
        }),
    ]
}

fn wire_sets(due: &str) -> [Value; 2] {
    let set = |name: &str, unit: &str, diameter: &str, uncertainty: &str| {
        json!({
            "wire_set": name, "unit": unit, "diameters": [diameter, diameter, diameter],
            "certificate": "C-1190", "convention": "under_load", "due": due, "by": "AK",
            "uncertainty": uncertainty,
        })
    };
    [
        set("WS-12A", "in", "0.04811", "0.00002"),
        set("WS-M150", "mm", "0.866", "0.0005"),
    ]
}

fn jobs() -> [Value; 2] {
    let job = |station: &Station, drawing: &str, revision: &str, thread: &str| {
        json!({
            "job": station.job, "drawing": drawing, "drawing_revision": revision, "order": "",
            "lot": "", "readings_a_piece": 1, "by": "AK",
            "features": [{
                "name": station.feature, "thread": thread, "wire_set": station.wire_set,
            }],
        })
    };
    [
        job(&LATHE, "HF-1716-03", "C", "1 1/16-12 UN-2A"),
        job(&BENCH, "SP-40-0007", "A", "M40x1.5-4h"),
    ]
}

/// Plans for the bench's micrometer that wait to be gone on with: its bias over its range, and a weekly look
/// at one master.
fn studies() -> [Value; 2] {
    let master = |nominal: &str, size: &str| {
        json!({
            "master": format!("SM-{nominal}"), "size": size, "unit": "mm", "uncertainty": "0.0006",
            "certificate": "C-1207",
        })
    };
    let range = [
        ("25", "24.9998"),
        ("30", "30.0003"),
        ("35", "35.0001"),
        ("40", "39.9997"),
        ("50", "50.0004"),
    ];
    let masters: Vec<Value> = range.map(|(nominal, size)| master(nominal, size)).into();
    let plan = |study: &str, kind: &str, masters: &[Value], more: Value| {
        let mut form = json!({
            "study": study, "kind": kind, "over": "plain", "masters": masters,
            "instrument": BENCH.instrument, "operators": [BENCH.operator], "by": "AK",
        });
        if let (Some(form), Some(more)) = (form.as_object_mut(), more.as_object()) {
            form.extend(more.clone());
        }
        form
    };
    let whole = json!({ "rounds": 5 });
    let weekly = json!({ "rounds": 3, "every_days": 7 });
    [
        plan("range of MIC-11", "linearity", &masters, whole),
        plan("MIC-11 week by week", "stability", &masters[3..4], weekly),
    ]
}

/// The year, to within a day at its turn.
fn this_year() -> u64 {
    const SECONDS_A_YEAR: u64 = 31_556_952;
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    1970 + since.as_secs() / SECONDS_A_YEAR
}
