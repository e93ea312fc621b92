//! Many jobs, several at a time: results in the order of the jobs, memory that does not grow with their number.

use crate::convert::{ConvertRequest, JobResult, convert_job};
use crate::input::JobInput;
use crate::journal::Journal;
use crate::output;
use crate::plugins::Plugins;
use crate::{HostError, codes};
use rayon::prelude::*;
use record::{Finding, Place};
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;
use std::sync::Mutex;

/// Converts jobs; `each` is handed every result, in the order of the jobs. A job whose outputs can't be
/// written says so in its result, and the others go on.
///
/// With a journal, a job that has not changed since a run that is written there is not done again, and a
/// run that was stopped goes on where it was.
///
/// # Errors
/// When a format does not exist, or an input can't be read again.
pub fn convert_jobs(
    plugins: &Plugins,
    jobs: &[JobInput],
    request: &ConvertRequest<'_>,
    journal: Option<&Journal>,
    each: &mut (dyn FnMut(JobResult) + Send),
) -> Result<(), HostError> {
    for name in &request.formats {
        plugins.writer(name)?;
    }
    let folders = Folders::new(jobs, &request.out, !request.formats.is_empty());
    let line = Mutex::new(InOrder { next: 0, early: BTreeMap::new(), each });
    let done = |index: usize, result: JobResult| {
        // A thread that panics while it hands over a result has nothing to leave half done in here.
        line.lock().unwrap_or_else(std::sync::PoisonError::into_inner).hand_over(index, result);
    };
    // A bridge gives the jobs out one by one in their order, so that few results wait for an earlier one.
    jobs.iter().enumerate().par_bridge().try_for_each(|(index, job)| {
        let result = match folders.shared_with(job) {
            Some(others) => refused_name(job, &others),
            None => one(plugins, job, request, journal, &folders.of(job))?,
        };
        done(index, result);
        Ok(())
    })
}

fn one(
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
    journal: Option<&Journal>,
    folder: &std::path::Path,
) -> Result<JobResult, HostError> {
    let Some(journal) = journal else { return convert_job(plugins, job, request, folder) };
    let digest = Journal::digest(job).ok();
    if let Some(result) = digest.as_ref().and_then(|digest| journal.recall(job, digest)) {
        return Ok(result);
    }
    output::remove_leftovers(folder);
    let result = convert_job(plugins, job, request, folder)?;
    // A job that changed while it was read is not the one that was digested.
    if let Some(digest) = digest.filter(|digest| Journal::digest(job).is_ok_and(|now| now == *digest)) {
        journal.note(&digest, &result)?;
    }
    Ok(result)
}

/// Hands results over in the order of the jobs.
struct InOrder<'a> {
    next: usize,
    early: BTreeMap<usize, JobResult>,
    each: &'a mut (dyn FnMut(JobResult) + Send),
}

impl InOrder<'_> {
    fn hand_over(&mut self, index: usize, result: JobResult) {
        self.early.insert(index, result);
        while let Some(result) = self.early.remove(&self.next) {
            (self.each)(result);
            self.next += 1;
        }
    }
}

/// Where each job's outputs go: a folder of the job's name. Jobs of one name get as much of their paths before it as
/// tells them apart (`2024/0117`, `2025/0117`), loose files their endings too.
struct Folders<'a> {
    out: &'a std::path::Path,
    single: bool,
    writes: bool,
    /// Folders of jobs whose names are not enough, by their paths; none where the paths are the same too.
    longer: HashMap<&'a std::path::Path, Option<PathBuf>>,
    /// Names that differ in case only would share a folder on some systems.
    by_name: HashMap<String, Vec<&'a JobInput>>,
}

/// The folder of each job's outputs, in the order of the jobs.
pub fn output_folders(jobs: &[JobInput], out: &std::path::Path) -> Vec<PathBuf> {
    let folders = Folders::new(jobs, out, true);
    jobs.iter().map(|job| folders.of(job)).collect()
}

impl<'a> Folders<'a> {
    fn new(jobs: &'a [JobInput], out: &'a std::path::Path, writes: bool) -> Self {
        let mut by_name: HashMap<String, Vec<&JobInput>> = HashMap::new();
        for job in jobs {
            by_name.entry(job.name().to_lowercase()).or_default().push(job);
        }
        let mut longer = HashMap::new();
        for same in by_name.values().filter(|same| same.len() > 1) {
            let folders = told_apart(same);
            for (index, job) in same.iter().enumerate() {
                let folder = folders.as_ref().and_then(|all| all.get(index).cloned());
                longer.insert(job.path(), folder);
            }
        }
        Self { out, single: jobs.len() == 1, writes, longer, by_name }
    }

    fn of(&self, job: &JobInput) -> PathBuf {
        if self.single {
            return self.out.to_owned();
        }
        match self.longer.get(job.path()) {
            Some(Some(folder)) => self.out.join(folder),
            _ => self.out.join(job.name()),
        }
    }

    /// The other jobs that would write to this one's folder, if any.
    fn shared_with(&self, job: &JobInput) -> Option<Vec<&'a JobInput>> {
        if !self.writes || !matches!(self.longer.get(job.path()), Some(None)) {
            return None;
        }
        let same = self.by_name.get(&job.name().to_lowercase())?;
        Some(same.iter().copied().filter(|other| other.path() != job.path()).collect())
    }
}

/// For jobs of one name: the ends of their paths, each as long as it takes to tell all apart; none where that can't be.
fn told_apart(jobs: &[&JobInput]) -> Option<Vec<PathBuf>> {
    let parts: Vec<Vec<std::ffi::OsString>> = jobs
        .iter()
        .map(|job| {
            let whole = job.path().canonicalize().unwrap_or_else(|_| job.path().to_owned());
            let parts = whole.components().filter_map(|part| match part {
                std::path::Component::Normal(name) => Some(name.to_owned()),
                _ => None,
            });
            parts.collect()
        })
        .collect();
    let longest = parts.iter().map(Vec::len).max().unwrap_or_default();
    (1..=longest)
        .map(|length| {
            let ends = parts.iter().map(|all| all.iter().skip(all.len().saturating_sub(length)).collect());
            ends.collect::<Vec<PathBuf>>()
        })
        .find(|ends| {
            let names: std::collections::HashSet<String> =
                ends.iter().map(|end| end.to_string_lossy().to_lowercase()).collect();
            names.len() == ends.len()
        })
}

fn refused_name(job: &JobInput, others: &[&JobInput]) -> JobResult {
    let mut paths: Vec<String> =
        others.iter().take(3).map(|other| other.path().display().to_string()).collect();
    match others.len() {
        0 => paths.push("it was named twice".to_owned()),
        1..=3 => {}
        more => paths.push(format!("and {} more", more - 3)),
    }
    let finding = Finding::error(
        codes::SAME_NAME,
        format!(
            "other jobs of this run would write to the folder `{}` too: {}",
            job.name(),
            paths.join(", ")
        ),
    )
    .at(Place { file: job.path().to_string_lossy().into_owned(), ..Place::default() })
    .help("name each job once; else convert them in separate runs, each into its own --out");
    JobResult::refused(job.name(), job.path().to_owned(), vec![finding])
}
