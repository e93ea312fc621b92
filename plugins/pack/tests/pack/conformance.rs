//! The Library of Congress conformance suite for BagIt, read where it stands: 31 bags in folders.

use crate::folder::Folder;
use plugin_pack::{Limits, Outcome, verify_folder};
use std::path::Path;

#[test]
fn the_conformance_suite_comes_out_as_it_says() {
    let here = Path::new(env!("CARGO_MANIFEST_DIR")).canonicalize().unwrap();
    let suite = here.join("../../../shared/external/bagit-conformance");
    if !suite.is_dir() {
        println!("skipped: the conformance suite is not at {}", suite.display());
        return;
    }
    let text = std::fs::read_to_string(suite.join("expected.json")).unwrap();
    let cases: serde_json::Value = serde_json::from_str(&text).unwrap();
    let cases = cases.as_object().unwrap();
    assert_eq!(cases.len(), 31);
    let mut wrong = String::new();
    for (path, case) in cases {
        let mut folder = Folder::new(&suite.join(path)).unwrap();
        let report = verify_folder(&mut folder, &Limits::default());
        let notes = report.checks.iter().any(|check| !check.notes.is_empty());
        let expected = case["suite_expect"].as_str().unwrap();
        let fits = if expected == "valid" {
            report.outcome == Outcome::ForeignBag
        } else if expected == "valid-with-warning" {
            // Two of these bags have a defect of their own as stored; see below.
            let sound_as_stored = case["bagit_python_1_9_0"] == "valid";
            (report.outcome == Outcome::ForeignBag && notes)
                || (!sound_as_stored && report.outcome == Outcome::Altered)
        } else if expected.starts_with("invalid") || expected == "see note" {
            report.outcome == Outcome::Altered
        } else {
            panic!("unknown expectation {expected}")
        };
        if !fits {
            wrong.push_str(&format!("{path} should be {expected}:\n{report}\n"));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
