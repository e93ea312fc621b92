//! Rows that could not be read, kept byte for byte beside the outputs, each with the finding that says why.
//!
//! The rows of a log stand below its own header, so that the file reads like the log once its rows are mended.

use crate::original::Originals;
use crate::physical_rows;
use plugin_api::Artifact;
use record::{Record, SourceId};
use serde_json::json;
use std::collections::BTreeMap;
use std::io;

/// How a zip, and with it a workbook, begins.
const ZIP: &[u8] = b"PK\x03\x04";

/// The artifacts that keep a record's unread rows: the rows of each file as they stand there, and a list.
pub(crate) fn artifacts(record: &Record, originals: &Originals, stem: &str) -> io::Result<Vec<Artifact>> {
    if record.unread.is_empty() {
        return Ok(Vec::new());
    }
    let mut by_source: BTreeMap<SourceId, Vec<u64>> = BTreeMap::new();
    for row in &record.unread {
        by_source.entry(row.source).or_default().extend(row.row..=row.last_row);
    }
    let mut artifacts = Vec::new();
    for (id, mut rows) in by_source {
        rows.sort_unstable();
        rows.dedup();
        let Some(Some(original)) = originals.files.get(id.0 as usize) else { continue };
        let name = record.sources.get(id.0 as usize).map(|s| s.name.clone()).unwrap_or_default();
        let head = original.head(4096)?;
        // Rows of a workbook are no stretches of its bytes; the list has their text.
        if head.starts_with(ZIP) {
            continue;
        }
        let understood = record.sources.get(id.0 as usize).map(|s| s.understood_as.as_slice());
        let mut heading = heading(understood.unwrap_or_default());
        heading.retain(|row| !rows.contains(row));
        let mark = physical_rows::mark(&head);
        let first = heading.iter().chain(&rows).min() == Some(&1);
        rows.extend(heading);
        rows.sort_unstable();
        let mut bytes = if first { Vec::new() } else { mark.to_vec() };
        bytes.extend(physical_rows::rows(&mut *original.open()?, &head, &rows)?);
        let path = format!("{stem}.set-aside/{}", name.replace(['\\', ':'], "_"));
        artifacts.push(Artifact::bytes(path, "application/octet-stream", "set-aside", bytes));
    }
    let mut list = String::new();
    for row in &record.unread {
        let place = record.place(&record::Origin::rows(row.source, row.row, row.last_row));
        let finding = record.findings.iter().find(|f| {
            f.code == row.code
                && f.place.as_ref().is_some_and(|p| p.file == place.file && p.row == Some(row.row))
        });
        let line = json!({
            "file": place.file,
            "row": row.row,
            "last_row": row.last_row,
            "column": finding.and_then(|f| f.place.as_ref()).and_then(|p| p.column),
            "text": row.text,
            "code": row.code,
            "why": row.why,
            "help": finding.map(|f| f.help.clone()).unwrap_or_default(),
        });
        list += &line.to_string();
        list.push('\n');
    }
    artifacts.push(Artifact::bytes(
        format!("{stem}.set-aside/set-aside.jsonl"),
        "application/jsonl",
        "set-aside",
        list.into_bytes(),
    ));
    Ok(artifacts)
}

/// The rows that a log is understood by: its `sep=` line, header and units, as its reader says.
fn heading(understood: &[String]) -> Vec<u64> {
    let row = |line: &String| {
        let row = line.strip_prefix("header: row ").or(line.strip_prefix("units: row "));
        let hint = line.starts_with("delimiter: ") && line.ends_with("(named by the first line)");
        row.and_then(|row| row.parse().ok()).or(hint.then_some(1))
    };
    let mut rows: Vec<u64> = understood.iter().filter_map(row).collect();
    rows.sort_unstable();
    rows.dedup();
    rows
}
