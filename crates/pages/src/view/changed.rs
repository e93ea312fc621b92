//! Facts that differ, in words: what each is called, and its values as the language writes them.
//!
//! A difference comes as a path in the record and two values of the canonical JSON. Everything that differs of one
//! series stands in one row, under its point, discharge and level.

use super::wording::Worder;
use crate::calls::capitalised;
use assess::FactChange;
use record::{Kilovolts, Series, spoken_path};
use serde::Serialize;
use serde_json::{Map, Value, json};

/// Letters of a value that are shown; the records have the rest.
const MOST_LETTERS: usize = 300;

/// Entries of a list of plain values that are shown one by one.
const MOST_ENTRIES: usize = 12;

/// Something that differs, in the words of a language: a fact, or all that differs of a series.
#[derive(Clone, Debug, Serialize)]
pub struct Difference {
    /// What it is called.
    pub name: String,
    /// Name of the series in its log, where it is one.
    pub of: Option<String>,
    /// Its path in the record.
    pub path: String,
    /// What was stated before; nothing where nothing was.
    pub before: Option<String>,
    /// What is stated now.
    pub now: Option<String>,
}

/// A row of the table, as it grows.
struct Row {
    /// What differs.
    name: String,
    /// Name of the series in its log.
    of: Option<String>,
    /// The path, for templates that show it.
    path: String,
    /// What is said of each field: nothing where it has no name of its own in the row.
    fields: Vec<Field>,
    /// Fields of single discharges: number of the discharge, field, values.
    shots: Vec<(String, String, Sides)>,
}

/// The values before and now.
type Sides = [Option<Value>; 2];

struct Field {
    name: Option<String>,
    sides: [Option<String>; 2],
}

/// The rows of the table of facts that differ.
pub(super) fn rows(worder: Worder<'_>, changes: &[FactChange]) -> Vec<Difference> {
    let mut rows: Vec<Row> = Vec::new();
    for change in changes {
        let sides = [&change.before, &change.after]
            .map(|side| side.as_ref().map(|json| serde_json::from_str(json).unwrap_or_else(|_| json!(json))));
        let path = change.path.strip_prefix("/facts").unwrap_or(&change.path);
        match path.strip_prefix("/series/") {
            Some(rest) if rest != ORDER => of_series(worder, rest, sides, &mut rows),
            _ => rows.push(of_fact(worder, path, &sides)),
        }
    }
    rows.into_iter().map(|row| row.said(worder)).collect()
}

/// What a path ends in where the same entries stand in another order.
const ORDER: &str = "(order)";

fn of_series(worder: Worder<'_>, rest: &str, sides: Sides, rows: &mut Vec<Row>) {
    let (id, field) = entry(worder, "series", rest, &sides);
    let path = spoken_path(&format!("/series/{id}"));
    if rows.last().is_none_or(|row| row.of.as_deref() != Some(id)) {
        let known = worder.subject.record.series.iter().find(|series| series.id.as_str() == id);
        let whole = sides.iter().flatten().next();
        let name = known
            .and_then(|series| label(worder, series))
            .or_else(|| whole.filter(|_| field.is_empty()).and_then(|value| label_of(worder, value)))
            .unwrap_or_else(|| capitalised(&worder.field("series")));
        let (of, fields, shots) = (Some(id.to_owned()), Vec::new(), Vec::new());
        rows.push(Row { name, of, path, fields, shots });
    }
    let Some(row) = rows.last_mut() else { return };
    let mut steps = field.split('/');
    match (steps.next(), steps.next(), steps.next(), steps.next()) {
        (Some("shots"), Some(number), Some(key), None) if number.parse::<u64>().is_ok() => {
            row.shots.push((counted(number), key.to_owned(), sides));
        }
        (Some(""), ..) => {
            row.fields.push(Field { name: None, sides: worder.sides("series", &sides, LABELLED) })
        }
        _ => {
            let (name, key) = named(worder, field, &sides, "series");
            row.fields.push(Field { name: Some(name), sides: worder.sides(&key, &sides, &[]) });
        }
    }
}

/// Fields of a series that its label says.
const LABELLED: &[&str] = &["id", "point", "application", "polarity", "voltage_kv"];

