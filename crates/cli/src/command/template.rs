//! `template`: the templates there are, and a check of each in every language over an empty record and the
//! jobs given.

use super::convert::program;
use crate::arguments::TemplateCheck;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use crate::render::text::{FAINT, STRONG, styled};
use assess::Assessment;
use host::{ConvertRequest, FolderTree, HostError, Standards, convert_jobs, find_jobs};
use pages::view::{Subject, document};
use pages::{Engine, TemplateSet};
use record::{Draft, Finding, Place, Record};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// What papers are made of.
pub(crate) struct Chosen {
    /// Name of a built-in template.
    pub(crate) name: String,
    /// A laboratory's own files over it.
    pub(crate) files: Vec<(String, Vec<u8>)>,
}

/// The template that was asked for: a built-in name, or a folder. A folder of such a name is meant by `./NAME`.
pub(crate) fn chosen(asked: Option<&Path>) -> Result<Chosen, CommandError> {
    let of = |name: &str| Chosen { name: name.to_owned(), files: Vec::new() };
    let default = || TemplateSet::names().next().unwrap_or_default();
    let Some(asked) = asked else { return Ok(of(default())) };
    let word = asked.to_string_lossy();
    if let Some(name) = TemplateSet::names().find(|name| *name == word) {
        return Ok(of(name));
    }
    match FolderTree::list(asked).and_then(|tree| tree.contents()) {
        Ok(files) => Ok(Chosen { name: default().to_owned(), files }),
        // What looks like a name and is no folder was meant as a name.
        Err(HostError::ReadInput { .. }) if !word.contains(['/', '\\', '.']) => {
            Err(match TemplateSet::built_in(&word) {
                Err(finding) => refused(Box::new(finding.help("give a folder by its path"))),
                Ok(_) => CommandError::Usage(word.into_owned()),
            })
        }
        Err(error) => Err(error.into()),
    }
}

fn refused(finding: pages::Refusal) -> CommandError {
    CommandError::Findings(vec![*finding])
}

pub(crate) fn list(output: &Output) -> CommandResult {
    let mut out = String::new();
    for name in TemplateSet::names() {
        let set = TemplateSet::built_in(name).map_err(refused)?;
        let manifest = set.manifest();
        out += &format!("{:<10} {}\n", styled(STRONG, name), manifest.about);
        let mut languages = Vec::new();
        for language in &manifest.languages {
            let words = set.words(language).map_err(refused)?;
            languages.push(match words.review() {
                Some(_) => format!("{language} (words for review)"),
                None => language.clone(),
            });
        }
        out += &format!("{}\n", styled(FAINT, format!("           languages: {}", languages.join(", "))));
    }
    output.print(&out)?;
    Ok(Exit::Done)
}

pub(crate) fn check(given: &TemplateCheck, output: &Output) -> CommandResult {
    let standards = Standards::built_in().map_err(CommandError::Findings)?;
    let subjects = subjects(given, &standards)?;
    let mut sets = Vec::new();
    if given.all {
        for name in TemplateSet::names() {
            sets.push(TemplateSet::built_in(name).map_err(refused)?);
        }
    }
    if given.template.is_some() {
        let Chosen { name, files } = chosen(given.template.as_deref())?;
        sets.push(TemplateSet::chosen(&name, &files).map_err(refused)?);
    }
    let (mut pages, mut exit) = (0, Exit::Done);
    let mut reviews = BTreeMap::new();
    for set in &sets {
        for language in &set.manifest().languages {
            let engine = Engine::new(set, language).map_err(refused)?;
            if let Some(review) = engine.words().review() {
                reviews.insert(language.clone(), (review.clone(), engine.words().file().to_owned()));
            }
            for (record, assessment) in &subjects {
                let known = record.facts.method.standard.as_deref().and_then(|id| standards.get(id));
                let subject = Subject {
                    record,
                    changes: None,
                    assessment,
                    standard: known.map(|k| &k.standard),
                    program: &program(),
                };
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
    for (review, file) in reviews.into_values() {
        let message = format!("{} trade terms wait for a review: {}", review.terms.len(), review.what);
        let place = Place { file, ..Place::default() };
        let finding = Finding::note(pages::codes::REVIEW, message).at(place).help(format!(
            "have somebody who tests in this language read them, then take `[review]` out: {}",
            review.terms.join(", ")
        ));
        output.findings(None, &[finding]);
    }
    output.print(&format!(
        "{pages} papers rendered from {} templates over {} records\n",
        sets.len(),
        subjects.len()
    ))?;
    Ok(exit)
}

/// An empty record, and those of the jobs given.
fn subjects(
    given: &TemplateCheck,
    standards: &Standards,
) -> Result<Vec<(Arc<Record>, Assessment)>, CommandError> {
    let empty = record::check(Draft::default()).map_err(CommandError::Findings)?;
    let assessment = assess::assess(&empty, None);
    let mut subjects = vec![(Arc::new(empty), assessment)];
    if given.inputs.is_empty() {
        return Ok(subjects);
    }
    let request = ConvertRequest::new(&[], std::path::Path::new(""), standards);
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
