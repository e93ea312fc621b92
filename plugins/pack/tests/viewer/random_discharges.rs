//! Random series, observations and unreadable rows to go with the random facts of a job.

use crate::chance::Chance;
use crate::random_record::{DAYS, Scheme};
use serde_json::{Value, json};

/// The series that the plan asks for in each state, short, doubled or otherwise out of order now and then.
pub(crate) fn series(chance: &mut Chance, scheme: &Scheme) -> Vec<Value> {
    let mut all = Vec::new();
    let states: Vec<Option<&str>> =
        if scheme.states.is_empty() { vec![None] } else { scheme.states.iter().copied().map(Some).collect() };
    for (index, state) in states.iter().enumerate() {
        if index > 0 && chance.percent(30) {
            continue;
        }
        // A later state is often tried at a few points only.
        let part = if index > 0 && chance.percent(60) { 30 } else { 100 };
        for (point, applications) in &scheme.points {
            for application in applications {
                let voltages = if *application == "air" { &scheme.air } else { &scheme.contact };
                for voltage in voltages {
                    for mode in if scheme.modes.is_empty() {
                        vec![None]
                    } else {
                        scheme.modes.iter().map(Some).collect()
                    } {
                        for polarity in &scheme.polarities {
                            if !chance.percent(part) || chance.odd() {
                                continue;
                            }
                            let given = Given {
                                point,
                                application,
                                voltage,
                                polarity,
                                mode: mode.copied(),
                                state: *state,
                            };
                            let counts = if chance.percent(15) {
                                vec![4, scheme.count.saturating_sub(4)]
                            } else {
                                vec![scheme.count]
                            };
                            for count in counts {
                                let row = all.len() + 2;
                                all.push(one(chance, &given, count, row));
                            }
                        }
                    }
                }
            }
        }
    }
    all
}

struct Given<'a> {
    point: &'a str,
    application: &'a str,
    voltage: &'a str,
    polarity: &'a str,
    mode: Option<&'a str>,
    state: Option<&'a str>,
}

fn one(chance: &mut Chance, given: &Given<'_>, count: u64, row: usize) -> Value {
    let day = DAYS[usize::from(chance.percent(20))];
    let source = if given.state == Some("M1") { 2 } else { 1 };
    let count = chance.usual(count, &[0, count.saturating_sub(1), count + 5]);
    let mut series = json!({
        "id": format!("s{row}"),
        "point": chance.usual(given.point, &["P1", "P9"]),
        "application": chance.usual(given.application, &["contact", "air", "hcp", "vcp"]),
        "polarity": chance.usual(given.polarity, &["positive", "negative"]),
        "voltage_kv": chance.usual(given.voltage, &["8.0", "15.00", "16", "2"]),
        "count": count,
        "interval_s": chance.usual(json!("1"), &[Value::Null, "0.9".into(), "1.000".into(), "2".into()]),
        "single": chance.usual(Value::Null, &[true.into(), false.into()]),
        "state": chance.usual(json!(given.state), &[Value::Null, "AR".into(), "M9".into()]),
        "mode": chance.usual(json!(given.mode), &[Value::Null, "idle".into(), "busy".into()]),
        "kind": chance.usual("compliance", &["exploratory", "threshold"]),
        "monitoring": chance.usual(
            json!("continuous"),
            &[Value::Null, "interrupted".into(), "result-each".into(), json!({"not_applicable": "the item has no function"})],
        ),
        "tip": chance.usual(Value::Null, &["sharp".into(), "round".into()]),
        "started": chance.usual(json!(format!("{day}T09:10:00")), &[Value::Null, "2026-03-14T09:00:00+01:00".into(), format!("{day}T08:30:00.5").into()]),
        "ended": chance.usual(Value::Null, &["2026-03-13T09:30:00Z".into()]),
        "origin": format!("{source}:{row}"),
    });
    if given.application == "air" && chance.percent(60) {
        series["sparks"] = chance.usual(count / 2, &[0, count]).into();
    }
    if chance.odd() {
        series["shots"] = json!([{"row": row, "at": format!("{day}T09:00:00")}, {"row": row + 1}]);
    }
    series
}

/// What was seen: mostly class b with every fact that criterion B needs.
pub(crate) fn observations(chance: &mut Chance, scheme: &Scheme, series: &[Value]) -> Vec<Value> {
    let count = *chance.pick(&[0, 0, 1, 1, 2, 4]);
    (0..count)
        .map(|number| {
            let of = if series.is_empty() || chance.odd() {
                chance.pick(&[Value::Null, "s999".into()]).clone()
            } else {
                chance.pick(series)["id"].clone()
            };
            let named = chance.percent(70) && !scheme.functions.is_empty();
            let function = if named { json!(chance.pick(&scheme.functions)) } else { Value::Null };
            let mut observation = json!({
                "id": format!("o{number}"),
                "series": of,
                "function": function,
                "seen": chance.usual(json!("dark for a second"), &[Value::Null]),
                "state_changed": chance.usual(json!(false), &[Value::Null, true.into(), json!({"not_applicable": "stateless"})]),
                "data_lost": chance.usual(json!(false), &[Value::Null, true.into(), json!({"not_applicable": "no store"})]),
                "restored": chance.usual(
                    json!("by-itself"),
                    &[Value::Null, "nothing-lost".into(), "operator".into(), "power-cycle".into(), "not-restored".into(),
                      json!({"not_applicable": "nobody tried"})],
                ),
                "coincident": chance.usual(Value::Null, &[true.into(), false.into()]),
                "affected": chance.usual(Value::Null, &["item".into(), "associated".into()]),
                "origin": "1:2:5",
            });
            if chance.percent(30) {
                observation["written_class"] = (*chance.pick(&["a", "b", "c", "d"])).into();
            }
            if chance.percent(8) {
                observation["restored"] = (*chance.pick(&["operator", "not-restored"])).into();
            }
            observation
        })
        .collect()
}

/// Rows that could not be read, and the rulings of named persons on some of them.
pub(crate) fn unread(chance: &mut Chance) -> (Value, Value) {
    let (mut rows, mut rulings) = (Vec::new(), Vec::new());
    for row in 40..42 {
        if !chance.odd() {
            continue;
        }
        let source = 1 + chance.below(2);
        rows.push(json!({"source": source, "row": row, "last_row": row, "text": "P1;?;8", "code": "csv/bad-number", "why": "`?` is no number"}));
        if chance.percent(60) {
            let file = chance.pick(&["one.csv", "two.csv"]);
            rulings
                .push(json!({"file": file, "row": row, "by": "T. Sedge", "ruling": "a blot, no discharge"}));
        }
    }
    (rows.into(), rulings.into())
}
