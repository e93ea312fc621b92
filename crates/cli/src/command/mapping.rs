//! `mapping`: mapping files for logs, and where the other commands take theirs from.

use crate::arguments::{MappingCheck, MappingDraft};
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::{Output, mapping as render};
use host::{JobInput, Mapping, ReadSettings, draft_mapping, read_loose, write_files};
use plugin_api::Artifact;
use record::Severity;
use std::path::Path;

/// How loose files are read; none where the mapping can't be, which has been said then.
pub(crate) fn settings(
    reader: Option<&str>,
    mapping: Option<&Path>,
    jobs: &[JobInput],
    output: &Output,
) -> Result<Option<ReadSettings>, CommandError> {
    let mut settings = ReadSettings { reader: reader.map(str::to_owned), ..ReadSettings::default() };
    let Some(path) = mapping else { return Ok(Some(settings)) };
    if let Some(JobInput::Folder(folder)) = jobs.iter().find(|job| matches!(job, JobInput::Folder(_))) {
        return Err(CommandError::Usage(format!(
            "--mapping is for loose logs, and {} is a job: name the mapping in its job.toml, beside `files` of [[logs]]: mapping = \"...\"",
            folder.display()
        )));
    }
    match Mapping::read(path)? {
        Ok(mapping) => settings.mapping = Some(mapping),
        Err(findings) => {
            output.findings(None, &findings);
            return Ok(None);
        }
    }
    Ok(Some(settings))
}

/// Writes a first mapping from what a log shows.
pub(crate) fn draft(given: &MappingDraft, output: &Output) -> CommandResult {
    let settings = ReadSettings { reader: given.from.clone(), ..ReadSettings::default() };
    let (reader, drafted) = match draft_mapping(&plugins(), &given.log, &settings) {
        Ok(found) => found,
        Err(findings) => {
            output.findings(None, &findings);
            return Ok(Exit::DataErrors);
        }
    };
    let log = given.log.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let text = render::draft(&log, &reader, &drafted);
    let Some(out) = &given.out else {
        output.print(&text)?;
        return Ok(Exit::Done);
    };
    let name = out.file_name().and_then(|n| n.to_str());
    let name = name.ok_or_else(|| CommandError::Usage("--out does not end in a file's name".into()))?;
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let artifact = Artifact::bytes(name, "application/toml", "mapping", text.into_bytes());
    write_files(folder, vec![artifact], given.replace)?;
    if !output.quiet {
        output.print(&render::drafted(out, &given.log, &drafted))?;
    }
    Ok(Exit::Done)
}

/// Shows row by row what a mapping makes of a log.
pub(crate) fn check(given: &MappingCheck, output: &Output) -> CommandResult {
    let jobs = [JobInput::File(given.log.clone())];
    let Some(settings) = settings(None, Some(&given.mapping), &jobs, output)? else {
        return Ok(Exit::DataErrors);
    };
    let (parts, broke) = read_loose(&plugins(), &given.log, &settings);
    for taken in &parts {
        let text = if output.as_json() {
            render::rows_as_json(taken, parts.len() > 1)
        } else {
            render::rows(taken, given.rows)
        };
        output.print(&text)?;
        let whole: Vec<_> =
            taken.findings.iter().filter(|f| !render::is_about_a_row(f, taken)).cloned().collect();
        output.findings(None, &whole);
    }
    let errors = parts.iter().flat_map(|taken| &taken.findings).any(|f| f.severity == Severity::Error);
    Ok(match (broke, errors) {
        (true, _) => Exit::PluginBroke,
        (false, true) => Exit::DataErrors,
        (false, false) => Exit::Done,
    })
}
