//! JSON Schema of the settings: what an editor offers and checks while a mapping is written.

use serde_json::{Map, Value, json};

/// The schema of each setting, by its key.
pub(crate) fn settings() -> Map<String, Value> {
    let words = |list: &[&str], about: &str| json!({ "description": about, "enum": list });
    let number = |about: &str, least: Value| {
        let mut schema = json!({ "description": about, "anyOf": [
            { "type": "number" }, { "type": "string", "pattern": "^[+-]?[0-9.]+$" },
        ] });
        if let Some(number) = schema.pointer_mut("/anyOf/0").and_then(Value::as_object_mut)
            && !least.is_null()
        {
            number.insert("exclusiveMinimum".to_owned(), least);
        }
        schema
    };
    let column = |about: &str| {
        json!({ "description": about, "anyOf": [
            { "type": "string", "minLength": 1 }, { "type": "integer", "minimum": 1 },
        ] })
    };
    let above_zero = || json!(0);
    [
        (
            "scale_a_per_v",
            number(
                "Amperes per volt: target, attenuator and cable together, for records in volts.",
                above_zero(),
            ),
        ),
        ("channel", column("Header or number (from 1) of the column that holds the discharge current.")),
        ("time_column", column("Header or number (from 1) of the column that holds the time.")),
        (
            "time_unit",
            words(&["s", "ms", "us", "ns", "ps"], "Unit of the times, where the file does not state it."),
        ),
        (
            "value_unit",
            words(&["A", "mA", "kA", "V", "mV"], "Unit of the values, where the file does not state it."),
        ),
        (
            "sample_interval_ns",
            number("Time between samples in nanoseconds; the time column is then not used.", above_zero()),
        ),
        (
            "start_ns",
            number("Time of the first sample in nanoseconds, where the file does not state it.", Value::Null),
        ),
        ("delimiter", words(&["comma", "semicolon", "tab", "space", "none"], "What parts the fields.")),
        ("decimal", words(&["point", "comma"], "The decimal sign.")),
        (
            "values",
            words(&["codes", "scaled"], "Whether the factors of the preamble still have to be applied."),
        ),
    ]
    .into_iter()
    .map(|(key, schema)| (key.to_owned(), schema))
    .collect()
}
