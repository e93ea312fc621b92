//! The messy logs of the reference set, read in place as its manifest says.
//!
//! Source of the expectations: `shared/reference/csv/manifest.json` beside the repository; every row listed
//! there was read by a separate parser. Where the folder is absent, the test says so.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a test stops at what it can't use, and says what it skips"
)]

mod common;

use common::Job;
use plugin_api::Taken;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

fn folder() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/csv");
    if folder.join("manifest.json").is_file() {
        return Some(folder);
    }
    eprintln!("SKIPPED: {} is not there; the reference logs were not read", folder.display());
    None
}

/// The mapping that names the columns of the manifest.
fn settings(case: &Value) -> Value {
    let mut columns = json!({
        "point": "Point", "application": "Mode", "voltage": "Voltage_kV", "count": "Discharges",
        "upsets": "Upsets", "demand": "Criterion", "time": "Time"
    });
    if case.get("extra_column").is_some() {
        columns["polarity"] = json!("Polarity");
    }
    json!({ "columns": columns })
}

fn seen(taken: &Taken, row: u64) -> u64 {
    taken
        .observations
        .iter()
        .find(|o| o.origin.rows.unwrap().first == row)
        .map_or(0, |o| o.seen.as_deref().unwrap().rsplit(' ').next().unwrap().parse().unwrap())
}

/// Whether the series are the rows of the manifest, field by field.
fn same_rows(taken: &Taken, rows: &[Value]) -> Result<(), String> {
    if taken.series.len() != rows.len() {
        return Err(format!("{} series, {} rows", taken.series.len(), rows.len()));
    }
    for (series, row) in taken.series.iter().zip(rows) {
        let kv: f64 = series.voltage_kv.as_kv().to_string().parse().unwrap();
        let kv = if series.polarity == record::Polarity::Negative { -kv } else { kv };
        let demanded = format!("Criterion (demanded): {}", row["criterion"].as_str().unwrap());
        let time = series.started.as_ref().map(ToString::to_string);
        let wanted = row["time"].as_str().map(str::to_owned);
        let line = series.origin.rows.unwrap().first;
        let checks = [
            (series.point.as_str() == row["point"].as_str().unwrap().trim(), "point"),
            (series.application.as_str() == row["mode"].as_str().unwrap(), "mode"),
            ((kv - row["kv"].as_f64().unwrap()).abs() < 1e-12, "kv"),
            (u64::from(series.count) == row["discharges"].as_u64().unwrap(), "discharges"),
            (seen(taken, line) == row["upsets"].as_u64().unwrap(), "upsets"),
            (series.remark.as_deref().is_some_and(|r| r.eq_ignore_ascii_case(&demanded)), "criterion"),
            (time == wanted, "time"),
        ];
        if let Some((_, what)) = checks.iter().find(|(fits, _)| !fits) {
            return Err(format!("line {line}: {what}: {series:?} instead of {row}"));
        }
    }
    Ok(())
}

fn judge(name: &str, case: &Value, bytes: &[u8]) -> Result<&'static str, String> {
    let (done, taken) = common::read(name, bytes, &Job::with(settings(case)));
    let errors = taken.findings.iter().any(|f| f.severity == record::Severity::Error);
    let said =
        taken.findings.iter().any(|f| f.severity >= record::Severity::Warning) || !taken.findings.is_empty();
    let clean = done && !errors;
    let text = format!("{:?}", taken.findings);
    let rows = || match (case["rows"].as_array(), case["row_count"].as_u64()) {
        (Some(rows), _) => same_rows(&taken, rows),
        (None, Some(count)) if taken.series.len() as u64 != count => {
            Err(format!("{} rows", taken.series.len()))
        }
        (None, _) => match case["checksum_upsets"].as_u64() {
            Some(sum) => {
                let found: u64 =
                    taken.series.iter().map(|s| seen(&taken, s.origin.rows.unwrap().first)).sum();
                if found == sum { Ok(()) } else { Err(format!("{found} upsets")) }
            }
            None => Ok(()),
        },
    };
    let must_say = case["must_say"].as_str().unwrap_or_default();
    let says = |part: &str| text.contains(part);
    // `line 4` in the manifest is a row of the finding's place.
    let line = must_say
        .split("line ")
        .nth(1)
        .and_then(|l| l.split([',', ' ', ')']).next())
        .and_then(|l| l.parse::<u64>().ok());
    if let Some(line) = line
        && !taken.findings.iter().any(|f| f.place.as_ref().is_some_and(|p| p.row == Some(line)))
    {
        return Err(format!("nothing is said about line {line}: {text}"));
    }
    if let Some(line) = line
        && done
        && !clean
        && !taken.unread.iter().any(|r| r.row == line)
    {
        return Err(format!("line {line} is not set aside: {text}"));
    }
    if must_say.contains("column, value")
        && !taken
            .findings
            .iter()
            .any(|f| f.place.as_ref().is_some_and(|p| p.column.is_some() && p.label.is_some()))
    {
        return Err(format!("no column is named: {text}"));
    }
    for part in [
        "duplicate header",
        "missing column",
        "unit conflict",
        "unnamed empty columns ignored",
        "no records",
        "duplicates",
        "control characters present",
        "encoding problem",
    ] {
        let told =
            says(part) || (part == "control characters present" && says("control characters are present"));
        if must_say.starts_with(part) && !told {
            return Err(format!("`{part}` is not said: {text}"));
        }
    }
    match case["outcome"].as_str().unwrap() {
        "accept" if clean => rows().map(|()| "accepted"),
        "accept-warn" if clean && said => rows().map(|()| "accepted with a word"),
        "ask" if clean => rows().map(|()| "accepted"),
        "ask" | "reject" if errors => Ok("refused or set aside"),
        other => Err(format!("{other}, done {done}: {text}")),
    }
}

#[test]
fn the_reference_logs_are_read_as_their_manifest_says() {
    let Some(folder) = folder() else { return };
    let manifest: Value = serde_json::from_slice(&fs::read(folder.join("manifest.json")).unwrap()).unwrap();
    let cases = manifest["cases"].as_object().unwrap();
    let mut wrong = Vec::new();
    let mut agreed = 0;
    for (name, case) in cases {
        let bytes = fs::read(folder.join(name)).unwrap();
        match judge(name, case, &bytes) {
            Ok(how) => {
                agreed += 1;
                eprintln!("{name}: {} -> {how}", case["outcome"].as_str().unwrap());
            }
            Err(why) => wrong.push(format!("{name}: {why}")),
        }
    }
    eprintln!("{agreed} of {} reference logs agree", cases.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
