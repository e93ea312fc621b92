//! What two records and what they come to differ in, as JSON: for `compare` and for packs of amended reports.

use super::record_to_value;
use crate::wire::differences;
use assess::{
    Assessment, Changes, Comparison, CoverageState, Earlier, FactChange, SeriesChange, SeriesResult,
    StateChange, Verdict, compare,
};
use record::Record;
use serde_json::{Value, json};

/// Facts that differ and are listed; further ones are counted.
const MOST_FACTS: usize = 200;

/// Compares an earlier record and what it comes to with a later one.
pub fn changes(
    earlier: (&Record, &Assessment),
    later: (&Record, &Assessment),
    pack: Option<&str>,
) -> Changes {
    let found = differences(&facts(earlier.0), &facts(later.0), MOST_FACTS);
    let text = |value: &Option<Value>| value.as_ref().map(Value::to_string);
    Changes {
        earlier: Earlier {
            number: earlier.0.facts.report.number.clone(),
            revision: earlier.0.facts.report.revision.clone(),
            pack: pack.map(str::to_owned),
            rules_version: None,
        },
        facts: found
            .list
            .iter()
            .map(|one| FactChange {
                path: one.path.clone(),
                before: text(&one.first),
                after: text(&one.second),
            })
            .collect(),
        more_facts: found.more as u64,
        results: compare(earlier.1, later.1),
    }
}

/// What a record says, without where it was read: the same fact in another row is the same fact.
fn facts(record: &Record) -> Value {
    let mut value = record_to_value(record);
    if let Some(object) = value.as_object_mut() {
        for key in ["schema", "sources", "origins", "findings"] {
            object.remove(key);
        }
    }
    without_places(&mut value);
    value
}

fn without_places(value: &mut Value) {
    match value {
        Value::Object(object) => {
            for key in ["origin", "completed_at", "row"] {
                object.remove(key);
            }
            object.values_mut().for_each(without_places);
        }
        Value::Array(list) => list.iter_mut().for_each(without_places),
        _ => {}
    }
}

/// The comparison as JSON. A value of a fact is that of the canonical JSON; `null` stands for nothing stated.
pub fn changes_to_value(changes: &Changes) -> Value {
    let results = &changes.results;
    let value = |text: &Option<String>| -> Value {
        text.as_ref().map_or(Value::Null, |text| serde_json::from_str(text).unwrap_or(Value::Null))
    };
    json!({
        "earlier": {
            "number": changes.earlier.number,
            "revision": changes.earlier.revision,
            "pack": changes.earlier.pack,
            "rules_version": changes.earlier.rules_version,
        },
        "rules_version": assess::RULES_VERSION,
        "verdict": { "old": results.verdicts.0.as_str(), "new": results.verdicts.1.as_str() },
        "states": results.states.iter().map(|change| json!({
            "state": change.state,
            "old": change.before.map(Verdict::as_str),
            "new": change.after.map(Verdict::as_str),
        })).collect::<Vec<_>>(),
        "gained": results.gained,
        "lost": results.lost,
        "results": results.series.iter().map(|change| json!({
            "series": change.label,
            "old": change.before.as_ref().map(result_to_value),
            "new": change.after.as_ref().map(result_to_value),
        })).collect::<Vec<_>>(),
        "facts": changes.facts.iter().map(|fact| json!({
            "path": fact.path, "old": value(&fact.before), "new": value(&fact.after),
        })).collect::<Vec<_>>(),
        "further_facts": changes.more_facts,
    })
}

fn result_to_value(result: &SeriesResult) -> Value {
    json!({
        "verdict": result.verdict.as_str(),
        "coverage": result.coverage.as_str(),
        "counted": result.counted,
        "required": result.required,
        "worst": result.worst.map(|class| class.to_string()),
    })
}

/// Reads a comparison that this build wrote under today's rules; none where it is another one.
pub fn changes_from_value(value: &Value) -> Option<Changes> {
    let words = |key: &str| -> Option<Vec<String>> {
        value[key].as_array()?.iter().map(|word| word.as_str().map(str::to_owned)).collect()
    };
    let text = |value: &Value| value.as_str().map(str::to_owned);
    let verdict = |value: &Value| value.as_str()?.parse::<Verdict>().ok();
    let earlier = &value["earlier"];
    let changes = Changes {
        earlier: Earlier {
            number: text(&earlier["number"]),
            revision: text(&earlier["revision"]),
            pack: text(&earlier["pack"]),
            rules_version: earlier["rules_version"].as_u64(),
        },
        facts: value["facts"].as_array()?.iter().map(fact_from_value).collect::<Option<_>>()?,
        more_facts: value["further_facts"].as_u64()?,
        results: Comparison {
            verdicts: (verdict(&value["verdict"]["old"])?, verdict(&value["verdict"]["new"])?),
            states: value["states"]
                .as_array()?
                .iter()
                .map(|change| StateChange {
                    state: text(&change["state"]),
                    before: verdict(&change["old"]),
                    after: verdict(&change["new"]),
                })
                .collect(),
            series: value["results"].as_array()?.iter().map(series_from_value).collect::<Option<_>>()?,
            gained: words("gained")?,
            lost: words("lost")?,
        },
    };
    // Nothing of it may be lost on the way: what does not come out again is not ours.
    (changes_to_value(&changes) == *value).then_some(changes)
}

fn fact_from_value(value: &Value) -> Option<FactChange> {
    let side = |key: &str| Some(&value[key]).filter(|side| !side.is_null()).map(Value::to_string);
    Some(FactChange { path: value["path"].as_str()?.to_owned(), before: side("old"), after: side("new") })
}

fn series_from_value(value: &Value) -> Option<SeriesChange> {
    let side = |side: &Value| -> Option<Option<SeriesResult>> {
        if side.is_null() {
            return Some(None);
        }
        Some(Some(SeriesResult {
            coverage: side["coverage"].as_str()?.parse::<CoverageState>().ok()?,
            counted: u32::try_from(side["counted"].as_u64()?).ok()?,
            required: u32::try_from(side["required"].as_u64()?).ok()?,
            worst: match side["worst"].as_str() {
                Some(class) => Some(class.parse().ok()?),
                None => None,
            },
            verdict: side["verdict"].as_str()?.parse().ok()?,
        }))
    };
    Some(SeriesChange {
        label: value["series"].as_str()?.to_owned(),
        before: side(&value["old"])?,
        after: side(&value["new"])?,
    })
}
