//! What a verification found: a list of checks, each passed, failed or not done with the reason, and one outcome.

use crate::names::shown;
use crate::request::Depth;
use std::fmt;

/// Problems kept per check; further ones are counted.
const KEPT: usize = 200;

/// The outcome of a verification.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// A pack of ours, and its zip is byte for byte as it was written.
    Intact,
    /// A pack of ours whose zip was packed again by another tool; every file is as it was.
    Rezipped,
    /// A pack of ours, unpacked into a folder; every file is as it was.
    Unpacked,
    /// A pack of ours that looks complete; only its structure, names and numbers were looked at.
    Complete,
    /// A valid bag that this program did not make.
    ForeignBag,
    /// Every file is as it was written, and what was concluded does not follow from what is recorded, or something
    /// that was asked for (a signature) is not in order.
    Contradicted,
    /// Something was changed, lost or added, or the bag breaks the rules of BagIt.
    Altered,
    /// Refused before its content was looked at: the zip is hostile or damaged, or there is no bag in it.
    Refused,
    /// Not a zip, or it could not be read at all.
    CannotOpen,
}

impl Outcome {
    /// Nothing speaks against the content.
    pub fn is_sound(self) -> bool {
        matches!(self, Self::Intact | Self::Rezipped | Self::Unpacked | Self::Complete | Self::ForeignBag)
    }

    /// Stable name, for programs.
    pub fn id(self) -> &'static str {
        match self {
            Self::Intact => "intact",
            Self::Rezipped => "rezipped",
            Self::Unpacked => "unpacked",
            Self::Complete => "complete",
            Self::ForeignBag => "foreign-bag",
            Self::Contradicted => "contradicted",
            Self::Altered => "altered",
            Self::Refused => "refused",
            Self::CannotOpen => "cannot-open",
        }
    }

    /// One sentence for people.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Intact => "intact: the pack is byte for byte as it was written",
            Self::Rezipped => {
                "content intact: the zip was packed again, every file in it is as it was written"
            }
            Self::Unpacked => "content intact: an unpacked pack, every file in it is as it was written",
            Self::Complete => {
                "looks complete: structure, names and numbers were checked, the content of its files was not"
            }
            Self::ForeignBag => "a valid BagIt bag, but not a pack that this build knows",
            Self::Contradicted => {
                "NOT TO BE RELIED ON: the checksums fit, and what the pack says does not hold; see the failed checks"
            }
            Self::Altered => "ALTERED, INCOMPLETE or INVALID: see the failed checks",
            Self::Refused => "REFUSED: unsafe, damaged, or not a bag; its content was not judged",
            Self::CannotOpen => "cannot be opened",
        }
    }
}

/// One thing that is wrong, or worth knowing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The file or zip entry concerned, with a line where there is one; safe to show on a terminal.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it; may be empty.
    pub help: String,
}

impl Problem {
    pub(crate) fn new(place: &str, what: impl Into<String>) -> Self {
        Self { place: shown(place), what: what.into(), help: String::new() }
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }
}

/// How a check came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// Passed; `detail` says what was seen (may be empty).
    Ok {
        /// Figures.
        detail: String,
    },
    /// Failed for at least one reason.
    Failed {
        /// The first problems, in the order met.
        problems: Vec<Problem>,
        /// How many more there were.
        more: usize,
    },
    /// Not as it was, and harmless: the outcome says what follows.
    Differs {
        /// What is different.
        detail: String,
    },
    /// Not done, and why.
    NotDone {
        /// The reason.
        reason: String,
    },
}

/// One check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// Stable name, for programs.
    pub id: &'static str,
    /// Name for people.
    pub title: &'static str,
    /// How it came out.
    pub state: State,
    /// Things worth knowing that are no failure.
    pub notes: Vec<Problem>,
}

/// The kinds of checks, in the order in which they are made and listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    Archive,
    Members,
    Form,
    Root,
    Declaration,
    BagInfo,
    Manifests,
    Fetch,
    Completeness,
    Oxum,
    PayloadChecksums,
    TagChecksums,
    Pack,
    Originals,
    Record,
    Verdict,
    Embedded,
    ReadAgain,
    WrittenAgain,
    Standard,
    Signature,
    TimeStamp,
    Chain,
}

