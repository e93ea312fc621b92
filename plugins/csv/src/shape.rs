//! How a log is laid out: delimiter, header, units rows, and which column has which role.

use crate::codes;
use crate::header_words::{self, Meaning};
use crate::mapping::{ColumnName, HeaderRow, Mapping, nearest};
use crate::number;
use crate::records::{Next, Records};
use crate::roles::{Columns, Role};
use crate::units::Unit;
use crate::words::fold;
use record::{Facts, Finding, Place};
use std::collections::BTreeSet;
use std::io::{self, Read};
use std::ops::Range;

/// So many rows and bytes at the start decide the layout.
const HEAD_ROWS: usize = 400;
const HEAD_BYTES: usize = 512 * 1024;

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
struct HeadRow {
    row: u64,
    raw: String,
    cells: Vec<String>,
}

impl HeadRow {
    fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    fn is_blank(&self) -> bool {
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
    Assigning { mapping, facts, file, layout: &layout, skip, findings: Vec::new(), errors: Vec::new() }
        .shape(how)
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
            cells: record.cells().map(str::to_owned).collect(),
        });
    }
    Ok(rows)
}

/// How well a delimiter explains the head; the greatest wins, and equal ones are asked about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank(u8, usize);

/// The head with the delimiter that explains it best.
struct Layout {
    delimiter: u8,
    rows: Vec<HeadRow>,
    /// Index of the header.
    header: Option<usize>,
    /// Index of the first row after header and units.
    first: usize,
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
        if row.cells.len() < 2 {
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
fn is_units(cells: &[String]) -> bool {
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

/// What a header leaves open.
#[derive(Clone, Copy, Default)]
struct Unsure {
    /// The voltage column may be one of levels.
    level: bool,
    /// The interval column is one of rates.
    rate: bool,
}

/// Gives the columns their roles.
struct Assigning<'a> {
    mapping: &'a Mapping,
    facts: &'a Facts,
    file: &'a str,
    layout: &'a Layout,
    skip: usize,
    findings: Vec<Finding>,
    errors: Vec<Finding>,
}

impl Assigning<'_> {
    fn place(&self, column: Option<usize>, label: Option<&str>) -> Place {
        let row = self.layout.header.and_then(|i| self.layout.rows.get(i)).map(|r| r.row);
        Place {
            file: self.file.to_owned(),
            row: row.or(Some(1)),
            column: column.and_then(|c| u32::try_from(c + 1).ok()),
            label: label.filter(|l| !l.is_empty()).map(str::to_owned),
        }
    }

    fn shape(mut self, how: &'static str) -> Result<Shape, Trouble> {
        let rows = &self.layout.rows;
        let header_at = self.layout.header;
        let labels: Vec<String> =
            header_at.and_then(|i| rows.get(i)).map(|r| r.cells.clone()).unwrap_or_default();
        let mut first = self.layout.first;
        let mut units_at: Vec<usize> = Vec::new();
        if let Some(header) = header_at {
            let above = header.checked_sub(1).filter(|i| *i >= self.skip);
            units_at.extend(above.filter(|i| rows.get(*i).is_some_and(|r| is_units(&r.cells))));
            let mut next = header + 1;
            while rows.get(next).is_some_and(HeadRow::is_blank) {
                next += 1;
            }
            if rows.get(next).is_some_and(|r| is_units(&r.cells)) {
                units_at.push(next);
                first = first.max(next + 1);
            }
        }
        let width = self.width(&labels, first);
        let dropped = labels.len().saturating_sub(width);
        let mut columns = Columns::new(labels.clone(), width);
        columns.beside = self.beside(&labels, width);
        let unsure = self.roles(&mut columns, first);
        self.required(&columns);
        let unit_rows: Vec<&HeadRow> = units_at.iter().filter_map(|i| rows.get(*i)).collect();
        let units = Units {
            voltage: self.unit(&columns, Role::Voltage, &unit_rows, self.mapping.voltage_unit),
            voltage_needs_unit: unsure.level,
            interval_needs_unit: unsure.rate,
            interval: self.unit(&columns, Role::Interval, &unit_rows, self.mapping.interval_unit),
            lasted: self.unit(&columns, Role::Lasted, &unit_rows, self.mapping.lasted_unit),
        };
        if !self.errors.is_empty() {
            return Err(Trouble::Findings(self.errors));
        }
        let header_row = header_at.and_then(|i| rows.get(i)).map(|r| r.row);
        let is_table = |i: usize| Some(i) == header_at || units_at.contains(&i);
        let first_data_row = match rows.get(first) {
            Some(row) => row.row,
            None => rows.last().map_or(1, |last| last.row + 1),
        };
        Ok(Shape {
            delimiter: self.layout.delimiter,
            delimiter_how: how,
            header_row,
            units_rows: unit_rows.iter().map(|r| r.row).collect(),
            first_data_row,
            preamble: rows
                .iter()
                .enumerate()
                .take(first)
                .filter(|(i, row)| *i >= self.skip && !is_table(*i) && !row.is_blank())
                .map(|(_, row)| (row.row, row.raw.clone()))
                .collect(),
            header: labels.iter().map(|l| fold(l)).collect(),
            columns,
            units,
            dropped,
            findings: self.findings,
        })
    }

    /// Number of columns without those at the end that have neither header nor content.
    fn width(&self, labels: &[String], first: usize) -> usize {
        let data = self.layout.rows.iter().skip(first);
        if labels.is_empty() {
            return data.map(|r| r.cells.len()).next().unwrap_or(0);
        }
        let used = |column: usize| {
            labels.get(column).is_some_and(|l| !l.is_empty())
                || self.layout.rows.iter().skip(first).any(|r| !r.cell(column).is_empty())
        };
        (0..labels.len()).rev().find(|c| used(*c)).map_or(0, |c| c + 1)
    }

    /// One or two columns at an edge, parted from the table by an empty one, whose first cells all differ and
    /// are no numbers, hold facts about the whole log. The table is where point and voltage are.
    fn beside(&self, labels: &[String], width: usize) -> Range<usize> {
        let Some(header) = self.layout.header else { return 0..0 };
        let rows = || self.layout.rows.iter().skip(header);
        let empty = |column: usize| rows().all(|row| row.cell(column).is_empty());
        let role =
            |column: usize| match header_words::meaning(labels.get(column).map_or("", String::as_str)).0 {
                Some(Meaning::Role(Role::Voltage | Role::Point) | Meaning::VoltageOrLevel) => true,
                _ => self.mapping.columns.iter().any(|(_, name)| match name {
                    ColumnName::Number(number) => *number == column,
                    ColumnName::Header(text) => labels.get(column).is_some_and(|l| fold(l) == fold(text)),
                }),
            };
        let facts = |columns: Range<usize>| {
            let mut seen = BTreeSet::new();
            let names: Vec<&str> =
                rows().map(|row| row.cell(columns.start)).filter(|cell| !cell.is_empty()).collect();
            !columns.clone().any(role)
                && names.len() > 1
                && names.into_iter().all(|cell| cell.parse::<f64>().is_err() && seen.insert(cell))
        };
        let edges = [1, 2].into_iter().filter(|n| width > n + 2);
        edges
            .flat_map(|n| [(n, 0..n), (width - n - 1, width - n..width)])
            .find(|(gap, columns)| empty(*gap) && facts(columns.clone()))
            .map_or(0..0, |(_, columns)| columns)
    }

    /// Gives roles by the settings, then by the words of the header; answers what only a unit can tell.
    fn roles(&mut self, columns: &mut Columns, first: usize) -> Unsure {
        let width = columns.width;
        let mut taken: Vec<Option<Role>> = vec![None; width];
        let folded: Vec<String> = columns.labels.iter().map(|l| fold(l)).collect();
        for (role, name) in &self.mapping.columns {
            let column = match name {
                ColumnName::Number(column) if *column < width => *column,
                ColumnName::Number(column) => {
                    self.errors.push(
                        Finding::error(
                            codes::COLUMN_MISSING,
                            format!(
                                "the table has {width} columns, and `columns.{}` names column {}",
                                role.key(),
                                column + 1
                            ),
                        )
                        .at(self.place(None, None))
                        .help("count the columns from 1, or name the column by its header"),
                    );
                    continue;
                }
                ColumnName::Header(text) => {
                    let wanted = fold(text);
                    let mut found = (0..width).filter(|c| folded.get(*c) == Some(&wanted));
                    match (found.next(), found.next()) {
                        (Some(column), None) => column,
                        (Some(column), Some(other)) => {
                            self.errors.push(
                                Finding::error(
                                    codes::DUPLICATE_HEADER,
                                    format!(
                                        "duplicate header: columns {} and {} are both called `{text}`",
                                        column + 1,
                                        other + 1
                                    ),
                                )
                                .at(self.place(Some(other), Some(text)))
                                .help(format!(
                                    "name the right one by its number: `columns.{} = {}` or `{}`",
                                    role.key(),
                                    column + 1,
                                    other + 1
                                )),
                            );
                            continue;
                        }
                        (None, _) => {
                            self.errors.push(self.not_there(columns, *role, text));
                            continue;
                        }
                    }
                }
            };
            match taken.get_mut(column) {
                Some(slot @ None) if role.may_repeat() || !columns.has(*role) => {
                    *slot = Some(*role);
                    columns.set(*role, column);
                }
                _ => {
                    let label = columns.label(column);
                    self.errors.push(
                        Finding::error(
                            codes::WHICH_COLUMN,
                            format!(
                                "column {} `{label}` is named for two roles, one of them `{}`",
                                column + 1,
                                role.key()
                            ),
                        )
                        .at(self.place(Some(column), Some(&label)))
                        .help("give each column one role under `columns`"),
                    );
                }
            }
        }
        let mut unsure = Unsure::default();
        let mut by_words: Vec<(Role, usize)> = Vec::new();
        let beside = columns.beside.clone();
        for column in (0..width).filter(|c| taken.get(*c) == Some(&None) && !beside.contains(c)) {
            let label = columns.label(column);
            let (meaning, _) = header_words::meaning(columns.labels.get(column).map_or("", String::as_str));
            // An empty column parts the table from something; should it be filled later, that is kept.
            if columns.labels.get(column).is_some_and(String::is_empty) && self.is_empty(column, first) {
                columns.kept.push(column);
                columns.spacers.push(column);
                continue;
            }
            let role = match meaning {
                Some(Meaning::Role(role)) => Some(role),
                Some(Meaning::VoltageOrLevel) => Some(Role::Voltage),
                Some(Meaning::Rate) => Some(Role::Interval),
                Some(Meaning::IntervalOrClock) => {
                    self.stays_the_same(column, first).then_some(Role::Interval)
                }
                Some(Meaning::ApplicationOrMode) => self.application_or_mode(column, first),
                Some(Meaning::ObservedOrDemanded) => {
                    self.errors.push(outcome_or_demand(self.place(Some(column), Some(&label)), &label));
                    None
                }
                None => None,
            };
            // What the settings name stays with the column they name.
            let role = role.filter(|r| r.may_repeat() || !self.mapping.names(*r));
            match role {
                Some(role) => {
                    unsure.level |= meaning == Some(Meaning::VoltageOrLevel);
                    unsure.rate |= meaning == Some(Meaning::Rate);
                    by_words.push((role, column));
                }
                None => columns.kept.push(column),
            }
        }
        let has_count = columns.has(Role::Count) || by_words.iter().any(|(r, _)| *r == Role::Count);
        for (role, column) in &by_words {
            if *role == Role::Counter && has_count {
                columns.kept.push(*column);
            } else if !role.may_repeat() && columns.has(*role) {
                let other = columns.get(*role).unwrap_or(0);
                let (label, first_label) = (columns.label(*column), columns.label(other));
                let (code, message) = if fold(&label) == fold(&first_label) {
                    (
                        codes::DUPLICATE_HEADER,
                        format!(
                            "duplicate header: columns {} and {} are both called `{label}`",
                            other + 1,
                            column + 1
                        ),
                    )
                } else {
                    (
                        codes::WHICH_COLUMN,
                        format!(
                            "columns {} `{first_label}` and {} `{label}` could both be the {}",
                            other + 1,
                            column + 1,
                            role.key().replace('_', " ")
                        ),
                    )
                };
                self.errors.push(Finding::error(code, message).at(self.place(Some(*column), Some(&label))).help(format!(
                    "say which: `columns.{} = {}` or `{}`; list the other under `columns.remark` or `columns.ignore`",
                    role.key(),
                    other + 1,
                    column + 1
                )));
            } else {
                columns.set(*role, *column);
            }
        }
        if columns.has(Role::Counter) && columns.has(Role::Count) {
            self.errors.push(
                Finding::error(codes::WHICH_COLUMN, "the settings name both a count and a counter column")
                    .at(self.place(columns.get(Role::Counter), None))
                    .help("keep `columns.count` for discharges per row, or `columns.counter` for a running total"),
            );
        }
        columns.kept.sort_unstable();
        unsure
    }

    fn not_there(&self, columns: &Columns, role: Role, text: &str) -> Finding {
        let known: Vec<&str> = columns.labels.iter().map(String::as_str).filter(|l| !l.is_empty()).collect();
        let mut finding = Finding::error(
            codes::COLUMN_MISSING,
            format!("missing column: no header reads `{text}`, which `columns.{}` names", role.key()),
        )
        .at(self.place(None, None));
        if let Some(near) = nearest(text, &known) {
            finding = finding.help(format!("did you mean `{near}`?"));
        }
        let shown: Vec<String> = known.iter().take(20).map(|l| format!("`{l}`")).collect();
        finding.help(format!("the header reads: {}", shown.join(", ")))
    }

    /// A column called `Mode` or `Type` holds kinds of discharge if any of its first cells is one.
    fn application_or_mode(&self, column: usize, first: usize) -> Option<Role> {
        let mut modes = false;
        for row in self.layout.rows.iter().skip(first).take(100) {
            let cell = row.cell(column);
            if cell.is_empty() {
                continue;
            }
            if self.facts.modes.iter().any(|m| m.id.as_str() == cell) {
                modes = true;
            } else if self.mapping.words.application.get(cell).is_some() {
                return (!self.mapping.names(Role::Application)).then_some(Role::Application);
            }
        }
        modes.then_some(Role::Mode)
    }

    fn is_empty(&self, column: usize, first: usize) -> bool {
        self.layout.rows.iter().skip(first).all(|row| row.cell(column).is_empty())
    }

    /// Whether the first cells of a column all say the same.
    fn stays_the_same(&self, column: usize, first: usize) -> bool {
        let mut cells =
            self.layout.rows.iter().skip(first).map(|row| row.cell(column)).filter(|cell| !cell.is_empty());
        let one = cells.next();
        cells.all(|cell| Some(cell) == one)
    }

    fn required(&mut self, columns: &Columns) {
        for (role, what) in [(Role::Point, "the point"), (Role::Voltage, "the voltage")] {
            let reported = self.mapping.names(role) && !self.errors.is_empty();
            if columns.has(role) || reported {
                continue;
            }
            let known: Vec<String> =
                columns.labels.iter().filter(|l| !l.is_empty()).take(20).map(|l| format!("`{l}`")).collect();
            let mut finding = Finding::error(
                codes::COLUMN_MISSING,
                format!("missing column: none is known to hold {what}"),
            )
            .at(self.place(None, None))
            .help(format!("name it: `columns.{} = \"...\"` or its number", role.key()));
            if !known.is_empty() {
                finding = finding.help(format!("the header reads: {}", known.join(", ")));
            }
            self.errors.push(finding);
        }
    }

    /// The unit of a column, from settings, header and units rows, which must agree.
    fn unit(
        &mut self,
        columns: &Columns,
        role: Role,
        rows: &[&HeadRow],
        declared: Option<Unit>,
    ) -> Option<Unit> {
        let column = columns.get(role)?;
        let label = columns.labels.get(column).map_or("", String::as_str);
        let fits = |u: &Unit| if role == Role::Voltage { u.is_voltage() } else { u.is_duration() };
        let in_header = header_words::meaning(label).1.filter(fits);
        let in_rows = rows.iter().find_map(|r| Unit::parse(r.cell(column)).filter(fits));
        if let Some(declared) = declared {
            if let Some(other) = in_header.or(in_rows).filter(|u| *u != declared) {
                self.findings.push(
                    Finding::warning(
                        codes::UNIT_OVERRULED,
                        format!("the settings say {}, the log says {}", declared.symbol(), other.symbol()),
                    )
                    .at(self.place(Some(column), Some(label)))
                    .help(format!("the settings count; remove `units.{}` if the log is right", role.key())),
                );
            }
            return Some(declared);
        }
        if let (Some(header), Some(row)) = (in_header, in_rows)
            && header != row
        {
            self.errors.push(
                Finding::error(
                    codes::UNIT_CONFLICT,
                    format!(
                        "unit conflict: the header says {}, the units row says {}",
                        header.symbol(),
                        row.symbol()
                    ),
                )
                .at(self.place(Some(column), Some(label)))
                .help(format!(
                    "say which: `units.{} = \"{}\"` or `\"{}\"`",
                    role.key(),
                    header.symbol(),
                    row.symbol()
                )),
            );
        }
        in_header.or(in_rows)
    }
}

/// The question that only the laboratory can answer.
pub(crate) fn outcome_or_demand(place: Place, label: &str) -> Finding {
    Finding::error(
        codes::OUTCOME_OR_DEMAND,
        format!("column `{label}` could hold the outcome that was observed or the one that is demanded"),
    )
    .at(place)
    .help(format!("if the item did this: `columns.class = \"{label}\"` (letters) or `columns.result = \"{label}\"` (words)"))
    .help(format!("if the test plan asks for it: `columns.demand = \"{label}\"`"))
}
