//! A sheet as text: a line per row, tabs between columns.

use super::cell;
use super::ods::{self, Ods};
use crate::header_words;
use calamine::{DataRef, Xlsx, XlsxError};
use std::collections::BTreeMap;
use std::io::{Read, Seek};

/// More text than this is no log.
const MOST_TEXT: usize = 256 << 20;
/// Rows are filled up to the width of the sheet, as a table in a text file would be, if it is no wider than this.
const MOST_COLUMNS: u32 = 999;
/// So many rows are looked at for a header.
const HEAD_ROWS: u32 = 100;

/// A sheet laid out.
#[derive(Debug, Default)]
pub(super) struct Laid {
    pub(super) text: String,
    /// Cells that hold formulas.
    pub(super) formulas: u64,
    /// Cells with line breaks.
    pub(super) line_breaks: u64,
    /// Merged cells whose text was carried down.
    pub(super) merged: u64,
    /// Some number has digits after the point.
    pub(super) fractions: bool,
}

pub(super) enum Trouble {
    TooLarge,
    Broken(String),
}

/// What a cell holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Value {
    pub(super) text: String,
    /// It is a text, not a number, a date or a truth value.
    pub(super) is_text: bool,
    /// It is a number with digits after the point.
    pub(super) fraction: bool,
}

/// Lays out a whole sheet of an OpenDocument spreadsheet.
pub(super) fn lay_out_ods(book: &Ods, name: &str) -> Result<Laid, Trouble> {
    let mut width = 0;
    book.cells(name, &mut |cell| {
        width = width.max(cell.column);
        Ok(ods::Next::Go)
    })?;
    let mut laying = Laying::new(BTreeMap::new(), width.min(MOST_COLUMNS));
    book.cells(name, &mut |cell| {
        laying.laid.formulas += u64::from(cell.formula);
        if cell.last_row > cell.row {
            laying.tall.insert((cell.row, cell.column), cell.last_row);
        }
        laying.cell((cell.row, cell.column), Some(cell.value).filter(|value| !value.text.is_empty()))?;
        Ok(ods::Next::Go)
    })?;
    laying.end()
}

/// Whether one of the first rows of a sheet names the columns of a discharge log.
pub(super) fn ods_looks_like_log(book: &Ods, name: &str) -> bool {
    let mut row: (u32, Vec<String>) = (0, Vec::new());
    let mut found = false;
    let names = |row: &[String]| header_words::score(row.iter().map(String::as_str)).1;
    let read = book.cells(name, &mut |cell| {
        if cell.row != row.0 {
            found |= names(&row.1);
            row = (cell.row, Vec::new());
        }
        row.1.push(cell.value.text);
        Ok(if found || cell.row >= HEAD_ROWS { ods::Next::Stop } else { ods::Next::Go })
    });
    found || (read.is_ok() && names(&row.1))
}

/// Lays out a whole sheet.
pub(super) fn lay_out<R: Read + Seek>(book: &mut Xlsx<R>, name: &str) -> Result<Laid, Trouble> {
    let merged = book.merge_cells_by_sheet_name(name).map_err(|e| Trouble::Broken(e.to_string()))?;
    let width = width(book, name).map_err(|e| Trouble::Broken(e.to_string()))?;
    let tall = merged.iter().filter(|m| m.end.0 > m.start.0).map(|m| (m.start, m.end.0)).collect();
    let mut laying = Laying::new(tall, width);
    let mut cells = book.worksheet_cells_reader(name).map_err(|e| Trouble::Broken(e.to_string()))?;
    while let Some(found) = cells.next_cell_with_formula().map_err(|e| Trouble::Broken(e.to_string()))? {
        laying.laid.formulas += u64::from(found.formula.is_some());
        let is_text = matches!(found.value, DataRef::String(_) | DataRef::SharedString(_));
        let fraction = cell::has_fraction(&found.value);
        let value = cell::text(&found.value).map(|text| Value { text, is_text, fraction });
        laying.cell(found.pos, value)?;
    }
    laying.end()
}

