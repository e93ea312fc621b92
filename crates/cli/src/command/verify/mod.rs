//! `verify PACK`: is an evidence pack what it was when it was written.

mod again;
mod chain;

use crate::arguments::{Verify, VerifyDepth};
use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::Output;
use host::{FolderTree, Found, HostError};
use plugin_pack::{
    Authorities, Depth, EntryKind, OpenPack, Outcome, OwnedStore, Problem, Report, Request, Signers, State,
    Store, StoreEntry, Stores, verify_folder, verify_zip, zip_stores,
};
use serde_json::{Value, json};
use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::Path;
use std::sync::Arc;

pub(crate) fn run(given: &Verify, output: &Output) -> CommandResult {
    let depth = match given.depth {
        VerifyDepth::Quick => Depth::Quick,
        VerifyDepth::Full => Depth::Full,
        VerifyDepth::ReDerive => Depth::ReDerive,
    };
    let signers = match &given.signers {
        None => None,
        Some(path) => Some(signers(path)?),
    };
    let at = match &given.on {
        Some(day) => day_end(day)?,
        None => host::now(),
    };
    let signed_as = given.signed_as.iter().map(|role| (*role).into()).collect();
    let authorities = match &given.tsa_cert {
        None => None,
        Some(path) => Some(authorities(path)?),
    };
    let mut time_stamps = Vec::new();
    for path in &given.time_stamp {
        time_stamps.push((path.display().to_string(), read(path)?));
    }
    let request = Request { depth, signers, at, signed_as, authorities, time_stamps, ..Request::default() };
    let mut report = verified(&given.pack, &request)?;
    if !given.older.is_empty() {
        chain::follow(&given.pack, &given.older, &request, &mut report)?;
    }
    let exit = match report.outcome {
        Outcome::CannotOpen => Exit::CouldNotRun,
        outcome if outcome.is_sound() => Exit::Done,
        _ => Exit::DataErrors,
    };
    output.print(&if given.json { format!("{:#}\n", as_json(&report)) } else { report.to_string() })?;
    Ok(exit)
}

/// Verifies a pack as deep as asked, with the whole program.
pub(crate) fn verified(path: &Path, request: &Request) -> Result<Report, CommandError> {
    let (mut report, stores) = checked(path, request)?;
    let ours = !matches!(report.outcome, Outcome::ForeignBag);
    if request.depth == Depth::ReDerive && report.outcome.is_sound() && ours {
        match OpenPack::open(stores, &request.limits) {
            Ok(pack) => again::work_again(&pack, &mut report)?,
            Err(problems) => report.enter_unopened(problems),
        }
    }
    Ok(report)
}

/// Checks the pack by itself, and gives what opens it.
pub(crate) fn checked(path: &Path, request: &Request) -> Result<(Report, Stores), CommandError> {
    let fail = |source| HostError::ReadInput { path: path.to_owned(), source };
    let path = path.to_owned();
    if std::fs::metadata(&path).map_err(fail)?.is_dir() {
        let report = verify_folder(&mut Unpacked::list(&path)?, request.clone());
        return Ok((
            report,
            Arc::new(move || Ok(Box::new(Unpacked::list(&path).map_err(io::Error::other)?))),
        ));
    }
    let report = verify_zip(BufReader::new(File::open(&path).map_err(fail)?), request.clone());
    let container = Arc::new(move || Ok(Box::new(BufReader::new(File::open(&path)?)) as _));
    Ok((report, zip_stores(container, &request.limits)))
}

fn read(path: &Path) -> Result<Vec<u8>, CommandError> {
    Ok(std::fs::read(path).map_err(|source| HostError::ReadInput { path: path.to_owned(), source })?)
}

/// The authorities of time stamps.
fn authorities(path: &Path) -> Result<Authorities, CommandError> {
    Authorities::parse(&read(path)?)
        .map_err(|why| CommandError::Usage(format!("--tsa-cert {}: {why}", path.display())))
}

/// The list of allowed signers.
fn signers(path: &Path) -> Result<Signers, CommandError> {
    let text = std::fs::read_to_string(path)
        .map_err(|source| HostError::ReadInput { path: path.to_owned(), source })?;
    Signers::parse(&text).map_err(|problems| {
        let lines: Vec<String> = problems.iter().map(|p| format!("{}: {}", p.place, p.what)).collect();
        CommandError::Usage(format!("{}: {}", path.display(), lines.join("; ")))
    })
}

/// The last second of a day, UTC, in seconds since 1970-01-01.
fn day_end(day: &str) -> Result<i64, CommandError> {
    let date: Option<record::Date> = day.parse().ok();
    let start = date.and_then(host::seconds_of);
    start
        .map(|start| start + 86_399)
        .ok_or_else(|| CommandError::Usage(format!("`{day}` is no day of the form YYYY-MM-DD")))
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

impl OwnedStore for Unpacked {
    fn into_file(self: Box<Self>, index: usize) -> io::Result<Box<dyn Read + Send>> {
        Ok(Box::new(BufReader::new(self.tree.open(index)?)))
    }
}

fn as_json(report: &Report) -> Value {
    let problem = |p: &Problem| json!({ "place": p.place, "what": p.what, "help": p.help });
    json!({
        "outcome": report.outcome.id(),
        "depth": report.depth.id(),
        "sentence": report.outcome.sentence(),
        "verdict_derived_again": report.verdict_derived_again(),
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
