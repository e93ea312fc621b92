//! One case from start to end: copy, run, compare.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use super::codes::{self, Severity};
use super::description::{Description, Run};
use super::entries::entries;
use super::expected;
use super::figures;
use super::folders::{Case, Kind};
use super::process::{self, Outcome};
use super::round_trip;
use super::workplace::{Tree, Workplace};

/// The program under test.
#[derive(Debug, Clone)]
pub(crate) struct Program {
    pub(crate) path: PathBuf,
    /// Arguments that come before those of the case.
    pub(crate) lead: Vec<OsString>,
}

impl Program {
    /// The program at a path.
    pub(crate) fn at(path: impl Into<PathBuf>) -> Self {
        Self { path: path.into(), lead: Vec::new() }
    }
}

/// Compare with what is expected, or rewrite it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    Compare,
    Bless,
}

/// Reads a case's `case.toml`.
pub(crate) fn description(case: &Case) -> Result<Description, String> {
    let path = case.folder.join("case.toml");
    let text = std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    Description::read(&text).map_err(|reason| format!("{}: {reason}", path.display()))
}

/// Runs a case; `Err` says all that is wrong with it.
pub(crate) fn check(case: &Case, tests: &Path, program: &Program, mode: Mode) -> Result<(), String> {
    for entry in entries(&case.folder)? {
        let name = entry.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if !matches!(name.as_str(), "case.toml" | "input" | "expected" | figures::FILE) {
            return Err(format!("`{name}` is no part of a case"));
        }
    }
    let description = description(case)?;
    let place = Workplace::new()?;
    for base in description.bases() {
        let from = tests.join(base);
        let name = from.file_name().unwrap_or_default().to_string_lossy().into_owned();
        place.copy(&from, &name)?;
    }
    let input = case.folder.join("input");
    if input.is_dir() {
        place.copy(&input, "")?;
    }
    for edit in &description.edit {
        place.edit(edit)?;
    }

    let mut wrong = Vec::new();
    let mut printed = Tree::new();
    let mut raised = BTreeSet::new();
    let mut given = place.tree()?;
    let mut written = Tree::new();
    let runs = description.runs();
    for (index, run) in runs.iter().enumerate() {
        if !run.edit.is_empty() {
            for edit in &run.edit {
                place.edit(edit)?;
            }
            // What a case itself changed is from here on as the case left it.
            let now = place.tree()?;
            for edit in &run.edit {
                let tree = if written.contains_key(&edit.file) { &mut written } else { &mut given };
                match now.get(&edit.file) {
                    Some(bytes) => tree.insert(edit.file.clone(), bytes.clone()),
                    None => tree.remove(&edit.file),
                };
            }
        }
        let outcome = process::run(program, run, &place.path, &description.env)?;
        wrong.extend(process::left_behind(&place.path));
        let after = place.tree()?;
        wrong.extend(inputs_kept(&given, &after));
        let outputs: Tree = after.into_iter().filter(|(path, _)| !given.contains_key(path)).collect();
        let is_last = index + 1 == runs.len();
        let told =
            Told { stdout: plain(&outcome.stdout, &place.path), stderr: plain(&outcome.stderr, &place.path) };
        wrong.extend(exit_code(run, &outcome, &told));
        if is_last {
            wrong.extend(kind(case.kind, run, &told, outputs != written, &outputs));
            if case.kind != Kind::Err {
                wrong.extend(round_trip::wrong(program, &outputs)?);
            }
        } else if case.kind == Kind::Ok {
            wrong.extend(kind(case.kind, run, &told, true, &outputs));
        }
        raised.extend(codes::raised(&told.stderr, run.form()));
        let number = if runs.len() == 1 { String::new() } else { format!("{}-", index + 1) };
        printed.insert(format!("{number}stdout.txt"), told.stdout.into_bytes());
        printed.insert(format!("{number}stderr.txt"), told.stderr.into_bytes());
        written = outputs;
    }
    wrong.extend(codes_declared(&description, &raised));
    wrong.extend(expected::fragments(&description, &printed, &written));
    wrong.extend(figures::wrong(&case.folder, &written)?);
    let kept = expected::form(&description, &printed, &written, &place.path)?;
    let folder = case.folder.join("expected");
    match mode {
        Mode::Compare => wrong.extend(expected::compare(&folder, &kept)?),
        // A case that breaks its own promise must not be made right by rewriting what is expected.
        Mode::Bless if wrong.is_empty() => expected::bless(&folder, &kept)?,
        Mode::Bless => {}
    }
    if wrong.is_empty() { Ok(()) } else { Err(format!("{}\n\n{}", description.about, wrong.join("\n"))) }
}

