//! Fills a new record with many readings, for benches and for a look at large jobs. Not part of the product.
//!
//! What a daemon would have kept of them is kept: forms of jobs, wires and instruments, each reading judged by the
//! same code, numbered and chained by the same writer, so that `overwire verify` finds it sound. Only the readings
//! are made up, or come from a file.

use std::io::BufRead as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, ensure};
use clap::Parser;
use overwire::clock::Stamp;
use overwire::record::writer::Store as _;
use overwire::record::{
    Change, Entry, Kind, Reading, RecordWriter, Revised, StampedTags, UnitFrom,
};
use overwire::register::measuring::Conditions;
use overwire::register::{Prepared, Register};
use overwire::station::judging::{Circumstances, judge};
use overwire::station::new_head;
use overwire_core::decimal::Decimal;
use overwire_core::judge::Purpose;
use overwire_core::units::{Length, Unit};
use overwire_tests::Dice;
use serde_json::json;

/// Fill a new record with readings over wires of 1/2-20 UNF threads, in inches
///
/// One reading a piece, 1.7 s apart, at several stations in turn. Prints how many entries were written.
#[derive(Debug, Parser)]
struct Arguments {
    /// The record to make; it must not be there yet
    #[arg(long, value_name = "FILE")]
    record: PathBuf,
    /// Write settings for that record too, so that `overwire run` and `export` find it
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// How many readings; with --values at most so many
    #[arg(long, value_name = "N", default_value_t = 1_000_000)]
    readings: usize,
    /// Readings of one job; the next job begins after them
    #[arg(long, value_name = "N", default_value_t = 1_000)]
    a_job: usize,
    /// Stations that measure in turn
    #[arg(long, value_name = "N", default_value_t = 4)]
    stations: usize,
    /// Take the readings from a file, one a line as a display shows them (+0.51130), instead of making them up
    #[arg(long, value_name = "FILE")]
    values: Option<PathBuf>,
    /// Take so many inches off a reading for its pitch diameter, as a simple formula does, instead of the exact
    /// seat of the wires: for comparison with programs that do that
    #[arg(long, value_name = "INCHES")]
    take_off: Option<f64>,
}

/// The pitch diameters allowed, inches.
const LIMITS: [&str; 2] = ["0.4619", "0.4675"];
/// When the first reading is made, microseconds since 1970.
const START_US: i64 = 1_764_000_000_000_000;
const BETWEEN_US: i64 = 1_700_000;
/// Entries of one commit.
const BATCH: usize = 5_000;

fn main() -> anyhow::Result<()> {
    let arguments = Arguments::parse();
    ensure!(
        arguments.a_job > 0 && arguments.stations > 0,
        "--a-job and --stations must be above 0"
    );
    ensure!(
        !arguments.record.exists(),
        "{} is there already; nothing was written to it",
        arguments.record.display()
    );
    let mut filling = Filling::begin(&arguments)?;
    for (index, text) in texts(&arguments)?.enumerate() {
        filling.take(index, &text?)?;
    }
    filling.flush()?;
    let entries = filling.writer.tip().entry;
    if let Some(settings) = &arguments.settings {
        write_settings(settings, &arguments)?;
    }
    println!("{entries} entries in {}", arguments.record.display());
    Ok(())
}

/// What the displays show, one after the other.
fn texts(
    arguments: &Arguments,
) -> anyhow::Result<Box<dyn Iterator<Item = anyhow::Result<String>>>> {
    if let Some(file) = &arguments.values {
        let opened = std::fs::File::open(file).with_context(|| file.display().to_string())?;
        let lines = std::io::BufReader::new(opened).lines();
        let lines = lines.map(|line| line.map_err(anyhow::Error::from));
        return Ok(Box::new(lines.take(arguments.readings)));
    }
    let mut dice = Dice::new(1);
    let made_up = (0..arguments.readings).map(move |_| {
        let steps: u64 = (0..4).map(|_| dice.below(68)).sum();
        Ok(format!("+0.{}", 51_130 + steps))
    });
    Ok(Box::new(made_up))
}

/// A record that is being filled.
struct Filling {
    writer: RecordWriter,
    register: Register,
    batch: Vec<Entry>,
    stations: Vec<Arc<str>>,
    a_job: usize,
    take_off_mm: Option<f64>,
    active: Option<Active>,
}

/// What is being measured.
struct Active {
    prepared: Prepared,
    instrument: Revised,
}

impl Filling {
    fn begin(arguments: &Arguments) -> anyhow::Result<Filling> {
        let names = (1..=arguments.stations).map(|number| Arc::from(format!("bench-{number}")));
        let mut filling = Filling {
            writer: RecordWriter::open(&arguments.record)?,
            register: Register::default(),
            batch: Vec::with_capacity(BATCH),
            stations: names.collect(),
            a_job: arguments.a_job,
            take_off_mm: arguments.take_off.map(|inches| inches * 25.4),
            active: None,
        };
        filling.tell(
            Kind::Start,
            "",
            json!({ "version": env!("CARGO_PKG_VERSION") }),
        )?;
        let wires = json!({ "wire_set": "WS-30", "unit": "in", "diameters": ["0.03"] });
        filling.tell(Kind::WireSet, "WS-30", wires)?;
        let instrument = json!({ "instrument": "MIC-07", "unit": "in", "resolution": "0.00001" });
        filling.tell(Kind::Instrument, "MIC-07", instrument)?;
        Ok(filling)
    }

