//! Follows the chain of amendments: from a pack to those that it amends or replaces, by their identities.

use super::checked;
use crate::command::older::older;
use crate::exit::CommandError;
use plugin_pack::{Depth, OpenPack, Report, Request, Standing};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// One pack of the chain.
struct Link {
    path: PathBuf,
    pack: OpenPack,
}

/// Enters into the report of the newest pack whether the older ones are those that it and they name.
pub(super) fn follow(
    newest: &Path,
    given: &[PathBuf],
    request: &Request,
    report: &mut Report,
) -> Result<(), CommandError> {
    if !report.outcome.is_sound() {
        return Ok(());
    }
    let request = Request {
        depth: Depth::Full,
        signers: request.signers.clone(),
        at: request.at,
        ..Request::default()
    };
    let mut problems = Vec::new();
    let mut by_identity = BTreeMap::new();
    for path in given {
        let (found, stores) = checked(path, &request)?;
        let name = path.display();
        match (found.outcome.is_sound(), found.identity) {
            (true, Some(identity)) => match OpenPack::open(stores, &request.limits) {
                Ok(pack) => {
                    by_identity.insert(identity, Link { path: path.clone(), pack });
                }
                Err(_) => problems.push(format!("{name} is no pack that this build can read")),
            },
            _ => problems.push(format!("{name} is not in order: {}", found.outcome.sentence())),
        }
    }
    let (_, stores) = checked(newest, &request)?;
    let Ok(pack) = OpenPack::open(stores, &request.limits) else { return Ok(()) };
    let mut current = Link { path: newest.to_owned(), pack };
    let mut steps = Vec::new();
    let mut open_end = None;
    loop {
        let identity = &current.pack.record.facts.report;
        let name = current.path.display().to_string();
        let Some(wanted) = &identity.amends_pack else {
            if let Some(number) = &identity.amends {
                open_end =
                    Some(format!("{name} amends report {number} and does not name its pack's identity"));
            }
            break;
        };
        let Some(next) = by_identity.remove(wanted) else {
            open_end = Some(format!("{name} amends the pack {wanted}, which was not given"));
            break;
        };
        let number = &next.pack.record.facts.report.number;
        if identity.amends.is_some() && identity.amends != *number {
            problems.push(format!(
                "{name} says that it amends report {}, the pack that it names is of report {}",
                identity.amends.as_deref().unwrap_or_default(),
                number.as_deref().unwrap_or("without a number")
            ));
        }
        let reason = identity.amendment_reason.as_deref().unwrap_or("no reason stated");
        let compared = match held(&current.pack, wanted, &next.pack) {
            Stated::Nothing => "",
            Stated::AsFound => "; what it states to change is what differs",
            Stated::OtherRules => "; it states its changes under other rules: not compared",
            Stated::Otherwise(name) => {
                problems.push(format!(
                    "{}: {name} in it is not what differs between it and {}",
                    current.path.display(),
                    next.path.display()
                ));
                ""
            }
        };
        steps.push(format!("{name} amends {} ({reason}){compared}", next.path.display()));
        current = next;
    }
    for link in by_identity.into_values() {
        problems
            .push(format!("{} is not in the chain: no newer pack names its identity", link.path.display()));
    }
    report.enter_chain(match (problems.is_empty(), open_end) {
        (false, _) => Standing::Failed(problems),
        (true, Some(reason)) => Standing::NotDone([steps, vec![reason]].concat().join("; ")),
        (true, None) => Standing::Done(steps),
    });
    Ok(())
}

/// What became of the changes that a pack states.
enum Stated {
    Nothing,
    AsFound,
    OtherRules,
    /// The document states something else.
    Otherwise(String),
}

/// Holds what a pack states to change against what differs from the pack that it amends.
fn held(pack: &OpenPack, identity: &str, earlier: &OpenPack) -> Stated {
    let Some((name, stated)) = &pack.changes else {
        return if pack.states_changes() { Stated::OtherRules } else { Stated::Nothing };
    };
    let assessment = assess::assess(&pack.record, pack.standard.as_ref().map(|(_, standard)| standard));
    let found = older(String::new(), identity.to_owned(), earlier).changes(&pack.record, &assessment);
    if found == *stated { Stated::AsFound } else { Stated::Otherwise(name.clone()) }
}
