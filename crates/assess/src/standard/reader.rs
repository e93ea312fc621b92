//! A view of a TOML table that notes what is wrong, where, and which key was probably meant.

use super::{Given, Span, Status, codes};
use record::{Decimal, Finding, Place};
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place in the text.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// A file among those laid over one another, and the byte at which it starts when they are counted through.
pub(super) struct Layer {
    pub(super) file: String,
    pub(super) text: String,
    pub(super) start: usize,
}

/// The text being read, and what was found wrong so far.
pub(super) struct Text<'t> {
    layers: &'t [Layer],
    pub(super) sources: BTreeMap<String, String>,
    findings: Vec<(usize, Finding)>,
}

impl<'t> Text<'t> {
    /// Files laid over one another, the uppermost first; their bytes are counted through.
    pub(super) fn new(layers: &'t [Layer]) -> Self {
        Self { layers, sources: BTreeMap::new(), findings: Vec::new() }
    }

    fn place(&self, at: usize, label: &str) -> Place {
        let label = (!label.is_empty()).then(|| label.to_owned());
        let Some(layer) = self.layers.iter().rev().find(|layer| layer.start <= at) else {
            return Place { label, ..Place::default() };
        };
        let before = layer.text.get(..at - layer.start).unwrap_or(&layer.text);
        let row = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        let in_line = before.rfind('\n').map_or(before, |newline| &before[newline + 1..]);
        Place {
            file: layer.file.clone(),
            row: Some(row as u64),
            column: u32::try_from(in_line.chars().count() + 1).ok(),
            label,
        }
    }

    /// Notes a problem at a byte of the text; `label` is the key's path.
    pub(super) fn refuse(
        &mut self,
        at: usize,
        label: &str,
        code: &str,
        message: impl Into<String>,
        help: String,
    ) {
        let mut finding = Finding::error(code, message).at(self.place(at, label));
        if !help.is_empty() {
            finding = finding.help(help);
        }
        self.findings.push((at, finding));
    }

    /// Whether anything was noted.
    pub(super) fn is_clean(&self) -> bool {
        self.findings.is_empty()
    }

    /// Everything that was noted, in the order of the text.
    pub(super) fn into_findings(mut self) -> Vec<Finding> {
        self.findings.sort_by_key(|(at, _)| *at);
        self.findings.into_iter().map(|(_, finding)| finding).collect()
    }
}

/// A table of the text; it remembers which keys were asked for.
pub(super) struct Section<'a, 't> {
    path: String,
    at: usize,
    table: &'a DeTable<'t>,
    asked: Vec<&'static str>,
}

impl<'a, 't> Section<'a, 't> {
    pub(super) fn new(path: &str, at: usize, table: &'a DeTable<'t>) -> Self {
        Self { path: path.to_owned(), at, table, asked: Vec::new() }
    }

    /// Byte at which the table starts.
    pub(super) fn at(&self) -> usize {
        self.at
    }

    /// The table's keys joined by dots, then the key.
    pub(super) fn label(&self, key: &str) -> String {
        match (self.path.as_str(), key) {
            ("", key) => key.to_owned(),
            (path, "") => path.to_owned(),
            (path, key) => format!("{path}.{key}"),
        }
    }

    /// The value of a key, if it is there.
    pub(super) fn get(&mut self, key: &'static str) -> Option<&'a Value<'t>> {
        self.asked.push(key);
        self.table.get(key)
    }

    /// The value of a key that must be there.
    pub(super) fn need(&mut self, text: &mut Text<'_>, key: &'static str) -> Option<&'a Value<'t>> {
        let found = self.get(key);
        if found.is_none() {
            let what = if self.path.is_empty() { "the file".to_owned() } else { format!("`{}`", self.path) };
            let help = match key {
                "clause" => {
                    "write the clause, table or figure; where it is not known, write \"not seen\"".to_owned()
                }
                "status" => format!("one of: {}", Status::WORDS.join(", ")),
                "source" => "name a key of [sources]".to_owned(),
                _ => format!("add a line for `{key}`"),
            };
            text.refuse(
                self.at,
                &self.label(key),
                codes::MISSING_KEY,
                format!("{what} has no `{key}`"),
                help,
            );
        }
        found
    }

