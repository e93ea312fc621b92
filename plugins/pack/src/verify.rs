//! Verifies a pack or any other BagIt bag, in a zip or in a folder.

use crate::bag_check::check_bag;
use crate::bag_files::find_root;
use crate::names::{NameBounds, refusal};
use crate::pack_check::{Maker, check_pack, maker};
use crate::report::{Findings, Kind, Ledger, Outcome, Problem, Report};
use crate::store::{EntryKind, Limits, Store};
use crate::zip_end::Trouble;
use crate::zip_read::ZipStore;
use std::io::{Read, Seek};

const NO_SIGNATURE_CHECK: &str = "this build checks no signatures; an unsigned pack proves integrity only";
const NO_DERIVATION: &str = "verdict not re-derived; that it follows from the record was not checked";

/// Verifies a zip.
pub fn verify_zip<R: Read + Seek>(reader: R, limits: &Limits) -> Report {
    let mut ledger = Ledger::default();
    let mut zip = match ZipStore::open(reader, limits) {
        Ok(zip) => zip,
        Err(troubles) => return refused(troubles, ledger),
    };
    let mut archive = Findings::default();
    for note in std::mem::take(&mut zip.notes) {
        archive.note(note);
    }
    let bytes: u64 = zip.entries().iter().map(|entry| entry.size).fold(0, u64::saturating_add);
    ledger.done(Kind::Archive, archive, format!("{} entries, {bytes} bytes unpacked", zip.entries().len()));
    let mut deviations = std::mem::take(&mut zip.deviations);
    match zip.check_seal() {
        Ok(None) => {}
        Ok(Some(what)) => deviations.push(what),
        Err(error) => return refused(vec![error.into()], ledger),
    }
    let form = if deviations.is_empty() { Form::Canonical } else { Form::Other(deviations) };
    verify_store(&mut zip, form, limits, ledger)
}

/// Verifies a folder: the bag's own folder, or one that holds nothing else.
pub fn verify_folder(store: &mut dyn Store, limits: &Limits) -> Report {
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
        return report(Outcome::Refused, ledger, "the folder was refused");
    }
    verify_store(store, Form::Folder, limits, ledger)
}

/// How the bag came to us.
enum Form {
    Canonical,
    Other(Vec<String>),
    Folder,
}

fn verify_store(store: &mut dyn Store, form: Form, limits: &Limits, mut ledger: Ledger) -> Report {
    let root = match find_root(store) {
        Ok(root) => root,
        Err(problem) => {
            let mut findings = Findings::default();
            findings.fail(problem);
            ledger.done(Kind::Root, findings, "");
            return report(Outcome::Refused, ledger, "there is no single bag to check");
        }
    };
    let mut bag = check_bag(store, &root, limits, &mut ledger, Findings::default());
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
    ledger.not_done(Kind::Signature, Findings::default(), NO_SIGNATURE_CHECK);
    ledger.not_done(Kind::Verdict, Findings::default(), NO_DERIVATION);
    let outcome = match (ledger.any_failed(), maker, &form) {
        (true, _, _) => Outcome::Altered,
        (_, Maker::Foreign | Maker::OursUnknown(_), _) => Outcome::ForeignBag,
        (_, Maker::Ours(_), Form::Canonical) => Outcome::Intact,
        (_, Maker::Ours(_), Form::Other(_)) => Outcome::Rezipped,
        (_, Maker::Ours(_), Form::Folder) => Outcome::Unpacked,
    };
    let identity = bag.identity.take();
    let external_identifier = bag.metadata.values("External-Identifier").next().map(str::to_owned);
    let mut report = report(outcome, ledger, "an earlier check failed");
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

fn refused(troubles: Vec<Trouble>, mut ledger: Ledger) -> Report {
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
    report(outcome, ledger, reason)
}

fn report(outcome: Outcome, ledger: Ledger, reason: &str) -> Report {
    Report {
        outcome,
        pack_version: None,
        identity: None,
        external_identifier: None,
        checks: ledger.finish(reason),
    }
}
