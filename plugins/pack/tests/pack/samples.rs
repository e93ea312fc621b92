//! Packs to test with.

use plugin_pack::{PackFile, PackPlan, Role, write_pack};

/// A file in memory.
pub(crate) fn file(role: Role, name: &str, bytes: &[u8]) -> PackFile<'static> {
    PackFile {
        role,
        name: name.to_owned(),
        media_type: None,
        sha256: None,
        content: Box::new(bytes.to_vec()),
    }
}

/// The two files that every pack has, and `more`.
pub(crate) fn plan(more: Vec<PackFile<'static>>) -> PackPlan<'static> {
    let mut files = vec![
        file(Role::Record, "record.json", b"{\"schema\": 1, \"item\": \"LGL-FEN-1\"}\n"),
        file(Role::Assessment, "assessment.json", b"{\"rules_version\": 1, \"verdict\": \"undetermined\"}\n"),
    ];
    files.extend(more);
    PackPlan {
        report_number: Some("OPL-2026-017".to_owned()),
        revision: Some("0".to_owned()),
        laboratory: Some("Old Pumphouse Laboratory (invented)".to_owned()),
        description: Some("ESD immunity test of an invented level sensor".to_owned()),
        issue_date: Some("2026-03-05".to_owned()),
        software: Some("fulgurite test".to_owned()),
        files,
        ..PackPlan::default()
    }
}

/// A small pack with one file of most kinds.
pub(crate) fn small() -> PackPlan<'static> {
    plan(vec![
        file(
            Role::Source,
            "logs/shots.csv",
            "point;kV\r\nhousing screw;4\r\nhousing screw;-4\r\n".repeat(20).as_bytes(),
        ),
        file(Role::Source, "photos/set-up.JPG", &noise(300)),
        file(Role::Source, "logs/Übersicht 100%.txt", b"names are kept\n"),
        file(Role::Paper, "report.html", b"<!doctype html><title>invented</title>"),
        file(Role::Standard, "iec-61000-4-2-ed2.toml", b"edition = 2\n"),
        file(Role::Source, "empty.csv", b""),
    ])
}

pub(crate) fn written(plan: &PackPlan<'_>) -> Vec<u8> {
    write_pack(plan, Vec::new()).unwrap().0
}

/// Bytes that do not compress, the same every time.
pub(crate) fn noise(count: usize) -> Vec<u8> {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    (0..count)
        .map(|_| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 32) as u8
        })
        .collect()
}
