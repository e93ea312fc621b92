//! Decimal signs of a column, one below the other.
//!
//! A log may write `2,0`, the next one `4`, and each number keeps the digits it was given. Set at the right, their
//! decimal signs would stand at different places and 15.0 would look longer than 150: each number with fewer digits
//! gets the missing ones as empty room.

use crate::classes::CellClass;
use crate::model::{Cell, RunKind, Table};

/// Most digits that are left free; a column of very long and very short numbers stays at the right.
const MOST: usize = 4;

/// Says of each number of a table's rows which digits it leaves free, where `sign` stands before decimals.
pub(crate) fn align(table: &mut Table, sign: &str) {
    if sign.is_empty() {
        return;
    }
    let mut most: Vec<usize> = Vec::new();
    for (column, cell) in table.body.iter_mut().flat_map(|row| numbers(&mut row.cells)) {
        if most.len() <= column {
            most.resize(column + 1, 0);
        }
        if let Some(most) = most.get_mut(column) {
            *most = decimals(cell, sign).unwrap_or(0).max(*most);
        }
    }
    if most.iter().all(|most| *most == 0) {
        return;
    }
    for (column, cell) in table.body.iter_mut().flat_map(|row| numbers(&mut row.cells)) {
        let most = most.get(column).copied().filter(|most| *most <= MOST).unwrap_or(0);
        cell.free = match decimals(cell, sign) {
            Some(0) if most > 0 => format!("{sign}{}", "0".repeat(most)),
            Some(of) => "0".repeat(most.saturating_sub(of)),
            None => String::new(),
        };
    }
}

/// Cells that hold a number alone, with the number of their column.
fn numbers(cells: &mut [Cell]) -> impl Iterator<Item = (usize, &mut Cell)> {
    let mut next = 0;
    cells.iter_mut().filter_map(move |cell| {
        let column = next;
        next += usize::from(cell.columns);
        (cell.columns == 1 && cell.class == Some(CellClass::Number)).then_some((column, cell))
    })
}

/// Digits behind the decimal sign at the end of a cell's text; none where no digit ends the text.
fn decimals(cell: &Cell, sign: &str) -> Option<usize> {
    let RunKind::Text(text) = &cell.runs.last()?.kind else { return None };
    let digit = |c: char| c.is_ascii_digit();
    let before = text.trim_end_matches(digit);
    match before.strip_suffix(sign) {
        _ if before.len() == text.len() => None,
        Some(whole) if whole.ends_with(digit) => Some(text.len() - before.len()),
        _ => Some(0),
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

    fn free(sign: &str, texts: &[&str]) -> Vec<String> {
        let row = |text: &&str| Row { class: None, cells: vec![number("1"), number(text)] };
        let mut table = Table { body: texts.iter().map(row).collect(), ..Table::default() };
        align(&mut table, sign);
        assert!(table.body.iter().all(|row| row.cells[0].free.is_empty()));
        table.body.into_iter().map(|row| row.cells[1].free.clone()).collect()
    }

    #[test]
    fn what_a_number_lacks_stays_free() {
        assert_eq!(free(".", &["+2.0", "\u{2212}15", "0.25", "\u{2013}"]), ["0", ".00", "", ""]);
        assert_eq!(free(",", &["2,5", "4"]), ["", ",0"]);
    }

    #[test]
    fn numbers_alike_and_words_stay_at_the_margin() {
        assert_eq!(free(".", &["4", "150", "10/10"]), ["", "", ""]);
        assert_eq!(free(".", &["0.5 s", "12 s"]), ["", ""]);
        assert_eq!(free(".", &["0.00012", "12"]), ["", ""]);
        assert_eq!(free(".", &["v.5", "4"]), ["", ""]);
        // A sign that groups digits is none before decimals.
        assert_eq!(free(",", &["12.033", "1403"]), ["", ""]);
    }
}
