//! The facts of the job, as the record has them.

use super::{Subject, text};
use assess::Verdict;
use record::{Decimal, Facts, Moment, SetupCheck, Stated};
use serde_json::{Map, Value, json};

/// Whether a reading lies inside its limits, for a check of which nobody wrote whether it was in order.
fn inside(check: &SetupCheck) -> Option<Verdict> {
    let reading = check.reading?;
    check.least.or(check.most)?;
    let within =
        check.least.is_none_or(|least| reading >= least) && check.most.is_none_or(|most| reading <= most);
    Some(if within { Verdict::Pass } else { Verdict::Fail })
}

pub(super) fn add(subject: &Subject<'_>, root: &mut Map<String, Value>) {
    let f = &subject.record.facts;
    let mut put = |key: &str, value: Value| {
        root.insert(key.to_owned(), value);
    };
    put("invented", text(f.invented.as_ref()));
    put("bench_data", json!(!subject.assessment.missing_identity.is_empty()));
    put("missing_identity", json!(subject.assessment.missing_identity));
    put("report", report(f));
    put("laboratory", laboratory(f));
    put("client", json!({"name": f.client.name, "contact": f.client.contact}));
    put(
        "references",
        list(
            &f.references,
            |r| json!({"kind": r.kind, "value": r.value, "revision": r.revision, "belongs_to": r.belongs_to}),
        ),
    );
    put("receipt", json!({"received_on": text(f.receipt.received_on), "condition": f.receipt.condition}));
    put("work", json!({"started": text(f.work_started), "ended": text(f.work_ended)}));
    put("supplied", list(&f.supplied, |s| json!({"fact": s.fact, "by": s.by.as_str(), "remark": s.remark})));
    put("external_providers", list(&f.external_providers, |p| json!({"name": p.name, "what": p.what})));
    put(
        "decision_rule",
        json!({
            "rule": f.decision_rule.rule,
            "agreed_with": f.decision_rule.agreed_with,
            "agreed_on": text(f.decision_rule.agreed_on),
        }),
    );
    put(
        "scope",
        list(
            &f.accreditation_scope,
            |s| json!({"method": s.method, "inside": yes_no(s.inside), "remark": s.remark}),
        ),
    );
    put(
        "test_plan",
        json!({
            "number": f.test_plan.number,
            "revision": f.test_plan.revision,
            "dated": text(f.test_plan.dated),
            "owner": f.test_plan.owner,
        }),
    );
    put("item", item(f));
    put(
        "associated",
        list(&f.associated, |a| json!({"name": a.name, "serial": a.serial, "purpose": a.purpose})),
    );
    put("modes", list(&f.modes, |m| json!({"id": m.id.as_str(), "description": m.description})));
    put(
        "functions",
        list(
            &f.functions,
            |x| json!({"id": x.id.as_str(), "description": x.description, "monitored_by": x.monitored_by, "allowed_loss": x.allowed_loss}),
        ),
    );
    put(
        "demands",
        list(&f.demands, |d| {
            json!({
                "function": text(d.function.as_ref()),
                "mode": text(d.mode.as_ref()),
                "application": text(d.application),
                "from_kv": text(d.from_kv.map(|v| v.as_kv())),
                "to_kv": text(d.to_kv.map(|v| v.as_kv())),
                "accepted": d.accepted.join(", "),
                "basis": d.basis,
            })
        }),
    );
    put("method", method(subject));
    put("plan", plan(subject));
    put(
        "people",
        list(
            &f.people,
            |p| json!({"name": p.name, "part": p.part.as_str(), "position": p.position, "on": text(p.on)}),
        ),
    );
    let keys: Vec<Value> = f
        .people
        .iter()
        .filter(|p| p.key.is_some())
        .map(|p| json!({"name": p.name, "part": p.part.as_str(), "key": text(p.key.as_ref())}))
        .collect();
    put("keys", Value::Array(keys));
    let names = |part: record::PartPlayed| {
        let names: Vec<&str> = f.people.iter().filter(|p| p.part == part).map(|p| p.name.as_str()).collect();
        if names.is_empty() { Value::Null } else { json!(names.join(", ")) }
    };
    put(
        "signs",
        json!({
            "tested": names(record::PartPlayed::Tested),
            "checked": names(record::PartPlayed::Checked),
            "authorised": names(record::PartPlayed::Authorised),
        }),
    );
    put(
        "equipment",
        list(&f.equipment, |e| {
            json!({
                "id": e.id.as_str(),
                "role": text(e.role),
                "name": e.name,
                "serial": e.serial,
                "firmware": e.firmware_version,
                "calibrated_on": text(e.calibrated_on),
                "calibration_due": text(e.calibration_due),
                "certificate": e.certificate,
                "calibrated_by": e.calibrated_by,
                "accredited": yes_no(e.accredited),
                "in_tolerance": yes_no(e.in_tolerance),
                "transfer_v_per_a": text(e.transfer_v_per_a.map(|v| v.as_v_per_a())),
                "attenuation_db": text(e.attenuation_db.map(|v| v.as_db())),
                "attenuation_ratio": text(e.attenuation_ratio.map(|v| v.as_ratio())),
                "remark": e.remark,
            })
        }),
    );
    let g = &f.generator;
    put(
        "generator",
        json!({
            "equipment": text(g.equipment.as_ref()),
            "network_pf": text(g.network_pf.map(|v| v.as_pf())),
            "network_ohm": text(g.network_ohm.map(|v| v.as_ohm())),
            "contact_tip": text(g.contact_tip),
            "air_tip": text(g.air_tip),
            "return_cable": g.return_cable,
        }),
    );
    put(
        "setup_checks",
        list(&f.setup_checks, |c| {
            json!({
                "kind": c.kind.as_str(),
                "what": c.what,
                "reading": text(c.reading),
                "unit": c.unit.as_deref().map(super::named::unit),
                "least": text(c.least),
                "most": text(c.most),
                "in_order": yes_no(c.in_order),
                "inside": text(inside(c)),
                "at": moment(c.at.as_ref()),
                "by": c.by,
            })
        }),
    );
    put("charge_removal", stated(&f.charge_removal, |c| json!(c.method)));
    put(
        "states",
        list(&f.states, |s| {
            json!({
                "id": s.id.as_str(),
                "description": s.description,
                "reason": s.reason,
                "since": moment(s.since.as_ref()),
                "by": s.by,
            })
        }),
    );
    put(
        "attachments",
        list(
            &f.attachments,
            |a| json!({"file": a.file, "kind": text(a.kind), "caption": a.caption, "found": a.source.is_some()}),
        ),
    );
    put("opinions", list(&f.opinions, |o| json!({"text": o.text, "by": o.by, "basis": o.basis})));
    put(
        "judgements",
        list(&f.judgements, |j| {
            json!({
                "concerns": j.concerns,
                "verdict": text(j.verdict),
                "by": j.by,
                "at": moment(j.at.as_ref()),
                "why": j.why,
            })
        }),
    );
    put(
        "rulings",
        list(
            &f.rulings,
            |r| json!({"place": format!("{}:{}", r.file, r.row), "by": r.by, "at": moment(r.at.as_ref()), "ruling": r.ruling}),
        ),
    );
    put(
        "justifications",
        list(
            &f.partial_plan_justifications,
            |j| json!({"state": j.state.as_str(), "by": j.by, "why": j.why}),
        ),
    );
}

