//! Finds the jobs under the inputs that a user names.

use crate::HostError;
use std::path::{Path, PathBuf};

/// One job to be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JobInput {
    /// A folder with a job.toml.
    Folder(PathBuf),
    /// A single file: a log, a record, a pack.
    File(PathBuf),
}

impl JobInput {
    /// The path that the user would recognise.
    pub fn path(&self) -> &Path {
        match self {
            Self::Folder(path) | Self::File(path) => path,
        }
    }

    /// Name of the job: of its folder, or of the file without its ending.
    pub fn name(&self) -> String {
        let path = self.path();
        let name = match self {
            // A path such as `.` does not say the folder's name.
            Self::Folder(_) => path
                .file_name()
                .map(|n| n.to_owned())
                .or_else(|| path.canonicalize().ok().and_then(|p| p.file_name().map(|n| n.to_owned()))),
            // A pack is named for its job: `JOB.evidence.zip`.
            Self::File(_) => path.file_stem().map(|n| {
                let packed = n.to_str().and_then(|n| n.strip_suffix(".evidence"));
                packed.map_or_else(|| n.to_owned(), Into::into)
            }),
        };
        name.map(|n| n.to_string_lossy().into_owned())
            .filter(|n| !n.is_empty())
            .unwrap_or_else(|| "job".into())
    }
}

/// A file of this name in a folder that is searched lists what is passed over below it: a pattern a line, relative to
/// the folder, with `/` between folders; lines that begin with `#` are remarks.
pub const IGNORE_FILE: &str = ".fulgurite-ignore";

/// The jobs under each input, in the order of the inputs, each tree in the order of its names.
///
/// A folder with a job.toml is a job; other folders are searched for such folders; a job.toml stands for
/// its folder; any other file is a job by itself. Links are not followed, and what an [`IGNORE_FILE`] of the
/// input names is passed over.
///
/// # Errors
/// When an input does not exist, or nothing is found under it.
pub fn find_jobs(inputs: &[PathBuf]) -> Result<Vec<JobInput>, HostError> {
    find(inputs, false)
}

/// The same, and every file below a folder that lies in no job folder is a job by itself too; files whose names begin
/// with a dot belong to the system.
///
/// # Errors
/// When an input does not exist, or nothing is found under it.
pub fn find_jobs_and_logs(inputs: &[PathBuf]) -> Result<Vec<JobInput>, HostError> {
    find(inputs, true)
}

/// What an ignore file names, as patterns of paths below its folder.
fn ignored(folder: &Path) -> Result<globset::GlobSet, HostError> {
    let path = folder.join(IGNORE_FILE);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(globset::GlobSet::empty()),
        Err(source) => return Err(HostError::ReadInput { path, source }),
    };
    let bad = |row: usize, error: &globset::Error| HostError::ReadInput {
        path: path.clone(),
        source: std::io::Error::new(
            std::io::ErrorKind::InvalidData,
            format!("row {row}: `{}` is not a pattern: {}", error.glob().unwrap_or_default(), error.kind()),
        ),
    };
    let mut patterns = globset::GlobSetBuilder::new();
    for (row, line) in (1..).zip(text.trim_start_matches('\u{feff}').lines()) {
        let line = line.trim().trim_end_matches('/');
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let pattern = globset::GlobBuilder::new(line).literal_separator(true).build();
        patterns.add(pattern.map_err(|error| bad(row, &error))?);
    }
    patterns.build().map_err(|error| bad(0, &error))
}

fn find(inputs: &[PathBuf], loose: bool) -> Result<Vec<JobInput>, HostError> {
    let mut jobs = Vec::new();
    for input in inputs {
        let meta = std::fs::metadata(input)
            .map_err(|source| HostError::ReadInput { path: input.clone(), source })?;
        if meta.is_file() {
            if input.file_name().is_some_and(|n| n == "job.toml") {
                let folder = crate::output::folder_of(input);
                jobs.push(JobInput::Folder(folder.to_owned()));
            } else {
                jobs.push(JobInput::File(input.clone()));
            }
            continue;
        }
        let before = jobs.len();
        let passed_over = ignored(input)?;
        let mut walk = walkdir::WalkDir::new(input).sort_by_file_name().into_iter();
        while let Some(entry) = walk.next() {
            let entry = entry.map_err(|error| HostError::ReadInput {
                path: error.path().map_or_else(|| input.clone(), Path::to_owned),
                source: error.into_io_error().unwrap_or_else(|| std::io::Error::other("a loop of links")),
            })?;
            let below = entry.path().strip_prefix(input).unwrap_or(entry.path());
            if !below.as_os_str().is_empty() && passed_over.is_match(below) {
                if entry.file_type().is_dir() {
                    walk.skip_current_dir();
                }
                continue;
            }
            if entry.file_type().is_dir() && entry.path().join("job.toml").is_file() {
                jobs.push(JobInput::Folder(entry.path().to_owned()));
                walk.skip_current_dir();
            } else if loose && entry.file_type().is_file() {
                let hidden =
                    |part: std::path::Component<'_>| part.as_os_str().as_encoded_bytes().starts_with(b".");
                if !below.components().any(hidden) {
                    jobs.push(JobInput::File(entry.into_path()));
                }
            }
        }
        if jobs.len() == before {
            return Err(HostError::NoJob { path: input.clone() });
        }
    }
    Ok(jobs)
}
