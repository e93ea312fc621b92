//! Does a pack's work again with the whole program: reads its originals, writes its papers, looks at its standard's data.

use crate::command::convert::program;
use crate::exit::CommandError;
use crate::plugins::plugins;
use host::{NOT_OF_ORIGINALS, Originals, Standards, read_again, write_documents};
use plugin_api::wire::v1;
use plugin_api::{Body, WriteInput};
use plugin_pack::{ABOUT_PACKS, OpenPack, Report, Rewritten, Role, Standing};
use record::{Record, Severity};

/// Enters what comes of it into the report.
pub(super) fn work_again(pack: &OpenPack, report: &mut Report) -> Result<(), CommandError> {
    let originals = Originals::inside(&pack.record.sources, |id| pack.original(id));
    let left_out = [NOT_OF_ORIGINALS, ABOUT_PACKS].concat();
    report.enter_read_again(pack, read(pack, &originals), &left_out);
    let written = write(pack, &originals)?;
    report.enter_written_again(pack, written);
    if pack.states_changes() {
        let reason = "no older packs were given, so what it states to change was not checked: give the pack that it \
                      amends with --older";
        report.enter_chain(Standing::NotDone(reason.to_owned()));
    }
    let standards = Standards::built_in().map_err(CommandError::Findings)?;
    let known = pack.standard.as_ref().and_then(|(_, own)| standards.get(&own.id));
    report.enter_standard(pack, known.map(|known| (known.standard.version, known.text.as_str())));
    Ok(())
}

fn read(pack: &OpenPack, originals: &Originals) -> Standing<Record> {
    match read_again(&plugins(), &pack.record, originals) {
        Err(reason) => Standing::NotDone(format!("the record can't be read again: {reason}")),
        Ok(job) => match job.record {
            Some(record) => Standing::Done(record),
            None => Standing::Failed(
                job.findings
                    .iter()
                    .filter(|finding| finding.severity == Severity::Error)
                    .map(|finding| {
                        let place =
                            finding.place.as_ref().map(|place| format!("{place}: ")).unwrap_or_default();
                        format!("the original files can't be read again: {place}{}", finding.message)
                    })
                    .collect(),
            ),
        },
    }
}

/// The formats that a pack holds, by the endings of its documents.
const FORMATS: [(&str, &str); 4] = [(".pdf", "pdf"), (".html", "html"), (".xml", "xml"), (".csv", "csv")];

fn write(pack: &OpenPack, originals: &Originals) -> Result<Standing<Vec<Rewritten>>, CommandError> {
    let not_done = |reason: String| Ok(Standing::NotDone(reason));
    let here = program();
    match pack.program() {
        Some(made_by) if made_by == here => {}
        Some(other) => {
            return not_done(format!(
                "the pack was made by {other}, this is {here}: another version may lay out otherwise"
            ));
        }
        None => return not_done("the pack does not say which program made it".to_owned()),
    }
    let rules = pack.assessment.get("rules_version").and_then(serde_json::Value::as_u64);
    if rules != Some(u64::from(assess::RULES_VERSION)) {
        return not_done(
            "they show a result that was made under rules which this build does not have".to_owned(),
        );
    }
    let documents: Vec<_> = pack.documents(Role::Paper).chain(pack.documents(Role::Summary)).collect();
    let with = |ending: &str| documents.iter().find_map(|document| document.name.strip_suffix(ending));
    let formats: Vec<String> = FORMATS
        .iter()
        .filter(|(ending, _)| with(ending).is_some())
        .map(|(_, format)| (*format).to_owned())
        .collect();
    let Some(stem) = [".pdf", ".html", ".xml"].into_iter().find_map(with) else {
        return not_done("the pack has no document from which the job's name is known".to_owned());
    };
    let mut template_files = Vec::new();
    for document in pack.documents(Role::Template) {
        match pack.read(&document) {
            Ok(bytes) => template_files.push((document.name, bytes)),
            Err(error) => return not_done(format!("a part of its template can't be read: {error}")),
        }
    }
    let standard = pack.standard.as_ref();
    let own = standard.and_then(|(at, _)| pack.standards.get(*at));
    let assessment = assess::assess(&pack.record, standard.map(|(_, standard)| standard));
    let input = WriteInput {
        record: &pack.record,
        assessment: &assessment,
        changes: pack.changes.as_ref().map(|(_, changes)| changes),
        standard: standard.map(|(_, standard)| standard),
        standard_file: own.map(|(name, text)| (name.as_str(), text.as_str())),
        stem,
        artifacts: &[],
        originals,
        language: pack.language().unwrap_or("en"),
        // The pack holds every file of its template, whatever its name was.
        template: "report",
        template_files: &template_files,
        program: &here,
    };
    let made = write_documents(&plugins(), &formats, &input)?;
    if made.broke || made.incomplete {
        return Ok(Standing::Failed(
            made.findings
                .into_iter()
                .filter(|finding| finding.severity == Severity::Error)
                .map(|finding| format!("a document can't be written again: {}", finding.message))
                .collect(),
        ));
    }
    let mut rewritten = Vec::new();
    for artifact in made.artifacts {
        let bytes = match artifact.body {
            Body::Bytes(bytes) => bytes,
            Body::Stream(stream) => {
                let mut bytes = Vec::new();
                if stream(&mut bytes).is_err() {
                    continue;
                }
                bytes
            }
            Body::Source(_) => continue,
        };
        rewritten.push(Rewritten { name: artifact.path, bytes });
    }
    if let Some((name, changes)) = &pack.changes {
        let bytes = format!("{:#}\n", v1::changes_to_value(changes)).into_bytes();
        rewritten.push(Rewritten { name: name.clone(), bytes });
    }
    Ok(Standing::Done(rewritten))
}
