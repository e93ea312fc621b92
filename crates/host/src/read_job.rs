//! From a job folder or a loose file to a record.

mod verifications;

pub use verifications::{JobVerification, JobVerifications, job_verifications};

use crate::certificate;
use crate::codes;
use crate::input::JobInput;
use crate::job_file::{self, FilePatterns, JOB_FILE, JobFile, LogEntry, LogSettings, MappingName};
use crate::job_files::Files;
use crate::log_match;
use crate::mapping::Mapping;
use crate::merge::{self, Growing};
use crate::original::{Original, Originals};
use crate::physical_rows;
use crate::plugins::Plugins;
use crate::threads::Threads;
use assess::Changes;
use plugin_api::{
    Drafted, Intake, Opener, Options, Probe, ReadContext, Reader, SeriesDefaults, Source, Taken,
};
use record::{
    AmperesPerVolt, Draft, Finding, Place, Record, SourceFile, SourceId, SourceRole, Verification,
    VerificationId,
};
use std::collections::{BTreeMap, BTreeSet};
use std::io::BufRead;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use verifications::Ready;

/// Bytes that a reader is shown to recognise its format.
const HEAD: usize = 64 << 10;

/// How inputs are read.
#[derive(Clone, Debug, Default)]
pub struct ReadSettings {
    /// Reader for loose files, by name.
    pub reader: Option<String>,
    /// Settings for the reader of loose files.
    pub options: Options,
    /// What a volt in a loose waveform stands for by its measuring chain, where no setting states it.
    pub chain_a_per_v: Option<AmperesPerVolt>,
    /// How loose files are read, where the laboratory has written it down; the settings above count over it.
    pub mapping: Option<Mapping>,
    /// Filled forms of a job are left alone: a form is made from the job, not from what was filled in before.
    pub without_forms: bool,
    /// Plug-ins outside the program that may be used, to the byte: a batch is done again when they are others.
    pub outside: Vec<String>,
}

/// What reading a job came to.
#[derive(Debug)]
pub struct ReadJob {
    /// Name of the job.
    pub name: String,
    /// The record; none when the job was refused.
    pub record: Option<Record>,
    /// Findings, in the order in which they are shown.
    pub findings: Vec<Finding>,
    /// The original files.
    pub originals: Originals,
    /// Data of standards that came with the record: name of the file and text.
    pub standards: Vec<(String, String)>,
    /// What it changes against the report that it amends, where it came with that.
    pub changes: Option<Changes>,
    /// A plug-in stopped in the middle of its work.
    pub plugin_broke: bool,
}

/// Reads a job.
pub fn read_job(plugins: &Plugins, input: &JobInput, settings: &ReadSettings) -> ReadJob {
    let mut work = Work::new(plugins, settings);
    match input {
        JobInput::Folder(folder) => match Files::find(folder) {
            Ok(files) => work.job(&files),
            Err(error) => work.refuse(cant_read(&folder.to_string_lossy(), &error)),
        },
        JobInput::File(file) => {
            let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            work.loose(&Files::one(file), name);
        }
    }
    work.finish(input.name())
}

/// Findings that are about files beside the originals: a job read again from its originals alone does not raise them.
pub const NOT_OF_ORIGINALS: &[&str] = &[codes::UNREAD_FILE];

