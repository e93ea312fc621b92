//! Random records in the canonical JSON: mostly in order, with each fact that a rule looks at out of order now and then.

use crate::chance::Chance;
use crate::random_discharges::{observations, series, unread};
use serde_json::{Map, Value, json};

/// Voltages of a kind of discharge, and what else the discharges are drawn from.
pub(crate) struct Scheme {
    pub(crate) points: Vec<(String, Vec<&'static str>)>,
    pub(crate) contact: Vec<&'static str>,
    pub(crate) air: Vec<&'static str>,
    pub(crate) modes: Vec<&'static str>,
    pub(crate) polarities: Vec<&'static str>,
    pub(crate) states: Vec<&'static str>,
    pub(crate) functions: Vec<&'static str>,
    pub(crate) count: u64,
}

pub(crate) const DAYS: [&str; 2] = ["2026-03-12", "2026-03-13"];

/// A record as JSON; the same for the same seed.
pub(crate) fn record(seed: u64) -> Value {
    let mut chance = Chance::new(seed);
    let chance = &mut chance;
    let (scheme, mut facts) = plan(chance);
    evidence(chance, &scheme, &mut facts);
    demands(chance, &scheme, &mut facts);
    let series = series(chance, &scheme);
    let observations = observations(chance, &scheme, &series);
    let (unread, rulings) = unread(chance);
    facts.insert("rulings".into(), rulings);
    let source =
        |name: &str, role: &str| json!({"name": name, "role": role, "bytes": 1, "sha256": "0".repeat(64)});
    json!({
        "schema": 1,
        "sources": [source("job.toml", "job"), source("one.csv", "log"), source("two.csv", "log")],
        "facts": facts,
        "series": series,
        "observations": observations,
        "unread": unread,
        "verifications": verifications(chance),
    })
}

/// A waveform that is too short to be compared with any limit.
fn verifications(chance: &mut Chance) -> Value {
    if !chance.odd() {
        return json!([]);
    }
    json!([{"id": "V-1", "charge_kv": "4", "traces": [{
        "name": "v.csv", "segment": 1, "time": {"start_ns": "0", "step_ns": "1"}, "current_a": "0 1 2 1 0", "over_range": false, "origin": "1:1",
    }]}])
}

fn plan(chance: &mut Chance) -> (Scheme, Map<String, Value>) {
    let kinds: [&[&str]; 6] =
        [&["contact"], &["air"], &["contact", "air"], &["hcp"], &["vcp", "contact"], &["air", "hcp", "vcp"]];
    let mut points = Vec::new();
    let mut listed = Vec::new();
    for number in 1..=1 + chance.below(3) {
        let applications = if chance.odd() { Vec::new() } else { chance.pick(&kinds).to_vec() };
        let id = format!("P{number}");
        let mut point = json!({"id": id, "applications": applications});
        if chance.odd() {
            point["excluded"] = "out of reach".into();
        }
        listed.push(point);
        points.push((id, applications));
    }
    let mut plan = Map::new();
    let (contact, air) = if chance.percent(60) {
        let level = *chance.pick(&["1", "2", "3", "4"]);
        let level = chance.usual(level, &["X", "9", ""]);
        if !level.is_empty() {
            plan.insert("level".into(), level.into());
        }
        match level {
            "1" => (vec!["2"], vec!["2"]),
            "2" => (vec!["2", "4"], vec!["2", "4.0"]),
            "3" => (vec!["2", "4", "6"], vec!["2", "4", "8"]),
            _ => (vec!["2", "4", "6", "8"], vec!["2", "4", "8", "15"]),
        }
    } else {
        let contact =
            if chance.odd() { Vec::new() } else { chance.pick(&[vec!["8", "4"], vec!["6"]]).clone() };
        let air = if chance.odd() {
            Vec::new()
        } else {
            chance.pick(&[vec!["15"], vec!["4", "8.00", "4.0"]]).clone()
        };
        plan.insert("contact_kv".into(), json!(contact));
        plan.insert("air_kv".into(), json!(air));
        if chance.odd() {
            plan.insert("indirect_kv".into(), json!(["4"]));
        }
        (contact, air)
    };
    let polarities = chance.pick(&[vec!["positive", "negative"], vec!["positive"], vec!["negative"]]).clone();
    if !chance.odd() {
        let word = if polarities.len() == 2 { "both" } else { polarities[0] };
        plan.insert("polarity".into(), word.into());
    }
    if polarities.len() == 1 && !chance.odd() {
        plan.insert("polarity_basis".into(), "most sensitive in the search of points".into());
    }
    let mut count = 10;
    if chance.percent(30) {
        count = chance.usual(12, &[5, 1]);
        plan.insert("discharges".into(), count.into());
    }
    if chance.percent(30) {
        plan.insert("interval_s".into(), (*chance.pick(&["1", "1.0", "2"])).into());
    }
    if chance.odd() {
        let (pf, ohm) = *chance.pick(&[("150", "330"), ("150.0", "2000"), ("330", "330")]);
        plan.insert("network_pf".into(), pf.into());
        if !chance.percent(20) {
            plan.insert("network_ohm".into(), ohm.into());
        }
    }
    let modes =
        if chance.percent(70) { vec![] } else { chance.pick(&[vec!["idle"], vec!["idle", "busy"]]).clone() };
    plan.insert("modes".into(), json!(modes));
    let states = chance.pick(&[vec![], vec!["AR"], vec!["AR", "M1"], vec!["AR", "M1", "M2"]]).clone();
    if !states.is_empty() && chance.percent(50) {
        plan.insert("judged_state".into(), (*chance.pick(&states)).into());
    }
    let functions = chance.pick(&[vec![], vec!["output"], vec!["output", "display"]]).clone();
    let facts = json!({
        "laboratory": {"name": "Old Pumphouse Laboratory"},
        "item": {"name": "sensor"},
        "method": {
            "standard": "iec-61000-4-2-ed2",
            "deviations": if chance.odd() { json!([{"what": "filter left in circuit"}]) } else { json!([]) },
        },
        "plan": plan,
        "points": listed,
        "modes": [{"id": "idle"}, {"id": "busy"}],
        "states": states.iter().map(|id| json!({"id": id})).collect::<Vec<_>>(),
        "functions": functions.iter().map(|id| json!({"id": id})).collect::<Vec<_>>(),
        "partial_plan_justifications":
            if chance.percent(20) { json!([{"state": "M1", "by": "T. Sedge", "why": "only the shell was changed"}]) } else { json!([]) },
        "judgements":
            if chance.odd() { json!([{"concerns": "P1", "verdict": "pass", "by": "T. Sedge", "why": "recorder"}]) } else { json!([]) },
    });
    let scheme = Scheme { points, contact, air, modes, polarities, states, functions, count };
    (scheme, facts.as_object().cloned().unwrap())
}

fn demands(chance: &mut Chance, scheme: &Scheme, facts: &mut Map<String, Value>) {
    let words = ["A", "B", "C", "class a", "class b", "class c"];
    let mut list = Vec::new();
    if !chance.odd() {
        list.push(json!({"accepted": [chance.usual("B", &["A", "C", "Z", "class b"])]}));
    }
    for _ in 0..chance.below(3) {
        let mut demand = json!({"accepted": [chance.pick(&words)]});
        if chance.percent(30) {
            demand["accepted"] = json!([chance.pick(&words), chance.pick(&words)]);
        }
        if chance.percent(50) && !scheme.functions.is_empty() {
            demand["function"] = (*chance.pick(&scheme.functions)).into();
        }
        if chance.percent(20) {
            demand["mode"] = (*chance.pick(&["idle", "busy"])).into();
        }
        if chance.percent(30) {
            demand["application"] = (*chance.pick(&["contact", "air", "hcp", "vcp"])).into();
        }
        if chance.percent(30) {
            demand["from_kv"] = (*chance.pick(&["4", "4.0", "8"])).into();
        }
        if chance.percent(30) {
            demand["to_kv"] = (*chance.pick(&["6", "8", "8.0"])).into();
        }
        list.push(demand);
    }
    facts.insert("demands".into(), list.into());
}

fn evidence(chance: &mut Chance, scheme: &Scheme, facts: &mut Map<String, Value>) {
    if chance.percent(50) || scheme.states.is_empty() {
        facts.insert("work_started".into(), chance.usual(DAYS[0], &["2026-03-01"]).into());
        facts.insert("work_ended".into(), DAYS[1].into());
    }
    let mut item = json!({"name": "sensor"});
    let mut removal = json!({"method": "bleeder brush before each discharge"});
    match chance.usual(0, &[1, 2, 3, 4]) {
        0 => item["earthed"] = true.into(),
        1 => item["earthed"] = false.into(),
        2 => item["earthed"] = json!({"not_applicable": "sealed in plastic"}),
        3 => {}
        _ => removal = json!({"not_applicable": "no metal"}),
    }
    facts.insert("item".into(), item);
    if chance.percent(50) {
        facts.insert("charge_removal".into(), removal);
    }
    let mut generator = Map::new();
    let mut put = |chance: &mut Chance, key: &str, value: &str, others: &[&str]| {
        let value = chance.usual(value, others);
        if !value.is_empty() {
            generator.insert(key.into(), value.into());
        }
    };
    put(chance, "equipment", "G-1", &["", "G-9"]);
    put(chance, "network_pf", "150", &["", "330", "150.0"]);
    put(chance, "network_ohm", "330", &["", "330.00", "2000"]);
    put(chance, "contact_tip", "sharp", &["", "round"]);
    put(chance, "air_tip", "round", &["", "sharp"]);
    facts.insert("generator".into(), generator.into());
    let mut equipment = Map::new();
    let mut put = |chance: &mut Chance, key: &str, value: Value, others: &[Value]| {
        equipment.insert(key.into(), chance.usual(value, others));
    };
    put(chance, "id", "G-1".into(), &["G-2".into()]);
    put(chance, "calibrated_on", "2025-06-01".into(), &[Value::Null, DAYS[0].into(), "2026-03-14".into()]);
    put(chance, "calibration_due", "2026-06-01".into(), &[Value::Null, DAYS[1].into(), DAYS[0].into()]);
    put(chance, "accredited", true.into(), &[Value::Null, false.into()]);
    put(chance, "in_tolerance", true.into(), &[Value::Null, false.into()]);
    let mut all = vec![Value::Object(equipment)];
    if chance.percent(50) {
        all.push(json!({
            "id": "K-1", "role": "climate", "calibrated_on": "2025-06-01",
            "calibration_due": chance.usual("2026-06-01", &["2026-03-12"]), "accredited": true,
        }));
    }
    facts.insert("equipment".into(), all.into());
    let (mut climate, mut checks) = (Vec::new(), Vec::new());
    for day in DAYS {
        for _ in 0..chance.usual(1, &[0, 2]) {
            climate.push(json!({
                "at": format!("{day}T08:40:00{}", chance.pick(&["", "+01:00"])),
                "temperature_c": chance.usual(json!("22"), &[Value::Null, "15.0".into(), "14.9".into(), "35.01".into()]),
                "humidity_percent": chance.usual(json!("40"), &[Value::Null, "60".into(), "60.1".into()]),
                "pressure_hpa": chance.usual(json!("1010"), &[Value::Null, "860".into(), "859".into()]),
            }));
        }
        for _ in 0..chance.usual(1, &[0, 2]) {
            checks.push(json!({
                "kind": chance.usual("spark", &["strap", "distance"]),
                "what": chance.usual(Value::Null, &["hand-held spark gap".into()]),
                "in_order": chance.usual(json!(true), &[Value::Null, false.into()]),
                "at": chance.usual(json!(format!("{day}T08:50:00")), &[Value::Null, format!("{day}T23:00:00+01:00").into()]),
            }));
        }
    }
    for _ in 0..chance.usual(0, &[1, 2, 3]) {
        let mut check = json!({
            "kind": chance.pick(&["bleeder", "bleeder", "distance", "insulation"]),
            "reading": chance.pick(&["940", "1034", "1034.5", "0.94", "0.0001", "50", "0.5", "470"]),
            "unit": chance.pick(&[json!("kohm"), "Mohm".into(), "mm".into(), "m".into(), "inch".into(), Value::Null]),
            "at": chance.pick(&[json!("2026-03-12T08:00:00"), "2026-03-12T18:00:00".into(), "2026-02-01T08:00:00".into(), Value::Null]),
            "in_order": chance.pick(&[json!(true), Value::Null, Value::Null, false.into()]),
        });
        if chance.percent(40) {
            check["least"] = "846".into();
            check["most"] = "1034".into();
        }
        checks.push(check);
    }
    facts.insert("climate".into(), climate.into());
    facts.insert("setup_checks".into(), checks.into());
}
