//! What readers have found so far: the unchecked form of a record.

use crate::{Facts, Finding, Observation, Origin, Place, Series, SourceFile, SourceId, Verification, source};
use std::collections::BTreeMap;

/// What became of the rows of a file: every row is in exactly one group.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct RowAccount {
    /// All rows of the file.
    pub total: u64,
    /// Rows that became facts.
    pub used: u64,
    /// Rows that could not be read and were set aside.
    pub set_aside: u64,
    /// Header, units and other lines before the table.
    pub preamble: u64,
    /// Lines after the table.
    pub footer: u64,
    /// Empty lines.
    pub blank: u64,
}

impl RowAccount {
    /// Adds another file's rows.
    pub fn add(&mut self, other: Self) {
        self.total += other.total;
        self.used += other.used;
        self.set_aside += other.set_aside;
        self.preamble += other.preamble;
        self.footer += other.footer;
        self.blank += other.blank;
    }

    /// Whether the groups add up to the whole.
    pub fn balances(&self) -> bool {
        [self.used, self.set_aside, self.preamble, self.footer, self.blank]
            .into_iter()
            .try_fold(0u64, u64::checked_add)
            .is_some_and(|sum| sum == self.total)
    }
}

/// As it is printed: `25 rows in = 24 used + 0 set aside + 1 preamble + 0 footer + 0 blank`.
impl std::fmt::Display for RowAccount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { total, used, set_aside, preamble, footer, blank } = self;
        write!(
            f,
            "{total} rows in = {used} used + {set_aside} set aside + {preamble} preamble + {footer} footer + {blank} blank"
        )
    }
}

/// A row of a log that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnreadRow {
    /// The file.
    pub source: SourceId,
    /// The row, from 1; the first where a quoted field goes over several.
    pub row: u64,
    /// Its last row: the same for a record on one row.
    pub last_row: u64,
    /// The row as it stands in the file, decoded where its encoding allowed it.
    pub text: String,
    /// Code of the finding that says why.
    pub code: String,
    /// Why, in one line.
    pub why: String,
}

/// Everything read for one job, before it was checked.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Draft {
    /// Original files, in the order in which origins refer to them.
    pub sources: Vec<SourceFile>,
    /// Facts of the job.
    pub facts: Facts,
    /// Origin of each job fact: path in the record (`/item/serial`) to place.
    pub origins: BTreeMap<String, Origin>,
    /// Series.
    pub series: Vec<Series>,
    /// Observations from logs and forms.
    pub observations: Vec<Observation>,
    /// Verifications with their traces.
    pub verifications: Vec<Verification>,
    /// Rows that could not be read.
    pub unread: Vec<UnreadRow>,
    /// Values under names that the model does not know, kept as written: path to JSON text.
    pub passed_through: BTreeMap<String, String>,
    /// Findings of the readers.
    pub findings: Vec<Finding>,
}

impl Draft {
    /// Where a place in an original file is, in words a user knows.
    pub fn place(&self, origin: &Origin) -> Place {
        source::place(&self.sources, origin)
    }

    /// The place of a fact by its path, where it is known; the longest known part of the path counts.
    pub fn place_of(&self, path: &str) -> Option<Place> {
        source::origin_of(&self.origins, path).map(|origin| self.place(origin))
    }
}
