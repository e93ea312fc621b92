//! Facts that a report of this kind should have and that nobody stated.

use serde_json::{Map, Value, json};

/// Paths in the view of facts that are looked for, with the clause of ISO/IEC 17025:2017 that asks for each
/// (as seen, unless marked). Each path is also the key of the fact's name in language files, under `fact`.
const LOOKED_FOR: &[(&str, &str)] = &[
    ("report.number", "7.8.2.1 d"),
    ("report.issued_on", "7.8.2.1 j"),
    ("laboratory.name", "7.8.2.1 b"),
    ("laboratory.address", "7.8.2.1 b"),
    ("laboratory.place_of_work", "7.8.2.1 c"),
    ("client.name", "7.8.2.1 e"),
    ("client.contact", "7.8.2.1 e"),
    ("method.standard", "7.8.2.1 f"),
    ("item.name", "7.8.2.1 g"),
    ("item.type", "7.8.2.1 g"),
    ("item.serial", "7.8.2.1 g"),
    ("item.hardware", "7.8.2.1 g"),
    ("item.firmware", "7.8.2.1 g"),
    ("item.supply", "7.8.2.1 g"),
    ("item.arrangement", "7.8.2.1 g"),
    ("receipt.received_on", "7.8.2.1 h"),
    ("receipt.condition", "7.8.2.1 g"),
    ("work.started", "7.8.2.1 i"),
    ("work.ended", "7.8.2.1 i"),
    ("decision_rule.rule", "7.8.6.1"),
    ("decision_rule.agreed_with", "7.1.3"),
    ("generator.equipment", "7.5.1"),
    ("generator.network_pf", "7.5.1"),
    ("generator.network_ohm", "7.5.1"),
    ("generator.return_cable", "7.5.1"),
    ("signs.tested", "7.5.1"),
    ("signs.checked", "7.5.1"),
    ("signs.authorised", "7.8.2.1 o"),
];

pub(super) fn add(root: &mut Map<String, Value>) {
    let absent = |path: &str| {
        let mut at: Option<&Value> = None;
        for key in path.split('.') {
            at = match at {
                None => root.get(key),
                Some(value) => value.get(key),
            };
        }
        at.is_none_or(Value::is_null)
    };
    // A draft has no day of issue yet, which the list of what is complete says too.
    let draft = root.get("report").and_then(|report| report.get("draft")).and_then(Value::as_bool);
    let not_yet = |path: &str| path == "report.issued_on" && draft == Some(true);
    let missing: Vec<Value> = LOOKED_FOR
        .iter()
        .filter(|(path, _)| absent(path) && !not_yet(path))
        .map(|(path, clause)| json!({"key": path, "clause": clause}))
        .collect();
    root.insert("missing".into(), Value::Array(missing));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_fact_has_a_name() {
        let words = crate::TemplateSet::built_in("report").unwrap().words("en").unwrap();
        for (path, _) in LOOKED_FOR {
            assert!(words.get(&format!("fact.{path}")).is_some(), "fact.{path}");
        }
    }
}
