//! What a job came to, as one line of JSON: the same for a batch, the filter and the drop folder.

use crate::convert::{JobResult, JobStatus};
use crate::row_account::row_account_to_value;
use assess::Verdict;
use plugin_api::wire::v1;
use record::Severity;
use serde_json::{Map, Value, json};

/// Version of the form of a result line; it rises when a key changes in what it means or goes.
pub const RESULT_LINE: u32 = 1;

/// What a job came to, without its findings.
pub fn result_line(result: &JobResult) -> Map<String, Value> {
    let count = |severity| result.findings.iter().filter(|f| f.severity == severity).count();
    let outcome = result.outcome.as_ref();
    let value = json!({
        "schema": RESULT_LINE,
        "job": result.name,
        "input": result.input.to_string_lossy(),
        "status": result.status.as_str(),
        "verdict": outcome.map(|o| o.verdict.as_str()),
        "failure_observed": outcome.map(|o| o.failure_observed),
        "bench_data": outcome.map(|o| o.bench_data),
        "reason": outcome.and_then(|o| o.reason.as_deref()),
        "rows": row_account_to_value(result.rows),
        "errors": count(Severity::Error),
        "warnings": count(Severity::Warning),
        "remembered": result.remembered,
        "not_made": result.not_made,
        "outputs": result.written.iter().map(|w| json!({
            "path": w.path.to_string_lossy(), "bytes": w.bytes,
        })).collect::<Vec<_>>(),
    });
    match value {
        Value::Object(line) => line,
        _ => Map::new(),
    }
}

/// What a job came to, with its errors and warnings, and why its outputs could not be written.
pub fn result_line_with_findings(result: &JobResult) -> Map<String, Value> {
    let mut line = result_line(result);
    let told = result.findings.iter().filter(|f| f.severity != Severity::Note);
    line.insert("findings".into(), told.map(v1::finding_to_value).collect());
    if let Some(error) = &result.not_written {
        line.insert("trouble".into(), with_causes(error).into());
    }
    line
}

/// An error with its causes, in one line.
pub(crate) fn with_causes(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        text += &format!(": {cause}");
        source = cause.source();
    }
    text
}

/// The JSON Schema (draft 2020-12) of a result line.
pub fn result_line_schema() -> Value {
    let text = |about: &str| json!({ "description": about, "type": "string" });
    let count = |about: &str| json!({ "description": about, "type": "integer", "minimum": 0 });
    let flag = |about: &str| json!({ "description": about, "type": ["boolean", "null"] });
    let statuses: Vec<&str> = JobStatus::ALL.iter().map(|s| s.as_str()).collect();
    let mut verdicts: Vec<Value> =
        [Verdict::Pass, Verdict::Fail, Verdict::Undetermined].iter().map(|v| v.as_str().into()).collect();
    verdicts.push(Value::Null);
    let rows = ["total", "used", "set_aside", "preamble", "footer", "blank"];
    let rows: Map<String, Value> =
        rows.iter().map(|key| ((*key).to_owned(), json!({ "type": "integer", "minimum": 0 }))).collect();
    let row_keys: Vec<&String> = rows.keys().collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fulgurite:result:1",
        "title": "Result line",
        "description": "What a job came to: one JSON object a line, from `convert --message-format json`, `filter`, and `watch` (results.jsonl). A later version of the program may add keys; take no notice of those you don't know.",
        "type": "object",
        "properties": {
            "schema": { "description": "Version of this form.", "const": RESULT_LINE },
            "line": text("`filter`: the line that was read."),
            "id": text("`watch`: number and name of the input, as its files in done or refused and its folder of outputs are named; no two lines have the same."),
            "job": text("Name of the job."),
            "input": text("Path of the job."),
            "status": { "description": "How it ended: `done`; `in part` (outputs are written, and rows or a format were refused); `refused` (nothing was written); `not written` (the outputs can't be written); `stopped by a plug-in`.", "enum": statuses },
            "verdict": { "description": "The headline verdict; null where the job was refused.", "enum": verdicts },
            "failure_observed": flag("A failure was observed, at a severity that is not known."),
            "bench_data": flag("Facts are missing without which no conformity can be stated."),
            "reason": { "description": "The first reason of the verdict.", "type": ["string", "null"] },
            "rows": { "description": "What became of the rows of all its files.", "type": "object", "properties": rows, "required": row_keys },
            "errors": count("Findings that stopped something."),
            "warnings": count("Findings that are shown in the report."),
            "remembered": { "description": "Nothing changed since an earlier run.", "type": "boolean" },
            "not_made": { "description": "Formats that were asked for and refused; findings say why.", "type": "array", "items": { "type": "string" } },
            "outputs": {
                "description": "Files that were written.",
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": { "path": text("Where."), "bytes": count("Its size.") },
                    "required": ["path", "bytes"],
                },
            },
            "findings": {
                "description": "`filter` and `watch`: errors and warnings, in the order in which they are shown.",
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "code": { "description": "What kind; `fulgurite explain CODE` tells more.", "type": "string", "pattern": "^[a-z-]+/[a-z0-9-]+$" },
                        "severity": { "enum": ["error", "warning"] },
                        "message": text("What, in words."),
                    },
                    "required": ["code", "severity", "message"],
                },
            },
            "trouble": text("Why the outputs could not be written."),
        },
        "required": [
            "schema", "job", "input", "status", "verdict", "failure_observed", "bench_data", "reason", "rows",
            "errors", "warnings", "remembered", "outputs",
        ],
    })
}
