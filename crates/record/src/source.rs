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
    /// The part of the file that it is, such as the sheet of a workbook: its rows are those of this part.
    pub part: Option<String>,
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
    /// part.
    pub fn of_place(&self, origin: &Origin) -> String {
        match self.part.as_ref().filter(|_| self.account.is_some() && origin.rows.is_some()) {
            Some(part) => format!("{}:{part}!", self.file()),
            None => self.name.clone(),
        }
    }

    /// The file itself: several sources may be parts of one.
    pub fn file(&self) -> &str {
        let file =
            self.part.as_ref().and_then(|part| self.name.strip_suffix(part.as_str())?.strip_suffix(':'));
        file.unwrap_or(&self.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::SourceId;

    fn source(name: &str, part: Option<&str>) -> SourceFile {
        SourceFile {
            name: name.to_owned(),
            role: SourceRole::Log,
            bytes: 0,
            sha256: String::new(),
            part: part.map(str::to_owned),
            read_by: None,
            understood_as: vec!["sheet: Contact".to_owned()],
            account: Some(RowAccount::default()),
        }
    }

    #[test]
    fn places_name_the_part_that_the_source_is_and_not_what_was_said_of_it() {
        let row = Origin::rows(SourceId(0), 5, 5);
        let sheet = source("day.xlsx:Contact", Some("Contact"));
        assert_eq!((sheet.file(), sheet.of_place(&row).as_str()), ("day.xlsx", "day.xlsx:Contact!"));
        let only = source("day.xlsx", Some("Contact"));
        assert_eq!((only.file(), only.of_place(&row).as_str()), ("day.xlsx", "day.xlsx:Contact!"));
        let whole = source("log.csv:Contact", None);
        assert_eq!((whole.file(), whole.of_place(&row).as_str()), ("log.csv:Contact", "log.csv:Contact"));
    }
}
