//! Single values in the canonical form: text, numbers with their digits, words, dates, origins.

use super::mirror::{At, Blank, Mirror};
use record::*;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::value::MapAccessDeserializer;
use serde::de::{DeserializeSeed, Error, IntoDeserializer, MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// A decimal number as text, with its digits as typed; a plain number is accepted on reading.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Number(pub String);

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Form;
        impl Visitor<'_> for Form {
            type Value = Number;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a decimal number")
            }
            fn visit_str<E>(self, text: &str) -> Result<Number, E> {
                Ok(Number(text.trim().to_owned()))
            }
            fn visit_u64<E>(self, number: u64) -> Result<Number, E> {
                Ok(Number(number.to_string()))
            }
            fn visit_i64<E>(self, number: i64) -> Result<Number, E> {
                Ok(Number(number.to_string()))
            }
            fn visit_f64<E>(self, number: f64) -> Result<Number, E> {
                Ok(Number(number.to_string()))
            }
        }
        deserializer.deserialize_any(Form)
    }
}

impl JsonSchema for Number {
    fn schema_name() -> Cow<'static, str> {
        "Number".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A decimal number as text, with its digits as typed; the unit is in the key.",
            "type": ["string", "number"],
            "pattern": "^[+-]?[0-9]*\\.?[0-9]+([eE][+-]?[0-9]+)?$"
        })
    }
}

macro_rules! number {
    ($($type:ident $get:ident),* $(,)?) => {$(
        impl Mirror<$type> for Number {
            fn show(value: &$type) -> Self {
                Self(value.$get().to_string())
            }
            fn read(self, at: &mut At) -> Option<$type> {
                if self.0.is_empty() {
                    return at.missing();
                }
                $type::parse(&self.0).map_or_else(|error| at.wrong(error.to_string()), Some)
            }
        }
    )*};
}
number!(
    Kilovolts as_kv, Seconds as_s, Celsius as_celsius, Percent as_percent, Hectopascals as_hpa,
    Picofarads as_pf, Ohms as_ohm, Millimetres as_mm, AmperesPerVolt as_a_per_v,
    VoltsPerAmpere as_v_per_a, Decibels as_db, AttenuationRatio as_ratio,
);

impl Blank for Number {
    fn blank(&self) -> bool {
        self.0.is_empty()
    }
}

impl Mirror<Decimal> for Number {
    fn show(value: &Decimal) -> Self {
        Self(value.to_string())
    }
    fn read(self, at: &mut At) -> Option<Decimal> {
        if self.0.is_empty() {
            return at.missing();
        }
        parse_decimal(&self.0).map_or_else(|error| at.wrong(error.to_string()), Some)
    }
}

/// A whole number, 0 or more; on reading, `10`, `10.0`, `1e1` and the same as text are the same number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Whole(pub u64);

impl Whole {
    /// The number that a text stands for.
    fn parse(text: &str) -> Option<Self> {
        let number = parse_decimal(text.trim()).ok()?;
        let whole = number.fract().is_zero() && !number.is_sign_negative() || number.is_zero();
        if whole { u64::try_from(number).ok().map(Self) } else { None }
    }
}

impl<'de> Deserialize<'de> for Whole {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let Number(text) = Number::deserialize(deserializer)?;
        Self::parse(&text)
            .ok_or_else(|| serde::de::Error::custom(format!("not a whole number from 0 to {}", u64::MAX)))
    }
}

impl JsonSchema for Whole {
    fn schema_name() -> Cow<'static, str> {
        "Whole".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A whole number, 0 or more.",
            "type": ["integer", "string"],
            "minimum": 0,
            "pattern": "^[0-9]+$"
        })
    }
}

impl Mirror<u64> for Whole {
    fn show(value: &u64) -> Self {
        Self(*value)
    }
    fn read(self, _: &mut At) -> Option<u64> {
        Some(self.0)
    }
}

impl Mirror<u32> for Whole {
    fn show(value: &u32) -> Self {
        Self(u64::from(*value))
    }
    fn read(self, at: &mut At) -> Option<u32> {
        u32::try_from(self.0)
            .map_or_else(|_| at.wrong(format!("`{}` is more than {}", self.0, u32::MAX)), Some)
    }
}

