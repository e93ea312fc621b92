//! A writer outside the program, as the engine sees it: like any other.

use super::broke::Broke;
use super::pool::Pool;
use super::reader::code_docs;
use super::{artifacts, codes, lasting};
use plugin_api::wire::stdio::{Answer, ArtifactLine};
use plugin_api::wire::v1;
use plugin_api::{Artifact, Body, Reported, WriteContext, WriteInput, Writer};
use record::{CodeDoc, Finding, Severity};
use serde_json::json;
use std::io;
use std::path::Path;
use std::sync::Arc;

pub(super) struct OutsideWriter {
    pool: Arc<Pool>,
    version: String,
    wants: &'static [&'static str],
    codes: &'static [CodeDoc],
}

/// What an answer held: findings, and the files that were named.
type Answered = (Vec<Finding>, Vec<(ArtifactLine, Vec<u8>)>);

impl OutsideWriter {
    pub(super) fn new(pool: Arc<Pool>) -> Self {
        let wants: Vec<&'static str> = pool.plugin.manifest.wants.iter().map(|want| lasting(want)).collect();
        Self { version: pool.plugin.version(), wants: Vec::leak(wants), codes: code_docs(&pool), pool }
    }

    fn ask(&self, input: &WriteInput<'_>) -> Result<Answered, Broke> {
        let plugin = &self.pool.plugin;
        let name = plugin.manifest.name.as_str();
        self.pool.with(|process| {
            let own = |error: io::Error| {
                Broke::new(codes::DID_NOT_START, format!("can't be given the record: {error}"))
            };
            let (request, folder) = process.next_request().map_err(own)?;
            std::fs::create_dir(folder.join("out")).map_err(own)?;
            let mut record = std::fs::File::create(folder.join("record.json")).map_err(own)?;
            v1::write_record(input.record, &mut record).map_err(own)?;
            let assessment = format!("{:#}\n", v1::assessment_to_value(input.assessment));
            std::fs::write(folder.join("assessment.json"), assessment).map_err(own)?;
            let mut handed = Vec::new();
            for artifact in input.artifacts.iter().filter(|a| self.wants.contains(&a.format)) {
                let file = format!("wanted-{}", handed.len() + 1);
                hand(&folder.join(&file), artifact, input).map_err(own)?;
                handed.push(json!({
                    "path": artifact.path,
                    "file": format!("request-{request}/{file}"),
                    "format": artifact.format,
                    "media_type": artifact.media_type,
                }));
            }
            let line = json!({
                "type": "write",
                "request": request,
                "record": format!("request-{request}/record.json"),
                "assessment": format!("request-{request}/assessment.json"),
                "out": format!("request-{request}/out"),
                "stem": input.stem,
                "language": input.language,
                "artifacts": handed,
            });
            let mut findings = Vec::new();
            let done = process.ask(plugin, request, &format!("{line}\n"), &mut |_, answer| match answer {
                Answer::Finding(line, severity) => {
                    let mut finding = Finding::new(severity, &format!("{name}/{}", line.code), line.message);
                    finding.help = line.help;
                    finding.clause = line.clause;
                    findings.push(finding);
                    Ok(())
                }
                Answer::Progress(_) | Answer::Understood(_) => Ok(()),
                _ => Err(Broke::new(codes::BAD_LINE, "is a writer, and gave a line that only readers give")),
            })?;
            let refused = findings.iter().any(|finding| finding.severity == Severity::Error);
            let files =
                artifacts::read_all(&folder.join("out"), &done.artifacts, plugin.manifest.output_limit())?;
            if files.is_empty() && !refused {
                return Err(Broke::new(codes::BAD_ARTIFACT, "made no file, and did not say why"));
            }
            // What can't be removed now goes with the working folder.
            let _ = std::fs::remove_dir_all(folder);
            Ok((findings, files))
        })
    }
}

/// Puts a wanted artifact into the plug-in's folder.
fn hand(path: &Path, artifact: &Artifact, input: &WriteInput<'_>) -> io::Result<()> {
    let mut file = std::fs::File::create_new(path)?;
    match &artifact.body {
        Body::Bytes(bytes) => io::Write::write_all(&mut file, bytes),
        Body::Stream(write) => write(&mut file),
        Body::Source(id) => io::copy(&mut input.originals.open(*id)?, &mut file).map(|_| ()),
    }
}

impl Writer for OutsideWriter {
    fn name(&self) -> &'static str {
        lasting(&self.pool.plugin.manifest.name)
    }

    fn about(&self) -> &'static str {
        lasting(&self.pool.plugin.manifest.about)
    }

    fn version(&self) -> Option<&str> {
        Some(&self.version)
    }

    fn codes(&self) -> &'static [CodeDoc] {
        self.codes
    }

    fn wants(&self) -> &'static [&'static str] {
        self.wants
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let (findings, files) = match self.ask(input) {
            Ok(answered) => answered,
            Err(broke) => return Err(cx.break_off(broke.finding(&self.pool.plugin.manifest.name, None))),
        };
        let mut refused = None;
        for finding in findings {
            if finding.severity == Severity::Error {
                refused = Some(cx.refuse(finding));
            } else {
                cx.say(finding);
            }
        }
        if let Some(reported) = refused {
            return Err(reported);
        }
        let name = self.name();
        Ok(files
            .into_iter()
            .map(|(line, bytes)| Artifact::bytes(line.path, lasting(&line.media_type), name, bytes))
            .collect())
    }
}
