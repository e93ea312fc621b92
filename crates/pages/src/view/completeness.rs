//! What plan, records and report must hold, by list and by how it stands.

use super::{Subject, named};
use crate::Words;
use assess::completeness::{CompletenessItem, CompletenessState};
use serde_json::{Map, Value, json};

pub(super) fn add(subject: &Subject<'_>, words: &Words, root: &mut Map<String, Value>) {
    let items = &subject.assessment.completeness;
    let mut names: Vec<&str> = Vec::new();
    for item in items {
        if !names.contains(&item.list.as_str()) {
            names.push(&item.list);
        }
    }
    let lists: Vec<Value> = names
        .into_iter()
        .map(|name| {
            let of = |state: CompletenessState| -> Vec<Value> {
                items
                    .iter()
                    .filter(|i| i.list == name && i.state == state)
                    .map(|item| row(item, words))
                    .collect()
            };
            json!({
                "name": name,
                "missing": of(CompletenessState::Missing),
                "not_applicable": of(CompletenessState::NotApplicable),
                "stated": of(CompletenessState::Stated),
            })
        })
        .collect();
    root.insert("completeness".into(), json!({ "lists": lists }));
}

fn row(item: &CompletenessItem, words: &Words) -> Value {
    json!({
        "clause": named::clause(words, &item.clause),
        "asks": item.asks,
        "asks_said": said(words, &item.asks),
        "text": item.text,
        "text_said": said_each(words, &item.text),
        "status": item.status.as_str(),
        "sound": item.status.is_sound(),
    })
}

/// What stands between the parts of an item's text.
const BETWEEN: &str = "; ";

/// All parts of a text in the paper's language; none where one of them has no words there.
fn said_each(words: &Words, text: &str) -> Option<String> {
    let parts: Option<Vec<String>> = text.split(BETWEEN).map(|part| said(words, part)).collect();
    Some(parts?.join(words.get("mark.semicolon")?))
}

/// A sentence of a list in the paper's language: by its own words, or by what is said not to be stated.
fn said(words: &Words, english: &str) -> Option<String> {
    let by = |table: &str, english: &str| words.get(&format!("{table}.{}", slug(english))).map(str::to_owned);
    by("asked", english).or_else(|| {
        let (what, of) = english.split_once(" not stated for ")?;
        let (names, more) = match of
            .rsplit_once(" and ")
            .and_then(|(names, more)| Some((names, more.strip_suffix(" more")?)))
        {
            Some((names, n)) => (names, format!(" {}", words.get("and_more")?.replace("{n}", n))),
            None => (of, String::new()),
        };
        let sentence = words.get("asked.not-stated-for")?;
        let names = format!("{names}{more}");
        crate::words::fill(sentence, &[("what", by("asked", what)?), ("names", names)]).ok()
    })
}

/// The key that words for a sentence have: the English one in small letters, with hyphens between.
pub(super) fn slug(english: &str) -> String {
    let words = english.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-").to_ascii_lowercase()
}
