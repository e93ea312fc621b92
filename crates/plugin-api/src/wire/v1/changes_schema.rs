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
    let mut schema = object(
        "What an earlier record and a later one, and what they come to, differ in. What is the same on both sides is not listed.",
        &[
            (
                "earlier",
                object(
                    "What is replaced.",
                    &[
                        ("number", text_or_none("Number of its report.")),
                        ("revision", text_or_none("Revision of its report.")),
                        (
                            "pack",
                            text_or_none(
                                "Identity of its pack, where it was one: SHA-256 of its tag manifest.",
                            ),
                        ),
                        (
                            "rules_version",
                            version(
                                "Rules under which it was assessed, where these were others than today's.",
                            ),
                        ),
                    ],
                ),
            ),
            ("rules_version", version("Rules under which both sides were assessed here.")),
            ("verdict", object("The headline.", &[("old", verdict("Before.")), ("new", verdict("After."))])),
            (
                "states",
                list(
                    "Modification states whose verdicts differ, or that one side does not have.",
                    object(
                        "A state.",
                        &[
                            ("state", text_or_none("Its name; null for the item as it is.")),
                            ("old", verdict_or_none("Before; null where it was not there.")),
                            ("new", verdict_or_none("After; null where it is not there.")),
                        ],
                    ),
                ),
            ),
            ("gained", list("Series that pass now and did not before.", text("The series in words."))),
            ("lost", list("Series that passed before and do not now.", text("The series in words."))),
            (
                "results",
                list(
                    "Series whose results differ.",
                    object(
                        "A series.",
                        &[
                            ("series", text("In words.")),
                            ("old", result("Before; null where it was not required.")),
                            ("new", result("After; null where it is not required.")),
                        ],
                    ),
                ),
            ),
            (
                "facts",
                list(
                    "Facts that differ, by their path in the canonical record, without where they were read.",
                    object(
                        "A fact.",
                        &[
                            ("path", text("Where it stands; a list's entries by their names.")),
                            (
                                "old",
                                json!({ "description": "As in the canonical record; null for nothing stated." }),
                            ),
                            (
                                "new",
                                json!({ "description": "As in the canonical record; null for nothing stated." }),
                            ),
                        ],
                    ),
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
