//! `form`: make the page on which a job is written down at the bench.

use super::{outcome, serve, standards};
use crate::arguments::Form;
use crate::exit::CommandResult;
use crate::plugins::plugins;
use crate::render::Output;
use host::{ConvertRequest, HostError, JobInput, ReadSettings, convert_job_to_file, find_jobs};

pub(crate) fn run(given: &Form, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let job = one_job(&given.job)?;
    // A form is made from the job, not from what was filled in before: made again, it is the same form.
    let read = ReadSettings { without_forms: true, ..ReadSettings::default() };
    let request = ConvertRequest {
        replace: given.replace,
        read,
        ..ConvertRequest::new(&["form"], std::path::Path::new(""), &standards)
    };
    let Some(out) = &given.out else { return serve::run(given, &plugins, &job, &request, output) };
    let mut result = convert_job_to_file(&plugins, &job, &request, out)?;
    output.findings(None, &result.findings);
    if let Some(error) = result.not_written.take() {
        return Err(error.into());
    }
    if !output.quiet {
        let plan = result.assessment.as_ref().map_or(0, |assessment| assessment.plan.len());
        for file in &result.written {
            let note = if file.unchanged { ", unchanged" } else { "" };
            output.print(&format!(
                "{} ({plan} series, {:.0} kB{note})\nOpen it in a browser at the bench. It works without a network; save the filled form into the job folder and name it in job.toml: forms = \"*.form.json\"\n",
                file.path.display(),
                file.bytes as f64 / 1e3
            ))?;
        }
    }
    Ok(outcome::exit(&result, &[]))
}

/// The one job that a path names.
fn one_job(path: &std::path::Path) -> Result<JobInput, HostError> {
    let mut jobs = find_jobs(&[path.to_owned()])?;
    match (jobs.pop(), jobs.is_empty()) {
        (Some(job), true) => Ok(job),
        _ => Err(HostError::NoJob { path: path.to_owned() }),
    }
}
