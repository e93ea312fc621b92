//! How a log is laid out: delimiter, header, units rows, and which column has which role.

use crate::codes;
use crate::columns::Assigning;
use crate::header_words::{self};
use crate::mapping::{ColumnName, HeaderRow, Mapping};
use crate::number;
use crate::records::{Next, Records};
use crate::roles::{Columns, Role};
use crate::units::Unit;
use crate::words::fold;
use record::{Facts, Finding, Place};
use std::io::{self, Read};

/// So many rows and bytes at the start decide the layout.
const HEAD_ROWS: usize = 400;
const HEAD_BYTES: usize = 512 * 1024;
/// A header has no more columns than this.
const MOST_COLUMNS: usize = 1000;

/// The layout of a log.
#[derive(Debug)]
pub(crate) struct Shape {
    pub(crate) delimiter: u8,
    pub(crate) delimiter_how: &'static str,
    /// The header's row.
    pub(crate) header_row: Option<u64>,
    /// Rows of units.
    pub(crate) units_rows: Vec<u64>,
    /// Rows before this one are no data.
    pub(crate) first_data_row: u64,
    /// Rows before the table that hold text, other than header, units and `sep=`.
    pub(crate) preamble: Vec<(u64, String)>,
    pub(crate) columns: Columns,
    pub(crate) units: Units,
    /// Columns at the end without header and content.
    pub(crate) dropped: usize,
    /// The header's fields, folded, for knowing it when it comes again.
    pub(crate) header: Vec<String>,
    /// Warnings and notes.
    pub(crate) findings: Vec<Finding>,
}

/// Units of the columns, where they are known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Units {
    pub(crate) voltage: Option<Unit>,
    /// The header may mean a level of the standard's table: only a unit makes it a voltage.
    pub(crate) voltage_needs_unit: bool,
    /// The header names a rate: only a unit makes it a time between discharges.
    pub(crate) interval_needs_unit: bool,
    pub(crate) interval: Option<Unit>,
    pub(crate) lasted: Option<Unit>,
}

/// A row of the head, taken apart with one delimiter.
pub(crate) struct HeadRow {
    pub(crate) row: u64,
    pub(crate) raw: String,
    pub(crate) cells: Vec<String>,
}

impl HeadRow {
    pub(crate) fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    pub(crate) fn is_blank(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }
}

/// Opens the text of the file.
pub(crate) type Open<'s> = dyn Fn() -> io::Result<Box<dyn Read + 's>> + 's;

/// Why no layout was found.
pub(crate) enum Trouble {
    Io(io::Error),
    /// What to tell the person; at least one finding.
    Findings(Vec<Finding>),
}

impl From<io::Error> for Trouble {
    fn from(e: io::Error) -> Self {
        Trouble::Io(e)
    }
}

/// Finds the layout.
pub(crate) fn find(open: &Open<'_>, mapping: &Mapping, facts: &Facts, file: &str) -> Result<Shape, Trouble> {
    let (shape, errors) = look(open, mapping, facts, file)?;
    if errors.is_empty() { Ok(shape) } else { Err(Trouble::Findings(errors)) }
}

