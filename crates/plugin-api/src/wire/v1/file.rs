//! The record file: everything a record holds, as JSON.

use super::codes;
use super::facts::Facts;
use super::mirror::{At, Mirror, Trouble, step_into};
use super::scalar::OriginText;
use super::series::{Finding, Observation, Series, SourceFile, UnreadRow, Verification, times_fit};
use record::{Draft, Origin, Record};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// The version of the form that this module reads and writes.
pub const SCHEMA: u32 = 1;

/// A record as a file.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct RecordFile {
    /// Version of this form.
    pub schema: u32,
    /// Original files; origins refer to them by position, from 0.
    pub sources: Vec<SourceFile>,
    /// Facts of the job.
    pub facts: Facts,
    /// Origin of each job fact, by its path below `facts`.
    pub origins: BTreeMap<String, OriginText>,
    /// Series of discharges.
    pub series: Vec<Series>,
    /// Observations.
    pub observations: Vec<Observation>,
    /// Generator verifications.
    pub verifications: Vec<Verification>,
    /// Rows that could not be read.
    pub unread: Vec<UnreadRow>,
    /// Values under keys that are not known, by their path.
    pub passed_through: BTreeMap<String, Kept>,
    /// Findings of readers and of the check.
    pub findings: Vec<Finding>,
}

/// The JSON text of a value that nothing here reads, kept to the digit.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Kept(pub String);

impl Serialize for Kept {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match serde_json::value::RawValue::from_string(self.0.clone()) {
            Ok(raw) => raw.serialize(serializer),
            // Not JSON: only a plug-in that breaks the contract gives such a text. It is kept as text.
            Err(_) => self.0.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Kept {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Value::deserialize(deserializer).map(|value| Self(value.to_string()))
    }
}

impl JsonSchema for Kept {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Kept".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "description": "Any value, kept as written." })
    }
}

fn file_of(record: &Record) -> RecordFile {
    RecordFile {
        schema: SCHEMA,
        sources: Mirror::show(&record.sources),
        facts: Mirror::show(&record.facts),
        origins: record
            .origins
            .iter()
            .map(|(path, origin)| (path.clone(), OriginText::show(origin)))
            .collect(),
        series: Mirror::show(&record.series),
        observations: Mirror::show(&record.observations),
        verifications: Mirror::show(&record.verifications),
        unread: Mirror::show(&record.unread),
        passed_through: record
            .passed_through
            .iter()
            .map(|(path, text)| (path.clone(), Kept(text.clone())))
            .collect(),
        findings: Mirror::show(&record.findings),
    }
}

/// A record as a JSON value. Values that nothing here reads pass through it as JSON values, so that their
/// numbers may lose digits; [`super::record_to_json`] keeps them to the digit.
pub fn record_to_value(record: &Record) -> Value {
    // Maps have text keys and numbers are text: nothing in here can fail to serialise.
    serde_json::to_value(file_of(record)).unwrap_or(Value::Null)
}

/// The facts of a job as a JSON value; [`facts_from_value`] reads it back.
pub fn facts_to_value(facts: &record::Facts) -> Value {
    // Numbers are text in here: nothing can fail to serialise.
    serde_json::to_value(<Facts as Mirror<record::Facts>>::show(facts)).unwrap_or(Value::Null)
}

/// The JSON Schema (2020-12) of the record file.
pub fn record_schema() -> Value {
    let mut schema = schemars::schema_for!(RecordFile).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".into(), "Record of an electrostatic-discharge test job, version 1".into());
        object.insert("required".into(), serde_json::json!(["schema"]));
        if let Some(version) = object.get_mut("properties").and_then(|p| p.get_mut("schema")) {
            *version = serde_json::json!({ "description": "Version of this form.", "const": SCHEMA });
        }
    }
    schema
}

/// Values under keys that are not known: path to value.
pub type Unknown = BTreeMap<String, Value>;

pub(super) fn typed<T: for<'de> Deserialize<'de>>(
    value: Value,
    known: &[&str],
) -> Result<(T, Unknown), Trouble> {
    let mut paths = Vec::new();
    let copy = value.clone();
    let mut track = serde_path_to_error::Track::new();
    let mut note = |path: serde_ignored::Path<'_>| {
        paths.push(pointer_of(&path));
    };
    let ignored = serde_ignored::Deserializer::new(value, &mut note);
    let tracked = serde_path_to_error::Deserializer::new(ignored, &mut track);
    match T::deserialize(tracked) {
        Ok(result) => {
            let unknown = paths
                .into_iter()
                .filter(|path| !known.contains(&path.as_str()))
                .filter_map(|path| copy.pointer(&path).cloned().map(|value| (path, value)))
                .collect();
            Ok((result, unknown))
        }
        Err(error) => {
            let path = track.path().iter().fold(String::new(), |pointer, step| {
                use serde_path_to_error::Segment;
                match step {
                    Segment::Seq { index } => step_into(pointer, &index.to_string()),
                    Segment::Map { key } => step_into(pointer, key),
                    Segment::Enum { .. } | Segment::Unknown => pointer,
                }
            });
            let found = copy.pointer(&path).map(short).unwrap_or_default();
            let message = if found.is_empty() { error.to_string() } else { format!("`{found}`: {error}") };
            Err(Trouble { path, code: codes::BAD_VALUE, message, help: Vec::new() })
        }
    }
}

