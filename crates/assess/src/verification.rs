//! Recorded waveforms of the generator against the limits of the standard.

use crate::assessment::{FurtherFigure, JudgedFigure, JudgedTrace};
use crate::figure_decision;
use crate::phrase::{Phrase, Value, say};
use crate::place::Places;
use crate::standard::{Standard, WaveformQuantity};
use crate::waveform::{Compared, Figure, Figures, Judged, Options, figures, judge};
use record::{Finding, Generator, Record, Trace, Verification, WaveformUncertainty};

/// Every waveform of a record, judged, and the findings on the way.
pub(crate) fn waveforms(record: &Record, standard: &Standard) -> (Vec<JudgedTrace>, Vec<Finding>) {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    for verification in &record.verifications {
        for trace in &verification.traces {
            let (judged, found) = judge_trace(
                &record.facts.generator,
                &record.facts.waveform_uncertainty,
                standard,
                verification,
                trace,
            );
            let place = record.place(&trace.origin);
            findings
                .extend(found.into_iter().map(|f| if f.place.is_some() { f } else { f.at(place.clone()) }));
            all.push(judged);
        }
    }
    findings.extend(uncertainty_findings(record, &all));
    (all, findings)
}

/// Stated uncertainties that can't be worked out, or belong to no figure that was compared; once each.
fn uncertainty_findings(record: &Record, all: &[JudgedTrace]) -> Vec<Finding> {
    let places = Places::new(record);
    let mut findings = Vec::new();
    if all.is_empty() {
        return findings;
    }
    for (index, stated) in record.facts.waveform_uncertainty.figures.iter().enumerate() {
        let name = figure_decision::name(stated);
        let mut decided = all.iter().flat_map(|trace| &trace.figures).filter(|figure| figure.name == name);
        let message = match decided.clone().find_map(|figure| figure.uncertainty.as_ref()) {
            Some(first) if first.expanded.is_none() => format!("{name}: {}", first.how),
            Some(_) => continue,
            // A figure that no record allowed to determine has no uncertainty either.
            None if decided.any(|figure| figure.value.is_none() || figure.least.is_none()) => continue,
            None => format!("{name}: an uncertainty is stated, and no such figure is compared with limits"),
        };
        let mut finding = Finding::warning(crate::codes::UNCERTAINTY_INCOMPLETE, message).help(
            "state it whole: an expanded uncertainty with k, or a budget with k or a coverage probability",
        );
        if let Some(origin) = places.fact(&format!("/waveform_uncertainty/figures/{index}")) {
            finding = finding.at(record.place(&origin));
        }
        findings.push(finding);
    }
    findings
}

/// The figures of one waveform, judged where limits fit, and what was found on the way.
///
/// The network is the one that the verification states, else the job's, else the standard's own.
pub fn judge_trace(
    generator: &Generator,
    uncertainty: &WaveformUncertainty,
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
            let decision = figure_decision::stated(uncertainty, limit.quantity).and_then(|stated| {
                let magnitude = result?.value?;
                let limits = result.map(|result| (result.least, result.most));
                let unit = limit.quantity.unit();
                Some(figure_decision::decision(uncertainty, stated, unit, magnitude, limits))
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
                uncertainty: decision,
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
    let mut method = vec![found.estimator.said()];
    if let Some(step) = found.sample_step_ns {
        method.push(say!(TimeStep, "time step {step} ns", step = Value::number(significant(step))));
        if let Some(share) = found.effect_of_sampling() {
            method.push(say!(
                StepLengthens,
                "the step lengthens the rise time by about {share}",
                share = percent(share),
            ));
        }
    }
    if let Some(share) = options.bandwidth_ghz.and_then(|ghz| found.effect_of_bandwidth(ghz)) {
        method.push(say!(
            BandwidthLengthens,
            "the chain's bandwidth lengthens the rise time by about {share}",
            share = percent(share),
        ));
    }
    let trace_judged = JudgedTrace {
        verification: verification.id.clone(),
        name: trace.name.clone(),
        segment: trace.segment,
        figures: judged,
        further: further(&found),
        method,
        within,
        origin: trace.origin.clone(),
    };
    (trace_judged, found.findings)
}

/// Figures that the standard sets no limits for.
fn further(found: &Figures) -> Vec<FurtherFigure> {
    let of = |name, unit, figure: &Figure| FurtherFigure {
        name,
        unit,
        value: figure.value(),
        why_not: figure.why_not().map(str::to_owned),
    };
    vec![
        of("second peak", "A", &found.second_peak_a),
        of("second peak over first", "", &found.second_peak_ratio()),
        of("charge up to 60 ns", "nC", &found.charge_60_ns_nc),
        of("charge of the record", "nC", &found.charge_nc),
    ]
}

/// A share as a percentage with two significant digits; less than 0.1 % says no more than that.
fn percent(share: f64) -> Phrase {
    let percent = 100.0 * share;
    match percent {
        p if p < 0.1 => say!(ShareBelow, "less than {share} %", share = Value::number("0.1")),
        p if p < 10.0 => say!(Share, "{share} %", share = Value::number(format!("{p:.1}"))),
        p => say!(Share, "{share} %", share = Value::number(format!("{p:.0}"))),
    }
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
