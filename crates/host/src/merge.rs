//! Puts together what several files of a job state: the job file, and forms filled at the bench.

use crate::codes;
use crate::original::{Original, Originals};
use plugin_api::Taken;
use plugin_api::wire::v1::{facts_from_value, facts_to_value};
use record::{
    Draft, Facts, Finding, ObservationId, Origin, Place, SeriesId, SourceFile, SourceId, SourceRole,
    UnreadRow,
};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// A file that grows, with the names of its entries.
pub(crate) struct Growing {
    source: SourceId,
    entries: BTreeSet<String>,
}

/// Takes the facts that a file was made from, those that it adds, and the files inside it. Returns whether something
/// went wrong so that nothing may be written; the finding is filed.
pub(crate) fn take(
    draft: &mut Draft,
    originals: &mut Originals,
    taken: &mut Taken,
    id: SourceId,
    has_facts: bool,
    of_job: Option<&Facts>,
) -> bool {
    let file = draft.sources.get(id.0 as usize).map(|s| s.name.clone()).unwrap_or_default();
    let mut troubled = false;
    if let Some(ground) = taken.ground.take() {
        if has_facts {
            // What another form has stated since is no difference of the job.
            let now = of_job.unwrap_or(&draft.facts).clone();
            compare(draft, &now, &ground, &file);
        } else {
            draft.facts = *ground;
        }
    }
    if let Some(stated) = taken.stated.take() {
        let (facts, origins) = *stated;
        troubled = add(draft, &facts, origins);
    }
    for (name, bytes) in taken.embedded.drain(..) {
        let original = Original::held(bytes);
        let source = SourceId(u32::try_from(draft.sources.len()).unwrap_or(u32::MAX));
        draft.sources.push(SourceFile {
            name: name.clone(),
            role: SourceRole::Attachment,
            bytes: original.bytes,
            sha256: original.sha256.clone(),
            part: None,
            read_by: None,
            understood_as: vec![format!("inside {file}")],
            account: None,
        });
        originals.files.push(Some(original));
        for attachment in draft.facts.attachments.iter_mut().filter(|a| a.file == name) {
            attachment.source = Some(source);
        }
    }
    troubled
}

/// Where the facts that a form was made from differ from the job's as they are now: the job's hold, and it is said.
fn compare(draft: &mut Draft, now: &Facts, ground: &Facts, file: &str) {
    let (now, then) = (facts_to_value(now), facts_to_value(ground));
    let (Some(now), Some(then)) = (now.as_object(), then.as_object()) else { return };
    let keys: BTreeSet<&String> = now.keys().chain(then.keys()).collect();
    for key in keys {
        // What forms add grows while several of them are read.
        if ADDED.contains(&key.as_str()) || now.get(key) == then.get(key) {
            continue;
        }
        let (path, one, other) = first_difference(key, now.get(key), then.get(key));
        let message = format!(
            "`{}` was {} when the form was made, and is {} in the job now",
            path.trim_start_matches('/').replace('/', "."),
            shown(other),
            shown(one)
        );
        let mut finding = Finding::warning(codes::FORM_DIFFERS, message)
            .at(Place { file: file.to_owned(), ..Place::default() })
            .help("the job's value holds; see that it is the one under which the work was done");
        if let Some(place) = place_of(draft, &path) {
            finding = finding.with_related(place, "in the job");
        }
        draft.findings.push(finding);
    }
}

/// Lists to which forms add, days that widen, and what is only written once the forms are there.
const ADDED: &[&str] = &[
    "climate",
    "setup_checks",
    "people",
    "states",
    "attachments",
    "work_started",
    "work_ended",
    "rulings",
    "judgements",
    "opinions",
];

/// The first place at which two values differ.
fn first_difference<'a>(
    path: &str,
    one: Option<&'a Value>,
    other: Option<&'a Value>,
) -> (String, Option<&'a Value>, Option<&'a Value>) {
    match (one, other) {
        (Some(Value::Object(a)), Some(Value::Object(b))) => {
            let keys: BTreeSet<&String> = a.keys().chain(b.keys()).collect();
            let found = keys.into_iter().find(|key| a.get(*key) != b.get(*key));
            match found {
                Some(key) => first_difference(&format!("{path}/{key}"), a.get(key), b.get(key)),
                None => (path.to_owned(), one, other),
            }
        }
        (Some(Value::Array(a)), Some(Value::Array(b))) => {
            let found = (0..a.len().max(b.len())).find(|index| a.get(*index) != b.get(*index));
            match found {
                Some(index) => first_difference(&format!("{path}/{index}"), a.get(index), b.get(index)),
                None => (path.to_owned(), one, other),
            }
        }
        _ => (if path.starts_with('/') { path.to_owned() } else { format!("/{path}") }, one, other),
    }
}

