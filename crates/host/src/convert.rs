//! From an input to outputs: read, check, assess, write.

use crate::amended::{self, OlderPack};
use crate::codes;
use crate::input::JobInput;
use crate::output::{self, Written};
use crate::plugins::Plugins;
use crate::read_job::{ReadJob, ReadSettings, read_job};
use crate::set_aside;
use crate::{HostError, Standards};
use assess::{Assessment, Verdict};
use plugin_api::{Artifact, Stage, WriteContext, WriteInput, Writer};
use record::{Finding, Place, Record, RowAccount, Severity};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;

/// What is to be made of the inputs.
pub struct ConvertRequest<'a> {
    /// Names of the formats to write; none assesses only.
    pub formats: Vec<String>,
    /// Where to.
    pub out: PathBuf,
    /// Overwrite files that differ.
    pub replace: bool,
    /// Language of the papers.
    pub language: String,
    /// Name of the built-in template that papers are made of.
    pub template: String,
    /// Template files over the built-in ones.
    pub template_files: Vec<(String, Vec<u8>)>,
    /// Packs of earlier reports, which jobs may amend.
    pub older: &'a [OlderPack],
    /// Standards at hand.
    pub standards: &'a Standards,
    /// How inputs are read.
    pub read: ReadSettings,
    /// Name and version of the program.
    pub program: String,
}

impl<'a> ConvertRequest<'a> {
    /// A request with what holds where nothing else is said: English, the first built-in template, outputs that differ
    /// are kept.
    pub fn new(formats: &[&str], out: &std::path::Path, standards: &'a Standards) -> Self {
        Self {
            formats: formats.iter().map(|name| (*name).to_owned()).collect(),
            out: out.to_owned(),
            replace: false,
            language: "en".to_owned(),
            template: "report".to_owned(),
            template_files: Vec::new(),
            older: &[],
            standards,
            read: ReadSettings::default(),
            program: concat!("fulgurite ", env!("CARGO_PKG_VERSION")).to_owned(),
        }
    }

    /// The same request once more.
    pub(crate) fn again(&self) -> Self {
        Self {
            formats: self.formats.clone(),
            out: self.out.clone(),
            language: self.language.clone(),
            template: self.template.clone(),
            template_files: self.template_files.clone(),
            read: self.read.clone(),
            program: self.program.clone(),
            ..*self
        }
    }
}

/// How a job ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobStatus {
    /// Everything was read and written.
    Done,
    /// Outputs are written, and some rows were set aside or some format could not be written.
    Partly,
    /// Nothing was written.
    Refused,
    /// An output could not be written; none of the job's appeared.
    NotWritten,
    /// A plug-in stopped in the middle of its work; nothing was written.
    PluginBroke,
}

impl JobStatus {
    /// All, in order.
    pub const ALL: [Self; 5] = [Self::Done, Self::Partly, Self::Refused, Self::NotWritten, Self::PluginBroke];

    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Partly => "in part",
            Self::Refused => "refused",
            Self::NotWritten => "not written",
            Self::PluginBroke => "stopped by a plug-in",
        }
    }
}

/// What a job came to.
#[derive(Debug)]
pub struct JobResult {
    /// Name of the job.
    pub name: String,
    /// The input.
    pub input: PathBuf,
    /// How it ended.
    pub status: JobStatus,
    /// The record.
    pub record: Option<Arc<Record>>,
    /// The assessment.
    pub assessment: Option<Assessment>,
    /// Findings, in the order in which they are shown.
    pub findings: Vec<Finding>,
    /// Files written.
    pub written: Vec<Written>,
    /// Formats that were asked for and refused; the others are written.
    pub not_made: Vec<String>,
    /// Why its outputs could not be written.
    pub not_written: Option<HostError>,
    /// The verdict in short.
    pub outcome: Option<Outcome>,
    /// What became of the rows of all its files.
    pub rows: RowAccount,
    /// Nothing changed since an earlier run: the result is that run's, without record and assessment.
    pub remembered: bool,
}

/// A verdict in short, for lists of jobs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// The headline verdict.
    pub verdict: Verdict,
    /// A failure was observed, at a severity that is not known.
    pub failure_observed: bool,
    /// The first of its reasons.
    pub reason: Option<String>,
    /// Facts are missing without which no conformity can be stated.
    pub bench_data: bool,
}

impl Outcome {
    fn of(assessment: &Assessment) -> Self {
        let state = assessment.headline();
        Self {
            verdict: assessment.verdict(),
            failure_observed: state.is_some_and(|s| s.failure_observed),
            reason: state.and_then(|s| s.reasons.first()).map(|r| r.text.clone()),
            bench_data: !assessment.missing_identity.is_empty(),
        }
    }
}