impl Mirror<SourceId> for Whole {
    fn show(value: &SourceId) -> Self {
        Self(u64::from(value.0))
    }
    fn read(self, at: &mut At) -> Option<SourceId> {
        <Self as Mirror<u32>>::read(self, at).map(SourceId)
    }
}

/// A whole number that must be there.
macro_rules! required_whole {
    ($($type:ty),*) => {$(
        impl Mirror<$type> for Option<Whole> {
            fn show(value: &$type) -> Self {
                Some(Mirror::show(value))
            }
            fn read(self, at: &mut At) -> Option<$type> {
                match self {
                    Some(value) => value.read(at),
                    None => at.missing(),
                }
            }
        }
    )*};
}
required_whole!(u64, u32, SourceId);

/// Shortest decimal that reads back as the same double.
impl Mirror<f64> for Number {
    fn show(value: &f64) -> Self {
        Self(value.to_string())
    }
    fn read(self, at: &mut At) -> Option<f64> {
        match self.0.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => at.wrong(format!("`{}` is not a finite number", self.0)),
        }
    }
}

/// One word out of a closed set.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Word<E>(pub String, #[serde(skip)] PhantomData<E>);

impl<E> Default for Word<E> {
    fn default() -> Self {
        Self(String::new(), PhantomData)
    }
}

impl<E> Blank for Word<E> {
    fn blank(&self) -> bool {
        self.0.is_empty()
    }
}

macro_rules! word {
    ($($type:ident),* $(,)?) => {$(
        impl Mirror<$type> for Word<$type> {
            fn show(value: &$type) -> Self {
                Self(value.as_str().to_owned(), PhantomData)
            }
            fn read(self, at: &mut At) -> Option<$type> {
                if self.0.is_empty() {
                    return at.missing();
                }
                self.0.trim().parse::<$type>().map_or_else(|error| at.wrong(error.to_string()), Some)
            }
        }
        impl JsonSchema for Word<$type> {
            fn schema_name() -> Cow<'static, str> {
                stringify!($type).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": "string", "enum": $type::WORDS })
            }
        }
    )*};
}
word!(
    Severity,
    IssueState,
    Supplier,
    Arrangement,
    PolarityRule,
    PartPlayed,
    EquipmentRole,
    Tip,
    SetupCheckKind,
    ContributionKind,
    UncertaintyUnit,
    WaveformFigure,
    WaveformRule,
    Application,
    Polarity,
    RunKind,
    Monitoring,
    Class,
    Restoration,
    Affected,
    JudgedVerdict,
    AttachmentKind,
    SourceRole,
);

impl Mirror<String> for String {
    fn show(value: &String) -> Self {
        value.clone()
    }
    fn read(self, at: &mut At) -> Option<String> {
        if self.trim().is_empty() { at.missing() } else { Some(self) }
    }
}

macro_rules! id {
    ($($type:ident),* $(,)?) => {$(
        impl Mirror<$type> for String {
            fn show(value: &$type) -> Self {
                value.as_str().to_owned()
            }
            fn read(self, at: &mut At) -> Option<$type> {
                match $type::new(&self) {
                    Some(id) => Some(id),
                    None => at.missing(),
                }
            }
        }
    )*};
}
id!(PointId, StateId, ModeId, FunctionId, EquipmentId, SeriesId, ObservationId, VerificationId);

impl Mirror<Date> for String {
    fn show(value: &Date) -> Self {
        value.to_string()
    }
    fn read(self, at: &mut At) -> Option<Date> {
        // Printed again it must be the same: a time of day behind the date would be lost otherwise.
        match self.trim().parse::<Date>() {
            Ok(date) if date.to_string() == self.trim() => Some(date),
            _ => at.wrong(format!("`{self}` is not a date of the form 2026-03-12")),
        }
    }
}

impl Mirror<KeyFingerprint> for String {
    fn show(value: &KeyFingerprint) -> Self {
        value.as_str().to_owned()
    }
    fn read(self, at: &mut At) -> Option<KeyFingerprint> {
        match KeyFingerprint::parse(&self) {
            Some(key) => Some(key),
            None => at.wrong(format!(
                "`{self}` is not the fingerprint of a key: `ssh-keygen -l -f KEY.pub` prints it, from SHA256: on"
            )),
        }
    }
}

