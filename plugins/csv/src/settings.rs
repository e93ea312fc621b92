//! Reads the settings of a log; what is unknown or can't be is an error at its place.

use crate::codes;
use crate::mapping::{ColumnName, HeaderRow, Mapping, Unsigned};
use crate::number::DecimalSign;
use crate::roles::Role;
use crate::times::DateForm;
use crate::units::Unit;
use crate::words::{Poles, fold};
use plugin_api::Options;
use record::{Affected, Application, Class, Date, Finding, Polarity, Restoration, RunKind, Tip};
use serde_json::Value;
use std::str::FromStr;

/// Reads the settings.
///
/// # Errors
/// Every setting that is unknown or has a value it can't have.
pub(crate) fn read(options: &Options) -> Result<Mapping, Vec<Finding>> {
    let mut reading = Reading { options, mapping: Mapping::default(), findings: Vec::new() };
    for (key, value) in &options.value {
        reading.setting(key, value);
    }
    if reading.findings.is_empty() { Ok(reading.mapping) } else { Err(reading.findings) }
}

const KEYS: &[&str] = &[
    "encoding",
    "delimiter",
    "decimal",
    "thousands",
    "quote",
    "header_row",
    "columns",
    "units",
    "words",
    "date",
    "zone",
    "day",
    "polarity",
    "both_polarities",
    "blanks",
    "counter_start",
];

struct Reading<'o> {
    options: &'o Options,
    mapping: Mapping,
    findings: Vec<Finding>,
}

