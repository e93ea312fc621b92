//! Sampled records of the ideal discharge current and the figures that belong to them.

use super::{Held, prints_as, text_of};
use crate::standard::{IdealWaveform, Standard, built_in};
use crate::waveform::{Figures, Options, figures};
use record::{Kilovolts, Origin, SourceId, TimeBase, Trace};

/// Reads one figure.
type Read = fn(&Figures) -> Option<f64>;

/// The record begins this long before the pulse, and ends this long after.
const BEFORE_NS: f64 = 5.0;
const AFTER_NS: f64 = 75.0;

pub(super) fn run(file: &toml::Table) -> Result<Vec<Held>, String> {
    let source = text_of(file, "source").ok_or("no source")?;
    let status = text_of(file, "status").ok_or("no status")?;
    let (name, text) = built_in().first().ok_or("no standard is built in")?;
    let standard =
        Standard::parse(name, text).map_err(|found| format!("{name}: {} findings", found.len()))?;
    let ideal = standard.ideal_waveform.ok_or("the standard has no ideal current")?;
    let charge = Kilovolts::parse("4").map_err(|error| error.to_string())?;
    let cases = file.get("case").and_then(toml::Value::as_array).ok_or("no cases")?;
    let mut all = Vec::new();
    for case in cases.iter().filter_map(toml::Value::as_table) {
        let name = text_of(case, "name").ok_or("a case without a name")?;
        let number = |key: &str| {
            text_of(case, key).and_then(|t| t.parse::<f64>().ok()).ok_or_else(|| format!("{name}: no {key}"))
        };
        let found =
            figures(&sampled(&ideal, charge, number("step_ns")?, number("offset_ns")?), &Options::default());
        let figures: [(&str, Read); 4] = [
            ("peak_current_a", |f| f.peak_current_a.value()),
            ("rise_time_ns", |f| f.rise_time_ns.value()),
            ("current_at_30_ns_a", Figures::current_at_30_ns_a),
            ("current_at_60_ns_a", Figures::current_at_60_ns_a),
        ];
        for (key, figure) in figures {
            let Some(expected) = text_of(case, key) else { continue };
            let (got, agrees) = figure(&found)
                .map_or_else(|| ("not determinable".to_owned(), false), |got| prints_as(expected, got));
            all.push(Held {
                topic: "waveform".into(),
                case: format!("{name}: {key}"),
                function: "waveform::figures",
                source: source.to_owned(),
                status: status.to_owned(),
                expected: expected.to_owned(),
                got,
                agrees,
            });
        }
    }
    Ok(all)
}

/// The ideal current on the grid t = k step - offset - 5 ns; nothing flows before t = 0.
fn sampled(ideal: &IdealWaveform, charge: Kilovolts, step_ns: f64, offset_ns: f64) -> Trace {
    let start_ns = -BEFORE_NS - offset_ns;
    let samples = ((BEFORE_NS + AFTER_NS) / step_ns) as usize + 1;
    let current_a = (0..samples).map(|k| ideal.current_a(k as f64 * step_ns + start_ns, charge)).collect();
    Trace {
        name: "ideal".into(),
        segment: 1,
        time: TimeBase::Uniform { start_ns, step_ns },
        current_a,
        over_range: false,
        step_a: None,
        a_per_v: None,
        origin: Origin::file(SourceId(0)),
    }
}
