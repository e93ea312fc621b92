//! Each folder under `fixtures` is a log with what is read from it.
//!
//! `input.csv`; `options.toml` (settings) and `job.toml` (what the job says) where needed; `expected.txt`;
//! `why.md` says why the log is there and names its traits. `ok-` is read whole, `part-` has rows set aside, `err-` is refused.
//! `BLESS=1` writes `expected.txt` anew.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a test stops at what it can't use, and says what it skips"
)]

mod common;

use common::Job;
use plugin_api::{Reader, Taken};
use plugin_csv::CsvLogs;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let mut found: Vec<PathBuf> = fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).collect();
    found.sort();
    found
}

fn load(folder: &Path) -> (Vec<u8>, Job) {
    let text = |name: &str| fs::read_to_string(folder.join(name)).ok();
    let (defaults, facts) = text("job.toml").map(|t| common::job(&t)).unwrap_or_default();
    let options = text("options.toml").map(|t| common::options(&t)).unwrap_or_default();
    (fs::read(folder.join("input.csv")).unwrap(), Job { options, defaults, facts })
}

fn name(folder: &Path) -> String {
    folder.file_name().unwrap().to_string_lossy().into_owned()
}

#[test]
fn every_log_is_read_as_expected() {
    let bless = std::env::var_os("BLESS").is_some();
    assert!(!(bless && std::env::var_os("CI").is_some()), "CI compares, it does not bless");
    let mut wrong = Vec::new();
    for folder in folders() {
        let (bytes, job) = load(&folder);
        let (done, taken) = common::read("input.csv", &bytes, &job);
        let shown = common::show(done, &taken);
        if bless {
            fs::write(folder.join("expected.txt"), &shown).unwrap();
            continue;
        }
        let expected = fs::read_to_string(folder.join("expected.txt")).unwrap_or_default();
        if expected != shown {
            let diff = similar::TextDiff::from_lines(&expected, &shown);
            wrong.push(format!("{}\n{}", name(&folder), diff.unified_diff().header("expected", "read")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn folders_are_what_their_names_say() {
    for folder in folders() {
        let name = name(&folder);
        let (bytes, job) = load(&folder);
        let (done, taken) = common::read("input.csv", &bytes, &job);
        let errors = taken.findings.iter().filter(|f| f.severity == record::Severity::Error).count();
        match name.split('-').next() {
            Some("ok") => assert!(done && taken.unread.is_empty() && errors == 0, "{name}"),
            Some("part") => assert!(done && !taken.unread.is_empty(), "{name}"),
            Some("err") => assert!(!done && errors > 0, "{name}"),
            _ => panic!("{name}: ok-, part- or err-"),
        }
        assert!(
            !fs::read_to_string(folder.join("why.md")).unwrap_or_default().trim().is_empty(),
            "{name}: why.md"
        );
        sound(&name, done, &taken);
    }
}

/// What must hold for every log.
fn sound(name: &str, done: bool, taken: &Taken) {
    let known: BTreeSet<&str> = CsvLogs.codes().iter().map(|c| c.code).collect();
    for finding in &taken.findings {
        assert!(known.contains(finding.code.as_str()), "{name}: {}", finding.code);
        assert!(finding.place.is_some(), "{name}: {} has no place", finding.message);
        if finding.severity == record::Severity::Error {
            assert!(!finding.help.is_empty(), "{name}: {} has no help", finding.message);
        }
    }
    if done {
        let account = taken.account.unwrap();
        assert!(account.balances(), "{name}: {account:?}");
        let shots: u64 = taken.series.iter().map(|s| s.shots.len() as u64).sum();
        assert!(shots <= account.used, "{name}");
    }
}

#[test]
fn every_code_has_a_log_that_raises_it() {
    let mut raised = BTreeSet::new();
    for folder in folders() {
        let (bytes, job) = load(&folder);
        raised.extend(common::read("input.csv", &bytes, &job).1.findings.into_iter().map(|f| f.code));
    }
    // A broken disk and logs of a megabyte are no folders; tests/robustness.rs has them.
    raised.extend(["csv/unreadable", "csv/record-too-long", "csv/mostly-unreadable"].map(str::to_owned));
    let missing: Vec<&str> =
        CsvLogs.codes().iter().map(|c| c.code).filter(|c| !raised.contains(*c)).collect();
    assert!(missing.is_empty(), "no fixture raises {missing:?}");
}

#[test]
fn codes_are_explained_and_unique() {
    let mut seen = BTreeSet::new();
    for doc in CsvLogs.codes() {
        assert!(doc.code.starts_with("csv/") && seen.insert(doc.code), "{}", doc.code);
        for text in [doc.means, doc.matters, doc.example, doc.remedy] {
            assert!(!text.is_empty(), "{}", doc.code);
        }
    }
}
