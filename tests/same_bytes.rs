//! Two runs of the same program on the same job leave the same bytes, whatever the zone, the locale, the folder and the
//! number of threads.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

#[path = "harness/entries.rs"]
mod entries;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Every file below a folder by its path.
fn tree(top: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut todo = vec![top.to_path_buf()];
    while let Some(folder) = todo.pop() {
        for entry in entries::entries(&folder).unwrap() {
            if entry.is_dir() {
                todo.push(entry);
            } else {
                files.insert(entry.strip_prefix(top).unwrap().to_path_buf(), std::fs::read(&entry).unwrap());
            }
        }
    }
    files
}

/// Converts every demo job into every format under the environment given.
fn convert(environment: &[(&str, &str)]) -> BTreeMap<PathBuf, Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let demos = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo");
    let jobs = entries::entries(&demos).unwrap().into_iter().filter(|demo| demo.join("job.toml").is_file());
    let output = Command::new(env!("CARGO_BIN_EXE_fulgurite"))
        .arg("convert")
        .args(jobs)
        .args(["--to", "pdf,html,xml,json,csv,form,sheet,pack", "--out"])
        .arg(folder.path())
        .envs(environment.iter().copied())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    tree(folder.path())
}

#[test]
fn zone_locale_and_threads_change_no_byte() {
    let here = convert(&[("TZ", "UTC"), ("LC_ALL", "C"), ("RAYON_NUM_THREADS", "1")]);
    let there = convert(&[("TZ", "Pacific/Chatham"), ("LC_ALL", "de_DE.UTF-8"), ("RAYON_NUM_THREADS", "4")]);
    assert!(!here.is_empty());
    assert_eq!(here.keys().collect::<Vec<_>>(), there.keys().collect::<Vec<_>>());
    for (path, bytes) in &here {
        assert!(there.get(path) == Some(bytes), "{} differs", path.display());
    }
}
