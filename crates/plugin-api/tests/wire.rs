//! The canonical JSON: every field survives, the schema knows every field, and nothing is dropped on the way in.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod sample;

use plugin_api::Body;
use plugin_api::wire::v1::{self, codes};
use proptest::prelude::*;
use record::{Record, check};
use serde_json::{Value, json};
use std::collections::BTreeSet;

fn read(value: Value) -> Result<(record::Draft, Vec<String>), Vec<v1::Trouble>> {
    v1::draft_from_value(value).map(|(draft, unknown)| (draft, unknown.into_keys().collect()))
}

/// A record file with `facts` in it.
fn facts(facts: Value) -> Value {
    json!({ "schema": 1, "facts": facts })
}

fn trouble(value: Value) -> (String, &'static str) {
    let troubles = read(value).unwrap_err();
    (troubles[0].path.clone(), troubles[0].code)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_record_survives(bytes in prop::collection::vec(any::<u8>(), 0..6000)) {
        let record = check(sample::draft(&bytes)).unwrap();
        let text = v1::record_to_json(&record);
        let mut written = Vec::new();
        v1::write_record(&record, &mut written).unwrap();
        prop_assert_eq!(&written, text.as_bytes());
        let mut portions = Vec::new();
        v1::each_portion(&record, &mut |portion| portions.extend_from_slice(portion));
        prop_assert_eq!(portions, written);
        // Written straight from the record, it is what the types of the form write.
        let mut form: v1::RecordFile = serde_json::from_str(&text).unwrap();
        // Read without their text, these lose digits.
        let kept = record.passed_through.iter();
        form.passed_through = kept.map(|(path, text)| (path.clone(), v1::Kept(text.clone()))).collect();
        prop_assert_eq!(serde_json::to_string_pretty(&form).unwrap() + "\n", text.as_str());
        let (draft, unknown) = read(serde_json::from_str(&text).unwrap()).unwrap();
        prop_assert!(unknown.is_empty(), "{unknown:?}");
        let mut again = check(draft).unwrap();
        // As JSON values these lose digits; the reader of record files takes them from the text.
        again.passed_through.clone_from(&record.passed_through);
        // As text: a sample that is no number equals no other, and digits count.
        prop_assert_eq!(format!("{record:#?}"), format!("{again:#?}"));
        prop_assert_eq!(v1::record_to_json(&again), text);
    }
}

#[test]
fn a_record_that_was_checked_stays_as_it_is_when_it_is_checked_again() {
    // The log has two observations in row 5 and one in row 6; the job file speaks of row 5 twice, of row 6 first.
    let source =
        |name: &str, role: &str| json!({ "name": name, "role": role, "bytes": 1, "sha256": "0".repeat(64) });
    let stated = |id: &str, row: u64| json!({ "id": id, "at": { "file": "a.csv", "row": row }, "remark": id, "origin": "0:9" });
    let logged = |id: &str, row: u64| json!({ "id": id, "seen": id, "origin": format!("1:{row}") });
    let value = json!({
        "schema": 1,
        "sources": [source("job.toml", "job"), source("a.csv", "log")],
        "series": [{ "id": "s1", "point": "P1", "application": "contact", "polarity": "positive", "voltage_kv": "4",
                     "count": 3, "kind": "compliance", "origin": "1:5-7" }],
        "observations": [stated("j1", 6), logged("l1", 5), stated("j2", 5), logged("l2", 5), logged("l3", 6),
                         stated("j3", 5), stated("j4", 7), stated("j5", 99)],
    });
    let record = check(read(value).unwrap().0).unwrap();
    let ids: Vec<&str> = record.observations.iter().map(|o| o.id.as_str()).collect();
    assert_eq!(ids, ["l1", "l2", "l3", "j3", "j4", "j5"]);
    let remarks: Vec<Option<&str>> = record.observations.iter().map(|o| o.remark.as_deref()).collect();
    assert_eq!(remarks, [Some("j2"), None, Some("j1"), Some("j3"), Some("j4"), Some("j5")]);
    let again = check(read(v1::record_to_value(&record)).unwrap().0).unwrap();
    assert_eq!(record, again);
}

/// Every key of the schema below a node, as a path with `*` for the places of a list.
fn keys_of_schema(schema: &Value, node: &Value, path: &str, out: &mut BTreeSet<String>) {
    if let Some(reference) = node.get("$ref").and_then(Value::as_str) {
        keys_of_schema(schema, schema.pointer(&reference[1..]).unwrap(), path, out);
    }
    for name in ["anyOf", "oneOf"] {
        for choice in node.get(name).and_then(Value::as_array).into_iter().flatten() {
            keys_of_schema(schema, choice, path, out);
        }
    }
    if let Some(items) = node.get("items") {
        keys_of_schema(schema, items, &format!("{path}/*"), out);
    }
    for (key, child) in node.get("properties").and_then(Value::as_object).into_iter().flatten() {
        let path = format!("{path}/{key}");
        out.insert(path.clone());
        keys_of_schema(schema, child, &path, out);
    }
}

