//! From bytes to a JSON value with its outline, or to the one finding that says why not.

use crate::{MAX_DEPTH, codes, spot};
use plugin_api::wire::outline::{Fault, Node, keep_digits, too_deep};
use record::{Finding, Place};
use serde_json::Value;

/// A JSON text that was read.
pub(crate) struct Decoded<'a> {
    /// Without a byte order mark.
    pub(crate) text: &'a str,
    /// Numbers other than plain integers are text with the digits as written.
    pub(crate) value: Value,
    pub(crate) outline: Node,
    /// Whether a byte order mark was skipped.
    pub(crate) marked: bool,
}

/// Decodes a whole file.
///
/// # Errors
/// What is wrong with it: one finding, with its place.
pub(crate) fn decode<'a>(file: &str, bytes: &'a [u8]) -> Result<Decoded<'a>, Box<Finding>> {
    let text = utf8(file, bytes)?;
    let unmarked = text.strip_prefix('\u{feff}');
    let (marked, text) = (unmarked.is_some(), unmarked.unwrap_or(text));
    if let Some(at) = too_deep(text, MAX_DEPTH) {
        let finding = Finding::error(codes::TOO_DEEP, format!("nested more than {MAX_DEPTH} deep"))
            .at(spot::place(file, text, at, None))
            .help("look at what the file is: a record needs 7 levels");
        return Err(Box::new(finding));
    }
    let mut value: Value = serde_json::from_str(text).map_err(|error| not_json(file, text, &error))?;
    let outline = Node::of(text).map_err(|fault| faulty(file, text, fault))?;
    keep_digits(&mut value, &outline, text);
    Ok(Decoded { text, value, outline, marked })
}

fn utf8<'a>(file: &str, bytes: &'a [u8]) -> Result<&'a str, Box<Finding>> {
    let refused = |message: &str, row: u64, column: u32| {
        let place = Place { file: file.to_owned(), row: Some(row), column: Some(column), label: None };
        Box::new(Finding::error(codes::NOT_UTF8, message).at(place).help("save the file as UTF-8"))
    };
    // A NUL beside an ASCII character at the start is UTF-16 or UTF-32, with or without a mark.
    let wide = bytes.starts_with(&[0xFF, 0xFE])
        || bytes.starts_with(&[0xFE, 0xFF])
        || matches!(bytes, [0, _, ..] | [_, 0, ..]);
    if wide {
        return Err(refused("the file is in UTF-16 or UTF-32, not in UTF-8", 1, 1));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let end = error.valid_up_to();
        let before = std::str::from_utf8(bytes.get(..end).unwrap_or_default()).unwrap_or_default();
        let (row, column) = spot::row_column(before, end);
        let byte = bytes.get(end).copied().unwrap_or_default();
        refused(&format!("byte {byte:#04x} is not UTF-8"), row, column)
    })
}

fn not_json(file: &str, text: &str, error: &serde_json::Error) -> Box<Finding> {
    let whole = error.to_string();
    let message = whole.split(" at line ").next().unwrap_or(&whole);
    let offset = spot::offset_of(text, error.line(), error.column());
    let mut finding = Finding::error(codes::NOT_JSON, format!("not JSON: {message}"))
        .at(spot::place(file, text, offset, None));
    finding = match message {
        "trailing characters" => finding.help("a file holds one record: put others in files of their own"),
        _ if error.is_eof() => finding.help("the file is cut off: copy or write it again"),
        _ => finding.help("mend this place, or write the file again with the program that made it"),
    };
    Box::new(finding)
}

fn faulty(file: &str, text: &str, fault: Fault) -> Box<Finding> {
    Box::new(match fault {
        Fault::DuplicateKey { key, first, again } => {
            Finding::error(codes::DUPLICATE_KEY, format!("the key `{key}` stands twice in one object"))
                .at(spot::place(file, text, again, None))
                .with_related(spot::place(file, text, first, None), "first here")
                .help("find out which value is right and remove the other")
        }
        Fault::Broken(at) => Finding::error(codes::NOT_JSON, "not JSON")
            .at(spot::place(file, text, at, None))
            .help("mend this place, or write the file again with the program that made it"),
    })
}