/// Reads the job of a record again from its original files, as it was read the first time.
///
/// # Errors
/// Why that is not possible, in words.
pub fn read_again(plugins: &Plugins, record: &Record, originals: &Originals) -> Result<ReadJob, String> {
    let mut files = BTreeMap::new();
    for (source, original) in record.sources.iter().zip(&originals.files) {
        let Some(original) = original else {
            return Err(format!("`{}` is not at hand", source.name));
        };
        let twice = files
            .insert(source.file().to_owned(), original.clone())
            .is_some_and(|earlier| earlier.sha256 != original.sha256 || source.file() == source.name);
        if twice {
            return Err(format!("two original files are named `{}`", source.file()));
        }
    }
    // A reader that is not here is no fault of the record; "job" reads job.toml and is no plug-in.
    let readers = record.sources.iter().filter_map(|source| source.read_by.as_deref());
    if let Some(by) = readers
        .filter(|by| by.contains(" (program SHA-256 "))
        .find(|by| by.split(' ').next().is_some_and(|name| plugins.reader(name).is_none()))
    {
        return Err(format!(
            "it was read by the plug-in {by}, which is not named: give its folder with --plugin"
        ));
    }
    let settings = ReadSettings::default();
    let unmapped = || record.sources.iter().filter(|source| source.role != SourceRole::Mapping);
    match record.sources.as_slice() {
        [] => Err("the record names no original file".to_owned()),
        [first, ..] if first.role == SourceRole::Job && first.name == JOB_FILE => {
            let mut work = Work::new(plugins, &settings);
            work.job(&Files::given(files));
            Ok(work.finish(String::new()))
        }
        // A log without a job: one source for each part of it, and the mapping that it was read by.
        [only, ..] if unmapped().all(|source| source.file() == only.file()) => {
            // The reader of a loose file may have been named on the command line; the record says which it was.
            let reader = only.read_by.as_deref().and_then(|by| by.split(' ').next()).map(str::to_owned);
            let mapping = record.sources.iter().find(|source| source.role == SourceRole::Mapping);
            let mapping = match mapping.and_then(|source| files.get(&source.name).map(|o| (source, o))) {
                None => None,
                Some((source, original)) => Some(
                    Mapping::parse(source.name.clone(), original.clone())
                        .map_err(|_| format!("`{}` can't be read again", source.name))?,
                ),
            };
            let settings = ReadSettings { reader, mapping, ..ReadSettings::default() };
            let mut work = Work::new(plugins, &settings);
            work.loose(&Files::given(files), only.file().to_owned());
            Ok(work.finish(String::new()))
        }
        _ => Err("its original files hold no job.toml".to_owned()),
    }
}

/// Reads a loose file without a job, for looking at it: what was taken in from each part of it, and whether a plug-in
/// broke.
pub fn read_loose(plugins: &Plugins, file: &Path, settings: &ReadSettings) -> (Vec<Taken>, bool) {
    let mut work = Work::new(plugins, settings);
    let name = file.to_string_lossy().into_owned();
    let mut intake = Intake::new(SourceId(0));
    match Original::read(file) {
        Err(error) => {
            let _ = intake.refuse(cant_read(&name, &error));
        }
        Ok(original) => {
            work.draft.sources.push(SourceFile {
                name: name.clone(),
                role: SourceRole::Trace,
                bytes: original.bytes,
                sha256: original.sha256.clone(),
                part: None,
                read_by: None,
                understood_as: Vec::new(),
                account: None,
            });
            let LogSettings { reader, defaults, options } = work.loose_settings();
            if let Some(reader) = work.choose(&original, &name, reader.as_deref(), None) {
                let facts = record::Facts::default();
                let mut broke = false;
                let read = reader.parts(&options).into_iter().map(|part| {
                    let name = part.source_name(&name);
                    let mut intake = Intake::new(SourceId(0));
                    let cx = ReadContext { options: &part.options, defaults: &defaults, facts: &facts };
                    broke |= run(reader, &original, SourceId(0), &name, &mut intake, &cx) == Ran::Broke;
                    intake.finish()
                });
                return (read.collect(), broke);
            }
            for finding in std::mem::take(&mut work.draft.findings) {
                let _ = intake.refuse(finding);
            }
        }
    }
    (vec![intake.finish()], false)
}

/// Drafts the mapping of a log: the reader that would read it, and the settings that it shows.
///
/// # Errors
/// Why it can't be looked at.
pub fn draft_mapping(
    plugins: &Plugins,
    file: &Path,
    settings: &ReadSettings,
) -> Result<(String, Vec<Drafted>), Vec<Finding>> {
    let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let original = Original::read(file).map_err(|error| vec![cant_read(&name, &error)])?;
    let mut work = Work::new(plugins, settings);
    let chosen = work.choose(&original, &name, settings.reader.as_deref(), None);
    let Some(reader) = chosen else { return Err(work.draft.findings) };
    let open = || original.open().map(|r| r as Box<dyn BufRead>);
    let source = Source::new(SourceId(0), &name, original.bytes, &open);
    let facts = record::Facts::default();
    let cx = ReadContext { options: &settings.options, defaults: &SeriesDefaults::default(), facts: &facts };
    let drafted = catch_unwind(AssertUnwindSafe(|| reader.draft(&source, &cx))).unwrap_or_else(|_| {
        let what = format!("reader `{}` stopped in the middle of its work", reader.name());
        let place = Place { file: name.clone(), ..Place::default() };
        Err(Box::new(Finding::error(codes::PLUGIN_BROKE, what).at(place)))
    });
    drafted.map(|lines| (reader.name().to_owned(), lines)).map_err(|finding| vec![*finding])
}

