//! Checks a bag against RFC 8493: structure, completeness, every checksum.

use crate::algorithms::Algorithm;
use crate::bag_files::{BagFiles, Root};
use crate::manifest::{ManifestLine, OddLine, Scope, manifest_name, read_fetch, read_manifest};
use crate::names::{collision_key, portability};
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::store::{Limits, Store};
use crate::tag_text::{Declaration, Metadata, Version, declaration, decode};
use std::collections::{BTreeMap, BTreeSet};

/// A manifest that was read.
struct Manifest {
    name: String,
    scope: Scope,
    algorithm: Algorithm,
    lines: Vec<ManifestLine>,
}

/// What further checks of a pack of ours need to know about its bag.
pub(crate) struct Bag<'s> {
    pub(crate) files: BagFiles<'s>,
    pub(crate) metadata: Metadata,
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
    limits: &Limits,
    ledger: &mut Ledger,
    mut members: Findings,
) -> Bag<'s> {
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
    let identity = check_digests(&mut files, &expected, &manifests, ledger, &mut members);
    let detail = format!("{} files", files.paths().count());
    ledger.done(Kind::Members, members, detail);

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

fn read_text(
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

fn file_odd(name: &str, odd: Vec<OddLine>, findings: &mut Findings) {
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

/// The digests that a file must have: algorithm, digest, and the manifest that says so.
type Expected<'m> = BTreeMap<String, Vec<(Algorithm, &'m str, &'m str)>>;

/// Compares what is listed with what is there. Returns the digests to be checked.
fn check_completeness<'m>(
    files: &mut BagFiles<'_>,
    declared: &Declaration,
    manifests: &'m [Manifest],
    limits: &Limits,
    ledger: &mut Ledger,
    members: &mut Findings,
) -> Expected<'m> {
    let fetch = read_fetch_list(files, declared, limits, ledger, members);
    let mut findings = Findings::default();
    let mut expected: Expected<'m> = BTreeMap::new();
    let payload_manifests: Vec<&Manifest> = manifests.iter().filter(|m| m.scope == Scope::Payload).collect();
    let by_key: BTreeMap<String, String> =
        files.paths().map(|path| (collision_key(path), path.to_owned())).collect();
    let mut listed_somewhere: BTreeSet<String> = BTreeSet::new();
    let mut missing: BTreeSet<&str> = BTreeSet::new();
    for manifest in manifests {
        let mut listed_here: BTreeSet<&str> = BTreeSet::new();
        for line in &manifest.lines {
            let raw = line.raw_path.as_deref().filter(|_| !declared.version.is_strict());
            let Some(found) = raw.and_then(|raw| files.find(raw)).or_else(|| files.find(&line.path)) else {
                if missing.insert(&line.path) {
                    let at = format!("{}:{}", manifest.name, line.line);
                    findings.fail(missing_file(&by_key, &line.path, &at, &fetch));
                }
                listed_here.insert(&line.path);
                continue;
            };
            if found != line.path && raw.is_none() {
                findings.note(Problem::new(found, "is listed under another Unicode form of its name"));
            }
            if manifest.scope == Scope::Payload {
                listed_somewhere.insert(found.to_owned());
            }
            expected.entry(found.to_owned()).or_default().push((
                manifest.algorithm,
                &line.digest,
                &manifest.name,
            ));
            listed_here.insert(&line.path);
        }
        if manifest.scope == Scope::Tags && declared.version.is_strict() {
            tag_manifest_rules(manifest, files, &listed_here, &mut findings);
        }
    }
    for path in files.payload() {
        let holders =
            expected.get(path).map_or(0, |list| list.iter().filter(|(_, _, name)| is_payload(name)).count());
        if !listed_somewhere.contains(path) {
            findings.fail(Problem::new(path, "is in no manifest: it does not belong to the bag"));
        } else if declared.version.is_strict() && holders < payload_manifests.len() {
            findings.fail(Problem::new(path, "is not listed in every payload manifest"));
        }
    }
    if declared.version.is_strict() && !fetch.is_empty() {
        let lists: Vec<BTreeSet<&str>> = payload_manifests
            .iter()
            .map(|m| m.lines.iter().map(|line| line.path.as_str()).collect())
            .collect();
        for path in fetch.iter().filter(|path| !lists.iter().all(|list| list.contains(path.as_str()))) {
            let what =
                format!("lists `{}`, which is not in every payload manifest", crate::names::shown(path));
            findings.fail(Problem::new("fetch.txt", what));
        }
    }
    if manifests.is_empty() {
        ledger.not_done(Kind::Completeness, findings, "there is no manifest to compare with");
    } else {
        let detail = format!("{} payload files, all listed", files.payload().count());
        ledger.done(Kind::Completeness, findings, detail);
    }
    expected
}

