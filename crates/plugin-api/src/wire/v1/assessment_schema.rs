//! The JSON Schema of an assessment, beside the code that writes it.

use super::schema_words::{
    count, flag, flag_or_none, list, object, text, text_or_none, words, words_or_none,
};
use assess::standard::Status;
use assess::{CoverageState, EvidenceKind, EvidenceState, Rule, Verdict};
use serde_json::{Value, json};

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

/// The JSON Schema (2020-12) of an assessment, as [`super::assessment_to_value`] writes it.
pub fn assessment_schema() -> Value {
    let verdict = |about: &str| words(about, Verdict::WORDS);
    let mut schema = object(
        "What a record comes to under a standard's data. Decimals are text; waveform figures are the shortest decimal that reads back as the same double; what is not known is null.",
        &[
            ("schema", json!({ "description": "Version of this form.", "const": 1 })),
            (
                "rules_version",
                json!({ "description": "The rules that were applied.", "type": "integer", "minimum": 1 }),
            ),
            ("standard", json!({ "anyOf": [reference("standard"), { "type": "null" }] })),
            (
                "missing_identity",
                list(
                    "Facts that are missing without which no conformity can be stated.",
                    text("A path of the record."),
                ),
            ),
            ("verdict", verdict("The headline verdict.")),
            ("plan", list("Series that are required.", reference("required"))),
            ("plan_problems", list("Why the plan is not complete.", reference("reason"))),
            (
                "states",
                list("Verdicts of the item's modification states, the headline's first.", reference("state")),
            ),
            ("observations", list("Observations against what was demanded.", reference("observation"))),
            (
                "completeness",
                json!({ "description": "Lists of what must be stated, by their names: per state, a line for each item.", "type": "object", "additionalProperties": { "type": "object", "additionalProperties": { "type": "array", "items": { "type": "string" } } } }),
            ),
            ("waveforms", list("Figures of generator waveforms.", reference("waveform"))),
            (
                "repeatability",
                list("Spread over the waveforms of a verification.", reference("repeatability")),
            ),
            (
                "findings",
                list(
                    "Findings of the assessment.",
                    object(
                        "A finding.",
                        &[
                            ("code", text("What kind.")),
                            ("severity", words("How bad.", &["error", "warning", "note"])),
                            ("message", text("What, in words.")),
                        ],
                    ),
                ),
            ),
        ],
    );
    if let Some(object) = schema.as_object_mut() {
        object.insert("$schema".into(), "https://json-schema.org/draft/2020-12/schema".into());
        object.insert("$id".into(), "urn:fulgurite:assessment:1".into());
        object.insert("title".into(), "Assessment of an electrostatic-discharge test job, version 1".into());
        object.insert("$defs".into(), definitions(&verdict));
    }
    schema
}

