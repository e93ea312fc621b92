//! Protocol 1 of plug-ins outside the program: JSON lines over standard input and output.
//!
//! The host says hello first and alone; the plug-in answers with its own hello, which is read before anything
//! else is parsed. Then come requests, one at a time; each line of an answer carries the request's number, and
//! `done` ends it. The shape of the hello never changes, in any protocol; a released protocol never changes in
//! what it means. What both sides can skip is added as a feature, or as a key that an older side ignores.

use super::outline::{Fault, Node, keep_digits, too_deep};
use super::v1::PartFile;
use record::{RowAccount, Severity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};

/// The protocol that this program speaks; equal or refused.
pub const PROTOCOL: u64 = 1;

/// Longest line that is read, in bytes; more goes by file.
pub const LONGEST_LINE: usize = 1 << 20;

/// Deepest nesting of a line.
pub const MAX_DEPTH: usize = 64;

/// A plug-in's hello.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Hello {
    /// The protocol that the plug-in speaks.
    pub protocol: u64,
    /// Its name, as in its `plugin.toml`.
    #[serde(default)]
    pub name: String,
    /// Its version, as in its `plugin.toml`.
    #[serde(default)]
    pub version: String,
    /// Features of the protocol that it knows; those that the host does not know are of no account.
    #[serde(default)]
    pub features: Vec<String>,
}

/// A part of the record: in the line, or in a file below the working folder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RecordLine {
    /// The part.
    #[serde(default)]
    pub record: Option<Value>,
    /// A file that holds the part, relative to the working folder.
    #[serde(default)]
    pub file: Option<String>,
}

/// Something that a person must know about the input. An error refuses the whole file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FindingLine {
    /// How much it weighs: error, warning or note.
    pub severity: String,
    /// Stable name of the problem, in lower case with hyphens; the plug-in's name is put before it.
    pub code: String,
    /// What is wrong, in one line.
    pub message: String,
    /// Row of the input, from 1.
    #[serde(default)]
    pub row: Option<u64>,
    /// Field number or character column, from 1.
    #[serde(default)]
    pub column: Option<u32>,
    /// What the user would call the place: a header's text.
    #[serde(default)]
    pub label: Option<String>,
    /// What to do, one entry each.
    #[serde(default)]
    pub help: Vec<String>,
    /// The clause of a standard that makes it matter.
    #[serde(default)]
    pub clause: Option<String>,
}

/// Rows that could not be read. The program keeps their text from the file itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SetAsideLine {
    /// The row, from 1; the first where a record goes over several.
    pub row: u64,
    /// Its last row, where there are several.
    #[serde(default)]
    pub last_row: Option<u64>,
    /// Field number or character column, from 1.
    #[serde(default)]
    pub column: Option<u32>,
    /// What the user would call the place.
    #[serde(default)]
    pub label: Option<String>,
    /// Stable name of the problem, in lower case with hyphens.
    pub code: String,
    /// Why it could not be read, in one line.
    pub message: String,
    /// What to do, one entry each.
    #[serde(default)]
    pub help: Vec<String>,
}

/// What became of the rows of the input: every row is in exactly one group.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct AccountLine {
    /// All rows of the file.
    pub total: u64,
    /// Rows that became facts.
    pub used: u64,
    /// Rows that were set aside.
    #[serde(default)]
    pub set_aside: u64,
    /// Lines before the table.
    #[serde(default)]
    pub preamble: u64,
    /// Lines after the table.
    #[serde(default)]
    pub footer: u64,
    /// Empty lines.
    #[serde(default)]
    pub blank: u64,
}

/// How the input was understood ("columns 1 to 8: point").
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct UnderstoodLine {
    /// One thing in words.
    pub what: String,
}

/// How far the work is; nothing depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ProgressLine {
    /// Steps done.
    pub done: u64,
    /// Steps in all.
    #[serde(default)]
    pub of: Option<u64>,
}

/// A file that a writer made, relative to the folder it was given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ArtifactLine {
    /// Path with `/` between parts; relative, without `..`.
    pub path: String,
    /// Media type, such as `text/csv`.
    pub media_type: String,
}

/// The end of an answer.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DoneLine {
    /// A writer's files: every one that lies in its folder, and no other.
    #[serde(default)]
    pub artifacts: Vec<ArtifactLine>,
}

/// One line of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// `record`.
    Record(RecordLine),
    /// `finding`.
    Finding(FindingLine, Severity),
    /// `set_aside`.
    SetAside(SetAsideLine),
    /// `understood`.
    Understood(UnderstoodLine),
    /// `account`.
    Account(RowAccount),
    /// `progress`.
    Progress(ProgressLine),
    /// `done`.
    Done(DoneLine),
}

/// The host's hello, with the line end.
pub fn hello(protocol: u64, features: &[&str]) -> String {
    format!("{}\n", json!({ "type": "hello", "protocol": protocol, "features": features }))
}

