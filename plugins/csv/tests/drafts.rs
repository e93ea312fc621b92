//! A drafted mapping reads its log as the log reads without one, and leaves open what only the laboratory knows.
#![allow(clippy::unwrap_used, reason = "a test stops at what it can't use")]

mod common;

use common::Job;
use plugin_api::{Drafted, ReadContext, Reader, Source};
use plugin_csv::CsvLogs;
use record::SourceId;
use serde_json::{Map, Value, json};
use std::fs;
use std::io::Cursor;
use std::path::Path;

fn draft(name: &str, bytes: &[u8]) -> Vec<Drafted> {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    let source = Source::new(SourceId(0), name, bytes.len() as u64, &open);
    let job = Job::default();
    let cx = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    CsvLogs.draft(&source, &cx).unwrap()
}

/// The stated lines as settings.
fn stated(drafted: &[Drafted]) -> Value {
    let mut all = json!({});
    for line in drafted.iter().filter(|line| !line.open && !line.value.is_null()) {
        let pointer = format!("/{}", line.key.replace('.', "/"));
        let (table, key) = pointer.rsplit_once('/').unwrap();
        let mut at = &mut all;
        for step in table.split('/').skip(1) {
            let object = at.as_object_mut().unwrap();
            at = object.entry(step).or_insert_with(|| Value::Object(Map::new()));
        }
        let object = at.as_object_mut().unwrap();
        assert!(object.insert(key.to_owned(), line.value.clone()).is_none(), "{} is stated twice", line.key);
    }
    all
}

#[test]
fn a_log_reads_by_its_draft_as_it_reads_without_settings() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let mut read = 0;
    for entry in fs::read_dir(root).unwrap() {
        let folder = entry.unwrap().path();
        if folder.join("options.toml").exists() || folder.join("job.toml").exists() {
            continue;
        }
        let bytes = fs::read(folder.join("input.csv")).unwrap();
        let (done, without) = common::read("input.csv", &bytes, &Job::default());
        if !done {
            continue;
        }
        let settings = stated(&draft("input.csv", &bytes));
        let (done, with) = common::read("input.csv", &bytes, &Job::with(settings.clone()));
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        assert!(done, "{name}: {settings}\n{:?}", with.findings);
        assert_eq!(with.series, without.series, "{name}: {settings}");
        assert_eq!(with.observations, without.observations, "{name}");
        assert_eq!(with.unread, without.unread, "{name}");
        assert_eq!(with.account, without.account, "{name}");
        read += 1;
    }
    assert!(read >= 60, "{read} logs were drafted");
}

#[test]
fn what_only_the_laboratory_knows_is_left_open() {
    let text = "Point,Application,U,n,Criterion\nP1,contact,4,10,B\n";
    let drafted = draft("x.csv", text.as_bytes());
    let open: Vec<String> = drafted
        .iter()
        .filter(|line| line.open)
        .map(|line| format!("{} = {}", line.key, line.value))
        .collect();
    for wanted in
        ["columns.class = \"Criterion\"", "columns.result = \"Criterion\"", "columns.demand = \"Criterion\""]
    {
        assert!(open.iter().any(|line| line == wanted), "{wanted}: {open:?}");
    }
    // Once that is answered, the next question is asked.
    let answered = "Point,Application,U,n\nP1,contact,4,10\n";
    let drafted = draft("x.csv", answered.as_bytes());
    let asked = |key: &str, value: &str| {
        drafted.iter().any(|line| line.open && line.key == key && line.value == value)
    };
    assert!(asked("polarity", "positive") && asked("polarity", "negative"), "{drafted:?}");
    assert!(drafted.iter().all(|line| !line.why.is_empty()));
}

#[test]
fn a_file_that_is_no_text_is_refused() {
    let bytes = b"\x89PNG\r\n\x1a\n\0\0\0x";
    let open = || Ok(Box::new(Cursor::new(&bytes[..])) as Box<dyn std::io::BufRead>);
    let source = Source::new(SourceId(0), "photo.csv", bytes.len() as u64, &open);
    let job = Job::default();
    let cx = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    assert!(CsvLogs.draft(&source, &cx).is_err());
}
