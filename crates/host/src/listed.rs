//! Jobs that another program names one by one: a path in, a result out, in the order of the paths.

use crate::convert::{ConvertRequest, JobResult, JobStatus, convert_job};
use crate::input::JobInput;
use crate::output;
use crate::plugins::Plugins;
use crate::{HostError, codes};
use rayon::prelude::*;
use record::{Finding, Place};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
use std::sync::Mutex;

/// Converts the job that each line names; `each` is handed the line and its result, in the order of the lines.
///
/// The outputs of a job go to a folder below `request.out` that has the path of the job as it was given, so that
/// programs that work through parts of one list can share that folder. What a killed run left aside there is removed;
/// what another run is writing is left alone.
///
/// # Errors
/// When a format does not exist, or the threads can't be started.
pub fn convert_listed(
    plugins: &Plugins,
    lines: impl Iterator<Item = std::io::Result<Vec<u8>>> + Send,
    request: &ConvertRequest<'_>,
    threads: usize,
    each: &mut (dyn FnMut(&str, JobResult) + Send),
) -> Result<(), HostError> {
    for name in &request.formats {
        plugins.writer(name)?;
    }
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    let pool = pool.map_err(|error| HostError::NoThreads { source: std::io::Error::other(error) })?;
    let state = Mutex::new((0_usize, BTreeMap::new(), each));
    pool.install(|| {
        lines.enumerate().par_bridge().for_each(|(index, line)| {
            let result = match line {
                Ok(line) => one(plugins, &line, request),
                Err(error) => (String::new(), refused("", format!("the line can't be read: {error}"))),
            };
            let mut state = state.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            let (next, early, each) = &mut *state;
            early.insert(index, result);
            while let Some((line, result)) = early.remove(next) {
                each(&line, result);
                *next += 1;
            }
        });
    });
    Ok(())
}

fn one(plugins: &Plugins, line: &[u8], request: &ConvertRequest<'_>) -> (String, JobResult) {
    let text = String::from_utf8_lossy(line).trim_end_matches('\r').to_owned();
    let Ok(given) = std::str::from_utf8(line) else {
        let result = refused(&text, "the path is not UTF-8".into());
        return (text, result);
    };
    let path = Path::new(given.trim_end_matches('\r'));
    let job = job_at(path);
    let Some(folder) = folder_of(&request.out, job.path()) else {
        let result =
            refused(&text, "the line is no path of a job, from here or from the root, without `..`".into());
        return (text, result);
    };
    output::remove_ended(&folder);
    let result = convert_job(plugins, &job, request, &folder).unwrap_or_else(|error| {
        let mut result = JobResult::refused(job.name(), job.path().to_owned(), Vec::new());
        result.status = JobStatus::NotWritten;
        result.not_written = Some(error);
        result
    });
    (text, result)
}

/// The job at a path: a folder, the folder of a job.toml, or a file by itself.
pub(crate) fn job_at(path: &Path) -> JobInput {
    if path.is_dir() {
        return JobInput::Folder(path.to_owned());
    }
    match path.parent() {
        Some(folder) if path.file_name().is_some_and(|name| name == "job.toml") => {
            JobInput::Folder(if folder.as_os_str().is_empty() {
                PathBuf::from(".")
            } else {
                folder.to_owned()
            })
        }
        _ => JobInput::File(path.to_owned()),
    }
}

/// The path of a job, laid out below another folder; none for a path that has no name or goes upwards.
fn folder_of(out: &Path, path: &Path) -> Option<PathBuf> {
    let mut folder = out.to_owned();
    let mut named = false;
    for part in path.components() {
        match part {
            Component::Normal(name) => {
                folder.push(name);
                named = true;
            }
            Component::Prefix(prefix) => {
                let name = prefix.as_os_str().to_string_lossy();
                folder.push(name.replace(|c: char| !c.is_alphanumeric(), ""));
            }
            Component::RootDir | Component::CurDir => {}
            Component::ParentDir => return None,
        }
    }
    named.then_some(folder)
}

fn refused(line: &str, what: String) -> JobResult {
    let finding = Finding::error(codes::NO_JOB_PATH, what)
        .at(Place { file: line.to_owned(), ..Place::default() })
        .help("write one path a line: a folder with a job.toml, or a single log, record or pack");
    JobResult::refused("job".into(), PathBuf::from(line), vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_go_where_the_path_says_and_never_upwards() {
        let of = |path: &str| folder_of(Path::new("out"), Path::new(path));
        assert_eq!(of("a/b"), Some(PathBuf::from("out/a/b")));
        assert_eq!(of("./a//b/."), Some(PathBuf::from("out/a/b")));
        assert_eq!(of("/a/b"), Some(PathBuf::from("out/a/b")));
        assert_eq!(of("a/../b"), None);
        assert_eq!(of(""), None);
        assert_eq!(of("."), None);
    }
}
