//! Waveforms of the generator: figures against limits, and a plot for each verification.

use super::facts::{list, moment};
use super::origin::{place, places};
use super::wording::Worder;
use super::{Subject, text};
use crate::Words;
use crate::model::{Picture, Pictures};
use crate::numbers::Cut;
use crate::plot::{COLUMN, LimitMark, Waveform, waveform};
use assess::standard::{IdealWaveform, Standard, WaveformQuantity};
use assess::waveform::{Figures, Options, figures};
use assess::{FurtherFigure, JudgedFigure, JudgedTrace, Spread, Verdict};
use record::{
    AmperesPerVolt, Chain, Decibels, Decimal, Passes, Polarity, TimeBase, Trace, Verification, VoltsPerAmpere,
};
use serde_json::{Map, Value, json};

pub(super) fn add(
    subject: &Subject<'_>,
    words: &Words,
    root: &mut Map<String, Value>,
    pictures: &mut Pictures,
) {
    let mut all = Vec::new();
    for (index, verification) in subject.record.verifications.iter().enumerate() {
        let name = format!("waveform-{}", index + 1);
        let drawn = subject.standard.is_some_and(|s| draw(subject, s, verification, words, &name, pictures));
        let judged: Vec<&JudgedTrace> =
            subject.assessment.waveforms.iter().filter(|w| w.verification == verification.id).collect();
        let spreads: Vec<&Spread> = subject
            .assessment
            .repeatability
            .iter()
            .filter(|r| r.verification == verification.id)
            .flat_map(|r| &r.figures)
            .collect();
        all.push(json!({
            "id": verification.id.as_str(),
            "equipment": text(verification.equipment.as_ref()),
            "charge_kv": text(verification.charge_kv.map(|v| v.as_kv())),
            "sign": text(verification.polarity.map(Polarity::sign)),
            "network_pf": text(verification.network_pf.map(|v| v.as_pf())),
            "network_ohm": text(verification.network_ohm.map(|v| v.as_ohm())),
            "bandwidth_ghz": text(verification.bandwidth_ghz),
            "chain": chain(subject, verification, index),
            "conversions": conversions(verification),
            "at": moment(verification.at.as_ref()),
            "by": verification.by,
            "remark": verification.remark,
            "curves": verification.traces.len().to_string(),
            "picture": if drawn { json!(name) } else { Value::Null },
            "verdict": within_word(judged.iter().map(|w| w.within)),
            "columns": columns(&judged),
            "clauses": clauses(&judged, words),
            "spread": list(&spreads, |f| spread(f, &judged, words)),
            "spread_outlier": spreads.iter().any(|f| f.outlier.is_some()),
            "traces": judged.iter().map(|w| trace(subject, w, words)).collect::<Vec<_>>(),
        }));
    }
    root.insert("verifications".into(), Value::Array(all));
}

/// The elements of the measuring chain, each with the place that says what it does, and what they come to.
fn chain(subject: &Subject<'_>, verification: &Verification, index: usize) -> Value {
    let record = subject.record;
    let Some(chain) = Chain::of(&record.facts, verification, index) else { return Value::Null };
    let elements = list(&chain.stages, |stage| {
        let unit = stage.passes.map(|passes| match passes {
            Passes::Transfer(_) => VoltsPerAmpere::UNIT,
            Passes::Decibels(_) => Decibels::UNIT,
            Passes::Ratio(_) => ": 1",
        });
        let known = stage.passes.and_then(|_| record.origins.get(&stage.path));
        json!({
            "equipment": text(stage.element.equipment.as_ref()),
            "remark": stage.element.remark,
            "value": text(stage.passes.map(Passes::number)),
            "unit": unit,
            "origin": known.map(|origin| place(record, origin)),
        })
    });
    json!({ "elements": elements, "a_per_v": text(chain.a_per_v.map(AmperesPerVolt::for_print)) })
}

/// The conversions that were applied to waveforms in volts, each once.
fn conversions(verification: &Verification) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for scale in verification.traces.iter().filter_map(|trace| trace.a_per_v) {
        let shown = scale.for_print().to_string();
        if !all.contains(&shown) {
            all.push(shown);
        }
    }
    all
}

