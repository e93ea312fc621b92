//! Where readers put what they read; findings are filed as they are met.

use crate::{Batches, Opener};
use assess::Changes;
use record::{Draft, Facts, Finding, Observation, Origin, RowAccount, Series, SourceId, Trace, UnreadRow};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Proof that an error was filed: a reader or writer can't fail in silence, since only
/// [`Intake`] and [`crate::WriteContext`] make one.
#[derive(Debug)]
pub struct Reported {
    broke: bool,
}

impl Reported {
    pub(crate) fn refused() -> Self {
        Self { broke: false }
    }

    pub(crate) fn broke_off() -> Self {
        Self { broke: true }
    }

    /// Whether the plug-in broke, rather than that it refused its data.
    pub fn broke(&self) -> bool {
        self.broke
    }
}

/// Collects what a reader finds in one file. Rows arrive in batches; nothing is held per row that the
/// batch does not hold itself.
pub struct Intake {
    source: SourceId,
    series: Batches<Series>,
    observations: Vec<Observation>,
    traces: Vec<Trace>,
    unread: Vec<UnreadRow>,
    findings: Vec<Finding>,
    understood: Vec<String>,
    part: Option<String>,
    account: Option<RowAccount>,
    whole: Option<Box<Draft>>,
    ground: Option<Box<Facts>>,
    stated: Option<Box<(Facts, BTreeMap<String, Origin>)>>,
    embedded: Vec<(String, Vec<u8>)>,
    entries: Vec<String>,
    originals: Vec<(SourceId, Opener)>,
    standards: Vec<(String, String)>,
    changes: Option<Box<Changes>>,
}

impl Intake {
    /// An empty intake for one source.
    pub fn new(source: SourceId) -> Self {
        Self {
            source,
            series: Batches::default(),
            observations: Vec::new(),
            traces: Vec::new(),
            unread: Vec::new(),
            findings: Vec::new(),
            understood: Vec::new(),
            part: None,
            account: None,
            whole: None,
            ground: None,
            stated: None,
            embedded: Vec::new(),
            entries: Vec::new(),
            originals: Vec::new(),
            standards: Vec::new(),
            changes: None,
        }
    }

    /// The source that is being read.
    pub fn source(&self) -> SourceId {
        self.source
    }

    /// Adds series.
    pub fn series(&mut self, batch: impl IntoIterator<Item = Series>) {
        self.series.push(batch.into_iter().collect());
    }

    /// Adds series that are in batches already.
    pub fn batches(&mut self, batches: Batches<Series>) {
        self.series.append(batches);
    }

    /// Gives a table within the file its own name in the places of findings that were filed about its rows.
    pub fn name_rows(&mut self, file: &str, table: &str) {
        for place in self.findings.iter_mut().filter_map(|finding| finding.place.as_mut()) {
            if place.file == file && place.row.is_some() {
                table.clone_into(&mut place.file);
            }
        }
    }

    /// Adds what was taken in apart, from rows that follow those of this intake.
    pub fn join(&mut self, part: Intake) {
        self.series.append(part.series);
        self.observations.extend(part.observations);
        self.traces.extend(part.traces);
        self.unread.extend(part.unread);
        self.findings.extend(part.findings);
        self.understood.extend(part.understood);
        self.embedded.extend(part.embedded);
        self.entries.extend(part.entries);
        self.originals.extend(part.originals);
        self.standards.extend(part.standards);
        self.account = part.account.or(self.account);
        self.whole = part.whole.or(self.whole.take());
        self.ground = part.ground.or(self.ground.take());
        self.stated = part.stated.or(self.stated.take());
    }

    /// Adds observations.
    pub fn observations(&mut self, batch: impl IntoIterator<Item = Observation>) {
        self.observations.extend(batch);
    }

    /// Adds a waveform.
    pub fn trace(&mut self, trace: Trace) {
        self.traces.push(trace);
    }

    /// Sets the rows of one record aside and files the error that says why; reading goes on.
    pub fn set_aside(&mut self, rows: RangeInclusive<u64>, text: impl Into<String>, finding: Finding) {
        self.unread.push(UnreadRow {
            source: self.source,
            row: *rows.start(),
            last_row: *rows.end(),
            text: text.into(),
            code: finding.code.clone(),
            why: finding.message.clone(),
        });
        self.findings.push(finding);
    }