    /// A value that must be there, read by `read`, which says what is wrong with it.
    pub(super) fn value<T>(
        &mut self,
        text: &mut Text<'_>,
        key: &'static str,
        read: impl FnOnce(&Value<'_>) -> Result<T, String>,
    ) -> Option<T> {
        let found = self.need(text, key)?;
        read(found).map_err(|why| self.bad(text, key, found, why)).ok()
    }

    /// Notes that a value is not one that its key can have.
    pub(super) fn bad(&self, text: &mut Text<'_>, key: &str, value: &Value<'_>, why: String) {
        let help = match key {
            "status" => "say how the value is known; `memory` or `unknown` where nobody has looked it up",
            _ => "write a value of the kind that this key has in shared/standards/iec-61000-4-2-ed2.toml",
        };
        text.refuse(value.span().start, &self.label(key), codes::BAD_VALUE, why, help.to_owned());
    }

    /// Clause, source spelt out, and status.
    pub(super) fn proof(&mut self, text: &mut Text<'_>) -> Option<(String, String, Status)> {
        let clause = self.value(text, "clause", words_of);
        let status = self.value(text, "status", one_of::<Status>);
        let source = self.need(text, "source").and_then(|found| match words_of(found) {
            Err(why) => {
                self.bad(text, "source", found, why);
                None
            }
            Ok(key) => match text.sources.get(&key) {
                Some(spelt_out) => Some(spelt_out.clone()),
                None => {
                    let help = nearest(&key, text.sources.keys().map(String::as_str));
                    let message = format!("[sources] has no `{key}`");
                    text.refuse(
                        found.span().start,
                        &self.label("source"),
                        codes::UNKNOWN_SOURCE,
                        message,
                        help,
                    );
                    None
                }
            },
        });
        Some((clause?, source?, status?))
    }

    /// A table under a key that must be there.
    pub(super) fn section(&mut self, text: &mut Text<'_>, key: &'static str) -> Option<Section<'a, 't>> {
        let found = self.need(text, key)?;
        match found.get_ref() {
            DeValue::Table(table) => Some(Section::new(&self.label(key), found.span().start, table)),
            other => {
                self.bad(text, key, found, format!("`{key}` is a {}, not a table", other.type_str()));
                None
            }
        }
    }

    /// The tables of a list of tables; none where the key is absent.
    pub(super) fn sections(&mut self, text: &mut Text<'_>, key: &'static str) -> Vec<Section<'a, 't>> {
        let Some(found) = self.get(key) else { return Vec::new() };
        let DeValue::Array(list) = found.get_ref() else {
            self.bad(text, key, found, format!("`{key}` is not a list of tables: write [[{key}]]"));
            return Vec::new();
        };
        let mut sections = Vec::new();
        for (number, entry) in (1..).zip(list.iter()) {
            match entry.get_ref() {
                DeValue::Table(table) => {
                    sections.push(Section::new(
                        &format!("{}[{number}]", self.label(key)),
                        entry.span().start,
                        table,
                    ));
                }
                other => {
                    self.bad(text, key, entry, format!("a {} stands where a table belongs", other.type_str()))
                }
            }
        }
        sections
    }

    /// `key = { value, clause, source, status }`, which must be there.
    pub(super) fn given<T>(
        &mut self,
        text: &mut Text<'_>,
        key: &'static str,
        read: impl FnOnce(&Value<'_>) -> Result<T, String>,
    ) -> Option<Given<T>> {
        let mut section = self.section(text, key)?;
        let value = section.value(text, "value", read);
        section.given_rest(text, value)
    }

    /// `key = { least, most, clause, source, status }`.
    pub(super) fn given_span<T: PartialOrd + Copy>(
        &mut self,
        text: &mut Text<'_>,
        key: &'static str,
        read: impl Fn(&Value<'_>) -> Result<T, String>,
    ) -> Option<Given<Span<T>>> {
        let mut section = self.section(text, key)?;
        let least = section.value(text, "least", &read);
        let most = section.value(text, "most", &read);
        let value = match (least, most) {
            (Some(least), Some(most)) if least <= most => Some(Span { least, most }),
            (Some(_), Some(_)) => {
                let message = "`least` is greater than `most`";
                let help = "swap the two, or correct the one that is wrong".to_owned();
                text.refuse(section.at, &section.path, codes::CONTRADICTION, message, help);
                None
            }
            _ => None,
        };
        section.given_rest(text, value)
    }

    fn given_rest<T>(mut self, text: &mut Text<'_>, value: Option<T>) -> Option<Given<T>> {
        let proof = self.proof(text);
        let note = match self.get("note") {
            None => None,
            Some(found) => words_of(found).map_err(|why| self.bad(text, "note", found, why)).ok(),
        };
        self.finish(text);
        let (clause, source, status) = proof?;
        Some(Given { value: value?, clause, source, status, note })
    }

    /// `key = { value, clause, source, status }` where it is there; the key is known in any case.
    pub(super) fn given_if<T>(
        &mut self,
        text: &mut Text<'_>,
        key: &'static str,
        read: impl FnOnce(&Value<'_>) -> Result<T, String>,
    ) -> Option<Given<T>> {
        self.get(key)?;
        self.given(text, key, read)
    }

    /// Whether a key is there, without asking for it.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Refuses every key that nobody asked for.
    pub(super) fn finish(self, text: &mut Text<'_>) {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if !self.asked.contains(&name) {
                let help = nearest(name, self.asked.iter().copied());
                let message = format!("`{name}` means nothing here");
                text.refuse(key.span().start, &self.label(name), codes::UNKNOWN_KEY, message, help);
            }
        }
    }
}

/// A text that is not empty.
pub(super) fn words_of(value: &Value<'_>) -> Result<String, String> {
    match value.get_ref() {
        DeValue::String(text) if !text.trim().is_empty() => Ok(text.trim().to_owned()),
        DeValue::String(_) => Err("an empty text says nothing".to_owned()),
        other => Err(format!("a {} stands where a text belongs", other.type_str())),
    }
}

/// `true` or `false`.
pub(super) fn yes_or_no(value: &Value<'_>) -> Result<bool, String> {
    value.get_ref().as_bool().ok_or_else(|| format!("{} is neither true nor false", shown(value)))
}

/// The largest size of a number: what is reckoned from a few of them still has room.
const MOST: i64 = 1_000_000_000_000;

/// A number with its digits as written.
pub(super) fn decimal(value: &Value<'_>) -> Result<Decimal, String> {
    let number = match value.get_ref() {
        DeValue::Integer(number) if number.radix() == 10 => record::parse_decimal(number.as_str()),
        DeValue::Float(number) => record::parse_decimal(number.as_str()),
        _ => return Err(format!("{} is not a number", shown(value))),
    }
    .map_err(|why| why.to_string())?;
    if number.abs() > Decimal::from(MOST) {
        return Err(format!("{number} is larger than {MOST}"));
    }
    Ok(number)
}

/// A number that is 0 or greater.
pub(super) fn not_negative(value: &Value<'_>) -> Result<Decimal, String> {
    let number = decimal(value)?;
    if number < Decimal::ZERO { Err(format!("{number} is negative")) } else { Ok(number) }
}

/// A number greater than 0.
pub(super) fn positive(value: &Value<'_>) -> Result<Decimal, String> {
    let number = decimal(value)?;
    if number > Decimal::ZERO { Ok(number) } else { Err(format!("{number} is not greater than 0")) }
}

/// A whole number from 1.
pub(super) fn count(value: &Value<'_>) -> Result<u32, String> {
    let bad = || format!("{} is not a whole number from 1", shown(value));
    let number: u32 = decimal(value)?.try_into().map_err(|_| bad())?;
    let whole = matches!(value.get_ref(), DeValue::Integer(_));
    if number == 0 || !whole { Err(bad()) } else { Ok(number) }
}

/// One word of a closed set.
pub(super) fn one_of<T: std::str::FromStr<Err = record::UnknownWord>>(
    value: &Value<'_>,
) -> Result<T, String> {
    words_of(value)?.parse().map_err(|why: record::UnknownWord| why.to_string())
}

/// A list of words of a closed set, none of them twice.
pub(super) fn several_of<T>(value: &Value<'_>) -> Result<Vec<T>, String>
where
    T: std::str::FromStr<Err = record::UnknownWord> + PartialEq,
{
    let DeValue::Array(list) = value.get_ref() else { return Err(format!("{} is not a list", shown(value))) };
    let mut words = Vec::new();
    for entry in list.iter() {
        let word = one_of::<T>(entry)?;
        if words.contains(&word) {
            return Err(format!("{} is there twice", shown(entry)));
        }
        words.push(word);
    }
    Ok(words)
}

/// A list of texts, none of them empty; at least one.
pub(super) fn texts(value: &Value<'_>) -> Result<Vec<String>, String> {
    let DeValue::Array(list) = value.get_ref() else { return Err(format!("{} is not a list", shown(value))) };
    let found: Vec<String> = list.iter().map(words_of).collect::<Result<_, _>>()?;
    if found.is_empty() { Err("an empty list says nothing".to_owned()) } else { Ok(found) }
}

/// One value or a rising list of values.
pub(super) fn one_or_rising<T: PartialOrd>(
    value: &Value<'_>,
    read: impl Fn(&Value<'_>) -> Result<T, String>,
) -> Result<Vec<T>, String> {
    let DeValue::Array(list) = value.get_ref() else { return Ok(vec![read(value)?]) };
    let found: Vec<T> = list.iter().map(read).collect::<Result<_, _>>()?;
    match found.as_slice() {
        [] => Err("an empty list says nothing".to_owned()),
        _ if found.windows(2).all(|pair| matches!(pair, [a, b] if a < b)) => Ok(found),
        _ => Err("the values do not rise".to_owned()),
    }
}

/// The same as [`several_of`], with at least one word.
pub(super) fn some_of<T>(value: &Value<'_>) -> Result<Vec<T>, String>
where
    T: std::str::FromStr<Err = record::UnknownWord> + PartialEq,
{
    let words = several_of(value)?;
    if words.is_empty() { Err("an empty list says nothing".to_owned()) } else { Ok(words) }
}

/// A value as the user wrote it, or what kind of value it is.
fn shown(value: &Value<'_>) -> String {
    match value.get_ref() {
        DeValue::String(text) => format!("`{text}`"),
        DeValue::Integer(number) => format!("`{number}`"),
        DeValue::Float(number) => format!("`{number}`"),
        DeValue::Boolean(value) => format!("`{value}`"),
        other => format!("a {}", other.type_str()),
    }
}

/// Help that names the known word nearest to a text, or all known words.
pub(super) fn nearest<'k>(text: &str, known: impl Iterator<Item = &'k str>) -> String {
    let known: Vec<&str> = known.collect();
    let best = known.iter().map(|word| (distance(text, word), *word)).min();
    match best {
        Some((steps, word)) if steps * 3 <= word.len().max(3) => format!("did you mean `{word}`?"),
        Some(_) => format!("known here: {}", known.join(", ")),
        None => String::new(),
    }
}

/// How many letters have to be changed, added or taken out to make one text of the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, left) in a.chars().take(64).enumerate() {
        let mut diagonal = i;
        let mut last = i + 1;
        for (cell, right) in row.iter_mut().skip(1).zip(&b) {
            let changed = diagonal + usize::from(left != *right);
            diagonal = *cell;
            last = changed.min(*cell + 1).min(last + 1);
            *cell = last;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or(0)
}
