//! `template check`: every template, in every language, over an empty record and the jobs given.

use super::convert::{program, template_files};
use crate::arguments::TemplateCheck;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use assess::Assessment;
use host::{ConvertRequest, ReadSettings, Standards, convert_jobs, find_jobs};
use pages::view::{Subject, document};
use pages::{Engine, TemplateSet};
use record::{Draft, Record};

pub(crate) fn check(given: &TemplateCheck, output: &Output) -> CommandResult {
    let standards = Standards::built_in().map_err(CommandError::Findings)?;
    let subjects = subjects(given, &standards)?;
    let mut sets = Vec::new();
    if given.all {
        for name in TemplateSet::names() {
            sets.push(TemplateSet::built_in(name).map_err(|finding| CommandError::Findings(vec![*finding]))?);
        }
    }
    if let Some(folder) = &given.template {
        let files = template_files(Some(folder))?;
        let set = TemplateSet::built_in("report").and_then(|set| set.overlay(files));
        sets.push(set.map_err(|finding| CommandError::Findings(vec![*finding]))?);
    }
    let (mut pages, mut exit) = (0, Exit::Done);
    for set in &sets {
        for language in &set.manifest().languages {
            let engine =
                Engine::new(set, language).map_err(|finding| CommandError::Findings(vec![*finding]))?;
            for (record, assessment) in &subjects {
                let known = record.facts.method.standard.as_deref().and_then(|id| standards.get(id));
                let subject =
                    Subject { record, assessment, standard: known.map(|k| &k.standard), program: &program() };
                let mut no_picture = |_| Err("a check of templates opens no picture".to_owned());
                match document(&engine, &subject, &mut no_picture) {
                    Ok(_) => pages += 1,
                    Err(finding) => {
                        exit = Exit::DataErrors;
                        let name = format!("{} ({language})", set.manifest().name);
                        output.findings(Some(&name), &[*finding]);
                    }
                }
            }
        }
    }
    output.print(&format!(
        "{pages} papers rendered from {} templates over {} records\n",
        sets.len(),
        subjects.len()
    ))?;
    Ok(exit)
}

/// An empty record, and those of the jobs given.
fn subjects(given: &TemplateCheck, standards: &Standards) -> Result<Vec<(Record, Assessment)>, CommandError> {
    let empty = record::check(Draft::default()).map_err(CommandError::Findings)?;
    let assessment = assess::assess(&empty, None);
    let mut subjects = vec![(empty, assessment)];
    if given.inputs.is_empty() {
        return Ok(subjects);
    }
    let request = ConvertRequest {
        formats: Vec::new(),
        out: std::path::PathBuf::new(),
        replace: false,
        language: "en".into(),
        template_files: Vec::new(),
        standards,
        read: ReadSettings::default(),
        program: program(),
    };
    let mut refused = Vec::new();
    convert_jobs(&plugins(), &find_jobs(&given.inputs)?, &request, None, &mut |result| match (
        result.record,
        result.assessment,
    ) {
        (Some(record), Some(assessment)) => subjects.push((record, assessment)),
        _ => refused.extend(result.findings),
    })?;
    if refused.is_empty() { Ok(subjects) } else { Err(CommandError::Findings(refused)) }
}