/// Name and version of a reader, as they stand in the record.
fn read_by(reader: &dyn Reader) -> String {
    format!("{} {}", reader.name(), reader.version().unwrap_or(env!("CARGO_PKG_VERSION")))
}

fn cant_read(name: &str, error: &std::io::Error) -> Finding {
    Finding::error(codes::CANT_READ, format!("the file can't be read: {error}"))
        .at(Place { file: name.to_owned(), ..Place::default() })
        .help("make the file readable and run again")
}

/// How the run of a reader ended.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ran {
    Through,
    /// The file as a whole was refused, and the reason filed.
    Refused,
    /// The plug-in stopped in the middle of its work.
    Broke,
}

fn run(
    reader: &dyn Reader,
    original: &Original,
    id: SourceId,
    name: &str,
    intake: &mut Intake,
    cx: &ReadContext<'_>,
) -> Ran {
    let open = || original.open().map(|r| r as Box<dyn BufRead>);
    let mut source = Source::new(id, name, original.bytes, &open).with_workers(&Threads);
    if let Some(container) = original.container() {
        source = source.with_container(container);
    }
    let ran = catch_unwind(AssertUnwindSafe(|| reader.read(&source, intake, cx)));
    match ran {
        Ok(Ok(())) => Ran::Through,
        Ok(Err(reported)) if reported.broke() => Ran::Broke,
        Ok(Err(_)) => Ran::Refused,
        Err(_) => {
            let _ = intake.break_off(
                Finding::error(
                    codes::PLUGIN_BROKE,
                    format!("reader `{}` stopped in the middle of its work", reader.name()),
                )
                .at(Place { file: name.to_owned(), ..Place::default() })
                .help("report it to whoever maintains the plug-in, with this file"),
            );
            Ran::Broke
        }
    }
}

struct Work<'a> {
    plugins: &'a Plugins,
    settings: &'a ReadSettings,
    draft: Draft,
    originals: Originals,
    standards: Vec<(String, String)>,
    changes: Option<Changes>,
    broke: bool,
    refused: bool,
    /// Files that grow, as they came: of two copies only the later one counts.
    growing: Vec<Growing>,
    /// Whether the job has facts of its own, with which those inside a form are compared.
    has_facts: bool,
    /// The job's own facts, before any form added to them.
    of_job: Option<record::Facts>,
    /// Mapping files that were read, by their names.
    mappings: BTreeMap<String, Mapping>,
}

impl<'a> Work<'a> {
    fn new(plugins: &'a Plugins, settings: &'a ReadSettings) -> Self {
        Self {
            plugins,
            settings,
            draft: Draft::default(),
            originals: Originals::default(),
            standards: Vec::new(),
            changes: None,
            broke: false,
            refused: false,
            growing: Vec::new(),
            has_facts: false,
            of_job: None,
            mappings: BTreeMap::new(),
        }
    }

    fn refuse(&mut self, finding: Finding) {
        self.draft.findings.push(finding);
        self.refused = true;
    }

    fn finish(self, name: String) -> ReadJob {
        let Work { mut draft, originals, standards, changes, broke, refused, .. } = self;
        let (record, mut findings) = if refused {
            draft.findings.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
            (None, draft.findings)
        } else {
            match record::check(draft) {
                Ok(record) => {
                    let findings = record.findings.clone();
                    (Some(record), findings)
                }
                Err(findings) => (None, findings),
            }
        };
        findings.dedup();
        ReadJob { name, record, findings, originals, standards, changes, plugin_broke: broke }
    }

    /// A file's bytes; what keeps it from being read is said.
    fn original(&mut self, files: &Files, name: &str) -> Option<Original> {
        files.read(name).map_err(|error| self.refuse(cant_read(name, &error))).ok()
    }

    /// Reads a file's bytes and enters it among the sources.
    fn add_source(&mut self, files: &Files, name: String, role: SourceRole) -> Option<(SourceId, Original)> {
        let original = self.original(files, &name)?;
        Some((self.enter(name, role, &original), original))
    }

