//! A reading as exports see it: straight from its row in the table, or as it stands after what was said of it.
//!
//! Fields are asked for one by one, so that a column that nobody wants costs nothing.

use std::borrow::Cow;

use rusqlite::Row;
use rusqlite::types::ValueRef;

use crate::record::Revised;
use crate::record::entry::places_of;
use crate::record::standing::Standing;

macro_rules! fields {
    ($($name:ident $sql:literal)*) => {
        /// A field of a reading; its order is that of the table.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs)]
        pub enum Field { $($name),* }

        /// The columns of `reading` that hold them.
        const SQL: &[&str] = &[$($sql),*];
    };
}

fields! {
    Entry "entry" Id "id" Station "station" Sequence "sequence" WallUs "wall_us" OffsetS "utc_offset_s"
    Raw "raw" Text "text" Unit "unit" UnitFrom "unit_from" Job "job" JobEntry "job_entry" Feature "feature"
    Piece "piece" Attempt "attempt" Position "position" WireSet "wire_set" WireSetEntry "wire_set_entry"
    Instrument "instrument" InstrumentEntry "instrument_entry" Method "method" Operator "operator"
    Purpose "purpose" PitchDiameter "pitch_diameter_mm" LeadAngle "lead_angle_correction_mm"
    LimitMin "limit_min_mm" LimitMax "limit_max_mm" Seat "seat" Verdict "verdict" Held "held"
    Counted "counted" Flags "flags" Grounds "grounds" Hash "hash"
}

/// Fields that are read from the table, and where each stands in the row.
#[derive(Debug, Clone)]
pub struct Wanted {
    at: [Option<u8>; SQL.len()],
    list: String,
    count: u8,
}

impl Wanted {
    /// The given fields and the entry's number.
    pub fn of(fields: impl IntoIterator<Item = Field>) -> Wanted {
        let mut wanted = Wanted {
            at: [None; SQL.len()],
            list: String::new(),
            count: 0,
        };
        wanted.add(Field::Entry);
        for field in fields {
            wanted.add(field);
        }
        wanted
    }

    fn add(&mut self, field: Field) {
        let place = &mut self.at[field as usize];
        if place.is_some() {
            return;
        }
        *place = Some(self.count);
        if self.count > 0 {
            self.list.push_str(", ");
        }
        self.list.push_str(SQL[field as usize]);
        self.count += 1;
    }

    /// The columns for a SELECT.
    pub fn sql(&self) -> &str {
        &self.list
    }
}

