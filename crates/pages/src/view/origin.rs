//! Where the data came from: files, rows that were set aside, findings, fields that nobody knows.

use super::facts::list;
use super::{Subject, text};
use record::{Finding, Origin, Record};
use serde_json::{Map, Value, json};

/// Origins shown at one place; more are counted.
const SHOWN: usize = 6;

pub(super) fn add(subject: &Subject<'_>, root: &mut Map<String, Value>) {
    let record = subject.record;
    root.insert(
        "sources".into(),
        list(&record.sources, |s| {
            json!({
                "name": s.name,
                "role": s.role.as_str(),
                "bytes": s.bytes.to_string(),
                "sha256": s.sha256,
                "read_by": s.read_by,
                "understood_as": s.understood_as.join("; "),
                "account": s.account.map(|a| json!({
                    "total": a.total.to_string(),
                    "used": a.used.to_string(),
                    "set_aside": a.set_aside.to_string(),
                    "other": (a.preamble + a.footer + a.blank).to_string(),
                })),
            })
        }),
    );
    root.insert(
        "unread".into(),
        list(&record.unread, |u| {
            let origin = Origin::rows(u.source, u.row, u.row);
            json!({"place": place(record, &origin), "text": u.text, "why": u.why, "code": u.code})
        }),
    );
    let mut findings: Vec<&Finding> = record.findings.iter().chain(&subject.assessment.findings).collect();
    findings.sort_by_key(|f| f.severity);
    root.insert(
        "findings".into(),
        Value::Array(
            findings
                .into_iter()
                .map(|f| {
                    json!({
                        "severity": f.severity.as_str(),
                        "message": f.message,
                        "code": f.code,
                        "place": text(f.place.as_ref()),
                        "help": f.help.join("; "),
                        "clause": f.clause,
                        "listed": super::kept::listed(&f.code),
                    })
                })
                .collect(),
        ),
    );
    root.insert(
        "passed_through".into(),
        Value::Array(
            record.passed_through.iter().map(|(path, json)| json!({"path": path, "json": json})).collect(),
        ),
    );
}

/// A place in words: `log.csv:14`, `log.csv:14-33`.
pub(super) fn place(record: &Record, origin: &Origin) -> String {
    let file = record.place(origin).file;
    match origin.rows {
        Some(rows) => {
            // Behind a sheet's name stands its mark already.
            let mark = if file.ends_with('!') { "" } else { ":" };
            let last = if rows.first == rows.last { String::new() } else { format!("\u{2013}{}", rows.last) };
            format!("{file}{mark}{}{last}", rows.first)
        }
        None => file,
    }
}

/// Places in words, the first few of them, and how many more there are. Rows of one file that follow one
/// another are joined.
pub(super) fn places<'a>(record: &Record, origins: impl IntoIterator<Item = &'a Origin>) -> Value {
    let mut joined: Vec<Origin> = Vec::new();
    for origin in origins {
        let next = Origin { column: None, ..origin.clone() };
        if let (Some(last), Some(rows)) = (joined.last_mut(), next.rows)
            && last.source == next.source
            && let Some(before) = &mut last.rows
            && rows.first >= before.first
            && rows.first <= before.last + 1
        {
            before.last = before.last.max(rows.last);
            continue;
        }
        if joined.last() != Some(&next) {
            joined.push(next);
        }
    }
    let shown: Vec<String> = joined.iter().take(SHOWN).map(|o| place(record, o)).collect();
    json!({"list": shown, "more": if joined.len() > SHOWN { json!((joined.len() - SHOWN).to_string()) } else { Value::Null }})
}
