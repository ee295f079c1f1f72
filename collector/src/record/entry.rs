//! What stands in the record: readings and changes, as plain values.

use std::sync::Arc;

use overwire_core::decimal::{Decimal, step};
use overwire_core::units::Unit;

use super::grounds::Grounds;
use crate::clock::Stamp;

/// Head of every entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Place in the record, from 1, without gaps over both kinds of entry. 0 until it is appended.
    pub entry: i64,
    /// UUIDv7.
    pub id: [u8; 16],
    /// Station, or empty for an entry of the whole shop.
    pub station: Arc<str>,
    /// Place among the entries of that station, from 1. 0 until it is appended.
    pub sequence: i64,
    /// When it happened.
    pub stamp: Stamp,
    /// Which start of the machine the monotonic time counts from.
    pub boot_id: [u8; 16],
    /// SHA-256 over the entry before and this one (see [`super::chain`]). Zeros until appended.
    pub hash: [u8; 32],
}

/// What was active at the station when a frame arrived.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StampedTags {
    /// Job, and the entry of the revision it was judged by.
    pub job: Option<Revised>,
    /// One thread on the piece.
    pub feature: Option<Arc<str>>,
    /// Workpiece, from 1.
    pub piece: i64,
    /// How often this piece was begun, from 1.
    pub attempt: i64,
    /// Where along or around the thread.
    pub position: Option<Arc<str>>,
    /// Wire set, and the entry of its revision.
    pub wire_set: Option<Revised>,
    /// Instrument, and the entry of its revision (0: not in the register).
    pub instrument: Revised,
    /// How the wires were held.
    pub method: Arc<str>,
    /// Who; none is unattributed.
    pub operator: Option<Arc<str>>,
    /// Purpose, by its code.
    pub purpose: &'static str,
}

/// Something that is revised, never edited: its name and the entry of one revision.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Revised {
    /// Name, as typed.
    pub name: Arc<str>,
    /// Entry of the revision meant.
    pub entry: i64,
}

/// The judgement as made, in millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judged {
    /// Measurement over wires.
    pub over_wires_mm: f64,
    /// Pitch diameter, exact.
    pub pitch_diameter_mm: Option<f64>,
    /// Pitch diameter by the plane formula.
    pub plane_pitch_diameter_mm: Option<f64>,
    /// Plane minus exact.
    pub lead_angle_correction_mm: Option<f64>,
    /// Lower limit of the pitch diameter.
    pub limit_min_mm: Option<f64>,
    /// Upper limit of the pitch diameter.
    pub limit_max_mm: Option<f64>,
    /// How the wires sit, by its code; empty when nothing was converted.
    pub seat: &'static str,
    /// Verdict, by its code.
    pub verdict: &'static str,
    /// Why it waits for a person, by its code.
    pub held: Option<Held>,
    /// Whether it counts for the piece and for statistics.
    pub counted: bool,
    /// What is to be said of it, by codes, in a fixed order.
    pub flags: Flags,
    /// What the judgement rests on besides the reading: [`Grounds`] as JSON, exactly as kept.
    pub grounds: Option<Box<str>>,
}

impl Judged {
    /// What the judgement rests on besides the reading; nothing where the text is not understood.
    pub fn grounds(&self) -> Grounds {
        Grounds::from_text(self.grounds.as_deref()).unwrap_or_default()
    }
}

/// Why a reading waits for a person's yes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Held {
    /// It fits the job when taken in the other unit.
    Unit,
    /// It fits another job's window; its name and feature.
    Job(Arc<str>, Arc<str>),
    /// It is what one wire out of its place would give.
    Wire,
    /// It is larger than the pass before, though metal came off.
    Rise,
    /// It is smaller than the pass before by more than was cut.
    Fall,
}

impl Held {
    /// Code, as it stands in the record: `unit`, `wire`, `rise`, `fall`, or `job NAME\u{1f}FEATURE`.
    pub fn to_code(&self) -> String {
        match self {
            Held::Unit => "unit".to_owned(),
            Held::Wire => "wire".to_owned(),
            Held::Rise => "rise".to_owned(),
            Held::Fall => "fall".to_owned(),
            Held::Job(job, feature) => format!("job {job}\u{1f}{feature}"),
        }
    }

    /// The reverse of [`Held::to_code`].
    pub fn from_code(code: &str) -> Option<Held> {
        match code {
            "unit" => Some(Held::Unit),
            "wire" => Some(Held::Wire),
            "rise" => Some(Held::Rise),
            "fall" => Some(Held::Fall),
            other => {
                let (job, feature) = other.strip_prefix("job ")?.split_once('\u{1f}')?;
                Some(Held::Job(job.into(), feature.into()))
            }
        }
    }

