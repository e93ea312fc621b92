//! Single values in the canonical form: text, numbers with their digits, words, dates, origins.

use super::mirror::{At, Blank, Mirror};
use record::*;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize};
use std::borrow::Cow;
use std::marker::PhantomData;

/// A decimal number as text, with its digits as typed; a plain number is accepted on reading.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Number(pub String);

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged, expecting = "a decimal number")]
        enum Form {
            Text(String),
            Whole(i64),
            Float(f64),
        }
        Ok(Self(match Form::deserialize(deserializer)? {
            Form::Text(text) => text.trim().to_owned(),
            Form::Whole(number) => number.to_string(),
            Form::Float(number) => number.to_string(),
        }))
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
        parse_decimal(&self.0).map_or_else(|error| at.wrong(error.to_string()), Some)
    }
}

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
        self.trim()
            .parse::<Date>()
            .map_or_else(|_| at.wrong(format!("`{self}` is not a date of the form 2026-03-12")), Some)
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

macro_rules! plain {
    ($($type:ty),*) => {$(
        impl Mirror<$type> for Option<$type> {
            fn show(value: &$type) -> Self {
                Some(*value)
            }
            fn read(self, at: &mut At) -> Option<$type> {
                match self {
                    Some(value) => Some(value),
                    None => at.missing(),
                }
            }
        }
        impl Mirror<$type> for $type {
            fn show(value: &$type) -> Self {
                *value
            }
            fn read(self, _: &mut At) -> Option<$type> {
                Some(self)
            }
        }
    )*};
}
plain!(bool, u32, u64);

/// A fact, or the reason why it does not apply; absent when nobody said.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
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

/// An origin as text: number of the source, then rows, then column (`0:12:3`, `1:5-14`, `2`).
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
            "pattern": "^[0-9]+(:[0-9]+(-[0-9]+)?(:[0-9]+)?)?$"
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
        let mut parts = self.0.split(':');
        let source = SourceId(parts.next()?.parse().ok()?);
        let rows = match parts.next() {
            None => None,
            Some(range) => Some(match range.split_once('-') {
                Some((first, last)) => Rows { first: first.parse().ok()?, last: last.parse().ok()? },
                None => Rows::one(range.parse().ok()?),
            }),
        };
        let column = match parts.next() {
            None => None,
            Some(column) => Some(column.parse().ok()?),
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
            if let Some(column) = value.column {
                text += &format!(":{column}");
            }
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

impl Mirror<SourceId> for u32 {
    fn show(value: &SourceId) -> Self {
        value.0
    }
    fn read(self, _: &mut At) -> Option<SourceId> {
        Some(SourceId(self))
    }
}
