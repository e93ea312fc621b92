//! Bench data without the identity of a report: what was recorded, and no word on conformity.

use serde_json::{Map, Value, json};

/// Takes every verdict out of a view.
pub(super) fn without_verdicts(root: &mut Map<String, Value>) {
    root.insert("verdict".into(), Value::Null);
    root.insert("other_states".into(), json!([]));
    root.insert("plan_problems".into(), json!([]));
    root.insert("judgements".into(), json!([]));
    // What a report must hold is asked of a report only.
    root.insert("completeness".into(), json!({ "lists": [] }));
    for key in ["results", "observations"] {
        if let Some(value) = root.get_mut(key) {
            silence(value);
        }
    }
}

fn silence(value: &mut Value) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map.iter_mut() {
                match key.as_str() {
                    "verdict" => *inner = Value::Null,
                    "failure_observed" => *inner = Value::Bool(false),
                    _ => silence(inner),
                }
            }
        }
        Value::Array(list) => list.iter_mut().for_each(silence),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}
