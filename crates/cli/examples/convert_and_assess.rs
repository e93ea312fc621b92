//! Another program that converts and assesses jobs: `cargo run --example convert_and_assess -- JOBS OUT`.
#![allow(clippy::print_stdout, reason = "an example prints what it found")]

use host::{ConvertRequest, Plugins, Standards, convert_job, find_jobs};
use std::path::Path;

/// What a job came to, by its name.
pub(crate) type Verdicts = Vec<(String, Option<assess::Verdict>)>;

/// Converts every job below a folder.
///
/// # Errors
/// Where there is no job, or an input can't be read.
pub(crate) fn convert_and_assess(jobs: &Path, out: &Path) -> Result<Verdicts, Box<dyn std::error::Error>> {
    // README begins
    let plugins = Plugins {
        readers: vec![Box::new(plugin_csv::CsvLogs), Box::new(plugin_trace::TraceReader)],
        writers: vec![Box::new(plugin_xml::Xml), Box::new(plugin_results::Results)],
        ..Plugins::default()
    };
    let standards = Standards::built_in().map_err(|findings| format!("{findings:?}"))?;
    let request = ConvertRequest::new(&["xml", "csv"], out, &standards);
    let mut verdicts = Vec::new();
    for job in find_jobs(&[jobs.to_owned()])? {
        let result = convert_job(&plugins, &job, &request, &out.join(job.name()))?;
        verdicts.push((result.name, result.assessment.map(|assessment| assessment.verdict())));
    }
    // README ends
    Ok(verdicts)
}

#[allow(dead_code, reason = "the test calls the function above")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(jobs), Some(out)) = (arguments.next(), arguments.next()) else {
        return Err("convert_and_assess JOBS OUT".into());
    };
    for (name, verdict) in convert_and_assess(Path::new(&jobs), Path::new(&out))? {
        println!("{name}: {}", verdict.map_or("refused", |verdict| verdict.as_str()));
    }
    Ok(())
}
