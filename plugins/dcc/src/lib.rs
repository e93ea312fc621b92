//! Reads digital calibration certificates, the open XML form of the metrology institutes (namespace
//! `https://ptb.de/dcc`): instrument, serial number, day, number, laboratory, conformity, and results with their
//! uncertainty.
//!
//! A certificate says nothing that it does not say: no due date is made up, and that a laboratory has a code is not
//! taken for an accreditation.
#![forbid(unsafe_code)]
#![warn(clippy::disallowed_methods)]

mod certificate;
mod codes;
mod result;
mod tree;

pub use codes::CODES;

use plugin_api::{Intake, Probe, ReadContext, Reader, Reported, Source};
use record::{CodeDoc, EquipmentId, Facts, Finding, Place, SourceRole};
use std::io::Read;

/// The reader of digital calibration certificates.
#[derive(Clone, Copy, Debug, Default)]
pub struct DccReader;

impl Reader for DccReader {
    fn name(&self) -> &'static str {
        "dcc"
    }

    fn about(&self) -> &'static str {
        "digital calibration certificates (DCC 3.0 to 3.3): what they say of a piece of equipment"
    }

    fn settings(&self) -> &'static [&'static str] {
        &["equipment"]
    }

    fn codes(&self) -> &'static [CodeDoc] {
        CODES
    }

    fn role(&self) -> SourceRole {
        SourceRole::Attachment
    }

    fn probe(&self, head: &[u8], _file_name: &str) -> Probe {
        let head = String::from_utf8_lossy(head);
        if head.contains(tree::DCC) && head.contains(certificate::ROOT) { Probe::Yes } else { Probe::No }
    }

    fn read(&self, source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
        let here = || Place { file: source.name.to_owned(), ..Place::default() };
        let cant_read = |error: std::io::Error| {
            Finding::error(codes::CANT_READ, format!("the file can't be read: {error}")).at(here())
        };
        if source.bytes > tree::MOST_BYTES {
            let finding = Finding::error(codes::TOO_LARGE, "the file has more than 64 MiB");
            return Err(
                intake.refuse(finding.at(here()).help("take pictures and documents out of the certificate"))
            );
        }
        let mut bytes = Vec::new();
        let read = source.open().and_then(|file| file.take(tree::MOST_BYTES + 1).read_to_end(&mut bytes));
        if let Err(error) = read {
            return Err(intake.refuse(cant_read(error)));
        }
        let wanted = cx.options.value.get("equipment").and_then(|v| v.as_str()).unwrap_or_default();
        let Some(id) = EquipmentId::new(wanted) else {
            let finding =
                Finding::error(codes::NO_EQUIPMENT, "the certificate belongs to no equipment").at(here());
            return Err(intake.refuse(finding.help(
                "name it in job.toml: [[certificates]] with files = \"...\" and equipment = \"...\", an id of [[equipment]]",
            )));
        };
        let known = cx.facts.equipment.iter().find(|e| e.id == id).and_then(|e| e.serial.as_deref());
        let read = tree::parse(&bytes).and_then(|tree| certificate::read(&tree, &id, known, intake.source()));
        match read {
            Ok(read) => {
                read.understood.into_iter().for_each(|line| intake.understood(line));
                read.findings.into_iter().for_each(|finding| intake.say(finding.at(here())));
                let facts = Facts { equipment: vec![read.equipment], ..Facts::default() };
                intake.facts(facts, read.origins);
                Ok(())
            }
            Err(refusal) => {
                let place = Place { row: refusal.row, ..here() };
                let finding = Finding::error(refusal.code, refusal.message).at(place).help(refusal.help);
                Err(intake.refuse(finding))
            }
        }
    }
}