    /// Reads a file of a job by the settings of its entry; waveforms come back.
    fn read_file(
        &mut self,
        files: &Files,
        name: &str,
        role: SourceRole,
        named: Option<&str>,
        settings: &LogSettings,
    ) -> Vec<record::Trace> {
        let Some(original) = self.original(files, name) else { return Vec::new() };
        let place = settings.options.place("/reader");
        let Some(reader) = self.choose(&original, name, named, place.as_ref()) else { return Vec::new() };
        let parts = self.enter_parts(reader, &original, name, role, &settings.options);
        self.read_parts(reader, &original, &parts, &settings.defaults)
    }

    /// Enters a file among the sources.
    fn enter(&mut self, name: String, role: SourceRole, original: &Original) -> SourceId {
        let id = SourceId(u32::try_from(self.draft.sources.len()).unwrap_or(u32::MAX));
        self.draft.sources.push(SourceFile {
            name,
            role,
            bytes: original.bytes,
            sha256: original.sha256.clone(),
            part: None,
            read_by: None,
            understood_as: Vec::new(),
            account: None,
        });
        self.originals.files.push(Some(original.clone()));
        id
    }

    /// The reader for a file: the one named, or the only one that recognises it.
    fn choose(
        &mut self,
        original: &Original,
        name: &str,
        named: Option<&str>,
        place: Option<&Place>,
    ) -> Option<&'a dyn Reader> {
        let here = Place { file: name.to_owned(), ..Place::default() };
        let names = |readers: &[&dyn Reader]| {
            readers.iter().map(|r| format!("`{}`", r.name())).collect::<Vec<_>>().join(", ")
        };
        let all: Vec<&'a dyn Reader> = self.plugins.readers.iter().map(AsRef::as_ref).collect();
        if let Some(named) = named {
            let found = self.plugins.reader(named);
            if found.is_none() {
                self.refuse(
                    Finding::error(codes::UNKNOWN_READER, format!("there is no reader `{named}`"))
                        .at(place.cloned().unwrap_or(here))
                        .help(format!("use one of: {}", names(&all))),
                );
            }
            return found;
        }
        let head = match original.head(HEAD) {
            Ok(head) => head,
            Err(error) => {
                self.refuse(cant_read(name, &error));
                return None;
            }
        };
        let probed: Vec<(Probe, &'a dyn Reader)> = all.iter().map(|r| (r.probe(&head, name), *r)).collect();
        for wanted in [Probe::Yes, Probe::Maybe] {
            let fit: Vec<&'a dyn Reader> =
                probed.iter().filter(|(p, _)| *p == wanted).map(|(_, r)| *r).collect();
            match fit.as_slice() {
                [] => {}
                [one] => return Some(*one),
                more => {
                    self.refuse(
                        Finding::error(
                            codes::TWO_READERS,
                            format!("{} readers recognise the file", more.len()),
                        )
                        .at(here)
                        .help(format!(
                            "say which: reader = ... in job.toml or --from on the command line; {}",
                            names(more)
                        )),
                    );
                    return None;
                }
            }
        }
        self.refuse(
            Finding::error(codes::NO_READER, "no reader recognises the file")
                .at(here)
                .help(format!("name the reader (reader = ..., or --from); there are {}", names(&all))),
        );
        None
    }

    /// Enters a file as often as its settings part it; each part is a source of its own.
    fn enter_parts(
        &mut self,
        reader: &dyn Reader,
        original: &Original,
        name: &str,
        role: SourceRole,
        options: &Options,
    ) -> Vec<(SourceId, Options)> {
        let parts = reader.parts(options).into_iter();
        parts.map(|part| (self.enter(part.source_name(name), role, original), part.options)).collect()
    }

    fn read_parts(
        &mut self,
        reader: &'a dyn Reader,
        original: &Original,
        parts: &[(SourceId, Options)],
        defaults: &SeriesDefaults,
    ) -> Vec<record::Trace> {
        parts.iter().flat_map(|(id, options)| self.read(reader, *id, original, options, defaults)).collect()
    }