/// A reading.
#[derive(Debug, Clone, Copy)]
pub enum Seen<'a> {
    /// Nothing was said of it: its row in the table.
    Row(&'a Row<'a>, &'a Wanted),
    /// As it stands now.
    Standing(&'a Standing),
}

fn name(revised: Option<&Revised>) -> &str {
    revised.map_or("", |revised| &revised.name)
}

fn entry(revised: Option<&Revised>) -> i64 {
    revised.map_or(0, |revised| revised.entry)
}

impl<'a> Seen<'a> {
    fn cell(row: &'a Row<'a>, wanted: &Wanted, field: Field) -> ValueRef<'a> {
        let at = wanted.at[field as usize];
        debug_assert!(at.is_some(), "{field:?} was not asked for");
        at.and_then(|at| row.get_ref(usize::from(at)).ok())
            .unwrap_or(ValueRef::Null)
    }

    /// A field of text; empty where there is none.
    pub fn text(&self, field: Field) -> Cow<'a, str> {
        match *self {
            Seen::Row(row, wanted) => match Self::cell(row, wanted, field) {
                ValueRef::Text(bytes) => String::from_utf8_lossy(bytes),
                _ => Cow::Borrowed(""),
            },
            Seen::Standing(standing) => text_of(standing, field),
        }
    }

    /// A field of bytes.
    pub fn bytes(&self, field: Field) -> &'a [u8] {
        match *self {
            Seen::Row(row, wanted) => match Self::cell(row, wanted, field) {
                ValueRef::Blob(bytes) => bytes,
                _ => &[],
            },
            Seen::Standing(standing) => match field {
                Field::Id => &standing.reading.head.id,
                Field::Hash => &standing.reading.head.hash,
                _ => &standing.reading.raw,
            },
        }
    }

    /// A whole number.
    pub fn whole(&self, field: Field) -> i64 {
        match *self {
            Seen::Row(row, wanted) => match Self::cell(row, wanted, field) {
                ValueRef::Integer(number) => number,
                _ => 0,
            },
            Seen::Standing(standing) => whole_of(standing, field),
        }
    }

    /// A length in millimetres.
    pub fn mm(&self, field: Field) -> Option<f64> {
        match *self {
            Seen::Row(row, wanted) => match Self::cell(row, wanted, field) {
                ValueRef::Real(number) => Some(number),
                ValueRef::Integer(number) => Some(number as f64),
                _ => None,
            },
            Seen::Standing(standing) => {
                let judged = &standing.reading.judged;
                match field {
                    Field::PitchDiameter => judged.pitch_diameter_mm,
                    Field::LeadAngle => judged.lead_angle_correction_mm,
                    Field::LimitMin => judged.limit_min_mm,
                    _ => judged.limit_max_mm,
                }
            }
        }
    }

    /// Decimal places of the display.
    pub fn places(&self) -> u8 {
        places_of(&self.text(Field::Text))
    }

    /// Whether it waits for a person.
    pub fn held(&self) -> bool {
        !self.text(Field::Held).is_empty()
    }

    /// Whether it counts now.
    pub fn counts(&self) -> bool {
        match self {
            Seen::Row(..) => self.whole(Field::Counted) != 0,
            Seen::Standing(standing) => standing.counts(),
        }
    }

    /// What was said of it since, where something was.
    pub fn said(&self) -> Option<&'a Standing> {
        match *self {
            Seen::Row(..) => None,
            Seen::Standing(standing) => Some(standing),
        }
    }
}

fn text_of(standing: &Standing, field: Field) -> Cow<'_, str> {
    let reading = &standing.reading;
    let (tags, judged) = (&*reading.tags, &reading.judged);
    Cow::Borrowed(match field {
        Field::Station => &reading.head.station,
        Field::Text => &reading.text,
        Field::Unit => reading.unit,
        Field::UnitFrom => reading.unit_from.code(),
        Field::Job => name(tags.job.as_ref()),
        Field::Feature => tags.feature.as_deref().unwrap_or_default(),
        Field::Position => tags.position.as_deref().unwrap_or_default(),
        Field::WireSet => name(tags.wire_set.as_ref()),
        Field::Instrument => &tags.instrument.name,
        Field::Method => &tags.method,
        Field::Operator => tags.operator.as_deref().unwrap_or_default(),
        Field::Purpose => tags.purpose,
        Field::Seat => judged.seat,
        Field::Verdict => judged.verdict,
        Field::Grounds => judged.grounds.as_deref().unwrap_or_default(),
        Field::Held => {
            return judged
                .held
                .as_ref()
                .map_or(Cow::Borrowed(""), |h| h.to_code().into());
        }
        Field::Flags => return judged.flags.to_text().into(),
        _ => "",
    })
}

fn whole_of(standing: &Standing, field: Field) -> i64 {
    let head = &standing.reading.head;
    let tags = &standing.reading.tags;
    match field {
        Field::Entry => head.entry,
        Field::Sequence => head.sequence,
        Field::WallUs => head.stamp.wall_us,
        Field::OffsetS => i64::from(head.stamp.utc_offset_s),
        Field::JobEntry => entry(tags.job.as_ref()),
        Field::Piece => tags.piece,
        Field::Attempt => tags.attempt,
        Field::WireSetEntry => entry(tags.wire_set.as_ref()),
        Field::InstrumentEntry => tags.instrument.entry,
        _ => 0,
    }
}
