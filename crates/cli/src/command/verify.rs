//! `verify PACK`: is an evidence pack what it was when it was written.

use crate::arguments::Verify;
use crate::exit::{CommandResult, Exit};
use crate::render::Output;
use host::{FolderTree, Found, HostError};
use plugin_pack::{
    EntryKind, Limits, Outcome, Problem, Report, State, Store, StoreEntry, verify_folder, verify_zip,
};
use serde_json::{Value, json};
use std::io::{self, BufReader, Read};

pub(crate) fn run(given: &Verify, output: &Output) -> CommandResult {
    let fail = |source| HostError::ReadInput { path: given.pack.clone(), source };
    let limits = Limits::default();
    let report = if std::fs::metadata(&given.pack).map_err(fail)?.is_dir() {
        verify_folder(&mut Unpacked::list(&given.pack)?, &limits)
    } else {
        verify_zip(BufReader::new(std::fs::File::open(&given.pack).map_err(fail)?), &limits)
    };
    let exit = match report.outcome {
        Outcome::CannotOpen => Exit::CouldNotRun,
        outcome if outcome.is_sound() => Exit::Done,
        _ => Exit::DataErrors,
    };
    output.print(&if given.json { format!("{:#}\n", as_json(&report)) } else { report.to_string() })?;
    Ok(exit)
}

/// The engine's list of a folder, as the pack plug-in wants to see it.
struct Unpacked {
    tree: FolderTree,
    entries: Vec<StoreEntry>,
}

impl Unpacked {
    fn list(path: &std::path::Path) -> Result<Self, HostError> {
        let tree = FolderTree::list(path)?;
        let entries = tree
            .entries()
            .iter()
            .map(|(path, found, size)| StoreEntry {
                path: path.clone(),
                kind: match found {
                    Found::File => EntryKind::File,
                    Found::Folder => EntryKind::Folder,
                    Found::Link => EntryKind::Link,
                    Found::Special => EntryKind::Special,
                },
                size: *size,
            })
            .collect();
        Ok(Self { tree, entries })
    }
}

impl Store for Unpacked {
    fn entries(&self) -> &[StoreEntry] {
        &self.entries
    }

    fn open(&mut self, index: usize) -> io::Result<Box<dyn Read + '_>> {
        Ok(Box::new(BufReader::new(self.tree.open(index)?)))
    }
}

fn as_json(report: &Report) -> Value {
    let problem = |p: &Problem| json!({ "place": p.place, "what": p.what, "help": p.help });
    json!({
        "outcome": report.outcome.id(),
        "sentence": report.outcome.sentence(),
        "identity": report.identity,
        "pack_version": report.pack_version,
        "report_number": report.external_identifier,
        "checks": report.checks.iter().map(|check| {
            let (state, detail, problems, more) = match &check.state {
                State::Ok { detail } => ("ok", detail.as_str(), Vec::new(), 0),
                State::Failed { problems, more } => ("failed", "", problems.iter().map(problem).collect(), *more),
                State::Differs { detail } => ("differs", detail.as_str(), Vec::new(), 0),
                State::NotDone { reason } => ("not-done", reason.as_str(), Vec::new(), 0),
            };
            json!({
                "id": check.id,
                "title": check.title,
                "state": state,
                "detail": detail,
                "problems": problems,
                "further_problems": more,
                "notes": check.notes.iter().map(problem).collect::<Vec<_>>(),
            })
        }).collect::<Vec<_>>(),
    })
}
