//! The writer: RFC 4180, UTF-8, lines ended by CR LF.

use crate::cell::neutral;
use crate::columns::{COLUMNS, Cell};
use crate::rows::Rows;
use crate::{Results, codes};
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::{CodeDoc, Finding};
use std::collections::BTreeSet;

impl Writer for Results {
    fn name(&self) -> &'static str {
        "csv"
    }

    fn about(&self) -> &'static str {
        "the results as one flat table, for spreadsheets"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ALL
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let rows = Rows::new(input.record, input.assessment).all();
        if rows.is_empty() {
            cx.say(
                Finding::warning(
                    codes::NO_ROWS,
                    "the results table has no rows: nothing required, nothing applied",
                )
                .help("state the method, the plan and the points, and give the logs"),
            );
        }
        let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        // A Vec takes every write, and every row has the columns of the header.
        let _ = table.write_record(COLUMNS);
        let mut said = BTreeSet::new();
        for row in rows {
            let cells = row.cells().into_iter().zip(COLUMNS).map(|(cell, column)| match cell {
                Cell::Empty => String::new(),
                Cell::Plain(text) => text,
                Cell::Text(text) => neutral(&clean(&text, column, &mut said, cx)),
            });
            let _ = table.write_record(cells);
        }
        let bytes = table.into_inner().unwrap_or_default();
        let path = format!("{}.results.csv", input.stem);
        Ok(vec![Artifact::bytes(path, "text/csv; charset=utf-8", "csv", bytes)])
    }
}

/// The text with U+FFFD for every control character but tab and line breaks.
fn clean(text: &str, column: &str, said: &mut BTreeSet<(char, String)>, cx: &mut WriteContext) -> String {
    let holds = |c: char| !c.is_ascii_control() || matches!(c, '\t' | '\n' | '\r');
    for letter in text.chars().filter(|c| !holds(*c)) {
        if said.insert((letter, column.to_owned())) {
            cx.say(
                Finding::warning(
                    codes::CHARACTER_REPLACED,
                    format!(
                        "U+{:04X} can't stand in a table; U+FFFD stands in its place in column `{column}`",
                        u32::from(letter)
                    ),
                )
                .help("remove the character at its source; the record's JSON holds it unchanged"),
            );
        }
    }
    text.chars().map(|c| if holds(c) { c } else { '\u{fffd}' }).collect()
}
