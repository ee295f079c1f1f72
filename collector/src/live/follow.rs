//! The thread that writes: from the last step written to the end of the record, whenever it is woken.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::thread::{JoinHandle, Thread};
use std::time::{Duration, Instant};

use clap::ValueEnum as _;
use overwire_config::LiveSettings;
use rusqlite::Connection;

use super::file::LiveFile;
use super::line::{LineMaker, as_of};
use super::names::Period;
use super::note::{self, Note};
use super::steps::{self, Step};
use super::{LiveBoard, LiveError};
use crate::clock::{Stamp, shop_day};
use crate::export::csv::Dialect;
use crate::export::{descriptor, into_file};
use crate::feed::{Feed, Told, write_event};
use crate::record::reader;

/// Time between two tries of a file that cannot be written.
const TRY_AGAIN: Duration = Duration::from_secs(1);
/// Time by which it is noted how far the files have come.
const NOTE_AFTER: Duration = Duration::from_secs(60);
/// Time that the last lines have at the end.
const GOODBYE: Duration = Duration::from_secs(2);
/// Most files kept open.
const MOST_OPEN: usize = 32;

/// The running thread.
#[derive(Debug)]
pub struct Live {
    stop: Arc<AtomicBool>,
    thread: Thread,
    ended: mpsc::Receiver<()>,
}

impl Live {
    /// Starts it.
    ///
    /// # Errors
    /// The system refuses a thread.
    pub fn start(
        settings: LiveSettings,
        record_file: PathBuf,
        now: Stamp,
        feed: Arc<Feed>,
    ) -> std::io::Result<Live> {
        let stop = Arc::new(AtomicBool::new(false));
        let (told, ended) = mpsc::channel();
        let (heard, heeded) = (stop.clone(), feed.clone());
        let handle: JoinHandle<()> =
            std::thread::Builder::new()
                .name("live".to_owned())
                .spawn(move || {
                    Follower::new(settings, record_file, now, feed).run(&heard);
                    // Nobody waits any more when the end took too long.
                    let _ = told.send(());
                })?;
        let thread = handle.thread().clone();
        heeded.wake_at_entries(thread.clone());
        Ok(Live {
            stop,
            thread,
            ended,
        })
    }

    /// Has it write what the record holds and end; a folder that does not answer is not waited for.
    pub fn end(self) {
        self.stop.store(true, Ordering::Release);
        self.thread.unpark();
        if self.ended.recv_timeout(GOODBYE).is_err() {
            tracing::warn!("The live file is not finished; it is gone on with at the next start.");
        }
    }
}

/// What the thread works with.
pub(super) struct Follower {
    settings: LiveSettings,
    ending: &'static str,
    record_file: PathBuf,
    began: Stamp,
    feed: Arc<Feed>,
    look: Option<Connection>,
    maker: LineMaker,
    heading: String,
    files: BTreeMap<Period, LiveFile>,
    /// Periods whose file could not be written to the end.
    behind: BTreeSet<Period>,
    /// Steps up to this entry are written, or their period is behind.
    seen: Option<i64>,
    noted: i64,
    noted_at: Instant,
    board: LiveBoard,
}

impl Follower {
    pub(super) fn new(
        settings: LiveSettings,
        record_file: PathBuf,
        began: Stamp,
        feed: Arc<Feed>,
    ) -> Follower {
        let dialect = Dialect::from_str(&settings.dialect, true).unwrap_or_default();
        let mut maker = LineMaker::new(dialect, &settings.columns);
        Follower {
            ending: dialect.ending(),
            heading: maker.heading(),
            board: LiveBoard {
                folder: settings.folder.clone(),
                ..LiveBoard::default()
            },
            settings,
            record_file,
            began,
            feed,
            look: None,
            maker,
            files: BTreeMap::new(),
            behind: BTreeSet::new(),
            seen: None,
            noted: 0,
            noted_at: Instant::now(),
        }
    }

    fn run(mut self, stop: &AtomicBool) {
        loop {
            let ending = stop.load(Ordering::Acquire);
            self.pass();
            if ending || self.noted_at.elapsed() >= NOTE_AFTER {
                self.note();
            }
            if ending {
                return;
            }
            match self.wait() {
                Some(wait) => std::thread::park_timeout(wait),
                None => std::thread::park(),
            }
        }
    }