fn is_payload(manifest: &str) -> bool {
    matches!(manifest_name(manifest), Some((Scope::Payload, _)))
}

fn missing_file(
    by_key: &BTreeMap<String, String>,
    path: &str,
    at: &str,
    fetch: &BTreeSet<String>,
) -> Problem {
    if fetch.contains(path) {
        return Problem::new(path, format!("is only in fetch.txt (listed in {at}): the bag is incomplete"))
            .help("nothing is ever downloaded here; get the complete bag from its sender");
    }
    let problem = Problem::new(path, format!("is missing (listed in {at})"));
    match by_key.get(&collision_key(path)) {
        Some(near) => {
            problem.help(format!("`{}` is there, which differs by case", crate::names::shown(near)))
        }
        None => problem,
    }
}

/// RFC 8493 section 2.2.1.
fn tag_manifest_rules(
    manifest: &Manifest,
    files: &BagFiles<'_>,
    listed: &BTreeSet<&str>,
    findings: &mut Findings,
) {
    for path in files.tags() {
        if matches!(manifest_name(path), Some((Scope::Payload, _))) && !listed.contains(path) {
            findings.fail(Problem::new(
                &manifest.name,
                format!("does not list {path}, as every tag manifest must"),
            ));
        }
    }
    for line in &manifest.lines {
        if matches!(manifest_name(&line.path), Some((Scope::Tags, _))) {
            findings.fail(Problem::new(
                &format!("{}:{}", manifest.name, line.line),
                "lists a tag manifest, which it must not",
            ));
        }
    }
}

/// Reads `fetch.txt`; nothing in it is ever fetched.
fn read_fetch_list(
    files: &mut BagFiles<'_>,
    declared: &Declaration,
    limits: &Limits,
    ledger: &mut Ledger,
    members: &mut Findings,
) -> BTreeSet<String> {
    let mut findings = Findings::default();
    let mut paths = BTreeSet::new();
    if !files.contains("fetch.txt") {
        ledger.done(Kind::Fetch, findings, "");
        return paths;
    }
    match read_text(files, "fetch.txt", declared, limits, members) {
        Err(problem) => findings.fail(problem),
        Ok(text) => {
            let (lines, odd) = read_fetch(&text, declared.version);
            file_odd("fetch.txt", odd, &mut findings);
            for line in lines {
                if files.find(&line.path).is_none() {
                    findings.fail(
                        Problem::new(
                            &format!("fetch.txt:{}", line.line),
                            format!(
                                "`{}` would still have to be downloaded",
                                crate::names::shown(&line.path)
                            ),
                        )
                        .help("nothing is ever downloaded here; get the complete bag from its sender"),
                    );
                }
                paths.insert(line.path);
            }
            if !paths.is_empty() {
                findings.note(Problem::new("fetch.txt", "its addresses were not followed"));
            }
        }
    }
    ledger.done(Kind::Fetch, findings, format!("{} files listed, all present", paths.len()));
    paths
}