    /// Runs a reader on a source and takes what it found into the draft; waveforms come back.
    fn read(
        &mut self,
        reader: &'a dyn Reader,
        id: SourceId,
        original: &Original,
        options: &Options,
        defaults: &SeriesDefaults,
    ) -> Vec<record::Trace> {
        let name = self.draft.sources.get(id.0 as usize).map(|s| s.name.clone()).unwrap_or_default();
        let mut intake = Intake::new(id);
        let cx = ReadContext { options, defaults, facts: &self.draft.facts };
        let ran = run(reader, original, id, &name, &mut intake, &cx);
        self.broke |= ran == Ran::Broke;
        self.refused |= ran != Ran::Through;
        let mut taken = intake.finish();
        if let Some(account) = &taken.account
            && !account.balances()
        {
            self.refuse(
                Finding::error(codes::ROWS_DO_NOT_BALANCE, format!("its rows do not add up: {account}"))
                    .at(Place { file: name, ..Place::default() })
                    .help("report it to whoever maintains the plug-in, with this file"),
            );
        }
        if let Some(whole) = taken.whole.take() {
            self.take_whole(*whole, std::mem::take(&mut taken.originals));
            self.standards.append(&mut taken.standards);
            self.changes = taken.changes.take().map(|changes| *changes);
        } else if let Some(source) = self.draft.sources.get_mut(id.0 as usize) {
            source.read_by = Some(read_by(reader));
            source.understood_as = std::mem::take(&mut taken.understood);
            source.part = taken.part.take();
            source.account = taken.account;
            source.role = if source.role == SourceRole::Log { reader.role() } else { source.role };
        }
        if ran == Ran::Through && (taken.ground.is_some() || taken.stated.is_some()) {
            let troubles = merge::take(
                &mut self.draft,
                &mut self.originals,
                &mut taken,
                id,
                self.has_facts,
                self.of_job.as_ref(),
            );
            self.refused |= troubles;
            self.has_facts = true;
        }
        if !taken.entries.is_empty() {
            merge::only_the_latest(&mut self.draft, &mut self.growing, &mut taken, id);
        }
        taken.series.join_to(&mut self.draft.series);
        self.draft.observations.extend(taken.observations);
        self.draft.unread.extend(taken.unread);
        self.draft.findings.extend(taken.findings);
        taken.traces
    }

    /// A file that holds a whole record replaces everything; its own sources are at hand where it holds them too.
    fn take_whole(&mut self, whole: Draft, originals: Vec<(SourceId, Opener)>) {
        let findings = std::mem::take(&mut self.draft.findings);
        let mut originals: BTreeMap<SourceId, Opener> = originals.into_iter().collect();
        self.originals = Originals::inside(&whole.sources, |id| originals.remove(&id));
        self.draft = whole;
        self.draft.findings.extend(findings);
    }

    fn loose(&mut self, files: &Files, name: String) {
        let Some(original) = self.original(files, &name) else { return };
        let settings = self.loose_settings();
        let Some(reader) = self.choose(&original, &name, settings.reader.as_deref(), None) else { return };
        let parts = self.enter_parts(reader, &original, &name, SourceRole::Log, &settings.options);
        // Before anything is read: a file that holds a whole record replaces all of this.
        if let Some(mapping) = &self.settings.mapping {
            self.enter(mapping.name.clone(), SourceRole::Mapping, &mapping.original);
        }
        let traces = self.read_parts(reader, &original, &parts, &settings.defaults);
        self.add_traces(traces);
    }

    /// How loose files are read: a reader that is named counts over that of a mapping.
    fn loose_settings(&self) -> LogSettings {
        let ReadSettings { reader, options, chain_a_per_v, .. } = self.settings.clone();
        let defaults = SeriesDefaults { chain_a_per_v, ..SeriesDefaults::default() };
        let named = LogSettings { reader, options, defaults };
        match &self.settings.mapping {
            Some(mapping) => named.over(&mapping.settings),
            None => named,
        }
    }