fn shown(value: Option<&Value>) -> String {
    match value {
        None => "not stated".into(),
        Some(Value::String(text)) => format!("`{text}`"),
        Some(other) => {
            let text = other.to_string();
            match text.char_indices().nth(80) {
                Some((end, _)) => format!("`{}...`", &text[..end]),
                None => format!("`{text}`"),
            }
        }
    }
}

fn place_of(draft: &Draft, path: &str) -> Option<Place> {
    let mut path = path;
    loop {
        if let Some(origin) = draft.origins.get(path) {
            let source = draft.sources.get(origin.source.0 as usize)?;
            return Some(Place {
                file: source.name.clone(),
                row: origin.rows.map(|r| r.first),
                column: origin.column,
                label: None,
            });
        }
        path = &path[..path.rfind('/')?];
    }
}

/// Adds facts to the draft's. Lists grow. What was seen at the bench holds over what the job had planned; where two
/// forms differ the first holds, and that is an error. Both values are shown.
fn add(draft: &mut Draft, facts: &Facts, mut origins: BTreeMap<String, Origin>) -> bool {
    let (mut whole, stated) = (facts_to_value(&draft.facts), facts_to_value(facts));
    let (Some(into), Value::Object(from)) = (whole.as_object_mut(), stated) else { return false };
    let seen_at_the_bench: BTreeSet<String> = draft
        .origins
        .iter()
        .filter(|(_, origin)| {
            draft.sources.get(origin.source.0 as usize).is_some_and(|source| source.role == SourceRole::Form)
        })
        .map(|(path, _)| path.clone())
        .collect();
    let mut conflicts = Vec::new();
    for (key, value) in from {
        match (key.as_str(), value) {
            ("work_started" | "work_ended", value) => widen(into, &key, value),
            (_, Value::Array(items)) => {
                let list = into.entry(key.clone()).or_insert_with(|| Value::Array(Vec::new()));
                let Some(list) = list.as_array_mut() else { continue };
                for (index, item) in items.into_iter().enumerate() {
                    let origin = origins.remove(&format!("/{key}/{index}"));
                    if list.contains(&item) {
                        continue;
                    }
                    if let Some(origin) = origin {
                        draft.origins.insert(format!("/{key}/{}", list.len()), origin);
                    }
                    list.push(item);
                }
            }
            (_, value) => {
                let path = format!("/{key}");
                one_value(into, &key, value, &path, &seen_at_the_bench, &mut conflicts);
            }
        }
    }
    for (path, one, other) in conflicts {
        let twice = seen_at_the_bench.contains(&path);
        let origin = if twice { origins.remove(&path) } else { origins.get(&path).cloned() };
        let name = path.trim_start_matches('/').replace('/', ".");
        let (first, second) = (shown(Some(&one)), shown(Some(&other)));
        let mut finding = if twice {
            Finding::error(
                codes::STATED_TWICE,
                format!("`{name}` is {first} in one form and {second} in another"),
            )
            .help("the first value holds until a named person rules on the row ([[rulings]]): find out which is right, and for which series")
        } else {
            Finding::warning(
                codes::STATED_TWICE,
                format!("`{name}` is {first} in the job and {second} at the bench"),
            )
            .help("what was seen at the bench holds; correct the wrong one where it was written")
        };
        if let Some((origin, rows)) = origin.as_ref().and_then(|origin| Some((origin, origin.rows?)))
            && twice
        {
            // Which of the two held for which series is not known: somebody has to rule.
            draft.unread.push(UnreadRow {
                source: origin.source,
                row: rows.first,
                last_row: rows.last,
                text: format!("{name} = {other}"),
                code: codes::STATED_TWICE.to_owned(),
                why: format!(
                    "somebody must rule, since `{name}` is {first} in one form and {second} in another"
                ),
            });
        }
        if let Some(place) = origin.and_then(|origin| {
            let source = draft.sources.get(origin.source.0 as usize)?;
            Some(Place { file: source.name.clone(), row: origin.rows.map(|r| r.first), ..Place::default() })
        }) {
            finding = finding.at(place);
        }
        if let Some(place) = place_of(draft, &path) {
            finding = finding.with_related(place, "first stated here");
        }
        draft.findings.push(finding);
    }
    draft.origins.extend(origins);
    match facts_from_value(whole, &[]) {
        Ok((facts, _)) => {
            draft.facts = facts;
            false
        }
        Err(troubles) => {
            for trouble in troubles {
                draft
                    .findings
                    .push(Finding::error(trouble.code, format!("{}: {}", trouble.path, trouble.message)));
            }
            true
        }
    }
}

