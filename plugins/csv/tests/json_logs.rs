//! Discharge logs in JSON of other programs: the reference cases, a public suite, and places within the file.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a test stops at what it can't use, and says what it skips"
)]

mod common;

use common::Job;
use plugin_api::{Intake, Probe, ReadContext, Reader, Source, Taken};
use plugin_csv::JsonLogs;
use record::{Application, Polarity, Severity, SourceId};
use serde_json::{Value, json};
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

fn read(name: &str, bytes: &[u8], job: &Job) -> (bool, Taken) {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    let source = Source::new(SourceId(0), name, bytes.len() as u64, &open);
    let mut intake = Intake::new(SourceId(0));
    let context = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    let done = JsonLogs.read(&source, &mut intake, &context).is_ok();
    (done, intake.finish())
}

/// The mapping of the reference cases; the log says nothing of how the discharges were applied.
fn job(records: Option<&str>) -> Job {
    mapped(records, false)
}

fn mapped(records: Option<&str>, bare: bool) -> Job {
    let mut settings = json!({
        "polarity": "signed",
        "columns": {
            "point": "/point", "voltage": "/voltage_kv", "count": "/discharges", "upsets": "/upsets",
            "time": "/time",
        },
    });
    if bare {
        let columns = settings["columns"].as_object_mut().unwrap();
        columns.remove("upsets");
        columns.remove("time");
    }
    if let Some(records) = records {
        settings["records"] = records.into();
    }
    let mut job = Job::with(settings);
    job.defaults.application = Some(Application::Contact);
    job
}

fn shared(folder: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared").join(folder);
    if path.is_dir() {
        return Some(path);
    }
    eprintln!("SKIPPED: {} is not there", path.display());
    None
}

fn codes(taken: &Taken) -> Vec<&str> {
    taken.findings.iter().map(|f| f.code.as_str()).collect()
}

/// Every value that was read is the one that Python's json gives, as far as both hold it.
fn same_values(taken: &Taken, bytes: &[u8]) {
    let text = std::str::from_utf8(bytes).unwrap().trim_start_matches('\u{feff}');
    let records: Vec<Value> = match serde_json::from_str::<Value>(text) {
        Ok(Value::Array(list)) => list,
        Ok(whole) => whole["records"].as_array().unwrap().clone(),
        Err(_) => text.lines().map(|line| serde_json::from_str(line).unwrap()).collect(),
    };
    // A row that says that nothing was applied is no series.
    let applied: Vec<&Value> = records.iter().filter(|r| r["discharges"].as_f64() != Some(0.0)).collect();
    assert_eq!(taken.series.len(), applied.len());
    for (series, record) in taken.series.iter().zip(applied) {
        let kv: f64 = series.voltage_kv.as_kv().to_string().parse().unwrap();
        let kv = if series.polarity == Polarity::Negative { -kv } else { kv };
        let wanted = record["voltage_kv"].as_f64().or_else(|| record["voltage_kv"].as_str()?.parse().ok());
        assert!((kv - wanted.unwrap()).abs() < 1e-12, "{kv} {record}");
        assert_eq!(Some(f64::from(series.count)), record["discharges"].as_f64(), "{record}");
        assert_eq!(series.point.as_str(), record["point"].as_str().unwrap().trim(), "{record}");
        assert_eq!(series.started.as_ref().map(ToString::to_string).as_deref(), record["time"].as_str());
    }
}

/// Source of the expectations: `shared/reference/json/expected.json` beside the repository.
#[test]
fn the_reference_cases_are_read_through_a_mapping_as_their_manifest_says() {
    let Some(folder) = shared("reference/json") else { return };
    let manifest: Value = serde_json::from_slice(&fs::read(folder.join("expected.json")).unwrap()).unwrap();
    let mut wrong = Vec::new();
    let mut agreed = 0;
    for (name, case) in manifest["cases"].as_object().unwrap() {
        let bytes = fs::read(folder.join(name)).unwrap();
        let records = match name.as_str() {
            "lines.ndjson" => None,
            "array-top.json" => Some(""),
            _ => Some("/records"),
        };
        let (done, taken) = read(name, &bytes, &job(records));
        let errors: Vec<_> = taken.findings.iter().filter(|f| f.severity == Severity::Error).collect();
        let clean = done && errors.is_empty();
        let fits = match case["outcome"].as_str().unwrap() {
            "accept" => clean,
            "reject" => !errors.is_empty(),
            "flag" => !taken.findings.is_empty(),
            "ask" => true,
            other => panic!("{other}"),
        };
        let placed =
            errors.iter().all(|f| f.place.as_ref().is_some_and(|p| p.row.is_some()) && !f.help.is_empty());
        if !fits || !placed {
            wrong.push(format!("{name}: {case}: done {done}: {:?}", taken.findings));
            continue;
        }
        if clean {
            same_values(&taken, &bytes);
        }
        if done {
            assert!(taken.account.unwrap().balances(), "{name}");
        }
        agreed += 1;
        eprintln!("{name}: {} -> {:?}", case["outcome"].as_str().unwrap(), codes(&taken));
    }
    eprintln!("{agreed} cases agree");
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// JSONTestSuite (MIT): y must parse, n must not, i either. What parses holds no list of discharges, and is refused
/// for that. A key that stands twice is JSON, and refused all the same.
#[test]
fn the_public_suite_is_told_apart() {
    let Some(folder) = shared("external/json-test-suite") else { return };
    let mut count = [0; 3];
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if !name.ends_with(".json") {
            continue;
        }
        let bytes = fs::read(&path).unwrap();
        let (_, taken) = read(&name, &bytes, &job(Some("")));
        let found = codes(&taken);
        let broken = found.iter().any(|c| matches!(*c, "json-log/not-json" | "json-log/too-deep"));
        match name.as_bytes().first() {
            Some(b'y') => {
                count[0] += 1;
                assert!(!broken, "{name}: {:?}", taken.findings);
            }
            Some(b'n') => {
                count[1] += 1;
                assert!(broken, "{name}: {found:?}");
            }
            _ => count[2] += 1,
        }
    }
    eprintln!("{} parse, {} do not, {} either", count[0], count[1], count[2]);
    assert!(count.iter().sum::<i32>() > 100);
}