    /// The settings of an entry, over those of its mapping file; none where that can't be read.
    fn settings_of(
        &mut self,
        files: &Files,
        named: Option<&MappingName>,
        own: LogSettings,
        claimed: &mut BTreeMap<String, Place>,
    ) -> Option<LogSettings> {
        let Some(named) = named else { return Some(own) };
        if !files.names.contains(&named.file) {
            let near = plugin_api::wire::v1::nearest(&named.file, &files.names)
                .map(|near| format!("did you mean `{near}`?"))
                .unwrap_or_else(|| "paths are relative to the job folder, with / between folders".into());
            self.refuse(
                Finding::error(codes::NO_FILE_MATCHES, format!("there is no file `{}`", named.file))
                    .at(named.place.clone())
                    .help(near),
            );
            return None;
        }
        let known = self.mappings.get(&named.file).cloned();
        let mapping = match known {
            Some(known) => known,
            None => {
                claimed.insert(named.file.clone(), named.place.clone());
                let (_, original) = self.add_source(files, named.file.clone(), SourceRole::Mapping)?;
                match Mapping::parse(named.file.clone(), original) {
                    Ok(mapping) => {
                        self.mappings.insert(named.file.clone(), mapping.clone());
                        mapping
                    }
                    Err(findings) => {
                        self.draft.findings.extend(findings);
                        self.refused = true;
                        return None;
                    }
                }
            }
        };
        Some(own.over(&mapping.settings))
    }

    /// Waveforms that belong to no verification of the job.
    fn add_traces(&mut self, traces: Vec<record::Trace>) {
        if traces.is_empty() {
            return;
        }
        let Some(id) = VerificationId::new("loose") else { return };
        self.draft.verifications.push(Verification { traces, ..Verification::new(id) });
    }

    /// What job.toml says; its facts are the draft's from here on.
    fn job_file(&mut self, files: &Files) -> Option<JobFile> {
        let (_, original) = self.add_source(files, JOB_FILE.into(), SourceRole::Job)?;
        let text = match original.open().and_then(|mut r| {
            let mut bytes = Vec::new();
            r.read_to_end(&mut bytes)?;
            Ok(bytes)
        }) {
            Ok(bytes) => match String::from_utf8(bytes) {
                Ok(text) => text,
                Err(error) => {
                    let before = error.as_bytes().get(..error.utf8_error().valid_up_to()).unwrap_or_default();
                    let row = before.iter().filter(|b| **b == b'\n').count() as u64 + 1;
                    self.refuse(
                        Finding::error(codes::BROKEN_JOB_FILE, "the file is not UTF-8")
                            .at(Place { file: JOB_FILE.into(), row: Some(row), ..Place::default() })
                            .help("save job.toml as UTF-8"),
                    );
                    return None;
                }
            },
            Err(error) => {
                self.refuse(cant_read(JOB_FILE, &error));
                return None;
            }
        };
        let mut job = match job_file::parse(text.trim_start_matches('\u{feff}')) {
            Ok(job) => job,
            Err(findings) => {
                self.draft.findings.extend(findings);
                self.refused = true;
                return None;
            }
        };
        let sources = std::mem::take(&mut self.draft.sources);
        self.draft = Draft { sources, ..std::mem::take(&mut job.draft) };
        self.has_facts = true;
        self.of_job = Some(self.draft.facts.clone());
        if let Some(source) = self.draft.sources.first_mut() {
            source.read_by = Some(format!("job {}", env!("CARGO_PKG_VERSION")));
        }
        Some(job)
    }

    fn job(&mut self, files: &Files) {
        let Some(job) = self.job_file(files) else { return };
        let mut claimed: BTreeMap<String, Place> = BTreeMap::new();
        // First, so that logs are read beside facts that are whole.
        for entry in &job.certificates {
            self.certificates(files, entry, &mut claimed);
        }
        let (beside, logs): (Vec<_>, Vec<_>) = job.logs.into_iter().partition(|entry| entry.beside.is_some());
        for entry in logs {
            let settings = self.settings_of(files, entry.mapping.as_ref(), entry.settings, &mut claimed);
            let names = self.matching(files, &entry.files, &mut claimed);
            let Some(settings) = settings else { continue };
            for name in names {
                let named = settings.reader.as_deref();
                self.read_file(files, &name, SourceRole::Log, named, &settings);
            }
        }
        self.forms(files, &job.forms, &mut claimed);
        for entry in beside {
            self.beside(files, entry, &mut claimed);
        }
        log_match::counted_twice(&mut self.draft);
        for entry in job.verifications {
            let Some(Ready { index, names, settings }) = self.verification(files, entry, &mut claimed) else {
                continue;
            };
            for name in names {
                let named = settings.reader.as_deref().or(Some("trace"));
                let traces = self.read_file(files, &name, SourceRole::Trace, named, &settings);
                if let Some(verification) = self.draft.verifications.get_mut(index) {
                    verification.traces.extend(traces);
                }
            }
        }
        self.attachments(files, &mut claimed);
        self.unclaimed(files, &claimed, job.ignore.as_ref());
    }

