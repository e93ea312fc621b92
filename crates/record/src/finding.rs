//! Something that a person must know: what, where, why, and what to do.

use crate::word::words;

words!(
    /// How much a finding weighs.
    Severity {
        /// Something was refused: a row, a file, a value.
        Error = "error",
        /// Outputs are written, and say so.
        Warning = "warning",
        /// Worth knowing, changes nothing.
        Note = "note",
    }
);

/// Where a finding is, in the terms of the file it is about; every number counts from 1.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// Name of the file as the user gave or would recognise it; a sheet of a workbook is `book.xlsx:Sheet1!`.
    pub file: String,
    /// Physical line.
    pub row: Option<u64>,
    /// Field number in a table, character column elsewhere.
    pub column: Option<u32>,
    /// What the user would call it: a header's text, a key, a JSON pointer.
    pub label: Option<String>,
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.file)?;
        if let (true, Some(row)) = (self.file.ends_with('!'), self.row) {
            // A cell of a sheet is named as the sheet names it.
            let column = self.column.map(column_letters).unwrap_or_default();
            write!(f, "{column}{row}")?;
        } else if let Some(row) = self.row {
            write!(f, ":{row}")?;
            if let Some(column) = self.column {
                write!(f, ":{column}")?;
            }
        }
        if let Some(label) = &self.label {
            write!(f, " ({label})")?;
        }
        Ok(())
    }
}

/// The letters by which a sheet names a column: 1 is A, 26 is Z, 27 is AA.
fn column_letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + u8::try_from(rest % 26).unwrap_or(0)));
        rest /= 26;
    }
    letters.into_iter().rev().collect()
}

/// A path in a record (`/points/5/id`, entries from 0) as a person would say it: `points[6].id`, entries from 1.
pub fn spoken_path(path: &str) -> String {
    let mut spoken = String::new();
    for step in path.split('/').filter(|step| !step.is_empty()) {
        match step.parse::<u64>() {
            Ok(index) => spoken += &format!("[{}]", index.saturating_add(1)),
            Err(_) => {
                if !spoken.is_empty() {
                    spoken.push('.');
                }
                spoken += &step.replace("~1", "/").replace("~0", "~");
            }
        }
    }
    spoken
}

/// A message for the person at the desk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable name of the problem, `part/kebab-name`.
    pub code: String,
    /// How much it weighs.
    pub severity: Severity,
    /// What is wrong, in one line, with the text found in backticks.
    pub message: String,
    /// Where it is; none for a matter of the whole job.
    pub place: Option<Place>,
    /// A second place that explains the first, with its own words ("first used here").
    pub related: Option<(Place, String)>,
    /// What to type, ask or measure; one entry each.
    pub help: Vec<String>,
    /// The clause of a standard that makes it matter.
    pub clause: Option<String>,
}

impl Finding {
    /// A finding with a message and nothing else yet.
    pub fn new(severity: Severity, code: &str, message: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            severity,
            message: message.into(),
            place: None,
            related: None,
            help: Vec::new(),
            clause: None,
        }
    }
    /// An error with a message.
    pub fn error(code: &str, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message)
    }
    /// A warning with a message.
    pub fn warning(code: &str, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, message)
    }
    /// A note with a message.
    pub fn note(code: &str, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, code, message)
    }
    /// Says where.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }
    /// Names a second place.
    #[must_use]
    pub fn with_related(mut self, place: Place, text: impl Into<String>) -> Self {
        self.related = Some((place, text.into()));
        self
    }
    /// Says what to do; may be called more than once.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }
    /// Names the clause.
    #[must_use]
    pub fn clause(mut self, text: impl Into<String>) -> Self {
        self.clause = Some(text.into());
        self
    }
    /// The key by which findings are shown: file, row, column, code, message.
    pub fn sort_key(&self) -> (Option<&Place>, &str, &str) {
        (self.place.as_ref(), &self.code, &self.message)
    }
}

/// What `explain CODE` prints about a finding's code.
#[derive(Clone, Copy, Debug)]
pub struct CodeDoc {
    /// The code.
    pub code: &'static str,
    /// What it means.
    pub means: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// An input that raises it.
    pub example: &'static str,
    /// What to do.
    pub remedy: &'static str,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_of_a_sheet_are_named_as_the_sheet_names_them() {
        let place = |column: Option<u32>| {
            Place { file: "book.xlsx:Log!".to_owned(), row: Some(14), column, label: None }.to_string()
        };
        assert_eq!(place(Some(3)), "book.xlsx:Log!C14");
        assert_eq!(place(Some(26)), "book.xlsx:Log!Z14");
        assert_eq!(place(Some(27)), "book.xlsx:Log!AA14");
        assert_eq!(place(Some(16_384)), "book.xlsx:Log!XFD14");
        assert_eq!(place(None), "book.xlsx:Log!14");
    }
}
