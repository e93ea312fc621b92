//! An assessment as JSON: for programs, for the pack, and for comparing a re-derived one with it.

use assess::*;
use record::{Decimal, Origin};
use serde_json::{Map, Value, json};

use super::mirror::Mirror;
use super::scalar::OriginText;

/// An assessment as a JSON value. Decimals are text; waveform figures are the shortest decimal that reads
/// back as the same double; what is not known is null.
pub fn assessment_to_value(assessment: &Assessment) -> Value {
    json!({
        "schema": 1,
        "rules_version": assessment.rules_version,
        "standard": assessment.standard.as_ref().map(|s| json!({
            "id": s.id, "name": s.name, "version": s.version,
            "count_status": s.count_status.as_str(), "interval_status": s.interval_status.as_str(),
            "level_status": s.level_status.map(|l| l.as_str()),
            "laid_over": s.laid_over,
            "basic_edition": s.basic_edition.as_ref().map(|b| json!({
                "value": b.value, "status": b.status.as_str(), "note": b.note,
            })),
        })),
        "missing_identity": assessment.missing_identity,
        "verdict": assessment.verdict().as_str(),
        "plan": assessment.plan.iter().map(required).collect::<Vec<_>>(),
        "plan_problems": assessment.plan_problems.iter().map(reason).collect::<Vec<_>>(),
        "states": assessment.states.iter().map(|s| state(s, assessment)).collect::<Vec<_>>(),
        "observations": assessment.observations.iter().map(observation).collect::<Vec<_>>(),
        "completeness": lists(&assessment.completeness),
        "waveforms": assessment.waveforms.iter().map(waveform).collect::<Vec<_>>(),
        "repeatability": assessment.repeatability.iter().map(repeatability).collect::<Vec<_>>(),
        "findings": assessment.findings.iter()
            .map(|f| serde_json::to_value(super::series::Finding::show(f)).unwrap_or(Value::Null))
            .collect::<Vec<_>>(),
    })
}

fn origins(list: &[Origin]) -> Value {
    list.iter().map(|origin| Value::String(OriginText::show(origin).0)).collect()
}

fn decimal(value: Option<Decimal>) -> Value {
    value.map_or(Value::Null, |v| Value::String(v.to_string()))
}

fn required(required: &Required) -> Value {
    json!({
        "point": required.point.as_str(),
        "application": required.application.as_str(),
        "polarity": required.polarity.as_str(),
        "voltage_kv": required.voltage_kv.as_kv().to_string(),
        "mode": required.mode.as_ref().map(|m| m.as_str()),
        "count": required.count,
        "shared": required.shared.map(|s| json!({ "group": s.group, "count": s.count })),
        "interval_s": required.interval_s.as_s().to_string(),
    })
}

fn reason(of: &Reason) -> Value {
    let mut object = Map::new();
    object.insert("rule".into(), of.rule.as_str().into());
    object.insert("effect".into(), of.effect.map_or(Value::Null, |e| e.as_str().into()));
    object.insert("text".into(), of.text.clone().into());
    let values: Map<String, Value> =
        of.values.iter().map(|(name, value)| ((*name).to_owned(), value.clone().into())).collect();
    object.insert("values".into(), values.into());
    object.insert("origins".into(), origins(&of.origins));
    if !of.because.is_empty() {
        object.insert("because".into(), of.because.iter().map(reason).collect());
    }
    object.into()
}

fn state(of: &StateVerdict, assessment: &Assessment) -> Value {
    json!({
        "state": of.state.as_ref().map(|s| s.as_str()),
        "verdict": of.verdict.as_str(),
        "failure_observed": of.failure_observed,
        "reasons": of.reasons.iter().map(reason).collect::<Vec<_>>(),
        "settle": of.settle.iter().map(|s| json!({
            "what": s.what.to_string(), "minutes": decimal(s.minutes), "act": act(&s.act),
        })).collect::<Vec<_>>(),
        "coverage": of.coverage.iter().map(|c| json!({
            "required": c.required,
            "label": assessment.plan.get(c.required).map(Required::label),
            "counted": c.counted,
            "sparks": c.sparks,
            "state": c.state.as_str(),
            "series": c.series.iter().map(|s| s.as_str()).collect::<Vec<_>>(),
            "worst": c.worst.map(|w| w.as_str()),
            "observations": c.observations.iter().map(|o| o.as_str()).collect::<Vec<_>>(),
            "verdict": c.verdict.as_str(),
        })).collect::<Vec<_>>(),
        "uncounted": of.uncounted.iter().map(|u| json!({
            "series": u.series.as_str(), "why": u.why,
        })).collect::<Vec<_>>(),
        "evidence": of.evidence.iter().map(|e| json!({
            "kind": e.kind.as_str(),
            "required": e.required,
            "state": e.state.as_str(),
            "text": e.text(),
            "remedy": e.remedy.as_ref().map(ToString::to_string),
            "ask": e.ask,
            "repeat": e.repeat.iter().map(|s| s.as_str()).collect::<Vec<_>>(),
            "clause": e.clause,
            "status": e.status.as_str(),
            "origins": origins(&e.origins),
        })).collect::<Vec<_>>(),
        "points": of.points.iter().map(part).collect::<Vec<_>>(),
        "functions": of.functions.iter().map(part).collect::<Vec<_>>(),
        "statistics": of.statistics.iter().map(statistics).collect::<Vec<_>>(),
    })
}

