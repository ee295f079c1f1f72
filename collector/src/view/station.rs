//! A station and the whole state, as the page gets them.

use std::collections::VecDeque;
use std::sync::Arc;

use serde::Serialize;

use overwire_core::judge::Purpose;

use super::functional::{self, FunctionalView, ShownChecks};
use super::measuring::{CutGround, CutView, FormView, TrustView, ZeroView, about_wires};
use super::register::{RegisterView, ThreadView};
use super::studies::{DueView, StudyBoard, StudyView, VisitsBoard};
use super::{ReadingView, unit_of};
use crate::clock::{Stamp, iso, shop_day};
use crate::link::{Sentence, State};
use crate::record::grounds::ZeroNote;
use crate::record::standing::Standing;
use crate::register::Prepared;
use crate::station::{Tags, zero};

/// How many of the last readings a station shows.
pub const RECENT: usize = 10;

/// What the page is told of one station: a plain copy that the collector puts up.
#[derive(Debug, Clone)]
#[allow(missing_docs)]
pub struct StationBoard {
    pub name: Arc<str>,
    pub port: String,
    pub unit: &'static str,
    pub instrument: Arc<str>,
    pub instrument_due_day: Option<i64>,
    pub instrument_known: bool,
    pub link: State,
    pub link_since: Stamp,
    pub tags: Tags,
    pub job_revision: Option<u32>,
    pub operator_until_us: i64,
    pub prepared: Option<Arc<Prepared>>,
    pub recent: VecDeque<Arc<Standing>>,
    pub zero: Option<ZeroNote>,
    pub zero_check_hours: u32,
    pub cut_ground: Option<CutGround>,
    pub study: Option<StudyBoard>,
    pub bias: Vec<String>,
    pub visits: Vec<VisitsBoard>,
    pub causes: Vec<String>,
    pub today: Tally,
    pub checks: Arc<ShownChecks>,
    pub refused_frames: u64,
    pub last_refusal: Option<String>,
    pub noise_bytes: u64,
}

/// A day's count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Which day, days since 1970 in the shop's time.
    pub day: i64,
    /// Readings kept.
    pub readings: i64,
    /// Of them, counted.
    pub counted: i64,
    /// Of those, passed.
    pub pass: i64,
    /// Of those, failed.
    pub fail: i64,
}

impl Tally {
    /// Puts a reading in (`sign` 1) or takes it out (-1).
    pub fn put(&mut self, standing: &Standing, sign: i64) {
        self.add(standing.counts(), standing.reading.judged.verdict, sign);
    }

    /// Puts in (`sign` 1) or takes out (-1) a reading of which only this is known.
    pub fn add(&mut self, counts: bool, verdict: &str, sign: i64) {
        self.readings += sign;
        if !counts {
            return;
        }
        self.counted += sign;
        match verdict {
            "pass" => self.pass += sign,
            "fail_under" | "fail_over" => self.fail += sign,
            _ => {}
        }
    }

    /// Starts again when the day turned.
    pub fn on(&mut self, day: i64) -> &mut Tally {
        if self.day != day {
            *self = Tally {
                day,
                ..Tally::default()
            };
        }
        self
    }
}

#[derive(Serialize)]
struct StationView<'a> {
    name: &'a str,
    port: &'a str,
    unit: &'static str,
    instrument: &'a str,
    instrument_known: bool,
    instrument_overdue: bool,
    link: LinkView,
    tags: TagsView<'a>,
    progress: ProgressView,
    thread: Option<ThreadView>,
    problem: Option<String>,
    last: Option<ReadingView<'a>>,
    recent: Vec<ReadingView<'a>>,
    zero: ZeroView,
    cut: Option<CutView>,
    study: Option<StudyView<'a>>,
    trust: Option<TrustView>,
    bias: &'a [String],
    visits: Vec<DueView<'a>>,
    about_wires: Vec<String>,
    causes: &'a [String],
    form: Option<FormView>,
    /// Functional checks of the pieces shown.
    functional_checks: Vec<FunctionalView<'a>>,
    /// What to know where the check of the last reading's piece and its verdict do not say the same.
    functional_caution: Option<&'static str>,
    /// What this feature was last checked with, the newest first.
    check_gauges: &'a [String],
    today: TodayView,
    refused_frames: u64,
    last_refusal: Option<&'a str>,
    noise_bytes: u64,
}

