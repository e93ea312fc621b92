//! The writer: projects record and assessment into XML.

use crate::project::{About, summary};
use crate::sheet::Sheet;
use crate::sink::XmlSink;
use crate::{Xml, codes};
use plugin_api::wire::v1;
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::CodeDoc;
use sha2::{Digest, Sha256};

impl Writer for Xml {
    fn name(&self) -> &'static str {
        "xml"
    }

    fn about(&self) -> &'static str {
        "a summary for the laboratory's records system, with its XML Schema"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        codes::ALL
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let mut sink = XmlSink::new();
        let mut sheet = Sheet::new(input.record, &mut sink);
        summary(&mut sheet, &about(input));
        for finding in sheet.into_findings() {
            cx.say(finding);
        }
        let path = format!("{}.xml", input.stem);
        Ok(vec![Artifact::bytes(path, "application/xml", "xml", sink.into_bytes())])
    }
}

/// What the summary says about itself.
pub(crate) fn about<'a>(input: &WriteInput<'a>) -> About<'a> {
    let mut digest = Sha256::new();
    v1::each_portion(input.record, &mut |portion| digest.update(portion));
    let digest = digest.finalize();
    About {
        assessment: input.assessment,
        program: input.program,
        record_sha256: digest.iter().map(|byte| format!("{byte:02x}")).collect(),
    }
}
