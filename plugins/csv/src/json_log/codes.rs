//! The findings about logs in JSON, each with what it means and what to do.

use record::CodeDoc;

pub(crate) const UNREADABLE: &str = "json-log/unreadable";
pub(crate) const NOT_JSON: &str = "json-log/not-json";
pub(crate) const DUPLICATE_KEY: &str = "json-log/duplicate-key";
pub(crate) const TOO_DEEP: &str = "json-log/too-deep";
pub(crate) const TOO_LARGE: &str = "json-log/too-large";
pub(crate) const NO_RECORDS: &str = "json-log/no-records";
pub(crate) const KEY_ABSENT: &str = "json-log/key-absent";

/// Every code.
pub(crate) const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: UNREADABLE,
        means: "The system could not read the file.",
        matters: "Nothing is known about what it holds.",
        example: "a file on a share that went away",
        remedy: "Check the disk or the share, then read it again.",
    },
    CodeDoc {
        code: NOT_JSON,
        means: "A line of JSON lines, or the whole file, is not JSON, or not in UTF-8.",
        matters: "A part that can't be read with certainty could be a discharge.",
        example: "{\"kV\": 08}",
        remedy: "Mend the place that the message names, or export the log again.",
    },
    CodeDoc {
        code: DUPLICATE_KEY,
        means: "A key stands twice in one object.",
        matters: "Programs differ in which of the two values they take.",
        example: "{\"kV\": 8, \"kV\": 15}",
        remedy: "Find out which value is right and remove the other.",
    },
    CodeDoc {
        code: TOO_DEEP,
        means: "Lists and objects are nested more than 64 deep.",
        matters: "No log is; such a file can be made to exhaust a program.",
        example: "a file of a thousand opening brackets",
        remedy: "Export the log again.",
    },
    CodeDoc {
        code: TOO_LARGE,
        means: "The file has more than 256 MB, or its records more than 999 different keys.",
        matters: "It is held in memory while it is read.",
        example: "an export of a whole year in one file",
        remedy: "Export fewer discharges at a time, or as CSV.",
    },
    CodeDoc {
        code: NO_RECORDS,
        means: "There is no list of discharges where the mapping says, or it holds something else than objects.",
        matters: "It is not known which part of the file the discharges are.",
        example: "records = \"/runs\" for a file whose list is under `/log/runs`",
        remedy: "Name the list by its JSON pointer: records = \"/log/runs\".",
    },
    CodeDoc {
        code: KEY_ABSENT,
        means: "The mapping names a key that no record has.",
        matters: "A misspelt key reads as a fact that nobody stated.",
        example: "columns.time = \"/tiem\"",
        remedy: "Correct the pointer, or take it out of the mapping.",
    },
];
