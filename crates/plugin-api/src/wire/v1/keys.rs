//! The keys that the form has at a place, and the one nearest to a mistyped key.

use super::file::record_schema;
use serde_json::Value;
use std::sync::OnceLock;

/// The keys of the record file at a pointer (`/facts/item`), from its schema; none where it has no keys of
/// its own.
pub fn known_keys(pointer: &str) -> Vec<String> {
    // Made once: a file can have any number of unknown keys.
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    let schema = SCHEMA.get_or_init(record_schema);
    let Some(node) = node_at(schema, pointer) else { return Vec::new() };
    let resolved = resolve(schema, node);
    resolved
        .get("properties")
        .and_then(Value::as_object)
        .map(|properties| properties.keys().cloned().collect())
        .unwrap_or_default()
}

/// The known key nearest to a mistyped one, where one is near.
pub fn nearest_key(pointer: &str, typed: &str) -> Option<String> {
    nearest(typed, &known_keys(pointer)).map(str::to_owned)
}

/// The name nearest to a mistyped one, where one is near enough to be meant.
pub fn nearest<'a>(typed: &str, names: &'a [impl AsRef<str>]) -> Option<&'a str> {
    names
        .iter()
        .map(|name| (strsim::jaro_winkler(typed, name.as_ref()), name.as_ref()))
        .filter(|(score, _)| *score >= 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, name)| name)
}

fn node_at<'a>(schema: &'a Value, pointer: &str) -> Option<&'a Value> {
    let mut node = schema;
    for step in pointer.split('/').filter(|s| !s.is_empty()) {
        node = resolve(schema, node);
        node = if step.bytes().all(|b| b.is_ascii_digit()) && node.get("items").is_some() {
            node.get("items")?
        } else {
            node.get("properties")?.get(step)?
        };
    }
    Some(node)
}

/// Follows references and looks through the alternatives of an optional value.
fn resolve<'a>(schema: &'a Value, mut node: &'a Value) -> &'a Value {
    for _ in 0..16 {
        if let Some(target) = node.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix('#')) {
            match schema.pointer(target) {
                Some(found) => node = found,
                None => break,
            }
        } else if let Some(list) = node.get("anyOf").and_then(Value::as_array) {
            let object = list.iter().map(|n| resolve(schema, n)).find(|n| {
                n.get("properties").is_some_and(|p| p.get("not_applicable").is_none())
                    || n.get("items").is_some()
            });
            match object {
                Some(found) => return found,
                None => break,
            }
        } else {
            break;
        }
    }
    node
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_found_through_lists_options_and_references() {
        assert!(known_keys("/facts/equipment/0").contains(&"calibration_due".to_owned()));
        assert!(known_keys("/facts/points/3/mark").contains(&"x".to_owned()));
        assert!(known_keys("/facts/charge_removal").contains(&"method".to_owned()));
        assert_eq!(nearest_key("/facts/item", "serial_number").as_deref(), Some("serial"));
        assert_eq!(nearest_key("/facts/item", "zzz"), None);
    }
}
