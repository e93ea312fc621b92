//! Packs of earlier reports that jobs amend: checked, opened and assessed again.

use super::verify::checked;
use crate::exit::CommandError;
use host::OlderPack;
use plugin_pack::{Depth, OpenPack, Request};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Opens the packs of earlier reports.
///
/// # Errors
/// When one is not in order: what it says must not get into a report.
pub(crate) fn opened(paths: &[PathBuf]) -> Result<Vec<OlderPack>, CommandError> {
    paths.iter().map(|path| one(path)).collect()
}

fn one(path: &Path) -> Result<OlderPack, CommandError> {
    let request = Request { depth: Depth::ReDerive, ..Request::default() };
    let name = path.display();
    let (report, stores) = checked(path, &request)?;
    let identity = match report.identity.filter(|_| report.outcome.is_sound()) {
        Some(identity) => identity,
        None => {
            let text = format!("--older {name}: {}; `fulgurite verify` says more", report.outcome.sentence());
            return Err(CommandError::Usage(text));
        }
    };
    let pack = OpenPack::open(stores, &request.limits)
        .map_err(|_| CommandError::Usage(format!("--older {name}: no pack that this build can read")))?;
    Ok(older(name.to_string(), identity, &pack))
}

/// A pack that was checked, as the side that another report is compared with.
pub(crate) fn older(file: String, identity: String, pack: &OpenPack) -> OlderPack {
    let assessment = assess::assess(&pack.record, pack.standard.as_ref().map(|(_, standard)| standard));
    let rules_version = pack.assessment.get("rules_version").and_then(serde_json::Value::as_u64);
    OlderPack { file, identity, record: Arc::clone(&pack.record), assessment, rules_version }
}
