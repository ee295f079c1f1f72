//! A line read without copies: every name at most once, no nulls, no escaped letters.
//!
//! Numbers are kept as they were written, whole or not, because the answer repeats them.

use std::fmt;

use overwire_core::thread::Hand;
use overwire_core::units::Unit;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Error as _, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Number;

use super::answer::{Answer, Size};
use super::line::{GeometryLine, Line, WiresLine};

/// A plain line.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlainLine<'a> {
    #[serde(borrow, default, deserialize_with = "given")]
    thread: Option<&'a str>,
    #[serde(borrow, default, deserialize_with = "given_object")]
    geometry: Option<PlainGeometry<'a>>,
    #[serde(default, deserialize_with = "given")]
    pitch_diameter_min: Option<Number>,
    #[serde(default, deserialize_with = "given")]
    pitch_diameter_max: Option<Number>,
    #[serde(borrow, default, deserialize_with = "given")]
    unit: Option<&'a str>,
    #[serde(default, deserialize_with = "given")]
    wires: Option<PlainWires>,
    #[serde(default, deserialize_with = "given")]
    over_wires: Option<Number>,
    #[serde(default, deserialize_with = "given")]
    pitch_diameter: Option<Number>,
}

/// A geometry; its fields stand in the order in which they are repeated.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlainGeometry<'a> {
    #[serde(
        borrow,
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    hand: Option<&'a str>,
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    leading_flank_deg: Option<Number>,
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    major_diameter: Option<Number>,
    pitch: Number,
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    starts: Option<u32>,
    #[serde(
        default,
        deserialize_with = "given",
        skip_serializing_if = "Option::is_none"
    )]
    trailing_flank_deg: Option<Number>,
}

/// One wire diameter, or three.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(super) enum PlainWires {
    One(Number),
    Three([Number; 3]),
}

/// What is there must not be null.
fn given<'a, D: Deserializer<'a>, T: Deserialize<'a>>(from: D) -> Result<Option<T>, D::Error> {
    T::deserialize(from).map(Some)
}

/// What is there must be an object: an array of its fields is not plain.
fn given_object<'a, D: Deserializer<'a>>(from: D) -> Result<Option<PlainGeometry<'a>>, D::Error> {
    struct Object;

    impl<'a> Visitor<'a> for Object {
        type Value = PlainGeometry<'a>;

        fn expecting(&self, formatter: &mut fmt::Formatter) -> fmt::Result {
            formatter.write_str("an object")
        }

        fn visit_map<M: MapAccess<'a>>(self, fields: M) -> Result<PlainGeometry<'a>, M::Error> {
            PlainGeometry::deserialize(MapAccessDeserializer::new(fields))
        }
    }

    from.deserialize_map(Object).map(Some)
}

impl<'a> Deserialize<'a> for PlainWires {
    fn deserialize<D: Deserializer<'a>>(from: D) -> Result<PlainWires, D::Error> {
        struct Wires;

        impl<'a> Visitor<'a> for Wires {
            type Value = PlainWires;

            fn expecting(&self, formatter: &mut fmt::Formatter) -> fmt::Result {
                formatter.write_str("one number, or three")
            }

            fn visit_u64<E: serde::de::Error>(self, number: u64) -> Result<PlainWires, E> {
                Ok(PlainWires::One(number.into()))
            }

            fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<PlainWires, E> {
                Ok(PlainWires::One(number.into()))
            }

            fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<PlainWires, E> {
                let number = Number::from_f64(number);
                Ok(PlainWires::One(
                    number.ok_or_else(|| E::custom("not finite"))?,
                ))
            }

            fn visit_seq<S: SeqAccess<'a>>(self, mut seq: S) -> Result<PlainWires, S::Error> {
                let mut next = || -> Result<Option<Number>, S::Error> { seq.next_element() };
                match (next()?, next()?, next()?, next()?) {
                    (Some(single), Some(first), Some(second), None) => {
                        Ok(PlainWires::Three([single, first, second]))
                    }
                    _ => Err(S::Error::custom("not three wires")),
                }
            }
        }

        from.deserialize_any(Wires)
    }
}

/// A whole number turned into a float as any reader of the line would.
fn float(number: &Number) -> f64 {
    number.as_f64().unwrap_or(f64::NAN)
}

fn maybe(number: Option<&Number>) -> Option<f64> {
    number.map(float)
}