fn label(worder: Worder<'_>, series: &Series) -> Option<String> {
    let at = worder.of_series(series)?;
    Some(with_mode(worder, at, series.mode.as_ref().map(|mode| mode.as_str())))
}

/// The label of a series that only one record has.
fn label_of(worder: Worder<'_>, series: &Value) -> Option<String> {
    let text = |key: &str| series.get(key)?.as_str();
    let kv = Kilovolts::parse(text("voltage_kv")?).ok()?;
    let (application, polarity) = (text("application")?.parse().ok()?, text("polarity")?.parse().ok()?);
    let at = worder.place_of(text("point")?, application, polarity, kv)?;
    Some(with_mode(worder, at, text("mode")))
}

fn with_mode(worder: Worder<'_>, at: String, mode: Option<&str>) -> String {
    match mode {
        Some(mode) => format!("{at}{} {mode}", worder.mark("comma")),
        None => at,
    }
}

fn of_fact(worder: Worder<'_>, path: &str, sides: &Sides) -> Row {
    let (name, key) = named(worder, path.trim_start_matches('/'), sides, "");
    let fields = vec![Field { name: None, sides: worder.sides(&key, sides, &["id"]) }];
    Row { name: capitalised(&name), of: None, path: spoken_path(path), fields, shots: Vec::new() }
}

/// The name of a path, and what its value is: the last key, behind the list that it belongs to where a key means
/// one thing here and another there (`setup_checks.kind`).
fn named(worder: Worder<'_>, path: &str, sides: &Sides, of: &str) -> (String, String) {
    let mut name = String::new();
    let (mut group, mut key) = (of.to_owned(), String::new());
    let mut rest = path;
    while !rest.is_empty() {
        let (step, after) = rest.split_once('/').unwrap_or((rest, ""));
        rest = after;
        if step.parse::<u64>().is_ok() {
            name += &format!(" {}", counted(step));
            continue;
        }
        if !key.is_empty() {
            group.clone_from(&key);
        }
        if !name.is_empty() {
            name += &format!("{} ", worder.mark("comma"));
        }
        name += &worder.field(if step == ORDER { "order" } else { step });
        step.clone_into(&mut key);
        if NAMED_LISTS.contains(&step) && !rest.is_empty() && rest != ORDER {
            let (id, after) = entry(worder, step, rest, sides);
            name += &format!(" {id}");
            rest = after;
        }
    }
    (name, if group.is_empty() { key } else { format!("{group}.{key}") })
}

/// Lists whose entries are told apart by a name of their own.
const NAMED_LISTS: [&str; 7] =
    ["equipment", "functions", "modes", "observations", "points", "states", "verifications"];

/// The name of a list's entry at the start of a path, which may hold strokes itself, and the rest of the path.
fn entry<'p>(worder: Worder<'_>, list: &str, path: &'p str, sides: &Sides) -> (&'p str, &'p str) {
    let record = worder.subject.record;
    let facts = &record.facts;
    let ids: Vec<&str> = match list {
        "series" => record.series.iter().map(|one| one.id.as_str()).collect(),
        "observations" => record.observations.iter().map(|one| one.id.as_str()).collect(),
        "verifications" => record.verifications.iter().map(|one| one.id.as_str()).collect(),
        "equipment" => facts.equipment.iter().map(|one| one.id.as_str()).collect(),
        _ => Vec::new(),
    };
    let mut whole = sides.iter().flatten().filter_map(|value| value.get("id")?.as_str());
    let begins =
        |id: &&str| path.strip_prefix(*id).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
    let longest = ids.into_iter().filter(begins).map(str::len).max();
    let length = whole.find(|id| *id == path).map(str::len).or(longest);
    match length.and_then(|length| path.split_at_checked(length)) {
        Some((id, rest)) => (id, rest.trim_start_matches('/')),
        None => path.split_once('/').unwrap_or((path, "")),
    }
}

/// The number of an entry as people count.
fn counted(step: &str) -> String {
    step.parse::<u64>().map_or_else(|_| step.to_owned(), |at| at.saturating_add(1).to_string())
}

