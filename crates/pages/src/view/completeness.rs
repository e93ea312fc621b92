//! What plan, records and report must hold, by list and by how it stands.

use super::Subject;
use assess::completeness::{CompletenessItem, CompletenessState};
use serde_json::{Map, Value, json};

pub(super) fn add(subject: &Subject<'_>, root: &mut Map<String, Value>) {
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
                items.iter().filter(|i| i.list == name && i.state == state).map(row).collect()
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

fn row(item: &CompletenessItem) -> Value {
    json!({
        "clause": item.clause,
        "asks": item.asks,
        "text": item.text,
        "status": item.status.as_str(),
        "sound": item.status.is_sound(),
    })
}
