//! The standards at hand for a command.

use crate::arguments::StandardsFrom;
use crate::exit::CommandError;
use host::Standards;

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