/// What has to be done, for a program.
fn act(of: &Act) -> Value {
    let owed = |list: &[(usize, u32)]| {
        list.iter()
            .map(|(required, count)| json!({ "required": required, "count": count }))
            .collect::<Vec<_>>()
    };
    match of {
        Act::State { paths } => json!({ "kind": of.word(), "paths": paths }),
        Act::StateSeries { series, fact } => {
            json!({ "kind": of.word(), "fact": fact, "series": series.iter().map(|s| s.as_str()).collect::<Vec<_>>() })
        }
        Act::StateObservation { observation } => {
            json!({ "kind": of.word(), "observation": observation.as_str() })
        }
        Act::Rule { file, row } => json!({ "kind": of.word(), "file": file, "row": row }),
        Act::Apply { owed: list } => json!({ "kind": of.word(), "owed": owed(list) }),
        Act::Repeat { series, owed: list } => json!({
            "kind": of.word(),
            "series": series.iter().map(|s| s.as_str()).collect::<Vec<_>>(),
            "owed": owed(list),
        }),
    }
}

/// The lists of what must be stated, in brief: per list and state, a line for each item. Every item with its
/// parts apart is what [`completeness_to_value`] gives.
fn lists(items: &[completeness::CompletenessItem]) -> Value {
    let mut lists: Map<String, Value> = Map::new();
    for item in items {
        let mark = if item.status.is_sound() { String::new() } else { format!(" ({})", item.status) };
        let line = format!("{} {}{mark}: {}", item.clause, item.asks, item.text);
        let list = lists.entry(item.list.clone()).or_insert_with(|| {
            completeness::CompletenessState::WORDS
                .iter()
                .map(|word| ((*word).to_owned(), json!([])))
                .collect()
        });
        if let Some(lines) = list.get_mut(item.state.as_str()).and_then(Value::as_array_mut) {
            lines.push(line.into());
        }
    }
    lists.into()
}

/// An item of a list of what must be stated.
pub fn completeness_to_value(of: &completeness::CompletenessItem) -> Value {
    json!({
        "list": of.list,
        "clause": of.clause,
        "asks": of.asks,
        "state": of.state.as_str(),
        "text": of.text,
        "status": of.status.as_str(),
        "origins": origins(&of.origins),
    })
}

fn part(of: &PartVerdict) -> Value {
    json!({
        "name": of.name,
        "verdict": of.verdict.as_str(),
        "worst": of.worst.map(|w| w.as_str()),
        "required": of.required,
        "complete": of.complete,
    })
}

fn observation(of: &JudgedObservation) -> Value {
    json!({
        "observation": of.observation.as_str(),
        "state": of.state.as_ref().map(|s| s.as_str()),
        "class": of.class.map(|c| c.as_str()),
        "class_from_facts": of.class_from_facts,
        "accepted": of.accepted,
        "verdict": of.verdict.map(|v| v.as_str()),
        "rule": of.rule.as_str(),
        "text": of.text,
    })
}

fn waveform(of: &JudgedTrace) -> Value {
    json!({
        "verification": of.verification.as_str(),
        "name": of.name,
        "segment": of.segment,
        "within": of.within,
        "method": of.method.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "figures": of.figures.iter().map(|f| json!({
            "name": f.name,
            "unit": f.unit,
            "value": f.value.map(|v| v.to_string()),
            "why_not": f.why_not,
            "nominal": decimal(f.nominal),
            "least": decimal(f.least),
            "most": decimal(f.most),
            "within": f.within,
            "status": f.status.map(|s| s.as_str()),
            "clause": f.clause,
            "uncertainty": f.uncertainty.as_ref().map(uncertainty),
        })).collect::<Vec<_>>(),
        "further": of.further.iter().map(|f| json!({
            "name": f.name,
            "unit": f.unit,
            "value": f.value.map(|v| v.to_string()),
            "why_not": f.why_not,
        })).collect::<Vec<_>>(),
        "origin": OriginText::show(&of.origin).0,
    })
}

fn uncertainty(of: &FigureDecision) -> Value {
    json!({
        "expanded": decimal(of.expanded),
        "k": decimal(of.k),
        "degrees_of_freedom": of.dof.map(|v| v.to_string()),
        "how": of.how,
        "rule": of.rule,
        "outcome": of.outcome.map(|o| o.to_string()),
        "accepts": of.accepts.map(|(from, to)| json!([from.to_string(), to.to_string()])),
        "probability_of_conformity": of.conformity.map(|v| v.to_string()),
    })
}

fn statistics(of: &CountStatistics) -> Value {
    json!({
        "shots": of.shots,
        "failures": of.failures,
        "required_series": of.required_series,
        "low": of.low.to_string(),
        "high": of.high.to_string(),
        "confidence": of.confidence.to_string(),
        "chances_to_miss": of.chances_to_miss.iter().map(|c| json!({
            "per_shot": c.per_shot.to_string(), "chance": c.chance.to_string(),
        })).collect::<Vec<_>>(),
    })
}

fn repeatability(of: &Repeatability) -> Value {
    json!({
        "verification": of.verification.as_str(),
        "method": of.method,
        "figures": of.figures.iter().map(|f| json!({
            "name": f.name,
            "unit": f.unit,
            "readings": f.readings,
            "mean": f.mean.to_string(),
            "standard_deviation": f.deviation.to_string(),
            "farthest": f.farthest.map(|(statistic, _)| statistic.to_string()),
            "critical": f.farthest.map(|(_, critical)| critical.to_string()),
            "outlier": f.outlier.as_ref().map(|(name, segment)| json!({"name": name, "segment": segment})),
        })).collect::<Vec<_>>(),
    })
}
