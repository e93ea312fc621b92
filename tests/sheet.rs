//! The paper sheet holds every series of the plan, in its order: asked of poppler, from the printed page.
#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]

use std::path::Path;
use std::process::Command;

use serde::Deserialize;

#[derive(Deserialize)]
struct Assessment {
    plan: Vec<Required>,
}

#[derive(Deserialize)]
struct Required {
    point: String,
    polarity: String,
    voltage_kv: String,
}

/// Series of the plan that the text of the sheet does not have in their order.
fn not_printed(plan: &[Required], text: &str) -> Vec<String> {
    // The font has one glyph for the hyphen and the soft hyphen; poppler names the latter.
    let text = text.replace('\u{ad}', "-");
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let mut from = 0;
    let mut missing = Vec::new();
    for (required, number) in plan.iter().zip(1..) {
        let sign = if required.polarity == "positive" { '+' } else { '\u{2212}' };
        let voltage = format!("{sign}{} kV", required.voltage_kv);
        let starts = |at: &usize| {
            lines[*at] == format!("{number} {}", required.point)
                && lines[*at..(at + 9).min(lines.len())].iter().any(|line| line.contains(&voltage))
        };
        match (from..lines.len()).find(starts) {
            Some(at) => from = at + 1,
            None => missing.push(format!("{number} {} {voltage}", required.point)),
        }
    }
    missing
}

#[test]
fn poppler_finds_every_series_on_the_sheet() {
    if Command::new("pdftotext").arg("-v").output().is_err() {
        assert!(std::env::var_os("CI").is_none_or(|value| value.is_empty()), "CI needs pdftotext");
        return;
    }
    for demo in ["lock-gate", "lock-gate-settled"] {
        let folder = tempfile::tempdir().unwrap();
        let made = Command::new(env!("CARGO_BIN_EXE_fulgurite"))
            .arg("convert")
            .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo").join(demo))
            .args(["--to", "sheet,json", "--out"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let json = std::fs::read(folder.path().join(format!("{demo}.assessment.json"))).unwrap();
        let assessment: Assessment = serde_json::from_slice(&json).unwrap();
        assert_eq!(assessment.plan.len(), 72);
        let text = Command::new("pdftotext")
            .args(["-raw", "-enc", "UTF-8"])
            .arg(folder.path().join(format!("{demo}.sheet.pdf")))
            .arg("-")
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&text.stdout).into_owned();
        assert_eq!(not_printed(&assessment.plan, &text), Vec::<String>::new());
        // The search itself misses a series that is not there.
        let gone = text.replacen("USB", "???", 1);
        assert!(!not_printed(&assessment.plan, &gone).is_empty());
    }
}