impl Row {
    fn said(mut self, worder: Worder<'_>) -> Difference {
        let mut keys: Vec<String> = Vec::new();
        for (_, key, _) in &self.shots {
            if !keys.contains(key) {
                keys.push(key.clone());
            }
        }
        for key in keys {
            self.fields.push(of_shots(worder, &key, self.shots.iter().filter(|shot| shot.1 == key)));
        }
        let [before, now] = [0, 1].map(|side| {
            let fields = self.fields.iter().map(|field| {
                let value = field.sides.get(side).cloned().flatten();
                match &field.name {
                    Some(name) => {
                        let value = value.or_else(|| worder.word("changes.none"));
                        Some(format!("{name}{} {}", worder.mark("colon"), value.unwrap_or_default()))
                    }
                    None => value,
                }
            });
            let parts: Vec<String> = fields.flatten().collect();
            (!parts.is_empty()).then(|| parts.join(&format!("{} ", worder.mark("semicolon"))))
        });
        Difference { name: self.name, of: self.of, path: self.path, before, now }
    }
}

/// One field of several discharges: their numbers behind its name, the values in that order; times as one span.
fn of_shots<'s>(
    worder: Worder<'_>,
    key: &str,
    shots: impl Iterator<Item = &'s (String, String, Sides)>,
) -> Field {
    let shots: Vec<_> = shots.collect();
    let numbers: Vec<&str> = shots.iter().map(|shot| shot.0.as_str()).collect();
    let all: Vec<u64> = numbers.iter().filter_map(|number| number.parse().ok()).collect();
    let row = all.len() > 2 && all.windows(2).all(|two| two.first().map(|n| n + 1) == two.last().copied());
    let numbers = match (row, numbers.as_slice()) {
        (true, [first, .., last]) => format!("{first}\u{2013}{last}"),
        _ => numbers.join(", "),
    };
    let sides = [0, 1].map(|side| {
        let values: Vec<Option<&Value>> =
            shots.iter().map(|shot| shot.2.get(side).and_then(Option::as_ref)).collect();
        let ends = || Some((values.first()?.as_ref()?.as_str()?, values.last()?.as_ref()?.as_str()?));
        if key == "at"
            && let Some((first, last)) = ends()
            && let Some(span) = worder.words.numbers().moments(first, last)
        {
            return Some(span);
        }
        let none = worder.word("changes.none").unwrap_or_default();
        let said = values.iter().map(|value| value.map_or_else(|| none.clone(), |v| worder.spoken(key, v)));
        Some(said.collect::<Vec<_>>().join(&format!("{} ", worder.mark("comma"))))
    });
    Field {
        name: Some(format!(
            "{} {}{} {numbers}{}",
            worder.field(key),
            worder.mark("left"),
            worder.field("shots"),
            worder.mark("right")
        )),
        sides,
    }
}