/// Reads a line as JSON: UTF-8, one object, no key twice, numbers with their digits.
///
/// # Errors
/// What is wrong with it, in words.
pub fn object(line: &[u8]) -> Result<Map<String, Value>, String> {
    match strict(line)? {
        Value::Object(object) => Ok(object),
        _ => Err("it is JSON, but not an object".to_owned()),
    }
}

/// Reads JSON as the program reads every record: nothing that could be understood in two ways.
///
/// # Errors
/// What is wrong with it, in words.
pub fn strict(bytes: &[u8]) -> Result<Value, String> {
    let text = std::str::from_utf8(bytes)
        .map_err(|error| format!("byte {} is not UTF-8", error.valid_up_to().saturating_add(1)))?;
    if too_deep(text, MAX_DEPTH).is_some() {
        return Err(format!("it is nested more than {MAX_DEPTH} deep"));
    }
    let mut value: Value = serde_json::from_str(text).map_err(|error| format!("it is not JSON: {error}"))?;
    let outline = Node::of(text).map_err(|fault| match fault {
        Fault::DuplicateKey { key, .. } => format!("the key `{key}` stands twice in one object"),
        Fault::Broken(at) => format!("it is not JSON at byte {}", at.saturating_add(1)),
    })?;
    keep_digits(&mut value, &outline, text);
    Ok(value)
}

fn typed<T: for<'de> Deserialize<'de>>(kind: &str, object: Map<String, Value>) -> Result<T, String> {
    serde_json::from_value(Value::Object(object)).map_err(|error| format!("a `{kind}` line: {error}"))
}

/// Reads a plug-in's hello.
///
/// # Errors
/// What is wrong with it, in words.
pub fn hello_of(line: &[u8]) -> Result<Hello, String> {
    let object = object(line)?;
    match object.get("type").and_then(Value::as_str) {
        Some("hello") => typed("hello", object),
        Some(other) => Err(format!("its first line is `{other}`, not `hello`")),
        None => Err("its first line has no `type`".to_owned()),
    }
}

/// Reads a line of the answer to a request.
///
/// # Errors
/// What is wrong with it, in words.
pub fn answer_of(line: &[u8], request: u64) -> Result<Answer, String> {
    let object = object(line)?;
    let Some(kind) = object.get("type").and_then(Value::as_str).map(str::to_owned) else {
        return Err("it has no `type`".to_owned());
    };
    match object.get("request") {
        Some(number) if number.as_u64() == Some(request) => {}
        Some(number) => {
            return Err(format!("a `{kind}` line for request {number}, while request {request} is open"));
        }
        None => return Err(format!("a `{kind}` line without `request`, the number that it answers")),
    }
    Ok(match kind.as_str() {
        "record" => {
            let line: RecordLine = typed(&kind, object)?;
            if line.record.is_some() == line.file.is_some() {
                return Err("a `record` line has either `record` or `file`".to_owned());
            }
            Answer::Record(line)
        }
        "finding" => {
            let line: FindingLine = typed(&kind, object)?;
            well_named(&line.code)?;
            let severity = line.severity.parse().map_err(|_| {
                format!("`{}` is no severity: error, warning or note", shortened(&line.severity))
            })?;
            Answer::Finding(line, severity)
        }
        "set_aside" => {
            let line: SetAsideLine = typed(&kind, object)?;
            well_named(&line.code)?;
            Answer::SetAside(line)
        }
        "understood" => Answer::Understood(typed(&kind, object)?),
        "account" => {
            let AccountLine { total, used, set_aside, preamble, footer, blank } = typed(&kind, object)?;
            Answer::Account(RowAccount { total, used, set_aside, preamble, footer, blank })
        }
        "progress" => Answer::Progress(typed(&kind, object)?),
        "done" => Answer::Done(typed(&kind, object)?),
        other => return Err(format!("the type `{}` is none of this protocol", shortened(other))),
    })
}

/// A code in lower case, digits and hyphens.
fn well_named(code: &str) -> Result<(), String> {
    let fits = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    if code.is_empty() || code.len() > 60 || !code.bytes().all(fits) {
        return Err(format!("`{}` is no code: lower case, digits and hyphens", shortened(code)));
    }
    Ok(())
}

/// A text as shown in a message, cut where it is long.
fn shortened(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text.to_owned(),
    }
}