impl JobResult {
    /// The result of a job of which nothing was written yet.
    pub(crate) fn refused(name: String, input: PathBuf, findings: Vec<Finding>) -> Self {
        Self {
            name,
            input,
            status: JobStatus::Refused,
            record: None,
            assessment: None,
            findings,
            written: Vec::new(),
            not_made: Vec::new(),
            not_written: None,
            outcome: None,
            rows: RowAccount::default(),
            remembered: false,
        }
    }
}

/// Converts one job into a folder.
///
/// # Errors
/// When an original can't be read again.
pub fn convert_job(
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
    folder: &std::path::Path,
) -> Result<JobResult, HostError> {
    convert_job_as(plugins, job, request, folder, None)
}

/// Makes one file of a job, under a name of the user's choice. The request asks for one format, which makes
/// one file.
///
/// # Errors
/// When the file can't be written, or has no name.
pub fn convert_job_to_file(
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
    file: &std::path::Path,
) -> Result<JobResult, HostError> {
    let no_name = || HostError::WriteOutput {
        path: file.to_owned(),
        source: std::io::Error::new(
            std::io::ErrorKind::InvalidInput,
            "the path does not end in a file's name",
        ),
    };
    let name = file.file_name().and_then(|name| name.to_str()).ok_or_else(no_name)?;
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    convert_job_as(plugins, job, request, folder.unwrap_or(std::path::Path::new(".")), Some(name))
}

/// Makes one file of a job, without putting it anywhere. The request asks for one format, which makes one file; none
/// comes back where the job or the format was refused.
///
/// # Errors
/// When there is no room to make it.
pub fn convert_job_to_bytes(
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
) -> Result<(JobResult, Option<Vec<u8>>), HostError> {
    let folder = tempfile::tempdir()
        .map_err(|source| HostError::WriteOutput { path: std::env::temp_dir(), source })?;
    let result = convert_job_as(plugins, job, request, folder.path(), Some("made"))?;
    let made = result.written.first().map(|file| {
        std::fs::read(&file.path).map_err(|source| HostError::ReadInput { path: file.path.clone(), source })
    });
    Ok((result, made.transpose()?))
}

fn convert_job_as(
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
    folder: &std::path::Path,
    name_of_file: Option<&str>,
) -> Result<JobResult, HostError> {
    let ReadJob { name, record, mut findings, originals, standards, changes, plugin_broke } =
        read_job(plugins, job, &request.read);
    let mut result = JobResult::refused(name.clone(), job.path().to_owned(), Vec::new());
    let Some(record) = record else {
        result.status = if plugin_broke { JobStatus::PluginBroke } else { JobStatus::Refused };
        result.findings = findings;
        return Ok(result);
    };
    // Data that came with a record are those it was judged by.
    let own = own_standards(&standards);
    let known =
        record.facts.method.standard.as_deref().map(|id| (id, own.get(id).or(request.standards.get(id))));
    if let Some((id, Some(used))) = known
        && request.standards.get(id).is_none_or(|here| here.text != used.text)
    {
        findings.push(
            Finding::note(
                codes::OWN_STANDARD,
                format!("`{id}` is used as it came with the record (version {})", used.standard.version),
            )
            .at(Place { file: job.path().to_string_lossy().into_owned(), ..Place::default() })
            .help("this program has no data of that id, or others: `fulgurite verify` shows the difference"),
        );
    }
    if let Some((id, None)) = known {
        let ids: Vec<&str> = request.standards.all().iter().map(|k| k.standard.id.as_str()).collect();
        let mut finding =
            Finding::warning(codes::UNKNOWN_STANDARD, format!("the data of `{id}` are not at hand")).help(
                format!("known: {}; or give the laboratory's own file with --standards", ids.join(", ")),
            );
        if let Some(place) = record.place_of("/method/standard") {
            finding = finding.at(place);
        }
        findings.push(finding);
    }
    let known = known.and_then(|(_, known)| known);
    let record = Arc::new(record);
    let assessment = assess::assess(&record, known.map(|k| &k.standard));
    findings.extend(assessment.findings.iter().cloned());
    let changes = amended::changes(&record, &assessment, request.older, changes, job, &mut findings);
    let stem = name;
    let base = WriteInput {
        record: &record,
        assessment: &assessment,
        changes: changes.as_ref(),
        standard: known.map(|k| &k.standard),
        standard_file: known.map(|k| (k.file_name.as_str(), k.text.as_str())),
        stem: &stem,
        artifacts: &[],
        originals: &originals,
        language: &request.language,
        template: &request.template,
        template_files: &request.template_files,
        program: &request.program,
    };
    let Made { artifacts: mut made, findings: found, broke, mut incomplete, refused } =
        write_documents(plugins, &request.formats, &base)?;
    findings.extend(found);
    let broke = broke || plugin_broke;
    findings.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    if !broke && !request.formats.is_empty() {
        made.retain(|a| request.formats.iter().any(|f| f == a.format));
        match name_of_file {
            Some(name) => made.iter_mut().for_each(|artifact| artifact.path = name.to_owned()),
            None => made.extend(
                set_aside::artifacts(&record, &originals, &stem)
                    .map_err(|source| HostError::ReadInput { path: job.path().to_owned(), source })?,
            ),
        }
        // A file that was refused is not replaced by nothing.
        if made.is_empty() && name_of_file.is_some() {
            incomplete = true;
        } else {
            match output::write_all(folder, made, &originals, request.replace) {
                Ok(written) => result.written = written,
                Err(error) => result.not_written = Some(error),
            }
        }
    }
    let errors = findings.iter().any(|f| f.severity == Severity::Error);
    result.status = if broke {
        JobStatus::PluginBroke
    } else if result.not_written.is_some() {
        JobStatus::NotWritten
    } else if incomplete || errors || !record.unread.is_empty() {
        JobStatus::Partly
    } else {
        JobStatus::Done
    };
    result.not_made = refused.into_iter().filter(|name| request.formats.contains(name)).collect();
    result.findings = findings;
    for account in record.sources.iter().filter_map(|s| s.account) {
        result.rows.add(account);
    }
    result.outcome = Some(Outcome::of(&assessment));
    result.assessment = Some(assessment);
    result.record = Some(record);
    Ok(result)
}

