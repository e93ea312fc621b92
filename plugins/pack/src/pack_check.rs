//! What a pack of ours must have beyond being a valid bag.

use crate::bag_check::Bag;
use crate::bag_write::{
    ALGORITHMS, ASSESSMENT_PATH, CONTENTS_PATH, Contents, PACK_VERSION, READ_ME_NAME, RECORD_PATH, Role,
    VERSION_LABEL, VIEWER_PATH,
};
use crate::manifest::{Scope, manifest_name};
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::signature::is_signature;
use crate::store::Limits;
use crate::time_stamp::is_time_stamp;
use std::collections::BTreeSet;

/// What kind of bag this is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Maker {
    /// A pack of this version, which this build knows.
    Ours(u32),
    /// A pack of a version that this build does not know.
    OursUnknown(u32),
    /// Somebody else's bag.
    Foreign,
}

/// Tells packs of ours by `bag-info.txt`.
pub(crate) fn maker(bag: &Bag<'_>) -> Maker {
    let mut versions = bag.metadata.values(VERSION_LABEL);
    match (versions.next().and_then(|text| text.parse().ok()), versions.next()) {
        (Some(PACK_VERSION), None) => Maker::Ours(PACK_VERSION),
        (Some(version), None) => Maker::OursUnknown(version),
        _ => Maker::Foreign,
    }
}

/// Checks the parts that version 1 has.
pub(crate) fn check_pack(bag: &mut Bag<'_>, limits: &Limits, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    for path in [RECORD_PATH, ASSESSMENT_PATH, CONTENTS_PATH, READ_ME_NAME] {
        if !bag.files.contains(path) {
            findings.fail(Problem::new(path, "is missing; every pack has it"));
        }
    }
    for algorithm in ALGORITHMS {
        for (known, stem) in [(&bag.payload_algorithms, "manifest"), (&bag.tag_algorithms, "tagmanifest")] {
            if !known.contains(&algorithm) {
                let name = format!("{stem}-{}.txt", algorithm.name());
                findings.fail(Problem::new(&name, "is missing; every pack has it"));
            }
        }
        if let Some(listed) = bag.listed_tags.get(&algorithm) {
            for path in bag.files.tags() {
                let is_tag_manifest = matches!(manifest_name(path), Some((Scope::Tags, _)));
                if !is_tag_manifest && !is_signature(path) && !is_time_stamp(path) && !listed.contains(path) {
                    findings.fail(Problem::new(
                        path,
                        format!("is not listed in tagmanifest-{}.txt", algorithm.name()),
                    ));
                }
            }
        }
    }
    if bag.files.contains("fetch.txt") {
        findings.fail(Problem::new("fetch.txt", "does not belong into a pack, which is always complete"));
    }
    for path in [RECORD_PATH, ASSESSMENT_PATH] {
        if bag.files.contains(path)
            && let Err(error) = bag
                .files
                .open(path)
                .map_err(|error| error.to_string())
                .and_then(|reader| is_json(std::io::BufReader::new(reader)))
        {
            findings.fail(Problem::new(path, format!("is not JSON: {error}")));
        }
    }
    check_contents(bag, limits, &mut findings);
    ledger.done(Kind::Pack, findings, format!("version {PACK_VERSION}"));
}

fn is_json(reader: impl std::io::Read) -> Result<(), String> {
    serde_json::from_reader::<_, serde::de::IgnoredAny>(reader).map(|_| ()).map_err(|error| error.to_string())
}

/// The table of contents and the payload must be the same set of files.
fn check_contents(bag: &mut Bag<'_>, limits: &Limits, findings: &mut Findings) {
    if !bag.files.contains(CONTENTS_PATH) {
        return;
    }
    let bytes = match bag.files.read(CONTENTS_PATH, limits.tag_file_bytes) {
        Ok(bytes) => bytes,
        Err(problem) => return findings.fail(problem),
    };
    let contents: Contents = match serde_json::from_slice(&bytes) {
        Ok(contents) => contents,
        Err(error) => {
            return findings
                .fail(Problem::new(CONTENTS_PATH, format!("is not a table of contents: {error}")));
        }
    };
    if contents.pack_version != PACK_VERSION {
        findings.fail(Problem::new(CONTENTS_PATH, format!("states pack version {}", contents.pack_version)));
    }
    for absent in &contents.absent {
        let what = format!("was not at hand when the pack was made: {}", crate::names::shown(&absent.why));
        findings.note(Problem::new(&absent.original_name, what));
    }
    let mut listed = BTreeSet::new();
    for entry in &contents.files {
        if !listed.insert(entry.path.as_str()) {
            findings.fail(Problem::new(
                CONTENTS_PATH,
                format!("lists `{}` twice", crate::names::shown(&entry.path)),
            ));
        }
        if bag.files.find(&entry.path).is_none() {
            findings.fail(Problem::new(&entry.path, "is in the table of contents and missing"));
        }
        let fits = match entry.role {
            Role::Record => entry.path == RECORD_PATH,
            Role::Assessment => entry.path == ASSESSMENT_PATH,
            Role::Viewer => entry.path == VIEWER_PATH,
            role => entry.path.strip_prefix(role.folder()).is_some_and(|rest| rest.starts_with('/')),
        };
        if !fits {
            findings.fail(Problem::new(&entry.path, "stands in another folder than its purpose says"));
        }
    }
    let composed: BTreeSet<&str> = listed.iter().filter_map(|path| bag.files.find(path)).collect();
    for path in bag.files.payload() {
        if path != CONTENTS_PATH && !composed.contains(path) {
            findings.fail(Problem::new(path, "is not in the table of contents"));
        }
    }
}
