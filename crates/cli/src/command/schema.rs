//! `schema NAME`: a schema of the formats that outlive a version of the program.

use crate::arguments::Schema;
use crate::exit::{CommandResult, Exit};
use std::io::Write;

pub(crate) fn run(given: &Schema) -> CommandResult {
    let schema = match given.name.as_str() {
        "form" => plugin_form::form_schema(),
        "mapping" => host::mapping_schema(&crate::plugins::plugins()),
        "record" => plugin_api::wire::v1::record_schema(),
        // clap accepts no other name.
        _ => return Ok(Exit::CouldNotRun),
    };
    anstream::stdout().lock().write_all(format!("{schema:#}\n").as_bytes())?;
    Ok(Exit::Done)
}
