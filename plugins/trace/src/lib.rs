//! Reads text files of oscilloscopes: a current, or a voltage with a stated conversion, over time.
//!
//! The file is read line by line, and unpacked on the way where it is packed with gzip; delimiter, decimal sign, columns and units come from its first lines. A
//! unit that is not stated, or a second way to read the file, is a refusal that names the setting which
//! decides. Nothing is guessed.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod cells;
mod codes;
mod columns;
mod layout;
mod lines;
mod packed;
mod preamble;
mod read;
mod schema;
mod settings;
mod times;
mod unit;

pub use codes::CODES;

use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Finding, Place};
use serde_json::{Map, Value};

/// The reader of oscilloscope files.
#[derive(Clone, Copy, Debug, Default)]
pub struct TraceReader;

impl Reader for TraceReader {
    fn name(&self) -> &'static str {
        "trace"
    }

    fn about(&self) -> &'static str {
        "oscilloscope records as text, packed with gzip or not: time and current, or voltage with a stated conversion"
    }

    fn settings(&self) -> &'static [&'static str] {
        settings::KEYS_WITH_WORDS
    }

    fn settings_schema(&self) -> Map<String, Value> {
        schema::settings()
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn probe(&self, head: &[u8], _file_name: &str) -> Probe {
        match packed::start(head) {
            Some(unpacked) => read::probe(&unpacked),
            None => read::probe(head),
        }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        let settings = settings::Settings::from_options(source.name, cx.options, intake)?
            .with_chain(cx.defaults.chain_a_per_v);
        match source.open().and_then(|input| packed::open(input, source.bytes)) {
            Ok(input) => read::read(source.name, input, &settings, intake),
            Err(error) => {
                let finding = Finding::error(codes::CANT_READ, format!("the file can't be read: {error}"));
                Err(intake.refuse(finding.at(Place { file: source.name.to_owned(), ..Place::default() })))
            }
        }
    }
}
