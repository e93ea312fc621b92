//! `schema NAME`: a schema of the formats that outlive a version of the program.

use crate::arguments::Schema;
use crate::exit::{CommandResult, Exit};
use std::io::Write;

/// What there are schemas of.
pub(crate) const NAMES: &[&str] = &[
    "record",
    "assessment",
    "changes",
    "form",
    "mapping",
    "job",
    "plugin-lines",
    "result",
    #[cfg(feature = "register")]
    "register",
];

pub(crate) fn run(given: &Schema) -> CommandResult {
    let schema = match given.name.as_str() {
        "assessment" => plugin_api::wire::v1::assessment_schema(),
        "changes" => plugin_api::wire::v1::changes_schema(),
        "form" => plugin_form::form_schema(),
        "job" => host::job_schema(&crate::plugins::plugins()),
        "mapping" => host::mapping_schema(&crate::plugins::plugins()),
        "plugin-lines" => plugin_api::wire::stdio::schema(),
        "record" => plugin_api::wire::v1::record_schema(),
        "result" => host::result_line_schema(),
        #[cfg(feature = "register")]
        "register" => {
            anstream::stdout().lock().write_all(register::SCHEMA_SQL.as_bytes())?;
            return Ok(Exit::Done);
        }
        // clap accepts no other name.
        _ => return Ok(Exit::CouldNotRun),
    };
    anstream::stdout().lock().write_all(format!("{schema:#}\n").as_bytes())?;
    Ok(Exit::Done)
}
