//! Recorded waveforms of the generator against the limits of the standard.

use crate::assessment::{JudgedFigure, JudgedTrace};
use crate::standard::{Standard, WaveformQuantity};
use crate::waveform::{Compared, Figure, Figures, Judged, Options, figures, judge};
use record::{Finding, Generator, Record, Trace, Verification};

/// Every waveform of a record, judged, and the findings on the way.
pub(crate) fn waveforms(record: &Record, standard: &Standard) -> (Vec<JudgedTrace>, Vec<Finding>) {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    for verification in &record.verifications {
        for trace in &verification.traces {
            let (judged, found) = judge_trace(&record.facts.generator, standard, verification, trace);
            let place = record.place(&trace.origin);
            findings
                .extend(found.into_iter().map(|f| if f.place.is_some() { f } else { f.at(place.clone()) }));
            all.push(judged);
        }
    }
    (all, findings)
}

/// The figures of one waveform, judged where limits fit, and what was found on the way.
///
/// The network is the one that the verification states, else the job's, else the standard's own.
pub fn judge_trace(
    generator: &Generator,
    standard: &Standard,
    verification: &Verification,
    trace: &Trace,
) -> (JudgedTrace, Vec<Finding>) {
    let pf = verification.network_pf.or(generator.network_pf);
    let ohm = verification.network_ohm.or(generator.network_ohm);
    let network = pf.zip(ohm);
    let mut options = Options::for_limits(standard, verification.charge_kv, network);
    options.polarity = verification.polarity;
    options.bandwidth_ghz = verification.bandwidth_ghz;
    let found = figures(trace, &options);
    let results: Vec<Judged> =
        verification.charge_kv.map(|kv| judge(&found, standard, kv, network)).unwrap_or_default();
    let judged: Vec<JudgedFigure> = standard
        .waveform_limits(network)
        .map(|limit| {
            let figure = of(&found, limit.quantity);
            let result = results.iter().find(|r| r.limit == *limit);
            let not_compared = result.and_then(|r| match &r.compared {
                Compared::NotDeterminable(why) => Some(why.clone()),
                Compared::Within | Compared::Outside => None,
            });
            JudgedFigure {
                name: limit.quantity.to_string(),
                unit: limit.quantity.unit(),
                value: figure.and_then(Figure::value),
                why_not: figure.and_then(|f| f.why_not().map(str::to_owned)).or(not_compared),
                nominal: result.and_then(|r| r.nominal),
                least: result.map(|r| r.least),
                most: result.map(|r| r.most),
                within: result.and_then(|r| match r.compared {
                    Compared::Within => Some(true),
                    Compared::Outside => Some(false),
                    Compared::NotDeterminable(_) => None,
                }),
                status: result.map(|_| limit.status),
                clause: result.map(|_| limit.clause.clone()),
            }
        })
        .collect();
    let within = if judged.iter().any(|f| f.within == Some(false)) {
        Some(false)
    } else if !judged.is_empty() && judged.iter().all(|f| f.within == Some(true)) {
        Some(true)
    } else {
        None
    };
    let mut method = vec![found.estimator.to_string()];
    if let Some(step) = found.sample_step_ns {
        method.push(format!("time step {} ns", significant(step)));
    }
    let trace_judged = JudgedTrace {
        verification: verification.id.clone(),
        name: trace.name.clone(),
        segment: trace.segment,
        figures: judged,
        method,
        within,
        origin: trace.origin.clone(),
    };
    (trace_judged, found.findings)
}

fn of(found: &Figures, quantity: WaveformQuantity) -> Option<&Figure> {
    match quantity {
        WaveformQuantity::PeakCurrent => Some(&found.peak_current_a),
        WaveformQuantity::RiseTime => Some(&found.rise_time_ns),
        WaveformQuantity::CurrentAt { time_ns } => found.current_at(time_ns),
    }
}

/// Six significant digits: enough for a time step.
fn significant(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
