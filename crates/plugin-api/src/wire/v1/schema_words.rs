//! Words of which the schemas of what the program writes are made.

use serde_json::{Map, Value, json};

/// An object of these properties; all of them are there, and a later version of the program may add others.
pub(super) fn object(about: &str, properties: &[(&str, Value)]) -> Value {
    let keys: Vec<&str> = properties.iter().map(|(key, _)| *key).collect();
    let properties: Map<String, Value> =
        properties.iter().map(|(key, value)| ((*key).to_owned(), value.clone())).collect();
    json!({ "description": about, "type": "object", "properties": properties, "required": keys })
}

pub(super) fn list(about: &str, items: Value) -> Value {
    json!({ "description": about, "type": "array", "items": items })
}

pub(super) fn text(about: &str) -> Value {
    json!({ "description": about, "type": "string" })
}

pub(super) fn text_or_none(about: &str) -> Value {
    json!({ "description": about, "type": ["string", "null"] })
}

pub(super) fn flag(about: &str) -> Value {
    json!({ "description": about, "type": "boolean" })
}

pub(super) fn flag_or_none(about: &str) -> Value {
    json!({ "description": about, "type": ["boolean", "null"] })
}

pub(super) fn count(about: &str) -> Value {
    json!({ "description": about, "type": "integer", "minimum": 0 })
}

pub(super) fn words(about: &str, words: &[&str]) -> Value {
    json!({ "description": about, "enum": words })
}

pub(super) fn words_or_none(about: &str, words: &[&str]) -> Value {
    let mut words: Vec<Value> = words.iter().map(|word| (*word).into()).collect();
    words.push(Value::Null);
    json!({ "description": about, "enum": words })
}
