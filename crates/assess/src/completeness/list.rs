//! The list of ISO/IEC 17025:2017, as data.

use crate::standard::ReportItem;
use std::sync::OnceLock;

/// A list of what must be stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Checklist {
    /// Name of the standard that it belongs to.
    pub name: String,
    /// Version of the data file.
    pub version: u32,
    /// Its items, in the order of their clauses.
    pub items: Vec<ReportItem>,
}

/// Name and text of the built-in list.
const BUILT_IN: (&str, &str) = (
    "iso-iec-17025-2017.toml",
    include_str!("../../../../shared/standards/checklists/iso-iec-17025-2017.toml"),
);

impl Checklist {
    /// Reads the text of a list.
    ///
    /// # Errors
    /// Every problem of the text with its place.
    pub fn parse(file: &str, text: &str) -> Result<Self, Vec<record::Finding>> {
        crate::standard::parse_checklist(file, text)
    }

    /// The list of ISO/IEC 17025:2017 that comes with the program; a test holds that it is in order.
    pub fn laboratory() -> Option<&'static Self> {
        static LIST: OnceLock<Option<Checklist>> = OnceLock::new();
        LIST.get_or_init(|| Self::parse(BUILT_IN.0, BUILT_IN.1).ok()).as_ref()
    }

    /// File name and text of the built-in list.
    pub fn built_in() -> (&'static str, &'static str) {
        BUILT_IN
    }
}