/// What a call printed, the temporary folder's path written as `[CASE]`.
struct Told {
    stdout: String,
    stderr: String,
}

fn plain(bytes: &[u8], folder: &Path) -> String {
    String::from_utf8_lossy(bytes).replace(&*folder.to_string_lossy(), "[CASE]")
}

/// Inputs are never changed.
fn inputs_kept(given: &Tree, after: &Tree) -> Vec<String> {
    let mut wrong = Vec::new();
    for (path, bytes) in given {
        match after.get(path) {
            Some(now) if now == bytes => {}
            Some(_) => wrong.push(format!("{path}: the program changed an input")),
            // An empty folder of the input may have been written into.
            None if path.ends_with('/') => {}
            None => wrong.push(format!("{path}: the program removed an input")),
        }
    }
    wrong
}

fn exit_code(run: &Run, outcome: &Outcome, told: &Told) -> Option<String> {
    if outcome.exit == Some(run.exit) {
        return None;
    }
    let exit = outcome.exit.map_or_else(|| "a signal".to_owned(), |code| format!("exit {code}"));
    Some(format!(
        "`{}`: {exit}, not {}; it said:\n{}{}",
        run.args.join(" "),
        run.exit,
        told.stderr,
        told.stdout
    ))
}

/// Does a call keep what the case's name promises?
fn kind(kind: Kind, run: &Run, told: &Told, wrote: bool, outputs: &Tree) -> Vec<String> {
    let mut wrong = Vec::new();
    match kind {
        Kind::Ok => {
            if run.exit != 0 {
                wrong.push(format!("an ok- case states exit 0, not {}", run.exit));
            }
            if codes::raised(&told.stderr, run.form())
                .iter()
                .any(|(severity, _)| *severity == Severity::Error)
            {
                wrong.push("an ok- case raises no error".to_owned());
            }
        }
        Kind::Part => {
            if run.exit != 1 {
                wrong.push(format!("a part- case states exit 1, not {}", run.exit));
            }
            if !wrote && told.stdout.is_empty() {
                wrong.push("a part- case leaves what could be read".to_owned());
            }
            if codes::raised(&told.stderr, run.form()).is_empty() {
                wrong.push("a part- case says what was set aside".to_owned());
            }
        }
        Kind::Err => {
            if run.exit == 0 {
                wrong.push("an err- case states an exit code other than 0".to_owned());
            }
            if wrote {
                let paths: Vec<&str> = outputs.keys().map(String::as_str).collect();
                wrong.push(format!("an err- case writes nothing: {}", paths.join(", ")));
            }
        }
    }
    if let Some(folder) = outputs.keys().find(|path| path.ends_with('/')) {
        wrong.push(format!("{folder}: the program left an empty folder"));
    }
    wrong
}

fn codes_declared(description: &Description, raised: &BTreeSet<(Severity, String)>) -> Vec<String> {
    let declared: BTreeSet<&str> = description.codes.iter().map(String::as_str).collect();
    let raised: BTreeSet<&str> = raised.iter().map(|(_, code)| code.as_str()).collect();
    let missing = declared.difference(&raised).map(|code| format!("{code}: declared and not raised"));
    let extra =
        raised.difference(&declared).map(|code| format!("{code}: raised and not declared in `codes`"));
    missing.chain(extra).collect()
}
