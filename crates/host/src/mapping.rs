//! Mapping files: how a bench's logs are read, written down once and used for many of them.
//!
//! A mapping holds the keys of a `[[logs]]` entry without `files`: the reader, what holds for rows that don't
//! say it, and the reader's own settings.

use crate::HostError;
use crate::codes;
use crate::job_file::{self, LogSettings};
use crate::original::Original;
use crate::plugins::Plugins;
use record::{Application, Finding, Monitoring, Place, RunKind};
use serde_json::{Map, Value, json};
use std::io::Read;
use std::path::Path;

/// A mapping file is written by hand: larger ones are something else.
const MOST_BYTES: u64 = 4 << 20;

/// A mapping file that was read.
#[derive(Clone)]
pub struct Mapping {
    pub(crate) name: String,
    pub(crate) original: Original,
    pub(crate) settings: LogSettings,
}

impl std::fmt::Debug for Mapping {
    /// Name and digest: two mappings with the same ones are the same.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Mapping").field("name", &self.name).field("sha256", &self.original.sha256).finish()
    }
}

impl Mapping {
    /// Reads a mapping file; the inner error is what is wrong in it, each with its place.
    ///
    /// # Errors
    /// When the file can't be read.
    pub fn read(path: &Path) -> Result<Result<Self, Vec<Finding>>, HostError> {
        let original =
            Original::read(path).map_err(|source| HostError::ReadInput { path: path.to_owned(), source })?;
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        Ok(Self::parse(name, original))
    }

    /// Understands a mapping file.
    pub(crate) fn parse(name: String, original: Original) -> Result<Self, Vec<Finding>> {
        let refused = |what: String, row: Option<u64>, help: &str| {
            let place = Place { file: name.clone(), row, ..Place::default() };
            vec![Finding::error(codes::BROKEN_MAPPING, what).at(place).help(help)]
        };
        if original.bytes > MOST_BYTES {
            return Err(refused("it has more than 4 MB".into(), None, "name the mapping file, not the log"));
        }
        let mut bytes = Vec::new();
        original
            .open()
            .and_then(|mut file| file.read_to_end(&mut bytes))
            .map_err(|e| refused(format!("the file can't be read: {e}"), None, "make it readable"))?;
        let text = std::str::from_utf8(&bytes).map_err(|error| {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let row = before.iter().filter(|b| **b == b'\n').count() as u64 + 1;
            refused("the file is not UTF-8".into(), Some(row), "save it as UTF-8")
        })?;
        let settings = job_file::parse_mapping(&name, text)?;
        Ok(Self { name, original, settings })
    }
}

/// The JSON Schema (draft 2020-12) of a mapping file, as far as JSON can say what TOML holds.
pub fn mapping_schema(plugins: &Plugins) -> Value {
    let text = |about: &str| json!({ "description": about, "type": "string", "minLength": 1 });
    let words = |list: &[&str], about: &str| json!({ "description": about, "enum": list });
    let defaults: [(&str, Value); 9] = [
        ("point", text("Point, by its id in the job, of a log without a column for it.")),
        ("state", text("Modification state of the item, by its id in the job.")),
        ("mode", text("Operating mode of the item, by its id in the job.")),
        ("kind", words(RunKind::WORDS, "What the discharges were applied for.")),
        ("monitoring", words(Monitoring::WORDS, "Whether the item was watched.")),
        (
            "interval_s",
            json!({ "description": "Time between discharges in seconds.", "type": ["number", "string"] }),
        ),
        ("single", json!({ "description": "Single discharges, or bursts.", "type": "boolean" })),
        ("application", words(Application::WORDS, "How the discharges were applied.")),
        ("tested_by", text("Who applied them.")),
    ];
    let readers: Vec<Value> = plugins
        .readers
        .iter()
        .filter(|reader| !reader.settings_schema().is_empty())
        .map(|reader| {
            let mut properties = Map::new();
            properties
                .insert("reader".into(), json!({ "const": reader.name(), "description": reader.about() }));
            properties.extend(defaults.iter().map(|(key, value)| ((*key).to_owned(), value.clone())));
            properties.extend(reader.settings_schema());
            json!({
                "title": reader.name(),
                "type": "object",
                "properties": properties,
                "additionalProperties": false,
            })
        })
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fulgurite:mapping:1",
        "title": "Mapping file",
        "description": "How a bench's logs are read. Held as TOML; what a row says itself counts over the defaults.",
        "anyOf": readers,
    })
}