/// Inside where all are, outside where one is, unknown else.
fn within_word(each: impl Iterator<Item = Option<bool>>) -> Value {
    let mut worst = None;
    for within in each {
        let verdict = match within {
            Some(true) => Verdict::Pass,
            None => Verdict::Undetermined,
            Some(false) => Verdict::Fail,
        };
        worst = worst.max(Some(verdict));
    }
    text(worst)
}

/// The limits, which are the same for all traces of a verification: one column each.
fn columns(judged: &[&JudgedTrace]) -> Value {
    let figures = judged.first().map_or(&[][..], |w| &w.figures);
    // A trace without the figure has no sign to go by: the first one that has it says how the limits read.
    let found = |f: &JudgedFigure| {
        let same = judged.iter().flat_map(|w| &w.figures).filter(|other| other.name == f.name);
        same.clone().find(|other| other.value.is_some()).or(same.clone().next())?.signed_limits()
    };
    list(figures, |f| {
        let (mut least, mut most) = found(f).unzip();
        // Both ends of a span have the same decimals: 0.6 to 1.0.
        let places = least.iter().chain(&most).map(Decimal::scale).max().unwrap_or(0);
        for end in least.iter_mut().chain(&mut most) {
            end.rescale(places);
        }
        named(
            &f.name,
            json!({
                "unit": f.unit,
                "nominal": text(f.nominal),
                "least": text(least),
                "most": text(most),
                "status": text(f.status),
                "sound": f.status.is_none_or(assess::standard::Status::is_sound),
                "clause": f.clause,
            }),
        )
    })
}

/// The clauses that the limits are from, each with the figures that it limits.
fn clauses(judged: &[&JudgedTrace], words: &Words) -> Value {
    let mut groups: Vec<(&String, Option<assess::standard::Status>, Vec<Value>)> = Vec::new();
    for f in judged.first().map_or(&[][..], |w| &w.figures) {
        let Some(clause) = &f.clause else { continue };
        let name = named(&f.name, json!({}));
        match groups.iter_mut().find(|(of, status, _)| *of == clause && *status == f.status) {
            Some((.., names)) => names.push(name),
            None => groups.push((clause, f.status, vec![name])),
        }
    }
    list(&groups, |(clause, status, figures)| {
        json!({
            "clause": super::named::clause(words, clause),
            "status": text(*status),
            "sound": status.is_none_or(assess::standard::Status::is_sound),
            "figures": figures,
        })
    })
}

/// The spread of a figure over the traces of a verification. The mean has the sign of the traces, and no digits below
/// those of its deviation.
fn spread(of: &Spread, judged: &[&JudgedTrace], words: &Words) -> Value {
    let same = judged.iter().flat_map(|trace| &trace.figures).filter(|figure| figure.name == of.name);
    let negative = same.filter_map(|figure| figure.value).any(|value| value < 0.0);
    let mean = if negative { -of.mean } else { of.mean };
    let set = |value: f64, cut: Cut| words.numbers().number(&value.to_string(), cut);
    let deviation = set(of.deviation, Cut { digits: Some(2), ..Cut::default() });
    let places = deviation.as_ref().filter(|_| of.deviation > 0.0).map(|deviation| {
        let decimals = deviation.rsplit_once(|c: char| !c.is_ascii_digit()).map_or("", |(_, after)| after);
        u32::try_from(decimals.len()).unwrap_or_default()
    });
    let cut = Cut { places, digits: places.is_none().then_some(4), ..Cut::default() };
    named(
        &of.name,
        json!({
            "unit": of.unit,
            "readings": of.readings.to_string(),
            "mean": text(set(mean, cut)),
            "deviation": text(deviation),
            "outlier": text(of.outlier.as_ref().map(|(name, _)| name)),
        }),
    )
}

/// What is said of a figure, with its name for the part `figure-name`.
fn named(name: &str, mut said: Value) -> Value {
    let (kind, at_ns) = kind(name);
    if let Some(said) = said.as_object_mut() {
        said.extend([("name".to_owned(), json!(name)), ("kind".into(), kind), ("at_ns".into(), at_ns)]);
    }
    said
}