impl Kind {
    pub(crate) const ALL: [Self; 23] = [
        Self::Archive,
        Self::Members,
        Self::Form,
        Self::Root,
        Self::Declaration,
        Self::BagInfo,
        Self::Manifests,
        Self::Fetch,
        Self::Completeness,
        Self::Oxum,
        Self::PayloadChecksums,
        Self::TagChecksums,
        Self::Pack,
        Self::Originals,
        Self::Record,
        Self::Verdict,
        Self::Embedded,
        Self::ReadAgain,
        Self::WrittenAgain,
        Self::Standard,
        Self::Signature,
        Self::TimeStamp,
        Self::Chain,
    ];

    fn id(self) -> &'static str {
        match self {
            Self::Archive => "archive",
            Self::Members => "members",
            Self::Form => "form",
            Self::Root => "root",
            Self::Declaration => "declaration",
            Self::BagInfo => "bag-info",
            Self::Manifests => "manifests",
            Self::Fetch => "fetch",
            Self::Completeness => "completeness",
            Self::Oxum => "oxum",
            Self::PayloadChecksums => "payload-checksums",
            Self::TagChecksums => "tag-checksums",
            Self::Pack => "pack",
            Self::Originals => "originals",
            Self::Record => "record",
            Self::Verdict => "verdict",
            Self::Embedded => "embedded",
            Self::ReadAgain => "read-again",
            Self::WrittenAgain => "written-again",
            Self::Standard => "standard",
            Self::Signature => "signature",
            Self::TimeStamp => "time-stamp",
            Self::Chain => "chain",
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Archive => "safe to read",
            Self::Members => "every file can be read whole",
            Self::Form => "zip as it was written",
            Self::Root => "one bag in one folder",
            Self::Declaration => "bag declaration (bagit.txt)",
            Self::BagInfo => "bag metadata (bag-info.txt)",
            Self::Manifests => "manifests readable, paths inside the bag",
            Self::Fetch => "nothing left to download (fetch.txt)",
            Self::Completeness => "no file missing, none added",
            Self::Oxum => "number and bytes of the payload (Payload-Oxum)",
            Self::PayloadChecksums => "payload checksums",
            Self::TagChecksums => "checksums of the bag's own files",
            Self::Pack => "parts that every pack of ours has",
            Self::Originals => "original files are those that the record names",
            Self::Record => "record reads back as it was written",
            Self::Verdict => "verdict derived again from record and standard's data",
            Self::Embedded => "record inside the PDF",
            Self::ReadAgain => "record read again from the original files",
            Self::WrittenAgain => "papers and summaries written again",
            Self::Standard => "standard's data are those that this build has",
            Self::Signature => "signatures",
            Self::TimeStamp => "time stamps (RFC 3161)",
            Self::Chain => "chain of amendments",
        }
    }
}

/// The result of a verification.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// The outcome of all checks together.
    pub outcome: Outcome,
    /// How deep was looked.
    pub depth: Depth,
    /// Version of the pack's layout, for a pack of ours.
    pub pack_version: Option<u32>,
    /// The pack's identity: SHA-256 of `tagmanifest-sha256.txt` as found. It names this pack only when the outcome is
    /// sound.
    pub identity: Option<String>,
    /// `External-Identifier` of the bag; in a pack of ours the number of the report.
    pub external_identifier: Option<String>,
    /// The checks in order.
    pub checks: Vec<Check>,
}

impl Report {
    /// Files a check that was made after the others, with the whole program at hand.
    pub(crate) fn enter(&mut self, kind: Kind, findings: Findings, passed: State) {
        let check = findings.check(kind, passed);
        if matches!(check.state, State::Failed { .. }) && self.outcome.is_sound() {
            self.outcome = Outcome::Contradicted;
        }
        match self.checks.iter_mut().find(|known| known.id == kind.id()) {
            Some(known) => *known = check,
            None => self.checks.push(check),
        }
    }

    /// Whether the verdict was derived again from the record, and came out as it is stored.
    pub fn verdict_derived_again(&self) -> bool {
        self.check("verdict").is_some_and(|check| matches!(check.state, State::Ok { .. }))
    }

