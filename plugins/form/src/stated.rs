//! From what was stated at the bench to facts of the record, with the row of each.

use crate::day::{Day, Placed};
use record::{Facts, Origin, SourceId};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// Facts in the canonical form, and the row of each by its path.
#[derive(Debug, Default)]
pub(crate) struct Stated {
    pub(crate) value: Map<String, Value>,
    pub(crate) rows: BTreeMap<String, u64>,
}

impl Stated {
    fn put(&mut self, part: &str, key: &str, value: Value, row: u64) {
        let holder = self.value.entry(part).or_insert_with(|| Value::Object(Map::new()));
        if let Some(object) = holder.as_object_mut() {
            object.insert(key.to_owned(), value);
            self.rows.insert(format!("/{part}/{key}"), row);
        }
    }

    fn push(&mut self, list: &str, item: Map<String, Value>, row: u64) {
        let holder = self.value.entry(list).or_insert_with(|| Value::Array(Vec::new()));
        if let Some(items) = holder.as_array_mut() {
            self.rows.insert(format!("/{list}/{}", items.len()), row);
            items.push(Value::Object(item));
        }
    }

    /// Origins in a source.
    pub(crate) fn origins(&self, source: SourceId) -> BTreeMap<String, Origin> {
        self.rows.iter().map(|(path, row)| (path.clone(), Origin::rows(source, *row, *row))).collect()
    }
}

/// What the journal states, beyond the facts that the form was made from.
pub(crate) fn stated(day: &Day<'_>, ground: &Facts, photos_folder: &str) -> Stated {
    let mut facts = Stated::default();
    for (about, said) in &day.said {
        let mut item = said.values.clone();
        item.retain(|_, value| !value.is_null() && value.as_str() != Some(""));
        let row = said.row();
        if about.starts_with("climate/") {
            item.insert("at".into(), said.at().into());
            facts.push("climate", item, row);
        } else if about.starts_with("check/") {
            item.insert("at".into(), said.at().into());
            if let Some(by) = said.by() {
                item.insert("by".into(), by.into());
            }
            facts.push("setup_checks", item, row);
        } else if *about == "generator" {
            for (key, value) in item {
                facts.put("generator", &key, value, row);
            }
        } else if *about == "earthed" {
            if let Some(value) = item.remove("earthed") {
                facts.put("item", "earthed", value, row);
            }
        } else if *about == "charge"
            && let Some(value) = item.remove("method")
        {
            facts.put("charge_removal", "method", value, row);
        }
    }
    people(day, ground, &mut facts);
    states(day, ground, &mut facts);
    days(day, ground, &mut facts);
    for photo in &day.photos {
        let entry = &photo.entry;
        let Some(file) = &entry.file else { continue };
        let mut item = Map::new();
        item.insert("file".into(), format!("{photos_folder}{file}").into());
        item.insert("kind".into(), "photo".into());
        if let Some(caption) = &entry.caption {
            item.insert("caption".into(), caption.clone().into());
        }
        facts.push("attachments", item, photo.row);
    }
    facts
}

/// Who tested, and on which day they put their name under it.
fn people(day: &Day<'_>, ground: &Facts, facts: &mut Stated) {
    let mut names: Vec<(&str, u64)> = Vec::new();
    if let Some(said) = day.said.get("person") {
        for statement in &said.statements {
            let name =
                statement.entry.values.as_ref().and_then(|values| values.get("name")).and_then(Value::as_str);
            // A name that was typed wrongly did not test.
            let corrected = said.statements.iter().any(|later| {
                later.entry.n > statement.entry.n
                    && later
                        .entry
                        .why
                        .as_deref()
                        .is_some_and(|why| why == "wrong touch" || why == "read or typed wrongly")
            });
            if let Some(name) = name.filter(|_| !corrected) {
                names.push((name, statement.row));
            }
        }
    }
    if let Some(signed) = day.signed
        && let Some(name) = signed.entry.name.as_deref()
    {
        names.push((name, signed.row));
    }
    let mut seen: Vec<&str> = Vec::new();
    for (name, row) in names {
        let known =
            |person: &record::Person| person.part == record::PartPlayed::Tested && person.name == name;
        if seen.contains(&name) || ground.people.iter().any(known) {
            continue;
        }
        seen.push(name);
        let mut item = Map::new();
        item.insert("name".into(), name.into());
        item.insert("part".into(), "tested".into());
        let signed = day.signed.filter(|signed| signed.entry.name.as_deref() == Some(name));
        if let Some(on) = signed.and_then(|signed| signed.entry.at.get(..10)) {
            item.insert("on".into(), on.into());
        }
        facts.push("people", item, row);
    }
}

/// States of the item that the job did not foresee.
fn states(day: &Day<'_>, ground: &Facts, facts: &mut Stated) {
    let mut seen: Vec<&str> = ground.states.iter().map(|state| state.id.as_str()).collect();
    for placed in &day.states {
        let entry = &placed.entry;
        let Some(id) = entry.state.as_deref() else { continue };
        if seen.contains(&id) {
            continue;
        }
        seen.push(id);
        let mut item = Map::new();
        item.insert("id".into(), id.into());
        for (key, value) in
            [("description", &entry.description), ("reason", &entry.reason), ("by", &entry.by)]
        {
            if let Some(value) = value.as_deref().filter(|text| !text.trim().is_empty()) {
                item.insert(key.into(), value.into());
            }
        }
        item.insert("since".into(), entry.at.clone().into());
        facts.push("states", item, placed.row);
    }
}

/// First and last day of the work, where the job does not name them.
fn days(day: &Day<'_>, ground: &Facts, facts: &mut Stated) {
    let mut applied: Vec<(&str, u64)> = day
        .series
        .iter()
        .flat_map(|(_, work)| work.shots.iter().chain(&work.done))
        .filter_map(|placed| Some((applied_on(placed)?, placed.row)))
        .collect();
    applied.sort_unstable();
    if ground.work_started.is_none()
        && let Some((first, row)) = applied.first()
    {
        facts.value.insert("work_started".into(), json!(first));
        facts.rows.insert("/work_started".into(), *row);
    }
    if ground.work_ended.is_none()
        && let Some((last, row)) = applied.last()
    {
        facts.value.insert("work_ended".into(), json!(last));
        facts.rows.insert("/work_ended".into(), *row);
    }
}

/// The day on which an entry's discharges were applied: the sheet's, where it was copied from one.
pub(crate) fn applied_on(placed: &Placed) -> Option<&str> {
    match &placed.entry.copied {
        Some(copied) => Some(&copied.day),
        None => placed.entry.at.get(..10),
    }
}