    /// First word of the code, for programs.
    pub fn reason(&self) -> &'static str {
        match self {
            Held::Unit => "unit",
            Held::Job(..) => "job",
            Held::Wire => "wire",
            Held::Rise => "rise",
            Held::Fall => "fall",
        }
    }
}

/// What is to be said of a reading beside its verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Flags(u32);

macro_rules! flags {
    ($($bit:literal $name:ident $code:literal $meaning:literal;)*) => {
        impl Flags {
            $(#[doc = $meaning] pub const $name: Flags = Flags(1 << $bit);)*
            const ALL: &'static [(Flags, &'static str, &'static str)] =
                &[$((Flags::$name, $code, $meaning)),*];
        }
    };
}

flags! {
    0 DOUBLE_PRESS "double_press" "The same value again within a moment: taken as one press, not counted.";
    1 CLOSED_JAWS "closed_jaws" "The jaws were closed: not counted.";
    2 EMPTY "empty" "Too small to be a piece between the wires: not counted.";
    3 OUT_OF_WINDOW "out_of_window" "Far from anything this thread can measure: not counted. Is the job right?";
    4 OVERDUE_INSTRUMENT "overdue_instrument" "The instrument's calibration was overdue when this was measured.";
    5 OVERDUE_WIRES "overdue_wires" "The wire set's calibration was overdue when this was measured.";
    6 UNATTRIBUTED "unattributed" "Nobody was named as the operator.";
    7 TYPED "typed" "Typed in by hand.";
    8 WAITED_IN_PORT "waited_in_port" "Was waiting in the port when it was opened: pressed earlier, perhaps under other tags.";
    9 LEAD_ANGLE "lead_angle" "The lead angle matters here: a plain formula would be wrong by more than a tenth of the tolerance.";
    10 UNREGISTERED "unregistered" "The instrument is not in the register: no serial number or calibration stands behind this.";
    11 CLOCK_WENT_BACK "clock_went_back" "The clock went back before this reading: go by the sequence, not by the time.";
    12 ZERO_OFF "zero_off" "The last zero check was off by more than its tolerance: set the instrument and check again.";
    13 ZERO_OLD "zero_old" "No zero check was made within the time the shop asks for.";
    14 CORRECTED "corrected" "Corrections were added to the reading before it was converted; each is kept beside it.";
    15 BEYOND_ELASTIC "beyond_elastic" "The measuring force is too strong for this thread and these wires: they may be dented, and the correction for it is formal only.";
    17 STUDY_DONE "study_done" "The study asks for no further reading now: kept, not counted.";
    18 OTHER_MASTER "other_master" "Far from the size of the master that was asked for: not counted. Is it the right master, and the right unit?";
    16 NO_ZERO "no_zero" "Taken as a zero check, but far from what a zero check measures: not used as one. Is the purpose right?";
}

impl Flags {
    /// No flag.
    pub const NONE: Flags = Flags(0);

    /// Adds a flag.
    pub fn set(&mut self, flag: Flags) {
        self.0 |= flag.0;
    }

    /// These flags and the others.
    pub const fn with(self, others: Flags) -> Flags {
        Flags(self.0 | others.0)
    }

    /// Takes a flag away.
    pub fn clear(&mut self, flag: Flags) {
        self.0 &= !flag.0;
    }

    /// Whether any of the given flags stands.
    pub fn any(self, of: Flags) -> bool {
        self.0 & of.0 != 0
    }

    /// Codes of the flags that stand.
    pub fn codes(self) -> impl Iterator<Item = &'static str> {
        Self::ALL
            .iter()
            .filter(move |(flag, ..)| self.any(*flag))
            .map(|(_, code, _)| *code)
    }

    /// What the flags that stand say, for a person.
    pub fn sentences(self) -> impl Iterator<Item = &'static str> {
        Self::ALL
            .iter()
            .filter(move |(flag, ..)| self.any(*flag))
            .map(|(.., meaning)| *meaning)
    }

    /// The codes with a space between, as they stand in the record.
    pub fn to_text(self) -> String {
        let mut text = String::new();
        for code in self.codes() {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(code);
        }
        text
    }

    /// The reverse of [`Flags::to_text`]; codes it does not know are passed over.
    pub fn from_text(text: &str) -> Flags {
        let mut flags = Flags::NONE;
        for word in text.split(' ') {
            if let Some((flag, ..)) = Self::ALL.iter().find(|(_, code, _)| *code == word) {
                flags.set(*flag);
            }
        }
        flags
    }
}

impl std::ops::BitOr for Flags {
    type Output = Flags;
    fn bitor(self, other: Flags) -> Flags {
        self.with(other)
    }
}

