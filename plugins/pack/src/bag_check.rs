//! Checks a bag against RFC 8493: structure, completeness, every checksum.

use crate::algorithms::Algorithm;
use crate::bag_files::{BagFiles, Root};
use crate::checksums::check_digests;
use crate::completeness::{check_completeness, check_oxum};
use crate::manifest::{ManifestLine, OddLine, Scope, manifest_name, read_manifest};
use crate::names::{collision_key, portability};
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::request::{Depth, NOT_AT_THIS_DEPTH, Request};
use crate::store::{Limits, Store};
use crate::tag_text::{Declaration, Metadata, Version, declaration, decode};
use std::collections::{BTreeMap, BTreeSet};

/// A manifest that was read.
pub(crate) struct Manifest {
    pub(crate) name: String,
    pub(crate) scope: Scope,
    pub(crate) algorithm: Algorithm,
    pub(crate) lines: Vec<ManifestLine>,
}

/// What further checks of a pack of ours need to know about its bag.
pub(crate) struct Bag<'s> {
    pub(crate) files: BagFiles<'s>,
    pub(crate) metadata: Metadata,
    /// The SHA-256 that the manifests list for each file.
    pub(crate) sha256: BTreeMap<String, String>,
    /// Algorithms of the payload manifests and of the tag manifests.
    pub(crate) payload_algorithms: BTreeSet<Algorithm>,
    pub(crate) tag_algorithms: BTreeSet<Algorithm>,
    /// Tag files listed in each tag manifest.
    pub(crate) listed_tags: BTreeMap<Algorithm, BTreeSet<String>>,
    pub(crate) identity: Option<String>,
}

/// Checks a bag and files each check in the ledger.
pub(crate) fn check_bag<'s>(
    store: &'s mut dyn Store,
    root: &Root,
    request: &Request,
    ledger: &mut Ledger,
    mut members: Findings,
) -> Bag<'s> {
    let limits = &request.limits;
    let mut files = BagFiles::new(store, root);
    let mut root_findings = Findings::default();
    if root.prefix.is_empty() {
        root_findings
            .note(Problem::new("", "the bag's files stand at the top and not in a folder of their own"));
    }
    if !files.has_payload_folder() {
        root_findings.fail(Problem::new("data/", "the payload folder is missing"));
    }
    for path in files.paths() {
        if let Some(what) = portability(path) {
            root_findings.note(Problem::new(path, what));
        }
    }
    collisions(&files, &mut root_findings);
    ledger.done(Kind::Root, root_findings, root.prefix.trim_end_matches('/').to_owned());

    let declared = check_declaration(&mut files, limits, ledger, &mut members);
    let metadata = check_metadata(&mut files, &declared, limits, ledger, &mut members);
    let manifests = check_manifests(&mut files, &declared, limits, ledger, &mut members);
    let expected = check_completeness(&mut files, &declared, &manifests, limits, ledger, &mut members);
    check_oxum(&files, &metadata, ledger);
    let depth = request.depth;
    let identity = check_digests(&mut files, &expected, &manifests, ledger, depth, &mut members);
    if depth == Depth::Quick {
        ledger.not_done(Kind::Members, members, NOT_AT_THIS_DEPTH);
    } else {
        let detail = format!("{} files", files.paths().count());
        ledger.done(Kind::Members, members, detail);
    }
    let sha256 = expected
        .iter()
        .filter_map(|(path, wanted)| {
            let (_, digest, _) = wanted.iter().find(|(algorithm, ..)| *algorithm == Algorithm::Sha256)?;
            Some((path.clone(), (*digest).to_owned()))
        })
        .collect();

    let algorithms = |scope: Scope| {
        manifests
            .iter()
            .filter(|manifest| manifest.scope == scope)
            .map(|manifest| manifest.algorithm)
            .collect()
    };
    let listed_tags = manifests
        .iter()
        .filter(|manifest| manifest.scope == Scope::Tags)
        .map(|manifest| (manifest.algorithm, manifest.lines.iter().map(|line| line.path.clone()).collect()))
        .collect();
    Bag {
        payload_algorithms: algorithms(Scope::Payload),
        tag_algorithms: algorithms(Scope::Tags),
        listed_tags,
        files,
        metadata,
        sha256,
        identity,
    }
}

/// Names in a folder that some other system could not keep apart. (In a zip they have been refused already.)
fn collisions(files: &BagFiles<'_>, findings: &mut Findings) {
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    for path in files.paths() {
        if let Some(other) = seen.insert(collision_key(path), path) {
            findings.note(Problem::new(
                path,
                format!("differs from `{}` only by case or Unicode form", crate::names::shown(other)),
            ));
        }
    }
}

