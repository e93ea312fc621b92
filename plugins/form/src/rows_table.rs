//! The table in which the rows of a paper sheet are typed in: its columns, and the text of its cells.

/// The columns. Up to `asked` the program fills them; the rest is copied from the paper.
pub(crate) const COLUMNS: &[&str] = &[
    "sheet",
    "row",
    "point",
    "discharge",
    "polarity",
    "voltage_kv",
    "mode",
    "state",
    "tip",
    "interval_s",
    "asked",
    "applied",
    "sparks",
    "day",
    "time",
    "watched",
    "nothing_seen",
    "seen",
    "shot",
    "function",
    "affected",
    "coincident",
    "state_changed",
    "data_lost",
    "restored",
    "before_next",
    "lasted_s",
    "tested_by",
    "copied_by",
    "copied_at",
];

/// The first of the columns that are typed in.
pub(crate) const TYPED_FROM: &str = "applied";

/// What begins a formula in a spreadsheet: a text of a job that does is marked, and the mark taken off when it comes back.
const FIRST: &[char] =
    &['=', '+', '-', '@', '\'', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}', '\t', '\r', '\n'];

/// A text that no spreadsheet takes for a formula.
pub(crate) fn neutral(text: &str) -> String {
    if text.starts_with(FIRST) { format!("'{text}") } else { text.to_owned() }
}

/// The text as it was.
pub(crate) fn original(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(FIRST) => rest,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_comes_back_and_none_begins_a_formula() {
        for text in ["", "USB", "=1+1", "'", "''", "'=1", "-8 kV", "o'clock"] {
            assert_eq!(original(&neutral(text)), text);
            assert!(!neutral(text).starts_with(['=', '+', '-', '@']));
        }
    }
}
