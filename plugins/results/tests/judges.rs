//! Python's csv module reads our tables, and a script of its own holds them against record and assessment.
//! Without the judges that `FULGURITE_JUDGES` names, the trials show as ignored.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use libtest_mimic::{Arguments, Failed, Trial};
use plugin_api::wire::v1;
use record::Record;
use sample::judges::{ask, python};
use std::path::Path;

fn main() {
    let absent = python().is_none();
    let trial =
        |name: &str, run: fn() -> Result<(), Failed>| Trial::test(name, run).with_ignored_flag(absent);
    let trials = vec![
        trial("python_agrees_on_the_table_of_the_demo", || agrees(&lock_gate(), &table(&lock_gate()))),
        trial("python_agrees_on_made_up_tables", made_up),
        trial("python_does_judge", objects),
    ];
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
}

fn lock_gate() -> Record {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/lock-gate");
    sample::record_of(&std::fs::read_to_string(folder.join("input.json")).unwrap())
}

fn table(record: &Record) -> Vec<u8> {
    sample::written(&plugin_results::Results, record).0.remove(0).1
}

fn agrees(record: &Record, table: &[u8]) -> Result<(), Failed> {
    let place = tempfile::tempdir().unwrap();
    let files = ["table.csv", "record.json", "assessment.json"].map(|name| place.path().join(name));
    std::fs::write(&files[0], table).unwrap();
    std::fs::write(&files[1], v1::record_to_json(record)).unwrap();
    let assessment = v1::assessment_to_value(&sample::assessment_of(record));
    std::fs::write(&files[2], assessment.to_string()).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/read_table.py");
    let arguments = std::iter::once(script).chain(files);
    let (good, said) = ask(python().unwrap(), &arguments.collect::<Vec<_>>());
    if good { Ok(()) } else { Err(said.into()) }
}

fn made_up() -> Result<(), Failed> {
    let mut rows = 0;
    for seed in 0..40u32 {
        let record = record::check(sample::draft(&sample::draw::noise(seed, 3000))).unwrap();
        let table = table(&record);
        rows += table.iter().filter(|b| **b == b'\n').count();
        agrees(&record, &table)?;
    }
    if rows > 100 { Ok(()) } else { Err(format!("only {rows} rows were looked at").into()) }
}

/// One digit, one verdict or one mark changed, and it must object.
fn objects() -> Result<(), Failed> {
    let record = lock_gate();
    let text = String::from_utf8(table(&record)).unwrap();
    for (from, to) in [
        (",-8,8,", ",8,8,"),
        (",fail,,\"class c", ",pass,,\"class c"),
        (",10,9,9,", ",10,9,8,"),
        ("OPL-", "=OPL-"),
    ] {
        let changed = text.replacen(from, to, 1);
        if changed == text {
            return Err(format!("`{from}` is not in the table").into());
        }
        if agrees(&record, changed.as_bytes()).is_ok() {
            return Err(format!("`{to}` for `{from}` was not seen").into());
        }
    }
    Ok(())
}