impl Reading<'_> {
    fn file(&mut self, path: &str, finding: Finding) {
        let finding = match self.options.place(path) {
            Some(place) => finding.at(place),
            None => finding,
        };
        self.findings.push(finding);
    }

    fn unknown(&mut self, path: &str, what: &str, key: &str, known: &[&str]) {
        let mut finding = Finding::error(codes::UNKNOWN_SETTING, format!("`{key}` is not {what}"));
        finding = match nearest(key, known) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding,
        };
        finding = finding.help(format!("known: {}", known.join(", ")));
        self.file(path, finding);
    }

    fn bad(&mut self, path: &str, value: &Value, expected: &str) {
        let name = path.trim_start_matches('/').replace('/', ".");
        let finding = Finding::error(codes::BAD_SETTING, format!("`{name}` can't be {value}"))
            .help(format!("write {expected}"));
        self.file(path, finding);
    }

    fn setting(&mut self, key: &str, value: &Value) {
        let path = format!("/{key}");
        let word = value.as_str().map(str::trim).unwrap_or_default();
        match key {
            "encoding" => match crate::encoding::by_name(word) {
                Some(encoding) => self.mapping.encoding = Some(encoding),
                None => {
                    self.bad(&path, value, "the name of an encoding, such as \"utf-8\" or \"windows-1252\"")
                }
            },
            "delimiter" => match word {
                "comma" | "," => self.mapping.delimiter = Some(b','),
                "semicolon" | ";" => self.mapping.delimiter = Some(b';'),
                "pipe" | "|" => self.mapping.delimiter = Some(b'|'),
                "tab" => self.mapping.delimiter = Some(b'\t'),
                _ if value.as_str() == Some("\t") => self.mapping.delimiter = Some(b'\t'),
                _ => self.bad(&path, value, "\"comma\", \"semicolon\", \"tab\" or \"pipe\""),
            },
            "decimal" => match word {
                "point" | "." => self.mapping.style.decimal = Some(DecimalSign::Point),
                "comma" | "," => self.mapping.style.decimal = Some(DecimalSign::Comma),
                _ => self.bad(&path, value, "\"point\" or \"comma\""),
            },
            "thousands" => match word {
                "none" => self.mapping.style.thousands = None,
                "comma" | "," => self.mapping.style.thousands = Some(','),
                "point" | "." => self.mapping.style.thousands = Some('.'),
                "space" => self.mapping.style.thousands = Some(' '),
                "apostrophe" | "'" => self.mapping.style.thousands = Some('\''),
                _ => self.bad(&path, value, "\"none\", \"comma\", \"point\", \"space\" or \"apostrophe\""),
            },
            "quote" => match word {
                "double" => self.mapping.no_quotes = false,
                "none" => self.mapping.no_quotes = true,
                _ => self.bad(&path, value, "\"double\" or \"none\""),
            },
            "header_row" => match (word, value.as_u64()) {
                ("none", _) => self.mapping.header_row = HeaderRow::None,
                (_, Some(row)) if row > 0 => self.mapping.header_row = HeaderRow::At(row),
                _ => self.bad(&path, value, "the number of the header's row, from 1, or \"none\""),
            },
            "columns" => self.columns(value),
            "units" => self.units(value),
            "words" => self.words(value),
            "date" => match DateForm::parse(word) {
                Some(form) => self.mapping.date = Some(form),
                None => self.bad(
                    &path,
                    value,
                    "the order of the parts, such as \"dd.mm.yyyy\" or \"mm/dd/yyyy\", or \"serial\"",
                ),
            },
            "zone" => match crate::times::offset(word) {
                Some(seconds) => self.mapping.zone_s = Some(seconds),
                None => self.bad(&path, value, "an offset from UTC such as \"+01:00\", or \"Z\""),
            },
            "day" => match Date::from_str(word) {
                Ok(day) if word.len() == 10 => self.mapping.day = Some(day),
                _ => self.bad(&path, value, "a date such as \"2026-03-12\""),
            },
            "polarity" => match word {
                "positive" => self.mapping.unsigned = Some(Unsigned::Polarity(Polarity::Positive)),
                "negative" => self.mapping.unsigned = Some(Unsigned::Polarity(Polarity::Negative)),
                "signed" => self.mapping.unsigned = Some(Unsigned::Signed),
                _ => self.bad(&path, value, "\"positive\", \"negative\" or \"signed\""),
            },
            "both_polarities" => match word {
                "count-each" => self.mapping.count_each = true,
                _ => self.bad(&path, value, "\"count-each\""),
            },
            "blanks" => match word {
                "above" => self.mapping.blanks_above = true,
                "missing" => self.mapping.blanks_above = false,
                _ => self.bad(&path, value, "\"above\" or \"missing\""),
            },
            "counter_start" => match value.as_u64() {
                Some(start) => self.mapping.counter_start = Some(start),
                None => self.bad(&path, value, "a whole number"),
            },
            _ => self.unknown(&path, "a setting of discharge logs", key, KEYS),
        }
        let style = self.mapping.style;
        if matches!(key, "decimal" | "thousands")
            && matches!(
                (style.decimal, style.thousands),
                (Some(DecimalSign::Point), Some('.')) | (Some(DecimalSign::Comma), Some(','))
            )
        {
            self.bad(&path, value, "different marks for `decimal` and `thousands`");
        }
    }

    fn table<'v>(&mut self, path: &str, value: &'v Value) -> Option<&'v serde_json::Map<String, Value>> {
        if value.as_object().is_none() {
            self.bad(path, value, "a table");
        }
        value.as_object()
    }

    fn columns(&mut self, value: &Value) {
        let Some(table) = self.table("/columns", value) else { return };
        for (key, value) in table {
            let path = format!("/columns/{key}");
            let Some(role) = Role::from_key(key) else {
                let known: Vec<&str> = Role::ALL.iter().map(|r| r.key()).collect();
                self.unknown(&path, "what a column can hold", key, &known);
                continue;
            };
            let several = value.as_array().filter(|_| role.may_repeat());
            let one = [value.clone()];
            for value in several.map_or(one.as_slice(), Vec::as_slice) {
                let name = match value {
                    Value::String(text) if !text.trim().is_empty() => Some(ColumnName::Header(text.clone())),
                    Value::Number(n) => n
                        .as_u64()
                        .and_then(|n| usize::try_from(n).ok())
                        .and_then(|n| n.checked_sub(1))
                        .map(ColumnName::Number),
                    _ => None,
                };
                match name {
                    Some(name) => self.mapping.columns.push((role, name)),
                    None => self.bad(&path, value, "the text of the header, or the column's number from 1"),
                }
            }
        }
        self.mapping.columns.sort_by_key(|(role, _)| *role);
    }

    fn units(&mut self, value: &Value) {
        let Some(table) = self.table("/units", value) else { return };
        for (key, value) in table {
            let path = format!("/units/{key}");
            let unit = value.as_str().and_then(Unit::parse);
            match (key.as_str(), unit) {
                ("voltage", Some(unit)) if unit.is_voltage() => self.mapping.voltage_unit = Some(unit),
                ("voltage", _) => self.bad(&path, value, "\"kV\" or \"V\""),
                ("interval", Some(unit)) if unit.is_duration() => self.mapping.interval_unit = Some(unit),
                ("interval", _) => self.bad(&path, value, "\"s\", \"ms\", \"min\" or \"Hz\""),
                ("lasted", Some(unit)) if unit.is_duration() && unit != Unit::PerSecond => {
                    self.mapping.lasted_unit = Some(unit);
                }
                ("lasted", _) => self.bad(&path, value, "\"s\", \"ms\", \"min\" or \"h\""),
                _ => self.unknown(&path, "a column with a unit", key, &["voltage", "interval", "lasted"]),
            }
        }
    }

    fn list(&mut self, path: &str, value: &Value) -> Vec<String> {
        let one = [value.clone()];
        let words: Option<Vec<String>> = value
            .as_array()
            .map_or(one.as_slice(), Vec::as_slice)
            .iter()
            .map(|word| word.as_str().map(str::to_owned))
            .collect();
        words.unwrap_or_else(|| {
            self.bad(path, value, "a list of words in quotes");
            Vec::new()
        })
    }

    fn words(&mut self, value: &Value) {
        let Some(table) = self.table("/words", value) else { return };
        for (group, value) in table {
            let path = format!("/words/{group}");
            if group == "demand" {
                for word in self.list(&path, value) {
                    self.mapping.words.demand.add(&word, ());
                }
                continue;
            }
            const GROUPS: &[&str] = &[
                "polarity",
                "application",
                "result",
                "answer",
                "restored",
                "affected",
                "class",
                "kind",
                "tip",
                "single",
                "demand",
                "point",
                "state",
                "mode",
                "function",
            ];
            if !GROUPS.contains(&group.as_str()) {
                self.unknown(&path, "a group of words", group, GROUPS);
                continue;
            }
            let Some(entries) = self.table(&path, value) else { continue };
            for (key, value) in entries {
                let path = format!("{path}/{key}");
                let list = self.list(&path, value);
                if let Some(known) = self.add_words(group, key, &list) {
                    self.unknown(&path, &format!("a meaning under `words.{group}`"), key, known);
                }
            }
        }
    }

    /// Adds the words of one meaning; answers with the known meanings when this is none of them.
    fn add_words(&mut self, group: &str, key: &str, list: &[String]) -> Option<&'static [&'static str]> {
        let words = &mut self.mapping.words;
        macro_rules! add {
            ($vocabulary:ident, $value:expr, $known:expr) => {
                match $value {
                    Some(value) => {
                        list.iter().for_each(|word| words.$vocabulary.add(word, value));
                        None
                    }
                    None => Some($known),
                }
            };
        }
        let yes_no = match key {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        };
        match group {
            "polarity" => add!(
                polarity,
                match key {
                    "positive" => Some(Poles::One(Polarity::Positive)),
                    "negative" => Some(Poles::One(Polarity::Negative)),
                    "both" => Some(Poles::Both),
                    _ => None,
                },
                &["positive", "negative", "both"]
            ),
            "application" => add!(application, Application::from_str(key).ok(), Application::WORDS),
            "result" => add!(nothing, (key == "nothing").then_some(()), &["nothing"]),
            "answer" => add!(answer, yes_no, &["yes", "no"]),
            "restored" => add!(restored, Restoration::from_str(key).ok(), Restoration::WORDS),
            "affected" => add!(affected, Affected::from_str(key).ok(), Affected::WORDS),
            "class" => add!(class, Class::from_str(key).ok(), Class::WORDS),
            "kind" => add!(kind, RunKind::from_str(key).ok(), RunKind::WORDS),
            "tip" => add!(tip, Tip::from_str(key).ok(), Tip::WORDS),
            "single" => add!(single, yes_no, &["yes", "no"]),
            _ if key.trim().is_empty() => Some(&["a name of the job"]),
            _ => {
                let names = match group {
                    "point" => &mut words.names.point,
                    "state" => &mut words.names.state,
                    "mode" => &mut words.names.mode,
                    _ => &mut words.names.function,
                };
                names.extend(list.iter().map(|word| (fold(word), key.to_owned())));
                None
            }
        }
    }
}