    /// Files a warning or a note.
    pub fn say(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// Files the error that stops the reading of this file.
    pub fn refuse(&mut self, finding: Finding) -> Reported {
        self.findings.push(finding);
        Reported::refused()
    }

    /// Files the error that says how the plug-in itself broke: nothing that it gave can be trusted.
    pub fn break_off(&mut self, finding: Finding) -> Reported {
        self.findings.push(finding);
        Reported::broke_off()
    }

    /// Says how the file was understood ("delimiter: semicolon").
    pub fn understood(&mut self, what: impl Into<String>) {
        self.understood.push(what.into());
    }

    /// Names the part of the file that was read, such as a sheet of a workbook: rows count within it.
    pub fn part(&mut self, name: impl Into<String>) {
        self.part = Some(name.into());
    }

    /// Takes back what was said of how the file was understood, but for what is to be kept.
    pub fn keep_understood(&mut self, keep: impl Fn(&str) -> bool) {
        self.understood.retain(|line| keep(line));
    }

    /// Says what became of the file's rows.
    pub fn account(&mut self, account: RowAccount) {
        self.account = Some(account);
    }

    /// Hands over a whole draft: for formats that hold a complete record.
    pub fn whole(&mut self, draft: Draft) {
        self.whole = Some(Box::new(draft));
    }

    /// Hands over the facts that a file was made from. They are the job's where it has no others, and are
    /// compared with the job's where it has.
    pub fn ground(&mut self, facts: Facts) {
        self.ground = Some(Box::new(facts));
    }

    /// Hands over facts that a file adds to the job's, and where each was read: the paths are those of the
    /// facts handed over.
    pub fn facts(&mut self, facts: Facts, origins: BTreeMap<String, Origin>) {
        self.stated = Some(Box::new((facts, origins)));
    }

    /// Hands over a file that lies inside this one, such as a photo.
    pub fn embedded(&mut self, name: String, bytes: Vec<u8>) {
        self.embedded.push((name, bytes));
    }

    /// Names the entries of a file that grows, so that a later copy of the same file is known as such.
    pub fn entries(&mut self, names: impl IntoIterator<Item = String>) {
        self.entries.extend(names);
    }

    /// Hands over an original file of the whole draft, by its place in the draft's list of sources.
    pub fn original(&mut self, id: SourceId, opener: Opener) {
        self.originals.push((id, opener));
    }

    /// Hands over the data of a standard that came with the record: name of the file and text.
    pub fn standard(&mut self, file_name: impl Into<String>, text: impl Into<String>) {
        self.standards.push((file_name.into(), text.into()));
    }

    /// Hands over what the whole draft changes against the report that it amends, as it was found when the draft
    /// was packed.
    pub fn changes(&mut self, changes: Changes) {
        self.changes = Some(Box::new(changes));
    }

    /// Takes the intake apart.
    pub fn finish(self) -> Taken {
        Taken {
            series: self.series,
            observations: self.observations,
            traces: self.traces,
            unread: self.unread,
            findings: self.findings,
            understood: self.understood,
            part: self.part,
            account: self.account,
            whole: self.whole,
            ground: self.ground,
            stated: self.stated,
            embedded: self.embedded,
            entries: self.entries,
            originals: self.originals,
            standards: self.standards,
            changes: self.changes,
        }
    }
}

/// What an intake held at the end.
#[non_exhaustive]
pub struct Taken {
    /// Series.
    pub series: Batches<Series>,
    /// Observations.
    pub observations: Vec<Observation>,
    /// Waveforms.
    pub traces: Vec<Trace>,
    /// Rows set aside.
    pub unread: Vec<UnreadRow>,
    /// Findings.
    pub findings: Vec<Finding>,
    /// How the file was understood.
    pub understood: Vec<String>,
    /// The part of the file that was read.
    pub part: Option<String>,
    /// Row account.
    pub account: Option<RowAccount>,
    /// A complete draft.
    pub whole: Option<Box<Draft>>,
    /// Facts that the file was made from.
    pub ground: Option<Box<Facts>>,
    /// Facts that the file adds, with their origins.
    pub stated: Option<Box<(Facts, BTreeMap<String, Origin>)>>,
    /// Files inside the file: name and bytes.
    pub embedded: Vec<(String, Vec<u8>)>,
    /// Names of the entries of a file that grows.
    pub entries: Vec<String>,
    /// Original files of the complete draft.
    pub originals: Vec<(SourceId, Opener)>,
    /// Data of standards that came with it: name of the file and text.
    pub standards: Vec<(String, String)>,
    /// What it changes against the report that it amends.
    pub changes: Option<Box<Changes>>,
}
