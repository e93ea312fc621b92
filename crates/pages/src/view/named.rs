//! Words of the record that belong to a closed or a customary set, in the paper's language: kinds of references, facts
//! that somebody supplied, clauses of standards, units.

use crate::Words;
use crate::numbers::Cut;
use serde_json::{Map, Value, json};

/// Puts beside each reference and each supplied fact what it is called.
pub(super) fn add(words: &Words, root: &mut Map<String, Value>) {
    let mut name = |list: &str, field: &str, table: &str, said: &str| {
        let entries = root.get_mut(list).and_then(Value::as_array_mut).into_iter().flatten();
        for entry in entries.filter_map(Value::as_object_mut) {
            let written = entry.get(field).and_then(Value::as_str);
            let known = written.and_then(|w| words.get(&format!("{table}.{w}")).or(Some(w)));
            let known = json!(known);
            entry.insert(said.to_owned(), known);
        }
    };
    name("references", "kind", "reference_kind", "kind_said");
    name("references", "belongs_to", "fact_of", "belongs_to_said");
    name("supplied", "fact", "fact_of", "fact_said");
    // Each heads an entry of a list.
    for entry in root.get_mut("supplied").and_then(Value::as_array_mut).into_iter().flatten() {
        if let Some(said) = entry.get_mut("fact_said")
            && let Some(text) = said.as_str()
        {
            *said = json!(crate::calls::capitalised(text));
        }
    }
    for (group, key, between) in [
        ("plan", "contact_kv", ", "),
        ("plan", "air_kv", ", "),
        ("plan", "indirect_kv", ", "),
        ("item", "size", " \u{d7} "),
    ] {
        let list = root.get_mut(group).and_then(|group| group.get_mut(key));
        if let Some(list) = list
            && let Some(text) = list.as_str()
        {
            *list = json!(numbers(words, text, between));
        }
    }
}

/// Numbers in a row as the language writes them. Where a comma is the decimal sign, none parts the numbers.
fn numbers(words: &Words, text: &str, between: &str) -> String {
    let set = |n: &str| words.numbers().number(n, Cut::default()).unwrap_or_else(|| n.to_owned());
    let numbers: Vec<String> = text.split(between).map(set).collect();
    let comma = numbers.iter().any(|number| number.contains(','));
    match between {
        ", " if comma => numbers.join("; "),
        ", " => numbers.join(comma_of(words)),
        _ => numbers.join(between),
    }
}

/// A comma with the space that the language has behind it.
pub(super) fn comma_of(words: &Words) -> &'static str {
    if words.get("mark.comma") == Some("、") { "、" } else { ", " }
}

/// A clause with the words that clauses are named by in the paper's language: `Table 3 (number from memory)`.
pub(super) fn clause(words: &Words, clause: &str) -> String {
    let mark = |name: &str| words.get(&format!("mark.{name}")).unwrap_or_default();
    let mut out = clause.replace("; ", &format!("{} ", mark("semicolon")));
    if let Some(said) = words.get("clause.number-from-memory") {
        let said = format!("{}{said}{}", mark("left"), mark("right"));
        out = out.replace("(number from memory)", &said);
    }
    for (english, key) in [
        ("limits of the set-up", "clause.setup-limits"),
        ("Annex ", "clause.annex"),
        ("Figure ", "clause.figure"),
        ("Table ", "clause.table"),
    ] {
        let Some(said) = words.get(key).filter(|_| out.contains(english)) else { continue };
        let space = if english.ends_with(' ') { "\u{a0}" } else { "" };
        out = out.replace(english, &format!("{said}{space}"));
    }
    if let (Some(said), Some(before)) = (words.get("clause.note"), out.strip_suffix(" note")) {
        return format!("{before} {said}");
    }
    out
}

/// A unit as papers write it.
pub(super) fn unit(unit: &str) -> &str {
    match unit {
        "ohm" => "Ω",
        "kohm" => "kΩ",
        "Mohm" => "MΩ",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::TemplateSet;

    fn words(language: &str) -> Words {
        TemplateSet::built_in("report").unwrap().words(language).unwrap()
    }

    #[test]
    fn clauses_are_named_in_the_language() {
        let (german, english) = (words("de"), words("en"));
        assert_eq!(
            clause(&german, "Table 3 (number from memory)"),
            "Tabelle\u{a0}3 (Nummer aus dem Gedächtnis zitiert)"
        );
        assert_eq!(clause(&german, "7.8.2.1 note"), "7.8.2.1 Anmerkung");
        assert_eq!(clause(&german, "8.3.4"), "8.3.4");
        assert_eq!(clause(&english, "Table 3 (number from memory)"), "Table 3 (number from memory)");
    }

    #[test]
    fn rows_of_numbers_are_written_as_in_the_language() {
        assert_eq!(numbers(&words("de"), "2, 4, 8", ", "), "2, 4, 8");
        assert_eq!(numbers(&words("de"), "0.5, 1, 2", ", "), "0,5; 1; 2");
        assert_eq!(numbers(&words("en"), "0.5, 1, 2", ", "), "0.5, 1, 2");
        assert_eq!(numbers(&words("ja"), "0.5, 1, 2", ", "), "0.5、1、2");
        assert_eq!(numbers(&words("fr"), "12.5 \u{d7} 3", " \u{d7} "), "12,5 \u{d7} 3");
    }

    #[test]
    fn references_and_supplied_facts_have_names() {
        let mut root = Map::new();
        root.insert("references".into(), json!([{"kind": "order", "belongs_to": "item"}, {"kind": "other"}]));
        root.insert("supplied".into(), json!([{"fact": "demands"}]));
        add(&words("de"), &mut root);
        let said = |path: &str| Value::Object(root.clone()).pointer(path).cloned();
        assert_eq!(said("/references/0/kind_said"), Some(json!("Auftrag")));
        assert_eq!(said("/references/0/belongs_to_said"), Some(json!("Prüfling")));
        assert_eq!(said("/references/1/kind_said"), Some(json!("other")));
        assert_eq!(said("/references/1/belongs_to_said"), Some(Value::Null));
        assert_eq!(said("/supplied/0/fact_said"), Some(json!("Forderungen")));
    }
}
