//! The JSON Schema of a job file, as far as JSON can say what TOML holds: dates stand as their text.

use crate::mapping::mapping_schema;
use crate::plugins::Plugins;
use plugin_api::wire::v1::record_schema;
use serde_json::{Map, Value, json};

/// The JSON Schema (draft 2020-12) of job.toml: the facts of the canonical JSON, and which files belong to the job.
pub fn job_schema(plugins: &Plugins) -> Value {
    let record = record_schema();
    let mut definitions = record["$defs"].as_object().cloned().unwrap_or_default();
    let facts = definitions.remove("Facts").unwrap_or_default();
    let mut properties = facts["properties"].as_object().cloned().unwrap_or_default();
    let files = json!({
        "description": "A path within the job, or a pattern such as logs/contact-*.csv; or a list of them.",
        "anyOf": [{ "type": "string", "minLength": 1 }, { "type": "array", "items": { "type": "string", "minLength": 1 }, "minItems": 1 }],
    });
    let patterns =
        json!({ "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] });
    let table = |about: &str, own: &[&str], required: &[&str], of: &Value| {
        let mut properties = of["properties"].as_object().cloned().unwrap_or_default();
        properties.retain(|key, _| key != "traces");
        for key in own {
            properties.insert(
                (*key).to_owned(),
                if *key == "files" { files.clone() } else { json!({ "type": "string" }) },
            );
        }
        json!({ "description": about, "type": "object", "properties": properties, "required": required })
    };
    let mut entry = default_keys(plugins);
    if let Some(keys) = entry["properties"].as_object_mut() {
        let number = |about: &str| json!({ "description": about, "type": ["number", "string"] });
        let beside = "The log holds the discharges of the filled forms too, and is held against them.";
        keys.insert("beside".into(), json!({ "description": beside, "const": "forms" }));
        let ahead = "Seconds by which the generator's clock is ahead; estimated where it is not stated.";
        keys.insert("clock_ahead_s".into(), number(ahead));
        keys.insert("within_s".into(), number("How far times may differ, in seconds."));
        keys.insert(
            "voltage_within_percent".into(),
            number("How far the log's voltage may be from the form's, in per cent of it."),
        );
    }
    let logs = json!({
        "description": "Discharge logs; each entry may state what a mapping file states, and that counts over the file.",
        "type": "array",
        "items": table("Files, and how they are read.", &["files", "mapping", "reader"], &["files"], &entry),
    });
    let verifications = json!({
        "description": "Verifications of the generator, with the files that hold the waveforms.",
        "type": "array",
        "items": table("A verification.", &["files", "mapping", "reader"], &["files", "id"], &record["$defs"]["Verification"]),
    });
    // Origin and, where nobody gives one, the id of an observation come from its place in the file.
    let observations = json!({
        "description": "What the item did, where no log says it.",
        "type": "array",
        "items": table("An observation.", &[], &[], &record["$defs"]["Observation"]),
    });
    let certificates = json!({
        "description": "Calibration certificates (DCC) of equipment.",
        "type": "array",
        "items": {
            "type": "object",
            "properties": {
                "files": files,
                "equipment": { "description": "Inventory name of the equipment.", "type": "string", "minLength": 1 },
                "reader": { "type": "string" },
            },
            "required": ["files", "equipment"],
        },
    });
    properties.insert("certificates".into(), certificates);
    properties.insert("logs".into(), logs);
    properties.insert("verifications".into(), verifications);
    properties.insert("observations".into(), observations);
    let about = |about: &str| {
        let mut patterns = patterns.clone();
        patterns["description"] = about.into();
        patterns
    };
    properties.insert("forms".into(), about("Filled forms and sheets; none need be there yet."));
    properties.insert("ignore".into(), about("Files of the folder that don't belong to the job."));
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fulgurite:job:1",
        "title": "Job file",
        "description": "job.toml: the facts of a job, and which files belong to it. Held as TOML; every fact may be left out, and keys that are not known are kept and passed through with a warning.",
        "type": "object",
        "properties": properties,
        "$defs": definitions,
    })
}

/// What a log's entry may say whichever reader reads it: the keys that all readers have in common.
fn default_keys(plugins: &Plugins) -> Value {
    let schema = mapping_schema(plugins);
    let readers = schema["anyOf"].as_array().cloned().unwrap_or_default();
    let tables: Vec<&Map<String, Value>> =
        readers.iter().filter_map(|r| r["properties"].as_object()).collect();
    let mut common = tables.first().copied().cloned().unwrap_or_default();
    common.retain(|key, value| key != "reader" && tables.iter().all(|table| table.get(key) == Some(value)));
    json!({ "properties": common })
}
