//! Records with known figures, read and measured.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::waveform::{Figures, figures};
use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source, Taken};
use plugin_trace::TraceReader;
use record::{AmperesPerVolt, Facts, SourceId};
use serde_json::{Map, Value};
use std::path::{Path, PathBuf};

fn read(name: &str, bytes: &[u8], settings: &Map<String, Value>) -> Taken {
    read_in(name, bytes, settings, None)
}

fn read_in(name: &str, bytes: &[u8], settings: &Map<String, Value>, chain: Option<AmperesPerVolt>) -> Taken {
    let open = || -> std::io::Result<Box<dyn std::io::BufRead>> {
        Ok(Box::new(std::io::Cursor::new(bytes.to_vec())))
    };
    let source = Source::new(SourceId(0), name, bytes.len() as u64, &open);
    let options = Options { value: settings.clone(), ..Options::default() };
    let defaults = SeriesDefaults { chain_a_per_v: chain, ..SeriesDefaults::default() };
    let cx = ReadContext { options: &options, defaults: &defaults, facts: &Facts::default() };
    let mut intake = Intake::new(SourceId(0));
    let _ = TraceReader.read(&source, &mut intake, &cx);
    intake.finish()
}

fn figure(found: Option<&Figures>, key: &str) -> Option<f64> {
    let found = found?;
    match key {
        "peak_current_a" => found.peak_current_a.value(),
        "rise_time_ns" => found.rise_time_ns.value(),
        "current_at_30_ns_a" => found.current_at_30_ns_a(),
        "current_at_60_ns_a" => found.current_at_60_ns_a(),
        other => panic!("no figure is called {other}"),
    }
}

fn bytes_of(folder: &Path) -> Vec<u8> {
    std::fs::read(folder.join("record.csv")).or_else(|_| std::fs::read(folder.join("record.csv.gz"))).unwrap()
}

/// The record's file read once; every segment has the figures that are stated for it, in its order.
fn check(folder: &Path) {
    let bytes = bytes_of(folder);
    let expected: Value =
        serde_json::from_slice(&std::fs::read(folder.join("expected.json")).unwrap()).unwrap();
    let name = folder.file_name().unwrap().to_string_lossy();
    let chain = expected["chain_a_per_v"].as_str().map(|text| AmperesPerVolt::parse(text).unwrap());
    let taken = read_in(&name, &bytes, expected["settings"].as_object().unwrap(), chain);
    let found: Vec<Figures> = taken.traces.iter().map(|trace| figures(trace, &Default::default())).collect();
    let all = taken.findings.iter().chain(found.iter().flat_map(|found| &found.findings));
    let codes: Vec<&str> = all.clone().map(|finding| finding.code.as_str()).collect();
    let wanted: Vec<&str> =
        expected["findings"].as_array().unwrap().iter().map(|code| code.as_str().unwrap()).collect();
    let said: Vec<_> = all.map(|finding| (&finding.message, &finding.place)).collect();
    assert_eq!(codes, wanted, "{name}: {said:#?}");
    // A record of one segment has its figures beside the rest.
    let segments = expected["traces"].as_array().cloned().unwrap_or_else(|| vec![expected.clone()]);
    if expected["traces"].is_array() {
        assert_eq!(found.len(), segments.len(), "{name}");
    }
    for (index, segment) in segments.iter().enumerate() {
        for (key, wanted) in segment["figures"].as_object().unwrap() {
            let (value, within) = (wanted["value"].as_f64().unwrap(), wanted["within"].as_f64().unwrap());
            let got = figure(found.get(index), key).unwrap_or_else(|| panic!("{name}: no {key}"));
            assert!(
                (got - value).abs() <= within,
                "{name}, segment {}: {key} is {got}, not {value} within {within}",
                index + 1
            );
        }
        for key in segment["absent"].as_array().into_iter().flatten() {
            assert_eq!(figure(found.get(index), key.as_str().unwrap()), None, "{name}: {key}");
        }
    }
    if let Some(over) = expected["over_range_samples"].as_u64() {
        let trace = &taken.traces[0];
        assert!(trace.over_range, "{name}");
        assert_eq!(trace.current_a.iter().filter(|sample| sample.is_nan()).count() as u64, over, "{name}");
    }
    if let Some(account) = taken.account {
        assert!(account.balances(), "{name}: {account:?}");
    }
}

fn fixtures() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let mut all: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_dir())
        .collect();
    all.sort();
    assert!(all.len() >= 27, "{}", all.len());
    all
}

#[test]
fn every_record_gives_its_figures_and_findings() {
    for folder in fixtures() {
        check(&folder);
    }
}

