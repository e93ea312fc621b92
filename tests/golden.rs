//! Packs of earlier versions, one for each layout and each set of rules: they verify for ever.
//!
//! A pack made under rules that this build no longer has keeps its integrity and its identity, and `verify` says that
//! its verdict was not derived again. With new rules comes a new pack: `BLESS=1 cargo test -p cli --test golden`.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

/// Layout, rules, and the identity that the pack had when it was made.
const PACKS: &[(u32, u32, &str)] = &[
    (1, 1, "c2283b5946cf20eb894aeaddf6170992ad02057a597187ba80eae0a404367ab2"),
    (1, 2, "c3f430f6dae6a177627a3591b0aaf5b2728327e6980fe345e84eb4b2248a3d6c"),
];

fn file(layout: u32, rules: u32) -> PathBuf {
    let name = format!("pack-{layout}-rules-{rules}.zip");
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/golden").join(name)
}

fn verified(pack: &Path, depth: &str) -> (Option<i32>, Value) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
    let output = program.arg("verify").arg(pack).args(["--json", "--depth", depth]).output().unwrap();
    (output.status.code(), serde_json::from_slice(&output.stdout).unwrap())
}

#[test]
fn packs_of_earlier_versions_verify() {
    for (layout, rules, identity) in PACKS {
        let pack = file(*layout, *rules);
        let (exit, found) = verified(&pack, "full");
        assert_eq!(
            (exit, found["outcome"].as_str()),
            (Some(0), Some("intact")),
            "{}: {found:#}",
            pack.display()
        );
        assert_eq!(found["identity"].as_str(), Some(*identity));
        assert_eq!(found["pack_version"].as_u64(), Some(u64::from(*layout)));

        let (exit, found) = verified(&pack, "re-derive");
        assert_eq!(
            exit,
            Some(0),
            "an old pack is called bad; have papers changed under one version? {found:#}"
        );
        let checks = found["checks"].as_array().unwrap();
        let verdict = checks.iter().find(|check| check["id"] == "verdict").unwrap();
        if *rules == assess::RULES_VERSION {
            assert_eq!(
                found["verdict_derived_again"], true,
                "what a record comes to has changed: raise RULES_VERSION: {found:#}"
            );
        } else {
            let said = verdict["detail"].as_str().unwrap();
            assert_eq!(verdict["state"], "not-done", "{verdict:#}");
            assert!(
                said.contains(&format!("made under rules {rules}, which this build no longer has")),
                "{said}"
            );
        }
    }
}

#[test]
fn the_rules_of_this_build_have_their_pack() {
    let (layout, rules) = (1, assess::RULES_VERSION);
    let pack = file(layout, rules);
    if !pack.exists() && std::env::var_os("BLESS").is_some() && std::env::var_os("CI").is_none() {
        let out = tempfile::tempdir().unwrap();
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate");
        let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
        let made = program.arg("convert").arg(demo).args(["--to", "pack", "--out"]).arg(out.path()).status();
        assert!(made.unwrap().success());
        std::fs::copy(out.path().join("lock-gate.evidence.zip"), &pack).unwrap();
    }
    assert!(pack.exists(), "make {} with BLESS=1, and add its identity to PACKS", pack.display());
    assert!(PACKS.iter().any(|known| (known.0, known.1) == (layout, rules)), "add its identity to PACKS");
}