impl Mirror<Moment> for String {
    fn show(value: &Moment) -> Self {
        value.to_string()
    }
    fn read(self, at: &mut At) -> Option<Moment> {
        match Moment::parse(&self) {
            Some(moment) => Some(moment),
            None => at.wrong(format!(
                "`{self}` is not a time of the form 2026-03-12T09:30:00+01:00 or 2026-03-12T09:30"
            )),
        }
    }
}

/// A place in a row of things, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Nth(pub Whole);

impl JsonSchema for Nth {
    fn schema_name() -> Cow<'static, str> {
        "Nth".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A whole number, 1 or more.",
            "type": ["integer", "string"],
            "minimum": 1,
            "pattern": "^[0-9]*[1-9][0-9]*$"
        })
    }
}

macro_rules! nth {
    ($($type:ty),*) => {$(
        impl Mirror<$type> for Nth {
            fn show(value: &$type) -> Self {
                Self(Mirror::show(value))
            }
            fn read(self, at: &mut At) -> Option<$type> {
                if self.0.0 == 0 { at.wrong("`0`: it counts from 1") } else { self.0.read(at) }
            }
        }
    )*};
}
nth!(u32, u64);

/// A place that must be there.
impl Mirror<u64> for Option<Nth> {
    fn show(value: &u64) -> Self {
        Some(Nth::show(value))
    }
    fn read(self, at: &mut At) -> Option<u64> {
        match self {
            Some(value) => value.read(at),
            None => at.missing(),
        }
    }
}

impl Mirror<bool> for bool {
    fn show(value: &bool) -> Self {
        *value
    }
    fn read(self, _: &mut At) -> Option<bool> {
        Some(self)
    }
}

/// A yes or no that must be there.
impl Mirror<bool> for Option<bool> {
    fn show(value: &bool) -> Self {
        Some(*value)
    }
    fn read(self, at: &mut At) -> Option<bool> {
        match self {
            Some(value) => Some(value),
            None => at.missing(),
        }
    }
}

/// SHA-256 of a file's bytes, 64 lower-case hexadecimal digits.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Sha256Text(pub String);

impl JsonSchema for Sha256Text {
    fn schema_name() -> Cow<'static, str> {
        "Sha256".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^[0-9a-f]{64}$" })
    }
}

impl Blank for Sha256Text {
    fn blank(&self) -> bool {
        self.0.is_empty()
    }
}

impl Mirror<String> for Sha256Text {
    fn show(value: &String) -> Self {
        Self(value.clone())
    }
    fn read(self, at: &mut At) -> Option<String> {
        let digits = self.0.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
        match self.0.len() {
            0 => at.missing(),
            64 if digits => Some(self.0),
            _ => at.wrong(format!("`{}` is not a SHA-256: 64 digits 0 to 9, a to f", self.0)),
        }
    }
}

/// A fact, or the reason why it does not apply; absent when nobody said.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Maybe<W> {
    /// It does not apply.
    NotApplicable {
        /// Why.
        not_applicable: String,
    },
    /// It was stated.
    Stated(W),
}

/// The key that says that a fact does not apply.
const NOT_APPLICABLE: &str = "not_applicable";

/// Written by hand: the derived form of an untagged enum buffers its input, and keys that are not known
/// would be lost in there without a word.
impl<'de, W: Deserialize<'de>> Deserialize<'de> for Maybe<W> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(MaybeForm(PhantomData))
    }
}

struct MaybeForm<W>(PhantomData<W>);

impl<'de, W: Deserialize<'de>> Visitor<'de> for MaybeForm<W> {
    type Value = Maybe<W>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a fact, or {\"not_applicable\": \"reason\"}")
    }
    fn visit_bool<E: Error>(self, value: bool) -> Result<Maybe<W>, E> {
        W::deserialize(value.into_deserializer()).map(Maybe::Stated)
    }
    fn visit_u64<E: Error>(self, value: u64) -> Result<Maybe<W>, E> {
        W::deserialize(value.into_deserializer()).map(Maybe::Stated)
    }
    fn visit_i64<E: Error>(self, value: i64) -> Result<Maybe<W>, E> {
        W::deserialize(value.into_deserializer()).map(Maybe::Stated)
    }
    fn visit_f64<E: Error>(self, value: f64) -> Result<Maybe<W>, E> {
        W::deserialize(value.into_deserializer()).map(Maybe::Stated)
    }
    fn visit_str<E: Error>(self, value: &str) -> Result<Maybe<W>, E> {
        W::deserialize(value.into_deserializer()).map(Maybe::Stated)
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Maybe<W>, A::Error> {
        let first = map.next_key::<String>()?;
        if first.as_deref() != Some(NOT_APPLICABLE) {
            return W::deserialize(MapAccessDeserializer::new(Resumed { first, map })).map(Maybe::Stated);
        }
        let not_applicable = map.next_value()?;
        match map.next_key::<String>()? {
            None => Ok(Maybe::NotApplicable { not_applicable }),
            Some(other) => Err(Error::custom(format!(
                "`{NOT_APPLICABLE}` stands alone, and here `{other}` stands beside it"
            ))),
        }
    }
}

