//! `trace`: figures of generator waveforms against limits.

use super::standards;
use crate::arguments;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, CARE, FAINT, GOOD, STRONG, styled};
use assess::standard::Standard;
use assess::{JudgedTrace, judge_trace};
use conditions::{Conditions, NoSource, Source};
use host::read_loose;
use record::{AmperesPerVolt, Finding, Place, Severity, Trace, Verification};
use serde_json::{Value, json};
use std::collections::BTreeSet;

mod conditions;

pub(crate) fn run(given: &arguments::Trace, output: &Output) -> CommandResult {
    let source = match Source::of(given) {
        Ok(source) => source,
        Err(NoSource::Usage(error)) => return Err(error),
        Err(NoSource::Findings(findings)) => {
            output.findings(None, &findings);
            return Ok(Exit::DataErrors);
        }
    };
    let standards = standards::at_hand(&given.standards)?;
    let id = source.standard().unwrap_or("iec-61000-4-2-ed2");
    let known = standards.get(id).ok_or_else(|| {
        let ids: Vec<&str> = standards.all().iter().map(|k| k.standard.id.as_str()).collect();
        CommandError::Usage(format!("no data for the standard `{id}`; there are: {}", ids.join(", ")))
    })?;
    output.findings(None, source.findings());
    let plugins = plugins();
    let mut exit = Exit::Done;
    let mut all_judged = Vec::new();
    // What is wrong with a measuring chain is said once, however many files it holds for.
    let mut said = Vec::new();
    for file in &given.files {
        let name = file.to_string_lossy().into_owned();
        let conditions = source.conditions(file)?;
        if conditions.findings.iter().any(|f| f.severity == Severity::Error) {
            exit = exit.max(Exit::DataErrors);
        }
        for finding in &conditions.findings {
            if !said.contains(finding) {
                output.findings(None, std::slice::from_ref(finding));
                said.push(finding.clone());
            }
        }
        let (parts, broke) = read_loose(&plugins, file, &conditions.settings);
        if broke {
            exit = exit.max(Exit::PluginBroke);
        }
        for mut taken in parts {
            taken.findings.extend(conditions.converted_otherwise(&name, &taken.traces));
            let judged = judge(&name, &taken.traces, &conditions, &known.standard);
            let found = judged.iter().flat_map(|one| &one.found);
            if taken.findings.iter().chain(found).any(|f| f.severity == Severity::Error) {
                exit = exit.max(Exit::DataErrors);
            }
            if given.json {
                for line in json_lines(&name, &judged, &taken.findings) {
                    output.print(&format!("{line}\n"))?;
                }
            } else {
                output.findings(None, &taken.findings);
                for one in &judged {
                    output.findings(None, &one.found);
                    let several = judged.len() > 1;
                    output.print(&table(&name, one, several, &conditions.verification, &known.standard))?;
                }
            }
            all_judged.extend(judged.into_iter().map(|one| one.judged));
        }
    }
    if !given.json {
        // Waveforms of other conditions are no set.
        let ids: BTreeSet<_> = all_judged.iter().map(|judged| &judged.verification).collect();
        for id in &ids {
            let set: Vec<_> = all_judged.iter().filter(|judged| judged.verification == **id).collect();
            if let Some(set) = assess::repeatability(&set) {
                output.print(&spread(&set, ids.len() > 1))?;
            }
        }
    }
    Ok(exit)
}

/// A waveform that was looked at.
struct Looked {
    judged: JudgedTrace,
    /// What is to be said about it, at its place in the file.
    found: Vec<Finding>,
    /// What its volts were converted with; none where it was recorded in amperes.
    a_per_v: Option<AmperesPerVolt>,
}

fn judge(name: &str, traces: &[Trace], conditions: &Conditions, standard: &Standard) -> Vec<Looked> {
    let of = |trace: &Trace| {
        let Conditions { facts, verification, .. } = conditions;
        let (generator, uncertainty) = (&facts.generator, &facts.waveform_uncertainty);
        let (judged, mut found) = judge_trace(generator, uncertainty, standard, verification, trace);
        let row = trace.origin.rows.map(|r| r.first);
        for finding in &mut found {
            let here = || Place { file: name.to_owned(), row, ..Place::default() };
            finding.place.get_or_insert_with(here);
        }
        Looked { judged, found, a_per_v: trace.a_per_v }
    };
    traces.iter().map(of).collect()
}

/// A line for each waveform; what was found in the file as a whole stands with the first, or alone.
fn json_lines(file: &str, looked: &[Looked], of_file: &[Finding]) -> Vec<Value> {
    let mut of_file = of_file.to_vec();
    if looked.is_empty() {
        return vec![json_line(file, None, &of_file)];
    }
    let line = |one: &Looked| {
        let mut all = std::mem::take(&mut of_file);
        all.extend_from_slice(&one.found);
        json_line(file, Some(one), &all)
    };
    looked.iter().map(line).collect()
}

