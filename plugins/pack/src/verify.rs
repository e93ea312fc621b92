//! Verifies a pack or any other BagIt bag, in a zip or in a folder.

use crate::bag_check::check_bag;
use crate::bag_files::find_root;
use crate::derive::derive;
use crate::names::{NameBounds, refusal};
use crate::pack_check::{Maker, check_pack, maker};
use crate::report::{Findings, Kind, Ledger, Outcome, Problem, Report};
use crate::request::{Depth, NOT_AT_THIS_DEPTH, Request};
use crate::signature::check_signatures;
use crate::store::{EntryKind, Store};
use crate::time_stamp::check_time_stamps;
use crate::zip_end::Trouble;
use crate::zip_read::ZipStore;
use std::io::{Read, Seek};

/// Verifies a zip. What needs the whole program (reading the originals again) is left to [`crate::OpenPack`] and
/// [`Report::enter_read_again`].
pub fn verify_zip<R: Read + Seek>(reader: R, request: impl Into<Request>) -> Report {
    let request = &request.into();
    let limits = &request.limits;
    let mut ledger = Ledger::default();
    let mut zip = match ZipStore::open(reader, limits) {
        Ok(zip) => zip,
        Err(troubles) => return refused(troubles, ledger, request.depth),
    };
    let mut archive = Findings::default();
    for note in std::mem::take(&mut zip.notes) {
        archive.note(note);
    }
    let bytes: u64 = zip.entries().iter().map(|entry| entry.size).fold(0, u64::saturating_add);
    ledger.done(Kind::Archive, archive, format!("{} entries, {bytes} bytes unpacked", zip.entries().len()));
    let mut deviations = std::mem::take(&mut zip.deviations);
    let form = if request.depth == Depth::Quick {
        Form::NotLookedAt
    } else {
        match zip.check_seal() {
            Ok(None) => {}
            Ok(Some(what)) => deviations.push(what),
            Err(error) => return refused(vec![error.into()], ledger, request.depth),
        }
        if deviations.is_empty() { Form::Canonical } else { Form::Other(deviations) }
    };
    verify_store(&mut zip, form, request, ledger)
}

/// Verifies a folder: the bag's own folder, or one that holds nothing else.
pub fn verify_folder(store: &mut dyn Store, request: impl Into<Request>) -> Report {
    let request = &request.into();
    let limits = &request.limits;
    let mut ledger = Ledger::default();
    let bounds = NameBounds { path: limits.path_bytes, segment: limits.segment_bytes, depth: limits.depth };
    let mut archive = Findings::default();
    if store.entries().len() as u64 > limits.entries {
        let what = format!("{} entries, the limit is {}", store.entries().len(), limits.entries);
        archive.fail(Problem::new("", what));
    }
    let mut bytes: u64 = 0;
    for entry in store.entries() {
        bytes = bytes.saturating_add(entry.size);
        match entry.kind {
            EntryKind::File | EntryKind::Folder => {}
            EntryKind::Link => archive.fail(Problem::new(&entry.path, "a link; it was not followed")),
            EntryKind::Special => archive.fail(Problem::new(&entry.path, "a device, pipe or socket")),
        }
        if let Some(what) = refusal(&entry.path, bounds) {
            archive.fail(Problem::new(&entry.path, what));
        }
    }
    if bytes > limits.total_bytes {
        archive.fail(Problem::new("", format!("{bytes} bytes, the limit is {}", limits.total_bytes)));
    }
    let detail = format!("{} entries, {bytes} bytes", store.entries().len());
    if !ledger.done(Kind::Archive, archive, detail) {
        return report(Outcome::Refused, request.depth, ledger, "the folder was refused");
    }
    verify_store(store, Form::Folder, request, ledger)
}

/// The checks of what the pack says, as opposed to its bytes.
const CONTENT: [Kind; 7] = [
    Kind::Originals,
    Kind::Record,
    Kind::Verdict,
    Kind::Embedded,
    Kind::ReadAgain,
    Kind::WrittenAgain,
    Kind::Standard,
];

/// How the bag came to us.
enum Form {
    Canonical,
    Other(Vec<String>),
    Folder,
    NotLookedAt,
}