impl Worder<'_> {
    fn mark(&self, which: &str) -> String {
        self.word(&format!("mark.{which}")).unwrap_or_default()
    }

    /// What a field of the record is called; a field that the record does not have keeps its own name.
    fn field(&self, key: &str) -> String {
        self.word(&format!("field.{key}")).unwrap_or_else(|| key.to_owned())
    }

    fn sides(&self, key: &str, sides: &Sides, without: &[&str]) -> [Option<String>; 2] {
        [0, 1].map(|side| {
            let value = sides.get(side)?.as_ref()?;
            Some(cut(match value {
                Value::Object(fields) => self.fields(key, fields, without),
                value => self.spoken(key, value),
            }))
        })
    }

    fn fields(&self, of: &str, fields: &Map<String, Value>, without: &[&str]) -> String {
        if let Some(why) = fields.get("not_applicable").filter(|_| fields.len() == 1) {
            let why = self.spoken("", why);
            return format!("{} {why}", self.field("not_applicable"));
        }
        let said = fields.iter().filter(|(key, value)| {
            !without.contains(&key.as_str())
                && !value.is_null()
                && value.as_array().is_none_or(|l| !l.is_empty())
        });
        let said = said.map(|(key, value)| {
            let kind = format!("{}.{key}", of.rsplit('.').next().unwrap_or(of));
            format!("{}{} {}", self.field(key), self.mark("colon"), self.spoken(&kind, value))
        });
        said.collect::<Vec<_>>().join(&format!("{} ", self.mark("semicolon")))
    }

    /// A value in words. `key` says what it is: `list.field`, or a field. The unit that a field's key names stands
    /// behind its value, once behind several.
    fn spoken(&self, key: &str, value: &Value) -> String {
        let said = self.plainly(key, value);
        let numbers = match value {
            Value::Array(list) => plain_list(list) && !list.is_empty() && list.iter().all(is_number),
            one => is_number(one),
        };
        match unit(key.rsplit('.').next().unwrap_or(key)) {
            Some(unit) if numbers => format!("{said}\u{a0}{unit}"),
            _ => said,
        }
    }

    fn plainly(&self, key: &str, value: &Value) -> String {
        match value {
            Value::Null => self.word("changes.none").unwrap_or_default(),
            Value::Bool(yes) => {
                self.word(if *yes { "yes_no.yes" } else { "yes_no.no" }).unwrap_or_else(|| yes.to_string())
            }
            Value::Number(number) => self.number(&number.to_string()),
            Value::String(text) => self.words_of(key, text),
            Value::Array(list) => match plain_list(list) {
                true => list.iter().map(|one| self.plainly(key, one)).collect::<Vec<_>>().join("; "),
                false => {
                    let entries = self.word("field.entries").unwrap_or_default();
                    entries.replace("{n}", &list.len().to_string())
                }
            },
            Value::Object(fields) => format!("({})", self.fields(key, fields, &[])),
        }
    }

    fn words_of(&self, key: &str, text: &str) -> String {
        let last = key.rsplit('.').next().unwrap_or(key);
        let table = match (key, last) {
            ("series.kind", _) => "run_kind",
            ("setup_checks.kind", _) => "setup_kind",
            ("attachments.kind", _) => "attachment_kind",
            ("references.kind", _) => "reference_kind",
            ("references.belongs_to" | "supplied.fact", _) => "fact_of",
            ("supplied.by", _) => "supplier",
            ("report.state", _) => "issue_state",
            (_, "applications") => "application",
            (_, "contact_tip" | "air_tip") => "tip",
            (
                _,
                "application" | "polarity" | "monitoring" | "tip" | "arrangement" | "affected" | "restored"
                | "role" | "part" | "verdict",
            ) => last,
            _ => "",
        };
        if !table.is_empty()
            && let Some(word) = self.word(&format!("{table}.{text}"))
        {
            return word;
        }
        let numbers = self.words.numbers();
        let day = text.len() == 10;
        let time = || if day { numbers.date(text) } else { numbers.moment(text) };
        let measured = unit(last).is_some()
            || ["reading", "least", "most", "expanded", "k", "x", "y", "guard_band", "attenuation_ratio"]
                .contains(&last);
        match measured {
            true => self.number(text),
            false if DAYS.contains(&last) => time().unwrap_or_else(|| text.to_owned()),
            false => text.to_owned(),
        }
    }
}

/// Whether the values of a list are few and plain enough to be shown one by one.
fn plain_list(list: &[Value]) -> bool {
    list.len() <= MOST_ENTRIES && list.iter().all(|one| !one.is_object() && !one.is_array())
}

/// Whether a value is a number, perhaps written as text, as decimals are.
fn is_number(value: &Value) -> bool {
    value.is_number() || value.as_str().is_some_and(|text| text.parse::<f64>().is_ok_and(f64::is_finite))
}

/// The unit that a field's key names at its end.
fn unit(key: &str) -> Option<&'static str> {
    const UNITS: [(&str, &str); 14] = [
        ("a_per_v", "A/V"),
        ("v_per_a", "V/A"),
        ("_kv", "kV"),
        ("_s", "s"),
        ("_ns", "ns"),
        ("_a", "A"),
        ("_db", "dB"),
        ("_ghz", "GHz"),
        ("_ohm", "Ω"),
        ("_pf", "pF"),
        ("_mm", "mm"),
        ("_c", "°C"),
        ("_hpa", "hPa"),
        ("_percent", "%"),
    ];
    UNITS.iter().find(|(end, _)| key.ends_with(end)).map(|(_, unit)| *unit)
}

/// Fields that hold a day or a time.
const DAYS: [&str; 14] = [
    "at",
    "agreed_on",
    "calibrated_on",
    "calibration_due",
    "completed_at",
    "dated",
    "ended",
    "issued_on",
    "on",
    "received_on",
    "since",
    "started",
    "work_ended",
    "work_started",
];

fn cut(text: String) -> String {
    match text.char_indices().nth(MOST_LETTERS) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text,
    }
}
