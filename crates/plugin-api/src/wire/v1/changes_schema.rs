//! The JSON Schema of a comparison, beside the code that writes it.

use super::schema_words::{count, list, object, text, text_or_none, words, words_or_none};
use assess::{CoverageState, Verdict};
use serde_json::{Value, json};

/// The JSON Schema (2020-12) of a comparison, as [`super::changes_to_value`] writes it.
pub fn changes_schema() -> Value {
    let verdict = |about: &str| words(about, Verdict::WORDS);
    let verdict_or_none = |about: &str| words_or_none(about, Verdict::WORDS);
    let version = |about: &str| json!({ "description": about, "type": ["integer", "null"], "minimum": 1 });
    let result = |about: &str| {
        let mut result = object(
            about,
            &[
                ("verdict", verdict("Of this series.")),
                ("coverage", words("Whether it was applied as required.", CoverageState::WORDS)),
                ("counted", count("Discharges that count.")),
                ("required", count("Discharges that the plan asks for.")),
                ("worst", text_or_none("The worst class that was observed; null where nothing was.")),
            ],
        );
        // Not there on that side.
        if let Some(result) = result.as_object_mut() {
            result.insert("type".into(), json!(["object", "null"]));
        }
        result
    };
    let fact = |about: &str| json!({ "description": format!("{about}, as in the canonical record; null for nothing stated.") });
    // What differs: its name, and what stands on either side.
    let differing = |about: &str, name: (&str, Value), sides: [Value; 2]| {
        let [old, new] = sides;
        object(about, &[name, ("old", old), ("new", new)])
    };
    let state = differing(
        "A state.",
        ("state", text_or_none("Its name; null for the item as it is.")),
        ["Before; null where it was not there.", "After; null where it is not there."].map(verdict_or_none),
    );
    let series = differing(
        "A series.",
        ("series", text("In words.")),
        ["Before; null where it was not required.", "After; null where it is not required."].map(result),
    );
    let changed_fact = differing(
        "A fact.",
        ("path", text("Where it stands; a list's entries by their names.")),
        ["Before", "After"].map(fact),
    );
    let earlier = [
        ("number", text_or_none("Number of its report.")),
        ("revision", text_or_none("Revision of its report.")),
        ("pack", text_or_none("Identity of its pack, where it was one: SHA-256 of its tag manifest.")),
        (
            "rules_version",
            version("Rules under which it was assessed, where these were others than today's."),
        ),
    ];
    let mut schema = object(
        "What an earlier record and a later one, and what they come to, differ in. What is the same on both sides is not listed.",
        &[
            ("earlier", object("What is replaced.", &earlier)),
            ("rules_version", version("Rules under which both sides were assessed here.")),
            ("verdict", object("The headline.", &[("old", verdict("Before.")), ("new", verdict("After."))])),
            (
                "states",
                list("Modification states whose verdicts differ, or that one side does not have.", state),
            ),
            ("gained", list("Series that pass now and did not before.", text("The series in words."))),
            ("lost", list("Series that passed before and do not now.", text("The series in words."))),
            ("results", list("Series whose results differ.", series)),
            (
                "facts",
                list(
                    "Facts that differ, by their path in the canonical record, without where they were read.",
                    changed_fact,
                ),
            ),
            ("further_facts", count("Facts that differ and are not listed.")),
        ],
    );
    if let Some(object) = schema.as_object_mut() {
        object.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        object.insert("$id".into(), json!("urn:fulgurite:changes:1"));
        object.insert("title".into(), json!("Comparison"));
    }
    schema
}
