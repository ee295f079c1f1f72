//! The columns of exports: name, what each holds, and how it is had from a reading.
//!
//! One list for CSV, spreadsheet, live file, descriptor and programs, so that a number is the same wherever it
//! stands.

use std::cell::OnceCell;

use overwire_core::decimal::format_to;
use overwire_core::units::Unit;

use super::books::{Books, JobFacts};
use super::seen::{Field, Seen};
use super::value::Value;
use crate::record::grounds::known_to;
use crate::record::standing::{Before, Said};
use crate::record::{Flags, Grounds};
use crate::view::limits::{LimitsMm, Places};
use crate::view::{unit_of, verdict_words};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Holds {
    /// A word of this program's own.
    Code,
    /// Text that people or devices wrote; guarded in a CSV.
    Free,
    /// A whole number.
    Whole,
    /// 1 or 0.
    Flag,
    /// A length in the unit that the column `unit` names.
    Length,
    /// Any other number.
    Number,
    /// A moment with its offset.
    Moment,
    /// The shop's civil time.
    Local,
}

/// A column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What kind of thing stands in it.
    pub holds: Holds,
    /// What it says, for people.
    pub about: &'static str,
    /// Fields that it is made from.
    pub fields: &'static [Field],
    value: for<'v, 'a> fn(&'v View<'a>) -> Value<'v>,
}

impl Column {
    /// Its cell for a reading.
    pub fn value<'v>(&self, view: &'v View<'_>) -> Value<'v> {
        (self.value)(view)
    }
}

/// A reading with what columns share.
#[derive(Debug)]
pub struct View<'a> {
    seen: Seen<'a>,
    books: &'a Books,
    grounds: OnceCell<Grounds>,
    shape: OnceCell<(Unit, u8)>,
}

impl<'a> View<'a> {
    /// Of a reading.
    pub fn of(seen: Seen<'a>, books: &'a Books) -> View<'a> {
        View {
            seen,
            books,
            grounds: OnceCell::new(),
            shape: OnceCell::new(),
        }
    }

    /// The reading.
    pub fn seen(&self) -> &Seen<'a> {
        &self.seen
    }

    /// The unit it is shown in, and the places of its display.
    pub fn shape(&self) -> (Unit, u8) {
        *self
            .shape
            .get_or_init(|| (unit_of(&self.seen.text(Field::Unit)), self.seen.places()))
    }

    /// What its judgement rests on.
    pub fn grounds(&self) -> &Grounds {
        self.grounds.get_or_init(|| {
            let text = self.seen.text(Field::Grounds);
            let text = (!text.is_empty()).then_some(&*text);
            Grounds::from_text(text).unwrap_or_default()
        })
    }

    fn job(&self) -> &'a JobFacts {
        self.books.job(self.seen.whole(Field::JobEntry))
    }

    fn code(&self, field: Field) -> Value<'_> {
        Value::Code(self.seen.text(field))
    }

    fn free(&self, field: Field) -> Value<'_> {
        Value::Free(self.seen.text(field))
    }

    fn whole(&self, field: Field) -> Value<'_> {
        Value::Whole(self.seen.whole(field))
    }

    /// When it was made: microseconds since 1970, and the shop's offset from UTC then in seconds.
    pub fn moment(&self) -> (i64, i32) {
        let offset_s = self.seen.whole(Field::OffsetS);
        (
            self.seen.whole(Field::WallUs),
            i32::try_from(offset_s).unwrap_or_default(),
        )
    }

    /// A length with so many places more than the display.
    fn length(&self, mm: Option<f64>, finer: u8) -> Value<'_> {
        let (unit, places) = self.shape();
        Value::number(mm.map(|mm| mm / unit.mm_per_unit()), places + finer)
    }

    fn limits(&self) -> Option<LimitsMm> {
        let limit = |field| self.seen.mm(field);
        limit(Field::LimitMin).zip(limit(Field::LimitMax))
    }

    /// Places of the pitch diameter and its limits beside each other.
    fn beside(&self) -> Places {
        let (unit, places) = self.shape();
        let pitch_diameter = self.seen.mm(Field::PitchDiameter);
        Places::of(pitch_diameter, self.limits(), unit, places)
    }

    fn pitch_diameter(&self) -> Value<'_> {
        let (unit, _) = self.shape();
        let mm = self.seen.mm(Field::PitchDiameter);
        Value::number(mm.map(|mm| mm / unit.mm_per_unit()), self.beside().value)
    }

    fn limit(&self, field: Field) -> Value<'_> {
        let (Some(_), Some(mm)) = (self.limits(), self.seen.mm(field)) else {
            return Value::Empty;
        };
        let (unit, _) = self.shape();
        Value::Number(mm / unit.mm_per_unit(), self.beside().limits)
    }

    fn beyond(&self, limit: Field) -> Value<'_> {
        let limit = self.seen.mm(limit);
        let over = self.seen.mm(Field::PitchDiameter).zip(limit);
        let (unit, _) = self.shape();
        over.map_or(Value::Empty, |(mm, limit)| {
            let distance = (mm - limit) / unit.mm_per_unit();
            Value::Number(distance, self.beside().of_distance(distance))
        })
    }

    fn term(&self, kind: &str) -> Value<'_> {
        let terms = &self.grounds().terms;
        self.length(
            terms
                .iter()
                .find(|term| term.kind == kind)
                .map(|term| term.mm),
            1,
        )
    }

    fn known_to(&self) -> Value<'_> {
        let (unit, places) = self.shape();
        self.grounds().uncertainty.map_or(Value::Empty, |known| {
            let shown = known_to(known.expanded_mm, unit, places);
            Value::Number(shown.number, shown.places)
        })
    }

    fn celsius(celsius: Option<f64>) -> Value<'static> {
        celsius.map_or(Value::Empty, |celsius| {
            Value::Decimal(celsius.to_string().into())
        })
    }

    fn accept(
        &self,
        limit: impl Fn(&crate::record::grounds::RuleNote) -> Option<f64>,
    ) -> Value<'_> {
        self.length(self.grounds().rule.as_ref().and_then(limit), 1)
    }

    fn said(
        &self,
        of: impl Fn(&'a crate::record::standing::Standing) -> Option<&'a Said>,
    ) -> Option<&'a Said> {
        self.seen.said().and_then(of)
    }

    fn void(&self) -> Option<&'a Said> {
        self.said(|standing| standing.void.as_ref())
    }

    fn moved(&self) -> Option<&'a Said> {
        self.said(|standing| standing.moved.as_ref())
    }

    fn before(&self) -> Option<&'a Before> {
        self.seen
            .said()
            .and_then(|standing| standing.before.as_ref())
    }
}

