//! Pulses and steps of the outside suite whose figures follow by algebra (../shared/reference/waveforms/closed-*).
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::waveform::{Options, figures, step_response};
use record::{Origin, SourceId, TimeBase, Trace};
use serde_json::Value;
use std::path::PathBuf;

fn suite() -> Option<(PathBuf, Value)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/waveforms");
    let Ok(text) = std::fs::read_to_string(folder.join("expected.json")) else {
        println!("SKIPPED: {} is not there", folder.display());
        return None;
    };
    Some((folder, serde_json::from_str(&text).unwrap()))
}

fn record(folder: &std::path::Path, name: &str) -> Trace {
    let text = std::fs::read_to_string(folder.join(name)).unwrap();
    let rows = text.lines().skip(1).map(|line| line.split_once(',').unwrap());
    let rows = rows.map(|(time, value)| (time.parse::<f64>().unwrap() * 1e9, value.parse::<f64>().unwrap()));
    let (times, current_a) = rows.unzip();
    Trace {
        name: name.into(),
        segment: 1,
        time: TimeBase::Listed(times),
        current_a,
        over_range: false,
        step_a: None,
        a_per_v: None,
        origin: Origin::file(SourceId(0)),
    }
}

#[test]
fn every_closed_reference_waveform_is_measured_within_its_tolerance() {
    let Some((folder, expected)) = suite() else { return };
    let mut held = 0;
    for name in ["closed-gaussian", "closed-double-exponential", "closed-rc-step", "closed-ramp"] {
        let file = format!("{name}.csv");
        let (trace, case) = (record(&folder, &file), &expected["files"][&file]);
        for (figure, tolerance) in case["tolerance"].as_object().unwrap() {
            let truth = case["expected"][figure].as_f64().unwrap();
            let got = if name.contains("step") || name.contains("ramp") {
                let step = step_response(&trace).unwrap();
                match figure.as_str() {
                    "low_level" => step.before,
                    "high_level" => step.after,
                    "t50" => step.t50_ns,
                    "tr_10_90" => step.rise_10_90_ns,
                    "tr_20_80" => step.rise_20_80_ns,
                    other => panic!("no figure `{other}`"),
                }
            } else {
                let found = figures(&trace, &Options::default());
                match figure.as_str() {
                    "peak" => found.peak_current_a.value().unwrap(),
                    "tr_10_90" => found.rise_time_ns.value().unwrap(),
                    "fwhm" => found.half_width_ns.value().unwrap(),
                    other => panic!("no figure `{other}`"),
                }
            };
            let within = tolerance.as_f64().unwrap();
            assert!((got - truth).abs() <= within, "{name}: {figure}: {got} for {truth} \u{b1} {within}");
            held += 1;
        }
    }
    assert_eq!(held, 13);
}
