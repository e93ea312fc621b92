//! What the page is made from: facts, plan, limits, and which evidence a valid result needs.

use crate::file::FORM;
use assess::standard::{ClimateLimit, Given, Span, Standard, Status};
use assess::{
    BEFORE_CHECKS, BenchCheck, CAUTION_FOR_SCREENS, CAUTIONS, SPARK_CHECK, bench_checks, tip_to_fit,
};
use plugin_api::WriteInput;
use plugin_api::wire::v1::facts_to_value;
use record::{Celsius, Decimal, Hectopascals, Percent};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

/// The ground of a form. Its `id` follows from all the rest: the same job and plan give the same form.
pub(crate) fn ground(input: &WriteInput<'_>) -> Value {
    let plan: Vec<Value> = input
        .assessment
        .plan
        .iter()
        .zip(1u32..)
        .map(|(required, number)| {
            json!({
                "id": number.to_string(),
                "point": required.point.as_str(),
                "application": required.application.as_str(),
                "polarity": required.polarity.as_str(),
                "voltage_kv": required.voltage_kv.as_kv().to_string(),
                "mode": required.mode.as_ref().map(record::ModeId::as_str),
                "count": required.count,
                "interval_s": required.interval_s.as_s().to_string(),
                "tip": tip_to_fit(&input.record.facts.generator, input.standard, required.application).as_str(),
            })
        })
        .collect();
    let mut facts = input.record.facts.clone();
    for attachment in &mut facts.attachments {
        // A position among the sources of this record means nothing in a file of its own.
        attachment.source = None;
    }
    let problems: Vec<&str> = input.assessment.plan_problems.iter().map(|p| p.text.as_str()).collect();
    let checks: Vec<Value> = bench_checks(input.standard, &input.assessment.plan, &input.record.facts.item)
        .iter()
        .map(check)
        .collect();
    let mut ground = json!({
        "form": FORM,
        "program": input.program,
        "standard": input.standard.map(|s| json!({ "id": s.id, "name": s.full_name() })),
        "facts": facts_to_value(&facts),
        "plan": plan,
        "plan_problems": problems,
        "checks": checks,
        "spark_check": SPARK_CHECK,
        "before_checks": BEFORE_CHECKS,
        "cautions": CAUTIONS.iter().chain(&[CAUTION_FOR_SCREENS]).collect::<Vec<_>>(),
        "limits": limits(input.standard),
    });
    let digest = Sha256::digest(ground.to_string().as_bytes());
    let id: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    if let Some(object) = ground.as_object_mut() {
        object.insert("id".into(), id.into());
    }
    ground
}

fn limits(standard: Option<&Standard>) -> Value {
    let evidence = standard.map(|s| &s.evidence);
    let needs =
        |pick: fn(&assess::standard::Evidence) -> &Given<bool>| evidence.is_some_and(|e| pick(e).value);
    let kinds: Vec<&str> =
        evidence.map(|e| e.setup_kinds.value.iter().map(|k| k.as_str()).collect()).unwrap_or_default();
    json!({
        "climate": standard.map(|s| s.climate.iter().map(climate).collect::<Vec<_>>()).unwrap_or_default(),
        "evidence": {
            "calibration": needs(|e| &e.calibration),
            "setup_verification": needs(|e| &e.setup_verification),
            "setup_kinds": kinds,
            "climate": needs(|e| &e.climate),
            "charge_removal": needs(|e| &e.charge_removal_unearthed),
            "network": needs(|e| &e.network),
        },
    })
}

/// A check with its limits, and the weakest status of them, so that the reader sees the reservation.
fn check(check: &BenchCheck) -> Value {
    let number = |value: Option<Decimal>| value.map(|value| value.to_string());
    json!({
        "key": check.key,
        "kind": check.kind.as_str(),
        "what": check.what,
        "unit": check.unit,
        "nominal": number(check.nominal),
        "least": number(check.least),
        "most": number(check.most),
        "status": check.status.map(Status::as_str),
    })
}

fn climate(limit: &ClimateLimit) -> Value {
    let mut value = Map::new();
    let kinds: Vec<&str> = limit.applies_to.value.iter().map(|a| a.as_str()).collect();
    value.insert("applies_to".into(), json!(kinds));
    let mut put = |key: &str, span: Option<Value>| {
        if let Some(span) = span {
            value.insert(key.into(), span);
        }
    };
    put("temperature_c", limit.temperature_c.as_ref().map(|g| span(g, Celsius::as_celsius)));
    put("humidity_percent", limit.humidity_percent.as_ref().map(|g| span(g, Percent::as_percent)));
    put("pressure_hpa", limit.pressure_hpa.as_ref().map(|g| span(g, Hectopascals::as_hpa)));
    Value::Object(value)
}

fn span<T: Copy>(given: &Given<Span<T>>, number: fn(T) -> Decimal) -> Value {
    json!({
        "least": number(given.value.least).to_string(),
        "most": number(given.value.most).to_string(),
        "status": given.status.as_str(),
    })
}