    /// The files that an entry's patterns match, in the order of their names.
    fn matching(
        &mut self,
        files: &Files,
        wanted: &FilePatterns,
        claimed: &mut BTreeMap<String, Place>,
    ) -> Vec<String> {
        let mut found = Vec::new();
        for pattern in &wanted.patterns {
            let names = match files.matching(pattern) {
                Ok(names) => names,
                Err(error) => {
                    self.not_a_pattern(pattern, &error, wanted.place.clone());
                    continue;
                }
            };
            if names.is_empty() {
                let near = plugin_api::wire::v1::nearest(pattern, &files.names)
                    .map(|near| format!("did you mean `{near}`?"))
                    .unwrap_or_else(|| "paths are relative to the job folder, with / between folders".into());
                self.refuse(
                    Finding::error(codes::NO_FILE_MATCHES, format!("no file matches `{pattern}`"))
                        .at(wanted.place.clone())
                        .help(near),
                );
            }
            for name in names {
                if let Some(earlier) = claimed.insert(name.clone(), wanted.place.clone()) {
                    self.refuse(
                        Finding::error(codes::FILE_NAMED_TWICE, format!("`{name}` belongs to two entries"))
                            .at(wanted.place.clone())
                            .with_related(earlier, "first named here")
                            .help("let each file belong to one entry: its discharges would count twice"),
                    );
                    continue;
                }
                found.push(name);
            }
        }
        found
    }

    fn not_a_pattern(&mut self, pattern: &str, error: &globset::Error, place: Place) {
        self.refuse(
            Finding::error(
                codes::NO_FILE_MATCHES,
                format!("`{pattern}` is not a file pattern: {}", error.kind()),
            )
            .at(place)
            .help("for instance \"logs/contact-*.csv\"; a file's own name is taken as it stands"),
        );
    }

    /// Calibration certificates, each for the equipment that its entry names.
    fn certificates(&mut self, files: &Files, entry: &LogEntry, claimed: &mut BTreeMap<String, Place>) {
        let settings = &entry.settings;
        for name in self.matching(files, &entry.files, claimed) {
            let Some((id, original)) = self.add_source(files, name.clone(), SourceRole::Attachment) else {
                continue;
            };
            let place = settings.options.place("/reader");
            let named = settings.reader.as_deref().or(Some("dcc"));
            let Some(reader) = self.choose(&original, &name, named, place.as_ref()) else { continue };
            let mut intake = Intake::new(id);
            let cx = ReadContext {
                options: &settings.options,
                defaults: &settings.defaults,
                facts: &self.draft.facts,
            };
            let ran = run(reader, &original, id, &name, &mut intake, &cx);
            self.broke |= ran == Ran::Broke;
            self.refused |= ran != Ran::Through;
            let mut taken = intake.finish();
            if let Some(source) = self.draft.sources.get_mut(id.0 as usize) {
                source.read_by = Some(read_by(reader));
                source.understood_as = std::mem::take(&mut taken.understood);
            }
            if let Some(stated) = taken.stated.take() {
                let (facts, origins) = *stated;
                self.refused |= !certificate::take(&mut self.draft, &facts, &origins);
            }
            self.draft.findings.append(&mut taken.findings);
        }
    }

    /// Filled forms and sheets. A pattern that matches nothing yet is no mistake: the form is made from the
    /// same job file before it is filled.
    fn forms(&mut self, files: &Files, wanted: &FilePatterns, claimed: &mut BTreeMap<String, Place>) {
        let there: Vec<String> = wanted
            .patterns
            .iter()
            .filter(|pattern| files.matching(pattern).is_ok_and(|found| !found.is_empty()))
            .cloned()
            .collect();
        let wanted = FilePatterns { patterns: there, place: wanted.place.clone() };
        for name in self.matching(files, &wanted, claimed) {
            if self.settings.without_forms {
                continue;
            }
            self.read_file(files, &name, SourceRole::Log, None, &LogSettings::default());
        }
    }

