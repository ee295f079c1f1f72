//! The shop floor: two simulated micrometers, the daemon, and what its page says of each press.

use std::time::{Duration, Instant};

use anyhow::{Context, bail};
use overwire_tools::daemon::{self, Daemon};
use overwire_tools::http::Page;
use overwire_tools::instrument::{Micrometer, Sent};
use overwire_tools::terminal::Stop;
use serde_json::{Value, json};

use crate::folder::Folder;
use crate::shop::{self, Station};

/// How long a committed reading may take to show.
const READING_PATIENCE: Duration = Duration::from_secs(10);

/// How often the page is asked meanwhile.
const LOOK: Duration = Duration::from_millis(40);

/// A station with the micrometer that stands there.
#[derive(Debug)]
pub struct Place {
    pub station: &'static Station,
    pub micrometer: Micrometer,
    /// Purpose its readings have now.
    pub purpose: &'static str,
    /// The newest entry of the record that was seen from here.
    seen: i64,
    /// Frames that the page could not read, so far.
    refused: u64,
    /// The page's number of the piece in the machine.
    page_piece: u64,
}

/// Everything that runs. Fields end in this order: the daemon, the ports, the folder.
#[derive(Debug)]
pub struct Floor {
    daemon: Daemon,
    pub places: [Place; 2],
    pub folder: Folder,
    pub stop: Stop,
}

/// What was sent, and the reading the page shows for it.
#[derive(Debug)]
pub struct Told {
    pub sent: Sent,
    pub reading: Option<Value>,
}