fn pointer_of(path: &serde_ignored::Path<'_>) -> String {
    use serde_ignored::Path;
    match path {
        Path::Root => String::new(),
        Path::Seq { parent, index } => step_into(pointer_of(parent), &index.to_string()),
        Path::Map { parent, key } => step_into(pointer_of(parent), key),
        Path::Some { parent } | Path::NewtypeStruct { parent } | Path::NewtypeVariant { parent } => {
            pointer_of(parent)
        }
    }
}

/// A value as shown in a message: its text, cut where it is long.
fn short(value: &Value) -> String {
    let text = match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text,
    }
}

/// Reads the facts of a job from a value whose keys are those of [`Facts`].
///
/// Keys that are not known come back with their values, except those named in `others` (paths that
/// belong to somebody else, such as the lists of files in a job file).
///
/// # Errors
/// Everything that is wrong, each with its path.
pub fn facts_from_value(value: Value, others: &[&str]) -> Result<(record::Facts, Unknown), Vec<Trouble>> {
    let (wire, unknown): (Facts, Unknown) = typed(value, others).map_err(|trouble| vec![trouble])?;
    let mut at = At::default();
    match wire.read(&mut at) {
        Some(facts) if at.troubles.is_empty() => Ok((facts, unknown)),
        _ => Err(at.troubles),
    }
}

/// Reads a value with the keys of `W` as a part of the record, such as an observation in a job file.
///
/// # Errors
/// Everything that is wrong, each with its path.
#[expect(private_bounds, reason = "only the wire types of this version mirror the model")]
pub fn part_from_value<W, R>(value: Value) -> Result<(R, Unknown), Vec<Trouble>>
where
    W: for<'de> Deserialize<'de> + Mirror<R>,
{
    let (wire, unknown): (W, Unknown) = typed(value, &[]).map_err(|trouble| vec![trouble])?;
    let mut at = At::default();
    match wire.read(&mut at) {
        Some(part) if at.troubles.is_empty() => Ok((part, unknown)),
        _ => Err(at.troubles),
    }
}

/// Each listed time of a trace belongs to one sample.
fn traces_fit(verifications: &[record::Verification], at: &mut At) {
    for (index, verification) in verifications.iter().enumerate() {
        for (number, trace) in verification.traces.iter().enumerate() {
            let path = [index.to_string(), "traces".into(), number.to_string()];
            at.along(&path, |at| times_fit(trace, at));
        }
    }
}

/// Reads a record file.
///
/// # Errors
/// Everything that is wrong, each with its path.
pub fn draft_from_value(value: Value) -> Result<(Draft, Unknown), Vec<Trouble>> {
    match value.get("schema").and_then(Value::as_u64) {
        Some(version) if version == u64::from(SCHEMA) => {}
        found => {
            let found = found.map_or_else(|| "no `schema`".to_owned(), |version| format!("schema {version}"));
            return Err(vec![Trouble {
                path: "/schema".into(),
                code: codes::UNKNOWN_SCHEMA,
                message: format!("found {found}, this program reads schema {SCHEMA}"),
                help: vec!["read it with the version of the program that wrote it, or a later one".into()],
            }]);
        }
    }
    let (wire, unknown): (RecordFile, Unknown) = typed(value, &[]).map_err(|trouble| vec![trouble])?;
    let mut at = At::default();
    let at = &mut at;
    let facts = at.within("facts", |at| wire.facts.read(at));
    let sources: Option<Vec<record::SourceFile>> = at.within("sources", |at| wire.sources.read(at));
    let series = at.within("series", |at| wire.series.read(at));
    let observations = at.within("observations", |at| wire.observations.read(at));
    let verifications: Option<Vec<record::Verification>> =
        at.within("verifications", |at| wire.verifications.read(at));
    at.within("verifications", |at| traces_fit(verifications.as_deref().unwrap_or_default(), at));
    let unread = at.within("unread", |at| wire.unread.read(at));
    let findings = at.within("findings", |at| wire.findings.read(at));
    let mut origins: BTreeMap<String, Origin> = BTreeMap::new();
    at.within("origins", |at| {
        for (path, text) in wire.origins {
            if let Some(origin) = at.within(&path, |at| text.read(at)) {
                origins.insert(path, origin);
            }
        }
    });
    let troubles = std::mem::take(&mut at.troubles);
    let parts = (facts, sources, series, observations, verifications, unread, findings);
    let (
        Some(facts),
        Some(sources),
        Some(series),
        Some(observations),
        Some(verifications),
        Some(unread),
        Some(findings),
    ) = parts
    else {
        return Err(troubles);
    };
    if !troubles.is_empty() {
        return Err(troubles);
    }
    let passed_through = wire.passed_through.into_iter().map(|(path, Kept(text))| (path, text)).collect();
    let draft = Draft {
        sources,
        facts,
        origins,
        series,
        observations,
        verifications,
        unread,
        passed_through,
        findings,
    };
    Ok((draft, unknown))
}