#[test]
fn a_finding_names_line_column_and_pointer() {
    let text = "[\n {\"point\": \"P1\", \"voltage_kv\": 4, \"discharges\": 10},\n {\"point\": \"P1\", \"voltage_kv\": \"4x\", \"discharges\": 10}\n]\n";
    let (done, taken) = read("x.json", text.as_bytes(), &mapped(Some(""), true));
    assert!(done, "{:?}", taken.findings);
    let place = taken.findings.iter().find(|f| f.code == "csv/bad-number").unwrap().place.clone().unwrap();
    assert_eq!((place.row, place.column, place.label.as_deref()), (Some(3), Some(32), Some("/voltage_kv")));
    assert_eq!((taken.unread[0].row, taken.series.iter().next().unwrap().origin.rows.unwrap().first), (3, 2));
    assert_eq!(taken.unread[0].text, "{\"point\": \"P1\", \"voltage_kv\": \"4x\", \"discharges\": 10}");
    let account = taken.account.unwrap();
    assert_eq!((account.total, account.used, account.set_aside), (2, 1, 1));
}

#[test]
fn a_broken_line_of_json_lines_is_set_aside_and_the_others_are_read() {
    let good = "{\"point\": \"P1\", \"voltage_kv\": 4, \"discharges\": 10}";
    let twice = "{\"point\": \"P1\", \"voltage_kv\": 4, \"voltage_kv\": 8, \"discharges\": 10}";
    let text = format!("{good}\n\n{{\"point\": \n{twice}\n{good}");
    let (done, taken) = read("x.jsonl", text.as_bytes(), &mapped(None, true));
    assert!(done, "{:?}", taken.findings);
    assert_eq!(taken.series.iter().map(|s| s.origin.rows.unwrap().first).collect::<Vec<_>>(), [1, 5]);
    assert_eq!(
        taken.unread.iter().map(|u| (u.row, u.code.as_str())).collect::<Vec<_>>(),
        [(3, "json-log/not-json"), (4, "json-log/duplicate-key")]
    );
    let account = taken.account.unwrap();
    assert!(account.balances());
    assert_eq!((account.total, account.used, account.set_aside, account.blank), (5, 2, 2, 1));
    assert_eq!(JsonLogs.probe(text.as_bytes(), "x.jsonl"), Probe::Yes);
    assert_eq!(JsonLogs.probe(b"{\"schema\": 1}", "x.json"), Probe::No);
}

#[test]
fn nested_values_are_named_by_pointers_and_lists_kept_as_written() {
    let text = r#"{"log": {"runs": [{"at": {"point": "P1", "a/b": 4.5}, "how": "contact", "pol": "-", "n": 2, "more": [1, {"x": 2}]}, {"at": {"point": "P2", "a/b": 8}, "how": "air", "pol": "+", "n": 1, "ok": true}]}}"#;
    let job = Job::with(json!({
        "records": "/log/runs", "units": {"voltage": "kV"},
        "columns": {"point": "/at/point", "voltage": "/at/a~1b", "application": "/how", "count": "/n", "polarity": "/pol"},
    }));
    let (done, taken) = read("x.json", text.as_bytes(), &job);
    assert!(done, "{:?}", taken.findings);
    assert_eq!(taken.series.iter().next().unwrap().voltage_kv.to_string(), "4.5 kV");
    assert_eq!(taken.series.iter().next().unwrap().remark.as_deref(), Some("more: [1, {\"x\": 2}]"));
    assert_eq!(taken.series.iter().nth(1).unwrap().remark.as_deref(), Some("ok: true"));
    // All on one line: the rows are the numbers of the records.
    assert_eq!(taken.series.iter().nth(1).unwrap().origin.rows.unwrap().first, 2);
}
