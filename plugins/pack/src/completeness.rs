//! What a bag lists against what it holds: nothing missing, nothing added, nothing left to download.

use crate::algorithms::Algorithm;
use crate::bag_check::{Manifest, file_odd, read_text};
use crate::bag_files::BagFiles;
use crate::manifest::{Scope, manifest_name, read_fetch};
use crate::names::collision_key;
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::store::Limits;
use crate::tag_text::{Declaration, Metadata};
use std::collections::{BTreeMap, BTreeSet};

/// The digests that a file must have: algorithm, digest, and the manifest that says so.
pub(crate) type Expected<'m> = BTreeMap<String, Vec<(Algorithm, &'m str, &'m str)>>;

/// Compares what is listed with what is there. Returns the digests to be checked.
pub(crate) fn check_completeness<'m>(
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

/// Digits and nothing else: `parse` would take a sign too.
fn plain_number(text: &str) -> Option<u64> {
    text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten()
}

/// Compares the payload with the sum that `bag-info.txt` states.
pub(crate) fn check_oxum(files: &BagFiles<'_>, metadata: &Metadata, ledger: &mut Ledger) {
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
            let numbers = oxum.split_once('.').and_then(|(a, b)| Some((plain_number(a)?, plain_number(b)?)));
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