impl<'a> PlainLine<'a> {
    /// The line, when it is a plain one.
    pub(super) fn read(line: &'a [u8]) -> Option<PlainLine<'a>> {
        let object = line.trim_ascii_start().first() == Some(&b'{');
        let plain: PlainLine = object.then(|| serde_json::from_slice(line).ok())??;
        let known_unit = plain.unit.is_none_or(|unit| unit_named(unit).is_some());
        let known_hand = plain
            .geometry
            .as_ref()
            .and_then(|geometry| geometry.hand)
            .is_none_or(|hand| hand_named(hand).is_some());
        let one_size = plain.over_wires.is_none() || plain.pitch_diameter.is_none();
        (known_unit && known_hand && one_size).then_some(plain)
    }

    pub(super) fn over_wires(&self) -> Option<f64> {
        maybe(self.over_wires.as_ref())
    }

    pub(super) fn pitch_diameter(&self) -> Option<f64> {
        maybe(self.pitch_diameter.as_ref())
    }

    /// Everything but the size asked about, without a way for two lines to be confused: each part
    /// is preceded by what it is, and has a fixed length or tells it.
    pub(super) fn write_key(&self, key: &mut Vec<u8>) {
        let mut number = |mark: u8, number: Option<&Number>| {
            if let Some(number) = number {
                key.push(mark);
                key.extend_from_slice(&float(number).to_bits().to_le_bytes());
            }
        };
        number(b'a', self.pitch_diameter_min.as_ref());
        number(b'b', self.pitch_diameter_max.as_ref());
        match &self.wires {
            Some(PlainWires::One(wire)) => number(b'c', Some(wire)),
            Some(PlainWires::Three(wires)) => {
                wires.iter().for_each(|wire| number(b'd', Some(wire)))
            }
            None => {}
        }
        if let Some(geometry) = &self.geometry {
            number(b'e', Some(&geometry.pitch));
            number(b'f', geometry.leading_flank_deg.as_ref());
            number(b'g', geometry.trailing_flank_deg.as_ref());
            number(b'h', geometry.major_diameter.as_ref());
            if let Some(starts) = geometry.starts {
                key.push(b'i');
                key.extend_from_slice(&starts.to_le_bytes());
            }
            write_text(key, b'j', geometry.hand);
        }
        write_text(key, b'k', self.unit);
        write_text(key, b'l', self.thread);
    }

    /// The same line with nothing borrowed.
    pub(super) fn to_line(&self) -> Line {
        Line {
            thread: self.thread.map(str::to_owned),
            geometry: self.geometry.as_ref().map(|geometry| GeometryLine {
                pitch: float(&geometry.pitch),
                starts: geometry.starts,
                hand: geometry.hand.and_then(hand_named),
                leading_flank_deg: maybe(geometry.leading_flank_deg.as_ref()),
                trailing_flank_deg: maybe(geometry.trailing_flank_deg.as_ref()),
                major_diameter: maybe(geometry.major_diameter.as_ref()),
            }),
            pitch_diameter_min: maybe(self.pitch_diameter_min.as_ref()),
            pitch_diameter_max: maybe(self.pitch_diameter_max.as_ref()),
            unit: self.unit.and_then(unit_named),
            wires: self.wires.as_ref().map(|wires| match wires {
                PlainWires::One(wire) => WiresLine::One(float(wire)),
                PlainWires::Three(wires) => WiresLine::Three(wires.each_ref().map(float)),
            }),
            over_wires: self.over_wires(),
            pitch_diameter: self.pitch_diameter(),
        }
    }

    /// Puts what the line says itself into its answer.
    pub(super) fn repeat_in<'b>(&'b self, answer: &mut Answer<'b>) {
        answer.thread = self.thread;
        answer.unit = self.unit;
        answer.geometry = self.geometry.as_ref();
        answer.wires = self.wires.as_ref();
        if let Some(over_wires) = &self.over_wires {
            answer.over_wires = Some(Size::Given(over_wires));
        }
        if let Some(pitch_diameter) = &self.pitch_diameter {
            answer.pitch_diameter = Some(Size::Given(pitch_diameter));
        }
    }
}

fn write_text(key: &mut Vec<u8>, mark: u8, text: Option<&str>) {
    if let Some(text) = text {
        key.push(mark);
        key.extend_from_slice(&text.len().to_le_bytes());
        key.extend_from_slice(text.as_bytes());
    }
}

fn unit_named(name: &str) -> Option<Unit> {
    [Unit::Millimetre, Unit::Inch]
        .into_iter()
        .find(|unit| unit.as_str() == name)
}

fn hand_named(name: &str) -> Option<Hand> {
    match name {
        "right" => Some(Hand::Right),
        "left" => Some(Hand::Left),
        _ => None,
    }
}
