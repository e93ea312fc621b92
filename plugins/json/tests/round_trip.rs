//! What is written is read back as the same record, to the digit and to the byte.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod reading;
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use plugin_api::wire::v1;
use proptest::prelude::*;
use reading::read;
use record::check;

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn a_record_comes_back(bytes in prop::collection::vec(any::<u8>(), 0..6000)) {
        let record = check(sample::draft(&bytes)).unwrap();
        let text = v1::record_to_json(&record);
        let back = read(text.as_bytes());
        prop_assert_eq!(back.said(), "");
        let again = check(back.draft.unwrap()).unwrap();
        // As text: a sample that is no number equals no other, and digits count.
        prop_assert_eq!(format!("{record:#?}"), format!("{again:#?}"));
        prop_assert_eq!(v1::record_to_json(&again), text);
    }

    /// A broken file is refused in words or read, and never stops the program.
    #[test]
    fn a_damaged_record_does_not_stop_the_program(
        bytes in prop::collection::vec(any::<u8>(), 0..1500),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
    ) {
        let record = check(sample::draft(&bytes)).unwrap();
        let mut text = v1::record_to_json(&record).into_bytes();
        for (at, byte) in cuts {
            let at = at.index(text.len());
            text[at] = byte;
        }
        if let Some(draft) = read(&text).draft {
            let _ = check(draft);
        }
    }
}

#[test]
fn the_demo_cut_off_anywhere_is_refused_as_cut_off() {
    let whole = include_bytes!("../fixtures/lock-gate/input.json");
    let text = whole.trim_ascii_end();
    // Every place of the first rows, then every 13th: each parse of the rest takes its time.
    for end in (0..text.len()).filter(|end| *end < 2000 || end % 13 == 0) {
        let cut = read(&text[..end]);
        assert!(cut.draft.is_none(), "{end}");
        let place = cut.findings[0].place.as_ref().unwrap();
        let row = text[..end].iter().filter(|b| **b == b'\n').count() as u64 + 1;
        // A cut inside a character is no UTF-8 any more; blank lines may lie before the end.
        assert!(["json/not-json", "json/not-utf8"].contains(&cut.codes()[0]), "{}", cut.said());
        assert!(place.row.is_some_and(|r| r <= row && r + 1 >= row), "{end}: {place}");
    }
}

#[test]
fn numbers_and_unknown_values_are_kept_to_the_digit() {
    let text = r#"{"schema": 1, "facts": {
  "plan": {"contact_kv": [8.00, 0.30000000000000004, 1e-07, "4.50"], "discharges": 1e1},
  "item": {"serial_nummer": 12345678901234567890123, "a/b": [1.10,  {"x": -0.0}]}},
 "passed_through": {"/x/y": 1.000, "/µ~1": {"k" : 1E400}}}"#;
    let text = text.replace("1E400", "1E30");
    let back = read(text.as_bytes());
    let draft = back.draft.unwrap();
    let kv: Vec<String> = draft.facts.plan.contact_kv.iter().map(|kv| kv.as_kv().to_string()).collect();
    assert_eq!(kv, ["8.00", "0.30000000000000004", "0.0000001", "4.50"]);
    assert_eq!(draft.facts.plan.discharges, Some(10));
    let kept: Vec<(&str, &str)> =
        draft.passed_through.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let expected = [
        ("/facts/item/a~1b", r#"[1.10,  {"x": -0.0}]"#),
        ("/facts/item/serial_nummer", "12345678901234567890123"),
        ("/x/y", "1.000"),
        ("/µ~1", r#"{"k" : 1E30}"#),
    ];
    assert_eq!(kept, expected);
    let written = v1::record_to_json(&check(draft).unwrap());
    for (_, text) in expected {
        assert!(written.contains(text), "{text}");
    }
    let again = read(written.as_bytes()).draft.unwrap();
    let kept: Vec<&str> = again.passed_through.values().map(String::as_str).collect();
    assert_eq!(kept, expected.map(|(_, text)| text));
}

#[test]
fn the_writer_names_both_files() {
    let record = sample::record_of(include_str!("../fixtures/lock-gate/input.json"));
    let (files, findings) = sample::written(&plugin_json::Json, &record);
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["job.json", "job.assessment.json"]);
    assert!(findings.is_empty());
    assert_eq!(files[0].1, v1::record_to_json(&record).into_bytes());
    let assessment: serde_json::Value = serde_json::from_slice(&files[1].1).unwrap();
    assert_eq!(assessment["verdict"], "fail");
    assert!(files.iter().all(|(_, bytes)| bytes.ends_with(b"}\n") && !bytes.ends_with(b"\n\n")));
}
