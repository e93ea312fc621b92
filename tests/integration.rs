//! The walk from a dropped job to a row in the register, as `shared/integration/README.md` tells it: its own commands,
//! run in a shell.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

#[path = "harness/folder.rs"]
mod folder;

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The blocks of shell commands of the walk.
fn blocks() -> Vec<String> {
    let text = std::fs::read_to_string(top().join("shared/integration/README.md")).unwrap();
    let walk = text.split("## The drop folder").next().unwrap().to_owned();
    walk.split("```sh\n").skip(1).map(|part| part.split("```").next().unwrap().to_owned()).collect()
}

fn sh(folder: &Path, script: &str) -> Output {
    let program = Path::new(env!("CARGO_BIN_EXE_fulgurite")).parent().unwrap().to_owned();
    let path = std::env::var_os("PATH").unwrap_or_default();
    let path = std::env::join_paths(std::iter::once(program).chain(std::env::split_paths(&path))).unwrap();
    let mut shell = Command::new("sh");
    shell.args(["-e", "-c", script]).current_dir(folder).env("PATH", path).env("HOME", folder);
    shell.env_remove("XDG_CONFIG_HOME").output().unwrap()
}

#[cfg(unix)]
#[test]
fn a_dropped_job_becomes_summary_table_line_and_row() {
    let work = tempfile::tempdir().unwrap();
    let demo = top().join("tests/demo/lock-gate");
    folder::copy(&demo, &work.path().join("lock-gate")).unwrap();
    let blocks = blocks();
    let [drop, find, ask] = blocks.as_slice() else { panic!("the walk has {} blocks", blocks.len()) };

    let dropped = sh(work.path(), drop);
    assert!(dropped.status.success(), "{}", String::from_utf8_lossy(&dropped.stderr));
    let results = work.path().join("results");
    let xml = std::fs::read_to_string(results.join("000001-lock-gate/lock-gate.xml")).unwrap();
    let summary = roxmltree::Document::parse(&xml).unwrap();
    assert_eq!(summary.root_element().tag_name().namespace(), Some("urn:fulgurite:summary:1"));
    let table = std::fs::read(results.join("000001-lock-gate/lock-gate.results.csv")).unwrap();
    assert!(csv::Reader::from_reader(table.as_slice()).records().map(Result::unwrap).count() > 50);
    let line = std::fs::read_to_string(results.join("results.jsonl")).unwrap();
    assert_eq!(line.lines().count(), 1);
    let line: Value = serde_json::from_str(&line).unwrap();
    assert_eq!((line["id"].as_str(), line["verdict"].as_str()), (Some("000001-lock-gate"), Some("fail")));
    let input = work.path().join("drop/done/000001-lock-gate");
    for name in ["job.toml", "logs/contact.csv", "pictures/front.png"] {
        assert_eq!(std::fs::read(input.join(name)).unwrap(), std::fs::read(demo.join(name)).unwrap());
    }

    let found = sh(work.path(), find);
    assert!(found.status.success(), "{}", String::from_utf8_lossy(&found.stderr));
    let text = String::from_utf8(found.stdout).unwrap();
    let first = text.lines().next().unwrap();
    for part in ["2026-03-13", "fail", "serial 0017", "report OPL-26-0117", "iec-61000-4-2-ed2"] {
        assert!(first.contains(part), "{part}: {first}");
    }
    assert!(text.ends_with("1 record\n"), "{text}");

    for (days, expected) in [
        ("--from 2026-03-13", "1 record"),
        ("--from 2026-03-14", "0 records"),
        ("--to 2026-03-12", "1 record"),
        ("--to 2026-03-11", "0 records"),
    ] {
        let found = sh(work.path(), &format!("fulgurite register find register.sqlite {days}"));
        let text = String::from_utf8(found.stdout).unwrap();
        assert_eq!(text.lines().last(), Some(expected), "{days}: work from 2026-03-12 to 2026-03-13");
    }

    if Command::new("sqlite3").arg("-version").output().is_err() {
        eprintln!("left out: sqlite3 is not installed");
        return;
    }
    let asked = sh(work.path(), ask);
    assert!(asked.status.success(), "{}", String::from_utf8_lossy(&asked.stderr));
    // Every piece of equipment of the demonstration job was in date.
    assert_eq!(String::from_utf8_lossy(&asked.stdout), "");
}
