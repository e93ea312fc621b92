//! `convert`: read jobs and write them in other forms.

use super::job_list::JobList;
use super::making::{request, standards_of};
use super::register::Keeper;
use super::{older, outcome};
use crate::arguments::Convert;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::progress;
use crate::render::Output;
use crate::render::jobs;
use host::{
    FolderTree, Found, IGNORE_FILE, JobInput, JobResult, Journal, convert_jobs, find_jobs, find_jobs_and_logs,
};
use std::path::Path;

pub(crate) fn run(given: &Convert, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards_of(&given.making)?;
    let jobs = if given.loose { find_jobs_and_logs(&given.inputs)? } else { find_jobs(&given.inputs)? };
    if given.dry_run {
        output.print(&dry_run(&jobs, &given.making.out, given.loose)?)?;
        return Ok(Exit::Done);
    }
    let older = older::opened(&given.older)?;
    let Some(mut request) = request(&given.making, &standards, &older, &jobs, given.replace, output)? else {
        return Ok(Exit::DataErrors);
    };
    request.read.outside = plugins.outside_versions();
    for name in &request.formats {
        plugins.writer(name)?;
    }
    let several = jobs.len() > 1;
    let keeper = Keeper::open(given.making.register.as_deref())?;
    // What the journal remembers has no record to enter.
    let afresh = given.afresh || given.making.register.is_some();
    let journal = if several { Some(Journal::open(&request, afresh)?) } else { None };
    let bar = progress::jobs(jobs.len(), output.quiet);
    let mut events = progress::Events::new(jobs.len(), output.as_json() && !output.quiet);
    let mut exit = Exit::Done;
    let mut list = JobList::new(given.summary.as_deref())?;
    let (mut printed, mut kept) = (Ok(()), Ok(()));
    let ran = convert_jobs(&plugins, &jobs, &request, journal.as_ref(), &mut |result: JobResult| {
        bar.set_message(result.name.clone());
        bar.inc(1);
        events.job_done();
        exit = exit.max(outcome::exit(&result, &given.fail_on));
        list.add(&result);
        if kept.is_ok() {
            kept = keeper.keep(&result, &request.program);
        }
        bar.suspend(|| {
            output.findings(several.then_some(result.name.as_str()), &result.findings);
            if let Some(error) = &result.not_written {
                output.error(error);
            }
            if printed.is_ok() && !output.quiet {
                printed = output.print(&jobs::one(output, &result));
            }
        });
    });
    bar.finish_and_clear();
    output.findings(None, &plugins.end());
    // What was done is kept, whatever stopped the run.
    if let Some(journal) = journal {
        journal.close()?;
    }
    ran?;
    kept?;
    printed?;
    list.write()?;
    if several && !output.quiet {
        output.print(&list.totals(output))?;
    }
    Ok(exit)
}

/// Which jobs there are and where each would go, with the rule that says so.
fn dry_run(jobs: &[JobInput], out: &Path, loose: bool) -> Result<String, CommandError> {
    let mut text = String::from("A folder with a job.toml is a job, with all that is below it; ");
    text += if loose {
        "any other file, named or below a folder that is named, is a job by itself"
    } else {
        "any other file that is named is a job by itself"
    };
    text += &format!(
        ".\nWhat {IGNORE_FILE} in a folder that is named lists is passed over; links are not followed.\n\n"
    );
    for (job, folder) in jobs.iter().zip(host::output_folders(jobs, out)) {
        let files = match job {
            JobInput::Folder(path) => {
                match FolderTree::list(path)?.entries().iter().filter(|e| e.1 == Found::File).count() {
                    1 => "1 file".to_owned(),
                    count => format!("{count} files"),
                }
            }
            JobInput::File(_) => "1 file".to_owned(),
        };
        text += &format!("{}  ({files})  ->  {}\n", job.path().display(), folder.display());
    }
    let noun = if jobs.len() == 1 { "job" } else { "jobs" };
    text += &format!("\n{} {noun}; nothing was read or written\n", jobs.len());
    Ok(text)
}

/// Name and version of the program.
pub(crate) fn program() -> String {
    format!("fulgurite {}", env!("CARGO_PKG_VERSION"))
}
