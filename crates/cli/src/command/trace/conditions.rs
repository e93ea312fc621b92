//! Under which conditions waveforms are looked at: those of the command line, or those that a job states.

use crate::arguments;
use crate::exit::CommandError;
use crate::plugins::plugins;
use host::{JobInput, JobVerifications, ReadSettings, find_jobs, job_verifications};
use plugin_api::Options;
use record::{
    AmperesPerVolt, AttenuationRatio, Chain, ChainElement, Decibels, Draft, Facts, Finding, Kilovolts, Place,
    Trace, Verification, VerificationId, VoltsPerAmpere, converted_otherwise,
};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// What holds for one file.
pub(super) struct Conditions {
    pub(super) facts: Facts,
    pub(super) verification: Verification,
    pub(super) settings: ReadSettings,
    /// What is wrong with the measuring chain.
    pub(super) findings: Vec<Finding>,
}

/// Where conditions come from.
pub(super) struct Source<'a> {
    given: &'a arguments::Trace,
    job: Option<Job>,
}

/// A job that states them.
struct Job {
    folder: PathBuf,
    said: JobVerifications,
}

/// A job that can't be used, with why.
pub(super) enum NoSource {
    Usage(CommandError),
    /// What keeps the job from being read.
    Findings(Vec<Finding>),
}

impl From<CommandError> for NoSource {
    fn from(error: CommandError) -> Self {
        Self::Usage(error)
    }
}

impl<'a> Source<'a> {
    /// The source that the command line names.
    pub(super) fn of(given: &'a arguments::Trace) -> Result<Self, NoSource> {
        let Some(path) = &given.job else { return Ok(Self { given, job: None }) };
        let jobs = find_jobs(std::slice::from_ref(path)).map_err(CommandError::from)?;
        let [JobInput::Folder(folder)] = jobs.as_slice() else {
            let what = format!("--job takes the folder of one job, and `{}` is none", path.display());
            return Err(CommandError::Usage(what).into());
        };
        let said = job_verifications(&plugins(), folder).map_err(NoSource::Findings)?;
        let folder = folder.clone();
        Ok(Self { given, job: Some(Job { folder, said }) })
    }

    /// What was found in the job as a whole.
    pub(super) fn findings(&self) -> &[Finding] {
        self.job.as_ref().map_or(&[], |job| &job.said.draft.findings)
    }

    /// The standard that the command line names, else the job.
    pub(super) fn standard(&self) -> Option<&str> {
        let of_job = || self.job.as_ref()?.said.draft.facts.method.standard.as_deref();
        self.given.standard.as_deref().or_else(of_job)
    }

    /// What holds for a file; what the command line says counts over the job.
    pub(super) fn conditions(&self, file: &Path) -> Result<Conditions, CommandError> {
        let mut found = match &self.job {
            Some(job) => job.conditions(self.given, file)?,
            None => of_line(self.given)?,
        };
        if let Some(text) = &self.given.charge_kv {
            let parsed = Kilovolts::parse(text);
            let what = "--charge-kv takes the magnitude of the charge voltage";
            found.verification.charge_kv = Some(parsed.map_err(|e| usage(what, &e.to_string()))?);
        }
        if let Some(text) = &self.given.bandwidth_ghz {
            let parsed = record::parse_decimal(text);
            found.verification.bandwidth_ghz =
                Some(parsed.map_err(|e| usage("--bandwidth-ghz", &e.to_string()))?);
        }
        let own = options(self.given)?;
        found.settings.options.value.extend(own.value);
        found.settings.options.places.extend(own.places);
        Ok(found)
    }
}

impl Conditions {
    /// A waveform that was converted otherwise than by the measuring chain; a setting counts over the chain.
    pub(super) fn converted_otherwise(&self, name: &str, traces: &[Trace]) -> Option<Finding> {
        let ours = self.settings.chain_a_per_v?;
        let (trace, finding) = converted_otherwise(&self.verification.id, traces, ours)?;
        let row = trace.origin.rows.map(|rows| rows.first);
        Some(finding.at(Place { file: name.to_owned(), row, ..Place::default() }))
    }
}