fn check_oxum(files: &BagFiles<'_>, metadata: &Metadata, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let stated: Vec<&str> = metadata.values("Payload-Oxum").collect();
    let count = files.payload().count() as u64;
    let bytes: u64 = files.payload().map(|path| files.size(path)).fold(0, u64::saturating_add);
    let detail = format!("{count} files, {bytes} bytes");
    match stated.as_slice() {
        [] => {
            ledger.not_done(Kind::Oxum, findings, "the bag does not state it");
            return;
        }
        [oxum] => {
            let numbers = oxum
                .split_once('.')
                .and_then(|(a, b)| Some((a.parse::<u64>().ok()?, b.parse::<u64>().ok()?)));
            match numbers {
                None => {
                    findings.fail(Problem::new("bag-info.txt", "Payload-Oxum is not two numbers with a dot"))
                }
                Some((b, _)) if b != bytes => {
                    findings.fail(Problem::new(
                        "bag-info.txt",
                        format!("Payload-Oxum says {b} bytes, there are {bytes}"),
                    ));
                }
                Some((_, c)) if c != count => {
                    findings.fail(Problem::new(
                        "bag-info.txt",
                        format!("Payload-Oxum says {c} files, there are {count}"),
                    ));
                }
                Some(_) => {}
            }
        }
        _ => findings.fail(Problem::new("bag-info.txt", "Payload-Oxum is stated more than once")),
    }
    ledger.done(Kind::Oxum, findings, detail);
}

/// Reads every file of the bag once and compares its digests. Returns the identity.
fn check_digests(
    files: &mut BagFiles<'_>,
    expected: &Expected<'_>,
    manifests: &[Manifest],
    ledger: &mut Ledger,
    members: &mut Findings,
) -> Option<String> {
    let mut payload = Findings::default();
    let mut tags = Findings::default();
    let (mut payload_count, mut tag_count) = (0_usize, 0_usize);
    let mut identity = None;
    for path in files.in_store_order() {
        let wanted = expected.get(&path).map(Vec::as_slice).unwrap_or_default();
        let is_payload = path.starts_with("data/");
        let findings = if is_payload { &mut payload } else { &mut tags };
        let is_identity = path == "tagmanifest-sha256.txt";
        let algorithms: BTreeSet<Algorithm> = wanted
            .iter()
            .map(|(algorithm, _, _)| *algorithm)
            .chain(is_identity.then_some(Algorithm::Sha256))
            .collect();
        let (size, found) = match files.digest(&path, algorithms) {
            Ok(done) => done,
            Err(problem) => {
                members.fail(problem.clone());
                findings.fail(problem);
                continue;
            }
        };
        if size != files.size(&path) {
            members.fail(Problem::new(&path, format!("has {size} bytes, {} were listed", files.size(&path))));
        }
        if is_identity {
            identity =
                found.iter().find(|(algorithm, _)| *algorithm == Algorithm::Sha256).map(|(_, d)| d.clone());
        }
        for (algorithm, digest, manifest) in wanted {
            let actual = found.iter().find(|(known, _)| known == algorithm).map(|(_, d)| d.as_str());
            if actual != Some(*digest) {
                findings.fail(Problem::new(
                    &path,
                    format!(
                        "its {} is {}, {manifest} says {digest}",
                        algorithm.name(),
                        actual.unwrap_or("unknown")
                    ),
                ));
            }
        }
        if !wanted.is_empty() {
            if is_payload { payload_count += 1 } else { tag_count += 1 }
        }
    }
    let named = |scope: Scope| -> String {
        let names: BTreeSet<&str> =
            manifests.iter().filter(|m| m.scope == scope).map(|m| m.algorithm.name()).collect();
        names.into_iter().collect::<Vec<_>>().join(" and ")
    };
    if manifests.iter().any(|m| m.scope == Scope::Payload) {
        ledger.done(
            Kind::PayloadChecksums,
            payload,
            format!("{payload_count} files, {}", named(Scope::Payload)),
        );
    } else {
        ledger.not_done(Kind::PayloadChecksums, payload, "there is no payload manifest");
    }
    if manifests.iter().any(|m| m.scope == Scope::Tags) {
        ledger.done(Kind::TagChecksums, tags, format!("{tag_count} files, {}", named(Scope::Tags)));
    } else {
        ledger.not_done(Kind::TagChecksums, tags, "the bag has no tag manifest, it is optional");
    }
    identity
}
