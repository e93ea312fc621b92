//! Where something is in a text: rows and columns as an editor shows them.

use record::Place;

/// The place of a byte offset in a text: row and character column, both from 1.
pub(crate) fn row_column(text: &str, offset: usize) -> (u64, u32) {
    let before = text.as_bytes().get(..offset).unwrap_or(text.as_bytes());
    let row = before.iter().filter(|byte| **byte == b'\n').count() as u64 + 1;
    let line = before.iter().rposition(|byte| *byte == b'\n').map_or(before, |end| &before[end + 1..]);
    // Bytes that begin a character; continuation bytes are 10xxxxxx.
    let column = line.iter().filter(|byte| **byte & 0xC0 != 0x80).count() + 1;
    (row, u32::try_from(column).unwrap_or(u32::MAX))
}

/// The offset of a line and byte column, both from 1, as the JSON library counts them.
pub(crate) fn offset_of(text: &str, line: usize, column: usize) -> usize {
    let start = match line.checked_sub(2) {
        None => 0,
        Some(nth) => text
            .bytes()
            .enumerate()
            .filter(|(_, b)| *b == b'\n')
            .nth(nth)
            .map_or(text.len(), |(at, _)| at + 1),
    };
    let offset = start.saturating_add(column.saturating_sub(1)).min(text.len());
    (0..=offset).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

/// A place in a file, with what the user would call it.
pub(crate) fn place(file: &str, text: &str, offset: usize, pointer: Option<&str>) -> Place {
    let (row, column) = row_column(text, offset);
    let label = pointer.filter(|p| !p.is_empty()).map(str::to_owned);
    Place { file: file.to_owned(), row: Some(row), column: Some(column), label }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_characters() {
        let text = "{\n \"µ\": x\n}";
        let at = text.find('x').unwrap();
        assert_eq!(row_column(text, at), (2, 7));
        assert_eq!(row_column(text, 0), (1, 1));
        assert_eq!(row_column(text, text.len() + 9), (3, 2));
    }

    #[test]
    fn the_librarys_places_become_offsets() {
        let text = "{\n \"µ\": x\n}";
        let error = serde_json::from_str::<serde_json::Value>(text).unwrap_err();
        assert_eq!(offset_of(text, error.line(), error.column()), text.find('x').unwrap());
        assert_eq!(offset_of(text, 99, 1), text.len());
        assert_eq!(offset_of("", 1, 0), 0);
    }
}