/// Key of a figure's name among the words, and the instant that it belongs to; neither for a figure that has no
/// words, whose name stands as it is.
fn kind(name: &str) -> (Value, Value) {
    let at = |before| name.strip_prefix(before).and_then(|rest: &str| rest.strip_suffix(" ns"));
    if let Some(at_ns) = at("current at ") {
        return (json!("current-at"), json!(at_ns));
    }
    if let Some(to_ns) = at("charge up to ") {
        return (json!("charge-to"), json!(to_ns));
    }
    let key = match name {
        "first peak" => "peak",
        "rise time" => "rise",
        "second peak" => "second-peak",
        "second peak over first" => "second-over-first",
        "charge of the record" => "charge",
        _ => return (Value::Null, Value::Null),
    };
    (json!(key), Value::Null)
}

fn trace(subject: &Subject<'_>, w: &JudgedTrace, words: &Words) -> Value {
    let figure = |f: &JudgedFigure| {
        // A measured current stands for three digits, whatever the arithmetic carries.
        let cut = Cut { digits: Some(3), ..Cut::default() };
        let value = f.value.and_then(|v| words.numbers().number(&v.to_string(), cut));
        json!({"value": text(value), "verdict": within_word(std::iter::once(f.within))})
    };
    // The magnitude of an uncertainty stands beside the figure whatever its sign; a probability to four digits.
    let decided = w.figures.iter().filter_map(|f| {
        let of = f.uncertainty.as_ref()?;
        Some(named(&f.name, json!({
            "unit": f.unit,
            "value": f.value.and_then(|v| words.numbers().number(&v.to_string(), Cut { digits: Some(4), ..Cut::default() })),
            "expanded": text(of.expanded),
            "k": text(of.k),
            "how": of.how,
            "rule": of.rule,
            "outcome": text(of.outcome),
            "accepts_from": text(of.accepts.map(|a| a.0.normalize())),
            "accepts_to": text(of.accepts.map(|a| a.1.normalize())),
            "conformity": of.conformity.and_then(|p| percent(100.0 * p, words)),
        })))
    });
    let further = |f: &FurtherFigure| {
        let cut = Cut { digits: Some(3), ..Cut::default() };
        let value = f.value.and_then(|v| words.numbers().number(&v.to_string(), cut));
        named(f.name, json!({"unit": f.unit, "value": text(value), "why": f.why_not}))
    };
    let absent = w.figures.iter().filter_map(|f| Some(named(&f.name, json!({"why": f.why_not.as_ref()?}))));
    let method = Worder { subject, words }.phrases(&w.method);
    json!({
        "name": w.name,
        "segment": w.segment.to_string(),
        "figures": w.figures.iter().map(figure).collect::<Vec<_>>(),
        "absent": absent.collect::<Vec<_>>(),
        "uncertainty": decided.collect::<Vec<_>>(),
        "further": w.further.iter().map(further).collect::<Vec<_>>(),
        "method": { "text": method.text, "detail": method.detail },
        "verdict": within_word(std::iter::once(w.within)),
        "origins": places(subject.record, [&w.origin]),
    })
}

/// A percentage to two decimals; what rounds to 0 or 100 without being so is said to be below or above.
pub(super) fn percent(percent: f64, words: &Words) -> Option<String> {
    let (sign, shown) = match percent {
        p if p > 0.0 && p < 0.005 => ("< ", 0.01),
        p if p < 100.0 && p > 99.995 => ("> ", 99.99),
        p => ("", p),
    };
    Some(format!("{sign}{}", words.numbers().number(&format!("{shown:.2}"), Cut::default())?))
}

