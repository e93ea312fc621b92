//! Results: required series against those applied, the series as applied, observations in full.

use super::facts::{moment, stated};
use super::origin::{place, places};
use super::verdict::point_words;
use super::{Subject, text};
use assess::{CountStatistics, Coverage, CoverageState, Required, StateVerdict};
use record::{Observation, ObservationId, Series};
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn add(subject: &Subject<'_>, root: &mut Map<String, Value>) {
    let record = subject.record;
    let series: BTreeMap<&str, &Series> = record.series.iter().map(|s| (s.id.as_str(), s)).collect();
    let mut results: Vec<Value> = Vec::new();
    for (i, s) in subject.assessment.states.iter().enumerate() {
        results.push(state(subject, s, &series, i == 0));
    }
    root.insert("results".into(), Value::Array(results));
    let counted: BTreeSet<&str> = subject
        .assessment
        .states
        .iter()
        .flat_map(|s| &s.coverage)
        .flat_map(|c| &c.series)
        .map(record::SeriesId::as_str)
        .collect();
    let mut seen: BTreeMap<&str, Vec<Value>> = BTreeMap::new();
    for o in &record.observations {
        if let Some(of) = &o.series {
            seen.entry(of.as_str()).or_default().push(number(subject, &o.id));
        }
    }
    let mut all: Vec<Value> = record
        .series
        .iter()
        .enumerate()
        .map(|(index, s)| {
            json!({
                "row": (index + 1).to_string(),
                "observations": seen.remove(s.id.as_str()).unwrap_or_default(),
                "id": s.id.as_str(),
                "point": s.point.as_str(),
                "application": s.application.as_str(),
                "sign": s.polarity.sign().to_string(),
                "kv": s.voltage_kv.as_kv().to_string(),
                "count": s.count.to_string(),
                "sparks": text(s.sparks),
                "interval": stated(&s.interval_s.into(), |v: &record::Seconds| json!(v.as_s().to_string())),
                "single": super::facts::yes_no(s.single),
                "state": text(s.state.as_ref()),
                "mode": text(s.mode.as_ref()),
                "kind": s.kind.as_str(),
                "monitoring": stated(&s.monitoring, |m| json!(m.as_str())),
                "tip": text(s.tip),
                "started": moment(s.started.as_ref()),
                "ended": moment(s.ended.as_ref()),
                "tested_by": s.tested_by,
                "reference": s.external_reference,
                "remark": s.remark,
                "origin": place(record, &s.origin),
                "counts": counted.contains(s.id.as_str()),
            })
        })
        .collect();
    root.insert("series_common".into(), common(&mut all));
    root.insert("series_has".into(), columns(&all));
    root.insert("series".into(), Value::Array(all));
    root.insert("spark_rule".into(), spark_rule(subject));
    let observations: Vec<Value> =
        record.observations.iter().map(|o| observation(subject, o, &series)).collect();
    root.insert("observations".into(), Value::Array(observations));
}

/// Whether an approach without a spark counts, where the record says of any series how many sparks it had.
fn spark_rule(subject: &Subject<'_>) -> Value {
    let told = subject.record.series.iter().any(|series| series.sparks.is_some());
    let Some(standard) = subject.standard.filter(|_| told) else { return Value::Null };
    let rule = &standard.rules.air_approach_without_spark_counts;
    json!({
        "counts": if rule.value { "yes" } else { "no" },
        "status": rule.status.as_str(),
        "sound": rule.status.is_sound(),
    })
}

/// Results in one state. Of a state that the verdict does not belong to, only what was applied is listed; what
/// was not is counted.
fn state(subject: &Subject<'_>, s: &StateVerdict, series: &BTreeMap<&str, &Series>, headline: bool) -> Value {
    let record = subject.record;
    let omitted = |c: &&Coverage| !headline && c.state == CoverageState::Missing;
    let not_applied = s.coverage.iter().filter(omitted).count();
    let mut groups: Vec<(String, Vec<Value>)> = Vec::new();
    for coverage in s.coverage.iter().filter(|c| !omitted(c)) {
        let Some(required) = subject.assessment.plan.get(coverage.required) else { continue };
        let point = required.point.as_str();
        if groups.last().is_none_or(|g| g.0 != point) {
            match groups.iter().position(|g| g.0 == point) {
                // Rows of a point stand together whatever the order of the plan.
                Some(at) => {
                    groups[at].1.push(row(subject, coverage, required, series));
                    continue;
                }
                None => groups.push((point.to_owned(), Vec::new())),
            }
        }
        if let Some(group) = groups.last_mut() {
            group.1.push(row(subject, coverage, required, series));
        }
    }
    let groups: Vec<Value> = groups
        .into_iter()
        .map(|(point, rows)| {
            let part = s.points.iter().find(|p| p.name == point);
            json!({
                "point": point,
                "description": point_words(record, &point),
                "verdict": text(part.map(|p| p.verdict)),
                "rows": rows,
            })
        })
        .collect();
    let uncounted: Vec<Value> = s
        .uncounted
        .iter()
        .map(|u| {
            let of = series.get(u.series.as_str());
            json!({
                "series": u.series.as_str(),
                "label": text(of.map(|s| format!("{} {} {}{}", s.point, s.application, s.polarity.sign(), s.voltage_kv))),
                "why": u.why,
                "origin": text(of.map(|s| place(record, &s.origin))),
            })
        })
        .collect();
    let known = s.state.as_ref().and_then(|id| record.facts.states.iter().find(|k| k.id == *id));
    json!({
        "state": text(s.state.as_ref()),
        "description": text(known.and_then(|k| k.description.as_ref())),
        "verdict": s.verdict.as_str(),
        "failure_observed": s.failure_observed,
        "groups": groups,
        "not_applied": text((not_applied > 0).then_some(not_applied)),
        "of_required": s.coverage.len().to_string(),
        "uncounted": uncounted,
        "counts": s.statistics.iter().map(counts).collect::<Vec<_>>(),
    })
}