fn definitions(verdict: &dyn Fn(&str) -> Value) -> Value {
    let number = json!({ "description": "A decimal number as text.", "type": "string", "pattern": "^-?[0-9]+(\\.[0-9]+)?([eE][+-]?[0-9]+)?$" });
    let number_or_none = json!({ "anyOf": [number, { "type": "null" }] });
    let status = words("How a value of the standard's data is known.", Status::WORDS);
    let origins = list("Origins in the record: source:row:column.", text("An origin."));
    let series = list("Ids of series.", text("An id."));
    let part = object(
        "A point or a function.",
        &[
            ("name", text("Its name.")),
            ("verdict", verdict("Its verdict.")),
            ("worst", text_or_none("The worst class seen.")),
            ("required", count("Series required.")),
            ("complete", count("Series complete.")),
        ],
    );
    let mut because = object(
        "A reason.",
        &[
            ("rule", words("The rule that it applies.", Rule::WORDS)),
            ("effect", words_or_none("The verdict that follows from it.", Verdict::WORDS)),
            ("text", text("In words.")),
            (
                "values",
                json!({ "description": "The values in the words, by name.", "type": "object", "additionalProperties": { "type": "string" } }),
            ),
            ("origins", origins.clone()),
        ],
    );
    // Only where there is one.
    because["properties"]["because"] = list("Why.", reference("reason"));
    json!({
        "standard": object("The standard's data.", &[
            ("id", text("Id.")), ("name", text("Name.")), ("version", count("Version of the data.")),
            ("count_status", status), ("interval_status", words("As above.", Status::WORDS)),
            ("level_status", words_or_none("As above.", Status::WORDS)),
            ("laid_over", list("Data that it is laid over.", text("An id."))),
            ("basic_edition", json!({ "description": "Edition of the basic standard that it dates.", "type": ["object", "null"] })),
        ]),
        "required": object("A series that is required.", &[
            ("point", text("Point.")), ("application", text("Kind of discharge.")),
            ("polarity", words("Polarity.", &["positive", "negative"])),
            ("voltage_kv", number.clone()), ("mode", text_or_none("Mode of the item.")), ("count", count("Discharges.")),
            ("shared", json!({ "description": "A count that several series share.", "type": ["object", "null"] })),
            ("interval_s", number),
        ]),
        "reason": because,
        "state": object("A modification state of the item.", &[
            ("state", text_or_none("Its id.")), ("verdict", verdict("Its verdict.")),
            ("failure_observed", flag("A failure was observed, at a severity that is not known.")),
            ("reasons", list("Why.", reference("reason"))),
            ("settle", list("What would settle it.", object("Something to do.", &[
                ("what", text("In words.")), ("minutes", number_or_none.clone()),
                ("act", object("For a program.", &[("kind", text("What kind."))])),
            ]))),
            ("coverage", list("Series required against series applied.", object("One of them.", &[
                ("required", count("Position in `plan`.")), ("label", text_or_none("In words.")),
                ("counted", count("Discharges that count.")), ("sparks", json!({ "type": ["integer", "null"] })),
                ("state", words("How they compare.", CoverageState::WORDS)), ("series", series.clone()),
                ("worst", text_or_none("The worst class seen.")), ("observations", list("Ids.", text("An id."))),
                ("verdict", verdict("Its verdict.")),
            ]))),
            ("uncounted", list("Series that don't count.", object("One of them.", &[("series", text("Its id.")), ("why", text("Why not."))]))),
            ("evidence", list("What a valid result needs.", object("A piece of evidence.", &[
                ("kind", words("What kind.", EvidenceKind::WORDS)), ("required", flag("Whether the verdict rests on it.")),
                ("state", words("Whether it was shown.", EvidenceState::WORDS)), ("text", text("In words.")),
                ("remedy", text_or_none("What to do.")), ("ask", list("Facts to ask for.", text("A path."))),
                ("repeat", series), ("clause", text("Clause.")),
                ("status", words("How the demand is known.", Status::WORDS)), ("origins", origins),
            ]))),
            ("points", list("Per point.", part.clone())), ("functions", list("Per function.", part)),
            ("statistics", list("What the counts tell.", json!({ "type": "object" }))),
        ]),
        "observation": object("An observation against what was demanded.", &[
            ("observation", text("Its id.")), ("state", text_or_none("Modification state.")),
            ("class", words_or_none("Class of the basic standard.", &["a", "b", "c", "d"])),
            ("class_from_facts", flag("Whether the recorded facts say it.")),
            ("accepted", list("Outcomes accepted.", text("A word."))),
            ("verdict", words_or_none("What follows.", Verdict::WORDS)),
            ("rule", words("The rule.", Rule::WORDS)), ("text", text("In words.")),
        ]),
        "waveform": object("A waveform.", &[
            ("verification", text("Its verification.")), ("name", text("File.")), ("segment", count("Segment.")),
            ("within", flag_or_none("Whether all figures are within limits.")), ("method", list("How.", text("A line."))),
            ("figures", list("Figures with limits.", object("A figure.", &[
                ("name", text("Which.")), ("unit", text("Unit.")), ("value", number_or_none.clone()),
                ("why_not", text_or_none("Why there is none.")), ("nominal", number_or_none.clone()),
                ("least", number_or_none.clone()), ("most", number_or_none.clone()),
                ("within", flag_or_none("Within limits.")), ("status", words_or_none("How the limits are known.", Status::WORDS)),
                ("clause", text_or_none("Clause.")), ("uncertainty", json!({ "type": ["object", "null"] })),
            ]))),
            ("further", list("Figures without limits.", object("A figure.", &[
                ("name", text("Which.")), ("unit", text("Unit.")), ("value", number_or_none), ("why_not", text_or_none("Why there is none.")),
            ]))),
            ("origin", text("Origin.")),
        ]),
        "repeatability": object("Spread over a verification.", &[
            ("verification", text("Which.")), ("method", text("How.")), ("figures", list("Figures.", json!({ "type": "object" }))),
        ]),
    })
}
