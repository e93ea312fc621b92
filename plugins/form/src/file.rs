//! The saved form: what stands in the file around the journal.

use crate::entry::Entry;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// The version of the form's file.
pub const FORM: u32 = 1;

/// A series of the plan that the form was made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Planned {
    /// Id in this form.
    pub(crate) id: String,
    /// Where.
    pub(crate) point: String,
    /// `contact`, `air`, `hcp` or `vcp`.
    pub(crate) application: String,
    /// `positive` or `negative`.
    pub(crate) polarity: String,
    /// Magnitude of the voltage, in kilovolts, as decimal text.
    pub(crate) voltage_kv: String,
    /// Operating mode of the item.
    #[serde(default)]
    pub(crate) mode: Option<String>,
    /// Least number of discharges.
    pub(crate) count: u32,
    /// Least time between them, in seconds, as decimal text.
    pub(crate) interval_s: String,
    /// Tip.
    pub(crate) tip: String,
}

/// The file, its entries left as they stand so that each keeps its place.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FormFile<'a> {
    #[serde(rename = "form")]
    _form: u32,
    #[serde(rename = "id")]
    _id: String,
    pub(crate) program: String,
    #[serde(rename = "standard")]
    _standard: Option<Value>,
    pub(crate) plan: Vec<Planned>,
    pub(crate) facts: Value,
    #[serde(borrow)]
    pub(crate) journal: Vec<&'a RawValue>,
    #[serde(default)]
    pub(crate) photos: BTreeMap<String, String>,
}

/// The first line of a journal that a server keeps: the form without its journal.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Head {
    form: u32,
    id: String,
    program: String,
    standard: Option<Value>,
    plan: Vec<Planned>,
    facts: Value,
}

impl FormFile<'_> {
    /// A form without entries yet.
    pub(crate) fn of(head: Head) -> Self {
        Self {
            _form: head.form,
            _id: head.id,
            program: head.program,
            _standard: head.standard,
            plan: head.plan,
            facts: head.facts,
            journal: Vec::new(),
            photos: BTreeMap::new(),
        }
    }
}

/// The same for the schema.
#[derive(JsonSchema)]
#[serde(deny_unknown_fields)]
#[expect(dead_code, reason = "only its schema is used")]
struct FormShape {
    /// Version of this form.
    form: u32,
    /// Identity of the form: follows from facts, plan and limits.
    id: String,
    /// The program that made the form.
    program: String,
    /// The standard: its id in the program's data, and its name.
    standard: Option<StandardShape>,
    /// The plan that the form was made from.
    plan: Vec<Planned>,
    /// The facts of the job, as in the canonical record (`record-1.schema.json`, `facts`).
    facts: serde_json::Map<String, Value>,
    /// The journal: entries are only added.
    journal: Vec<Entry>,
    /// Photos by name, as base64.
    photos: BTreeMap<String, String>,
}

/// A standard by name.
#[derive(JsonSchema)]
#[expect(dead_code, reason = "only its schema is used")]
struct StandardShape {
    /// Id in the program's data.
    id: String,
    /// Number and edition.
    name: String,
}

/// The JSON Schema (2020-12) of a saved form.
pub fn form_schema() -> Value {
    let mut schema = schemars::schema_for!(FormShape).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".into(), "Filled form of a bench, version 1".into());
        if let Some(version) = object.get_mut("properties").and_then(|p| p.get_mut("form")) {
            *version = serde_json::json!({ "description": "Version of this form.", "const": FORM });
        }
    }
    schema
}
