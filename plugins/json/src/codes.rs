//! Codes of the findings that the JSON reader raises by itself; those about values are `record/...`.

use record::CodeDoc;

/// A file beyond the size that is read.
pub const TOO_LARGE: &str = "json/too-large";
/// Nesting beyond the depth that is read.
pub const TOO_DEEP: &str = "json/too-deep";
/// Bytes that are no UTF-8.
pub const NOT_UTF8: &str = "json/not-utf8";
/// A byte order mark at the start.
pub const BYTE_ORDER_MARK: &str = "json/byte-order-mark";
/// Text that is no JSON.
pub const NOT_JSON: &str = "json/not-json";
/// A key twice in one object.
pub const DUPLICATE_KEY: &str = "json/duplicate-key";
/// JSON that is no record.
pub const NOT_A_RECORD: &str = "json/not-a-record";
/// A file that the system could not give.
pub const UNREADABLE: &str = "json/unreadable";

/// Every code with its explanation.
pub const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: TOO_LARGE,
        means: "The file is larger than 256 MiB.",
        matters: "A record of that size is a mistake or an attack; reading it could take all memory.",
        example: "a 300 MB file",
        remedy: "Look at what the file is. Give raw waveforms as files of a job folder instead.",
    },
    CodeDoc {
        code: TOO_DEEP,
        means: "Lists and objects are nested more than 64 deep.",
        matters: "A record needs 7 levels. Deeper nesting is a mistake or an attack on the reader.",
        example: "[[[[[[ ... ]]]]]]",
        remedy: "Look at what the file is; no record is built like this.",
    },
    CodeDoc {
        code: NOT_UTF8,
        means: "The file is not in UTF-8.",
        matters: "JSON for exchange is UTF-8 (RFC 8259 clause 8.1). Guessing another encoding could change names and units.",
        example: "a file saved as UTF-16 or Windows-1252",
        remedy: "Save the file as UTF-8.",
    },
    CodeDoc {
        code: BYTE_ORDER_MARK,
        means: "The file starts with a byte order mark, which was skipped.",
        matters: "RFC 8259 clause 8.1 lets readers skip it and forbids writing it; other programs may refuse the file.",
        example: "a file saved as \"UTF-8 with BOM\"",
        remedy: "Nothing for this program; save without the mark for others.",
    },
    CodeDoc {
        code: NOT_JSON,
        means: "The text breaks the grammar of JSON (RFC 8259).",
        matters: "What comes after the break could mean anything, so nothing of the file is used.",
        example: "a comma before the closing brace, a comment, NaN, a number such as 04",
        remedy: "Mend the place that the message names, or write the file again with the program that made it.",
    },
    CodeDoc {
        code: DUPLICATE_KEY,
        means: "A key stands twice in the same object.",
        matters: "Programs differ in which of the two values they take, so the file says two things.",
        example: "{\"voltage_kv\": \"4\", \"voltage_kv\": \"8\"}",
        remedy: "Find out which value is right and remove the other.",
    },
    CodeDoc {
        code: NOT_A_RECORD,
        means: "The file is JSON, and not a record.",
        matters: "A record is one object with the key `schema`; anything else would have to be guessed at.",
        example: "a list of measurements, or one object a line",
        remedy: "Give a record written by `convert --to json`, or describe the data in a job folder.",
    },
    CodeDoc {
        code: UNREADABLE,
        means: "The system could not give the file's bytes.",
        matters: "Nothing is known about what the file holds.",
        example: "a file on a drive that was taken away",
        remedy: "Look at the file and its rights, and try again.",
    },
];
