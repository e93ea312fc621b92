//! The settings that a log shows, each with its reason: the beginning of a mapping.
//!
//! What the log settles is stated; what only the laboratory can know is left open, with the values that are
//! possible, taken from the findings that reading the log without settings raises.

use crate::encoding::{self, How, Survey};
use crate::mapping::Mapping;
use crate::number::{self, Evidence};
use crate::read;
use crate::records::{Next, Records};
use crate::refuse::not_text;
use crate::roles::Role;
use crate::settings;
use crate::shape::{self, Open, Shape, Trouble, delimiter_word};
use plugin_api::{Drafted, Intake, ReadContext, Source};
use record::{Finding, Severity};
use serde_json::Value;
use std::collections::BTreeSet;

/// Drafts the settings of a log.
pub(crate) fn draft(source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
    let mapping = settings::read(cx.options).map_err(|mut found| Box::new(found.remove(0)))?;
    of_text(source, cx, &mapping)
}

/// Drafts the settings of a log for whose text these hold already.
pub(crate) fn of_text(
    source: &Source<'_>,
    cx: &ReadContext<'_>,
    mapping: &Mapping,
) -> Result<Vec<Drafted>, Box<Finding>> {
    let survey = encoding::survey(&|| source.open(), mapping.encoding)
        .map_err(|why| Box::new(not_text(source.name, why)))?;
    let open = || encoding::text(source.open()?, survey.encoding, survey.mark);
    let mut drafted = vec![encoding_line(&survey)];
    if let Ok((shape, _)) = shape::look(&open, mapping, cx.facts, source.name) {
        layout(&shape, &mut drafted);
        columns(&shape, &mut drafted);
        units(&shape, &mut drafted);
        match decimal_sign(&open, &shape, mapping, survey.text.quotes) {
            Ok(line) => drafted.extend(line),
            Err(Trouble::Io(_) | Trouble::Findings(_)) => {}
        }
    }
    drafted.extend(open_questions(source, cx, mapping));
    Ok(drafted)
}

fn line(key: &str, value: impl Into<Value>, why: impl Into<String>) -> Drafted {
    Drafted { key: key.to_owned(), value: value.into(), why: why.into(), open: false }
}

fn left_open(key: &str, value: impl Into<Value>, why: impl Into<String>) -> Drafted {
    Drafted { open: true, ..line(key, value, why) }
}

fn encoding_line(survey: &Survey) -> Drafted {
    let name = survey.encoding.name().to_ascii_lowercase();
    match survey.how {
        How::Mark => line("encoding", name, "the mark at the start of the file says so"),
        How::Declared => line("encoding", name, "declared"),
        How::Valid => line("encoding", name, "all bytes are valid UTF-8"),
        How::Assumed { row } => left_open(
            "encoding",
            name,
            format!("row {row} is not UTF-8 and nothing says what it is: look at its special characters"),
        ),
    }
}

fn layout(shape: &Shape, drafted: &mut Vec<Drafted>) {
    let how = match shape.delimiter_how {
        "found" => "the header and the rows below it have the same fields with it".to_owned(),
        other => other.to_owned(),
    };
    drafted.push(line("delimiter", delimiter_word(shape.delimiter), how));
}

fn columns(shape: &Shape, drafted: &mut Vec<Drafted>) {
    let columns = &shape.columns;
    let name = |column: usize| -> Value {
        let label = columns.labels.get(column).map_or("", |l| l.trim());
        let alone = shape.header.get(column).is_some_and(|folded| {
            shape.header.iter().filter(|other| *other == folded).count() == 1 && !folded.is_empty()
        });
        if alone { label.into() } else { (column as u64 + 1).into() }
    };
    let mut roles: Vec<(usize, Role)> = columns.roles().map(|(role, column)| (column, role)).collect();
    roles.sort_unstable();
    for (column, role) in roles {
        let what = role.key().replace('_', " ");
        drafted.push(line(
            &format!("columns.{}", role.key()),
            name(column),
            format!("column {}: its header is a word for the {what}, or its cells are", column + 1),
        ));
    }
    if !columns.remarks.is_empty() {
        let list: Vec<Value> = columns.remarks.iter().map(|c| name(*c)).collect();
        drafted.push(line("columns.remark", list, "headers that are words for a remark"));
    }
    let kept: Vec<String> =
        columns.kept_and_used().map(|column| format!("`{}`", columns.label(column))).collect();
    if !kept.is_empty() {
        let why = format!(
            "kept with the remarks, since no role is known for them: {}; `ignore` would leave them out",
            kept.join(", ")
        );
        drafted.push(line("columns.ignore", Value::Null, why));
    }
}