/// The JSON Schema (draft 2020-12) of every line, in both directions.
pub fn schema() -> Value {
    let settings = schemars::generate::SchemaSettings::draft2020_12();
    let mut generator = settings.into_generator();
    let part = generator.subschema_for::<PartFile>();
    let lines = [
        ("finding", generator.subschema_for::<FindingLine>()),
        ("set_aside", generator.subschema_for::<SetAsideLine>()),
        ("understood", generator.subschema_for::<UnderstoodLine>()),
        ("account", generator.subschema_for::<AccountLine>()),
        ("progress", generator.subschema_for::<ProgressLine>()),
        ("done", generator.subschema_for::<DoneLine>()),
    ];
    let request = json!({ "description": "Number of the request that the line belongs to.", "type": "integer", "minimum": 1 });
    let text = |about: &str| json!({ "description": about, "type": "string" });
    let mut answers: Vec<Value> = lines
        .into_iter()
        .map(|(kind, line)| {
            json!({
                "title": format!("plug-in: {kind}"),
                "allOf": [line.to_value()],
                "properties": { "type": { "const": kind }, "request": request },
                "required": ["type", "request"],
            })
        })
        .collect();
    answers.push(json!({
        "title": "plug-in: record",
        "type": "object",
        "properties": {
            "type": { "const": "record" },
            "request": request,
            "record": part.to_value(),
            "file": text("A file below the working folder that holds the part."),
        },
        "required": ["type", "request"],
        "oneOf": [{ "required": ["record"] }, { "required": ["file"] }],
    }));
    let features = json!({ "description": "Features of the protocol that the side knows.", "type": "array", "items": { "type": "string" } });
    let hellos = [
        json!({
            "title": "host: hello",
            "type": "object",
            "properties": { "type": { "const": "hello" }, "protocol": { "type": "integer" }, "features": features },
            "required": ["type", "protocol", "features"],
        }),
        json!({
            "title": "plug-in: hello",
            "type": "object",
            "properties": {
                "type": { "const": "hello" },
                "protocol": { "type": "integer" },
                "name": text("As in plugin.toml."),
                "version": text("As in plugin.toml."),
                "features": features,
            },
            "required": ["type", "protocol", "name", "version"],
        }),
    ];
    let read = json!({
        "title": "host: read",
        "type": "object",
        "properties": {
            "type": { "const": "read" },
            "request": request,
            "input": text("A copy of the file, relative to the working folder; its name has no special characters."),
            "name": text("The file's own name within the job, for messages."),
            "bytes": { "description": "Size of the file.", "type": "integer", "minimum": 0 },
            "options": { "description": "The settings for this file, by the names in plugin.toml.", "type": "object" },
            "facts": text("A JSON file with the job's facts, relative to the working folder."),
            "chain_a_per_v": text("Of a waveform: the amperes that a volt stands for by the measuring chain that the job states, as decimal text. Absent where it states none, or the chain is not whole."),
        },
        "required": ["type", "request", "input", "name", "bytes", "options", "facts"],
    });
    let write = json!({
        "title": "host: write",
        "type": "object",
        "properties": {
            "type": { "const": "write" },
            "request": request,
            "record": text("The record in the canonical JSON, relative to the working folder."),
            "assessment": text("The assessment as JSON, relative to the working folder."),
            "out": text("The folder for the writer's files, relative to the working folder."),
            "stem": text("How the names of the files begin."),
            "language": text("Language of the words."),
            "artifacts": {
                "description": "The files of other writers that plugin.toml says are wanted.",
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": { "path": { "type": "string" }, "file": { "type": "string" }, "format": { "type": "string" }, "media_type": { "type": "string" } },
                    "required": ["path", "file", "format", "media_type"],
                },
            },
        },
        "required": ["type", "request", "record", "assessment", "out", "stem", "language", "artifacts"],
    });
    let mut lines: Vec<Value> = hellos.into_iter().chain([read, write]).collect();
    lines.append(&mut answers);
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fulgurite:plugin-lines:1",
        "title": "Lines between the program and a plug-in, protocol 1",
        "description": "Each line is one JSON object in UTF-8. Keys that a side does not know are ignored; a type that it does not know is an error.",
        "oneOf": lines,
        "$defs": generator.take_definitions(true),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_belongs_to_its_request() {
        let done = br#"{"type":"done","request":2}"#;
        assert!(matches!(answer_of(done, 2), Ok(Answer::Done(_))));
        assert!(answer_of(done, 3).unwrap_err().contains("request 2"));
        assert!(answer_of(br#"{"type":"done"}"#, 3).unwrap_err().contains("without `request`"));
    }

    #[test]
    fn a_line_says_one_thing() {
        assert!(object(br#"{"a":1,"a":2}"#).unwrap_err().contains("twice"));
        assert!(object(b"[1]").is_err());
        assert!(object(b"{\"a\":\"\xff\"}").unwrap_err().contains("UTF-8"));
        // A number keeps the digits that were written.
        assert_eq!(object(br#"{"kv": 8.0}"#).unwrap()["kv"], Value::String("8.0".into()));
    }

    #[test]
    fn keys_that_are_not_known_are_ignored_and_types_are_not() {
        let line = br#"{"type":"progress","request":1,"done":3,"mood":"good"}"#;
        assert!(matches!(answer_of(line, 1), Ok(Answer::Progress(_))));
        assert!(answer_of(br#"{"type":"song","request":1}"#, 1).is_err());
    }
}