fn keys_of_value(value: &Value, path: &str, out: &mut BTreeSet<String>) {
    match value {
        Value::Array(list) => list.iter().for_each(|v| keys_of_value(v, &format!("{path}/*"), out)),
        Value::Object(object) if path != "/origins" && path != "/passed_through" => {
            for (key, child) in object {
                let path = format!("{path}/{key}");
                out.insert(path.clone());
                keys_of_value(child, &path, out);
            }
        }
        _ => {}
    }
}

#[test]
fn made_up_records_have_every_key_of_the_schema_and_no_other() {
    let schema = v1::record_schema();
    let mut wanted = BTreeSet::new();
    keys_of_schema(&schema, &schema, "", &mut wanted);
    assert!(wanted.len() > 250, "{}", wanted.len());
    let mut had = BTreeSet::new();
    let mut bytes = vec![0u8; 9000];
    let mut state = 7u32;
    for _ in 0..200 {
        for byte in &mut bytes {
            // A linear congruence, so that the records are the same on every run.
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            *byte = (state >> 24) as u8;
        }
        let record: Record = check(sample::draft(&bytes)).unwrap();
        keys_of_value(&v1::record_to_value(&record), "", &mut had);
    }
    assert_eq!(wanted.difference(&had).collect::<Vec<_>>(), Vec::<&String>::new(), "never written");
    assert_eq!(had.difference(&wanted).collect::<Vec<_>>(), Vec::<&String>::new(), "not in the schema");
}

/// The schemas of the parts that have keys, by name.
fn parts(schema: &Value) -> impl Iterator<Item = (&String, &Value)> {
    schema["$defs"].as_object().unwrap().iter().filter(|(_, part)| part.get("properties").is_some())
}

#[test]
fn the_schema_says_what_must_be_there() {
    let schema = v1::record_schema();
    let required = |name: &str| schema["$defs"][name]["required"].clone();
    assert_eq!(required("Point"), json!(["id"]));
    assert_eq!(required("Item"), Value::Null);
    assert_eq!(required("Person"), json!(["name", "part"]));
    assert_eq!(required("Mark"), json!(["x", "y"]));
    let series = ["id", "point", "application", "polarity", "voltage_kv", "count", "kind", "origin"];
    assert_eq!(required("Series"), json!(series));
    assert!(parts(&schema).count() > 35);
    for (name, part) in parts(&schema) {
        for key in part["required"].as_array().into_iter().flatten() {
            assert!(part["properties"].get(key.as_str().unwrap()).is_some(), "{name}: {key}");
        }
    }
}

#[test]
fn the_schema_beside_the_others_is_this_one() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/schemas/record-1.schema.json");
    let text = format!("{:#}\n", v1::record_schema());
    if std::env::var_os("BLESS").is_some() && std::env::var_os("CI").is_none() {
        std::fs::write(path, &text).unwrap();
    }
    assert!(std::fs::read_to_string(path).unwrap() == text, "stale: run `cargo xtask schemas`");
}

#[test]
fn unknown_keys_come_back_with_their_path_wherever_they_stand() {
    let value = json!({
        "schema": 1,
        "colour": "grey",
        "facts": {
            "item": { "serial_number": "0017", "a/b": 1, "~": 2 },
            "charge_removal": { "method": "brush", "brand": "?" },
            "points": [{ "id": "P1", "mark": { "x": "0.1", "y": "0.2", "z": "0.3" } }],
        },
        "verifications": [{ "id": "V1", "traces": [{
            "name": "t", "segment": 1, "over_range": false, "origin": "0", "current_a": "1",
            "time": { "start_ns": "0", "step_ns": "1", "zone": "UTC" },
        }] }],
    });
    let (_, unknown) = read(value).unwrap();
    let expected = [
        "/colour",
        "/facts/charge_removal/brand",
        "/facts/item/a~1b",
        "/facts/item/serial_number",
        "/facts/item/~0",
        "/facts/points/0/mark/z",
        "/verifications/0/traces/0/time/zone",
    ];
    assert_eq!(unknown, expected);
}

