//! What a job changes against the report that it amends, where the pack of that report is at hand.

use crate::codes;
use crate::input::JobInput;
use assess::{Assessment, Changes};
use plugin_api::wire::v1;
use record::{Finding, Place, Record};
use std::sync::Arc;

/// The pack of an earlier report, opened.
#[derive(Clone, Debug)]
pub struct OlderPack {
    /// The file, as the user named it.
    pub file: String,
    /// Its identity.
    pub identity: String,
    /// Its record.
    pub record: Arc<Record>,
    /// What the record comes to under today's rules.
    pub assessment: Assessment,
    /// The rules by which it was judged when the pack was made.
    pub rules_version: Option<u64>,
}

impl OlderPack {
    /// What a later record changes against this pack.
    pub fn changes(&self, record: &Record, assessment: &Assessment) -> Changes {
        let mut changes =
            v1::changes((&self.record, &self.assessment), (record, assessment), Some(&self.identity));
        changes.earlier.rules_version = self.rules_version;
        changes
    }
}

/// What a job changes: against the pack that it names, else as the job itself, a pack, has it.
pub(crate) fn changes(
    record: &Record,
    assessment: &Assessment,
    older: &[OlderPack],
    packed: Option<Changes>,
    job: &JobInput,
    findings: &mut Vec<Finding>,
) -> Option<Changes> {
    let report = &record.facts.report;
    let place = || {
        let file = job.path().to_string_lossy().into_owned();
        record.place_of("/report").unwrap_or(Place { file, ..Place::default() })
    };
    let Some(wanted) = &report.amends_pack else {
        let number = report.amends.as_deref();
        if let Some(pack) =
            older.iter().find(|pack| number.is_some() && pack.record.facts.report.number.as_deref() == number)
        {
            findings.push(
                Finding::warning(
                    codes::AMENDED_BY_NUMBER,
                    format!("report {} is amended, and its pack is not named", number.unwrap_or_default()),
                )
                .at(place())
                .help(format!("if {} is that pack, write under [report]:", pack.file))
                .help(format!("amends_pack = \"{}\"", pack.identity)),
            );
        }
        return None;
    };
    if let Some(pack) = older.iter().find(|pack| pack.identity == *wanted) {
        return Some(pack.changes(record, assessment));
    }
    if packed.is_some() {
        return packed;
    }
    findings.push(
        Finding::note(
            codes::AMENDED_NOT_AT_HAND,
            format!("the pack that this report amends was not given: {wanted}"),
        )
        .at(place())
        .help("name its file with --older, and papers and pack show what differs"),
    );
    None
}
