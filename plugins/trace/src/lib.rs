//! Reads text files of oscilloscopes: a current, or a voltage with a stated conversion, over time.
//!
//! The file is read line by line; delimiter, decimal sign, columns and units come from its first lines. A
//! unit that is not stated, or a second way to read the file, is a refusal that names the setting which
//! decides. Nothing is guessed.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod cells;
mod codes;
mod columns;
mod layout;
mod lines;
mod preamble;
mod read;
mod settings;
mod unit;

pub use codes::CODES;

use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, Finding, Place};

/// The reader of oscilloscope files.
#[derive(Clone, Copy, Debug, Default)]
pub struct TraceReader;

impl Reader for TraceReader {
    fn name(&self) -> &'static str {
        "trace"
    }

    fn about(&self) -> &'static str {
        "oscilloscope records as text: time and current, or voltage with a stated conversion"
    }

    fn settings(&self) -> &'static [&'static str] {
        settings::KEYS_WITH_WORDS
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn probe(&self, head: &[u8], _file_name: &str) -> Probe {
        read::probe(head)
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        let settings = settings::Settings::from_options(source.name, cx.options, intake)?;
        match source.open() {
            Ok(input) => read::read(source.name, input, &settings, intake),
            Err(error) => {
                let finding = Finding::error(codes::CANT_READ, format!("the file can't be read: {error}"));
                Err(intake.refuse(finding.at(Place { file: source.name.to_owned(), ..Place::default() })))
            }
        }
    }
}
