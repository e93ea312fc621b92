//! What an amended report changes: facts and results, before and now.

use super::wording::Worder;
use super::{Subject, differences};
use crate::Words;
use assess::{Changes, SeriesResult, Verdict};
use serde_json::{Map, Value, json};

pub(super) fn add(subject: &Subject<'_>, words: &Words, root: &mut Map<String, Value>) {
    let is_report = subject.assessment.missing_identity.is_empty();
    let changes = subject.changes.map_or(Value::Null, |changes| {
        let results = if is_report { results(Worder { subject, words }, changes) } else { Value::Null };
        let nothing = changes.facts.is_empty() && changes.results.is_empty();
        json!({
            "earlier": {
                "number": changes.earlier.number,
                "revision": changes.earlier.revision,
                "pack": changes.earlier.pack,
                "other_rules": changes.earlier.rules_version
                    .filter(|rules| *rules != u64::from(subject.assessment.rules_version)),
            },
            "nothing": nothing,
            "facts": differences(subject, words),
            "more_facts": Some(changes.more_facts).filter(|more| *more > 0),
            "results": results,
        })
    });
    root.insert("changes".into(), changes);
}

fn results(worder: Worder<'_>, changes: &Changes) -> Value {
    // A series that only the earlier plan had keeps the label that it was compared under.
    let label = |label: &String| {
        if worder.english() { label.clone() } else { worder.of_label(label).unwrap_or_else(|| label.clone()) }
    };
    let found = &changes.results;
    let word = |verdict: Option<Verdict>| verdict.map(Verdict::as_str);
    json!({
        "before": found.verdicts.0.as_str(),
        "now": found.verdicts.1.as_str(),
        "states": found.states.iter().map(|change| json!({
            "state": change.state, "before": word(change.before), "now": word(change.after),
        })).collect::<Vec<_>>(),
        "gained": found.gained.iter().map(label).collect::<Vec<_>>(),
        "lost": found.lost.iter().map(label).collect::<Vec<_>>(),
        "series": found.series.iter().map(|change| json!({
            "label": label(&change.label),
            "before": change.before.as_ref().map(series),
            "now": change.after.as_ref().map(series),
        })).collect::<Vec<_>>(),
    })
}

fn series(result: &SeriesResult) -> Value {
    json!({
        "verdict": result.verdict.as_str(),
        "counted": result.counted,
        "required": result.required,
        "worst": result.worst.map(|class| class.to_string()),
    })
}
