//! Each folder under `workbooks` is a workbook, written by an outside program (`make.py`), with what is read from it.
//!
//! `input.xlsx` or `input.ods`; `options.toml` (settings) where needed; `expected.txt`; `why.md` with the traits. `ok-` is read whole, `part-` has rows set
//! aside, `err-` is refused. `BLESS=1` writes `expected.txt` anew.
#![allow(clippy::unwrap_used, reason = "a test stops at what it can't use")]

mod common;

use common::Job;
use plugin_api::{Intake, Probe, ReadContext, Reader, Source, Taken};
use plugin_csv::Workbooks;
use record::SourceId;
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("workbooks");
    let mut found: Vec<PathBuf> =
        fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()).collect();
    found.sort();
    found
}

/// The workbook of a folder.
fn workbook(folder: &Path) -> Vec<u8> {
    let found = ["input.xlsx", "input.ods"].iter().map(|name| folder.join(name)).find(|path| path.exists());
    fs::read(found.unwrap()).unwrap()
}

fn read(bytes: &[u8], job: &Job) -> (bool, Taken) {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    let source = Source::new(SourceId(0), "input.xlsx", bytes.len() as u64, &open);
    let mut intake = Intake::new(SourceId(0));
    let context = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    let done = Workbooks.read(&source, &mut intake, &context).is_ok();
    (done, intake.finish())
}

fn job(folder: &Path) -> Job {
    let options = fs::read_to_string(folder.join("options.toml")).ok();
    Job { options: options.map(|t| common::options(&t)).unwrap_or_default(), ..Job::default() }
}

#[test]
fn every_workbook_is_read_as_expected() {
    let bless = std::env::var_os("BLESS").is_some();
    assert!(!(bless && std::env::var_os("CI").is_some()), "CI compares, it does not bless");
    let mut wrong = Vec::new();
    for folder in folders() {
        let bytes = workbook(&folder);
        let (done, taken) = read(&bytes, &job(&folder));
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let kind = match (done, taken.unread.is_empty()) {
            (true, true) => "ok-",
            (true, false) => "part-",
            (false, _) => "err-",
        };
        if !name.starts_with(kind) {
            wrong.push(format!("{name}: was {kind}"));
        }
        let shown = common::show(done, &taken);
        if bless {
            fs::write(folder.join("expected.txt"), &shown).unwrap();
            continue;
        }
        let expected = fs::read_to_string(folder.join("expected.txt")).unwrap_or_default();
        if expected != shown {
            let diff = similar::TextDiff::from_lines(&expected, &shown);
            wrong.push(format!("{name}\n{}", diff.unified_diff().header("expected", "read")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_workbooks_are_recognised() {
    let plain = workbook(folders().iter().find(|f| f.ends_with("ok-plain")).unwrap());
    let ods = workbook(folders().iter().find(|f| f.ends_with("ok-ods-plain")).unwrap());
    assert_eq!(Workbooks.probe(&ods, "log.ods"), Probe::Yes);
    assert_eq!(Workbooks.probe(&plain, "Log 12.XLSX"), Probe::Yes);
    assert_eq!(Workbooks.probe(&plain, "pack.zip"), Probe::No);
    assert_eq!(Workbooks.probe(b"Point,kV\n", "log.xlsx"), Probe::No);
}

/// Bytes changed, cut and doubled at random places of every workbook: refused or read, never a panic. What is read of a
/// damaged workbook is at most what the check sums of its parts let through.
#[test]
fn damaged_workbooks_are_refused_or_read() {
    let mut seed = 0x2545_f491_4f6c_dd1d_u64;
    let mut next = |below: usize| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        usize::try_from(seed % below.max(1) as u64).unwrap()
    };
    let mut refused = 0;
    for folder in folders() {
        let whole = workbook(&folder);
        if whole.len() > 50_000 {
            continue;
        }
        for _ in 0..60 {
            let mut bytes = whole.clone();
            match next(3) {
                0 => {
                    let at = next(bytes.len());
                    bytes[at] ^= 1 << next(8);
                }
                1 => bytes.truncate(next(whole.len())),
                _ => {
                    let at = next(whole.len());
                    let piece = bytes[at..(at + 40).min(whole.len())].to_vec();
                    let to = next(whole.len());
                    bytes.splice(to..to, piece);
                }
            }
            let (done, taken) = read(&bytes, &job(&folder));
            assert!(done || !taken.findings.is_empty());
            refused += u32::from(!done);
        }
    }
    assert!(refused > 100, "{refused} refused");
}