    /// A generator's own log of what the forms hold too: its series are held against theirs, and not counted.
    fn beside(&mut self, files: &Files, entry: LogEntry, claimed: &mut BTreeMap<String, Place>) {
        let settings = self.settings_of(files, entry.mapping.as_ref(), entry.settings, claimed);
        let names = self.matching(files, &entry.files, claimed);
        let (Some(mut settings), Some(asked)) = (settings, entry.beside) else { return };
        if self.settings.without_forms {
            return;
        }
        settings.defaults.point = settings.defaults.point.or_else(log_match::no_point);
        let mut logs = Vec::new();
        for name in names {
            let (before, seen) = (self.draft.series.len(), self.draft.observations.len());
            self.read_file(files, &name, SourceRole::Log, settings.reader.as_deref(), &settings);
            let series = self.draft.series.split_off(before);
            for noted in self.draft.observations.split_off(seen) {
                let words = noted.seen.as_deref().unwrap_or("an effect without words");
                let finding =
                    Finding::warning(codes::LOG_ALONE, format!("the generator's log notes “{words}”"))
                        .at(self.draft.place(&noted.origin))
                        .help("what was seen is taken from the form: state it there");
                self.draft.findings.push(finding);
            }
            logs.push(log_match::OwnLog { series });
        }
        if self.refused {
            return;
        }
        let originals = &self.originals;
        let text = |source: SourceId, row: u64| {
            let original = originals.files.get(source.0 as usize).and_then(Option::as_ref);
            original.and_then(|original| row_text(original, row)).unwrap_or_default()
        };
        self.refused |= !log_match::hold(&mut self.draft, &logs, &asked, &text);
    }

    fn attachments(&mut self, files: &Files, claimed: &mut BTreeMap<String, Place>) {
        for index in 0..self.draft.facts.attachments.len() {
            if self.draft.facts.attachments[index].source.is_some() {
                continue;
            }
            let file = self.draft.facts.attachments[index].file.clone();
            let origin = self.draft.origins.get(&format!("/attachments/{index}/file")).cloned();
            let place = Place {
                file: JOB_FILE.into(),
                row: origin.as_ref().and_then(|o| o.rows).map(|r| r.first),
                column: origin.as_ref().and_then(|o| o.column),
                label: Some(record::spoken_path(&format!("/attachments/{index}/file"))),
            };
            if !files.names.contains(&file) {
                self.refuse(
                    Finding::error(codes::NO_FILE_MATCHES, format!("there is no file `{file}`"))
                        .at(place)
                        .help("paths are relative to the job folder, with / between folders"),
                );
                continue;
            }
            if claimed.insert(file.clone(), place.clone()).is_some() {
                self.refuse(
                    Finding::error(codes::FILE_NAMED_TWICE, format!("`{file}` belongs to two entries"))
                        .at(place)
                        .help("let each file belong to one entry"),
                );
                continue;
            }
            if let Some((id, _)) = self.add_source(files, file, SourceRole::Attachment) {
                self.draft.facts.attachments[index].source = Some(id);
            }
        }
    }

    fn unclaimed(&mut self, files: &Files, claimed: &BTreeMap<String, Place>, ignore: Option<&FilePatterns>) {
        let mut ignored: BTreeSet<String> = BTreeSet::new();
        for (pattern, place) in ignore.iter().flat_map(|i| i.patterns.iter().map(|p| (p, &i.place))) {
            match files.matching(pattern) {
                Ok(names) => ignored.extend(names),
                Err(error) => self.not_a_pattern(pattern, &error, place.clone()),
            }
        }
        for name in &files.names {
            if name == JOB_FILE || claimed.contains_key(name) || ignored.contains(name) {
                continue;
            }
            self.draft.findings.push(
                Finding::warning(
                    codes::UNREAD_FILE,
                    "this file of the job folder is named by no entry of job.toml",
                )
                .at(Place { file: name.clone(), ..Place::default() })
                .help(
                    "name it under [[logs]], [[verifications]] or [[attachments]], or list it under `ignore`",
                ),
            );
        }
    }
}

/// A row of a file as it stands, where it is text.
fn row_text(original: &Original, row: u64) -> Option<String> {
    let head = original.head(64).ok()?;
    let bytes = physical_rows::rows(&mut *original.open().ok()?, &head, &[row]).ok()?;
    Some(String::from_utf8_lossy(&bytes).trim_end_matches(['\r', '\n']).to_owned())
}