#[test]
fn no_beginning_of_a_record_makes_the_reader_panic() {
    // One record of each layout is cut at every byte of its first KiB and at every 7th up to 4 KiB (rows have
    // other lengths, so that every place in a row is met), the others at some.
    let each = [
        "iec-05gs-clean-plain",
        "iec-05gs-noise-ns-semicolon-comma",
        "iec-05gs-hard-meta-header",
        "iec-10gs-clean-no-time-axis",
        "iec-10gs-noise-volts-two-channels",
        "iec-20gs-adc-codes",
    ];
    for folder in fixtures() {
        let bytes = bytes_of(&folder);
        let whole = each.iter().any(|name| folder.ends_with(name));
        for end in (0..bytes.len().min(4096))
            .filter(|end| *end < if whole { 1024 } else { 64 } || end % if whole { 7 } else { 211 } == 0)
        {
            let taken = read("cut.csv", &bytes[..end], &Map::new());
            assert!(!taken.traces.is_empty() || !taken.findings.is_empty(), "{folder:?} cut at {end}");
            for trace in &taken.traces {
                let _ = figures(trace, &Default::default());
            }
        }
    }
}

/// The whole set of outside records, where it is at hand.
#[test]
fn the_outside_records_are_measured_within_their_tolerances_or_flagged() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/waveforms");
    let Ok(text) = std::fs::read(folder.join("expected.json")) else {
        return println!("SKIPPED: {} is not there", folder.display());
    };
    let expected: Value = serde_json::from_slice(&text).unwrap();
    let mut measured = 0;
    for (file, wanted) in expected["files"].as_object().unwrap() {
        // Steps and pulses that are no discharge have figures of their own.
        if file.starts_with("closed-") {
            continue;
        }
        let bytes = std::fs::read(folder.join(file)).unwrap();
        let mut settings = Map::new();
        if let Some(scale) = wanted["scale_A_per_V"].as_f64() {
            settings.insert("scale_a_per_v".into(), scale.into());
            settings.insert("channel".into(), "CH1".into());
        }
        let taken = read(file, &bytes, &settings);
        let found = taken.traces.first().map(|trace| figures(trace, &Default::default()));
        let errors = taken.findings.iter().chain(found.iter().flat_map(|found| &found.findings));
        let flagged = errors.clone().count() > 0;
        let refused = errors.filter(|finding| finding.severity == record::Severity::Error).count() > 0;
        match wanted["outcome"].as_str().unwrap() {
            "measure" => {
                for (key, ours) in [
                    ("Ip", "peak_current_a"),
                    ("tr", "rise_time_ns"),
                    ("I30", "current_at_30_ns_a"),
                    ("I60", "current_at_60_ns_a"),
                ] {
                    let (value, within) = (
                        wanted["expected"][key].as_f64().unwrap(),
                        wanted["tolerance"][key].as_f64().unwrap(),
                    );
                    let got = figure(found.as_ref(), ours).unwrap_or_else(|| panic!("{file}: no {key}"));
                    assert!(
                        (got - value).abs() <= within,
                        "{file}: {key} {got}, not {value} within {within}"
                    );
                }
                measured += 1;
            }
            "flag" => assert!(flagged, "{file}"),
            "reject" | "ask" => {
                assert!(refused, "{file}");
                assert_eq!(figure(found.as_ref(), "peak_current_a"), None, "{file}");
            }
            other => panic!("{other}"),
        }
    }
    assert_eq!(measured, 13);
}

/// Pulses of closed form that are no discharge: peak and rise time hold for them too.
#[test]
fn pulses_of_closed_form_have_their_peak_and_rise_time() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/waveforms");
    let Ok(text) = std::fs::read(folder.join("expected.json")) else {
        return println!("SKIPPED: {} is not there", folder.display());
    };
    let expected: Value = serde_json::from_slice(&text).unwrap();
    for file in ["closed-gaussian.csv", "closed-double-exponential.csv"] {
        let bytes = std::fs::read(folder.join(file)).unwrap();
        let mut settings = Map::new();
        settings.insert("value_unit".into(), "A".into());
        let taken = read(file, &bytes, &settings);
        let found = figures(&taken.traces[0], &Default::default());
        let wanted = &expected["files"][file];
        for (key, ours) in [("peak", "peak_current_a"), ("tr_10_90", "rise_time_ns")] {
            let (value, within) =
                (wanted["expected"][key].as_f64().unwrap(), wanted["tolerance"][key].as_f64().unwrap());
            let got = figure(Some(&found), ours)
                .unwrap_or_else(|| panic!("{file}: no {key}: {:#?}", found.findings));
            assert!((got - value).abs() <= within, "{file}: {key} {got}, not {value} within {within}");
        }
    }
}
