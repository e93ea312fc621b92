//! The viewer in a browser, from disk: a long pack, and a pack in which one file was altered.
//!
//! Runs where `cargo xtask test` has set up the judges and named their folder; under CI it must.

use crate::node::told;
use crate::packed::Job;
use std::path::{Path, PathBuf};
use std::process::Command;

fn judge(pack: &[u8], options: &[&str]) {
    let Some(judges) = std::env::var_os("FULGURITE_JUDGES").map(PathBuf::from) else {
        assert!(std::env::var_os("CI").is_none(), "FULGURITE_JUDGES is not set: CI runs `cargo xtask test`");
        eprintln!("skipped: FULGURITE_JUDGES is not set");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pack.zip");
    std::fs::write(&path, pack).unwrap();
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = Command::new("node")
        .env("NODE_PATH", judges.join("node_modules"))
        .arg(here.join("../../xtask/judges/judge_viewer.js"))
        .arg(here.join("viewer/viewer.html"))
        .arg(&path)
        .args(options)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", told(&output));
    eprintln!("{} bytes: {}", pack.len(), told(&output));
}

#[test]
fn a_pack_of_200_megabytes_is_checked() {
    let job = Job::new(1, 200_000_000);
    judge(&job.pack(&job.assess()), &[]);
}

#[test]
fn the_altered_file_is_named() {
    let job = Job::new(1, 5000);
    let mut pack = job.pack(&job.assess());
    let text = b"in place of a report";
    let place = pack.windows(text.len()).position(|window| window == text).unwrap();
    pack[place] ^= 1;
    judge(&pack, &["--altered", "data/papers/report.pdf"]);
}

#[test]
fn what_is_no_pack_is_refused_with_the_reason() {
    judge(b"PK and nothing more", &["--refused", "not a zip file"]);
}
