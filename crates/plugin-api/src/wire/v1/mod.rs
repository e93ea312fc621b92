//! Version 1 of the canonical JSON: a record, an assessment, and the facts of a job file.
//!
//! Rules of the form: quantities are decimal text with the unit in the key; dates and times are ISO 8601;
//! a fact that nobody stated is absent; one that does not apply is `{"not_applicable": "reason"}`; keys
//! that are not known are kept under `passed_through` and reported. A released version never changes in
//! what it means; a change is a new version beside it.

mod assessment;
mod assessment_schema;
mod changes;
mod changes_schema;
mod facts;
mod file;
mod keys;
mod mirror;
mod part;
mod record_text;
mod scalar;
mod schema_words;
mod series;
mod shown;

pub use assessment::{assessment_to_value, completeness_to_value};
pub use assessment_schema::assessment_schema;
pub use changes::{changes, changes_from_value, changes_to_value};
pub use changes_schema::changes_schema;
pub use facts::*;
pub use file::{
    Kept, RecordFile, SCHEMA, Unknown, draft_from_value, facts_from_value, facts_to_value, part_from_value,
    record_schema, record_to_value,
};
pub use keys::{known_keys, nearest, nearest_key};
pub use mirror::Trouble;
pub use part::{Part, PartFile, part_of_record_from_value, part_of_record_to_value};
pub(crate) use record_text::is_long;
pub use record_text::{each_portion, record_to_json, write_record};
pub use scalar::{Maybe, Nth, Number, OriginText, Sha256Text, Whole, Word};
pub use series::*;

/// Codes of the findings that reading the canonical form raises.
pub mod codes {
    use record::CodeDoc;

    /// A value that can't be what its key says.
    pub const BAD_VALUE: &str = "record/bad-value";
    /// A value that must be there and is not.
    pub const MISSING_VALUE: &str = "record/missing-value";
    /// A key that is not known.
    pub const UNKNOWN_KEY: &str = "record/unknown-key";
    /// A file in a version of the form that this build can't read.
    pub const UNKNOWN_SCHEMA: &str = "record/unknown-schema";

    /// Every code with its explanation.
    pub const ALL: &[CodeDoc] = &[
        CodeDoc {
            code: BAD_VALUE,
            means: "A value is not of the kind that its key stands for.",
            matters: "A wrong number or word in a record is worse than none.",
            example: "charge_kv = \"eight\", or part = \"tester\" where the words are tested, checked, authorised",
            remedy: "Write the value as the message says; quantities are plain decimal numbers in the unit of the key.",
        },
        CodeDoc {
            code: MISSING_VALUE,
            means: "An entry lacks a value without which it means nothing.",
            matters: "The entry can't be used, and dropping it silently would lose a fact.",
            example: "a [[points]] entry without id",
            remedy: "Add the value.",
        },
        CodeDoc {
            code: UNKNOWN_KEY,
            means: "A key is not one that the form has.",
            matters: "A mistyped key would lose a fact. The value is kept as written and passed through, but nothing reads it.",
            example: "serial_number = \"0017\" where the key is `serial`",
            remedy: "Correct the key; the message names the nearest one.",
        },
        CodeDoc {
            code: UNKNOWN_SCHEMA,
            means: "The file is in a version of the canonical form that this program does not know.",
            matters: "Reading it as another version could change what it says.",
            example: "\"schema\": 9",
            remedy: "Use the version of the program that wrote it, or a later one.",
        },
    ];
}