fn json_line(file: &str, looked: Option<&Looked>, findings: &[Finding]) -> Value {
    let judged = looked.map(|one| &one.judged);
    let scale = looked.and_then(|one| one.a_per_v);
    let figure = |name: &str| {
        judged
            .and_then(|j| j.figures.iter().find(|f| f.name == name))
            .and_then(|f| f.value)
            .map_or(Value::Null, Value::from)
    };
    json!({
        "file": file,
        "segment": judged.map(|j| j.segment),
        "a_per_v": scale.map(|scale| scale.as_a_per_v().to_string()),
        "peak_current_a": figure("first peak"),
        "rise_time_ns": figure("rise time"),
        "current_at_30_ns_a": figure("current at 30 ns"),
        "current_at_60_ns_a": figure("current at 60 ns"),
        "further": judged.map(|j| j.further.iter().map(|f| json!({
            "name": f.name, "unit": f.unit, "value": f.value, "why_not": f.why_not,
        })).collect::<Vec<_>>()),
        "within": judged.and_then(|j| j.within),
        "method": judged.map(|j| said(&j.method)),
        "findings": findings.iter().map(|f| json!({
            "code": f.code,
            "severity": f.severity.as_str(),
            "message": f.message,
            "row": f.place.as_ref().and_then(|p| p.row),
            "column": f.place.as_ref().and_then(|p| p.column),
            "help": f.help,
        })).collect::<Vec<_>>(),
    })
}

fn table(
    name: &str,
    Looked { judged, a_per_v, .. }: &Looked,
    several: bool,
    verification: &Verification,
    standard: &Standard,
) -> String {
    let segment = if several { format!(", segment {}", judged.segment) } else { String::new() };
    let charge = verification.charge_kv.map(|kv| format!(" at {kv}")).unwrap_or_default();
    let word = match judged.within {
        Some(true) => styled(GOOD, "within limits"),
        Some(false) => styled(BAD, "outside limits"),
        None if verification.charge_kv.is_none() => styled(CARE, "no limits without --charge-kv"),
        None => styled(CARE, "not determinable"),
    };
    let mut out = format!("{}  {word}{charge}\n", styled(STRONG, format!("{name}{segment}")));
    for figure in &judged.figures {
        let value = match figure.value {
            Some(value) => format!("{} {}", four_digits(value), figure.unit),
            None => format!("not determinable: {}", figure.why_not.as_deref().unwrap_or("no reason given")),
        };
        let limits = match figure.signed_limits() {
            Some((least, most)) => {
                let mark = match figure.status {
                    Some(status) if !status.is_sound() => format!(" ({status})"),
                    _ => String::new(),
                };
                format!("{least} to {most} {}{mark}", figure.unit).replace('-', "\u{2212}")
            }
            None => String::new(),
        };
        let mark = match figure.within {
            Some(true) => styled(GOOD, "in "),
            Some(false) => styled(BAD, "OUT"),
            None => styled(CARE, "?  "),
        };
        out += &format!("  {mark} {:<18} {value:>12}   {}\n", figure.name, styled(FAINT, limits));
    }
    for figure in &judged.further {
        let Some(value) = figure.value else { continue };
        let value = format!("{} {}", four_digits(value), figure.unit);
        out += &format!("      {:<22} {:>8}\n", figure.name, value.trim_end());
    }
    if let Some(scale) = a_per_v {
        let number = scale.for_print();
        let words = format!("      volts were converted with {number} {}", AmperesPerVolt::UNIT);
        out += &format!("{}\n", styled(FAINT, words));
    }
    out += &format!(
        "{}\n",
        styled(
            FAINT,
            format!("      {}; limits of {}", said(&judged.method).join("; "), standard.full_name())
        )
    );
    out
}

/// The spread of each figure over the waveforms of a verification, which is named where there are several.
fn spread(set: &assess::Repeatability, several: bool) -> String {
    let of = if several { format!(" of {}", set.verification) } else { String::new() };
    let mut out = format!("{}\n", styled(STRONG, format!("repeatability{of}")));
    for figure in &set.figures {
        let (name, unit) = (&figure.name, figure.unit);
        out += &format!(
            "      {name:<18} mean {} {unit}, standard deviation {} {unit}, {} waveforms\n",
            four_digits(figure.mean),
            four_digits(figure.deviation),
            figure.readings
        );
        if let Some((file, segment)) = &figure.outlier {
            out += &format!("      {} {file}, segment {segment}\n", styled(CARE, "outlier:"));
        }
    }
    out + &styled(FAINT, format!("      {}, 95 %", set.method)) + "\n"
}

/// Four significant digits: a waveform figure can't stand for more.
fn four_digits(value: f64) -> String {
    let magnitude = value.abs();
    let decimals = match magnitude {
        m if m >= 1000.0 => 0,
        m if m >= 100.0 => 1,
        m if m >= 10.0 => 2,
        m if m >= 1.0 => 3,
        _ => 4,
    };
    format!("{value:.decimals$}").replace('-', "\u{2212}")
}

/// How the figures were read off, sentence by sentence.
fn said(method: &[assess::Phrase]) -> Vec<String> {
    method.iter().map(ToString::to_string).collect()
}