    /// Keeps a change, and takes it into the register.
    fn tell(&mut self, kind: Kind, subject: &str, body: serde_json::Value) -> anyhow::Result<()> {
        self.flush()?;
        let mut kept = [Entry::Change(Change {
            head: new_head(&Arc::from(""), stamp(0)),
            kind,
            subject: subject.to_owned(),
            reading: None,
            by: "AK".to_owned(),
            reason: String::new(),
            body: body.to_string(),
        })];
        self.writer.append(&mut kept)?;
        if let [Entry::Change(change)] = &kept {
            self.register.apply(change)?;
        }
        Ok(())
    }

    fn begin_job(&mut self, number: usize) -> anyhow::Result<()> {
        let name = format!("1/2-20 UNF lot {number}");
        let [min, max] = LIMITS;
        let thread = json!({
            "name": "thread", "thread": "1/2-20 UNF-2A", "wire_set": "WS-30",
            "limits": { "unit": "in", "min": min, "max": max },
        });
        let job = json!({ "job": name, "lot": number.to_string(), "features": [thread] });
        self.tell(Kind::Job, &name, job)?;
        let conditions = Conditions {
            instrument: Some("MIC-07"),
            ..Conditions::default()
        };
        let prepared = self
            .register
            .prepare(&name, None, Some("WS-30"), &conditions)
            .context("a job to measure")?;
        let instrument = Revised {
            name: "MIC-07".into(),
            entry: self.register.instruments["MIC-07"].entry,
        };
        self.active = Some(Active {
            prepared,
            instrument,
        });
        Ok(())
    }

    fn take(&mut self, index: usize, text: &str) -> anyhow::Result<()> {
        if index.is_multiple_of(self.a_job) {
            self.begin_job(index / self.a_job + 1)?;
        }
        let reading = self
            .reading(index, text)
            .with_context(|| format!("reading {}: `{text}`", index + 1))?;
        self.batch.push(Entry::Reading(reading));
        match self.batch.len() < BATCH {
            true => Ok(()),
            false => self.flush(),
        }
    }

    fn reading(&self, index: usize, text: &str) -> anyhow::Result<Reading> {
        let active = self.active.as_ref().context("a job")?;
        let station = &self.stations[index % self.stations.len()];
        let number = Decimal::parse(text)?;
        let over_wires = number.length(Unit::Inch)?;
        Ok(Reading {
            head: new_head(station, stamp(index as i64 + 1)),
            raw: text.as_bytes().to_vec(),
            text: text.into(),
            unit: "in",
            unit_from: UnitFrom::Station,
            channel: None,
            tags: Arc::new(StampedTags {
                job: Some(active.prepared.job.clone()),
                feature: Some(active.prepared.feature.clone()),
                piece: (index % self.a_job) as i64 + 1,
                attempt: 1,
                wire_set: active.prepared.wire_set.clone(),
                instrument: active.instrument.clone(),
                method: "by hand".into(),
                operator: Some("AK".into()),
                purpose: "inspecting",
                ..StampedTags::default()
            }),
            judged: self.judged(active, over_wires),
        })
    }

    fn judged(&self, active: &Active, over_wires: Length) -> overwire::record::Judged {
        let circumstances = Circumstances::default();
        let inspecting = Purpose::Inspecting;
        let mut judged = judge(
            Some(&active.prepared),
            over_wires,
            inspecting,
            &circumstances,
        );
        if let Some(less) = self.take_off_mm {
            let mm = over_wires.mm() - less;
            judged.pitch_diameter_mm = Some(mm);
            judged.verdict = match (judged.limit_min_mm, judged.limit_max_mm) {
                (Some(min), _) if mm < min => "fail_under",
                (_, Some(max)) if mm > max => "fail_over",
                _ => "pass",
            };
        }
        judged
    }

    fn flush(&mut self) -> anyhow::Result<()> {
        self.writer.append(&mut self.batch)?;
        self.batch.clear();
        Ok(())
    }
}

fn stamp(number: i64) -> Stamp {
    Stamp {
        wall_us: START_US + number * BETWEEN_US,
        utc_offset_s: 0,
        mono_ns: number * BETWEEN_US * 1_000,
    }
}

/// Settings with the same stations, on ports that need not be there.
fn write_settings(file: &Path, arguments: &Arguments) -> anyhow::Result<()> {
    let record = arguments.record.canonicalize()?;
    let mut text = format!(
        "version = 1\n\n[shop]\nname = \"Tarn Mill Machine Shop\"\nmethods = [\"by hand\"]\n\n\
         [record]\nfile = {:?}\n\n[page]\nlisten = \"127.0.0.1:0\"\n",
        record.display().to_string()
    );
    for number in 1..=arguments.stations {
        text.push_str(&format!(
            "\n[[station]]\nname = \"bench-{number}\"\nport = \"/dev/null-bench-{number}\"\n\
             profile = \"decimal-line\"\ninstrument = \"MIC-07\"\nunit = \"in\"\n"
        ));
    }
    std::fs::write(file, text).with_context(|| file.display().to_string())
}
