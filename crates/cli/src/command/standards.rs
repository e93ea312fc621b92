//! The standards at hand for a command, and `standards list` and `standards show`.

use crate::arguments::{StandardsFrom, StandardsList, StandardsShow};
use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::{Output, standard};
use host::{KnownStandard, Standards};
use serde_json::json;

pub(super) fn at_hand(from: &StandardsFrom) -> Result<Standards, CommandError> {
    let mut standards = Standards::built_in().map_err(CommandError::Findings)?;
    for path in &from.standards {
        let findings = standards.add_path(path)?;
        if !findings.is_empty() {
            return Err(CommandError::Findings(findings));
        }
    }
    Ok(standards)
}

pub(crate) fn list(given: &StandardsList, output: &Output) -> CommandResult {
    let standards = at_hand(&given.standards)?;
    let mut known: Vec<&KnownStandard> = standards.all().iter().collect();
    known.sort_by(|a, b| a.standard.id.cmp(&b.standard.id));
    let mut text = String::new();
    for known in known {
        let of = &known.standard;
        if given.json {
            text += &format!(
                "{}\n",
                json!({
                    "id": of.id, "name": of.full_name(), "title": of.title, "version": of.version,
                    "laid_over": of.laid_over, "built_in": known.built_in,
                    "levels": of.levels.iter().map(|l| l.name.as_str()).collect::<Vec<_>>(),
                })
            );
        } else {
            text += &standard::line(of, known.built_in);
        }
    }
    if !given.json {
        text += standard::LIST_END;
    }
    output.print(&text)?;
    Ok(Exit::Done)
}

pub(crate) fn show(given: &StandardsShow, output: &Output) -> CommandResult {
    let standards = at_hand(&given.standards)?;
    let known = find(&standards, &given.id)?;
    if given.toml {
        output.print(&known.text)?;
    } else {
        output.print(&standard::full(&known.standard, given.sources))?;
    }
    Ok(Exit::Done)
}

/// The standard of an id.
///
/// # Errors
/// When none has that id; the nearest ids are named.
pub(super) fn find<'a>(standards: &'a Standards, id: &str) -> Result<&'a KnownStandard, CommandError> {
    standards.get(id).ok_or_else(|| {
        let mut ids: Vec<&str> = standards.all().iter().map(|k| k.standard.id.as_str()).collect();
        ids.sort_unstable();
        let near: Vec<&str> =
            ids.iter().copied().filter(|known| known.contains(id) || id.contains(*known)).collect();
        let known = if near.is_empty() { ids } else { near };
        CommandError::Usage(format!("no standard has the id `{id}`; at hand: {}", known.join(", ")))
    })
}
