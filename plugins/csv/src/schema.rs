//! JSON Schema of the settings: what an editor offers and checks while a mapping is written.

use crate::roles::Role;
use record::{Affected, Application, Class, Restoration, RunKind, Tip};
use serde_json::{Map, Value, json};

/// The schema of each setting, by its key.
pub(crate) fn settings() -> Map<String, Value> {
    let words = |list: &[&str], about: &str| json!({ "description": about, "enum": list });
    let text = |about: &str| json!({ "description": about, "type": "string" });
    let mut all = Map::new();
    let mut add = |key: &str, value: Value| {
        all.insert(key.to_owned(), value);
    };
    add("encoding", text("Name of the encoding, such as utf-8, utf-16le, windows-1252, shift_jis, gbk."));
    add(
        "delimiter",
        words(&["comma", "semicolon", "tab", "pipe", ",", ";", "\t", "|"], "What parts the fields."),
    );
    add("decimal", words(&["point", "comma", ".", ","], "The decimal sign."));
    add(
        "thousands",
        words(
            &["none", "comma", "point", "space", "apostrophe", ",", ".", "'"],
            "The thousands mark; none where it is not given.",
        ),
    );
    add("quote", words(&["double", "none"], "none for a log whose text holds inch marks."));
    add(
        "header_row",
        json!({ "description": "Number of the header's row, from 1, or none.",
            "anyOf": [{ "type": "integer", "minimum": 1 }, { "const": "none" }] }),
    );
    add("columns", columns());
    add("units", units());
    add("words", vocabulary());
    add(
        "date",
        text("Order of the parts, such as dd.mm.yyyy or d-mmm-yy; serial for a spreadsheet's day number."),
    );
    add("zone", text("Offset from UTC, such as +01:00, or Z."));
    add(
        "day",
        json!({ "description": "Date of a log whose times have none.", "type": "string",
            "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" }),
    );
    add(
        "polarity",
        words(
            &["positive", "negative", "signed"],
            "Polarity of a log that states none; signed where no sign means plus.",
        ),
    );
    add("both_polarities", words(&["count-each"], "A row for +/- means its count at each polarity."));
    add("blanks", words(&["above", "missing"], "above where an empty cell repeats the one above it."));
    add(
        "counter_start",
        json!({ "description": "Reading of the counter before the first row.", "type": "integer", "minimum": 0 }),
    );
    all
}

fn columns() -> Value {
    let one = json!([{ "type": "string", "minLength": 1 }, { "type": "integer", "minimum": 1 }]);
    let several = json!({ "anyOf": [
        { "type": "string", "minLength": 1 }, { "type": "integer", "minimum": 1 },
        { "type": "array", "items": { "anyOf": one } },
    ] });
    let properties: Map<String, Value> = Role::ALL
        .iter()
        .map(|role| {
            let value = if role.may_repeat() { several.clone() } else { json!({ "anyOf": one }) };
            (role.key().to_owned(), value)
        })
        .collect();
    table("Header text (or JSON pointer) or number (from 1) of each column.", properties)
}

fn units() -> Value {
    let unit = |list: &[&str]| json!({ "enum": list });
    let properties = [
        ("voltage", unit(&["kV", "V"])),
        ("interval", unit(&["s", "ms", "min", "h", "Hz"])),
        ("lasted", unit(&["s", "ms", "min", "h"])),
    ];
    table("Unit of a column's numbers.", properties.map(|(k, v)| (k.to_owned(), v)).into_iter().collect())
}

fn vocabulary() -> Value {
    let list = json!({ "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] });
    let group =
        |words: &[&str]| table("", words.iter().map(|word| ((*word).to_owned(), list.clone())).collect());
    let names =
        json!({ "type": "object", "propertyNames": { "pattern": "\\S" }, "additionalProperties": list });
    let properties = [
        ("polarity", group(&["positive", "negative", "both"])),
        ("application", group(Application::WORDS)),
        ("result", group(&["nothing"])),
        ("answer", group(&["yes", "no"])),
        ("restored", group(Restoration::WORDS)),
        ("affected", group(Affected::WORDS)),
        ("class", group(Class::WORDS)),
        ("kind", group(RunKind::WORDS)),
        ("tip", group(Tip::WORDS)),
        ("single", group(&["yes", "no"])),
        ("demand", list.clone()),
        ("point", names.clone()),
        ("state", names.clone()),
        ("mode", names.clone()),
        ("function", names),
    ];
    table(
        "Words of the log and what they mean.",
        properties.map(|(k, v)| (k.to_owned(), v)).into_iter().collect(),
    )
}

fn table(about: &str, properties: Map<String, Value>) -> Value {
    let mut schema = json!({ "type": "object", "properties": properties, "additionalProperties": false });
    if let Some(object) = schema.as_object_mut().filter(|_| !about.is_empty()) {
        object.insert("description".to_owned(), about.into());
    }
    schema
}
