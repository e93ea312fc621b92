//! A record that was written must read back as the same record, and must come to the same conclusions.

use std::path::Path;

use super::case::Program;
use super::description::Run;
use super::process;
use super::workplace::{Tree, Workplace, tree};

/// The ending of the conclusions that stand beside a record.
const CONCLUSIONS: &str = ".assessment.json";

/// Converts each canonical record among the outputs to the canonical form again; what differs is wrong.
pub(crate) fn wrong(program: &Program, written: &Tree) -> Result<Vec<String>, String> {
    let mut wrong = Vec::new();
    for (path, bytes) in written.iter().filter(|(path, bytes)| is_record(path, bytes)) {
        let place = Workplace::new()?;
        let name = Path::new(path).file_name().unwrap_or_default().to_string_lossy().into_owned();
        std::fs::write(place.path.join(&name), bytes).map_err(|error| format!("{path}: {error}"))?;
        let args = ["convert", &name, "--to", "json", "--out", "again", "--quiet"];
        let run = Run::plain(&args);
        let outcome = process::run(program, &run, &place.path, &std::collections::BTreeMap::new())?;
        let again = tree(&place.path.join("again"))?;
        if again.is_empty() {
            wrong.push(format!("{path}: is not read back: {}", String::from_utf8_lossy(&outcome.stderr)));
            continue;
        }
        let stem = path.strip_suffix(".json").unwrap_or(path);
        let stem_of_name = name.strip_suffix(".json").unwrap_or(&name);
        let conclusions = written.get(&format!("{stem}{CONCLUSIONS}"));
        let pairs = [
            (path.clone(), Some(bytes), again.get(&name)),
            (format!("{stem}{CONCLUSIONS}"), conclusions, again.get(&format!("{stem_of_name}{CONCLUSIONS}"))),
        ];
        for (path, before, after) in pairs {
            if before.is_some() && before != after {
                wrong.push(format!("{path}: differs once it is read back and written again"));
            }
        }
    }
    Ok(wrong)
}

/// A JSON file that says which form of the record it holds.
fn is_record(path: &str, bytes: &[u8]) -> bool {
    path.ends_with(".json")
        && !path.ends_with(CONCLUSIONS)
        && serde_json::from_slice::<serde_json::Value>(bytes)
            .is_ok_and(|value| value.get("schema").is_some() && value.get("sources").is_some())
}
