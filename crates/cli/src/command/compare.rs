//! `compare OLD NEW`: what differs between two jobs, records or packs.

use super::verify::checked;
use super::{convert::program, standards};
use crate::arguments::Compare;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{BAD, FAINT, GOOD, STRONG, styled};
use assess::{Assessment, Changes, SeriesResult, Verdict};
use host::{
    ConvertRequest, HostError, JobResult, Originals, Standards, WholeFile, convert_job, find_jobs,
    write_documents,
};
use pages::TemplateSet;
use pages::view::{Difference, Subject, differences};
use plugin_api::wire::v1;
use plugin_api::{Body, WriteInput};
use plugin_pack::{Depth, Request};
use record::{Record, Severity};
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

pub(crate) fn run(given: &Compare, output: &Output) -> CommandResult {
    let standards = standards::at_hand(&given.standards)?;
    let old = read(&given.old, &standards, output)?;
    let new = read(&given.new, &standards, output)?;
    let (Some((old_record, old_assessment)), Some((new_record, new_assessment))) = (old, new) else {
        return Ok(Exit::DataErrors);
    };
    let identity = identity(&given.old);
    let changes =
        v1::changes((&old_record, &old_assessment), (&new_record, &new_assessment), identity.as_deref());
    if let Some(file) = &given.html {
        page(given, file, &new_record, &new_assessment, &changes, output)?;
        if output.quiet {
            return Ok(Exit::Done);
        }
    }
    let text = if given.json {
        format!("{:#}\n", v1::changes_to_value(&changes))
    } else {
        as_text(&changes, &facts(&new_record, &new_assessment, &changes)?)
    };
    output.print(&text)?;
    Ok(Exit::Done)
}

/// Reads and assesses one side; none when it was refused, which its findings say.
fn read(
    path: &Path,
    standards: &Standards,
    output: &Output,
) -> Result<Option<(Arc<Record>, Assessment)>, CommandError> {
    let request = ConvertRequest::new(&[], std::path::Path::new(""), standards);
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

/// The identity of a side that is a pack.
fn identity(path: &Path) -> Option<String> {
    let is_zip = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    if !is_zip {
        return None;
    }
    let (report, _) = checked(path, &Request { depth: Depth::Full, ..Request::default() }).ok()?;
    report.identity.filter(|_| report.pack_version.is_some())
}

/// Writes the comparison as a page.
fn page(
    given: &Compare,
    file: &Path,
    record: &Arc<Record>,
    assessment: &Assessment,
    changes: &Changes,
    output: &Output,
) -> Result<(), CommandError> {
    if file.exists() && !given.replace {
        return Err(HostError::OutputExists { path: file.to_owned() }.into());
    }
    let originals = Originals::inside(&record.sources, |_| None);
    let input = WriteInput {
        record,
        assessment,
        changes: Some(changes),
        standard: None,
        standard_file: None,
        stem: "comparison",
        artifacts: &[],
        originals: &originals,
        language: &given.lang,
        template: "comparison",
        template_files: &[],
        program: &program(),
    };
    let made = write_documents(&plugins(), &["html".to_owned()], &input)?;
    let errors: Vec<_> = made.findings.into_iter().filter(|f| f.severity == Severity::Error).collect();
    if !errors.is_empty() {
        return Err(CommandError::Findings(errors));
    }
    let mut whole = WholeFile::begin(file)?;
    for artifact in made.artifacts {
        if let Body::Bytes(bytes) = artifact.body {
            whole
                .write_all(&bytes)
                .map_err(|source| HostError::WriteOutput { path: file.to_owned(), source })?;
        }
    }
    whole.finish()?;
    if !output.quiet && !given.json {
        output.print(&format!("{}\n", file.display()))?;
    }
    Ok(())
}

/// The facts that differ, in the words of the comparison page.
fn facts(
    record: &Record,
    assessment: &Assessment,
    changes: &Changes,
) -> Result<Vec<Difference>, CommandError> {
    let words = TemplateSet::built_in("comparison").and_then(|set| set.words("en"));
    let words = words.map_err(|finding| CommandError::Findings(vec![*finding]))?;
    let program = program();
    let changes = Some(changes);
    let subject = Subject { record, assessment, changes, standard: None, program: &program };
    Ok(differences(&subject, &words))
}

fn as_text(changes: &Changes, facts: &[Difference]) -> String {
    let results = &changes.results;
    let mut out = String::new();
    let (before, after) = results.verdicts;
    if results.is_empty() && changes.facts.is_empty() {
        return format!("no difference; the verdict of both is {before}\n");
    }
    out += &format!("{}  {before} -> {after}\n", styled(STRONG, "verdict"));
    for change in &results.states {
        let word = |verdict: Option<Verdict>| verdict.map_or("not there", Verdict::as_str);
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
        for fact in facts {
            let of = fact.of.as_ref().map(|of| format!(" {}", styled(FAINT, format!("({of})"))));
            out += &format!("  {}{}\n", fact.name, of.unwrap_or_default());
            for (sign, side) in [('-', &fact.before), ('+', &fact.now)] {
                out += &format!("    {sign} {}\n", side.as_deref().unwrap_or("nothing"));
            }
        }
        if changes.more_facts > 0 {
            out += &format!("  {} more single facts differ and are not listed\n", changes.more_facts);
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
