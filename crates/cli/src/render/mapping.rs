//! Mappings: the text of a draft, and what one makes of each row of a log.

use super::text::{BAD, CARE, FAINT, STRONG, styled};
use plugin_api::{Drafted, Taken};
use record::{Finding, Observation, Series, Severity};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

/// A draft as TOML, a comment on each line; what is left open stands behind `#`.
pub(crate) fn draft(log: &str, reader: &str, drafted: &[Drafted]) -> String {
    let mut text = format!(
        "# How logs like `{}` are read: drafted from what it shows, with the reason on each line.\n\
         # A line behind `#?` is a question that only the laboratory can answer: take the `#?` away from the\n\
         # line that is right, correct it where needed, and delete the others.\n\
         # Then see what is made of every row: fulgurite mapping check THIS-FILE LOG\n\n",
        one_line(log)
    );
    let whole = Drafted {
        key: "reader".into(),
        value: reader.into(),
        why: "the reader that recognises the log".into(),
        open: false,
    };
    let mut tables: BTreeMap<String, Vec<(&str, &Drafted)>> = BTreeMap::new();
    for line in std::iter::once(&whole).chain(drafted) {
        let (table, key) = line.key.rsplit_once('.').unwrap_or(("", &line.key));
        tables.entry(table.to_owned()).or_default().push((key, line));
    }
    for (table, lines) in tables {
        if !table.is_empty() {
            let _ = writeln!(text, "\n[{table}]");
        }
        let stated: Vec<&str> =
            lines.iter().filter(|(_, l)| !l.open && !l.value.is_null()).map(|(key, _)| *key).collect();
        for (key, line) in lines {
            if line.value.is_null() {
                let _ = writeln!(text, "# {}", one_line(&line.why));
                continue;
            }
            // A question about a key that is answered above it would make the file say it twice.
            let again = if line.open && stated.contains(&key) { ", instead of the line above" } else { "" };
            let mark = if line.open { "#? " } else { "" };
            let _ =
                writeln!(text, "{mark}{key} = {}  # {}{again}", toml_value(&line.value), one_line(&line.why));
        }
    }
    text
}

/// What is said once a draft is written.
pub(crate) fn drafted(out: &Path, log: &Path, drafted: &[Drafted]) -> String {
    let mut open: Vec<&str> = drafted.iter().filter(|line| line.open).map(|line| line.key.as_str()).collect();
    open.sort_unstable();
    open.dedup();
    let questions = match open.len() {
        0 => "nothing is left open".to_owned(),
        1 => format!("one question is left open: {}", open.join("")),
        more => format!("{more} questions are left open: {}", open.join(", ")),
    };
    format!(
        "{}\n{questions}\nsee what is made of every row: fulgurite mapping check {} {}\n",
        out.display(),
        out.display(),
        log.display()
    )
}

fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A JSON value as TOML writes it: texts, numbers, truth values and lists of them.
fn toml_value(value: &Value) -> String {
    match value {
        Value::Array(items) => {
            format!("[{}]", items.iter().map(toml_value).collect::<Vec<_>>().join(", "))
        }
        Value::String(text) => {
            let mut quoted = String::from("\"");
            for c in text.chars() {
                match c {
                    '"' => quoted.push_str("\\\""),
                    '\\' => quoted.push_str("\\\\"),
                    c if c.is_control() => {
                        let _ = write!(quoted, "\\u{:04X}", u32::from(c));
                    }
                    c => quoted.push(c),
                }
            }
            quoted.push('"');
            quoted
        }
        other => other.to_string(),
    }
}

/// What became of one row.
enum Became {
    Read(Vec<String>),
    Refused { last: u64, code: String, why: String, column: Option<String>, help: Vec<String> },
}

