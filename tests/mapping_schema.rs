//! The schema of mapping files accepts every mapping that a reader accepts, and refuses what a reader refuses:
//! asked of Python's jsonschema, with the settings of the fixtures as mappings.
//!
//! The judges' folder stands in `FULGURITE_JUDGES`; without it the test says that it was skipped.

#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "a test stops at what it can't use")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Fixtures whose settings no reader takes.
const WRONG: &[&str] = &[
    "err-bad-setting",
    "err-unknown-setting",
    "err-name-of-nothing",
    "err-bad-delimiter",
    "unknown-setting",
];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The settings of each fixture as a mapping: name, content.
fn mappings() -> Vec<(String, Value)> {
    let mut found = Vec::new();
    for (folder, reader) in [
        ("plugins/csv/fixtures", "csv"),
        ("plugins/csv/workbooks", "xlsx"),
        ("plugins/trace/fixtures", "trace"),
    ] {
        for entry in walkdir::WalkDir::new(top().join(folder)).sort_by_file_name() {
            let path = entry.unwrap().into_path();
            let mut mapping: Value = match path.file_name().unwrap().to_str().unwrap() {
                "options.toml" => toml_as_json(&path),
                "expected.json" => {
                    let expected: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
                    expected["settings"].clone()
                }
                _ => continue,
            };
            mapping.as_object_mut().unwrap().insert("reader".into(), reader.into());
            let name = path.parent().unwrap().file_name().unwrap().to_str().unwrap().to_owned();
            found.push((format!("{reader}-{name}"), mapping));
        }
    }
    for entry in walkdir::WalkDir::new(top().join("tests/cases/mapping")).sort_by_file_name() {
        let path = entry.unwrap().into_path();
        let named = path.file_name().unwrap().to_str().unwrap() == "hall.toml";
        if named && path.to_string_lossy().contains("ok-") {
            let case = path.ancestors().nth(2).unwrap().file_name().unwrap().to_str().unwrap().to_owned();
            found.push((format!("case-{case}-{}", found.len()), toml_as_json(&path)));
        }
    }
    found
}

fn toml_as_json(path: &Path) -> Value {
    let table: toml::Table = toml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    serde_json::to_value(table).unwrap()
}

#[test]
fn the_schema_of_mappings_accepts_what_readers_accept() {
    let Some(judges) = std::env::var_os("FULGURITE_JUDGES").map(PathBuf::from) else {
        eprintln!("SKIPPED: FULGURITE_JUDGES is not set");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let mut files = [Vec::new(), Vec::new()];
    for (name, mapping) in mappings() {
        let wrong = WRONG.iter().any(|wrong| name.ends_with(wrong));
        let path = folder.path().join(format!("{name}.json"));
        std::fs::write(&path, mapping.to_string()).unwrap();
        files[usize::from(wrong)].push(path);
    }
    let [sound, wrong] = files;
    assert!(sound.len() >= 50 && wrong.len() >= 3, "{} sound, {} wrong", sound.len(), wrong.len());
    let python = judges.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    let ask = |files: &[PathBuf]| {
        Command::new(&python)
            .arg(top().join("xtask/judges/judge_json.py"))
            .arg(top().join("shared/schemas/mapping-1.schema.json"))
            .args(files)
            .output()
            .unwrap()
    };
    let said = ask(&sound);
    let text = String::from_utf8_lossy(&said.stdout);
    assert!(said.status.success(), "{text}{}", String::from_utf8_lossy(&said.stderr));
    for file in wrong {
        let said = ask(std::slice::from_ref(&file));
        assert_eq!(said.status.code(), Some(1), "{} is not refused", file.display());
    }
}
