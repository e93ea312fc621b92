//! The verifications of a job: which files hold their waveforms, how these are read, and by which measuring chain.

use super::{LogSettings, ReadSettings, Work, cant_read};
use crate::job_file::VerificationEntry;
use crate::job_files::Files;
use crate::plugins::Plugins;
use plugin_api::Options;
use record::{AmperesPerVolt, Chain, Draft, Finding, Place, Severity};
use std::collections::BTreeMap;
use std::path::Path;

/// A verification whose waveforms are about to be read.
pub(super) struct Ready {
    /// Its place among those of the draft.
    pub(super) index: usize,
    pub(super) names: Vec<String>,
    pub(super) settings: LogSettings,
}

/// What a job says of its verifications, without any waveform: for looking at files by the same conditions.
#[derive(Debug)]
pub struct JobVerifications {
    /// The job's facts with their places, its verifications without waveforms, and what was found on the way.
    pub draft: Draft,
    /// How the waveforms of each are read, in the order of the draft's verifications.
    pub each: Vec<JobVerification>,
}

/// How the waveforms of one verification are read.
#[derive(Debug)]
pub struct JobVerification {
    /// The files that belong to it, as paths below the job's folder with `/` between folders.
    pub names: Vec<String>,
    /// The reader that is named for it.
    pub reader: Option<String>,
    /// Settings of the reader, those of a mapping file among them.
    pub options: Options,
    /// What a volt stands for by its measuring chain.
    pub chain_a_per_v: Option<AmperesPerVolt>,
    /// What is wrong with that chain.
    pub chain_findings: Vec<Finding>,
}

/// Reads what the job in a folder says of its verifications; no log and no waveform is read.
///
/// # Errors
/// What keeps job.toml, a certificate or a mapping file from being read.
pub fn job_verifications(plugins: &Plugins, folder: &Path) -> Result<JobVerifications, Vec<Finding>> {
    let settings = ReadSettings::default();
    let mut work = Work::new(plugins, &settings);
    let mut each = Vec::new();
    match Files::find(folder) {
        Err(error) => work.refuse(cant_read(&folder.to_string_lossy(), &error)),
        Ok(files) => work.conditions(&files, &mut each),
    }
    if work.refused { Err(work.draft.findings) } else { Ok(JobVerifications { draft: work.draft, each }) }
}

impl Work<'_> {
    /// The verifications of a job, each with how its waveforms are read.
    fn conditions(&mut self, files: &Files, each: &mut Vec<JobVerification>) {
        let Some(job) = self.job_file(files) else { return };
        let mut claimed = BTreeMap::new();
        // A certificate may say what an attenuator of the chain does.
        for entry in &job.certificates {
            self.certificates(files, entry, &mut claimed);
        }
        for entry in job.verifications {
            // Files may still be missing: what is looked at may be none of the job's.
            let named = entry.files.patterns.iter().filter_map(|pattern| files.matching(pattern).ok());
            let names = named.flatten().collect();
            let settings =
                self.settings_of(files, entry.mapping.as_ref(), entry.settings.clone(), &mut claimed);
            let Some(LogSettings { reader, options, .. }) = settings else { continue };
            let index = self.enter_verification(entry);
            let chain_findings = record::chain_findings(&self.draft, index);
            let chain_a_per_v = self.scale(index);
            each.push(JobVerification { names, reader, options, chain_a_per_v, chain_findings });
        }
    }

    /// Enters a verification, and works out how its waveforms are read; none where its mapping can't be read.
    pub(super) fn verification(
        &mut self,
        files: &Files,
        entry: VerificationEntry,
        claimed: &mut BTreeMap<String, Place>,
    ) -> Option<Ready> {
        let settings = self.settings_of(files, entry.mapping.as_ref(), entry.settings.clone(), claimed);
        let names = self.matching(files, &entry.files, claimed);
        let mut settings = settings?;
        let index = self.enter_verification(entry);
        // What is wrong with the chain is said before its files are refused for want of it.
        let found = record::chain_findings(&self.draft, index);
        self.refused |= found.iter().any(|finding| finding.severity == Severity::Error);
        self.draft.findings.extend(found);
        settings.defaults.chain_a_per_v = self.scale(index);
        Some(Ready { index, names, settings })
    }

    fn enter_verification(&mut self, entry: VerificationEntry) -> usize {
        let index = self.draft.verifications.len();
        self.draft.verifications.push(entry.verification);
        for (within, origin) in entry.chain_origins {
            self.draft.origins.insert(format!("/verifications/{index}{within}"), origin);
        }
        index
    }

    /// What a volt stands for by the measuring chain of a verification.
    fn scale(&self, index: usize) -> Option<AmperesPerVolt> {
        let verification = self.draft.verifications.get(index)?;
        Chain::of(&self.draft.facts, verification, index)?.a_per_v
    }
}
