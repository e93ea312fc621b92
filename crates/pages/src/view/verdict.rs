//! The verdict with its reasons, what limits it, and what would settle it.

use super::facts::list;
use super::origin::places;
use super::wording::Worder;
use super::{Subject, text};
use crate::Words;
use assess::{PartVerdict, Reason, Rule, StateVerdict, Verdict};
use record::Record;
use serde_json::{Map, Value, json};

/// Sentences on page 1; the rest follow under the reasons.
const SHOWN: usize = 4;

pub(super) fn add(subject: &Subject<'_>, words: &Words, root: &mut Map<String, Value>) {
    let worder = Worder { subject, words };
    let states = &subject.assessment.states;
    let mut all = states.iter().map(|s| verdict(worder, s));
    root.insert("verdict".into(), all.next().unwrap_or(Value::Null));
    root.insert("other_states".into(), Value::Array(all.collect()));
    root.insert("holds_for".into(), holds_for(subject));
    root.insert("plan_problems".into(), list(&subject.assessment.plan_problems, |r| reason(worder, None, r)));
    root.insert(
        "unread_rows".into(),
        text((!subject.record.unread.is_empty()).then_some(subject.record.unread.len())),
    );
}

/// What bounds the verdict, of the facts that are stated, in the order of reading.
fn holds_for(subject: &Subject<'_>) -> Value {
    let plan = &subject.record.facts.plan;
    let levels = plan.level.is_none();
    let state = subject.assessment.states.first().is_some_and(|s| s.state.is_some());
    let all = [
        ("state", state),
        ("level", !levels),
        ("contact", levels && !plan.contact_kv.is_empty()),
        ("air", levels && !plan.air_kv.is_empty()),
        ("polarity", plan.polarity.is_some()),
    ];
    all.into_iter().filter(|(_, stated)| *stated).map(|(what, _)| what).collect()
}

fn verdict(worder: Worder<'_>, s: &StateVerdict) -> Value {
    let record = worder.subject.record;
    let known = s.state.as_ref().and_then(|id| record.facts.states.iter().find(|k| k.id == *id));
    let decides = |r: &&Reason| r.effect == Some(s.verdict);
    let limits = |r: &&Reason| {
        let telling = matches!(
            r.rule,
            Rule::Deviation | Rule::PlanInPartJustified | Rule::RowRuled | Rule::WatchedByResults
        );
        (r.effect.is_some() && r.effect != Some(Verdict::Pass) && r.effect != Some(s.verdict)) || telling
    };
    let short = |reasons: Vec<&Reason>| {
        let more = reasons.len().saturating_sub(SHOWN);
        let list: Vec<Value> = reasons
            .iter()
            .take(SHOWN)
            .map(|r| {
                let wording = worder.reason(r, Some(s));
                json!({"text": wording.text, "detail": wording.detail, "origins": places(record, &r.origins)})
            })
            .collect();
        json!({"list": list, "more": if more > 0 { json!(more.to_string()) } else { Value::Null }})
    };
    json!({
        "word": s.verdict.as_str(),
        "failure_observed": s.failure_observed,
        "state": text(s.state.as_ref()),
        "state_description": text(known.and_then(|k| k.description.as_ref())),
        "because": short(s.reasons.iter().filter(decides).collect()),
        "limits": short(s.reasons.iter().filter(limits).collect()),
        "reasons": list(&s.reasons, |r| reason(worder, Some(s), r)),
        "settle": list(&s.settle, |t| {
            let what = worder.phrases(std::slice::from_ref(&t.what));
            json!({"what": what.text, "what_detail": what.detail, "minutes": text(t.minutes)})
        }),
        "points": list(&s.points, |p| part(p, point_words(record, &p.name))),
        "functions": list(&s.functions, |p| part(p, function_words(record, &p.name))),
        "evidence": list(&s.evidence, |e| {
            let said = worder.phrases(&e.said);
            let remedy = e.remedy.as_ref().map(|remedy| worder.phrases(std::slice::from_ref(remedy)));
            json!({
                "kind": e.kind.as_str(),
                "applications": list(&e.applications, |a| a.as_str().into()),
                "required": e.required,
                "state": e.state.as_str(),
                "text": said.text,
                "detail": said.detail,
                "remedy": remedy.map(|r| json!({"text": r.text, "detail": r.detail})),
                "clause": super::named::clause(worder.words, &e.clause),
                "status": e.status.as_str(),
                "sound": e.status.is_sound(),
                "origins": places(record, &e.origins),
            })
        }),
    })
}

fn part(p: &PartVerdict, description: Value) -> Value {
    json!({
        "name": p.name,
        "description": description,
        "verdict": p.verdict.as_str(),
        "worst": text(p.worst),
        "required": p.required.to_string(),
        "complete": p.complete.to_string(),
    })
}

pub(super) fn point_words(record: &Record, id: &str) -> Value {
    let point = record.facts.points.iter().find(|p| p.id.as_str() == id);
    text(point.and_then(|p| p.description.as_ref()))
}

fn function_words(record: &Record, id: &str) -> Value {
    let function = record.facts.functions.iter().find(|f| f.id.as_str() == id);
    text(function.and_then(|f| f.description.as_ref()))
}

fn reason(worder: Worder<'_>, state: Option<&StateVerdict>, r: &Reason) -> Value {
    let wording = worder.reason(r, state);
    json!({
        "rule": r.rule.as_str(),
        "effect": text(r.effect),
        "text": wording.text,
        "detail": wording.detail,
        "origins": places(worder.subject.record, &r.origins),
        "because": list(&r.because, |inner| reason(worder, state, inner)),
    })
}