fn check_declaration(
    files: &mut BagFiles<'_>,
    limits: &Limits,
    ledger: &mut Ledger,
    members: &mut Findings,
) -> Declaration {
    let mut findings = Findings::default();
    let mut detail = String::new();
    // With a broken declaration the rest is read as the standard's own version would be, to find what else is wrong.
    let mut declared = Declaration { version: Version::ONE, encoding: encoding_rs::UTF_8 };
    match files.read("bagit.txt", limits.tag_file_bytes) {
        Err(problem) => {
            findings.fail(problem.clone());
            members.fail(problem);
        }
        Ok(bytes) => match declaration(&bytes) {
            Ok(read) => {
                detail =
                    format!("BagIt {}.{}, {}", read.version.major, read.version.minor, read.encoding.name());
                declared = read;
            }
            Err(what) => findings.fail(Problem::new("bagit.txt", what)),
        },
    }
    ledger.done(Kind::Declaration, findings, detail);
    declared
}

/// A text file of the bag, in the declared encoding.
pub(crate) fn read_text(
    files: &mut BagFiles<'_>,
    path: &str,
    declared: &Declaration,
    limits: &Limits,
    members: &mut Findings,
) -> Result<String, Problem> {
    let bytes =
        files.read(path, limits.tag_file_bytes).inspect_err(|problem| members.fail(problem.clone()))?;
    decode(&bytes, declared.encoding, declared.version).map_err(|what| Problem::new(path, what))
}

fn check_metadata(
    files: &mut BagFiles<'_>,
    declared: &Declaration,
    limits: &Limits,
    ledger: &mut Ledger,
    members: &mut Findings,
) -> Metadata {
    let mut findings = Findings::default();
    let mut metadata = Metadata { elements: Vec::new(), odd_lines: Vec::new() };
    // Up to version 0.95 the file had another name (drafts of the specification).
    let Some(name) = ["bag-info.txt", "package-info.txt"].into_iter().find(|name| files.contains(name))
    else {
        ledger.not_done(Kind::BagInfo, findings, "the bag has none, it is optional");
        return metadata;
    };
    match read_text(files, name, declared, limits, members) {
        Err(problem) => findings.fail(problem),
        Ok(text) => {
            metadata = Metadata::read(&text, declared.version);
            for (line, what) in &metadata.odd_lines {
                let problem = Problem::new(&format!("{name}:{line}"), *what);
                if declared.version.is_strict() { findings.fail(problem) } else { findings.note(problem) }
            }
        }
    }
    let detail = format!("{} elements", metadata.elements.len());
    ledger.done(Kind::BagInfo, findings, detail);
    metadata
}

/// Files odd lines under the check that met them.
pub(crate) fn file_odd(name: &str, odd: Vec<OddLine>, findings: &mut Findings) {
    for OddLine { line, what, wrong } in odd {
        let problem = Problem::new(&format!("{name}:{line}"), what);
        if wrong { findings.fail(problem) } else { findings.note(problem) }
    }
}

fn check_manifests(
    files: &mut BagFiles<'_>,
    declared: &Declaration,
    limits: &Limits,
    ledger: &mut Ledger,
    members: &mut Findings,
) -> Vec<Manifest> {
    let mut findings = Findings::default();
    let mut manifests = Vec::new();
    let names: Vec<String> =
        files.tags().filter(|path| manifest_name(path).is_some()).map(str::to_owned).collect();
    for name in names {
        let Some((scope, algorithm_name)) = manifest_name(&name) else { continue };
        let Some(algorithm) = Algorithm::from_name(algorithm_name) else {
            findings
                .note(Problem::new(&name, "its algorithm is not known here, so nothing was checked with it"));
            continue;
        };
        match read_text(files, &name, declared, limits, members) {
            Err(problem) => findings.fail(problem),
            Ok(text) => {
                let (lines, odd) = read_manifest(&text, scope, algorithm, declared.version);
                file_odd(&name, odd, &mut findings);
                if algorithm.is_weak() {
                    findings.note(Problem::new(&name, "finds accidents; such checksums can be forged"));
                }
                manifests.push(Manifest { name: name.clone(), scope, algorithm, lines });
            }
        }
    }
    let payload = manifests.iter().filter(|manifest| manifest.scope == Scope::Payload).count();
    if payload == 0 && findings.is_clean() {
        findings.fail(Problem::new("", "there is no payload manifest with a known algorithm"));
    }
    for manifest in &manifests {
        duplicates(manifest, declared.version, &mut findings);
    }
    let listed: Vec<String> = manifests.iter().map(|m| m.name.clone()).collect();
    ledger.done(Kind::Manifests, findings, listed.join(", "));
    manifests
}

fn duplicates(manifest: &Manifest, version: Version, findings: &mut Findings) {
    let mut seen: BTreeMap<&str, &ManifestLine> = BTreeMap::new();
    for line in &manifest.lines {
        if let Some(first) = seen.insert(&line.path, line) {
            let place = format!("{}:{}", manifest.name, line.line);
            let what =
                format!("lists `{}` again (first in line {})", crate::names::shown(&line.path), first.line);
            let problem = Problem::new(&place, what);
            if version.is_strict() || first.digest != line.digest {
                findings.fail(problem);
            } else {
                findings.note(problem);
            }
        }
    }
}
