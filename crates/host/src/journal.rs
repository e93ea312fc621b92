//! The journal of a batch: which job, with which content, came to what. Kept below the output folder, so
//! that a batch that was stopped goes on, and a job that has not changed costs no more than a look at its
//! bytes.

use crate::HostError;
use crate::convert::{ConvertRequest, JobResult, JobStatus, Outcome};
use crate::input::JobInput;
use crate::original::hex;
use crate::output::{WholeFile, Written};
use crate::row_account::{row_account_from_value, row_account_to_value};
use plugin_api::wire::v1;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The folder, below that of the outputs, that holds the journal.
pub const FOLDER: &str = ".fulgurite";
const FILE: &str = "journal.jsonl";
const LOCK: &str = "lock";

/// The journal of one output folder, held by one run at a time.
#[derive(Debug)]
pub struct Journal {
    folder: PathBuf,
    /// What was asked for, in short: another request makes everything new.
    request: String,
    /// Where the last entry of each job stands that earlier runs of this request left, by the job's path: the
    /// entries themselves stay on disk.
    known: HashMap<String, Line>,
    /// What earlier runs wrote.
    earlier: Mutex<Option<File>>,
    /// New entries go to the end of the file as they come.
    file: Mutex<File>,
    _lock: JournalLock,
}

/// Holds a folder against other runs as long as it lives.
#[derive(Debug)]
pub(crate) struct JournalLock {
    _file: File,
}

/// Holds an output folder, which is made where there is none.
pub(crate) fn hold(out: &Path) -> Result<JournalLock, HostError> {
    hold_at(&out.join(FOLDER), out)
}

/// Holds a folder by a file in another one.
pub(crate) fn hold_at(folder: &Path, held: &Path) -> Result<JournalLock, HostError> {
    let fail = |path: PathBuf| move |source| HostError::WriteOutput { path, source };
    std::fs::create_dir_all(folder).map_err(fail(folder.to_owned()))?;
    let path = folder.join(LOCK);
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
    let file = file.map_err(fail(path))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(HostError::OutputBusy { path: held.to_owned() }),
        // Some network shares know no locks; the run is then as safe as its user makes it.
        Ok(()) | Err(TryLockError::Error(_)) => Ok(JournalLock { _file: file }),
    }
}

