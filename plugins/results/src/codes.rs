//! Codes of the findings that the results table raises.

use record::CodeDoc;

/// A control character in a text.
pub const CHARACTER_REPLACED: &str = "results/character-replaced";
/// A table without rows.
pub const NO_ROWS: &str = "results/no-rows";

/// Every code with its explanation.
pub const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: CHARACTER_REPLACED,
        means: "A text holds a control character, which a CSV table must not (RFC 4180); U+FFFD stands in its place.",
        matters: "The text in the table differs from the record in that character. The record's JSON holds it unchanged.",
        example: "a remark copied from a terminal with U+0007 in it",
        remedy: "Remove the character at its source.",
    },
    CodeDoc {
        code: NO_ROWS,
        means: "The table has a header and no rows: nothing is required and nothing was applied.",
        matters: "An empty table is no result. The verdict is undetermined.",
        example: "a job without plan and without logs",
        remedy: "State the method, the plan and the points, and give the logs.",
    },
];
