//! What is said at the end of a log: how it was understood, what was assumed, what is odd.

use crate::codes;
use crate::read::{Misfit, Reading};
use crate::refuse::at;
use crate::roles::Role;
use crate::shape::delimiter_word;
use record::{Finding, Place};

impl Reading<'_> {
    fn column_place(&self, column: usize) -> Place {
        Place {
            file: self.file.to_owned(),
            row: self.shape.header_row.or(Some(self.shape.first_data_row)),
            column: u32::try_from(column + 1).ok(),
            label: Some(self.shape.columns.label(column)),
        }
    }

    pub(crate) fn say_layout(&mut self, footer: &[Misfit]) {
        let shape = self.shape;
        let intake = &mut self.intake;
        intake.understood(format!(
            "delimiter: {} ({})",
            delimiter_word(shape.delimiter),
            shape.delimiter_how
        ));
        intake.understood(match (self.mapping.style.decimal, self.rows.decimal_seen.borrow().as_ref()) {
            (Some(declared), _) => format!("decimal sign: {} (declared)", declared.word()),
            (None, Some(seen)) => {
                format!(
                    "decimal sign: {} (row {}, column {}: `{}`)",
                    seen.sign.word(),
                    seen.row,
                    seen.column + 1,
                    seen.text
                )
            }
            (None, None) => "decimal sign: none occurs".to_owned(),
        });
        match shape.header_row {
            Some(row) => intake.understood(format!("header: row {row}")),
            None => intake.understood("header: none"),
        }
        for row in &shape.units_rows {
            intake.understood(format!("units: row {row}"));
        }
        let columns = &shape.columns;
        let mut roles: Vec<(usize, &str)> =
            columns.roles().map(|(role, column)| (column, role.key())).collect();
        roles.extend(columns.remarks.iter().map(|c| (*c, "remark")));
        roles.extend(columns.kept_and_used().map(|c| (c, "kept as remark")));
        roles.sort_unstable();
        for (column, role) in roles {
            intake.understood(format!("column {} `{}`: {role}", column + 1, columns.label(column)));
        }
        if let Some(unit) = shape.units.voltage {
            intake.understood(format!("voltage in {}", unit.symbol()));
        }
        for (row, text) in shape.preamble.iter().take(200) {
            intake.understood(format!("before the table, row {row}: {}", text.trim()));
        }
        for (row, text) in &self.beside {
            intake.understood(format!("beside the table, row {row}: {}", text.trim()));
        }
        for (row, text) in &self.comments {
            intake.understood(format!("comment, row {row}: {text}"));
        }
        for misfit in footer {
            intake.understood(format!("after the table, row {}: {}", misfit.row, misfit.text.trim()));
        }
        if self.groups.watched_by_outcome {
            intake.understood("monitoring: a result stands beside each discharge, taken as the statement that the item was watched");
        }
        for finding in &shape.findings {
            intake.say(finding.clone());
        }
    }

    pub(crate) fn say_assumptions(&mut self) {
        let shape = self.shape;
        let columns = &shape.columns;
        if self.rows.kilovolts_assumed.get()
            && let Some(column) = columns.get(Role::Voltage)
        {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::UNIT_ASSUMED,
                    "the voltages have no unit; they were read as kV, since none is above 100",
                )
                .at(place)
                .help("set `units.voltage = \"kV\"` for this log to confirm it"),
            );
        }
        if let Some(column) = self.rows.seconds_assumed.get() {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::UNIT_ASSUMED,
                    format!("column `{}` has no unit; it was read as seconds", columns.label(column)),
                )
                .at(place)
                .help("set `units.interval` or `units.lasted` for this log to confirm it"),
            );
        }
        if self.rows.clock_without_date.get()
            && let Some(column) = columns.get(Role::Time)
        {
            let place = self.column_place(column);
            self.intake.say(
                Finding::warning(
                    codes::TIME_WITHOUT_DATE,
                    "the times of day have no date, so they are not used",
                )
                .at(place)
                .help(
                    "set `day = \"2026-03-12\"` (the day of the test) for this log, or name the date column",
                ),
            );
        }
        if let Some((row, column)) = self.rows.verdict_words.get() {
            let place = Place { row: Some(row), ..self.column_place(column) };
            self.intake.say(
                Finding::warning(codes::VERDICT_WORD, "a result like pass or fail does not say what the item did; it is kept as seen")
                    .at(place)
                    .help("state what was seen, or set `words.result.nothing = [\"pass\"]` if it means that nothing was seen"),
            );
        }
    }

    pub(crate) fn say_oddities(&mut self, footer: &[Misfit]) {
        let shape = self.shape;
        let columns = &shape.columns;
        let whole = at(self.file, shape.header_row.unwrap_or(shape.first_data_row));
        let kept: Vec<String> = columns.kept_and_used().map(|c| format!("`{}`", columns.label(c))).collect();
        if !kept.is_empty() {
            self.intake.say(
                Finding::note(
                    codes::COLUMNS_KEPT,
                    format!("columns without a known role are kept as remarks: {}", kept.join(", ")),
                )
                .at(whole.clone())
                .help("give them a role under `columns`, or list them under `columns.ignore`"),
            );
        }
        if shape.dropped > 0 {
            self.intake.say(
                Finding::note(
                    codes::EMPTY_COLUMNS,
                    format!("unnamed empty columns ignored: {} at the end of the table", shape.dropped),
                )
                .at(whole.clone()),
            );
        }
        for row in &self.repeated {
            self.intake.say(
                Finding::warning(codes::REPEATED_HEADER, format!("repeated header skipped on row {row}"))
                    .at(at(self.file, *row))
                    .help("if two logs were joined here, check that no row is in both"),
            );
        }
        if let (Some(first), Some(last)) = (footer.first(), footer.last()) {
            let text: String = first.text.chars().take(120).collect();
            let rows = if footer.len() == 1 {
                format!("row {} is", first.row)
            } else {
                format!("rows {} to {} are", first.row, last.row)
            };
            self.intake.say(
                Finding::note(
                    codes::FOOTER,
                    format!("{rows} after the table and not read as discharges: `{text}`"),
                )
                .at(at(self.file, first.row)),
            );
        }
        if self.account.used == 0 && self.account.set_aside == 0 {
            self.intake.say(
                Finding::warning(codes::NO_ROWS, "no records: the table has a header and no rows")
                    .at(whole)
                    .help("check that the log was exported whole"),
            );
        }
        let doubles = self.repeats.found();
        if let Some((row, _)) = doubles.first() {
            let list: Vec<String> =
                doubles.iter().take(5).map(|(row, first)| format!("row {row} repeats row {first}")).collect();
            let more = match doubles.len().saturating_sub(list.len()) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            self.intake.say(
                Finding::warning(
                    codes::DUPLICATE_ROWS,
                    format!("duplicates: {}{more}; all are counted", list.join(", ")),
                )
                .at(at(self.file, *row))
                .help(
                    "remove rows that were written twice; leave them if the discharges were really applied",
                ),
            );
        }
        if self.groups.odd_count > 0 {
            let list: Vec<String> = self
                .groups
                .odd_numbers
                .iter()
                .map(|(row, number, before)| format!("row {row}: {number} after {before}"))
                .collect();
            let row = self.groups.odd_numbers.first().map_or(1, |(row, ..)| *row);
            self.intake.say(
                Finding::warning(
                    codes::SHOT_NUMBERS,
                    format!(
                        "{} shot numbers do not follow the one before ({})",
                        self.groups.odd_count,
                        list.join("; ")
                    ),
                )
                .at(at(self.file, row))
                .help("check whether rows are missing or written twice"),
            );
        }
    }
}