#[derive(Serialize)]
struct LinkView {
    state: &'static str,
    since: String,
    sentence: String,
    hint: Option<String>,
}

#[derive(Serialize)]
struct TagsView<'a> {
    job: Option<&'a str>,
    job_revision: Option<u32>,
    feature: Option<&'a str>,
    piece: i64,
    attempt: i64,
    position: Option<&'a str>,
    wire_set: Option<&'a str>,
    study: Option<&'a str>,
    dialled: Option<&'a str>,
    part_celsius: Option<&'a str>,
    gauge_celsius: Option<&'a str>,
    method: &'a str,
    operator: Option<&'a str>,
    operator_until: Option<String>,
    purpose: &'static str,
}

#[derive(Serialize)]
struct ProgressView {
    counted_on_piece: i64,
    readings_a_piece: i64,
}

#[derive(Serialize)]
struct TodayView {
    readings: i64,
    counted: i64,
    pass: i64,
    fail: i64,
}

impl StationBoard {
    /// As JSON, at a moment.
    pub fn to_json(&self, now: Stamp) -> String {
        serde_json::to_string(&self.view(now)).unwrap_or_default()
    }

    fn view(&self, now: Stamp) -> StationView<'_> {
        let day = shop_day(now.wall_us, now.utc_offset_s);
        let today = if self.today.day == day {
            self.today
        } else {
            Tally::default()
        };
        let prepared = self.prepared.as_deref();
        StationView {
            name: &self.name,
            port: &self.port,
            unit: self.unit,
            instrument: &self.instrument,
            instrument_known: self.instrument_known,
            instrument_overdue: self.instrument_due_day.is_some_and(|due| due < day),
            link: self.link_view(),
            tags: self.tags_view(now),
            progress: ProgressView {
                counted_on_piece: self.tags.counted,
                readings_a_piece: prepared.map_or(1, |prepared| prepared.readings_a_piece),
            },
            thread: prepared
                .map(|p| ThreadView::with(&p.thread, p.judge.as_ref(), p.problem.clone())),
            problem: self.problem(),
            last: self
                .recent
                .front()
                .map(|standing| ReadingView::of(standing)),
            recent: self
                .recent
                .iter()
                .map(|standing| ReadingView::of(standing))
                .collect(),
            zero: self.zero_view(now),
            cut: self.cut_view(),
            study: self.study.as_ref().map(|study| study.view(now)),
            trust: prepared.and_then(TrustView::of),
            bias: &self.bias,
            visits: self.visits.iter().map(|each| each.view(now)).collect(),
            about_wires: prepared.map(about_wires).unwrap_or_default(),
            causes: &self.causes,
            form: FormView::of(&self.recent, prepared, unit_of(self.unit)),
            functional_checks: self
                .checks
                .pieces
                .iter()
                .map(|(piece, check)| FunctionalView::of(piece, check.as_ref()))
                .collect(),
            functional_caution: self.functional_caution(),
            check_gauges: &self.checks.gauges,
            today: TodayView {
                readings: today.readings,
                counted: today.counted,
                pass: today.pass,
                fail: today.fail,
            },
            refused_frames: self.refused_frames,
            last_refusal: self.last_refusal.as_deref(),
            noise_bytes: self.noise_bytes,
        }
    }

    fn zero_view(&self, now: Stamp) -> ZeroView {
        let note = self.zero.as_ref();
        let hours = self.zero_check_hours;
        let standing = zero::standing(note, now.wall_us, hours);
        ZeroView::of(&standing, note, hours, now.utc_offset_s, unit_of(self.unit))
    }

    /// Advice between passes, while the tags say that the thread is being cut.
    fn cut_view(&self) -> Option<CutView> {
        let cutting = self.tags.purpose == Purpose::Cutting;
        let ground = self.cut_ground.as_ref().filter(|_| cutting)?;
        let last = self.recent.front()?;
        let of_this_piece = last.reading.tags.piece == self.tags.piece;
        let prepared = self.prepared.as_deref().filter(|_| of_this_piece)?;
        CutView::of(prepared, last, ground, unit_of(self.unit))
    }

    fn functional_caution(&self) -> Option<&'static str> {
        let last = self.recent.front().filter(|last| last.counts())?;
        let check = self.checks.of(&last.reading.tags)?;
        functional::caution(Some(check), last.reading.judged.verdict)
    }

    fn link_view(&self) -> LinkView {
        LinkView {
            state: self.link.code(),
            since: iso(self.link_since.wall_us, self.link_since.utc_offset_s),
            sentence: Sentence(&self.link, &self.port).to_string(),
            hint: self.link.hint(),
        }
    }

    fn tags_view(&self, now: Stamp) -> TagsView<'_> {
        let named = self.tags.operator.is_some() && now.wall_us < self.operator_until_us;
        TagsView {
            job: self.tags.job.as_deref(),
            job_revision: self.job_revision,
            feature: self.tags.feature.as_deref(),
            piece: self.tags.piece,
            attempt: self.tags.attempt,
            position: self.tags.position.as_deref(),
            wire_set: self.tags.wire_set.as_deref(),
            study: self.tags.study.as_deref(),
            dialled: self.tags.dialled.as_deref(),
            part_celsius: self.tags.part_celsius.as_deref(),
            gauge_celsius: self.tags.gauge_celsius.as_deref(),
            method: &self.tags.method,
            operator: self.tags.operator.as_deref().filter(|_| named),
            operator_until: named.then(|| iso(self.operator_until_us, now.utc_offset_s)),
            purpose: self.tags.purpose.code(),
        }
    }

    fn problem(&self) -> Option<String> {
        if self.study.as_ref().is_some_and(|study| study.plain) {
            return None;
        }
        match (&self.prepared, &self.tags.job) {
            (None, Some(job)) => Some(format!(
                "Job {job} has no thread `{}` any more: choose its thread again. Readings are kept meanwhile.",
                self.tags.feature.as_deref().unwrap_or_default()
            )),
            (None, None) => Some(
                "No job is active: choose or set up a job to see a verdict. Readings are kept meanwhile."
                    .to_owned(),
            ),
            (Some(prepared), _) => prepared.problem.clone(),
        }
    }
}

/// The shop's lists.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs)]
pub struct ShopView {
    pub name: String,
    pub methods: Vec<String>,
    pub operators: Vec<String>,
    pub void_reasons: Vec<String>,
}

/// The record, in short.
#[derive(Debug, Clone, Serialize, Default)]
#[allow(missing_docs)]
pub struct RecordView {
    pub entries: i64,
    pub head: String,
    pub trouble: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub live: Option<crate::live::LiveView>,
}

#[derive(Serialize)]
struct StateView<'a> {
    version: &'static str,
    now: String,
    shop: &'a ShopView,
    record: RecordView,
    stations: Vec<StationView<'a>>,
    #[serde(flatten)]
    register: RegisterView<'a>,
}

/// The whole state as JSON.
pub fn state_json(
    shop: &ShopView,
    record: RecordView,
    stations: &[Arc<StationBoard>],
    register: &crate::register::Register,
    now: Stamp,
) -> String {
    let view = StateView {
        version: env!("CARGO_PKG_VERSION"),
        now: iso(now.wall_us, now.utc_offset_s),
        shop,
        record,
        stations: stations.iter().map(|board| board.view(now)).collect(),
        register: RegisterView::of(register),
    };
    serde_json::to_string(&view).unwrap_or_default()
}