    fn is_troubled(&self) -> bool {
        self.board.trouble.is_some()
    }

    /// How long to sleep: for ever, unless something is to be tried again or noted.
    fn wait(&self) -> Option<Duration> {
        if self.is_troubled() {
            return Some(TRY_AGAIN);
        }
        (self.seen != Some(self.noted)).then(|| NOTE_AFTER.saturating_sub(self.noted_at.elapsed()))
    }

    /// Writes all that the record holds and the files do not; tells how that went.
    pub(super) fn pass(&mut self) {
        self.board.since = Some(Instant::now());
        self.feed.put_live(self.board.clone());
        let error = self.write_all().err();
        self.board.since = None;
        if self.behind.is_empty() {
            self.board.upto = self.seen.unwrap_or_default();
        }
        let trouble = error.as_ref().map(LiveError::sentence);
        let turned = trouble.is_some() != self.is_troubled();
        self.board.trouble = trouble;
        self.feed.put_live(self.board.clone());
        if turned {
            self.tell(error.as_ref());
        }
    }

    /// Tells the log and the pages that trouble came or went.
    fn tell(&self, error: Option<&LiveError>) {
        match error {
            Some(error) => {
                tracing::error!(error = %error, hint = error.hint(), "The live file cannot be written; readings are kept.")
            }
            None => tracing::info!("The live file has caught up."),
        }
        let mut events = Vec::new();
        write_event(&mut events, "resync", None, "{}");
        self.feed.tell(&Told::new(0, &events));
    }

    /// The first trouble is given after everything was tried.
    fn write_all(&mut self) -> Result<(), LiveError> {
        let look = match self.look.take() {
            Some(look) => look,
            None => reader::open(&self.record_file)?,
        };
        let written = self.write_from(&look);
        self.look = Some(look);
        written
    }

    fn write_from(&mut self, look: &Connection) -> Result<(), LiveError> {
        let mut trouble = None;
        let mut seen = match self.seen {
            Some(seen) => seen,
            None => self.begin(look)?,
        };
        let mut behind = std::mem::take(&mut self.behind);
        loop {
            let chunk = steps::after(look, seen)?;
            let Some(last) = chunk.last() else { break };
            seen = last.as_of;
            for step in &chunk {
                behind.extend(Period::of(step, self.settings.rotate));
            }
            for period in std::mem::take(&mut behind) {
                if let Err(error) = self.bring_up(look, &period, seen) {
                    self.behind.insert(period);
                    trouble.get_or_insert(error);
                }
            }
            self.seen = Some(seen);
            if trouble.is_some() {
                break;
            }
        }
        for period in behind {
            if let Err(error) = self.bring_up(look, &period, seen) {
                self.behind.insert(period);
                trouble.get_or_insert(error);
            }
        }
        self.seen = Some(seen);
        trouble.map_or(Ok(()), Err)
    }

    /// Where to begin at the start: where the last run is known to have come to, else with the day.
    fn begin(&mut self, look: &Connection) -> Result<i64, LiveError> {
        if self.settings.rotate == overwire_config::live::Rotate::Never {
            self.behind.insert(Period::All);
        }
        let tip = reader::tip(look)?.entry;
        let noted = note::read(&self.record_file)
            .filter(|note| *note == self.to_note(note.upto) && note.upto <= tip);
        let now = self.began;
        let day = shop_day(now.wall_us, now.utc_offset_s);
        let midnight_us = day * 86_400_000_000 - i64::from(now.utc_offset_s) * 1_000_000;
        let begin = match noted {
            Some(note) => note.upto,
            None => steps::before(look, midnight_us)?,
        };
        self.noted = begin;
        Ok(begin)
    }