#[test]
fn a_fact_that_does_not_apply_stands_alone() {
    for value in [
        json!({ "charge_removal": { "not_applicable": "earthed", "method": "brush" } }),
        json!({ "charge_removal": { "method": "brush", "not_applicable": "earthed" } }),
        json!({ "item": { "earthed": { "not_applicable": "no", "colour": 1 } } }),
        json!({ "item": { "earthed": { "value": true } } }),
        json!({ "item": { "earthed": "yes" } }),
    ] {
        assert_eq!(trouble(facts(value.clone())).1, codes::BAD_VALUE, "{value}");
    }
    let (draft, _) = read(facts(json!({ "item": { "earthed": { "not_applicable": "no metal" } } }))).unwrap();
    assert_eq!(draft.facts.item.earthed, record::Stated::NotApplicable { reason: "no metal".into() });
}

#[test]
fn one_whole_number_has_many_forms() {
    let discharges = |value: Value| read(facts(json!({ "plan": { "discharges": value } })));
    for value in [json!(10), json!(10.0), json!(1e1), json!("10"), json!("10.0"), json!("1e1"), json!(" 10 ")]
    {
        assert_eq!(discharges(value.clone()).unwrap().0.facts.plan.discharges, Some(10), "{value}");
    }
    for value in [
        json!(-1),
        json!(10.5),
        json!("ten"),
        json!("0x0A"),
        json!(true),
        json!([10]),
        json!(4_294_967_296u64),
        json!("12345678901234567890123"),
        json!(""),
    ] {
        assert!(discharges(value.clone()).is_err(), "{value}");
    }
    assert_eq!(discharges(json!(null)).unwrap().0.facts.plan.discharges, None);
}

#[test]
fn quantities_keep_their_digits_and_their_range() {
    let kv = |value: Value| read(facts(json!({ "plan": { "contact_kv": [value] } })));
    for (value, digits) in
        [(json!("8.00"), "8.00"), (json!(8), "8"), (json!(0.1), "0.1"), (json!("8e0"), "8")]
    {
        let (draft, _) = kv(value).unwrap();
        assert_eq!(draft.facts.plan.contact_kv[0].as_kv().to_string(), digits);
    }
    for value in [
        json!(4000),
        json!(-8),
        json!("8 kV"),
        json!("8,0"),
        json!("NaN"),
        json!(true),
        json!([4]),
        json!(null),
    ] {
        let path = trouble(facts(json!({ "plan": { "contact_kv": [value] } }))).0;
        assert_eq!(path, "/facts/plan/contact_kv/0");
    }
}

#[test]
fn what_is_missing_never_reads_as_zero() {
    let source = json!({ "name": "a.csv", "role": "log", "bytes": 3, "sha256": "0".repeat(64), "account": {
        "total": 1, "used": 0, "set_aside": 0, "preamble": 1, "footer": 0, "blank": 0,
    } });
    assert!(read(json!({ "schema": 1, "sources": [source] })).is_ok());
    for path in ["/bytes", "/sha256", "/name", "/role", "/account/total", "/account/footer"] {
        let (parent, key) = path.rsplit_once('/').unwrap();
        let mut less = source.clone();
        less.pointer_mut(parent).unwrap().as_object_mut().unwrap().remove(key);
        let wanted = (format!("/sources/0{path}"), codes::MISSING_VALUE);
        assert_eq!(trouble(json!({ "schema": 1, "sources": [less] })), wanted);
    }
    for (list, entry, key) in [
        ("unread", json!({ "row": 3, "text": "", "code": "c", "why": "w" }), "source"),
        ("unread", json!({ "source": 0, "text": "", "code": "c", "why": "w" }), "row"),
        ("series", json!({}), "id"),
        ("observations", json!({}), "id"),
        ("verifications", json!({ "traces": [] }), "id"),
    ] {
        let wanted = (format!("/{list}/0/{key}"), codes::MISSING_VALUE);
        assert_eq!(trouble(json!({ "schema": 1, list: [entry] })), wanted);
    }
}

#[test]
fn rows_and_discharges_count_from_1() {
    for value in [
        json!({ "schema": 1, "unread": [{ "source": 0, "row": 0, "text": "", "code": "c", "why": "w" }] }),
        json!({ "schema": 1, "observations": [{ "id": "o1", "shot": 0, "origin": "0" }] }),
        json!({ "schema": 1, "observations": [{ "id": "o1", "at": { "file": "a", "row": 0 }, "origin": "0" }] }),
        facts(json!({ "rulings": [{ "file": "a", "row": 0, "by": "T. Sedge", "ruling": "none" }] })),
    ] {
        let (path, code) = trouble(value);
        assert!(code == codes::BAD_VALUE && (path.ends_with("/row") || path.ends_with("/shot")), "{path}");
    }
}