/// Work began on the earliest day that anybody names, and ended on the latest.
fn widen(into: &mut Map<String, Value>, key: &str, value: Value) {
    let wider = match (into.get(key).and_then(Value::as_str), value.as_str()) {
        (Some(held), Some(new)) if key == "work_started" => new < held,
        (Some(held), Some(new)) => new > held,
        _ => true,
    };
    if wider {
        into.insert(key.to_owned(), value);
    }
}

fn one_value(
    into: &mut Map<String, Value>,
    key: &str,
    value: Value,
    path: &str,
    first_holds: &BTreeSet<String>,
    conflicts: &mut Vec<(String, Value, Value)>,
) {
    match (into.get_mut(key), value) {
        (None, value) => {
            into.insert(key.to_owned(), value);
        }
        (Some(Value::Object(held)), Value::Object(new)) => {
            // "Does not apply" is a word of its own: it is not completed by parts.
            if held.contains_key("not_applicable") {
                conflicts.push((path.to_owned(), Value::Object(held.clone()), Value::Object(new.clone())));
                *held = new;
                return;
            }
            for (key, value) in new {
                let path = format!("{path}/{key}");
                one_value(held, &key, value, &path, first_holds, conflicts);
            }
        }
        (Some(held), value) if same(held, &value) => {}
        (Some(held), value) => {
            conflicts.push((path.to_owned(), held.clone(), value.clone()));
            if !first_holds.contains(path) {
                *held = value;
            }
        }
    }
}

/// Whether two values say the same; `150` and `150.0` do.
fn same(one: &Value, other: &Value) -> bool {
    let number = |value: &Value| match value {
        Value::String(text) => record::parse_decimal(text).ok(),
        Value::Number(number) => record::parse_decimal(&number.to_string()).ok(),
        _ => None,
    };
    one == other || number(one).is_some_and(|one| number(other) == Some(one))
}

/// Of copies of a file that grew between two savings only the latest counts. Two files that went on separately from
/// the same beginning both count; what they share counts once.
pub(crate) fn only_the_latest(
    draft: &mut Draft,
    growing: &mut Vec<Growing>,
    taken: &mut Taken,
    id: SourceId,
) {
    let name = |draft: &Draft, id: SourceId| {
        draft.sources.get(id.0 as usize).map(|s| s.name.clone()).unwrap_or_default()
    };
    let entries: BTreeSet<String> = taken.entries.iter().cloned().collect();
    let place = Place { file: name(draft, id), ..Place::default() };
    for other in growing.iter() {
        if other.entries.is_disjoint(&entries) {
            continue;
        }
        let theirs = Place { file: name(draft, other.source), ..Place::default() };
        if entries.is_subset(&other.entries) {
            draft.findings.push(
                Finding::note(codes::EARLIER_COPY, "an earlier copy of another form of this job")
                    .at(place.clone())
                    .with_related(theirs, "the later one, which counts"),
            );
            taken.series.clear();
            taken.observations.clear();
        } else if other.entries.is_subset(&entries) {
            draft.findings.push(
                Finding::note(codes::EARLIER_COPY, "an earlier copy of another form of this job")
                    .at(theirs)
                    .with_related(place.clone(), "the later one, which counts"),
            );
            let old = other.source;
            draft.series.retain(|series| series.origin.source != old);
            draft.observations.retain(|observation| observation.origin.source != old);
        } else {
            draft.findings.push(
                Finding::warning(
                    codes::FORMS_PARTED,
                    "this form and another one went on separately from the same beginning",
                )
                .at(place.clone())
                .with_related(theirs, "the other one")
                .help("both count, and what they share counts once; see that nothing was done twice"),
            );
            let held: HashSet<&SeriesId> = draft.series.iter().map(|series| &series.id).collect();
            taken.series.retain(|series| !held.contains(&series.id));
            let held: HashSet<&ObservationId> = draft.observations.iter().map(|seen| &seen.id).collect();
            taken.observations.retain(|seen| !held.contains(&seen.id));
        }
    }
    growing.push(Growing { source: id, entries });
}