    /// Writes what a period's file lacks up to an entry.
    fn bring_up(&mut self, look: &Connection, period: &Period, upto: i64) -> Result<(), LiveError> {
        if !self.files.get(period).is_some_and(LiveFile::is_in_place) {
            let file = self.open(look, period)?;
            self.notice(&file);
            describe(&self.maker, file.path());
            self.make_room()?;
            self.files.insert(period.clone(), file);
        }
        let Some(file) = self.files.get_mut(period) else {
            return Ok(());
        };
        self.board.file = Some(file.path().to_owned());
        let mut from = file.upto;
        while from < upto {
            let chunk = steps::after(look, from)?;
            let Some(last) = chunk.last() else { break };
            from = last.as_of;
            for step in chunk.iter().filter(|step| step.as_of <= upto) {
                if Period::of(step, self.settings.rotate).contains(period) {
                    file.append(self.maker.line(look, step)?.as_bytes())?;
                    file.upto = step.as_of;
                }
            }
            self.board.since = Some(Instant::now());
            self.feed.put_live(self.board.clone());
        }
        file.upto = upto.max(file.upto);
        Ok(())
    }

    fn open(&mut self, look: &Connection, period: &Period) -> Result<LiveFile, LiveError> {
        let (maker, rotate) = (&mut self.maker, self.settings.rotate);
        let mut knows = |line: &[u8]| {
            let Some(step) = step_of(look, line)? else {
                return Ok(None);
            };
            let same = Period::of(&step, rotate).contains(period)
                && maker.line(look, &step)?.as_bytes() == line;
            Ok(same.then_some(step.as_of))
        };
        let name = period.name();
        LiveFile::open(
            &self.settings.folder,
            (&name, self.ending),
            &self.heading,
            &mut knows,
        )
    }

    /// Says that a name was taken by another's file.
    fn notice(&mut self, file: &LiveFile) {
        let Some(other) = &file.instead_of else {
            self.board.notice = None;
            return;
        };
        let sentence = format!(
            "{} was not written from this record with these settings, or was changed by another program: it is \
             left alone, and lines go to {}.",
            other.display(),
            file.path().display()
        );
        tracing::warn!(notice = sentence, "Live file under another name.");
        self.board.notice = Some(sentence);
    }

    /// Closes files where there are many.
    fn make_room(&mut self) -> Result<(), LiveError> {
        if self.files.len() >= MOST_OPEN {
            self.sync()?;
            self.files.clear();
        }
        Ok(())
    }

    fn sync(&mut self) -> Result<(), LiveError> {
        self.files.values_mut().try_for_each(LiveFile::sync)
    }

    /// Notes how far the files have come, if all of them have come so far.
    pub(super) fn note(&mut self) {
        self.noted_at = Instant::now();
        let Some(seen) = self.seen.filter(|seen| *seen != self.noted) else {
            return;
        };
        if self.is_troubled() || !self.behind.is_empty() {
            return;
        }
        match self.sync() {
            Ok(()) => {
                note::write(&self.record_file, &self.to_note(seen));
                self.noted = seen;
            }
            Err(error) => {
                tracing::warn!(error = %error, "The live file could not be put on the disk.")
            }
        }
    }

    fn to_note(&self, upto: i64) -> Note {
        Note {
            upto,
            folder: self.settings.folder.clone(),
            rotate: self.settings.rotate.code().to_owned(),
            heading: self.heading.clone(),
        }
    }
}

/// Puts a descriptor beside a live file. Lines matter more: one that cannot be written stops none.
fn describe(maker: &LineMaker, file: &Path) {
    let beside = descriptor::path(file);
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let text = format!("{:#}\n", maker.descriptor(&name));
    let before = match std::fs::read_to_string(&beside) {
        Ok(before) if before == text => return,
        Ok(before) => Some(before),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(_) => Some(String::new()),
    };
    let written = match before {
        Some(before) if !descriptor::is_of_live_file(&before) => {
            Err("something else stands there".to_owned())
        }
        _ => into_file(&beside, |out| Ok(out.write_all(text.as_bytes())?))
            .map_err(|error| error.to_string()),
    };
    if let Err(error) = written {
        tracing::warn!(file = %beside.display(), error, "The live file has no descriptor beside it.");
    }
}

/// The step that a line says it is of.
fn step_of(look: &Connection, line: &[u8]) -> Result<Option<Step>, LiveError> {
    as_of(line).map_or(Ok(None), |as_of| steps::at(look, as_of))
}
