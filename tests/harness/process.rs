//! Runs one call of the program in a case's folder, with an environment that is the same everywhere.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::case::Program;
use super::description::Run;

/// A call that takes longer has hung.
const LIMIT: Duration = Duration::from_secs(300);

/// How a call ended.
pub(crate) struct Outcome {
    /// `None` when it was ended from outside.
    pub(crate) exit: Option<i32>,
    pub(crate) stdout: Vec<u8>,
    pub(crate) stderr: Vec<u8>,
}

/// Runs the program once.
pub(crate) fn run(
    program: &Program,
    run: &Run,
    folder: &Path,
    environment: &BTreeMap<String, String>,
) -> Result<Outcome, String> {
    let mut command = Command::new(&program.path);
    command.args(&program.lead).args(&run.args).current_dir(folder).env_clear();
    // What a process needs on any machine: where programs lie, and on Windows where the system lies.
    for name in ["PATH", "SystemRoot"] {
        if let Some(value) = std::env::var_os(name) {
            command.env(name, value);
        }
    }
    command.env("LC_ALL", "C").env("TZ", "UTC").envs(environment);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child =
        command.spawn().map_err(|error| format!("{} did not start: {error}", program.path.display()))?;
    if let Some(mut stdin) = child.stdin.take() {
        // A program that does not read its input closes it; that is no failure.
        let _closed = stdin.write_all(run.stdin.as_deref().unwrap_or_default().as_bytes());
    }
    let stdout = child.stdout.take().map(collect);
    let stderr = child.stderr.take().map(collect);
    let exit = wait(&mut child)?;
    Ok(Outcome { exit, stdout: joined(stdout)?, stderr: joined(stderr)? })
}

fn wait(child: &mut Child) -> Result<Option<i32>, String> {
    let begun = Instant::now();
    loop {
        if let Some(status) = child.try_wait().map_err(|error| error.to_string())? {
            return Ok(status.code());
        }
        if begun.elapsed() > LIMIT {
            let ended = child.kill().and_then(|()| child.wait());
            return Err(format!("still running after {} s; ended: {}", LIMIT.as_secs(), ended.is_ok()));
        }
        std::thread::sleep(Duration::from_millis(3));
    }
}

/// Processes that a call left behind: those whose environment names its folder. Seen on Linux only.
pub(crate) fn left_behind(folder: &Path) -> Vec<String> {
    let folder = folder.to_string_lossy().into_owned();
    let mut left = Vec::new();
    for entry in std::fs::read_dir("/proc").into_iter().flatten().flatten() {
        let file = |name: &str| std::fs::read(entry.path().join(name)).unwrap_or_default();
        if String::from_utf8_lossy(&file("environ")).contains(&folder) {
            let line = String::from_utf8_lossy(&file("cmdline")).replace('\0', " ");
            left.push(format!("a process is left behind: {} {line}", entry.file_name().to_string_lossy()));
        }
    }
    left
}

type Bytes = std::io::Result<Vec<u8>>;

fn collect(mut from: impl Read + Send + 'static) -> JoinHandle<Bytes> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        from.read_to_end(&mut bytes).map(|_| bytes)
    })
}

fn joined(reader: Option<JoinHandle<Bytes>>) -> Result<Vec<u8>, String> {
    let Some(reader) = reader else { return Ok(Vec::new()) };
    let bytes = reader.join().map_err(|_| "what the program printed was not read".to_owned())?;
    bytes.map_err(|error| error.to_string())
}

/// Runs the program with bare arguments, for what it says of itself; must end with 0.
pub(crate) fn ask(program: &Program, arguments: &[&str]) -> Result<String, String> {
    let words: Vec<OsString> = arguments.iter().map(OsString::from).collect();
    let output = Command::new(&program.path).args(&program.lead).args(words).output();
    let output = output.map_err(|error| format!("{} did not start: {error}", program.path.display()))?;
    if !output.status.success() {
        return Err(format!("`{}` ended with {}", arguments.join(" "), output.status));
    }
    String::from_utf8(output.stdout)
        .map_err(|_| format!("`{}` printed something not UTF-8", arguments.join(" ")))
}