/// Where a reading's unit came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitFrom {
    /// The frame carried it.
    Frame,
    /// The station's settings.
    Station,
    /// A person typed it.
    Typed,
}

impl UnitFrom {
    /// Code, as it stands in the record.
    pub fn code(self) -> &'static str {
        match self {
            UnitFrom::Frame => "frame",
            UnitFrom::Station => "station",
            UnitFrom::Typed => "typed",
        }
    }
}

/// One value with its tags and its judgement as made.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Head of the entry.
    pub head: Head,
    /// The frame's bytes as received, without its end.
    pub raw: Vec<u8>,
    /// The decimal as the display showed it; its places are the resolution.
    pub text: Box<str>,
    /// `mm` or `in`.
    pub unit: &'static str,
    /// Where the unit came from.
    pub unit_from: UnitFrom,
    /// Channel mark, where frames carry one.
    pub channel: Option<Box<str>>,
    /// What was active when it arrived.
    pub tags: Arc<StampedTags>,
    /// What it was taken for.
    pub judged: Judged,
}

impl Reading {
    /// Decimal places of the display.
    pub fn places(&self) -> u8 {
        places_of(&self.text)
    }

    /// The unit the display showed.
    pub fn shown_in(&self) -> Unit {
        match self.unit {
            "in" => Unit::Inch,
            _ => Unit::Millimetre,
        }
    }

    /// One step of the display, mm.
    pub fn step_mm(&self) -> f64 {
        step(self.places()) * self.shown_in().mm_per_unit()
    }
}

/// Decimal places of a reading's text; three where it is none.
pub fn places_of(text: &str) -> u8 {
    Decimal::parse(text).map_or(3, Decimal::places)
}

/// Anything else that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Head of the entry.
    pub head: Head,
    /// What happened.
    pub kind: Kind,
    /// What it happened to: a job, wire set or instrument by name, or a piece; empty otherwise.
    pub subject: String,
    /// The reading it is about, by its entry.
    pub reading: Option<i64>,
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// The rest, as JSON.
    pub body: String,
}

impl Change {
    /// Its body as a form.
    ///
    /// # Errors
    /// A body that this program does not understand.
    pub fn form<T: serde::de::DeserializeOwned>(&self) -> Result<T, super::RecordError> {
        serde_json::from_str(&self.body).map_err(|error| super::RecordError::Strange {
            entry: self.head.entry,
            what: error.to_string(),
        })
    }
}

/// Kinds of change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A reading shall not count.
    Void,
    /// A void is taken back.
    Restore,
    /// A reading belongs elsewhere; body: the new tags and judgement.
    Retag,
    /// A held reading is taken as it stands; body: its judgement.
    Keep,
    /// A remark on a reading.
    Comment,
    /// A revision of a job; body: all of it.
    Job,
    /// A revision of a wire set; body: all of it.
    WireSet,
    /// A revision of an instrument; body: all of it.
    Instrument,
    /// A plan of a study; body: all of it.
    Study,
    /// What a go gauge or the mating part said of a piece; body: all of it (see [`super::functional`]).
    FunctionalCheck,
    /// A station's tags from now on; body: all of them.
    Tags,
    /// The daemon was started; body: its version.
    Start,
}

impl Kind {
    const ALL: [Kind; 12] = [
        Kind::Void,
        Kind::Restore,
        Kind::Retag,
        Kind::Keep,
        Kind::Comment,
        Kind::Job,
        Kind::WireSet,
        Kind::Instrument,
        Kind::Study,
        Kind::FunctionalCheck,
        Kind::Tags,
        Kind::Start,
    ];

    /// Code, as it stands in the record.
    pub fn code(self) -> &'static str {
        match self {
            Kind::Void => "void",
            Kind::Restore => "restore",
            Kind::Retag => "retag",
            Kind::Keep => "keep",
            Kind::Comment => "comment",
            Kind::Job => "job",
            Kind::WireSet => "wire_set",
            Kind::Instrument => "instrument",
            Kind::Study => "study",
            Kind::FunctionalCheck => "functional_check",
            Kind::Tags => "tags",
            Kind::Start => "start",
        }
    }

    /// The reverse of [`Kind::code`].
    pub fn from_code(code: &str) -> Option<Kind> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

/// One line of the record.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A reading.
    Reading(Reading),
    /// Anything else.
    Change(Change),
}

impl Entry {
    /// Its head.
    pub fn head(&self) -> &Head {
        match self {
            Entry::Reading(reading) => &reading.head,
            Entry::Change(change) => &change.head,
        }
    }

    /// Its head, to be numbered and chained.
    pub fn head_mut(&mut self) -> &mut Head {
        match self {
            Entry::Reading(reading) => &mut reading.head,
            Entry::Change(change) => &mut change.head,
        }
    }
}
