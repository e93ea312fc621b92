//! `trace`: figures of generator waveforms against limits.

use super::standards;
use crate::arguments;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, CARE, FAINT, GOOD, STRONG, styled};
use assess::standard::Standard;
use assess::{JudgedTrace, judge_trace};
use host::{ReadSettings, read_loose};
use plugin_api::Options;
use record::{
    Decimal, Finding, Generator, Kilovolts, Place, Severity, Trace, Verification, VerificationId,
    WaveformUncertainty,
};
use serde_json::{Value, json};

pub(crate) fn run(given: &arguments::Trace, output: &Output) -> CommandResult {
    let standards = standards::at_hand(&given.standards)?;
    let known = standards.get(&given.standard).ok_or_else(|| {
        let ids: Vec<&str> = standards.all().iter().map(|k| k.standard.id.as_str()).collect();
        CommandError::Usage(format!(
            "no data for the standard `{}`; there are: {}",
            given.standard,
            ids.join(", ")
        ))
    })?;
    let verification = conditions(given)?;
    let settings =
        ReadSettings { reader: Some("trace".into()), options: options(given)?, ..ReadSettings::default() };
    let plugins = plugins();
    let mut exit = Exit::Done;
    let mut all_judged = Vec::new();
    for file in &given.files {
        let name = file.to_string_lossy().into_owned();
        let (parts, broke) = read_loose(&plugins, file, &settings);
        if broke {
            exit = exit.max(Exit::PluginBroke);
        }
        for taken in parts {
            let judged = judge(&name, &taken.traces, &verification, &known.standard);
            let found = judged.iter().flat_map(|(_, found)| found);
            if taken.findings.iter().chain(found).any(|f| f.severity == Severity::Error) {
                exit = exit.max(Exit::DataErrors);
            }
            if given.json {
                for line in json_lines(&name, &judged, &taken.findings) {
                    output.print(&format!("{line}\n"))?;
                }
            } else {
                output.findings(None, &taken.findings);
                for (trace, found) in &judged {
                    output.findings(None, found);
                    let several = judged.len() > 1;
                    output.print(&table(&name, trace, several, &verification, &known.standard))?;
                }
            }
            all_judged.extend(judged.into_iter().map(|(trace, _)| trace));
        }
    }
    if !given.json
        && let Some(set) = assess::repeatability(&all_judged.iter().collect::<Vec<_>>())
    {
        output.print(&spread(&set))?;
    }
    Ok(exit)
}

/// The figures of each waveform, and what is to be said about them, at its place in the file.
fn judge(
    name: &str,
    traces: &[Trace],
    verification: &Verification,
    standard: &Standard,
) -> Vec<(JudgedTrace, Vec<Finding>)> {
    let of = |trace: &Trace| {
        let (generator, uncertainty) = (Generator::default(), WaveformUncertainty::default());
        let (judged, mut found) = judge_trace(&generator, &uncertainty, standard, verification, trace);
        let row = trace.origin.rows.map(|r| r.first);
        for finding in &mut found {
            let here = || Place { file: name.to_owned(), row, ..Place::default() };
            finding.place.get_or_insert_with(here);
        }
        (judged, found)
    };
    traces.iter().map(of).collect()
}

fn conditions(given: &arguments::Trace) -> Result<Verification, CommandError> {
    let usage = |what: &str, error: String| CommandError::Usage(format!("{what}: {error}"));
    let charge_kv = match &given.charge_kv {
        None => None,
        Some(text) => {
            let kv = Kilovolts::parse(text)
                .map_err(|e| usage("--charge-kv takes the magnitude of the charge voltage", e.to_string()))?;
            Some(kv)
        }
    };
    let bandwidth_ghz: Option<Decimal> = match &given.bandwidth_ghz {
        None => None,
        Some(text) => Some(record::parse_decimal(text).map_err(|e| usage("--bandwidth-ghz", e.to_string()))?),
    };
    let id = VerificationId::new("trace")
        .ok_or_else(|| CommandError::Usage("the name of a verification can't be empty".into()))?;
    Ok(Verification { charge_kv, bandwidth_ghz, ..Verification::new(id) })
}

fn options(given: &arguments::Trace) -> Result<Options, CommandError> {
    let mut options = Options::default();
    let mut put = |key: &str, text: &str, said: String| {
        let value = text.parse::<i64>().map(Value::from).unwrap_or_else(|_| Value::String(text.to_owned()));
        options.value.insert(key.to_owned(), value);
        options.places.insert(format!("/{key}"), Place { file: said, ..Place::default() });
    };
    if let Some(scale) = &given.scale_a_per_v {
        put("scale_a_per_v", scale, "--scale-a-per-v".into());
    }
    for setting in &given.set {
        let (key, value) = setting
            .split_once('=')
            .ok_or_else(|| CommandError::Usage(format!("--set takes KEY=VALUE, not `{setting}`")))?;
        put(key, value, format!("--set {key}"));
    }
    Ok(options)
}

/// A line for each waveform; what was found in the file as a whole stands with the first, or alone.
fn json_lines(file: &str, judged: &[(JudgedTrace, Vec<Finding>)], of_file: &[Finding]) -> Vec<Value> {
    let mut of_file = of_file.to_vec();
    if judged.is_empty() {
        return vec![json_line(file, None, &of_file)];
    }
    let line = |(trace, found): &(JudgedTrace, Vec<Finding>)| {
        let mut all = std::mem::take(&mut of_file);
        all.extend_from_slice(found);
        json_line(file, Some(trace), &all)
    };
    judged.iter().map(line).collect()
}

fn json_line(file: &str, judged: Option<&JudgedTrace>, findings: &[Finding]) -> Value {
    let figure = |name: &str| {
        judged
            .and_then(|j| j.figures.iter().find(|f| f.name == name))
            .and_then(|f| f.value)
            .map_or(Value::Null, Value::from)
    };
    json!({
        "file": file,
        "segment": judged.map(|j| j.segment),
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
    judged: &JudgedTrace,
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
    out += &format!(
        "{}\n",
        styled(
            FAINT,
            format!("      {}; limits of {}", said(&judged.method).join("; "), standard.full_name())
        )
    );
    out
}

/// The spread of each figure over all waveforms given.
fn spread(set: &assess::Repeatability) -> String {
    let mut out = format!("{}\n", styled(STRONG, "repeatability"));
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
