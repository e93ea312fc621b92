//! `compare OLD NEW`: what differs between two jobs, records or packs.

use super::{convert::program, standards};
use crate::arguments::Compare;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, FAINT, GOOD, STRONG, styled};
use assess::{Assessment, Comparison, SeriesResult, compare};
use host::{ConvertRequest, JobResult, ReadSettings, Standards, convert_job, find_jobs};
use plugin_api::wire::{Differences, differences, shown, v1};
use record::Record;
use serde_json::{Value, json};
use std::path::Path;

/// Facts that differ and are shown.
const MOST_SHOWN: usize = 200;

pub(crate) fn run(given: &Compare, output: &Output) -> CommandResult {
    let standards = standards::at_hand(&given.standards)?;
    let old = read(&given.old, &standards, output)?;
    let new = read(&given.new, &standards, output)?;
    let (Some((old_record, old_assessment)), Some((new_record, new_assessment))) = (old, new) else {
        return Ok(Exit::DataErrors);
    };
    let facts = differences(&facts(&old_record), &facts(&new_record), MOST_SHOWN);
    let results = compare(&old_assessment, &new_assessment);
    let text =
        if given.json { format!("{:#}\n", as_json(&facts, &results)) } else { as_text(&facts, &results) };
    output.print(&text)?;
    Ok(Exit::Done)
}

/// Reads and assesses one side; none when it was refused, which its findings say.
fn read(
    path: &Path,
    standards: &Standards,
    output: &Output,
) -> Result<Option<(Record, Assessment)>, CommandError> {
    let request = ConvertRequest {
        formats: Vec::new(),
        out: std::path::PathBuf::new(),
        replace: false,
        language: "en".into(),
        template: "report".into(),
        template_files: Vec::new(),
        standards,
        read: ReadSettings::default(),
        program: program(),
    };
    let jobs = find_jobs(&[path.to_owned()])?;
    if jobs.len() != 1 {
        let text = format!("{}: {} jobs are there; name one", path.display(), jobs.len());
        return Err(CommandError::Usage(text));
    }
    let Some(job) = jobs.first() else { return Ok(None) };
    // Without a format nothing is written.
    let JobResult { name, record, assessment, findings, .. } =
        convert_job(&plugins(), job, &request, Path::new(""))?;
    if record.is_none() {
        output.findings(Some(&name), &findings);
    }
    Ok(record.zip(assessment))
}

/// What a record says, without where it was read: the same fact in another row is the same fact.
fn facts(record: &Record) -> Value {
    let mut value = v1::record_to_value(record);
    if let Some(object) = value.as_object_mut() {
        for key in ["schema", "sources", "origins", "findings"] {
            object.remove(key);
        }
    }
    without_places(&mut value);
    value
}

fn without_places(value: &mut Value) {
    match value {
        Value::Object(object) => {
            for key in ["origin", "completed_at", "row"] {
                object.remove(key);
            }
            object.values_mut().for_each(without_places);
        }
        Value::Array(list) => list.iter_mut().for_each(without_places),
        _ => {}
    }
}

fn as_text(facts: &Differences, results: &Comparison) -> String {
    let mut out = String::new();
    let (before, after) = results.verdicts;
    if results.is_empty() && facts.is_empty() {
        return format!("no difference; the verdict of both is {before}\n");
    }
    out += &format!("{}  {before} -> {after}\n", styled(STRONG, "verdict"));
    for change in &results.states {
        let word = |verdict: Option<assess::Verdict>| verdict.map_or("not there", assess::Verdict::as_str);
        let state = change.state.as_deref().unwrap_or("(no state named)");
        out += &format!("  state {state}: {} -> {}\n", word(change.before), word(change.after));
    }
    for (title, list, style) in
        [("levels gained", &results.gained, GOOD), ("levels lost", &results.lost, BAD)]
    {
        if !list.is_empty() {
            out += &format!("{}\n", styled(STRONG, title));
            for label in list {
                out += &format!("  {}\n", styled(style, label));
            }
        }
    }
    if !results.series.is_empty() {
        out += &format!("{}\n", styled(STRONG, "results"));
        for change in &results.series {
            out += &format!("  {}: {} -> {}\n", change.label, side(&change.before), side(&change.after));
        }
    }
    if !facts.is_empty() {
        out += &format!("{}\n", styled(STRONG, "facts"));
        for found in &facts.list {
            out += &format!("  {}\n", styled(FAINT, &found.path));
            out += &format!("    - {}\n", shown(found.first.as_ref()));
            out += &format!("    + {}\n", shown(found.second.as_ref()));
        }
        if facts.more > 0 {
            out += &format!("  and {} more\n", facts.more);
        }
    }
    out
}

fn side(result: &Option<SeriesResult>) -> String {
    match result {
        None => "not in the plan".to_owned(),
        Some(result) => {
            let worst = result.worst.map(|class| format!(", class {class}")).unwrap_or_default();
            format!("{} ({} of {}{worst})", result.verdict, result.counted, result.required)
        }
    }
}

fn as_json(facts: &Differences, results: &Comparison) -> Value {
    let result = |side: &Option<SeriesResult>| {
        side.as_ref().map(|r| {
            json!({
                "verdict": r.verdict.as_str(), "coverage": r.coverage.as_str(), "counted": r.counted,
                "required": r.required, "worst": r.worst.map(|class| class.to_string()),
            })
        })
    };
    json!({
        "verdict": { "old": results.verdicts.0.as_str(), "new": results.verdicts.1.as_str() },
        "states": results.states.iter().map(|change| json!({
            "state": change.state,
            "old": change.before.map(assess::Verdict::as_str),
            "new": change.after.map(assess::Verdict::as_str),
        })).collect::<Vec<_>>(),
        "gained": results.gained,
        "lost": results.lost,
        "results": results.series.iter().map(|change| json!({
            "series": change.label, "old": result(&change.before), "new": result(&change.after),
        })).collect::<Vec<_>>(),
        "facts": facts.list.iter().map(|found| json!({
            "path": found.path, "old": found.first, "new": found.second,
        })).collect::<Vec<_>>(),
        "further_facts": facts.more,
    })
}