/// Finds the layout as far as it can be known, with what stands in the way of reading by it.
pub(crate) fn look(
    open: &Open<'_>,
    mapping: &Mapping,
    facts: &Facts,
    file: &str,
) -> Result<(Shape, Vec<Finding>), Trouble> {
    let place = |row: u64| Place { file: file.to_owned(), row: Some(row), column: None, label: None };
    let (sep, present) = delimiters_in_head(open)?;
    let (candidates, how): (Vec<u8>, &'static str) = match (mapping.delimiter, sep) {
        (Some(declared), _) => (vec![declared], "declared"),
        (None, Some(hint)) => (vec![hint], "named by the first line"),
        (None, None) => (present, "found"),
    };
    let skip = usize::from(sep.is_some());
    let mut best: Vec<(Rank, Layout)> = Vec::new();
    for delimiter in candidates {
        let rows = head(open, delimiter, !mapping.no_quotes)?;
        let Some((rank, header, first)) = rank(&rows, skip, mapping) else { continue };
        let layout = Layout { delimiter, rows, header, first };
        match best.first().map(|(r, _)| r.cmp(&rank)) {
            Some(std::cmp::Ordering::Greater) => {}
            Some(std::cmp::Ordering::Equal) => best.push((rank, layout)),
            Some(std::cmp::Ordering::Less) | None => best = vec![(rank, layout)],
        }
    }
    if best.len() > 1 {
        let names: Vec<String> =
            best.iter().map(|(_, l)| format!("`{}`", delimiter_word(l.delimiter))).collect();
        return Err(Trouble::Findings(vec![
            Finding::error(
                codes::WHICH_DELIMITER,
                format!("the table can be read with more than one delimiter: {}", names.join(", ")),
            )
            .at(place(1))
            .help("set `delimiter` for this log, for example `delimiter = \"semicolon\"`"),
        ]));
    }
    let Some((_, layout)) = best.pop() else {
        return Err(Trouble::Findings(vec![no_table(mapping, file)]));
    };
    Ok(Assigning::new(mapping, facts, file, &layout, skip).shape(how))
}

fn no_table(mapping: &Mapping, file: &str) -> Finding {
    let names: Vec<String> = mapping
        .columns
        .iter()
        .filter_map(|(_, name)| match name {
            ColumnName::Header(text) => Some(format!("`{text}`")),
            ColumnName::Number(_) => None,
        })
        .collect();
    let what = if names.is_empty() {
        "no header with a point and a voltage was found".to_owned()
    } else {
        format!("no row holds the headers named in the settings ({})", names.join(", "))
    };
    Finding::error(codes::NO_TABLE, what)
        .at(Place { file: file.to_owned(), row: Some(1), column: None, label: None })
        .help("name the columns for this log, for example `columns.point = \"Stelle\"` and `columns.voltage = \"U\"`, or by number: `columns.point = 1`")
        .help("set `header_row` and `delimiter` where the table is laid out in an unusual way")
}

/// Words for a delimiter.
pub(crate) fn delimiter_word(delimiter: u8) -> &'static str {
    match delimiter {
        b',' => "comma",
        b';' => "semicolon",
        b'\t' => "tab",
        b'|' => "pipe",
        _ => "other",
    }
}

