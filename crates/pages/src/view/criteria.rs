//! What the words of the demands mean, as the standard's data have it.

use super::completeness::slug;
use super::facts::list;
use super::{Subject, text};
use crate::Words;
use serde_json::{Map, Value, json};

/// Each word that a demand accepts, once, in the order of the demands; words that the standard's data don't have are
/// left to the verdict, which says so.
pub(super) fn add(subject: &Subject<'_>, words: &Words, root: &mut Map<String, Value>) {
    let mut names: Vec<&String> = Vec::new();
    for word in subject.record.facts.demands.iter().flat_map(|demand| &demand.accepted) {
        if !names.contains(&word) {
            names.push(word);
        }
    }
    let known = subject.standard.into_iter().flat_map(|s| names.iter().filter_map(|name| s.outcome(name)));
    let known: Vec<_> = known.collect();
    root.insert(
        "criteria".into(),
        list(&known, |outcome| {
            json!({
                "name": outcome.name,
                "meaning": outcome.meaning,
                "meaning_said": text(words.get(&format!("meaning.{}", slug(&outcome.meaning)))),
                "classes": list(&outcome.classes, |class| json!(class.to_string())),
                "status": outcome.status.as_str(),
                "sound": outcome.status.is_sound(),
            })
        }),
    );
}
