//! TOML as a plain value, with the row and column where each part was written.

use serde_json::{Map, Value};
use std::collections::BTreeMap;
use toml_edit::{Document, Item};

/// A row and column, both from 1; the column counts characters.
pub(crate) type RowColumn = (u64, u32);

/// A TOML text as a value. Numbers with a decimal point and dates are kept as their text, so that no digit
/// is lost.
pub(crate) struct PlacedToml {
    pub(crate) value: Map<String, Value>,
    /// Path (`/item/serial`) to place.
    pub(crate) places: BTreeMap<String, RowColumn>,
}

/// What is wrong with a TOML text.
pub(crate) struct BadToml {
    pub(crate) message: String,
    pub(crate) place: Option<RowColumn>,
}

pub(crate) fn parse(text: &str) -> Result<PlacedToml, BadToml> {
    let lines = Lines::new(text);
    let document = Document::parse(text).map_err(|error| BadToml {
        message: error.message().trim().replace('\n', ", "),
        place: error.span().map(|span| lines.place(text, span.start)),
    })?;
    let mut walk = Walk { text, lines, places: BTreeMap::new() };
    let mut value = Map::new();
    for (key, item) in document.as_table().iter() {
        let path = format!("/{key}");
        if let Some(span) = document.as_table().key(key).and_then(toml_edit::Key::span) {
            walk.places.insert(path.clone(), walk.lines.place(text, span.start));
        }
        value.insert(key.to_owned(), walk.item(item, &path));
    }
    Ok(PlacedToml { value, places: walk.places })
}

struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    fn new(text: &str) -> Self {
        let mut starts = vec![0];
        starts.extend(text.match_indices('\n').map(|(at, _)| at + 1));
        Self { starts }
    }

    fn place(&self, text: &str, at: usize) -> RowColumn {
        let line = self.starts.partition_point(|start| *start <= at).max(1);
        let start = self.starts.get(line - 1).copied().unwrap_or(0);
        let column = text.get(start..at).map_or(0, |before| before.chars().count()) + 1;
        (line as u64, u32::try_from(column).unwrap_or(u32::MAX))
    }
}

struct Walk<'a> {
    text: &'a str,
    lines: Lines,
    places: BTreeMap<String, RowColumn>,
}

impl Walk<'_> {
    fn note(&mut self, path: &str, span: Option<std::ops::Range<usize>>) {
        if let Some(span) = span {
            let place = self.lines.place(self.text, span.start);
            self.places.entry(path.to_owned()).or_insert(place);
        }
    }

    fn raw(&self, span: Option<std::ops::Range<usize>>) -> String {
        span.and_then(|span| self.text.get(span)).unwrap_or_default().replace('_', "")
    }

    fn item(&mut self, item: &Item, path: &str) -> Value {
        match item {
            Item::None => Value::Null,
            Item::Value(value) => self.value(value, path),
            Item::Table(table) => {
                self.note(path, table.span());
                Value::Object(self.table(table, path))
            }
            Item::ArrayOfTables(array) => {
                let mut list = Vec::new();
                for (index, table) in array.iter().enumerate() {
                    let path = format!("{path}/{index}");
                    self.note(&path, table.span());
                    list.push(Value::Object(self.table(table, &path)));
                }
                Value::Array(list)
            }
        }
    }

    fn table(&mut self, table: &dyn toml_edit::TableLike, path: &str) -> Map<String, Value> {
        let mut map = Map::new();
        for (key, item) in table.iter() {
            let path = format!("{path}/{key}");
            self.note(&path, table.key(key).and_then(toml_edit::Key::span));
            map.insert(key.to_owned(), self.item(item, &path));
        }
        map
    }

    fn value(&mut self, value: &toml_edit::Value, path: &str) -> Value {
        self.note(path, value.span());
        match value {
            toml_edit::Value::String(text) => Value::String(text.value().clone()),
            toml_edit::Value::Integer(number) => Value::from(*number.value()),
            toml_edit::Value::Float(number) => Value::String(self.raw(number.span())),
            toml_edit::Value::Boolean(flag) => Value::Bool(*flag.value()),
            toml_edit::Value::Datetime(moment) => {
                let raw = moment.span().and_then(|span| self.text.get(span)).map(str::to_owned);
                Value::String(raw.unwrap_or_else(|| moment.value().to_string()))
            }
            toml_edit::Value::Array(array) => Value::Array(
                array
                    .iter()
                    .enumerate()
                    .map(|(index, v)| self.value(v, &format!("{path}/{index}")))
                    .collect(),
            ),
            toml_edit::Value::InlineTable(table) => Value::Object(self.table(table, path)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_and_places_are_kept() {
        let toml = parse(
            "a = 1\n[item]\nserial = \"0017\"\n[[climate]]\ntemperature_c = 23.10\nat = 2026-03-12T09:30:00+01:00\n",
        );
        let Ok(toml) = toml else { panic!("valid TOML") };
        assert_eq!(toml.value["climate"][0]["temperature_c"], "23.10");
        assert_eq!(toml.value["climate"][0]["at"], "2026-03-12T09:30:00+01:00");
        assert_eq!(toml.places["/item/serial"], (3, 1));
        assert_eq!(toml.places["/climate/0"], (4, 1));
        assert_eq!(toml.places["/climate/0/temperature_c"], (5, 1));
    }

    #[test]
    fn a_broken_text_names_its_place() {
        let Err(bad) = parse("a = 1\nb = \"x\n") else { panic!("broken TOML") };
        assert_eq!(bad.place.map(|p| p.0), Some(2));
    }
}
