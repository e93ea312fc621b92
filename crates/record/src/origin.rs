//! Where a fact comes from: which original file, which rows, which column.

/// An original file, by its place in the record's list of sources (from 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(pub u32);

/// Rows of a text file, counted from 1, first and last included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rows {
    /// First row (physical line), from 1.
    pub first: u64,
    /// Last row, from 1; equal to `first` for a single row.
    pub last: u64,
}

impl Rows {
    /// A single row.
    pub fn one(row: u64) -> Self {
        Self { first: row, last: row }
    }
}

/// The place in the laboratory's own files where a fact was read.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Origin {
    /// The file.
    pub source: SourceId,
    /// The rows, where the file has rows.
    pub rows: Option<Rows>,
    /// The field number in a table, or the character column in other texts, from 1.
    pub column: Option<u32>,
}

impl Origin {
    /// A whole file.
    pub fn file(source: SourceId) -> Self {
        Self { source, rows: None, column: None }
    }

    /// One place in a file.
    pub fn cell(source: SourceId, row: u64, column: u32) -> Self {
        Self { source, rows: Some(Rows::one(row)), column: Some(column) }
    }

    /// A range of rows in a file.
    pub fn rows(source: SourceId, first: u64, last: u64) -> Self {
        Self { source, rows: Some(Rows { first, last }), column: None }
    }
}
