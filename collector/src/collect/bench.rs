//! One station with its port: what the collector holds for each `[[station]]`.

use std::collections::VecDeque;
use std::os::fd::AsRawFd;
use std::sync::Arc;

use mio::unix::SourceFd;
use mio::{Interest, Registry, Token};
use overwire_config::settings::Rules;
use overwire_config::{StationSettings, UncertaintySettings};
use overwire_core::units::Length;
use rusqlite::Connection;

use super::RecordMemory;
use super::functional::CheckBook;
use super::studies::StudyBook;
use crate::clock::{Stamp, shop_day};
use crate::frame::{Decoder, Outcome, Refused};
use crate::link::port::{Got, Port};
use crate::link::{Happened, Link};
use crate::record::chain::hex;
use crate::record::standing::Standing;
use crate::register::Register;
use crate::station::Station;
use crate::view::measuring::{CutGround, causes};
use crate::view::station::{RECENT, StationBoard, Tally};
use crate::view::studies::StudyBoard;

/// Most bytes taken from one port before the others have a turn.
const A_TURN: usize = 16 * 1024;

/// A station, its port, and what the page shows of it.
#[derive(Debug)]
pub struct Bench {
    pub(super) settings: StationSettings,
    pub(super) station: Station,
    pub(super) link: Link,
    pub(super) link_since: Stamp,
    port: Option<Port>,
    decoder: Decoder,
    just_opened: bool,
    pub(super) readable: bool,
    pub(super) recent: VecDeque<Arc<Standing>>,
    pub(super) today: Tally,
    pub(super) checks: CheckBook,
    refused_frames: u64,
    last_refusal: Option<String>,
    noise_bytes: u64,
    /// Something changed that is not put up yet.
    pub(super) dirty: bool,
    /// Something was put up that is not told of yet.
    pub(super) untold: bool,
}

impl Bench {
    pub(super) fn new(
        settings: StationSettings,
        rules: Rules,
        uncertainty: Option<UncertaintySettings>,
        method: &str,
        now: Stamp,
    ) -> Bench {
        Bench {
            station: Station::new(&settings, rules, uncertainty, method),
            link: Link::new(now.mono_ns),
            link_since: now,
            port: None,
            decoder: Decoder::new(settings.profile.clone()),
            just_opened: false,
            readable: false,
            recent: VecDeque::with_capacity(RECENT + 1),
            today: Tally {
                day: shop_day(now.wall_us, now.utc_offset_s),
                ..Tally::default()
            },
            checks: CheckBook::default(),
            refused_frames: 0,
            last_refusal: None,
            noise_bytes: 0,
            dirty: true,
            untold: false,
            settings,
        }
    }

    /// Tries to open the port and to be woken by it.
    pub(super) fn open(&mut self, registry: &Registry, token: Token, now: Stamp) {
        let opened = Port::open(&self.settings.port, &self.settings.profile.line);
        let happened = match opened {
            Ok(port) => {
                let fd = port.as_raw_fd();
                match registry.register(&mut SourceFd(&fd), token, Interest::READABLE) {
                    Ok(()) => {
                        self.port = Some(port);
                        self.readable = true;
                        self.just_opened = true;
                        Happened::Opened
                    }
                    Err(error) => {
                        Happened::OpenFailed(crate::link::Why::Refused(error.to_string()))
                    }
                }
            }
            Err(why) => Happened::OpenFailed(why),
        };
        self.happened(happened, now);
    }

    fn happened(&mut self, happened: Happened, now: Stamp) {
        if !self.link.step(happened, now.mono_ns) {
            return;
        }
        self.link_since = now;
        self.dirty = true;
        let port = self.settings.port.display().to_string();
        let state = self.link.state().code();
        let station = &*self.settings.name;
        if *self.link.state() == crate::link::State::Listening {
            tracing::info!(station, port, state, "Port opened.");
        } else {
            let hint = self.link.state().hint().unwrap_or_default();
            tracing::warn!(station, port, state, hint, "Port is not listened to.");
        }
    }

    /// Reads what is waiting, up to a turn; gives each outcome with the moment it was read and whether
    /// it had been waiting when the port was opened.
    pub(super) fn read(
        &mut self,
        buffer: &mut [u8],
        registry: &Registry,
        now: impl Fn() -> Stamp,
        mut give: impl FnMut(Outcome, Stamp, bool),
    ) {
        let mut taken = 0;
        while taken < A_TURN {
            let Some(port) = &mut self.port else {
                self.readable = false;
                return;
            };
            match port.read(buffer) {
                Got::Bytes(length) => {
                    let stamp = now();
                    let waited = self.just_opened;
                    let bytes = buffer.get(..length).unwrap_or_default();
                    self.decoder
                        .push(bytes, |outcome| give(outcome, stamp, waited));
                    taken += length;
                }
                Got::Nothing => {
                    self.readable = false;
                    self.just_opened = false;
                    return;
                }
                Got::Lost => {
                    self.lose(registry, now(), &mut give);
                    return;
                }
            }
        }
    }

    /// The port is gone: report what was begun, close the dead descriptor, wait for its return.
    fn lose(
        &mut self,
        registry: &Registry,
        now: Stamp,
        give: &mut impl FnMut(Outcome, Stamp, bool),
    ) {
        self.readable = false;
        self.just_opened = false;
        if let Some(cut) = self.decoder.cut() {
            give(Outcome::Refused(cut), now, false);
        }
        if let Some(port) = self.port.take() {
            // Closing takes it out of the poll; a refusal here changes nothing.
            let _ = registry.deregister(&mut SourceFd(&port.as_raw_fd()));
        }
        self.happened(Happened::Lost, now);
    }

