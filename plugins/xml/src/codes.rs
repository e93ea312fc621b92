//! Codes of the findings that the XML writer raises.

use record::CodeDoc;

/// A character that XML can't hold.
pub const CHARACTER_REPLACED: &str = "xml/character-replaced";
/// A value that the types of XML Schema can't hold.
pub const VALUE_LEFT_OUT: &str = "xml/value-left-out";

/// Every code with its explanation.
pub const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: CHARACTER_REPLACED,
        means: "A text holds a control character that XML 1.0 can't hold; U+FFFD stands in its place.",
        matters: "The text in the summary differs from the record in that character. The record's JSON holds it unchanged.",
        example: "a serial number copied from a terminal with U+0000 in it",
        remedy: "Remove the character at its source.",
    },
    CodeDoc {
        code: VALUE_LEFT_OUT,
        means: "A number has more digits, or a time another form, than every XML Schema reader must accept; it was left out.",
        matters: "A records system could refuse the whole summary over it. The record's JSON holds it unchanged.",
        example: "a length with 20 digits, or a time in the year 0",
        remedy: "Look at whether the value is right.",
    },
];
