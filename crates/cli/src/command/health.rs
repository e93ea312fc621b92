//! `health`: a generator's figures over the months, from the verifications in jobs.

use super::{outcome, standards};
use crate::arguments::Health;
use crate::exit::{CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, CARE, FAINT, GOOD, STRONG, styled};
use assess::statistics::{ControlChart, Trend};
use assess::{FigureHealth, HealthHistory};
use host::{ConvertRequest, convert_jobs, find_jobs};
use record::{Date, Decimal};
use serde_json::{Value, json};

pub(crate) fn run(given: &Health, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let jobs = find_jobs(&given.inputs)?;
    let request = ConvertRequest::new(&[], std::path::Path::new(""), &standards);
    let several = jobs.len() > 1;
    let mut exit = Exit::Done;
    let mut history = HealthHistory::default();
    convert_jobs(&plugins, &jobs, &request, None, &mut |result| {
        exit = exit.max(outcome::exit(&result, &[]));
        let errors: Vec<_> =
            result.findings.iter().filter(|f| f.severity == record::Severity::Error).cloned().collect();
        output.findings(several.then_some(result.name.as_str()), &errors);
        if let (Some(record), Some(assessment)) = (&result.record, &result.assessment) {
            history.add(record, assessment);
        }
    })?;
    let not_placed = history.not_placed();
    let mut all = history.health();
    if let Some(wanted) = &given.equipment {
        all.retain(|one| {
            one.generator == *wanted
                || one.generator.strip_prefix(wanted.as_str()).is_some_and(|r| r.starts_with(" ("))
        });
    }
    if given.json {
        for one in &all {
            output.print(&format!("{}\n", line(one)))?;
        }
    } else {
        output.print(&text(&all, not_placed, jobs.len()))?;
    }
    Ok(exit)
}

fn text(all: &[FigureHealth], not_placed: usize, jobs: usize) -> String {
    let mut out = String::new();
    let mut last = None;
    for one in all {
        let polarity = one.polarity.map_or("polarity not stated".to_owned(), |p| p.to_string());
        let charge = one.charge_kv.map_or("charge voltage not stated".to_owned(), |kv| kv.to_string());
        let head = format!("{}, {polarity}, {charge}", one.generator);
        if last.as_ref() != Some(&head) {
            let gap = if last.is_some() { "\n" } else { "" };
            out += &format!("{gap}{}\n", styled(STRONG, &head));
            last = Some(head);
        }
        out += &figure(one);
    }
    if all.is_empty() {
        out += &format!("no verification with generator and day in {jobs} jobs\n");
    }
    if not_placed > 0 {
        out += &format!(
            "{}\n",
            styled(CARE, format!("{not_placed} verifications have no generator or no day and were left out"))
        );
    }
    out + &styled(FAINT, format!("{}; {}", ControlChart::METHOD, Trend::METHOD)) + "\n"
}

fn figure(one: &FigureHealth) -> String {
    let days = match (one.readings.first(), one.readings.last()) {
        (Some((first, _)), Some((last, _))) if first != last => format!("{first} to {last}"),
        (Some((first, _)), _) => first.to_string(),
        _ => String::new(),
    };
    let mut out = format!("  {:<18} {} readings, {days}\n", one.figure, one.readings.len());
    let unit = one.unit;
    let limits = one
        .limits
        .map(|(least, most)| format!("; limits {} to {} {unit}", least.normalize(), most.normalize()))
        .unwrap_or_default();
    if let Some(chart) = &one.chart {
        out += &format!(
            "    mean {} {unit}, control limits {} to {} {unit}{limits}\n",
            digits(chart.centre),
            digits(chart.low),
            digits(chart.high)
        );
        let outside = one.outside();
        if !outside.is_empty() {
            let days = outside.iter().map(Date::to_string).collect::<Vec<_>>().join(", ");
            out += &format!("    {} outside the control limits: {days}\n", styled(CARE, outside.len()));
        }
        for run in &chart.runs {
            if let Some((day, _)) = one.readings.get(*run) {
                out += &format!(
                    "    {} 8 or more on one side of the mean, from {day}\n",
                    styled(CARE, "run of")
                );
            }
        }
    }
    let Some(trend) = &one.trend else {
        out += "    no trend: fewer than 3 readings on different days\n";
        return out;
    };
    let per_year = 365.25 * trend.slope;
    if !trend.is_shown(FigureHealth::confidence()) {
        out += &format!("    {} no trend shown (95 %)\n", styled(GOOD, "steady:"));
        return out;
    }
    out += &format!(
        "    {} {} {unit} a year (standard uncertainty {})\n",
        styled(CARE, "moves by"),
        digits(per_year),
        digits(365.25 * trend.slope_standard)
    );
    if let Some(leaves) = &one.leaves {
        let day = |day: Option<Date>| day.map_or("beyond the calendar".to_owned(), |day| day.to_string());
        out += &format!(
            "    {} {} {unit} about {}, between {} and {} (95 %), if it goes on so\n",
            styled(BAD, "reaches"),
            leaves.limit.normalize(),
            day(leaves.on),
            day(leaves.from),
            day(leaves.to)
        );
    }
    out
}

fn line(one: &FigureHealth) -> Value {
    let decimal = |value: Decimal| value.normalize().to_string();
    let day = |day: Option<Date>| day.map(|day| day.to_string());
    json!({
        "generator": one.generator,
        "polarity": one.polarity.map(|p| p.to_string()),
        "charge_kv": one.charge_kv.map(|kv| kv.as_kv().to_string()),
        "figure": one.figure,
        "unit": one.unit,
        "least": one.limits.map(|limits| decimal(limits.0)),
        "most": one.limits.map(|limits| decimal(limits.1)),
        "readings": one.readings.iter().map(|(day, value)| json!([day.to_string(), value])).collect::<Vec<_>>(),
        "chart": one.chart.as_ref().map(|chart| json!({
            "centre": chart.centre, "low": chart.low, "high": chart.high,
            "outside": one.outside().iter().map(Date::to_string).collect::<Vec<_>>(),
        })),
        "trend": one.trend.as_ref().map(|trend| json!({
            "per_year": 365.25 * trend.slope,
            "standard_uncertainty": 365.25 * trend.slope_standard,
            "shown": trend.is_shown(FigureHealth::confidence()),
        })),
        "leaves": one.leaves.map(|leaves| json!({
            "limit": decimal(leaves.limit), "on": day(leaves.on), "from": day(leaves.from), "to": day(leaves.to),
        })),
    })
}

/// Four significant digits.
fn digits(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        v if v >= 1.0 => 3,
        _ => 4,
    };
    format!("{value:.decimals$}").replace('-', "\u{2212}")
}