fn by_row(taken: &Taken) -> BTreeMap<u64, Became> {
    let mut rows: BTreeMap<u64, Became> = BTreeMap::new();
    let mut read = |row: u64, what: String| {
        if let Became::Read(list) = rows.entry(row).or_insert_with(|| Became::Read(Vec::new())) {
            list.push(what);
        }
    };
    for series in taken.series.iter() {
        match (series.shots.as_slice(), series.origin.rows) {
            ([], Some(origin)) => {
                read(origin.first, format!("{} x {}{}", what(series), series.count, more(series)))
            }
            ([], None) => {}
            (shots, _) => {
                for (number, shot) in (1..).zip(shots) {
                    read(
                        shot.row,
                        format!("{}, discharge {number} of {}{}", what(series), shots.len(), more(series)),
                    );
                }
            }
        }
    }
    for observation in &taken.observations {
        if let Some(origin) = observation.origin.rows {
            read(origin.first, seen(observation));
        }
    }
    for row in &taken.unread {
        let finding = taken
            .findings
            .iter()
            .find(|f| f.code == row.code && f.place.as_ref().is_some_and(|p| p.row == Some(row.row)));
        let place = finding.and_then(|f| f.place.as_ref());
        let column = place.and_then(|p| match (p.column, &p.label) {
            (Some(column), Some(label)) => Some(format!("column {column} `{label}`")),
            (Some(column), None) => Some(format!("column {column}")),
            (None, label) => label.clone(),
        });
        let help = finding.map(|f| f.help.clone()).unwrap_or_default();
        let (last, code, why) = (row.last_row, row.code.clone(), row.why.clone());
        rows.insert(row.row, Became::Refused { last, code, why, column, help });
    }
    rows
}

fn what(series: &Series) -> String {
    format!("{} {} {}{}", series.point, series.application, series.polarity.sign(), series.voltage_kv)
}

fn more(series: &Series) -> String {
    let mut text = String::new();
    if let Some(interval) = series.interval_s {
        let _ = write!(text, ", every {interval}");
    }
    if let Some(started) = &series.started {
        let _ = write!(text, ", {started}");
    }
    if let Some(remark) = &series.remark {
        let _ = write!(text, "; {remark}");
    }
    text
}

fn seen(observation: &Observation) -> String {
    let class = observation.written_class.map(|class| format!(" (class {class})")).unwrap_or_default();
    format!("observed: {}{class}", observation.seen.as_deref().unwrap_or("not said in words"))
}

/// Whether a finding is shown beside its row already.
pub(crate) fn is_about_a_row(finding: &Finding, taken: &Taken) -> bool {
    finding.severity == Severity::Error
        && taken.unread.iter().any(|row| {
            row.code == finding.code && finding.place.as_ref().is_some_and(|p| p.row == Some(row.row))
        })
}

/// How a log was understood, and each row with what it was read as, or why it is refused.
pub(crate) fn rows(taken: &Taken, limit: usize) -> String {
    let mut text = styled(STRONG, "understood as");
    text.push('\n');
    for line in &taken.understood {
        let _ = writeln!(text, "  {}", one_line(line));
    }
    let _ = writeln!(text, "{}", styled(STRONG, "rows"));
    let rows = by_row(taken);
    let (mut shown, mut left_out) = (0usize, 0usize);
    for (row, became) in &rows {
        match became {
            Became::Read(list) if shown < limit => {
                shown += 1;
                let _ = writeln!(text, "{row:>6}  {}", one_line(&list.join("; ")));
            }
            Became::Read(_) => left_out += 1,
            Became::Refused { last, code, why, column, help } => {
                let span = if last > row { format!("{row}-{last}") } else { row.to_string() };
                let column = column.as_ref().map(|c| format!("{}: ", one_line(c))).unwrap_or_default();
                let _ = writeln!(
                    text,
                    "{span:>6}  {} {column}{} {}",
                    styled(BAD, "refused:"),
                    one_line(why),
                    styled(FAINT, format!("[{code}]"))
                );
                for line in help {
                    let _ = writeln!(text, "        {}", styled(CARE, format!("= {}", one_line(line))));
                }
            }
        }
    }
    if left_out > 0 {
        let _ = writeln!(text, "     …  {left_out} more rows are read (--rows all shows them)");
    }
    if let Some(account) = taken.account {
        let _ = writeln!(text, "{account}");
    }
    text
}

/// The rows for programs: an object a line, which says its sheet where several were read.
pub(crate) fn rows_as_json(taken: &Taken, several: bool) -> String {
    let mut text = String::new();
    let sheet = taken.part.as_deref().filter(|_| several);
    for (row, became) in by_row(taken) {
        let mut value = match became {
            Became::Read(list) => json!({ "row": row, "read": list }),
            Became::Refused { last, code, why, column, help } => json!({
                "row": row, "last_row": last,
                "refused": { "code": code, "why": why, "column": column, "help": help },
            }),
        };
        if let (Some(sheet), Some(object)) = (sheet, value.as_object_mut()) {
            object.insert("sheet".to_owned(), sheet.into());
        }
        let _ = writeln!(text, "{value}");
    }
    text
}