impl Journal {
    /// Opens the journal of an output folder, and makes it where there is none. `afresh` takes no notice of
    /// what earlier runs did.
    ///
    /// # Errors
    /// When another run holds it, or it can't be read or written.
    pub fn open(request: &ConvertRequest<'_>, afresh: bool) -> Result<Self, HostError> {
        let folder = request.out.join(FOLDER);
        let fail = |path: PathBuf| move |source| HostError::WriteOutput { path, source };
        let lock = hold(&request.out)?;
        let path = folder.join(FILE);
        let request = request_digest(request);
        let (known, earlier) = match File::open(&path) {
            _ if afresh => (HashMap::new(), None),
            Ok(mut file) => (entries(&mut file, Some(&request)), Some(file)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => (HashMap::new(), None),
            Err(source) => return Err(HostError::ReadInput { path, source }),
        };
        let mut file =
            OpenOptions::new().create(true).append(true).open(&path).map_err(fail(path.clone()))?;
        // A line that a stopped run left half written must not swallow the next one.
        file.write_all(b"\n").map_err(fail(path))?;
        Ok(Self { folder, request, known, earlier: Mutex::new(earlier), file: Mutex::new(file), _lock: lock })
    }

    /// Digest of all bytes that a job may be read from: names, sizes and content of its files.
    pub(crate) fn digest(job: &JobInput) -> io::Result<String> {
        let mut hasher = Sha256::new();
        match job {
            JobInput::File(path) => add_file(&mut hasher, "", path)?,
            JobInput::Folder(folder) => {
                for entry in walkdir::WalkDir::new(folder).min_depth(1).sort_by_file_name() {
                    let entry = entry?;
                    let name = entry.path().strip_prefix(folder).unwrap_or(entry.path()).to_string_lossy();
                    if entry.file_type().is_file() {
                        add_file(&mut hasher, &name, entry.path())?;
                    } else {
                        hasher.update(name.as_bytes());
                        hasher.update([0]);
                    }
                }
            }
        }
        Ok(hex(&hasher.finalize()))
    }

    /// What an earlier run made of a job with this content, if all its outputs are still there.
    pub(crate) fn recall(&self, job: &JobInput, digest: &str) -> Option<JobResult> {
        let line = self.known.get(&*job.path().to_string_lossy())?;
        let entry = {
            let mut earlier = self.earlier.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            serde_json::from_slice::<Value>(&line.read(earlier.as_mut()?).ok()?).ok()?
        };
        if entry["content"].as_str() != Some(digest) {
            return None;
        }
        let mut result = JobResult::refused(job.name(), job.path().to_owned(), Vec::new());
        result.remembered = true;
        result.status = JobStatus::ALL.into_iter().find(|s| entry["status"].as_str() == Some(s.as_str()))?;
        for finding in entry["findings"].as_array()? {
            result.findings.push(v1::finding_from_value(finding.clone())?);
        }
        for output in entry["outputs"].as_array()? {
            let path = self.folder.parent()?.join(output["path"].as_str()?);
            let bytes = output["bytes"].as_u64()?;
            if std::fs::metadata(&path).ok()?.len() != bytes {
                return None;
            }
            result.written.push(Written { path, bytes, unchanged: true });
        }
        let not_made = entry["not_made"].as_array().map(Vec::as_slice).unwrap_or_default();
        result.not_made = not_made.iter().filter_map(|name| name.as_str().map(str::to_owned)).collect();
        if let Some(verdict) = entry["verdict"].as_str() {
            result.outcome = Some(Outcome {
                verdict: verdict.parse().ok()?,
                failure_observed: entry["failure_observed"].as_bool()?,
                reason: entry["reason"].as_str().map(str::to_owned),
                bench_data: entry["bench_data"].as_bool()?,
            });
        }
        result.rows = row_account_from_value(&entry["rows"])?;
        Some(result)
    }

    /// Writes down what a job came to, once its outputs are in place.
    pub(crate) fn note(&self, digest: &str, result: &JobResult) -> Result<(), HostError> {
        if matches!(result.status, JobStatus::NotWritten | JobStatus::PluginBroke) {
            return Ok(());
        }
        let out = self.folder.parent().unwrap_or(Path::new(""));
        let outputs: Vec<Value> = result
            .written
            .iter()
            .map(|w| {
                let path = w.path.strip_prefix(out).unwrap_or(&w.path);
                json!({ "path": path.to_string_lossy(), "bytes": w.bytes })
            })
            .collect();
        let entry = json!({
            "job": result.input.to_string_lossy(),
            "request": self.request,
            "content": digest,
            "status": result.status.as_str(),
            "verdict": result.outcome.as_ref().map(|o| o.verdict.as_str()),
            "failure_observed": result.outcome.as_ref().map(|o| o.failure_observed),
            "reason": result.outcome.as_ref().and_then(|o| o.reason.as_deref()),
            "bench_data": result.outcome.as_ref().map(|o| o.bench_data),
            "rows": row_account_to_value(result.rows),
            "findings": result.findings.iter().map(v1::finding_to_value).collect::<Vec<_>>(),
            "outputs": outputs,
            "not_made": result.not_made,
        });
        let path = self.folder.join(FILE);
        let mut file = self.file.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        file.write_all(format!("{entry}\n").as_bytes())
            .map_err(|source| HostError::WriteOutput { path, source })
    }

    /// Puts the journal in order at the end of a run: one entry a job, sorted. Where no job has outputs, it goes.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn close(self) -> Result<(), HostError> {
        let path = self.folder.join(FILE);
        let read = |source| HostError::ReadInput { path: path.clone(), source };
        let mut file = File::open(&path).map_err(read)?;
        let mut latest: Vec<(String, Line)> = entries(&mut file, None).into_iter().collect();
        latest.sort_by(|a, b| a.0.cmp(&b.0));
        if !latest.iter().any(|(_, line)| line.has_outputs) {
            // Nothing was ever written here: leave nothing behind.
            let _ = std::fs::remove_dir_all(&self.folder);
            let _ = self.folder.parent().map(std::fs::remove_dir);
            return Ok(());
        }
        let mut whole = WholeFile::begin(&path)?;
        for (_, line) in latest {
            let mut entry = line.read(&mut file).map_err(read)?;
            entry.push(b'\n');
            whole
                .write_all(&entry)
                .map_err(|source| HostError::WriteOutput { path: path.clone(), source })?;
        }
        whole.finish()
    }
}

