//! The repository on this machine: where it lies, what cargo says of it, and how to run a tool in it.

use std::cell::{Cell, OnceCell};
use std::ffi::OsStr;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

/// The repository, and what was asked of cargo so far.
pub(crate) struct Tree {
    /// Top folder.
    pub(crate) root: PathBuf,
    /// True under CI (`CI` set and not empty): then nothing is skipped for want of a tool.
    pub(crate) ci: bool,
    /// Build the program as part of the whole workspace, so that its tests need no second build.
    pub(crate) whole: Cell<bool>,
    metadata: OnceCell<Value>,
    program: OnceCell<PathBuf>,
}

impl Tree {
    /// Finds the repository from the folder that cargo runs this program for.
    pub(crate) fn find() -> Result<Self, String> {
        let here = std::env::var_os("CARGO_MANIFEST_DIR")
            .map(PathBuf::from)
            .ok_or("run this as `cargo xtask`, not by itself")?;
        let root = here.parent().ok_or("xtask lies in no workspace")?.to_path_buf();
        let ci = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
        Ok(Self { root, ci, whole: Cell::new(false), metadata: OnceCell::new(), program: OnceCell::new() })
    }

    /// A command that starts in the top folder.
    pub(crate) fn command(&self, program: impl AsRef<OsStr>) -> Command {
        let mut command = Command::new(program);
        command.current_dir(&self.root);
        command
    }

    /// The cargo that runs us.
    pub(crate) fn cargo(&self) -> Command {
        self.command(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
    }

    /// Cargo's description of the workspace and every package that it may use, on any platform.
    pub(crate) fn metadata(&self) -> Result<&Value, String> {
        if let Some(known) = self.metadata.get() {
            return Ok(known);
        }
        let mut cargo = self.cargo();
        cargo.args(["metadata", "--format-version", "1"]);
        if self.ci {
            cargo.arg("--locked");
        }
        let text = stdout_of(&mut cargo)?;
        let value = serde_json::from_str(&text).map_err(|error| format!("cargo metadata: {error}"))?;
        Ok(self.metadata.get_or_init(|| value))
    }

    /// Packages of this workspace, as cargo describes them.
    pub(crate) fn members(&self) -> Result<Vec<&Value>, String> {
        let metadata = self.metadata()?;
        let ids: Vec<&Value> = list(&metadata["workspace_members"]).collect();
        Ok(list(&metadata["packages"]).filter(|package| ids.contains(&&package["id"])).collect())
    }

    /// The build folder, wherever it was put.
    pub(crate) fn target(&self) -> Result<PathBuf, String> {
        let folder = self.metadata()?["target_directory"].as_str();
        folder.map(PathBuf::from).ok_or_else(|| "cargo names no build folder".to_owned())
    }

    /// `path` as seen from the top folder.
    pub(crate) fn relative(&self, path: &Path) -> PathBuf {
        path.strip_prefix(&self.root).unwrap_or(path).to_path_buf()
    }

    /// A file's text.
    pub(crate) fn read(&self, path: impl AsRef<Path>) -> Result<String, String> {
        let path = self.root.join(path);
        std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", self.relative(&path).display()))
    }

    /// The built program; builds it when needed.
    pub(crate) fn program(&self) -> Result<&Path, String> {
        if let Some(known) = self.program.get() {
            return Ok(known);
        }
        let mut cargo = self.cargo();
        if self.whole.get() {
            cargo.args(["test", "--workspace", "--no-run"]);
        } else {
            cargo.args(["build", "--package", "cli"]);
        }
        cargo.arg("--message-format=json-render-diagnostics").stdout(Stdio::piped());
        let mut child = cargo.spawn().map_err(|error| format!("cargo: {error}"))?;
        let mut found = None;
        if let Some(stdout) = child.stdout.take() {
            for line in BufReader::new(stdout).lines() {
                let line = line.map_err(|error| format!("cargo: {error}"))?;
                found = executable(&line).or(found);
            }
        }
        let status = child.wait().map_err(|error| format!("cargo: {error}"))?;
        if !status.success() {
            return Err("the program does not build".to_owned());
        }
        let path = found.ok_or("cargo built no program called `fulgurite`")?;
        Ok(self.program.get_or_init(|| path))
    }
}

/// The path of the program in one line of cargo's messages, when that line is about it.
fn executable(line: &str) -> Option<PathBuf> {
    let message: Value = serde_json::from_str(line).ok()?;
    let is_program = message["reason"] == "compiler-artifact"
        && message["target"]["name"] == "fulgurite"
        && list(&message["target"]["kind"]).any(|kind| kind == "bin")
        && message["profile"]["test"] == false;
    if is_program { message["executable"].as_str().map(PathBuf::from) } else { None }
}

/// The members of a JSON array; none for anything else.
pub(crate) fn list(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}

/// A JSON text, empty for anything else.
pub(crate) fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// Runs a tool to its end, its words going to the terminal.
pub(crate) fn run(command: &mut Command) -> Result<(), String> {
    let shown = shown(command);
    println!("$ {shown}");
    let status = command.status().map_err(|error| format!("`{shown}` did not start: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("`{shown}` failed ({status})")) }
}

/// Runs a tool to its end and gives what it printed, which also goes to the terminal, and whether it succeeded.
pub(crate) fn run_heard(command: &mut Command) -> Result<(String, bool), String> {
    let shown = shown(command);
    println!("$ {shown}");
    let mut child = command
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|error| format!("`{shown}` did not start: {error}"))?;
    let mut heard = String::new();
    if let Some(stdout) = child.stdout.take() {
        for line in BufReader::new(stdout).split(b'\n') {
            let line = line.map_err(|error| format!("`{shown}`: {error}"))?;
            let line = String::from_utf8_lossy(&line);
            println!("{line}");
            heard.push_str(&line);
            heard.push('\n');
        }
    }
    let status = child.wait().map_err(|error| format!("`{shown}`: {error}"))?;
    Ok((heard, status.success()))
}

/// What a tool prints, when it succeeds; its complaints go to the terminal.
pub(crate) fn stdout_of(command: &mut Command) -> Result<String, String> {
    let shown = shown(command);
    let output = command
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| format!("`{shown}` did not start: {error}"))?;
    if !output.status.success() {
        return Err(format!("`{shown}` failed ({})", output.status));
    }
    String::from_utf8(output.stdout).map_err(|_| format!("`{shown}` printed something that is not UTF-8"))
}

/// A command as one would type it.
fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or(command.get_program());
    let words = std::iter::once(program).chain(command.get_args());
    words.map(|word| word.to_string_lossy().into_owned()).collect::<Vec<_>>().join(" ")
}