/// The known name that is nearest to a misspelt one, if one is near.
pub(crate) fn nearest<'k>(name: &str, known: &[&'k str]) -> Option<&'k str> {
    let name: Vec<char> = fold(name).chars().take(40).collect();
    known
        .iter()
        .map(|k| (distance(&name, &fold(k).chars().take(60).collect::<Vec<_>>()), *k))
        .filter(|(far, k)| *far <= 1 + k.chars().count() / 3)
        .min_by_key(|(far, _)| *far)
        .map(|(_, k)| k)
}

/// Levenshtein distance.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut previous = i;
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
        let mut left = i + 1;
        for (y, cell) in b.iter().zip(row.iter_mut().skip(1)) {
            let best = (previous + usize::from(x != y)).min(*cell + 1).min(left + 1);
            previous = *cell;
            *cell = best;
            left = best;
        }
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(json: serde_json::Value) -> Result<Mapping, Vec<Finding>> {
        read(&Options { value: json.as_object().unwrap().clone(), places: Default::default() })
    }

    #[test]
    fn an_unknown_setting_names_the_nearest() {
        let findings = of(serde_json::json!({"delimeter": "comma", "columns": {"voltag": "U"}})).unwrap_err();
        let text = format!("{findings:?}");
        assert!(
            text.contains("did you mean `delimiter`?") && text.contains("did you mean `voltage`?"),
            "{text}"
        );
    }

    #[test]
    fn marks_of_decimals_and_thousands_must_differ() {
        assert!(of(serde_json::json!({"decimal": "comma", "thousands": "comma"})).is_err());
        assert!(of(serde_json::json!({"decimal": "comma", "thousands": "point"})).is_ok());
    }

    #[test]
    fn every_group_of_words_is_taken() {
        let mapping = of(serde_json::json!({"words": {
            "polarity": {"positive": ["up"]}, "application": {"hcp": "plate"}, "result": {"nothing": ["fine"]},
            "answer": {"yes": ["sure"]}, "restored": {"by-itself": ["alone"]}, "point": {"P1": ["screw"]},
            "demand": ["crit 2"]}}))
        .unwrap();
        assert_eq!(mapping.words.application.get("Plate"), Some(Application::Hcp));
        assert_eq!(mapping.words.restored.get("alone"), Some(Restoration::ByItself));
        assert_eq!(crate::words::renamed(&mapping.words.names.point, "Screw"), "P1");
        assert!(of(serde_json::json!({"words": {"restored": {"itself": ["alone"]}}})).is_err());
    }

    #[test]
    fn distance_counts_edits() {
        let d = |a: &str, b: &str| distance(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>());
        assert_eq!((d("kitten", "sitting"), d("", "abc"), d("a", "a")), (3, 3, 0));
    }
}