/// A map whose first key was already looked at.
struct Resumed<A> {
    first: Option<String>,
    map: A,
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Resumed<A> {
    type Error = A::Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, A::Error> {
        let key = match self.first.take() {
            Some(key) => Some(key),
            None => self.map.next_key::<String>()?,
        };
        match key {
            Some(key) if key == NOT_APPLICABLE => Err(Error::custom(format!(
                "`{NOT_APPLICABLE}` stands alone, and here it stands beside a fact"
            ))),
            Some(key) => seed.deserialize(key.into_deserializer()).map(Some),
            None => Ok(None),
        }
    }
    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, A::Error> {
        self.map.next_value_seed(seed)
    }
}

impl<R, W: Mirror<R>> Mirror<Stated<R>> for Option<Maybe<W>> {
    fn show(value: &Stated<R>) -> Self {
        match value {
            Stated::Stated(value) => Some(Maybe::Stated(W::show(value))),
            Stated::NotStated => None,
            Stated::NotApplicable { reason } => Some(Maybe::NotApplicable { not_applicable: reason.clone() }),
        }
    }
    fn read(self, at: &mut At) -> Option<Stated<R>> {
        match self {
            None => Some(Stated::NotStated),
            Some(Maybe::Stated(wire)) => wire.read(at).map(Stated::Stated),
            Some(Maybe::NotApplicable { not_applicable }) => {
                Some(Stated::NotApplicable { reason: not_applicable })
            }
        }
    }
}

/// An origin as text: number of the source, then rows, then column (`0:12:3`, `1:5-14`, `2`;
/// `0::3` is a column without row).
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct OriginText(pub String);

impl JsonSchema for OriginText {
    fn schema_name() -> Cow<'static, str> {
        "Origin".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Where it was read: position in `sources` from 0, then row or rows from 1, then column from 1.",
            "type": "string",
            "pattern": "^[0-9]+(:([0-9]+(-[0-9]+)?)?(:[0-9]+)?)?$"
        })
    }
}

impl Blank for OriginText {
    fn blank(&self) -> bool {
        self.0.is_empty()
    }
}

impl OriginText {
    fn parse(&self) -> Option<Origin> {
        // Rust's own numbers may carry a plus sign.
        if self.0.contains('+') {
            return None;
        }
        let mut parts = self.0.split(':');
        let source = SourceId(parts.next()?.parse().ok()?);
        let rows = match parts.next() {
            None | Some("") => None,
            Some(range) => Some(match range.split_once('-') {
                Some((first, last)) => Rows { first: first.parse().ok()?, last: last.parse().ok()? },
                None => Rows::one(range.parse().ok()?),
            }),
        };
        let column = match parts.next() {
            None => None,
            Some(column) => Some(column.parse().ok().filter(|column| *column >= 1)?),
        };
        let well_formed = parts.next().is_none() && rows.is_none_or(|r| r.first >= 1 && r.first <= r.last);
        well_formed.then_some(Origin { source, rows, column })
    }
}

impl Mirror<Origin> for OriginText {
    fn show(value: &Origin) -> Self {
        let mut text = value.source.0.to_string();
        if let Some(rows) = value.rows {
            text += &format!(":{}", rows.first);
            if rows.last != rows.first {
                text += &format!("-{}", rows.last);
            }
        }
        if let Some(column) = value.column {
            if value.rows.is_none() {
                text.push(':');
            }
            text += &format!(":{column}");
        }
        Self(text)
    }
    fn read(self, at: &mut At) -> Option<Origin> {
        match self.parse() {
            Some(origin) => Some(origin),
            None if self.0.is_empty() => at.missing(),
            None => at.wrong(format!("`{}` is not an origin of the form source:row:column", self.0)),
        }
    }
}
