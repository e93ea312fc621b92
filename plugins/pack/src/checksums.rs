//! Every checksum of a bag, each file read once.

use crate::algorithms::Algorithm;
use crate::bag_check::Manifest;
use crate::bag_files::BagFiles;
use crate::completeness::Expected;
use crate::manifest::Scope;
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::request::{Depth, NOT_AT_THIS_DEPTH};
use std::collections::BTreeSet;

/// Reads every file of the bag once and compares its digests; at the least depth only the bag's own files. Returns the
/// identity.
pub(crate) fn check_digests(
    files: &mut BagFiles<'_>,
    expected: &Expected<'_>,
    manifests: &[Manifest],
    ledger: &mut Ledger,
    depth: Depth,
    members: &mut Findings,
) -> Option<String> {
    let mut payload = Findings::default();
    let mut tags = Findings::default();
    let (mut payload_count, mut tag_count) = (0_usize, 0_usize);
    let mut identity = None;
    for path in files.in_store_order() {
        let wanted = expected.get(&path).map(Vec::as_slice).unwrap_or_default();
        let is_payload = path.starts_with("data/");
        if is_payload && depth == Depth::Quick {
            continue;
        }
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
    if depth == Depth::Quick {
        ledger.not_done(Kind::PayloadChecksums, payload, NOT_AT_THIS_DEPTH);
    } else if manifests.iter().any(|m| m.scope == Scope::Payload) {
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
