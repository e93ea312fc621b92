//! Text of a cell, made so that no spreadsheet takes it for a formula.

/// The characters that make a spreadsheet read a text as a formula when they stand first: the four that
/// begin one, their wide forms, and the white space that some programs skip before looking.
const FIRST: &[char] =
    &['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}', '\t', '\r', '\n'];

/// The mark that stands before such a text, and before one that begins with the mark itself.
const MARK: char = '\'';

/// A text as it stands in the table: where it begins with `= + - @`, one of their wide forms, a tab, a line
/// break or `'`, one `'` stands before it.
pub fn neutral(text: &str) -> String {
    let marked = text.starts_with(FIRST) || text.starts_with(MARK);
    if marked { format!("{MARK}{text}") } else { text.to_owned() }
}

/// The text that [`neutral`] was given: without the one `'` before it.
pub fn original(cell: &str) -> &str {
    cell.strip_prefix(MARK).unwrap_or(cell)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_comes_back() {
        for text in ["", "oak", "=1+1", "'", "''", "'=1", "-8 kV", "＝1", "\t=1", "a=1", "\n"] {
            assert_eq!(original(&neutral(text)), text);
            assert!(!neutral(text).starts_with(FIRST), "{text}");
        }
        assert_eq!(neutral("-8 kV"), "'-8 kV");
        assert_eq!(neutral("oak's"), "oak's");
    }
}
