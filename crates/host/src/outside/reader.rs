//! A reader outside the program, as the engine sees it: like any other.

use super::answers::{About, Lines};
use super::broke::Broke;
use super::pool::Pool;
use super::{codes, lasting};
use plugin_api::wire::v1;
use plugin_api::{Intake, Options, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Finding, Place, SourceRole};
use serde_json::{Map, Value, json};
use std::io::Read;
use std::sync::Arc;

pub(super) struct OutsideReader {
    pool: Arc<Pool>,
    version: String,
    settings: &'static [&'static str],
    codes: &'static [CodeDoc],
}

impl OutsideReader {
    pub(super) fn new(pool: Arc<Pool>) -> Self {
        let manifest = &pool.plugin.manifest;
        let settings: Vec<&'static str> = manifest
            .settings
            .iter()
            .map(|(name, setting)| lasting(&format!("{name}: {}", setting.about)))
            .collect();
        Self { version: pool.plugin.version(), settings: Vec::leak(settings), codes: code_docs(&pool), pool }
    }
}

/// The meanings of a plug-in's codes, as `explain` prints them.
pub(super) fn code_docs(pool: &Pool) -> &'static [CodeDoc] {
    let manifest = &pool.plugin.manifest;
    let docs: Vec<CodeDoc> = manifest
        .codes
        .iter()
        .map(|code| CodeDoc {
            code: lasting(&format!("{}/{}", manifest.name, code.code)),
            means: lasting(&code.means),
            matters: lasting(&code.matters),
            example: lasting(&code.example),
            remedy: lasting(&code.remedy),
        })
        .collect();
    Vec::leak(docs)
}

impl Reader for OutsideReader {
    fn name(&self) -> &'static str {
        lasting(&self.pool.plugin.manifest.name)
    }

    fn about(&self) -> &'static str {
        lasting(&self.pool.plugin.manifest.about)
    }

    fn version(&self) -> Option<&str> {
        Some(&self.version)
    }

    fn settings(&self) -> &'static [&'static str] {
        self.settings
    }

    fn settings_schema(&self) -> Map<String, Value> {
        let settings = &self.pool.plugin.manifest.settings;
        settings
            .iter()
            .map(|(name, s)| (name.clone(), json!({ "description": s.about, "type": s.kind })))
            .collect()
    }

    fn codes(&self) -> &'static [CodeDoc] {
        self.codes
    }

    fn role(&self) -> SourceRole {
        self.pool.plugin.manifest.role()
    }

    fn probe(&self, head: &[u8], file_name: &str) -> Probe {
        let manifest = &self.pool.plugin.manifest;
        let head = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head);
        let ending = file_name.rsplit_once('.').map(|(_, ending)| ending);
        let ends =
            ending.is_some_and(|e| manifest.extensions.iter().any(|known| known.eq_ignore_ascii_case(e)));
        if manifest.begins_with.iter().any(|begin| head.starts_with(begin.as_bytes())) {
            Probe::Yes
        } else if ends && manifest.begins_with.is_empty() {
            Probe::Maybe
        } else {
            Probe::No
        }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        let plugin = &self.pool.plugin;
        let name = plugin.manifest.name.as_str();
        let bytes = match all_bytes(source, plugin.manifest.input_limit()) {
            Ok(bytes) => bytes,
            Err(finding) => return Err(intake.refuse(*finding)),
        };
        if let Some(finding) = self.wrong_settings(cx.options, source.name) {
            return Err(intake.refuse(finding));
        }
        let asked = self.pool.with(|process| {
            let own = |error: std::io::Error| {
                Broke::new(codes::DID_NOT_START, format!("can't be given the file: {error}"))
            };
            let (request, folder) = process.next_request().map_err(own)?;
            std::fs::write(folder.join("input"), &bytes).map_err(own)?;
            let facts = format!("{:#}\n", v1::facts_to_value(cx.facts));
            std::fs::write(folder.join("facts.json"), facts).map_err(own)?;
            let mut line = json!({
                "type": "read",
                "request": request,
                "input": format!("request-{request}/input"),
                "name": source.name,
                "bytes": bytes.len(),
                "options": cx.options.value,
                "facts": format!("request-{request}/facts.json"),
            });
            if let Some(scale) = cx.defaults.chain_a_per_v {
                line["chain_a_per_v"] = scale.as_a_per_v().to_string().into();
            }
            let mut lines = Lines::default();
            let mut left = plugin.manifest.output_limit();
            let work = process.work().to_owned();
            let done = process.ask(plugin, request, &format!("{line}\n"), &mut |number, answer| {
                lines.take(number, answer, &work, &mut left)
            })?;
            if !done.artifacts.is_empty() {
                return Err(Broke::new(codes::BAD_LINE, "is a reader, and named artifacts"));
            }
            // What can't be removed now goes with the working folder.
            let _ = std::fs::remove_dir_all(folder);
            Ok(lines)
        });
        let lines = match asked {
            Ok(lines) => lines,
            Err(broke) => return Err(intake.break_off(broke.finding(name, Some(source.name)))),
        };
        let about = About {
            plugin: name,
            file: source.name,
            bytes: &bytes,
            rows: plugin.manifest.rows,
            defaults: cx.defaults,
        };
        about.file(lines, intake)
    }
}

impl OutsideReader {
    /// A setting that the plug-in does not have, or not of this type.
    fn wrong_settings(&self, options: &Options, file: &str) -> Option<Finding> {
        let known = &self.pool.plugin.manifest.settings;
        let names: Vec<&String> = known.keys().collect();
        for (key, value) in &options.value {
            let place = options
                .place(&format!("/{key}"))
                .unwrap_or_else(|| Place { file: file.to_owned(), ..Place::default() });
            let Some(setting) = known.get(key) else {
                let finding = Finding::error(
                    codes::UNKNOWN_SETTING,
                    format!("`{key}` is no setting of plug-in `{}`", self.pool.plugin.manifest.name),
                )
                .at(place);
                return Some(match v1::nearest(key, &names) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None if names.is_empty() => finding.help("it has no settings"),
                    None => finding.help(format!(
                        "it has: {}",
                        names.iter().map(|n| n.as_str()).collect::<Vec<_>>().join(", ")
                    )),
                });
            };
            let fits = match setting.kind.as_str() {
                "integer" => value.is_i64() || value.is_u64(),
                "number" => value.is_number(),
                "boolean" => value.is_boolean(),
                _ => value.is_string(),
            };
            if !fits {
                let what = format!("`{key}` is {value}, and has the type {}", setting.kind);
                return Some(
                    Finding::error(codes::UNKNOWN_SETTING, what).at(place).help(setting.about.clone()),
                );
            }
        }
        None
    }
}

fn all_bytes(source: &Source<'_>, limit: u64) -> Result<Vec<u8>, Box<Finding>> {
    let place = Place { file: source.name.to_owned(), ..Place::default() };
    let mut bytes = Vec::new();
    match source.open().and_then(|open| open.take(limit + 1).read_to_end(&mut bytes)) {
        Err(error) => Err(Box::new(
            Finding::error(crate::codes::CANT_READ, format!("the file can't be read: {error}"))
                .at(place)
                .help("make the file readable and run again"),
        )),
        Ok(_) if bytes.len() as u64 > limit => Err(Box::new(
            Finding::error(
                codes::TOO_LARGE,
                format!("the file is larger than the {} MiB that the plug-in may be given", limit >> 20),
            )
            .at(place)
            .help("raise input_limit_mib in its plugin.toml, and trust it again"),
        )),
        Ok(_) => Ok(bytes),
    }
}