#[test]
fn every_missing_value_is_named_in_one_go() {
    let troubles =
        read(json!({ "schema": 1, "facts": { "people": [{}, { "name": "T. Sedge" }] } })).unwrap_err();
    let paths: Vec<&str> = troubles.iter().map(|t| t.path.as_str()).collect();
    assert_eq!(paths, ["/facts/people/0/name", "/facts/people/0/part", "/facts/people/1/part"]);
}

#[test]
fn dates_times_and_places_are_read_whole_or_not() {
    let wrong = [
        json!({ "work_started": "2026-03-12T09:30" }),
        json!({ "work_started": "20260312" }),
        json!({ "work_started": "12.03.2026" }),
        json!({ "work_started": "2026-02-30" }),
        json!({ "climate": [{ "at": "2026-03-12" }] }),
        json!({ "climate": [{ "at": "09:30" }] }),
    ];
    for value in wrong {
        assert_eq!(trouble(facts(value.clone())).1, codes::BAD_VALUE, "{value}");
    }
    let origin = |text: &str| read(json!({ "schema": 1, "origins": { "/item/a~b": text } }));
    for text in ["0", "3:12", "3:12-14", "3:12:4", "3:12-14:4", "0::4"] {
        let (draft, _) = origin(text).unwrap();
        let record = check(draft).unwrap();
        assert_eq!(v1::record_to_value(&record)["origins"]["/item/a~b"], text);
    }
    for text in ["", "x", "0:0", "0:5-3", "0:1:0", "0:1:2:3", "-1", "0:+1", "0:1-"] {
        let refused = origin(text).unwrap_err();
        assert_eq!(refused[0].path, "/origins/~1item~1a~0b", "{text}");
    }
}

#[test]
fn a_time_axis_has_one_form_and_fits_its_samples() {
    let trace = |time: Value, samples: &str| {
        read(json!({ "schema": 1, "verifications": [{ "id": "V1", "traces": [{
            "name": "t", "segment": 1, "over_range": false, "origin": "0", "current_a": samples, "time": time,
        }] }] }))
    };
    assert!(trace(json!({ "start_ns": "0", "step_ns": 0.5 }), "1 x 2").is_ok());
    assert!(trace(json!({ "times_ns": "0 1 2" }), "1 x 2").is_ok());
    for (time, samples) in [
        (json!({ "start_ns": "0", "step_ns": "1", "times_ns": "0 1" }), "1 2"),
        (json!({ "start_ns": "0" }), "1 2"),
        (json!({}), "1 2"),
        (json!({ "start_ns": "0", "step_ns": "0" }), "1 2"),
        (json!({ "times_ns": "0 x" }), "1 2"),
        (json!({ "times_ns": "1 0" }), "1 2"),
        (json!({ "times_ns": "0 0" }), "1 2"),
        (json!({ "times_ns": "0 1" }), "1 2 3"),
        (json!({ "times_ns": "0 1" }), "1 inf"),
        (json!({ "times_ns": "0 1" }), "1 2a"),
    ] {
        assert!(trace(time.clone(), samples).is_err(), "{time} {samples}");
    }
}

#[test]
fn another_schema_is_not_read_as_this_one() {
    for value in
        [json!({}), json!([]), json!({ "schema": 2 }), json!({ "schema": "1" }), json!({ "schema": 1.5 })]
    {
        assert_eq!(trouble(value.clone()).1, codes::UNKNOWN_SCHEMA, "{value}");
    }
}

/// From so many samples on, a record is written on demand, and held below: the same text.
#[test]
fn a_long_record_is_written_on_demand() {
    let of = |samples: usize| {
        let current: Vec<String> = (0..samples).map(|n| (n % 977).to_string()).collect();
        let hash = "0".repeat(64);
        let whole = json!({
            "schema": 1,
            "sources": [{ "name": "t.csv", "role": "trace", "bytes": 1, "sha256": hash }],
            "verifications": [{ "id": "V", "traces": [{
                "name": "t.csv", "segment": 1, "time": { "start_ns": "0", "step_ns": "1" },
                "current_a": current.join(" "), "over_range": false, "origin": "0",
            }] }],
        });
        sample::record_of(&whole.to_string())
    };
    let assessment = assess::assess(&sample::record_of(r#"{"schema": 1}"#), None);
    for (samples, long) in [(499_999, false), (500_000, true)] {
        let record = of(samples);
        let text = v1::record_to_json(&record);
        sample::with_input(&record, &assessment, |input| match input.record_json() {
            Body::Stream(write) if long => {
                let mut written = Vec::new();
                write(&mut written).unwrap();
                assert!(written == text.as_bytes());
            }
            Body::Bytes(held) if !long => assert!(held == text.as_bytes()),
            body => panic!("{samples} samples: {body:?}"),
        });
    }
}
