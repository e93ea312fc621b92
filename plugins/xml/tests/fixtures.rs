//! Each folder in `fixtures` holds a record, the summary that is to come of it, and why the case is there.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use std::path::Path;

#[test]
fn each_fixture_gives_the_summary_beside_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let case = entry.unwrap().path();
        assert!(case.join("why.md").exists(), "{} says why", case.display());
        let record = sample::record_of(&std::fs::read_to_string(case.join("input.json")).unwrap());
        let (files, findings) = sample::written(&plugin_xml::Xml, &record);
        let [(name, bytes)] = &files[..] else { panic!("one file: {files:?}") };
        assert_eq!(name, "job.xml");
        let said: String = findings.iter().map(|f| format!("{} {}\n", f.code, f.message)).collect();
        compare(&case.join("expected/job.xml"), bytes);
        compare(&case.join("expected/findings.txt"), said.as_bytes());
        seen += 1;
    }
    assert!(seen >= 3, "{seen} cases");
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
