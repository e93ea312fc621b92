//! `assess`: the verdict with its reasons.

use super::{mapping, outcome, standards};
use crate::arguments::Assess;
use crate::exit::{CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::{Output, completeness, verdict};
use host::{ConvertRequest, convert_jobs, find_jobs};
use plugin_api::wire::v1;

pub(crate) fn run(given: &Assess, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let jobs = find_jobs(&given.inputs)?;
    let read = match mapping::settings(given.from.as_deref(), given.mapping.as_deref(), &jobs, output)? {
        Some(read) => read,
        None => return Ok(Exit::DataErrors),
    };
    let request = ConvertRequest { read, ..ConvertRequest::new(&[], std::path::Path::new(""), &standards) };
    let several = jobs.len() > 1;
    let mut exit = Exit::Done;
    let mut printed = Ok(());
    let mut first = true;
    convert_jobs(&plugins, &jobs, &request, None, &mut |result| {
        exit = exit.max(outcome::exit(&result, &given.fail_on));
        output.findings(several.then_some(result.name.as_str()), &result.findings);
        let (Some(record), Some(assessment)) = (&result.record, &result.assessment) else { return };
        let text = if given.completeness && given.json {
            let items: Vec<_> = assessment.completeness.iter().map(v1::completeness_to_value).collect();
            format!("{}\n", serde_json::json!({ "job": result.name, "completeness": items }))
        } else if given.completeness {
            completeness::full(&result.name, assessment)
        } else if given.json {
            let mut value = v1::assessment_to_value(assessment);
            if let Some(object) = value.as_object_mut() {
                object.shift_insert(0, "job".into(), result.name.clone().into());
            }
            if several { format!("{value}\n") } else { format!("{value:#}\n") }
        } else {
            let gap = if first { "" } else { "\n" };
            format!("{gap}{}", verdict::full(&result.name, record, assessment))
        };
        first = false;
        if printed.is_ok() {
            printed = output.print(&text);
        }
    })?;
    printed?;
    Ok(exit)
}
