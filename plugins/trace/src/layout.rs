//! How a file is built: delimiter, decimal sign, where the table begins, its header, and the preamble.

use crate::cells::{Cell, DecimalSign, Delimiter, Numbers};
use crate::codes;
use crate::lines::text;
use crate::preamble::Preamble;
use crate::settings::Settings;
use crate::unit::{name_and_unit, unit};
use record::{Finding, Place};

/// A line of the file with its number.
pub(crate) struct Line {
    pub(crate) row: u64,
    pub(crate) bytes: Vec<u8>,
}

/// Header cells, with the row they stand in.
pub(crate) type Header = (Vec<String>, u64);

/// How a file is built.
#[derive(Debug)]
pub(crate) struct Layout {
    pub(crate) delimiter: Delimiter,
    /// None where the first rows hold whole numbers only.
    pub(crate) decimal: Option<DecimalSign>,
    /// Place of the table's first row among the lines that were looked at.
    pub(crate) first: usize,
    /// Number of that row in the file.
    pub(crate) first_row: u64,
    /// Cells in a row of the table.
    pub(crate) cells: usize,
    /// Header cells, with the row they stand in.
    pub(crate) header: Option<Header>,
    /// Cells of the units row.
    pub(crate) units: Option<Vec<String>>,
    pub(crate) preamble: Preamble,
    /// Cells that are empty in every row that was looked at.
    pub(crate) empty: Vec<bool>,
    /// Whether every value in the rows that were looked at is a whole number, cell by cell.
    pub(crate) whole: Vec<bool>,
}

/// A way to read the table.
#[derive(Clone, Copy, PartialEq)]
struct Reading {
    delimiter: Delimiter,
    decimal: Option<DecimalSign>,
    first: usize,
    rows: usize,
    cells: usize,
}

/// Finds out how a file is built.
pub(crate) fn layout(file: &str, head: &[Line], settings: &Settings) -> Result<Layout, Box<Finding>> {
    let reading = reading(file, head, settings)?;
    let Reading { delimiter, cells, .. } = reading;
    let first = first_row(file, head, reading)?;
    let decimal = settings.decimal.or_else(|| sign_in_use(head, reading));
    let mut preamble = Preamble::default();
    let mut words: Vec<(usize, Vec<String>)> = Vec::new();
    for (index, line) in head.iter().enumerate().take(first) {
        let whole = text(&line.bytes);
        let said = whole.trim().trim_start_matches(['#', '%', '!', '/']).trim();
        if said.is_empty() || preamble.take(file, said, line.row, delimiter)? {
            continue;
        }
        let names: Vec<String> =
            delimiter.cells(said.as_bytes()).into_iter().map(|cell| text(cell).trim().to_owned()).collect();
        let named = |name: &String| {
            matches!(Numbers::new(None).read(name.as_bytes()), Cell::Text | Cell::OverRange)
                || name.is_empty()
        };
        if names.len() == cells && names.iter().all(named) {
            words.push((index, names));
        }
    }
    let (header, units) = header(head, first, words);
    let (empty, whole) = columns(head, first, reading);
    let first_row = head.get(first).map_or(0, |line| line.row);
    Ok(Layout { delimiter, decimal, first, first_row, cells, header, units, preamble, empty, whole })
}

/// The only way to read most rows as numbers.
fn reading(file: &str, head: &[Line], settings: &Settings) -> Result<Reading, Box<Finding>> {
    let occurs = |byte: u8| head.iter().any(|line| memchr::memchr(byte, &line.bytes).is_some());
    let mut readings: Vec<Reading> = Vec::new();
    for delimiter in Delimiter::ALL {
        let fits = delimiter.sign().is_none_or(occurs);
        if !fits || settings.delimiter.is_some_and(|stated| stated != delimiter) {
            continue;
        }
        for decimal in [DecimalSign::Point, DecimalSign::Comma] {
            // Without a comma in the file, both decimal signs give the same reading.
            let same = decimal == DecimalSign::Comma && !occurs(b',') && settings.decimal.is_none();
            if same || settings.decimal.is_some_and(|stated| stated != decimal) {
                continue;
            }
            readings.extend(longest(head, delimiter, decimal));
        }
    }
    let most = readings.iter().map(|reading| reading.rows).max();
    readings.retain(|reading| Some(reading.rows) == most);
    let Some(first) = readings.first().copied() else {
        return Err(Box::new(
            Finding::error(codes::NO_TABLE, "no row of numbers is found in the first lines of the file")
                .at(Place { file: file.to_owned(), ..Place::default() })
                .help("look whether the file is a record that was exported as text"),
        ));
    };
    if readings.iter().all(|reading| reading.cells == first.cells) {
        return Ok(first);
    }
    // With commas and whole numbers only, `0,12` may be two cells or one; the line above decides.
    let above = head.get(..first.first).unwrap_or_default().iter().rev().map(|line| text(&line.bytes));
    if let Some(above) = above.map(|line| line.trim().to_owned()).find(|line| !line.is_empty()) {
        let fits = |reading: &&Reading| {
            let cells = Delimiter::Comma.cells(above.as_bytes());
            let named = |cell: &&[u8]| name_and_unit(&text(cell)).1.is_some();
            cells.len() == reading.cells && cells.iter().any(named) && !above.contains('=')
        };
        let fitting: Vec<&Reading> = readings.iter().filter(fits).collect();
        if let Some(only) = fitting.first()
            && fitting.iter().all(|reading| reading.delimiter == only.delimiter)
            && Preamble::default().take(file, &above, 0, only.delimiter).is_ok_and(|key| !key)
        {
            return Ok(**only);
        }
    }
    let row = head.get(first.first).map(|line| line.row);
    let shown = head.get(first.first).map(|line| text(&line.bytes)).unwrap_or_default();
    Err(Box::new(Finding::error(codes::TWO_READINGS, format!("`{shown}` fits two readings: two cells, or one with a decimal comma"))
        .at(Place { file: file.to_owned(), row, ..Place::default() })
        .help("state `delimiter = \"comma\"` for two cells, or `decimal = \"comma\"` with `delimiter = \"none\"` for one")))
}