/// The last column that holds something: what the sheet states of itself may be wrong.
fn width<R: Read + Seek>(book: &mut Xlsx<R>, name: &str) -> Result<u32, XlsxError> {
    let mut cells = book.worksheet_cells_reader(name)?;
    let mut last = 0;
    while let Some(cell) = cells.next_cell()? {
        if !matches!(cell.get_value(), DataRef::Empty) {
            last = last.max(cell.get_position().1);
        }
    }
    Ok(last.min(MOST_COLUMNS))
}

/// Whether one of the first rows names the columns of a discharge log.
pub(super) fn looks_like_log<R: Read + Seek>(book: &mut Xlsx<R>, name: &str) -> bool {
    let Ok(mut cells) = book.worksheet_cells_reader(name) else { return false };
    let mut row: (u32, Vec<String>) = (0, Vec::new());
    loop {
        let next = cells.next_cell().ok().flatten();
        let at = next.as_ref().map(calamine::Cell::get_position);
        if at.is_none_or(|(r, _)| r != row.0) {
            if header_words::score(row.1.iter().map(String::as_str)).1 {
                return true;
            }
            row.1.clear();
        }
        let (Some(cell), Some((r, _))) = (next, at) else { return false };
        if r >= HEAD_ROWS {
            return false;
        }
        row.0 = r;
        row.1.extend(cell::text(cell.get_value()));
    }
}

/// Cells come row by row, and in a row column by column.
struct Laying {
    laid: Laid,
    /// Merged cells of more than one row, by their first cell, with the last row.
    tall: BTreeMap<(u32, u32), u32>,
    /// Texts that go on downwards: column to last row and text.
    carried: BTreeMap<u32, (u32, String)>,
    /// The last column of the table.
    width: u32,
    row: u32,
    cells: BTreeMap<u32, String>,
}

impl Laying {
    fn new(tall: BTreeMap<(u32, u32), u32>, width: u32) -> Self {
        let (laid, carried, cells) = (Laid::default(), BTreeMap::new(), BTreeMap::new());
        Self { laid, tall, carried, width, row: 0, cells }
    }

    fn cell(&mut self, (row, column): (u32, u32), value: Option<Value>) -> Result<(), Trouble> {
        if row < self.row {
            return Err(Trouble::Broken(format!("row {} comes after row {}", row + 1, self.row + 1)));
        }
        while self.row < row {
            self.end_row()?;
        }
        let Some(Value { text, is_text, fraction }) = value else { return Ok(()) };
        self.laid.fractions |= fraction;
        let broken = text.contains(['\n', '\r', '\t']);
        let text = if broken { text.replace("\r\n", " ").replace(['\n', '\r', '\t'], " ") } else { text };
        self.laid.line_breaks += u64::from(broken);
        // A number that covers several rows may stand for each of them or for all together: not ours to say.
        if is_text && let Some(last) = self.tall.get(&(row, column)) {
            self.laid.merged += 1;
            self.carried.insert(column, (*last, text.clone()));
        }
        self.cells.insert(column, text);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), Trouble> {
        if !self.cells.is_empty() {
            for (column, (last, text)) in &self.carried {
                if self.row <= *last {
                    self.cells.entry(*column).or_insert_with(|| text.clone());
                }
            }
            let mut at = 0;
            for (column, text) in std::mem::take(&mut self.cells) {
                for _ in at..column {
                    self.laid.text.push('\t');
                }
                at = column;
                self.laid.text.push_str(&text);
            }
            for _ in at..self.width {
                self.laid.text.push('\t');
            }
        }
        let row = self.row;
        self.carried.retain(|_, (last, _)| *last > row);
        self.laid.text.push('\n');
        self.row += 1;
        if self.laid.text.len() > MOST_TEXT { Err(Trouble::TooLarge) } else { Ok(()) }
    }

    fn end(mut self) -> Result<Laid, Trouble> {
        if !self.cells.is_empty() {
            self.end_row()?;
        }
        Ok(self.laid)
    }
}