fn verify_store(store: &mut dyn Store, form: Form, request: &Request, mut ledger: Ledger) -> Report {
    let limits = &request.limits;
    let root = match find_root(store) {
        Ok(root) => root,
        Err(problem) => {
            let mut findings = Findings::default();
            findings.fail(problem);
            ledger.done(Kind::Root, findings, "");
            return report(Outcome::Refused, request.depth, ledger, "there is no single bag to check");
        }
    };
    let mut bag = check_bag(store, &root, request, &mut ledger, Findings::default());
    let maker = maker(&bag);
    match maker {
        Maker::Ours(_) => check_pack(&mut bag, limits, &mut ledger),
        Maker::OursUnknown(version) => ledger.not_done(
            Kind::Pack,
            Findings::default(),
            format!("pack version {version} is not known to this build; checked as a bag only"),
        ),
        Maker::Foreign => {
            ledger.not_done(Kind::Pack, Findings::default(), "not one of our packs; checked as a bag only");
        }
    }
    file_form(&form, maker, &mut ledger);
    match maker {
        _ if request.depth == Depth::Quick => {
            ledger.not_done(Kind::Signature, Findings::default(), NOT_AT_THIS_DEPTH);
            ledger.not_done(Kind::TimeStamp, Findings::default(), NOT_AT_THIS_DEPTH);
        }
        Maker::Ours(_) | Maker::OursUnknown(_) => {
            check_signatures(&mut bag, request, &mut ledger);
            check_time_stamps(&mut bag, request, &mut ledger);
        }
        Maker::Foreign => {
            ledger.not_done(Kind::Signature, Findings::default(), "only known for our own packs");
            ledger.not_done(Kind::TimeStamp, Findings::default(), "only known for our own packs");
        }
    }
    if request.depth < Depth::ReDerive {
        for kind in CONTENT {
            ledger.not_done(kind, Findings::default(), NOT_AT_THIS_DEPTH);
        }
    } else if !matches!(maker, Maker::Ours(_)) {
        for kind in CONTENT {
            ledger.not_done(kind, Findings::default(), "only known for our own packs");
        }
    } else if !ledger.any_failed() {
        derive(&mut bag, &mut ledger);
    }
    ledger.not_done(Kind::Chain, Findings::default(), "no older packs were given");
    let outcome = match (ledger.any_failed(), maker, &form) {
        (true, _, _) if ledger.only_content_failed() => Outcome::Contradicted,
        (true, _, _) => Outcome::Altered,
        (_, Maker::Foreign | Maker::OursUnknown(_), _) => Outcome::ForeignBag,
        (_, Maker::Ours(_), Form::Canonical) => Outcome::Intact,
        (_, Maker::Ours(_), Form::Other(_)) => Outcome::Rezipped,
        (_, Maker::Ours(_), _) if request.depth == Depth::Quick => Outcome::Complete,
        (_, Maker::Ours(_), Form::NotLookedAt) => Outcome::Complete,
        (_, Maker::Ours(_), Form::Folder) => Outcome::Unpacked,
    };
    let identity = bag.identity.take();
    let external_identifier = bag.metadata.values("External-Identifier").next().map(str::to_owned);
    let mut report = report(outcome, request.depth, ledger, "an earlier check failed");
    report.identity = identity;
    report.external_identifier = external_identifier;
    report.pack_version = match maker {
        Maker::Ours(version) | Maker::OursUnknown(version) => Some(version),
        Maker::Foreign => None,
    };
    report
}

fn file_form(form: &Form, maker: Maker, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    match (form, maker) {
        (Form::NotLookedAt, _) => ledger.not_done(Kind::Form, findings, NOT_AT_THIS_DEPTH),
        (Form::Folder, _) => ledger.not_done(Kind::Form, findings, "a folder, not a zip"),
        (Form::Canonical, _) => {
            ledger.done(Kind::Form, findings, "byte for byte");
        }
        (Form::Other(_), Maker::Foreign | Maker::OursUnknown(_)) => {
            ledger.not_done(Kind::Form, findings, "only known for our own packs");
        }
        (Form::Other(deviations), Maker::Ours(_)) => {
            for deviation in deviations {
                findings.note(Problem::new("", deviation.clone()));
            }
            ledger.differs(Kind::Form, findings, "another tool packed the zip; its files are judged below");
        }
    }
}

fn refused(troubles: Vec<Trouble>, mut ledger: Ledger, depth: Depth) -> Report {
    let mut findings = Findings::default();
    let mut outcome = Outcome::Refused;
    for trouble in troubles {
        match trouble {
            Trouble::Refused(problem) => findings.fail(problem),
            Trouble::CannotOpen(what) => {
                outcome = Outcome::CannotOpen;
                findings.fail(Problem::new("", what));
            }
        }
    }
    ledger.done(Kind::Archive, findings, "");
    let reason = match outcome {
        Outcome::CannotOpen => "the file could not be opened as a zip",
        _ => "the zip was refused",
    };
    report(outcome, depth, ledger, reason)
}

fn report(outcome: Outcome, depth: Depth, ledger: Ledger, reason: &str) -> Report {
    Report {
        outcome,
        depth,
        pack_version: None,
        identity: None,
        external_identifier: None,
        checks: ledger.finish(reason),
    }
}
