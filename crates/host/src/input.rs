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
            Self::Folder(_) => path.canonicalize().ok().and_then(|p| p.file_name().map(|n| n.to_owned())),
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

/// The jobs under each input, in the order of the inputs, each tree in the order of its names.
///
/// A folder with a job.toml is a job; other folders are searched for such folders; a job.toml stands for
/// its folder; any other file is a job by itself. Links are not followed.
///
/// # Errors
/// When an input does not exist, or nothing is found under it.
pub fn find_jobs(inputs: &[PathBuf]) -> Result<Vec<JobInput>, HostError> {
    let mut jobs = Vec::new();
    for input in inputs {
        let meta = std::fs::metadata(input)
            .map_err(|source| HostError::ReadInput { path: input.clone(), source })?;
        if meta.is_file() {
            if input.file_name().is_some_and(|n| n == "job.toml") {
                let folder = input.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
                jobs.push(JobInput::Folder(folder.to_owned()));
            } else {
                jobs.push(JobInput::File(input.clone()));
            }
            continue;
        }
        let before = jobs.len();
        let mut walk = walkdir::WalkDir::new(input).sort_by_file_name().into_iter();
        while let Some(entry) = walk.next() {
            let entry = entry.map_err(|error| HostError::ReadInput {
                path: error.path().map_or_else(|| input.clone(), Path::to_owned),
                source: error.into_io_error().unwrap_or_else(|| std::io::Error::other("a loop of links")),
            })?;
            if entry.file_type().is_dir() && entry.path().join("job.toml").is_file() {
                jobs.push(JobInput::Folder(entry.path().to_owned()));
                walk.skip_current_dir();
            }
        }
        if jobs.len() == before {
            return Err(HostError::NoJob { path: input.clone() });
        }
    }
    Ok(jobs)
}
