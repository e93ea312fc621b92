//! What is refused, and how it is said: code, row, column, pointer.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod reading;

use plugin_api::{Probe, Reader, Source};
use plugin_json::{Json, MAX_BYTES};
use reading::{read, read_source};
use record::SourceId;

/// Reads a text and gives what was said; the text must be refused.
fn refused(bytes: &[u8]) -> String {
    let read = read(bytes);
    assert!(read.draft.is_none(), "{}", String::from_utf8_lossy(bytes));
    assert!(read.findings.iter().all(|f| !f.help.is_empty()), "{}", read.said());
    read.said()
}

/// A file with one series whose voltage and count are written as given.
fn series(kv: &str, count: &str) -> String {
    format!(
        r#"{{"schema": 1, "series": [
 {{"id": "s1", "point": "A", "application": "contact", "polarity": "positive",
  "voltage_kv": {kv}, "count": {count}, "kind": "compliance", "origin": "0"}}]}}"#
    )
}

#[test]
fn broken_json_is_named_with_its_place() {
    for (text, said) in [
        ("", "json/not-json r.json:1:1: not JSON: EOF while parsing a value"),
        ("{\"schema\": 1,}", "json/not-json r.json:1:14: not JSON: trailing comma"),
        ("// note\n{}", "json/not-json r.json:1:1: not JSON: expected value"),
        ("{\"schema\": 1}\n{}", "json/not-json r.json:2:1: not JSON: trailing characters"),
        ("{\"schema\": 1}}", "json/not-json r.json:1:14: not JSON: trailing characters"),
        ("{\"schema\": 1", "json/not-json r.json:1:12: not JSON: EOF while parsing an object"),
        ("{\n \"µµ\": NaN}", "json/not-json r.json:2:8: not JSON: expected value"),
        ("{\"a\": \"\\ud800\"}", "json/not-json r.json:1:14: not JSON: unexpected end of hex escape"),
        (
            "{\"a\": \"tab\tin\"}",
            "json/not-json r.json:1:11: not JSON: control character (\\u0000-\\u001F) found while parsing a string",
        ),
        ("{'a': 1}", "json/not-json r.json:1:2: not JSON: key must be a string"),
    ] {
        assert_eq!(refused(text.as_bytes()), format!("{said}\n"), "{text}");
    }
}

#[test]
fn other_encodings_are_refused_and_a_mark_is_skipped() {
    let plain = "{\"schema\": 1, \"facts\": {\"item\": {\"name\": \"Ω\"}}}";
    let utf16: Vec<u8> = plain.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let marked: Vec<u8> = [0xFF, 0xFE].into_iter().chain(utf16.iter().copied()).collect();
    let big: Vec<u8> = plain.encode_utf16().flat_map(u16::to_be_bytes).collect();
    for bytes in [&utf16, &marked, &big] {
        let said = "json/not-utf8 r.json:1:1: the file is in UTF-16 or UTF-32, not in UTF-8\n";
        assert_eq!(refused(bytes), said);
    }
    let latin = b"{\"schema\": 1,\n \"x\": \"\xC3\xA4 \xE4\"}";
    assert_eq!(refused(latin), "json/not-utf8 r.json:2:10: byte 0xe4 is not UTF-8\n");
    let with_mark = read(format!("\u{feff}{plain}").as_bytes());
    assert_eq!(
        with_mark.said(),
        "json/byte-order-mark r.json:1:1: the byte order mark at the start was skipped\n"
    );
    assert_eq!(with_mark.draft.unwrap().facts.item.name.as_deref(), Some("Ω"));
    assert!(refused(format!("\u{feff}\u{feff}{plain}").as_bytes()).starts_with("json/not-json r.json:1:1"));
}

#[test]
fn a_key_twice_is_refused_with_both_places() {
    let text = series("\"4\", \"voltage_kv\": \"8\"", "10");
    let found = read(text.as_bytes());
    assert_eq!(
        found.said(),
        "json/duplicate-key r.json:3:22: the key `voltage_kv` stands twice in one object\n"
    );
    let (first, words) = found.findings[0].related.clone().unwrap();
    assert_eq!((first.to_string().as_str(), words.as_str()), ("r.json:3:3", "first here"));
    let both = r#"{"schema": 1, "colour": 1, "passed_through": {"/colour": 2}}"#;
    let said = "json/duplicate-key r.json:1:15 (/colour): `/colour` stands in the file and, with another value, under `passed_through`\n";
    assert!(refused(both.as_bytes()).ends_with(said));
}

#[test]
fn depth_and_size_are_bounded() {
    let nested =
        |depth: usize| format!("{{\"schema\": 1, \"x\": {}{}}}", "[".repeat(depth), "]".repeat(depth));
    assert!(read(nested(63).as_bytes()).draft.is_some());
    assert_eq!(refused(nested(64).as_bytes()), "json/too-deep r.json:1:83: nested more than 64 deep\n");
    assert!(refused("[".repeat(2_000_000).as_bytes()).starts_with("json/too-deep"));
    // Stated too large; and larger than stated.
    for stated in [MAX_BYTES + 1, 10] {
        let open =
            || Ok(Box::new(std::io::BufReader::new(std::io::repeat(b' '))) as Box<dyn std::io::BufRead>);
        let found = read_source(&Source::new(SourceId(0), "r.json", stated, &open));
        assert_eq!(found.said(), "json/too-large r.json: larger than 256 MiB\n");
    }
}

#[test]
fn a_file_that_the_system_does_not_give_is_refused() {
    let open = || Err(std::io::Error::other("the drive was taken away"));
    let found = read_source(&Source::new(SourceId(0), "r.json", 10, &open));
    assert_eq!(found.said(), "json/unreadable r.json: the file can't be read: the drive was taken away\n");
}