fn units(shape: &Shape, drafted: &mut Vec<Drafted>) {
    let units = &shape.units;
    for (key, unit) in
        [("units.voltage", units.voltage), ("units.interval", units.interval), ("units.lasted", units.lasted)]
    {
        if let Some(unit) = unit {
            drafted.push(line(key, unit.symbol(), "the header or the row of units says so"));
        }
    }
}

/// The decimal sign, from the numbers of the whole log.
fn decimal_sign(
    open: &Open<'_>,
    shape: &Shape,
    mapping: &Mapping,
    quotes: bool,
) -> Result<Option<Drafted>, Trouble> {
    let numbers: Vec<usize> =
        shape.columns.roles().filter(|(role, _)| role.is_number()).map(|(_, column)| column).collect();
    let mut records = Records::new(open()?, shape.delimiter, quotes);
    while records.next()? == Next::Record {
        let record = records.current()?;
        if record.row < shape.first_data_row {
            continue;
        }
        for column in &numbers {
            let text = record.cell(*column);
            if let Evidence::Decimal(sign) = number::evidence(text, mapping.style.thousands) {
                let why = format!("row {}, column {}: `{text}` has no other reading", record.row, column + 1);
                return Ok(Some(line("decimal", sign.word(), why)));
            }
        }
    }
    Ok(None)
}

/// The settings that findings of a reading without them ask for.
fn open_questions(source: &Source<'_>, cx: &ReadContext<'_>, mapping: &Mapping) -> Vec<Drafted> {
    let mut intake = Intake::new(source.id);
    let _ = read::read_by(source, &mut intake, cx, mapping.clone());
    let mut seen = BTreeSet::new();
    let mut asked = Vec::new();
    for finding in intake.finish().findings.iter().filter(|f| f.severity != Severity::Note) {
        for (key, value) in finding.help.iter().flat_map(|help| settings_in(help)) {
            if seen.insert((key.clone(), value.to_string())) {
                let place = match finding.place.as_ref().and_then(|place| place.row) {
                    Some(row) => format!("row {row}: "),
                    None => String::new(),
                };
                asked.push(left_open(&key, value, format!("{place}{}", finding.message)));
            }
        }
    }
    asked
}

/// The settings that a help line names: `key = value` between backticks.
fn settings_in(help: &str) -> Vec<(String, Value)> {
    help.split('`')
        .skip(1)
        .step_by(2)
        .filter_map(|quoted| {
            let (key, value) = quoted.split_once(" = ")?;
            let is_key = key.bytes().all(|b| b.is_ascii_lowercase() || matches!(b, b'_' | b'.' | b'-'));
            let value: Value = serde_json::from_str(value).ok()?;
            (is_key && value != "..." && !key.is_empty()).then(|| (key.to_owned(), value))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn help_lines_name_settings_between_backticks() {
        let found = settings_in(
            "if the item did this: `columns.class = \"Crit\"` (letters) or `columns.result = 6` (words), see `X`",
        );
        assert_eq!(
            found,
            [("columns.class".to_owned(), "Crit".into()), ("columns.result".to_owned(), 6.into())]
        );
        assert!(settings_in("name it: `columns.point = \"...\"` or its number").is_empty());
    }
}