/// Draws the traces of a verification over the ideal curve; nothing where no trace has a pulse.
fn draw(
    subject: &Subject<'_>,
    standard: &Standard,
    verification: &Verification,
    words: &Words,
    name: &str,
    pictures: &mut Pictures,
) -> bool {
    let generator = &subject.record.facts.generator;
    let network = verification
        .network_pf
        .or(generator.network_pf)
        .zip(verification.network_ohm.or(generator.network_ohm));
    let mut options = Options::for_limits(standard, verification.charge_kv, network);
    options.polarity = verification.polarity;
    options.bandwidth_ghz = verification.bandwidth_ghz;
    let mut curves = Vec::new();
    let mut measured: Vec<Figures> = Vec::new();
    for trace in &verification.traces {
        let found = figures(trace, &options);
        if let Some(t10) = found.t10_ns.value() {
            curves.push(samples(trace, t10, found.baseline_a.value().unwrap_or(0.0)));
            measured.push(found);
        }
    }
    if curves.is_empty() {
        return false;
    }
    let sign = match measured.first().and_then(|f| f.polarity).or(verification.polarity) {
        Some(Polarity::Negative) => -1.0,
        Some(Polarity::Positive) | None => 1.0,
    };
    let ideal = standard
        .ideal_waveform
        .as_ref()
        .zip(verification.charge_kv)
        .map(|(ideal, kv)| ideal_curve(ideal, kv, sign))
        .unwrap_or_default();
    let mut limits = Vec::new();
    for limit in standard.waveform_limits(network) {
        let Some((_, span)) = verification.charge_kv.and_then(|kv| limit.at(kv)) else { continue };
        let (least, most) = (sign * float(span.least), sign * float(span.most));
        match limit.quantity {
            WaveformQuantity::PeakCurrent => {
                let at = measured.iter().filter_map(|f| Some(f.peak_time_ns.value()? - f.t10_ns.value()?));
                let at = middle(at.collect());
                let values = measured.iter().filter_map(|f| f.peak_current_a.value()).collect();
                limits.push(LimitMark {
                    name: "Ip".into(),
                    at_ns: at,
                    low_a: least,
                    high_a: most,
                    measured_a: values,
                });
            }
            WaveformQuantity::CurrentAt { time_ns } => {
                let values = measured.iter().filter_map(|f| f.current_at(time_ns)?.value()).collect();
                let name = format!("I{}", time_ns.normalize());
                limits.push(LimitMark {
                    name,
                    at_ns: float(time_ns),
                    low_a: least,
                    high_a: most,
                    measured_a: values,
                });
            }
            WaveformQuantity::RiseTime => {}
        }
    }
    let edge = match measured.as_slice() {
        [one] => one.t10_ns.value().zip(one.t90_ns.value()).map(|(a, b)| (0.0, b - a)),
        _ => None,
    };
    let drawing = waveform(
        &Waveform {
            curves: &curves,
            ideal: &ideal,
            limits: &limits,
            edge,
            current: words.or_key("plot.current"),
            time: words.or_key("plot.time"),
            measured: words.or_key("plot.measured"),
            spread: words.or_key("plot.spread"),
            ideal_word: words.or_key("plot.ideal"),
            limit_word: words.or_key("plot.limits"),
            numbers: words.numbers(),
        },
        COLUMN,
    );
    pictures.insert(name.to_owned(), Picture::Drawing(drawing));
    true
}

/// Time from the 10 % point and current from the baseline, near the pulse only.
fn samples(trace: &Trace, t10: f64, baseline: f64) -> Vec<(f64, f64)> {
    let time = |k: usize| match &trace.time {
        TimeBase::Uniform { start_ns, step_ns } => Some(start_ns + k as f64 * step_ns),
        TimeBase::Listed(times) => times.get(k).copied(),
    };
    trace
        .current_a
        .iter()
        .enumerate()
        .filter_map(|(k, current)| Some((time(k)? - t10, current - baseline)))
        .filter(|(t, i)| *t >= -12.0 && *t <= 110.0 && i.is_finite())
        .collect()
}

/// The ideal curve with its own 10 % point at 0.
fn ideal_curve(ideal: &IdealWaveform, kv: record::Kilovolts, sign: f64) -> Vec<(f64, f64)> {
    let at = |k: i32| f64::from(k) * 0.05;
    let currents: Vec<(f64, f64)> = (-200..2400).map(|k| (at(k), ideal.current_a(at(k), kv))).collect();
    let peak = currents.iter().map(|c| c.1).fold(0.0, f64::max);
    let mut t10 = 0.0;
    for pair in currents.windows(2) {
        if let [(ta, a), (tb, b)] = pair
            && *a < peak * 0.1
            && *b >= peak * 0.1
        {
            t10 = ta + (tb - ta) * (peak * 0.1 - a) / (b - a);
            break;
        }
    }
    currents.into_iter().map(|(t, i)| (t - t10, sign * i)).collect()
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

fn float(value: Decimal) -> f64 {
    value.to_string().parse().unwrap_or(f64::NAN)
}
