//! Packs of random records, as the engine has them written.

use crate::random_record::record;
use assess::Assessment;
use assess::standard::{Standard, built_in};
use plugin_api::wire::v1::draft_from_value;
use plugin_api::{Artifact, Body, Opener, OriginalFiles, WriteContext, WriteInput, Writer};
use plugin_pack::PackWriter;
use record::{Record, SourceId};
use std::io::{self, Cursor, Read};
use std::sync::Arc;

struct Originals(Vec<Arc<[u8]>>);

impl OriginalFiles for Originals {
    fn open(&self, id: SourceId) -> io::Result<Box<dyn Read + Send + '_>> {
        (self.opener(id)?)()
    }

    fn opener(&self, id: SourceId) -> io::Result<Opener> {
        let bytes = self.0[id.0 as usize].clone();
        Ok(Box::new(move || Ok(Box::new(Cursor::new(bytes.clone())))))
    }
}

/// A record that judging under the standard makes sense of, its original files, and the standard's text.
pub(crate) struct Job {
    pub(crate) record: Record,
    pub(crate) standard: Standard,
    pub(crate) standard_text: String,
    originals: Originals,
}

impl Job {
    /// The job of a seed; its log has `log_bytes` bytes that don't compress.
    pub(crate) fn new(seed: u64, log_bytes: usize) -> Self {
        use sha2::Digest as _;
        let mut value = record(seed);
        let mut originals: Vec<Arc<[u8]>> = Vec::new();
        for (index, source) in value["sources"].as_array_mut().unwrap().iter_mut().enumerate() {
            let bytes = noise(if index == 1 { log_bytes } else { 300 + index });
            let digest = sha2::Sha256::digest(&bytes);
            source["bytes"] = bytes.len().into();
            source["sha256"] = digest.iter().map(|byte| format!("{byte:02x}")).collect::<String>().into();
            originals.push(bytes.into());
        }
        let record = record::check(draft_from_value(value).unwrap().0).unwrap();
        let (id, text) = *built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
        let standard = Standard::parse(id, text).unwrap();
        Self { record, standard, standard_text: text.to_owned(), originals: Originals(originals) }
    }

    pub(crate) fn assess(&self) -> Assessment {
        assess::assess(&self.record, Some(&self.standard))
    }

    /// The pack of record and standard's text as they are now, with the assessment that is given.
    pub(crate) fn pack(&self, assessment: &Assessment) -> Vec<u8> {
        let papers = [Artifact::bytes(
            "report.pdf",
            "application/pdf",
            "pdf",
            b"%PDF-1.7 in place of a report".to_vec(),
        )];
        let input = WriteInput {
            record: &Arc::new(self.record.clone()),
            assessment,
            changes: None,
            standard: Some(&self.standard),
            standard_file: Some(("iec-61000-4-2-ed2.toml", &self.standard_text)),
            stem: "job",
            artifacts: &papers,
            originals: &self.originals,
            language: "en",
            template: "report",
            template_files: &[],
            program: "fulgurite test",
        };
        let made = PackWriter.write(&input, &mut WriteContext::default()).ok().unwrap();
        let Body::Stream(body) = &made[0].body else { panic!("a pack is streamed") };
        let mut bytes = Vec::new();
        body(&mut bytes).unwrap();
        bytes
    }
}

/// Bytes that don't compress, the same each time.
fn noise(length: usize) -> Vec<u8> {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut bytes = Vec::with_capacity(length + 8);
    while bytes.len() < length {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        bytes.extend_from_slice(&state.to_le_bytes());
    }
    bytes.truncate(length);
    bytes
}
