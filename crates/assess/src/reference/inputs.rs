//! The inputs of a reference case, read with an error that names the key.

use crate::special::Confidence;
use record::{Decimal, parse_decimal};
use toml::{Table, Value};

/// The inputs of a case.
#[derive(Clone, Copy)]
pub(super) struct Inputs<'a>(pub(super) &'a Table);

impl<'a> Inputs<'a> {
    fn get(self, key: &str) -> Result<&'a Value, String> {
        self.0.get(key).ok_or_else(|| format!("no input `{key}`"))
    }

    pub(super) fn has(self, key: &str) -> bool {
        self.0.contains_key(key)
    }

    pub(super) fn text(self, key: &str) -> Result<&'a str, String> {
        self.get(key)?.as_str().ok_or_else(|| format!("the input `{key}` is no text"))
    }

    /// A number, also where it was written as text to keep its digits; `inf` counts.
    pub(super) fn number(self, key: &str) -> Result<f64, String> {
        number_of(self.get(key)?).ok_or_else(|| format!("the input `{key}` is no number"))
    }

    pub(super) fn number_or(self, key: &str, otherwise: f64) -> Result<f64, String> {
        if self.has(key) { self.number(key) } else { Ok(otherwise) }
    }

    pub(super) fn count(self, key: &str) -> Result<u64, String> {
        let whole = self.get(key)?.as_integer().and_then(|count| u64::try_from(count).ok());
        whole.ok_or_else(|| format!("the input `{key}` is no count"))
    }

    /// A decimal, written as text.
    pub(super) fn decimal(self, key: &str) -> Result<Decimal, String> {
        parse_decimal(self.text(key)?).map_err(|error| format!("the input `{key}`: {error}"))
    }

    pub(super) fn optional_decimal(self, key: &str) -> Result<Option<Decimal>, String> {
        self.has(key).then(|| self.decimal(key)).transpose()
    }

    pub(super) fn confidence(self, key: &str) -> Result<Confidence, String> {
        Confidence::new(self.decimal(key)?).map_err(|error| error.to_string())
    }

    pub(super) fn list(self, key: &str) -> Result<&'a [Value], String> {
        self.get(key)?.as_array().map(Vec::as_slice).ok_or_else(|| format!("the input `{key}` is no list"))
    }

    pub(super) fn numbers(self, key: &str) -> Result<Vec<f64>, String> {
        let each = self.list(key)?.iter().map(number_of).collect::<Option<Vec<f64>>>();
        each.ok_or_else(|| format!("the input `{key}` holds something that is no number"))
    }

    pub(super) fn tables(self, key: &str) -> Result<Vec<Inputs<'a>>, String> {
        if !self.has(key) {
            return Ok(Vec::new());
        }
        let each = self.list(key)?.iter().map(|value| value.as_table().map(Inputs)).collect::<Option<_>>();
        each.ok_or_else(|| format!("the input `{key}` holds something that is no table"))
    }
}

fn number_of(value: &Value) -> Option<f64> {
    match value {
        Value::Float(number) => Some(*number),
        Value::Integer(number) => Some(*number as f64),
        Value::String(text) => text.parse().ok(),
        _ => None,
    }
}
