//! Held against files and programs that are not ours: a public suite of JSON files, check cases of the project's
//! reference set, and Python's jsonschema. What is not at hand shows as ignored.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod reading;
#[path = "../../../crates/plugin-api/tests/sample/mod.rs"]
mod sample;

use libtest_mimic::{Arguments, Failed, Trial};
use plugin_api::wire::v1;
use reading::read;
use sample::judges::{ask, python};
use std::path::{Path, PathBuf};

/// Codes of files that are broken JSON.
const BROKEN: &[&str] = &["json/not-json", "json/not-utf8", "json/too-deep"];

fn main() {
    let mut trials = suite();
    trials.extend(reference());
    let absent = python().is_none();
    trials.push(Trial::test("jsonschema_accepts_what_is_written", schema_accepts).with_ignored_flag(absent));
    trials.push(Trial::test("jsonschema_rejects_what_is_wrong", schema_rejects).with_ignored_flag(absent));
    libtest_mimic::run(&Arguments::from_args(), trials).exit();
}

/// A folder beside the project, read in place.
fn shared(folder: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared").join(folder)
}

fn files(folder: &Path) -> Vec<(String, PathBuf)> {
    let entries = std::fs::read_dir(folder).into_iter().flatten();
    let mut files: Vec<(String, PathBuf)> = entries
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), path))
        .filter(|(name, _)| name.ends_with("json"))
        .collect();
    files.sort();
    files
}

fn absent(name: &str) -> Trial {
    Trial::test(name.to_owned(), || Ok(())).with_ignored_flag(true)
}

/// JSONTestSuite (MIT): y must parse, n must not, i either; nothing may stop the program.
fn suite() -> Vec<Trial> {
    let folder = shared("external/json-test-suite");
    let files = files(&folder);
    if files.is_empty() {
        return vec![absent("json_test_suite: the folder ../shared/external/json-test-suite is not there")];
    }
    files
        .into_iter()
        .map(|(name, path)| {
            Trial::test(format!("json_test_suite_{name}"), move || {
                let bytes = std::fs::read(&path).unwrap();
                let found = read(&bytes);
                let code = found.codes().first().copied().unwrap_or_default().to_owned();
                // RFC 8259 clause 4 leaves doubled keys to the reader; we refuse them on purpose.
                let doubled = name.starts_with("y_object_duplicated_key");
                let good = match name.as_bytes()[0] {
                    b'y' if doubled => code == "json/duplicate-key",
                    b'y' => code == "json/not-a-record",
                    b'n' => BROKEN.contains(&code.as_str()),
                    _ => true,
                };
                if good && found.draft.is_none() { Ok(()) } else { Err(found.said().into()) }
            })
        })
        .collect()
}

/// The reference set's record-level cases: their form is not ours, so that what is JSON is refused as no record,
/// and what is not is refused as broken.
fn reference() -> Vec<Trial> {
    let folder = shared("reference/json");
    let Ok(expected) = std::fs::read_to_string(folder.join("expected.json")) else {
        return vec![absent("reference: the folder ../shared/reference/json is not there")];
    };
    let expected: serde_json::Value = serde_json::from_str(&expected).unwrap();
    files(&folder)
        .into_iter()
        .filter(|(name, _)| name != "expected.json")
        .map(|(name, path)| {
            let outcome = expected["cases"][&name]["outcome"].as_str().unwrap().to_owned();
            Trial::test(format!("reference_{name}"), move || {
                let found = read(&std::fs::read(&path).unwrap());
                let code = found.codes().first().copied().unwrap_or_default().to_owned();
                let wanted: &[&str] = match name.as_str() {
                    "duplicate-key.json" => &["json/duplicate-key"],
                    "deep.json" => &["json/too-deep"],
                    "utf16.json" => &["json/not-utf8"],
                    // One record a file: a second document is refused, as the case allows where that is said.
                    "lines.ndjson" | "trailing-garbage.json" => &["json/not-json"],
                    // A number that no double holds.
                    "val-overflow.json" => &["json/not-json"],
                    name if name.starts_with("num-") => &["json/not-json"],
                    "truncated.json" | "comment.json" | "empty.json" | "lone-surrogate.json" => {
                        &["json/not-json"]
                    }
                    _ => &["json/not-a-record"],
                };
                let sound = wanted.contains(&code.as_str()) && found.draft.is_none();
                if sound { Ok(()) } else { Err(format!("{outcome} expected; {}", found.said()).into()) }
            })
        })
        .collect()
}

/// Validates files with Python's jsonschema under our schema, whose own form it checks first.
fn judge(texts: &[String]) -> (bool, String) {
    let place = tempfile::tempdir().unwrap();
    let schema = place.path().join("schema.json");
    std::fs::write(&schema, v1::record_schema().to_string()).unwrap();
    let mut arguments = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/validate.py"), schema];
    for (number, text) in texts.iter().enumerate() {
        let file = place.path().join(format!("{number}.json"));
        std::fs::write(&file, text).unwrap();
        arguments.push(file);
    }
    ask(python().unwrap(), &arguments)
}

fn schema_accepts() -> Result<(), Failed> {
    let mut texts = vec![include_str!("../fixtures/lock-gate/input.json").to_owned()];
    for seed in 0..60 {
        let record = record::check(sample::draft(&sample::draw::noise(seed, 9000))).unwrap();
        texts.push(v1::record_to_json(&record));
    }
    let (good, said) = judge(&texts);
    if good { Ok(()) } else { Err(said.into()) }
}

fn schema_rejects() -> Result<(), Failed> {
    let text = include_str!("../fixtures/lock-gate/input.json");
    for (from, to) in [
        ("\"schema\": 1", "\"schema\": 2"),
        ("\"schema\": 1,", ""),
        ("\"application\": \"contact\"", "\"application\": \"touch\""),
        ("\"voltage_kv\": \"4\"", "\"voltage_kv\": \"4 kV\""),
        ("\"voltage_kv\": \"4\"", "\"voltage_kv\": true"),
        ("\"count\": 9", "\"count\": -9"),
        ("\"count\": 9", "\"count\": 9.5"),
        ("\"origin\": \"1:3\"", "\"origin\": \"contact.csv:3\""),
        ("\"sha256\": \"", "\"sha256\": \"x"),
        ("\"earthed\": true", "\"earthed\": \"yes\""),
        ("\"sources\": [", "\"sources\": [\"job.toml\","),
        ("\"series\": [", "\"series\": 3, \"unread\": ["),
    ] {
        let changed = text.replacen(from, to, 1);
        if changed == text {
            return Err(format!("`{from}` is not in the file").into());
        }
        if judge(&[changed]).0 {
            return Err(format!("`{to}` was accepted").into());
        }
    }
    Ok(())
}