fn report(f: &Facts) -> Value {
    let r = &f.report;
    let draft = r.state != Some(record::IssueState::Issued);
    json!({
        "title": r.title,
        "number": r.number,
        "revision": r.revision,
        "amends": r.amends,
        "amends_pack": r.amends_pack,
        "amendment_reason": r.amendment_reason,
        "draft": draft,
        "issued_on": if draft { Value::Null } else { text(r.issued_on) },
    })
}

fn laboratory(f: &Facts) -> Value {
    let l = &f.laboratory;
    json!({
        "name": l.name,
        "address": l.address,
        "place_of_work": l.place_of_work,
        "accreditation": l.accreditation,
    })
}

fn item(f: &Facts) -> Value {
    let i = &f.item;
    let sides: Vec<Decimal> =
        [i.length_mm, i.width_mm, i.height_mm].into_iter().flatten().map(|v| v.as_mm()).collect();
    let label: Vec<&str> = [&i.name, &i.type_designation].into_iter().flatten().map(String::as_str).collect();
    json!({
        "label": if label.is_empty() { Value::Null } else { json!(label.join(" ")) },
        "name": i.name,
        "type": i.type_designation,
        "maker": i.maker,
        "serial": i.serial,
        "hardware": i.hardware_version,
        "firmware": i.firmware_version,
        "supply": i.supply,
        "arrangement": text(i.arrangement),
        "earthed": stated(&i.earthed, |b| json!(if *b { "yes" } else { "no" })),
        "earthing": i.earthing,
        "size": if sides.len() == 3 { json!(sides.iter().map(Decimal::to_string).collect::<Vec<_>>().join(" \u{d7} ")) } else { Value::Null },
        "configuration": i.configuration,
        "conditions_of_use": i.conditions_of_use,
    })
}