/// Where an entry stands in the file.
#[derive(Clone, Copy, Debug)]
struct Line {
    at: u64,
    length: usize,
    has_outputs: bool,
}

impl Line {
    fn read(self, file: &mut File) -> io::Result<Vec<u8>> {
        let mut bytes = vec![0; self.length];
        file.seek(SeekFrom::Start(self.at))?;
        file.read_exact(&mut bytes)?;
        Ok(bytes)
    }
}

/// The last entry of each job, of one request where one is named; lines that can't be read are as if they had not been
/// written.
fn entries(file: &mut File, request: Option<&str>) -> HashMap<String, Line> {
    let mut all = HashMap::new();
    let mut at = 0;
    for line in BufReader::new(file).split(b'\n').map_while(Result::ok) {
        let (start, length) = (at, line.len());
        at += length as u64 + 1;
        let Ok(entry) = serde_json::from_slice::<Value>(&line) else { continue };
        let Some(job) = entry["job"].as_str().map(str::to_owned) else { continue };
        let has_outputs = entry["outputs"].as_array().is_some_and(|outputs| !outputs.is_empty());
        if request.is_none_or(|request| entry["request"].as_str() == Some(request)) {
            all.insert(job, Line { at: start, length, has_outputs });
        } else {
            // What another request left last counts for it, not for this one.
            all.remove(&job);
        }
    }
    all
}

fn add_file(hasher: &mut Sha256, name: &str, path: &Path) -> io::Result<()> {
    let mut file = File::open(path)?;
    hasher.update(name.as_bytes());
    hasher.update([0]);
    hasher.update(file.metadata()?.len().to_le_bytes());
    let mut buffer = vec![0; 64 << 10];
    loop {
        let count = file.read(&mut buffer)?;
        let Some(part) = buffer.get(..count).filter(|part| !part.is_empty()) else { return Ok(()) };
        hasher.update(part);
    }
}

/// Everything beside the input that outputs depend on, the program itself among it.
fn request_digest(request: &ConvertRequest<'_>) -> String {
    let mut hasher = Sha256::new();
    let mut add = |bytes: &[u8]| {
        hasher.update((bytes.len() as u64).to_le_bytes());
        hasher.update(bytes);
    };
    add(request.program.as_bytes());
    add(&assess::RULES_VERSION.to_le_bytes());
    for format in &request.formats {
        add(format.as_bytes());
    }
    add(request.language.as_bytes());
    add(request.template.as_bytes());
    for (name, bytes) in &request.template_files {
        add(name.as_bytes());
        add(bytes);
    }
    for pack in request.older {
        add(pack.identity.as_bytes());
    }
    for known in request.standards.all() {
        add(known.text.as_bytes());
    }
    add(format!("{:?}", request.read).as_bytes());
    // Two builds of one version may differ; where the program can't be read, its version has to do.
    if let Some(digest) = crate::itself::program_sha256() {
        add(digest.as_bytes());
    }
    hex(&hasher.finalize())
}