/// The decimal sign that occurs in the rows of a reading; none where they hold whole numbers only.
fn sign_in_use(head: &[Line], reading: Reading) -> Option<DecimalSign> {
    let mut numbers = Numbers::new(None);
    for line in head.iter().skip(reading.first).take(reading.rows) {
        reading.delimiter.split(&line.bytes, |cell| {
            numbers.read(cell);
        });
    }
    numbers.sign
}

/// The longest run of rows that are numbers with one delimiter and decimal sign.
fn longest(head: &[Line], delimiter: Delimiter, decimal: DecimalSign) -> Option<Reading> {
    let mut best: Option<Reading> = None;
    let mut current: Option<Reading> = None;
    for (index, line) in head.iter().enumerate() {
        let cells = numeric(&line.bytes, delimiter, Some(decimal));
        current = match (cells, current) {
            (None, _) => None,
            (Some(cells), Some(run)) if run.cells == cells => Some(Reading { rows: run.rows + 1, ..run }),
            (Some(cells), _) => {
                Some(Reading { delimiter, decimal: Some(decimal), first: index, rows: 1, cells })
            }
        };
        if let Some(run) = current
            && best.is_none_or(|best| run.rows > best.rows)
        {
            best = Some(run);
        }
    }
    best
}

/// Number of cells of a line whose cells are numbers or words for a missing one, with a number among them.
fn numeric(line: &[u8], delimiter: Delimiter, decimal: Option<DecimalSign>) -> Option<usize> {
    let mut numbers = Numbers::new(decimal);
    let (mut cells, mut found, mut text) = (0, false, false);
    delimiter.split(line, |cell| {
        cells += 1;
        if text {
            return;
        }
        match numbers.read(cell) {
            Cell::Number(_) => found = true,
            Cell::NoNumber | Cell::OverRange => {}
            Cell::Text => text = true,
        }
    });
    (found && !text).then_some(cells)
}

/// The first row of the table. The longest run may begin behind a row that can't be read: then the table begins
/// before it, and the row is refused when it is reached.
fn first_row(file: &str, head: &[Line], reading: Reading) -> Result<usize, Box<Finding>> {
    let Reading { delimiter, decimal, first, cells, .. } = reading;
    let before = head.get(..first).unwrap_or_default();
    let count = |line: &Line| numeric(&line.bytes, delimiter, decimal);
    let earliest = before.iter().position(|line| count(line) == Some(cells));
    let start = earliest.unwrap_or(first);
    if let Some(line) = start.checked_sub(1).and_then(|index| head.get(index))
        && let Some(other) = count(line)
    {
        let message = format!("the row has {other} cells where the rows below have {cells}");
        return Err(Box::new(
            Finding::error(codes::BAD_ROW, message)
                .at(Place { file: file.to_owned(), row: Some(line.row), ..Place::default() })
                .help("mend the row in a copy of the file, or export the record again"),
        ));
    }
    Ok(start)
}

/// Header and units row among the lines of words with as many cells as the table.
fn header(
    head: &[Line],
    first: usize,
    mut words: Vec<(usize, Vec<String>)>,
) -> (Option<Header>, Option<Vec<String>>) {
    let is_units = |names: &[String]| {
        names.iter().any(|name| unit(name).is_some())
            && names.iter().all(|name| name.is_empty() || unit(name).is_some())
    };
    let units = match (words.last(), words.len()) {
        // A header such as `s,V` above the table is its units row as well; without a header above it, it is the header.
        (Some((_, names)), 2..) if is_units(names) => words.pop().map(|(_, names)| names),
        _ => None,
    };
    let header = words.pop().and_then(|(index, names)| {
        let adjacent = index + 1 + usize::from(units.is_some()) == first;
        let known = names.iter().any(|name| name_and_unit(name).1.is_some());
        let row = head.get(index).map_or(0, |line| line.row);
        (adjacent || known || units.is_some()).then_some((names, row))
    });
    (header, units)
}

/// Which cells are always empty, and which hold whole numbers only, in the rows that were looked at.
fn columns(head: &[Line], first: usize, reading: Reading) -> (Vec<bool>, Vec<bool>) {
    let (mut empty, mut whole) = (vec![true; reading.cells], vec![true; reading.cells]);
    for line in head.iter().skip(first) {
        let mut numbers = Numbers::new(reading.decimal);
        let cells = reading.delimiter.cells(&line.bytes);
        if cells.len() != reading.cells {
            continue;
        }
        for ((cell, empty), whole) in cells.into_iter().zip(&mut empty).zip(&mut whole) {
            *empty &= cell.is_empty();
            if let Cell::Number(value) = numbers.read(cell) {
                *whole &= value == value.trunc() && !cell.iter().any(|byte| b".,eE".contains(byte));
            }
        }
    }
    (empty, whole)
}