impl Floor {
    /// Plugs the micrometers in, starts the daemon and fills its registers.
    pub fn open(
        program: &std::path::Path,
        folder: Folder,
        page_port: u16,
        seed: u64,
        stop: Stop,
    ) -> anyhow::Result<Floor> {
        let settings = folder.file("overwire.toml");
        std::fs::write(&settings, shop::settings(&folder, page_port))
            .with_context(|| format!("cannot write {}", settings.display()))?;
        let place = |station: &'static Station| -> anyhow::Result<Place> {
            let micrometer = Micrometer::plug_in(shop::micrometer(station, &folder, seed))?;
            let purpose = station.purpose;
            Ok(Place {
                station,
                micrometer,
                purpose,
                seen: 0,
                refused: 0,
                page_piece: 0,
            })
        };
        let places = [place(&shop::LATHE)?, place(&shop::BENCH)?];
        let daemon = Daemon::start(program, &settings, &folder.file("daemon.log"))?;
        let mut floor = Floor {
            daemon,
            places,
            folder,
            stop,
        };
        shop::register(floor.page())?;
        floor.see_what_is_there()?;
        for place in 0..floor.places.len() {
            floor.begin_work(place)?;
        }
        Ok(floor)
    }

    /// Checks the zero on the instrument's standard, then begins the station's job.
    fn begin_work(&mut self, place: usize) -> anyhow::Result<()> {
        let station = self.places[place].station;
        let path = format!("/api/stations/{}/tags", station.name);
        let zero = json!({"purpose": "zero", "operator": station.operator});
        self.page().post(&path, &zero)?;
        let told = self.act(place, |micrometer| {
            Ok(micrometer.press_on_standard(station.standard_mm)?)
        })?;
        let good = |told: &Told| {
            let verdict = told.reading.as_ref().map(|reading| &reading["verdict"]);
            verdict == Some(&json!("zero_within"))
        };
        if !told.iter().all(good) {
            bail!("the zero check at {} is not good: {told:?}", station.name);
        }
        self.page().post(&path, &shop::tags(station))?;
        self.places[place].page_piece = piece(&self.station(station.name)?);
        Ok(())
    }

    /// The daemon's page.
    pub fn page(&self) -> &Page {
        self.daemon.page()
    }

    /// Fails once the daemon has ended by itself.
    pub fn check_daemon(&mut self) -> anyhow::Result<()> {
        if let Some(status) = self.daemon.ended() {
            let said = daemon::last_lines(&self.folder.file("daemon.log"));
            bail!("overwire has ended by itself ({status}); it said: {said}");
        }
        Ok(())
    }

    /// The whole state, as the page has it.
    pub fn state(&mut self) -> anyhow::Result<Value> {
        self.check_daemon()?;
        Ok(self.page().get("/api/state")?)
    }

    /// One station, as the page has it.
    pub fn station(&mut self, name: &str) -> anyhow::Result<Value> {
        let state = self.state()?;
        let stations = state["stations"].as_array();
        let found = stations.and_then(|all| all.iter().find(|station| station["name"] == name));
        found
            .cloned()
            .with_context(|| format!("the page knows no station {name}"))
    }

    /// Does something at a micrometer and waits for the page to show every reading sent.
    pub fn act(
        &mut self,
        place: usize,
        act: impl FnOnce(&mut Micrometer) -> anyhow::Result<Vec<Sent>>,
    ) -> anyhow::Result<Vec<Told>> {
        let sent = act(&mut self.places[place].micrometer)?;
        let mut readings = self.await_readings(place, sent.len())?;
        let all_came = readings.len() == sent.len();
        let told = sent.into_iter().map(|sent| {
            let text = sent.shown.text();
            let found = readings
                .iter()
                .position(|reading| all_came || reading["text"] == text);
            Told {
                reading: found.map(|at| readings.remove(at)),
                sent,
            }
        });
        Ok(told.collect())
    }

    /// Gives the readings to come another purpose.
    pub fn set_purpose(&mut self, place: usize, purpose: &'static str) -> anyhow::Result<()> {
        let path = format!("/api/stations/{}/tags", self.places[place].station.name);
        self.page().post(&path, &json!({ "purpose": purpose }))?;
        self.places[place].purpose = purpose;
        Ok(())
    }

    /// Puts the next blank in the machine, and the page's count of pieces with it.
    pub fn next_piece(&mut self, place: usize) -> anyhow::Result<()> {
        let station = self.places[place].station;
        self.places[place].micrometer.next_piece();
        // The page may go on by itself once a piece has its readings; it is told only if it has not.
        if piece(&self.station(station.name)?) == self.places[place].page_piece {
            let path = format!("/api/stations/{}/piece", station.name);
            self.page().post(&path, &json!({"go": "next"}))?;
        }
        self.places[place].page_piece = piece(&self.station(station.name)?);
        if self.places[place].purpose != station.purpose {
            self.set_purpose(place, station.purpose)?;
        }
        Ok(())
    }

    /// Waits until the link of a station is or is not listening; its sentence.
    pub fn await_link(&mut self, place: usize, listening: bool) -> anyhow::Result<String> {
        let name = self.places[place].station.name;
        let until = Instant::now() + READING_PATIENCE;
        loop {
            let link = self.station(name)?["link"].clone();
            if (link["state"] == "listening") == listening || Instant::now() >= until {
                let state = link["state"].as_str().unwrap_or("unknown");
                return Ok(link["sentence"].as_str().unwrap_or(state).to_owned());
            }
            if !self.stop.sleep(LOOK) {
                bail!("ended");
            }
        }
    }

    /// Waits until each of so many frames shows as a reading or is counted as refused.
    fn await_readings(&mut self, place: usize, count: usize) -> anyhow::Result<Vec<Value>> {
        let until = Instant::now() + READING_PATIENCE;
        loop {
            let station = self.station(self.places[place].station.name)?;
            let newer = newer_than(&station, self.places[place].seen);
            let refused = station["refused_frames"].as_u64().unwrap_or(0);
            let newly_refused = refused.saturating_sub(self.places[place].refused);
            if newer.len() as u64 + newly_refused >= count as u64 || Instant::now() >= until {
                self.places[place].refused = refused;
                if let Some(last) = newer.last() {
                    self.places[place].seen = entry(last);
                }
                return Ok(newer);
            }
            if !self.stop.sleep(LOOK) {
                bail!("ended");
            }
        }
    }

    /// Passes over readings of an earlier run in the same folder.
    fn see_what_is_there(&mut self) -> anyhow::Result<()> {
        for place in 0..self.places.len() {
            self.await_readings(place, 0)?;
            let station = self.station(self.places[place].station.name)?;
            self.places[place].page_piece = piece(&station);
        }
        Ok(())
    }
}

/// Readings of a station newer than an entry, oldest first.
fn newer_than(station: &Value, seen: i64) -> Vec<Value> {
    let recent = station["recent"].as_array().map_or(&[][..], Vec::as_slice);
    recent
        .iter()
        .rev()
        .filter(|reading| entry(reading) > seen)
        .cloned()
        .collect()
}

fn piece(station: &Value) -> u64 {
    station["tags"]["piece"].as_u64().unwrap_or(0)
}

fn entry(reading: &Value) -> i64 {
    reading["entry"].as_i64().unwrap_or(0)
}