    /// The check with this id.
    pub fn check(&self, id: &str) -> Option<&Check> {
        self.checks.iter().find(|check| check.id == id)
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.outcome.sentence())?;
        if let (Depth::ReDerive, true, Some(State::NotDone { reason })) = (
            self.depth,
            self.outcome.is_sound() && self.pack_version.is_some(),
            self.check("verdict").map(|check| &check.state),
        ) {
            writeln!(f, "  VERDICT NOT DERIVED AGAIN: {reason}")?;
        }
        if let Some(identifier) = &self.external_identifier {
            writeln!(f, "  report    {}", shown(identifier))?;
        }
        if let Some(identity) = &self.identity {
            writeln!(f, "  identity  {identity}")?;
        }
        for check in &self.checks {
            match &check.state {
                State::Ok { detail } if detail.is_empty() => writeln!(f, "  ok        {}", check.title)?,
                State::Ok { detail } => writeln!(f, "  ok        {}: {detail}", check.title)?,
                State::Differs { detail } => writeln!(f, "  differs   {}: {detail}", check.title)?,
                State::NotDone { reason } => writeln!(f, "  not done  {}: {reason}", check.title)?,
                State::Failed { problems, more } => {
                    writeln!(f, "  FAILED    {}", check.title)?;
                    problems.iter().try_for_each(|problem| write_problem(f, "", problem))?;
                    if *more > 0 {
                        writeln!(f, "              and {more} more")?;
                    }
                }
            }
            check.notes.iter().try_for_each(|note| write_problem(f, "note: ", note))?;
        }
        Ok(())
    }
}

fn write_problem(f: &mut fmt::Formatter<'_>, label: &str, problem: &Problem) -> fmt::Result {
    if problem.place.is_empty() {
        writeln!(f, "              {label}{}", problem.what)?;
    } else {
        writeln!(f, "              {label}{}: {}", problem.place, problem.what)?;
    }
    if !problem.help.is_empty() {
        writeln!(f, "                {}", problem.help)?;
    }
    Ok(())
}

/// The problems of one check while it runs.
#[derive(Default)]
pub(crate) struct Findings {
    problems: Vec<Problem>,
    more: usize,
    notes: Vec<Problem>,
    notes_more: usize,
}

impl Findings {
    pub(crate) fn fail(&mut self, problem: Problem) {
        if self.problems.len() < KEPT {
            self.problems.push(problem);
        } else {
            self.more += 1;
        }
    }

    pub(crate) fn note(&mut self, problem: Problem) {
        if self.notes.len() < KEPT {
            self.notes.push(problem);
        } else {
            self.notes_more += 1;
        }
    }

    pub(crate) fn into_problems(self) -> Vec<Problem> {
        self.problems
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }

    fn check(mut self, kind: Kind, ok: State) -> Check {
        if self.notes_more > 0 {
            self.notes.push(Problem::new("", format!("and {} more of these", self.notes_more)));
        }
        let state = if self.problems.is_empty() {
            ok
        } else {
            State::Failed { problems: self.problems, more: self.more }
        };
        Check { id: kind.id(), title: kind.title(), state, notes: self.notes }
    }
}

/// Collects checks; those never reported come out as not done.
#[derive(Default)]
pub(crate) struct Ledger {
    done: Vec<(Kind, Check)>,
}

impl Ledger {
    /// Files a check that ran to its end. Returns whether it passed.
    pub(crate) fn done(&mut self, kind: Kind, findings: Findings, detail: impl Into<String>) -> bool {
        let passed = findings.is_clean();
        self.put(kind, findings.check(kind, State::Ok { detail: detail.into() }));
        passed
    }

    /// Files a check that found a harmless difference.
    pub(crate) fn differs(&mut self, kind: Kind, findings: Findings, detail: impl Into<String>) {
        self.put(kind, findings.check(kind, State::Differs { detail: detail.into() }));
    }

    /// Files a check that was not made; problems met on the way still make it a failure.
    pub(crate) fn not_done(&mut self, kind: Kind, findings: Findings, reason: impl Into<String>) {
        self.put(kind, findings.check(kind, State::NotDone { reason: reason.into() }));
    }

    fn put(&mut self, kind: Kind, check: Check) {
        self.done.retain(|(known, _)| *known != kind);
        self.done.push((kind, check));
    }

    /// Whether a check of the content failed: the bag itself is in order.
    pub(crate) fn only_content_failed(&self) -> bool {
        self.done
            .iter()
            .filter(|(_, check)| matches!(check.state, State::Failed { .. }))
            .all(|(kind, _)| *kind > Kind::Pack)
    }

    pub(crate) fn any_failed(&self) -> bool {
        self.done.iter().any(|(_, check)| matches!(check.state, State::Failed { .. }))
    }

    /// All checks in order; what is open is not done for `reason`.
    pub(crate) fn finish(mut self, reason: &str) -> Vec<Check> {
        for kind in Kind::ALL {
            if !self.done.iter().any(|(known, _)| *known == kind) {
                self.not_done(kind, Findings::default(), reason);
            }
        }
        self.done.sort_by_key(|(kind, _)| *kind);
        self.done.into_iter().map(|(_, check)| check).collect()
    }
}
