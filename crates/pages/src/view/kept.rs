//! What was entered at the bench and is not printed: each kind of it, and where it stands.
//!
//! The reader of a form says which rows hold what the record has no place for; what the record holds and no paper
//! prints one by one is found here.

use super::Subject;
use super::origin::place;
use crate::Words;
use record::{Origin, Record, SourceRole};
use serde_json::{Map, Value, json};

/// The finding in which a reader names rows by kind: `at 3-5, 8; why 12`.
const KEPT: &str = "form/kept-in-form";

/// What a paper says of a kind that the language's words do not have.
const OTHER: &str = "other";

pub(super) fn add(subject: &Subject<'_>, words: &Words, root: &mut Map<String, Value>) {
    let record = subject.record;
    let mut lines: Vec<(String, String)> = Vec::new();
    for finding in record.findings.iter().filter(|finding| finding.code == KEPT) {
        let Some(place) = &finding.place else { continue };
        for part in place.label.iter().flat_map(|label| label.split("; ")) {
            let (what, rows) = part.split_once(' ').unwrap_or((OTHER, part));
            let known = words.get(&format!("kept_what.{what}")).is_some();
            let what = if known { what } else { OTHER };
            lines.push((what.to_owned(), format!("{}:{}", place.file, rows.replace('-', "\u{2013}"))));
        }
    }
    for series in record.series.iter().filter(|series| of_a_form(record, &series.origin)) {
        if series.shots.iter().any(|shot| shot.at.is_some() || shot.spark.is_some()) {
            lines.push(("shots".to_owned(), place(record, &series.origin)));
        }
    }
    for source in record.sources.iter().filter(|source| source.role == SourceRole::Form) {
        lines.push(("links".to_owned(), source.name.clone()));
    }
    // One line for each kind, in the order in which the kinds came up.
    let mut kinds: Vec<(String, Vec<String>)> = Vec::new();
    for (what, place) in lines {
        match kinds.iter_mut().find(|(known, _)| *known == what) {
            Some((_, places)) => places.push(place),
            None => kinds.push((what, vec![place])),
        }
    }
    let kinds: Vec<Value> =
        kinds.iter().map(|(what, places)| json!({"what": what, "places": places.join("; ")})).collect();
    root.insert("kept".into(), Value::Array(kinds));
}

/// Whether the finding is shown by what it says, in the paper's language, and not in the table of findings.
pub(super) fn listed(code: &str) -> bool {
    code == KEPT
}

fn of_a_form(record: &Record, origin: &Origin) -> bool {
    usize::try_from(origin.source.0)
        .ok()
        .and_then(|at| record.sources.get(at))
        .is_some_and(|source| source.role == SourceRole::Form)
}