fn free(text: Option<&str>) -> Value<'_> {
    Value::Free(text.unwrap_or_default().into())
}

fn told(said: Option<&Said>) -> Value<'_> {
    free(said.map(|said| said.text.as_str()))
}

fn teller(said: Option<&Said>) -> Value<'_> {
    free(said.map(|said| said.by.as_str()))
}

macro_rules! columns {
    ($($name:literal $holds:ident [$($field:ident)*] $about:literal $value:expr;)*) => {
        /// Every column of a row a reading, in order.
        pub const COLUMNS: &[Column] = &[$(Column {
            name: $name,
            holds: Holds::$holds,
            about: $about,
            fields: &[$(Field::$field),*],
            value: $value,
        }),*];
    };
}

columns! {
    "entry" Whole [] "number of the entry in the record" |v| v.whole(Field::Entry);
    "id" Code [Id] "UUID of the reading" |v| Value::Id(v.seen.bytes(Field::Id));
    "station" Free [Station] "station" |v| v.free(Field::Station);
    "sequence" Whole [Sequence] "number at the station, without gaps over readings and changes"
        |v| v.whole(Field::Sequence);
    "at" Moment [WallUs OffsetS] "when the frame arrived, ISO 8601 with offset" |v| {
        let (wall_us, offset_s) = v.moment();
        Value::Moment(wall_us, offset_s)
    };
    "local_time" Local [WallUs OffsetS] "the same in the shop's time, for spreadsheets" |v| {
        let (wall_us, offset_s) = v.moment();
        Value::Local(wall_us, offset_s)
    };
    "utc_offset" Code [WallUs OffsetS] "the shop's offset from UTC then, as UTC+01:00"
        |v| Value::Offset(v.moment().1);
    "job" Free [Job] "job (guarded text)" |v| v.free(Field::Job);
    "job_entry" Whole [JobEntry] "entry of the job's revision it was judged by" |v| v.whole(Field::JobEntry);
    "drawing" Free [JobEntry] "drawing number of that revision (guarded text)"
        |v| Value::Free(v.job().drawing.as_str().into());
    "drawing_revision" Free [JobEntry] "revision of the drawing (guarded text)"
        |v| Value::Free(v.job().drawing_revision.as_str().into());
    "order" Free [JobEntry] "order (guarded text)" |v| Value::Free(v.job().order.as_str().into());
    "lot" Free [JobEntry] "lot or serial (guarded text)" |v| Value::Free(v.job().lot.as_str().into());
    "feature" Free [Feature] "thread on the piece (guarded text)" |v| v.free(Field::Feature);
    "thread" Free [JobEntry Feature] "its designation (guarded text)"
        |v| Value::Free(v.job().thread(&v.seen.text(Field::Feature)).into());
    "piece" Whole [Piece] "piece number" |v| v.whole(Field::Piece);
    "attempt" Whole [Attempt] "how often the piece was begun" |v| v.whole(Field::Attempt);
    "position" Free [Position] "where on the thread (guarded text)" |v| v.free(Field::Position);
    "wire_set" Free [WireSet] "wire set (guarded text)" |v| v.free(Field::WireSet);
    "wire_set_entry" Whole [WireSetEntry] "entry of its revision" |v| v.whole(Field::WireSetEntry);
    "instrument" Free [Instrument] "instrument (guarded text)" |v| v.free(Field::Instrument);
    "instrument_entry" Whole [InstrumentEntry] "entry of its revision, 0: not in the register"
        |v| v.whole(Field::InstrumentEntry);
    "method" Free [Method] "how the wires were held (guarded text)" |v| v.free(Field::Method);
    "operator" Free [Operator] "who, empty: unattributed (guarded text)" |v| v.free(Field::Operator);
    "purpose" Code [Purpose] "cutting, inspecting, zero or study" |v| v.code(Field::Purpose);
    "typed" Flag [UnitFrom Flags] "1: typed in by hand" |v|
        Value::Flag(Flags::from_text(&v.seen.text(Field::Flags)).any(Flags::TYPED));
    "raw" Free [Raw] "the frame as received (guarded text; bytes that do not print as \\xNN)"
        |v| Value::Raw(v.seen.bytes(Field::Raw));
    "over_wires" Length [Text] "measurement over wires as the display showed it"
        |v| Value::Decimal(v.seen.text(Field::Text));
    "unit" Code [Unit] "mm or in: of every length here" |v| v.code(Field::Unit);
    "unit_from" Code [UnitFrom] "who named the unit: frame, station or typed" |v| v.code(Field::UnitFrom);
    "pitch_diameter" Length [PitchDiameter LimitMin LimitMax Text Unit]
        "exact pitch diameter, to the places of the display, or to more where it is hardly outside a limit"
        |v| v.pitch_diameter();
    "lead_angle_correction" Length [LeadAngle Text Unit] "plane pitch diameter minus exact"
        |v| v.length(v.seen.mm(Field::LeadAngle), 1);
    "pitch_diameter_min" Length [PitchDiameter LimitMin LimitMax Text Unit] "lower limit" |v| v.limit(Field::LimitMin);
    "pitch_diameter_max" Length [PitchDiameter LimitMin LimitMax Text Unit] "upper limit" |v| v.limit(Field::LimitMax);
    "over_max" Length [PitchDiameter LimitMin LimitMax Text Unit] "pitch diameter minus upper limit"
        |v| v.beyond(Field::LimitMax);
    "over_min" Length [PitchDiameter LimitMin LimitMax Text Unit] "pitch diameter minus lower limit"
        |v| v.beyond(Field::LimitMin);
    "seat" Code [Seat] "how the wires sit" |v| v.code(Field::Seat);
    "verdict" Code [Verdict Held] "pass, fail_under, fail_over, still_to_cut, undecided, held or none" |v|
        if v.seen.held() { Value::Code("held".into()) } else { v.code(Field::Verdict) };
    "verdict_words" Code [Verdict Held] "the same for people" |v| Value::Code(
        if v.seen.held() { "HELD" } else { verdict_words(&v.seen.text(Field::Verdict)) }.into());
    "counted" Flag [Counted] "1: counts for the piece and for statistics" |v| Value::Flag(v.seen.counts());
    "flags" Code [Flags] "what is to be said of it, codes with spaces" |v| v.code(Field::Flags);
    "zero_at" Moment [Grounds OffsetS WallUs] "when the last zero check before it was made" |v|
        v.grounds().zero.map_or(Value::Empty, |zero| Value::Moment(zero.at_us, v.moment().1));
    "zero_off" Length [Grounds Text Unit] "what the instrument showed too much then"
        |v| v.length(v.grounds().zero.map(|zero| zero.off_mm), 0);
    "part_celsius" Number [Grounds] "temperature of the part, where told" |v| View::celsius(v.grounds().part_celsius);
    "gauge_celsius" Number [Grounds] "temperature of wires and micrometer, where told"
        |v| View::celsius(v.grounds().gauge_celsius);
    "correction_zero" Length [Grounds Text Unit]
        "added to the reading before it was converted: for the zero check" |v| v.term("zero");
    "correction_micrometer_temperature" Length [Grounds Text Unit] "likewise, for the micrometer's warmth"
        |v| v.term("micrometer_temperature");
    "correction_compression" Length [Grounds Text Unit] "likewise, for the measuring force on free wires"
        |v| v.term("compression");
    "correction_wire_temperature" Length [Grounds Text Unit] "likewise, for the wires' warmth"
        |v| v.term("wire_temperature");
    "correction_part_temperature" Length [Grounds Text Unit] "likewise, for the part's warmth"
        |v| v.term("part_temperature");
    "uncertainty" Length [Grounds Text Unit] "expanded uncertainty of the pitch diameter"
        |v| v.known_to();
    "coverage_factor" Number [Grounds] "the factor it was expanded by"
        |v| v.grounds().uncertainty.map_or(Value::Empty, |known| Value::Decimal(format_to(known.factor, 2).into()));
    "decision_rule" Code [Grounds] "rule the verdict was made by; empty: compared with the limits"
        |v| Value::Code(v.grounds().rule.as_ref().map_or("", |rule| &rule.rule).into());
    "accept_min" Length [Grounds Text Unit] "smallest pitch diameter that passes by that rule"
        |v| v.accept(|rule| rule.accept_min_mm);
    "accept_max" Length [Grounds Text Unit] "largest pitch diameter that passes by that rule"
        |v| v.accept(|rule| rule.accept_max_mm);
    "void" Flag [] "1: void" |v| Value::Flag(v.void().is_some());
    "void_reason" Free [] "why (guarded text)" |v| told(v.void());
    "void_by" Free [] "who voided it (guarded text)" |v| teller(v.void());
    "void_at" Moment [] "when"
        |v| v.void().map_or(Value::Empty, |said| Value::Moment(said.wall_us, said.utc_offset_s));
    "moved_reason" Free [] "why it was re-tagged or kept (guarded text)" |v| told(v.moved());
    "moved_by" Free [] "who (guarded text)" |v| teller(v.moved());
    "original_job" Free [] "job it was first stamped with, where re-tagged (guarded text)"
        |v| free(v.before().and_then(|before| Some(&*before.tags.job.as_ref()?.name)));
    "original_feature" Free [] "feature likewise (guarded text)"
        |v| free(v.before().and_then(|before| before.tags.feature.as_deref()));
    "original_piece" Whole [] "piece likewise"
        |v| v.before().map_or(Value::Empty, |before| Value::Whole(before.tags.piece));
    "original_wire_set" Free [] "wire set likewise (guarded text)"
        |v| free(v.before().and_then(|before| Some(&*before.tags.wire_set.as_ref()?.name)));
    "original_unit" Code [] "unit likewise"
        |v| Value::Code(v.before().map_or("", |before| before.unit).into());
    "original_verdict" Code [] "verdict as first made, where re-tagged"
        |v| Value::Code(v.before().map_or("", |before| before.judged.verdict).into());
    "comment" Free [] "last remark (guarded text)"
        |v| told(v.said(|standing| standing.comment.as_ref()));
    "hash" Code [Hash] "hash of the entry in the chain" |v| Value::Hash(v.seen.bytes(Field::Hash));
}

