//! Says where a log holds characters that are not seen, or that stand for text lost earlier.

use crate::codes;
use crate::encoding::Survey;
use crate::records::{Next, Records};
use crate::shape::{Open, Shape};
use plugin_api::Intake;
use record::{Finding, Place};

/// How the table is laid out, as far as it is known.
pub(crate) struct Table<'a> {
    pub(crate) open: &'a Open<'a>,
    pub(crate) shape: &'a Shape,
    pub(crate) quotes: bool,
}

/// Files a finding for the first character of each kind; the column is named where the table is known.
pub(crate) fn say(file: &str, survey: &Survey, table: Option<&Table<'_>>, intake: &mut Intake) {
    if let Some(row) = survey.text.hidden {
        let found = table.and_then(|table| find(table, row, is_unseen));
        let first = found.map(|(_, sign)| format!(", first U+{:04X}", u32::from(sign))).unwrap_or_default();
        intake.say(
            Finding::warning(
                codes::HIDDEN_CHARACTERS,
                format!(
                    "control characters are present that change how text is shown without being seen{first}"
                ),
            )
            .at(place(file, row, table, found))
            .help("compare names with those of the job; they are kept as they are"),
        );
    }
    if let Some(row) = survey.text.replacement {
        let found = table.and_then(|table| find(table, row, |sign| sign == '\u{fffd}'));
        intake.say(
            Finding::warning(
                codes::HIDDEN_CHARACTERS,
                "the file holds U+FFFD, which an earlier program put in place of text it could not read",
            )
            .at(place(file, row, table, found))
            .help("export the log again from the original"),
        );
    }
}

/// The characters that the survey looks for.
fn is_unseen(sign: char) -> bool {
    matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

/// Field (from 0) and character of the first one that is looked for, in the record that holds a row. A file that
/// can't be read again is reported where its rows are read.
fn find(table: &Table<'_>, row: u64, wanted: impl Fn(char) -> bool) -> Option<(usize, char)> {
    let mut records = Records::new((table.open)().ok()?, table.shape.delimiter, table.quotes);
    loop {
        match records.next().ok()? {
            Next::Record => {}
            Next::End | Next::TooLong { .. } | Next::Unclosed { .. } => return None,
        }
        let record = records.current().ok()?;
        if record.row > row {
            return None;
        }
        if record.row + record.lines > row {
            let signs = |(field, cell): (usize, &str)| cell.chars().find(|c| wanted(*c)).map(|c| (field, c));
            return record.cells().enumerate().find_map(signs);
        }
    }
}

fn place(file: &str, row: u64, table: Option<&Table<'_>>, found: Option<(usize, char)>) -> Place {
    let column = found.and_then(|(field, _)| u32::try_from(field + 1).ok());
    let label = found.zip(table).map(|((field, _), table)| table.shape.columns.label(field));
    Place { file: file.to_owned(), row: Some(row), column, label }
}
