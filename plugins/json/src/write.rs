//! Writes the record in the canonical JSON, and the assessment beside it.

use crate::Json;
use plugin_api::wire::v1;
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer};
use record::CodeDoc;

/// Media type of both files.
const MEDIA_TYPE: &str = "application/json";

impl Writer for Json {
    fn name(&self) -> &'static str {
        "json"
    }

    fn about(&self) -> &'static str {
        "the whole record and its assessment, for programs"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        crate::codes::ALL
    }

    fn write(&self, input: &WriteInput<'_>, _: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let assessment = format!("{:#}\n", v1::assessment_to_value(input.assessment));
        let stem = input.stem;
        Ok(vec![
            Artifact {
                path: format!("{stem}.json"),
                media_type: MEDIA_TYPE,
                format: "json",
                body: input.record_json(),
            },
            Artifact::bytes(format!("{stem}.assessment.json"), MEDIA_TYPE, "json", assessment.into_bytes()),
        ])
    }
}