    /// Counts and tells what was refused.
    pub(super) fn refused(&mut self, refused: &Refused) {
        self.refused_frames += 1;
        self.dirty = true;
        let raw = printable(&refused.raw);
        self.last_refusal = Some(format!("{raw}: {}.", refused.reason.sentence()));
        // Ten, then one in a hundred: a wrong baud rate must not fill the log.
        if self.refused_frames <= 10 || self.refused_frames.is_multiple_of(100) {
            let port = self.settings.port.display().to_string();
            let reason = refused.reason.code();
            let raw_hex = hex(&refused.raw);
            let refused_so_far = self.refused_frames;
            tracing::warn!(port, reason, raw, raw_hex, refused_so_far, "Frame refused.");
        }
    }

    /// Counts noise.
    pub(super) fn noise(&mut self, bytes: usize) {
        self.noise_bytes += bytes as u64;
        self.dirty = true;
    }

    /// Puts a reading on top of the last ones and into the day's count.
    pub(super) fn put(&mut self, standing: Arc<Standing>) {
        let stamp = standing.reading.head.stamp;
        self.today
            .on(shop_day(stamp.wall_us, stamp.utc_offset_s))
            .put(&standing, 1);
        self.recent.push_front(standing);
        self.recent.truncate(RECENT);
        self.dirty = true;
    }

    /// Replaces a reading that was said something of.
    pub(super) fn replace(&mut self, before: &Standing, after: &Arc<Standing>) {
        let stamp = before.reading.head.stamp;
        if self.today.day == shop_day(stamp.wall_us, stamp.utc_offset_s) {
            self.today.put(before, -1);
            self.today.put(after, 1);
        }
        let entry = before.reading.head.entry;
        if let Some(place) = self
            .recent
            .iter_mut()
            .find(|s| s.reading.head.entry == entry)
        {
            *place = after.clone();
        }
        self.dirty = true;
    }

    /// Looks up the functional checks of the pieces shown, where they are not known yet.
    pub(super) fn look_up_checks(&mut self, look: &Connection) {
        self.checks.look_up(look, &self.recent, self.station.tags());
    }

    fn cut_ground(&self) -> Option<CutGround> {
        let lathe = *self.station.lathe()?;
        let last = self.recent.front()?;
        let step = Length::from_mm(last.reading.step_mm()).unwrap_or(Length::ZERO);
        Some(CutGround {
            lathe,
            learned: self.station.learned(step),
            dialled: self.station.tags().dialled.clone(),
        })
    }

    /// What the last reading may come from, where it is in doubt.
    fn causes(&self, register: &Register) -> Vec<String> {
        let last = self.recent.front().map(|last| &**last);
        let prepared = self.station.prepared().map(|prepared| &**prepared);
        let before = self.station.reference_over_wires();
        causes(prepared, last, before, self.station.unit(), register)
    }

    /// Goes to the thread that the study asks for, where one is active: its masters may carry several.
    pub(super) fn follow(
        &mut self,
        studies: &StudyBook,
        register: &Register,
        look: &rusqlite::Connection,
        now: Stamp,
    ) {
        let study = self.station.tags().study.as_deref();
        let feature = study.and_then(|name| studies.feature(name, now));
        if let Some(feature) = feature {
            self.station.follow(&feature, register, &RecordMemory(look));
        }
    }

    /// The copy that is put up for the page.
    pub(super) fn board(&self, register: &Register, studies: &StudyBook) -> StationBoard {
        let tags = self.station.tags().clone();
        let job = tags.job.as_ref().and_then(|job| register.jobs.get(job));
        let study = tags.study.as_deref().and_then(|name| studies.get(name));
        let study = study.map(|running| StudyBoard::of(&running.form, &running.course));
        let plain = study.as_ref().is_some_and(|study| study.plain);
        let prepared = self.station.prepared().filter(|_| !plain);
        let instrument = self.station.instrument();
        let bias = prepared.map(|prepared| studies.bias_sentences(instrument, prepared));
        StationBoard {
            name: self.station.name().clone(),
            port: self.settings.port.display().to_string(),
            unit: self.station.unit().as_str(),
            instrument: self.station.instrument().clone(),
            instrument_due_day: self.station.instrument_due_day(),
            instrument_known: register
                .instruments
                .contains_key(&**self.station.instrument()),
            link: self.link.state().clone(),
            link_since: self.link_since,
            job_revision: job.map(|newest| newest.revision),
            operator_until_us: self.station.operator_until_us(),
            prepared: prepared.cloned(),
            zero: self.station.zero().copied(),
            zero_check_hours: self.station.zero_check_hours(),
            cut_ground: self.cut_ground(),
            study,
            bias: bias.unwrap_or_default(),
            visits: studies.visits_of(instrument),
            causes: self.causes(register),
            recent: self.recent.clone(),
            today: self.today,
            checks: self.checks.shown(),
            refused_frames: self.refused_frames,
            last_refusal: self.last_refusal.clone(),
            noise_bytes: self.noise_bytes,
            tags,
        }
    }
}

/// Bytes as a person can read them: what does not print is escaped.
fn printable(bytes: &[u8]) -> String {
    let mut text = String::from("`");
    for byte in bytes.iter().take(60) {
        text.extend(std::ascii::escape_default(*byte).map(char::from));
    }
    if bytes.len() > 60 {
        text.push('…');
    }
    text.push('`');
    text
}
