//! Decimal signs of a column, one below the other.
//!
//! A log may write `2,0`, the next one `4`, and each number keeps the digits it was given. Set at the right, their
//! decimal signs would stand at different places and 15.0 would look longer than 150: each number with fewer digits
//! gets the missing ones as empty room.

use crate::classes::CellClass;
use crate::model::{Cell, RunKind, Table};

/// Most digits that are left free; a column of very long and very short numbers stays at the right.
const MOST: usize = 4;

/// Says of each number of a table's rows which digits it leaves free.
pub(crate) fn align(table: &mut Table) {
    let mut longest: Vec<String> = Vec::new();
    for row in &table.body {
        for (column, cell) in numbers(&row.cells) {
            let Some(tail) = tail(cell) else { continue };
            if longest.len() <= column {
                longest.resize(column + 1, String::new());
            }
            if let Some(most) = longest.get_mut(column).filter(|most| most.len() < tail.len()) {
                tail.clone_into(most);
            }
        }
    }
    if longest.iter().all(String::is_empty) {
        return;
    }
    for row in &mut table.body {
        let mut column = 0;
        for cell in &mut row.cells {
            let most = longest.get(column).map_or("", String::as_str);
            column += usize::from(cell.columns);
            if cell.columns != 1 || cell.class != Some(CellClass::Number) || most.len() > MOST + 1 {
                continue;
            }
            let Some(tail) = tail(cell) else { continue };
            let free = most.get(tail.len()..).unwrap_or("");
            // A sign needs its own room, digits are all of one width.
            let free = free.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
            cell.free = free;
        }
    }
}

/// Cells that hold a number alone, with the number of their column.
fn numbers(cells: &[Cell]) -> impl Iterator<Item = (usize, &Cell)> {
    let mut column = 0;
    cells.iter().filter_map(move |cell| {
        let at = column;
        column += usize::from(cell.columns);
        (cell.columns == 1 && cell.class == Some(CellClass::Number)).then_some((at, cell))
    })
}

/// The decimal sign and the digits behind it at the end of a cell's text: empty for a whole number, none where no
/// digit ends the text.
fn tail(cell: &Cell) -> Option<&str> {
    let RunKind::Text(text) = &cell.runs.last()?.kind else { return None };
    let whole = text.trim_end_matches(|c: char| c.is_ascii_digit());
    if whole.len() == text.len() {
        return None;
    }
    let sign = whole.char_indices().next_back().filter(|(_, c)| matches!(c, '.' | ','));
    match sign {
        Some((at, _)) if whole.get(..at)?.ends_with(|c: char| c.is_ascii_digit()) => text.get(at..),
        _ => Some(""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Row, Run};

    fn number(text: &str) -> Cell {
        Cell {
            scope: None,
            columns: 1,
            class: Some(CellClass::Number),
            width: None,
            runs: vec![Run::text(text)],
            free: String::new(),
        }
    }

    fn free(texts: &[&str]) -> Vec<String> {
        let row = |text: &&str| Row { class: None, cells: vec![number("1"), number(text)] };
        let mut table = Table { body: texts.iter().map(row).collect(), ..Table::default() };
        align(&mut table);
        assert!(table.body.iter().all(|row| row.cells[0].free.is_empty()));
        table.body.into_iter().map(|row| row.cells[1].free.clone()).collect()
    }

    #[test]
    fn what_a_number_lacks_stays_free() {
        assert_eq!(free(&["+2.0", "\u{2212}15", "0.25", "\u{2013}"]), ["0", ".00", "", ""]);
        assert_eq!(free(&["2,5", "4"]), ["", ",0"]);
    }

    #[test]
    fn numbers_alike_and_words_stay_at_the_margin() {
        assert_eq!(free(&["4", "150", "10/10"]), ["", "", ""]);
        assert_eq!(free(&["0.5 s", "12 s"]), ["", ""]);
        assert_eq!(free(&["0.00012", "12"]), ["", ""]);
        assert_eq!(free(&["v.5", "4"]), ["", ""]);
    }
}