fn own_standards(texts: &[(String, String)]) -> Standards {
    let mut own = Standards::default();
    for (name, text) in texts {
        // A reader hands over only what it could read itself.
        let _ = own.add(name, text);
    }
    own
}

/// What writers made.
#[derive(Debug, Default)]
pub struct Made {
    /// The artifacts, those of writers that others wanted among them.
    pub artifacts: Vec<Artifact>,
    /// What the writers found.
    pub findings: Vec<Finding>,
    /// A writer stopped in the middle of its work.
    pub broke: bool,
    /// A writer refused.
    pub incomplete: bool,
    /// The formats whose writers refused.
    pub refused: Vec<String>,
}

/// Runs the writers of these formats, and those whose artifacts they want, each handed the artifacts made before it.
///
/// # Errors
/// When a format does not exist.
pub fn write_documents(
    plugins: &Plugins,
    formats: &[String],
    base: &WriteInput<'_>,
) -> Result<Made, HostError> {
    let mut made = Made::default();
    for writer in order(plugins, formats)? {
        let mut cx = WriteContext::default();
        let ran = catch_unwind(AssertUnwindSafe(|| {
            writer.write(&WriteInput { artifacts: &made.artifacts, ..*base }, &mut cx)
        }));
        made.findings.extend(cx.into_findings());
        match ran {
            Ok(Ok(artifacts)) => made.artifacts.extend(artifacts),
            Ok(Err(reported)) if reported.broke() => made.broke = true,
            Ok(Err(_)) => {
                made.incomplete = true;
                made.refused.push(writer.name().to_owned());
            }
            Err(_) => {
                made.broke = true;
                made.findings.push(
                    Finding::error(
                        codes::PLUGIN_BROKE,
                        format!("writer `{}` stopped in the middle of its work", writer.name()),
                    )
                    .help("report it to whoever maintains the plug-in, with the record"),
                );
            }
        }
    }
    Ok(made)
}

/// The writers asked for and those whose artifacts they want, in an order in which each comes after what
/// it wants.
fn order<'a>(plugins: &'a Plugins, formats: &[String]) -> Result<Vec<&'a dyn Writer>, HostError> {
    let mut wanted: Vec<&dyn Writer> = Vec::new();
    let mut queue: Vec<String> = formats.to_vec();
    while let Some(name) = queue.pop() {
        if wanted.iter().any(|w| w.name() == name) {
            continue;
        }
        let writer = plugins.writer(&name)?;
        queue.extend(writer.wants().iter().filter(|w| plugins.writer(w).is_ok()).map(|w| (*w).to_owned()));
        wanted.push(writer);
    }
    // Within a stage a writer comes after those it wants; the list of plug-ins settles the rest.
    let place = |name: &str| plugins.writers.iter().position(|w| w.name() == name).unwrap_or(usize::MAX);
    let depth = |writer: &dyn Writer| writer.wants().iter().filter(|w| plugins.writer(w).is_ok()).count();
    wanted.sort_by_key(|w| (w.stage() == Stage::Package, depth(*w), place(w.name())));
    Ok(wanted)
}
