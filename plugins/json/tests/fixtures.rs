//! Each folder in `fixtures` holds a file to be read, what is said about it, and what is written of it.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod reading;
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use reading::read;
use std::path::Path;

#[test]
fn each_fixture_is_read_as_stated_beside_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let (mut records, mut refusals) = (0, 0);
    for entry in std::fs::read_dir(folder).unwrap() {
        let case = entry.unwrap().path();
        assert!(case.join("why.md").exists(), "{} says why", case.display());
        let found = read(&std::fs::read(case.join("input.json")).unwrap());
        let mut said = String::new();
        for finding in &found.findings {
            let place = finding.place.as_ref().unwrap();
            said += &format!("{}[{}] {place}: {}\n", finding.severity, finding.code, finding.message);
            if let Some((place, words)) = &finding.related {
                said += &format!("  {place}: {words}\n");
            }
            for help in &finding.help {
                said += &format!("  help: {help}\n");
            }
        }
        compare(&case.join("expected/findings.txt"), said.as_bytes());
        let Some(mut draft) = found.draft else {
            assert!(!case.join("expected/job.json").exists(), "{} is refused", case.display());
            refusals += 1;
            continue;
        };
        draft.findings.extend(found.findings);
        let record = record::check(draft).unwrap();
        // The assessment beside it is the business of other tests.
        let (_, bytes) = sample::written(&plugin_json::Json, &record).0.remove(0);
        compare(&case.join("expected/job.json"), &bytes);
        records += 1;
    }
    assert!(records >= 2 && refusals >= 3, "{records} records, {refusals} refusals");
}

/// Compares with a file; with `BLESS` set, outside CI, writes it instead.
fn compare(file: &Path, bytes: &[u8]) {
    if std::env::var_os("BLESS").is_some() && std::env::var_os("CI").is_none() {
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
    let expected = std::fs::read(file).unwrap_or_default();
    assert_eq!(
        String::from_utf8_lossy(bytes),
        String::from_utf8_lossy(&expected),
        "{} differs; BLESS=1 writes it again",
        file.display()
    );
}