/// The hint of a `sep=` line, and the delimiters that occur at all.
fn delimiters_in_head(open: &Open<'_>) -> io::Result<(Option<u8>, Vec<u8>)> {
    let mut bytes = Vec::new();
    open()?.take(HEAD_BYTES as u64).read_to_end(&mut bytes)?;
    let first = bytes.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    let first = first.strip_prefix(b"\"").map_or(first, |f| f.strip_suffix(b"\"").unwrap_or(f));
    let sep = match first {
        [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', d @ (b',' | b';' | b'\t' | b'|')] => Some(*d),
        _ => None,
    };
    let present =
        [b',', b';', b'\t', b'|'].into_iter().filter(|d| memchr::memchr(*d, &bytes).is_some()).collect();
    Ok((sep, present))
}

fn head(open: &Open<'_>, delimiter: u8, quotes: bool) -> io::Result<Vec<HeadRow>> {
    let mut records = Records::new(open()?, delimiter, quotes);
    let mut rows = Vec::new();
    let mut bytes = 0;
    while rows.len() < HEAD_ROWS && bytes < HEAD_BYTES && records.next()? == Next::Record {
        let record = records.current()?;
        bytes += record.raw.len();
        rows.push(HeadRow {
            row: record.row,
            raw: record.raw.to_owned(),
            cells: record.cells().take(MOST_COLUMNS + 1).map(str::to_owned).collect(),
        });
    }
    Ok(rows)
}

/// How well a delimiter explains the head; the greatest wins, and equal ones are asked about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank(u8, usize);

/// The head with the delimiter that explains it best.
pub(crate) struct Layout {
    pub(crate) delimiter: u8,
    pub(crate) rows: Vec<HeadRow>,
    /// Index of the header.
    pub(crate) header: Option<usize>,
    /// Index of the first row after header and units.
    pub(crate) first: usize,
}

/// Ranks the head under one delimiter and finds the header; none when there is no table in it.
fn rank(rows: &[HeadRow], skip: usize, mapping: &Mapping) -> Option<(Rank, Option<usize>, usize)> {
    let names: Vec<String> = mapping
        .columns
        .iter()
        .filter_map(|(_, name)| match name {
            ColumnName::Header(text) => Some(fold(text)),
            ColumnName::Number(_) => None,
        })
        .collect();
    let score = |row: &HeadRow| -> Option<Rank> {
        let folded: Vec<String> = row.cells.iter().map(|c| fold(c)).collect();
        let found = names.iter().filter(|n| folded.contains(n)).count();
        let (words, plausible) = header_words::score(row.cells.iter().map(String::as_str));
        let total = found * 4 + words;
        if !names.is_empty() && found == names.len() {
            Some(Rank(4, total))
        } else if plausible {
            Some(Rank(3, total))
        } else if found * 2 > names.len() || (found > 0 && words > 1) {
            Some(Rank(2, total))
        } else if words >= 3 {
            Some(Rank(1, total))
        } else {
            None
        }
    };
    if mapping.labels.is_some() {
        let first = rows.iter().position(|row| !row.is_blank()).unwrap_or(0);
        return Some((Rank(4, 0), None, first));
    }
    match mapping.header_row {
        HeaderRow::At(at) => {
            let index = rows.iter().position(|r| r.row == at)?;
            let row = rows.get(index)?;
            let by_words = score(row).map_or(0, |r| r.1);
            return Some((Rank(4, by_words * 1000 + row.cells.len().min(999)), Some(index), index + 1));
        }
        HeaderRow::None => return by_number(rows, skip, mapping, false),
        HeaderRow::Find => {}
    }
    let mut best: Option<(Rank, usize)> = None;
    for (index, row) in rows.iter().enumerate().skip(skip) {
        if !(2..=MOST_COLUMNS).contains(&row.cells.len()) {
            continue;
        }
        if let Some(rank) = score(row)
            && best.is_none_or(|(b, _)| rank > b)
        {
            best = Some((rank, index));
        }
    }
    match best {
        Some((rank, index)) if rank.0 >= 3 => Some((rank, Some(index), index + 1)),
        other => by_number(rows, skip, mapping, true)
            .or_else(|| other.map(|(rank, index)| (rank, Some(index), index + 1))),
    }
}

/// A table whose columns are named by number starts at the first row with a number as its voltage.
fn by_number(
    rows: &[HeadRow],
    skip: usize,
    mapping: &Mapping,
    labels: bool,
) -> Option<(Rank, Option<usize>, usize)> {
    let mut most = 0;
    let mut voltage = None;
    for (role, name) in &mapping.columns {
        let ColumnName::Number(column) = name else { continue };
        most = most.max(*column);
        if *role == Role::Voltage {
            voltage = Some(*column);
        }
    }
    let voltage = voltage?;
    let fits = |row: &HeadRow| {
        row.cells.len() > most
            && !matches!(
                number::read(row.cell(voltage), mapping.style),
                Err(number::Problem::NotANumber | number::Problem::Empty)
            )
    };
    let first = rows.iter().enumerate().skip(skip).position(|(_, row)| fits(row))? + skip;
    let count = rows.iter().skip(first).filter(|row| fits(row)).count();
    let width = rows.get(first)?.cells.len();
    let mut above =
        (skip..first).rev().filter(|i| rows.get(*i).is_some_and(|r| !r.is_blank() && !is_units(&r.cells)));
    let header = above.next().filter(|i| labels && rows.get(*i).is_some_and(|r| r.cells.len() == width));
    Some((Rank(3, count), header, first))
}

/// Whether a row holds units only, at least one of them a real one.
pub(crate) fn is_units(cells: &[String]) -> bool {
    let mut real = 0;
    for cell in cells.iter().filter(|c| !c.is_empty()) {
        if Unit::parse(cell).is_some() {
            real += 1;
        } else if !matches!(cell.as_str(), "1" | "-" | "[1]" | "[-]" | "(1)" | "(-)") {
            return false;
        }
    }
    real > 0
}
