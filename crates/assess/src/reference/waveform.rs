//! Reference cases of waveforms: sampled closed forms and the figures that belong to them.

use super::Computed;
use super::inputs::Inputs;
use crate::standard::{IdealWaveform, Standard, built_in};
use crate::waveform::{Figure, Options, figures};
use record::{Kilovolts, Origin, SourceId, TimeBase, Trace};

const FIGURES: &str = "waveform::figures";

pub(super) fn compute(kind: &str, inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    match kind {
        "ideal current" => of_ideal_current(inputs),
        "ideal current at a time" => {
            let at = ideal()?.current_a(inputs.number("t_ns")?, kilovolts(inputs.text("charge_kv")?)?);
            Ok(vec![Computed::number("standard::IdealWaveform::current_a", "current_a", at)])
        }
        "closed form" => {
            let shape = shape(inputs)?;
            sampled_figures(inputs, inputs.number("start_ns")?, inputs.number("end_ns")?, &shape)
        }
        other => Err(format!("no kind `{other}`")),
    }
}

fn kilovolts(text: &str) -> Result<Kilovolts, String> {
    Kilovolts::parse(text).map_err(|error| error.to_string())
}

fn ideal() -> Result<IdealWaveform, String> {
    let (name, text) = built_in()
        .iter()
        .find(|(name, _)| name.contains("iec-61000-4-2-ed2"))
        .ok_or("the standard with the ideal current is not built in")?;
    let standard =
        Standard::parse(name, text).map_err(|found| format!("{name}: {} findings", found.len()))?;
    standard.ideal_waveform.ok_or_else(|| "the standard has no ideal current".to_owned())
}

/// The ideal current on the grid t = k step - offset - 5 ns, up to 75 ns or `end_ns`; nothing flows before t = 0.
fn of_ideal_current(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    let (ideal, charge) =
        (ideal()?, kilovolts(if inputs.has("charge_kv") { inputs.text("charge_kv")? } else { "4" })?);
    let start_ns = -5.0 - inputs.number_or("offset_ns", 0.0)?;
    let end_ns = inputs.number_or("end_ns", 75.0)?;
    sampled_figures(inputs, start_ns, end_ns, &|t| ideal.current_a(t, charge))
}

/// A closed form of time in nanoseconds.
fn shape(inputs: Inputs<'_>) -> Result<Box<dyn Fn(f64) -> f64>, String> {
    let top = inputs.number("peak_a")?;
    Ok(match inputs.text("shape")? {
        "gaussian" => {
            let sigma = inputs.number("sigma_ns")?;
            Box::new(move |t| top * libm::exp(-0.5 * (t / sigma) * (t / sigma)))
        }
        "double exponential" => {
            let (alpha, beta) = (inputs.number("alpha_per_ns")?, inputs.number("beta_per_ns")?);
            let peak_at = libm::log(beta / alpha) / (beta - alpha);
            let raw = move |t: f64| libm::exp(-alpha * t) - libm::exp(-beta * t);
            let scale = top / raw(peak_at);
            Box::new(move |t| if t < 0.0 { 0.0 } else { scale * raw(t) })
        }
        "triangle" => {
            let (rise, fall) = (inputs.number("rise_ns")?, inputs.number("fall_ns")?);
            Box::new(move |t| top * (t / rise).min((rise + fall - t) / fall).max(0.0))
        }
        other => return Err(format!("no shape `{other}`")),
    })
}

fn sampled_figures(
    inputs: Inputs<'_>,
    start_ns: f64,
    end_ns: f64,
    current_a: &dyn Fn(f64) -> f64,
) -> Result<Vec<Computed>, String> {
    let step_ns = inputs.number("step_ns")?;
    let samples = ((end_ns - start_ns) / step_ns + 1e-6) as usize + 1;
    let trace = Trace {
        name: "closed form".into(),
        segment: 1,
        time: TimeBase::Uniform { start_ns, step_ns },
        current_a: (0..samples).map(|k| current_a(k as f64 * step_ns + start_ns)).collect(),
        over_range: false,
        step_a: None,
        a_per_v: None,
        origin: Origin::file(SourceId(0)),
    };
    let mut options = Options::default();
    if inputs.has("times_ns") {
        let times = inputs.list("times_ns")?.iter().filter_map(toml::Value::as_str);
        let times: Result<Vec<_>, String> =
            times.map(|text| record::parse_decimal(text).map_err(|error| error.to_string())).collect();
        options.times_ns = times?;
    }
    let found = figures(&trace, &options);
    let named: [(&str, &Figure); 8] = [
        ("peak_current_a", &found.peak_current_a),
        ("peak_time_ns", &found.peak_time_ns),
        ("t10_ns", &found.t10_ns),
        ("t90_ns", &found.t90_ns),
        ("rise_time_ns", &found.rise_time_ns),
        ("second_peak_a", &found.second_peak_a),
        ("second_peak_time_ns", &found.second_peak_time_ns),
        ("charge_nc", &found.charge_nc),
    ];
    let show = |name: String, figure: &Figure| match figure {
        Figure::Found(value) => Computed::number(FIGURES, name, *value),
        Figure::Absent(why) => Computed::words(FIGURES, name, format!("not determinable: {why}")),
    };
    let mut all: Vec<Computed> =
        named.iter().map(|(name, figure)| show((*name).to_owned(), figure)).collect();
    for current in &found.currents {
        all.push(show(format!("current_at_{}_ns_a", current.time_ns.normalize()), &current.current_a));
    }
    Ok(all)
}
