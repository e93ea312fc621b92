//! Takes what a calibration certificate says of a piece of equipment into the job's facts.

use crate::codes;
use plugin_api::wire::v1::{facts_from_value, facts_to_value};
use record::{Draft, Facts, Finding, Origin, Place};
use serde_json::Value;
use std::collections::BTreeMap;

/// What a certificate is the document of: it holds over what was typed, and that is said.
const OF_THE_CERTIFICATE: &[&str] = &["calibrated_on", "certificate", "in_tolerance"];

/// Fills what the job does not state, and says where the two differ. `origins` are those of a list of one. Returns false
/// where the two together are no facts; the findings are filed, and the job must be refused.
pub(crate) fn take(draft: &mut Draft, stated: &Facts, origins: &BTreeMap<String, Origin>) -> bool {
    let Some(from) = stated.equipment.first() else { return true };
    let (mut whole, said) = (facts_to_value(&draft.facts), facts_to_value(stated));
    let Some(said) = said["equipment"][0].as_object() else { return true };
    let index = draft.facts.equipment.iter().position(|e| e.id == from.id);
    let index = index.unwrap_or(draft.facts.equipment.len());
    if index == draft.facts.equipment.len() {
        match whole["equipment"].as_array_mut() {
            Some(list) => list.push(serde_json::json!({ "id": from.id.as_str() })),
            None => whole["equipment"] = serde_json::json!([{ "id": from.id.as_str() }]),
        }
    }
    let Some(into) = whole["equipment"][index].as_object_mut() else { return true };
    for (key, value) in said {
        if key == "id" || value.is_null() {
            continue;
        }
        let path = format!("/equipment/{index}/{key}");
        match into.get(key).filter(|there| !there.is_null()) {
            Some(there) if there == value => {}
            // Names, remarks and laboratories are worded freely: the job's words stay.
            Some(_) if !OF_THE_CERTIFICATE.contains(&key.as_str()) => continue,
            Some(there) => {
                let words = |value: &Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
                let message = format!(
                    "`{key}` of {} is {} in the job and {} in its certificate",
                    from.id.as_str(),
                    words(there),
                    words(value)
                );
                let mut finding = Finding::warning(codes::CERTIFICATE_DIFFERS, message)
                    .help("the certificate holds; mend job.toml, or name the right certificate");
                if let Some(place) = origins.get(&format!("/equipment/0/{key}")).and_then(|o| place(draft, o))
                {
                    finding = finding.at(place);
                }
                if let Some(place) = draft.origins.get(&path).and_then(|o| place(draft, o)) {
                    finding = finding.with_related(place, "in the job");
                }
                draft.findings.push(finding);
            }
            None => {}
        }
        into.insert(key.clone(), value.clone());
        if let Some(origin) = origins.get(&format!("/equipment/0/{key}")) {
            draft.origins.insert(path, origin.clone());
        }
    }
    match facts_from_value(whole, &[]) {
        Ok((facts, _)) => {
            draft.facts = facts;
            true
        }
        Err(troubles) => {
            for trouble in troubles {
                let id = from.id.as_str();
                let message = format!("job and certificate of {id} don't go together: {}", trouble.message);
                let mut finding = Finding::error(trouble.code, message)
                    .help("mend job.toml, or name the right certificate");
                if let Some(place) = draft.origins.get(&trouble.path).and_then(|o| place(draft, o)) {
                    finding = finding.at(place);
                }
                draft.findings.push(finding);
            }
            false
        }
    }
}

fn place(draft: &Draft, origin: &Origin) -> Option<Place> {
    let source = draft.sources.get(origin.source.0 as usize)?;
    Some(Place {
        file: source.name.clone(),
        row: origin.rows.map(|r| r.first),
        column: origin.column,
        label: None,
    })
}
