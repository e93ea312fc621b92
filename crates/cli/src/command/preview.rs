//! `template preview`: papers of a job, made again whenever the template changes.

use super::template::{Chosen, chosen};
use crate::arguments::TemplatePreview;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use host::{ConvertRequest, JobInput, Standards, convert_jobs, find_jobs};
use std::time::Duration;

/// How often the template's files are looked at.
const EVERY: Duration = Duration::from_millis(300);

pub(crate) fn run(given: &TemplatePreview, output: &Output) -> CommandResult {
    let standards = Standards::built_in().map_err(CommandError::Findings)?;
    let jobs = find_jobs(std::slice::from_ref(&given.input))?;
    let mut seen: Option<Vec<(String, Vec<u8>)>> = None;
    let mut made = 0;
    loop {
        // A file that is being saved may be gone for an instant: what was there before stays until it is back.
        let now = match chosen(Some(&given.template)) {
            Ok(now) => now,
            Err(error) if seen.is_none() => return Err(error),
            Err(_) => {
                std::thread::sleep(EVERY);
                continue;
            }
        };
        if seen.as_ref() == Some(&now.files) {
            std::thread::sleep(EVERY);
            continue;
        }
        let exit = make(given, &jobs, &standards, &now, output)?;
        seen = Some(now.files);
        made += 1;
        if given.times.is_some_and(|times| made >= times) {
            return Ok(exit);
        }
        output.print("waiting for a change of the template; Ctrl-C ends\n")?;
    }
}

fn make(
    given: &TemplatePreview,
    jobs: &[JobInput],
    standards: &Standards,
    template: &Chosen,
    output: &Output,
) -> CommandResult {
    let request = ConvertRequest {
        replace: true,
        language: given.lang.clone(),
        template: template.name.clone(),
        template_files: template.files.clone(),
        ..ConvertRequest::new(&["pdf", "html"], &given.out, standards)
    };
    let (mut exit, mut text) = (Exit::Done, String::new());
    convert_jobs(&plugins(), jobs, &request, None, &mut |result| {
        output.findings(None, &result.findings);
        if let Some(error) = &result.not_written {
            output.error(error);
        }
        if result.written.is_empty() {
            exit = Exit::DataErrors;
            text += "no paper was made; those made before stay as they are\n";
        }
        for written in &result.written {
            text += &format!("{}\n", written.path.display());
        }
    })?;
    output.print(&text)?;
    Ok(exit)
}