/// What the counts of required series say by themselves; shares and chances in percent.
fn counts(of: &CountStatistics) -> Value {
    let percent = |share: f64| format!("{:.1}", 100.0 * share);
    let misses = of.chances_to_miss.iter().map(|miss| {
        let one_in = record::Decimal::ONE / miss.per_shot;
        json!({"one_in": one_in.normalize().to_string(), "chance": percent(miss.chance)})
    });
    json!({
        "shots": of.shots.to_string(),
        "failures": of.failures.to_string(),
        "series": of.required_series.to_string(),
        "low": text((of.failures > 0).then(|| percent(of.low))),
        "high": percent(of.high),
        "misses": misses.collect::<Vec<_>>(),
    })
}

fn row(subject: &Subject<'_>, c: &Coverage, r: &Required, series: &BTreeMap<&str, &Series>) -> Value {
    let origins = c.series.iter().filter_map(|id| series.get(id.as_str())).map(|s| &s.origin);
    json!({
        "application": r.application.as_str(),
        "sign": r.polarity.sign().to_string(),
        "kv": r.voltage_kv.as_kv().to_string(),
        // A single mode is named once, with the method.
        "mode": text(r.mode.as_ref().filter(|_| subject.record.facts.modes.len() > 1)),
        "required": r.count.to_string(),
        "counted": c.counted.to_string(),
        "sparks": text(c.sparks),
        "coverage": c.state.as_str(),
        "worst": text(c.worst),
        "verdict": c.verdict.as_str(),
        "origins": places(subject.record, origins),
        "observations": c.observations.iter().map(|id| number(subject, id)).collect::<Vec<_>>(),
    })
}

fn observation(subject: &Subject<'_>, o: &Observation, series: &BTreeMap<&str, &Series>) -> Value {
    let record = subject.record;
    let of = o.series.as_ref().and_then(|id| series.get(id.as_str()));
    let yes = |b: &bool| json!(if *b { "yes" } else { "no" });
    // One state judges an observation; where several name it, the first does (the headline's).
    let judged = subject.assessment.observations.iter().find(|j| j.observation == o.id);
    json!({
        "id": o.id.as_str(),
        "number": number(subject, &o.id),
        "seen": o.seen,
        "point": text(of.map(|s| s.point.as_str())),
        "point_description": of.map_or(Value::Null, |s| point_words(record, s.point.as_str())),
        "application": text(of.map(|s| s.application)),
        "sign": text(of.map(|s| s.polarity.sign())),
        "kv": text(of.map(|s| s.voltage_kv.as_kv())),
        "state": text(of.and_then(|s| s.state.as_ref())),
        "shot": text(o.shot),
        "function": text(o.function.as_ref()),
        "written_class": text(o.written_class),
        "class": text(judged.and_then(|j| j.class)),
        "class_from_facts": judged.is_some_and(|j| j.class_from_facts),
        "accepted": text(judged.filter(|j| !j.accepted.is_empty()).map(|j| j.accepted.join(", "))),
        "verdict": text(judged.and_then(|j| j.verdict)),
        "rule": text(judged.map(|j| j.rule)),
        "state_changed": stated(&o.state_changed, yes),
        "data_lost": stated(&o.data_lost, yes),
        "restored": stated(&o.restored, |r| json!(r.as_str())),
        "lasted_s": text(o.lasted_s.map(|v| v.as_s())),
        "before_next": stated(&o.before_next, yes),
        "coincident": stated(&o.coincident, yes),
        "affected": stated(&o.affected, |a| json!(a.as_str())),
        "remark": o.remark,
        "origin": place(record, &o.origin),
        "completed_at": text(o.completed_at.as_ref().map(|c| place(record, c))),
    })
}

/// Number of an observation in the order of the record, from 1: its name in the record may be long.
fn number(subject: &Subject<'_>, id: &ObservationId) -> Value {
    text(subject.record.observations.iter().position(|o| o.id == *id).map(|at| at + 1))
}

/// What is left to say of single series: a table has columns for that only.
fn columns(all: &[Value]) -> Value {
    let any = |key: &str| all.iter().any(|s| s.get(key).is_some_and(|value| !value.is_null()));
    let rest = ["mode", "kind", "monitoring", "tip", "tested_by", "reference", "remark"];
    let is = |key: &str, wanted: &Value| all.iter().any(|s| s.get(key) == Some(wanted));
    json!({
        "state": any("state"),
        "interval": any("interval"),
        "details": rest.iter().any(|key| any(key)) || is("single", &json!("no")),
        "uncounted": is("counts", &json!(false)),
    })
}

/// Takes out of the series what is the same for all of them, so that a paper says it once. What is taken out is
/// null in each series.
fn common(all: &mut [Value]) -> Value {
    let mut out = Map::new();
    for key in ["interval", "single", "state", "mode", "kind", "monitoring", "tip", "tested_by"] {
        let first = all.first().and_then(|s| s.get(key)).cloned().unwrap_or(Value::Null);
        let same = all.len() > 1 && all.iter().all(|s| s.get(key) == Some(&first));
        if same {
            for series in all.iter_mut() {
                if let Some(value) = series.get_mut(key) {
                    *value = Value::Null;
                }
            }
        }
        out.insert(key.to_owned(), if same { first } else { Value::Null });
    }
    Value::Object(out)
}
