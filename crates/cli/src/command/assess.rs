//! `assess`: the verdict with its reasons.

use super::{outcome, standards};
use crate::arguments::Assess;
use crate::command::convert::program;
use crate::exit::CommandResult;
use crate::plugins::plugins;
use crate::render::{Output, verdict};
use host::{ConvertRequest, ReadSettings, convert_jobs, find_jobs};
use plugin_api::wire::v1;

pub(crate) fn run(given: &Assess, output: &Output) -> CommandResult {
    let plugins = plugins();
    let standards = standards::at_hand(&given.standards)?;
    let jobs = find_jobs(&given.inputs)?;
    let request = ConvertRequest {
        formats: Vec::new(),
        out: std::path::PathBuf::new(),
        replace: false,
        language: "en".into(),
        template_files: Vec::new(),
        standards: &standards,
        read: ReadSettings { reader: given.from.clone(), ..ReadSettings::default() },
        program: program(),
    };
    let results = convert_jobs(&plugins, &jobs, &request, &|_| {})?;
    let several = results.len() > 1;
    for (index, result) in results.iter().enumerate() {
        output.findings(several.then_some(result.name.as_str()), &result.findings);
        let (Some(record), Some(assessment)) = (&result.record, &result.assessment) else { continue };
        if given.json {
            let mut value = v1::assessment_to_value(assessment);
            if let Some(object) = value.as_object_mut() {
                object.shift_insert(0, "job".into(), result.name.clone().into());
            }
            output.print(&if several { format!("{value}\n") } else { format!("{value:#}\n") })?;
        } else {
            let gap = if index > 0 { "\n" } else { "" };
            output.print(&format!("{gap}{}", verdict::full(&result.name, record, assessment)))?;
        }
    }
    Ok(outcome::exit(&results, &given.fail_on))
}
