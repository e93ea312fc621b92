//! Gives the columns of a table their roles and units, by the settings and by the words of the header.

use crate::codes;
use crate::header_words::{self, Meaning};
use crate::mapping::{ColumnName, Mapping};
use crate::roles::{Columns, Role};
use crate::settings::nearest;
use crate::shape::{HeadRow, Layout, Shape, Units, is_units};
use crate::units::Unit;
use crate::words::fold;
use record::{Facts, Finding, Place};
use std::collections::BTreeSet;
use std::ops::Range;

/// What a header leaves open.
#[derive(Clone, Copy, Default)]
struct Unsure {
    /// The voltage column may be one of levels.
    level: bool,
    /// The interval column is one of rates.
    rate: bool,
}

/// Gives the columns their roles.
pub(crate) struct Assigning<'a> {
    mapping: &'a Mapping,
    facts: &'a Facts,
    file: &'a str,
    layout: &'a Layout,
    skip: usize,
    findings: Vec<Finding>,
    errors: Vec<Finding>,
}

impl<'a> Assigning<'a> {
    /// Nothing has a role yet; rows before `skip` are no part of the log.
    pub(crate) fn new(
        mapping: &'a Mapping,
        facts: &'a Facts,
        file: &'a str,
        layout: &'a Layout,
        skip: usize,
    ) -> Self {
        Self { mapping, facts, file, layout, skip, findings: Vec::new(), errors: Vec::new() }
    }

    fn place(&self, column: Option<usize>, label: Option<&str>) -> Place {
        let row = self.layout.header.and_then(|i| self.layout.rows.get(i)).map(|r| r.row);
        Place {
            file: self.file.to_owned(),
            row: row.or(Some(1)),
            column: column.and_then(|c| u32::try_from(c + 1).ok()),
            label: label.filter(|l| !l.is_empty()).map(str::to_owned),
        }
    }

    /// The layout, and what stands in the way of reading by it.
    pub(crate) fn shape(mut self, how: &'static str) -> (Shape, Vec<Finding>) {
        let rows = &self.layout.rows;
        let header_at = self.layout.header;
        let labels: Vec<String> = match (&self.mapping.labels, header_at) {
            (Some(given), _) => given.clone(),
            (None, at) => at.and_then(|i| rows.get(i)).map(|r| r.cells.clone()).unwrap_or_default(),
        };
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
        let header_row = header_at.and_then(|i| rows.get(i)).map(|r| r.row);
        let is_table = |i: usize| Some(i) == header_at || units_at.contains(&i);
        let first_data_row = match rows.get(first) {
            Some(row) => row.row,
            None => rows.last().map_or(1, |last| last.row + 1),
        };
        let shape = Shape {
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
        };
        (shape, self.errors)
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
            let given = role == Role::Point && self.mapping.point_given;
            if columns.has(role) || reported || given {
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