#[test]
fn json_that_is_no_record_is_refused_as_such() {
    for (text, what) in [
        ("[{\"point\": \"Hinge\", \"voltage_kv\": 15}]", "a list"),
        ("{\"records\": []}", "an object without `schema`"),
        ("12", "a single value"),
        ("null", "a single value"),
    ] {
        let said = format!("json/not-a-record r.json:1:1: the file holds {what}, not a record\n");
        assert_eq!(refused(text.as_bytes()), said);
    }
    assert_eq!(
        refused(b"{\n \"schema\": 2}"),
        "record/unknown-schema r.json:2:12 (/schema): found schema 2, this program reads schema 1\n"
    );
}

#[test]
fn numbers_are_taken_in_every_form_of_the_same_value_and_in_no_other() {
    for (kv, count) in [("4", "10"), ("\"4\"", "10.0"), ("4.0", "1e1"), ("4e0", "\"10\"")] {
        let draft = read(series(kv, count).as_bytes()).draft.unwrap();
        assert_eq!(draft.series[0].voltage_kv.as_kv(), record::Decimal::from(4));
        assert_eq!(draft.series[0].count, 10);
    }
    // As in the outside cases num-*, val-* and count-*: none of these is a magnitude in kV, or a count.
    for kv in ["NaN", "Infinity", "+4", "04", "0x4", "4.", "'4'", "1e400"] {
        assert!(refused(series(kv, "10").as_bytes()).starts_with("json/not-json r.json:3:"), "{kv}");
    }
    for kv in ["true", "[4]", "4000", "-4", "\"\"", "\"4 kV\"", "\"4,0\"", "{}"] {
        let said = refused(series(kv, "10").as_bytes());
        let place = "r.json:3:17 (/series/0/voltage_kv)";
        assert!(said.starts_with("record/") && said.contains(place), "{kv}: {said}");
    }
    assert!(refused(series("null", "10").as_bytes()).contains("(/series/0/voltage_kv)"));
    for count in ["-1", "10.5", "12345678901234567890123", "4294967296", "true", "\"ten\"", "[]"] {
        let said = refused(series("4", count).as_bytes());
        assert!(said.starts_with("record/bad-value r.json:3:29 (/series/0/count)"), "{count}: {said}");
    }
}

#[test]
fn a_missing_value_is_named_with_the_entry_that_lacks_it() {
    let text = series("4", "10").replace("\"point\": \"A\", ", "");
    let said = "record/missing-value r.json:2:2 (/series/0/point): `point` is missing\n";
    assert_eq!(refused(text.as_bytes()), said);
}

#[test]
fn an_unknown_key_is_kept_and_the_nearest_is_named() {
    let text = "{\"schema\": 1, \"facts\": {\n  \"item\": {\"serial_number\": \"0017\", \"zzz\": null}}}";
    let found = read(text.as_bytes());
    assert_eq!(
        found.said(),
        "record/unknown-key r.json:2:12 (/facts/item/serial_number): `serial_number` is not a key of a record here\n\
         record/unknown-key r.json:2:37 (/facts/item/zzz): `zzz` is not a key of a record here\n"
    );
    assert_eq!(found.findings[0].help, ["did you mean `serial`? The value is kept, but nothing reads it"]);
    assert_eq!(found.findings[1].help, ["the value is kept, but nothing reads it"]);
    let kept = found.draft.unwrap().passed_through;
    assert_eq!(kept.get("/facts/item/serial_number").unwrap(), "\"0017\"");
    assert_eq!(kept.get("/facts/item/zzz").unwrap(), "null");
}

#[test]
fn a_file_with_very_many_mistakes_is_answered_briefly_and_soon() {
    let with_shots = |shot: &str| {
        let shots = vec![shot; 20_000].join(",");
        series("4", "10").replace("\"origin\"", &format!("\"shots\": [{shots}], \"origin\""))
    };
    let found = read(with_shots("{\"row\": 3, \"colour\": 1}").as_bytes());
    let said = "record/unknown-key r.json:3:76 (/series/0/shots/0/colour): \
                `colour` is not a key of a record here, nor at 19999 more places like it\n";
    assert_eq!(found.said(), said);
    assert_eq!(found.draft.unwrap().passed_through.len(), 20_000);
    let said = refused(with_shots("{\"row\": 0}").as_bytes());
    assert_eq!(said.lines().count(), 101);
    assert!(said.contains("r.json: 19900 more values are wrong or missing"), "{said}");
}

#[test]
fn text_survives_whatever_it_holds() {
    let text = r#"{"schema": 1, "facts": {"item": {"name": "µΩ \"q\" \\ \/ \t \ud83d\udd0c a\u0000b"}}}"#;
    let name = read(text.as_bytes()).draft.unwrap().facts.item.name.unwrap();
    assert_eq!(name, "µΩ \"q\" \\ / \t 🔌 a\0b");
}

#[test]
fn the_probe_knows_a_record_from_other_files() {
    let probe = |head: &[u8]| Json.probe(head, "x.txt");
    assert_eq!(probe(b"\xEF\xBB\xBF {\"schema\": 1, \"sources\": ["), Probe::Yes);
    assert_eq!(probe(include_bytes!("../fixtures/lock-gate/input.json")), Probe::Yes);
    assert_eq!(probe(b"{\"points\": []}"), Probe::Maybe);
    assert_eq!(probe(b"[1, 2]"), Probe::Maybe);
    for head in [&b""[..], b"point;kV", b"\xFF\xFE{\0", b"PK\x03\x04"] {
        assert_eq!(probe(head), Probe::No);
        assert_eq!(Json.probe(head, "x.JSON"), Probe::Maybe);
    }
}