fn method(subject: &Subject<'_>) -> Value {
    let m = &subject.record.facts.method;
    let used = subject.assessment.standard.as_ref();
    json!({
        "standard": m.standard,
        "name": text(used.map(|s| &s.name)),
        "data": text(used.map(|s| format!("{}, version {}", s.id, s.version))),
        "laid_over": text(used.filter(|s| !s.laid_over.is_empty()).map(|s| s.laid_over.join(", "))),
        "basic_edition": used.and_then(|s| s.basic_edition.as_ref()).map(|b| json!({
            "value": b.value, "status": b.status.as_str(), "sound": b.status.is_sound(), "note": b.note,
        })),
        "rules_version": subject.assessment.rules_version.to_string(),
        "product_standard": m.product_standard,
        "procedure": m.procedure,
        "deviations": list(&m.deviations, |d| json!({"what": d.what, "reason": d.reason, "clause": d.clause})),
    })
}

fn plan(subject: &Subject<'_>) -> Value {
    let p = &subject.record.facts.plan;
    let kv = |values: &[record::Kilovolts]| {
        let list: Vec<String> = values.iter().map(|v| v.as_kv().to_string()).collect();
        if list.is_empty() { Value::Null } else { json!(list.join(", ")) }
    };
    let rules = subject.standard.map(|s| &s.rules);
    let used = subject.assessment.standard.as_ref();
    let status = |own: bool, status: Option<assess::standard::Status>| {
        let shown = status.filter(|_| !own);
        json!({ "status": text(shown.map(|s| s.as_str())), "sound": shown.is_none_or(|s| s.is_sound()) })
    };
    json!({
        "level": p.level,
        "level_status": status(false, used.and_then(|s| s.level_status)),
        "count_status": status(p.discharges.is_some(), used.map(|s| s.count_status)),
        "interval_status": status(p.interval_s.is_some(), used.map(|s| s.interval_status)),
        "network": text(p.network_pf.zip(p.network_ohm).map(|(pf, ohm)| format!("{pf}\u{a0}pF / {ohm}\u{a0}Ω"))),
        "contact_kv": kv(&p.contact_kv),
        "air_kv": kv(&p.air_kv),
        "indirect_kv": kv(&p.indirect_kv),
        "polarity": text(p.polarity),
        "polarity_basis": p.polarity_basis,
        "discharges": text(p.discharges.or(rules.map(|r| r.discharges.value))),
        "discharges_own": p.discharges.is_some(),
        "interval_s": text(p.interval_s.or(rules.map(|r| r.interval_s.value)).map(|v| v.as_s())),
        "interval_own": p.interval_s.is_some(),
        "chosen_by": p.chosen_by,
        "judged_state": text(subject.record.judged_state()),
    })
}

/// Yes, no, or null where nobody said.
pub(super) fn yes_no(value: Option<bool>) -> Value {
    match value {
        Some(true) => json!("yes"),
        Some(false) => json!("no"),
        None => Value::Null,
    }
}

/// A time as written, or null.
pub(super) fn moment(value: Option<&Moment>) -> Value {
    text(value)
}

/// A fact with whether it was stated: `how` is `stated`, `not-stated` or `not-applicable`.
pub(super) fn stated<T>(fact: &Stated<T>, value: impl Fn(&T) -> Value) -> Value {
    match fact {
        Stated::Stated(inner) => json!({"how": "stated", "value": value(inner), "reason": null}),
        Stated::NotStated => json!({"how": "not-stated", "value": null, "reason": null}),
        Stated::NotApplicable { reason } => json!({"how": "not-applicable", "value": null, "reason": reason}),
    }
}

pub(super) fn list<T>(items: &[T], one: impl Fn(&T) -> Value) -> Value {
    Value::Array(items.iter().map(one).collect())
}
