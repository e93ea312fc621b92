//! `convert`: read jobs and write them in other forms.

use super::{outcome, standards};
use crate::arguments::Convert;
use crate::exit::CommandResult;
use crate::plugins::plugins;
use crate::progress;
use crate::render::text::{BAD, CARE, FAINT, STRONG, styled};
use crate::render::{Output, verdict};
use host::{
    ConvertRequest, FolderTree, HostError, JobResult, JobStatus, ReadSettings, convert_jobs, find_jobs,
};
use std::path::Path;

pub(crate) fn run(given: &Convert, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let jobs = find_jobs(&given.inputs)?;
    let request = ConvertRequest {
        formats: given.to.clone(),
        out: given.out.clone(),
        replace: given.replace,
        language: given.lang.clone(),
        template_files: template_files(given.template.as_deref())?,
        standards: &standards,
        read: ReadSettings { reader: given.from.clone(), ..ReadSettings::default() },
        program: program(),
    };
    let bar = progress::jobs(jobs.len(), output.quiet);
    let results = convert_jobs(&plugins, &jobs, &request, &|job| {
        bar.set_message(job.name.clone());
        bar.inc(1);
    })?;
    bar.finish_and_clear();
    let several = results.len() > 1;
    for result in &results {
        output.findings(several.then_some(result.name.as_str()), &result.findings);
        if let Some(error) = &result.not_written {
            output.error(error);
        }
    }
    if !output.quiet {
        output.print(&summary(&results))?;
    }
    Ok(outcome::exit(&results, &given.fail_on))
}

/// The files of a laboratory's own template.
pub(crate) fn template_files(folder: Option<&Path>) -> Result<Vec<(String, Vec<u8>)>, HostError> {
    folder.map_or_else(|| Ok(Vec::new()), |folder| FolderTree::list(folder)?.contents())
}

/// Name and version of the program.
pub(crate) fn program() -> String {
    format!("fulgurite {}", env!("CARGO_PKG_VERSION"))
}

fn summary(results: &[JobResult]) -> String {
    let mut out = String::new();
    for result in results {
        out += &styled(STRONG, &result.name);
        match (&result.assessment, result.status) {
            (_, JobStatus::NotWritten) => {
                out += &format!("  {}\n", styled(BAD, "outputs can't be written; nothing of it appeared"))
            }
            (Some(assessment), status) => {
                out += &format!("  {}\n", verdict::line(assessment));
                if status == JobStatus::Partly {
                    let rows = result.record.as_ref().map_or(0, |r| r.unread.len());
                    if rows > 0 {
                        out += &format!(
                            "  {}\n",
                            styled(
                                CARE,
                                match rows {
                                    1 => "1 row could not be read and was set aside".to_owned(),
                                    rows => format!("{rows} rows could not be read and were set aside"),
                                }
                            )
                        );
                    }
                }
            }
            (None, JobStatus::PluginBroke) => {
                out += &format!("  {}\n", styled(BAD, "a plug-in broke; nothing written"))
            }
            (None, _) => out += &format!("  {}\n", styled(BAD, "refused; nothing written")),
        }
        for file in &result.written {
            let note = if file.unchanged { ", unchanged" } else { "" };
            out += &format!(
                "  {} {}\n",
                file.path.display(),
                styled(FAINT, format!("({}{note})", size(file.bytes)))
            );
        }
    }
    if results.len() > 1 {
        let counts: Vec<String> = [
            (JobStatus::Done, "done"),
            (JobStatus::Partly, "in part"),
            (JobStatus::Refused, "refused"),
            (JobStatus::NotWritten, "not written"),
            (JobStatus::PluginBroke, "stopped by a plug-in"),
        ]
        .iter()
        .map(|(status, word)| (results.iter().filter(|r| r.status == *status).count(), word))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
        out += &format!("{} jobs: {}\n", results.len(), counts.join(", "));
    }
    out
}

fn size(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} B"),
        1_000..1_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}