/// The columns of the given names, in their order.
///
/// # Errors
/// The first name that no column has.
pub fn named<'n>(names: impl IntoIterator<Item = &'n str>) -> Result<Vec<Column>, &'n str> {
    let find = |name: &'n str| {
        let found = COLUMNS.iter().find(|column| column.name == name);
        found.copied().ok_or(name)
    };
    let mut columns: Vec<Column> = Vec::new();
    for name in names {
        let column = find(name)?;
        // Named twice, it is one column all the same: a table's columns have names of their own.
        if !columns.iter().any(|known| known.name == column.name) {
            columns.push(column);
        }
    }
    Ok(columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readme_names_every_column_in_order() {
        let readme = include_str!("../../../README.md");
        let listed: Vec<String> = COLUMNS
            .iter()
            .map(|column| format!("`{}`", column.name))
            .collect();
        let flat = readme.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains(&listed.join(" ")),
            "README's list of CSV columns is stale"
        );
    }

    #[test]
    fn a_column_is_found_by_its_name() {
        let found = named(["job", "entry"]).expect("columns");
        assert_eq!((found[0].name, found[1].name), ("job", "entry"));
        assert_eq!(named(["job", "jobs"]).unwrap_err(), "jobs");
        assert_eq!(named(["job", "entry", "job"]).expect("columns").len(), 2);
    }
}