impl Job {
    /// What the verification states that a file belongs to, or that is named, or that is the only one.
    fn conditions(&self, given: &arguments::Trace, file: &Path) -> Result<Conditions, CommandError> {
        let Draft { facts, verifications, .. } = &self.said.draft;
        let index = match &given.verification {
            Some(id) => verifications.iter().position(|v| v.id.as_str() == id),
            None => self.owner(file).or((verifications.len() == 1).then_some(0)),
        };
        let found = index.and_then(|index| verifications.get(index).zip(self.said.each.get(index)));
        let Some((verification, how)) = found else {
            let ids: Vec<&str> = verifications.iter().map(|v| v.id.as_str()).collect();
            let what = match (&given.verification, ids.as_slice()) {
                (_, []) => "the job states no verification".to_owned(),
                (Some(id), ids) => {
                    format!("the job has no verification `{id}`; there are: {}", ids.join(", "))
                }
                (None, ids) => format!(
                    "`{}` belongs to no verification of the job: name one with --verification: {}",
                    file.display(),
                    ids.join(", ")
                ),
            };
            return Err(CommandError::Usage(what));
        };
        Ok(Conditions {
            facts: facts.clone(),
            verification: verification.clone(),
            settings: ReadSettings {
                reader: Some(how.reader.clone().unwrap_or_else(|| "trace".into())),
                options: how.options.clone(),
                chain_a_per_v: how.chain_a_per_v,
                ..ReadSettings::default()
            },
            findings: how.chain_findings.clone(),
        })
    }

    /// The verification whose files a file is one of.
    fn owner(&self, file: &Path) -> Option<usize> {
        let (file, folder) = (file.canonicalize().ok()?, self.folder.canonicalize().ok()?);
        let below = file.strip_prefix(folder).ok()?;
        let parts: Vec<_> = below.components().map(|part| part.as_os_str().to_string_lossy()).collect();
        let name = parts.join("/");
        self.said.each.iter().position(|how| how.names.contains(&name))
    }
}

/// What the command line states by itself.
fn of_line(given: &arguments::Trace) -> Result<Conditions, CommandError> {
    let id = VerificationId::new("trace")
        .ok_or_else(|| CommandError::Usage("the name of a verification can't be empty".into()))?;
    let mut verification = Verification::new(id);
    verification.chain = chain(given)?;
    let draft = Draft { verifications: vec![verification.clone()], ..Draft::default() };
    let findings = record::chain_findings(&draft, 0);
    let chain_a_per_v: Option<AmperesPerVolt> =
        Chain::of(&draft.facts, &verification, 0).and_then(|chain| chain.a_per_v);
    let settings = ReadSettings { reader: Some("trace".into()), chain_a_per_v, ..ReadSettings::default() };
    Ok(Conditions { facts: Facts::default(), verification, settings, findings })
}

/// The elements of the measuring chain that the command line states: target, then what lowers the voltage.
fn chain(given: &arguments::Trace) -> Result<Vec<ChainElement>, CommandError> {
    let mut elements = Vec::new();
    if let Some(text) = &given.transfer_v_per_a {
        let value = VoltsPerAmpere::parse(text).map_err(|e| usage("--transfer-v-per-a", &e.to_string()))?;
        elements.push(ChainElement { transfer_v_per_a: Some(value), ..ChainElement::default() });
    }
    for text in &given.attenuation_db {
        let value = Decibels::parse(text).map_err(|e| usage("--attenuation-db", &e.to_string()))?;
        elements.push(ChainElement { attenuation_db: Some(value), ..ChainElement::default() });
    }
    for text in &given.attenuation_ratio {
        let value =
            AttenuationRatio::parse(text).map_err(|e| usage("--attenuation-ratio", &e.to_string()))?;
        elements.push(ChainElement { attenuation_ratio: Some(value), ..ChainElement::default() });
    }
    Ok(elements)
}

fn usage(what: &str, error: &str) -> CommandError {
    CommandError::Usage(format!("{what}: {error}"))
}

/// Settings of the reader that the command line states.
fn options(given: &arguments::Trace) -> Result<Options, CommandError> {
    let mut options = Options::default();
    let mut put = |key: &str, text: &str, said: String| {
        let value = text.parse::<i64>().map(Value::from).unwrap_or_else(|_| Value::String(text.to_owned()));
        options.value.insert(key.to_owned(), value);
        options.places.insert(format!("/{key}"), Place { file: said, ..Place::default() });
    };
    if let Some(scale) = &given.scale_a_per_v {
        put("scale_a_per_v", scale, "--scale-a-per-v".into());
    }
    for setting in &given.set {
        let (key, value) = setting
            .split_once('=')
            .ok_or_else(|| CommandError::Usage(format!("--set takes KEY=VALUE, not `{setting}`")))?;
        put(key, value, format!("--set {key}"));
    }
    Ok(options)
}
