//! The original files that a record was read from.

use crate::{Origin, Place, RowAccount, word::words};
use std::collections::BTreeMap;

words!(
    /// What a source file is.
    SourceRole {
        /// Facts of the job.
        Job = "job",
        /// A discharge log.
        Log = "log",
        /// A waveform.
        Trace = "trace",
        /// A picture or document.
        Attachment = "attachment",
        /// A record in the canonical form.
        Record = "record",
        /// A filled form.
        Form = "form",
        /// The settings that say how logs are read.
        Mapping = "mapping",
    }
);

/// An original file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceFile {
    /// Name within the job, with `/` between folders; `book.xlsx:Sheet1` where a file was read in parts.
    pub name: String,
    /// What it is.
    pub role: SourceRole,
    /// Size in bytes.
    pub bytes: u64,
    /// SHA-256 of its bytes, 64 lower-case hexadecimal digits.
    pub sha256: String,
    /// The plug-in that read it, with its version.
    pub read_by: Option<String>,
    /// How it was understood: encoding, delimiter, decimal sign, columns.
    pub understood_as: Vec<String>,
    /// What became of its rows, for a file with rows.
    pub account: Option<RowAccount>,
}

/// Where a place in one of these files is, in words a user knows.
pub(crate) fn place(sources: &[SourceFile], origin: &Origin) -> Place {
    let file = sources.get(origin.source.0 as usize).map_or_else(|| "?".to_owned(), |s| s.of_place(origin));
    Place { file, row: origin.rows.map(|r| r.first), column: origin.column, label: None }
}

/// The origin of a fact by its path, where it is known; the longest known part of the path counts.
pub(crate) fn origin_of<'a>(origins: &'a BTreeMap<String, Origin>, path: &str) -> Option<&'a Origin> {
    let mut path = path;
    loop {
        if let Some(origin) = origins.get(path) {
            return Some(origin);
        }
        path = &path[..path.rfind('/')?];
    }
}

impl SourceFile {
    /// The name by which a place in it is known: the file's, or `book.xlsx:Sheet1!` where its rows are those of a
    /// sheet, as its reader says in how the file was understood.
    pub fn of_place(&self, origin: &Origin) -> String {
        match self.sheet().filter(|_| self.account.is_some() && origin.rows.is_some()) {
            Some(sheet) => format!("{}:{sheet}!", self.file()),
            None => self.name.clone(),
        }
    }

    /// The file itself: several sources may be parts of one, each a sheet.
    pub fn file(&self) -> &str {
        let part = self.sheet().and_then(|sheet| self.name.strip_suffix(sheet)?.strip_suffix(':'));
        part.unwrap_or(&self.name)
    }

    fn sheet(&self) -> Option<&str> {
        self.understood_as.iter().find_map(|line| line.strip_prefix("sheet: "))
    }
}
