//! The people who did the work and answer for it.

use crate::word::words;
use jiff::civil::Date;

words!(
    /// What a person did for the job.
    PartPlayed {
        /// Applied the discharges and wrote down what happened.
        Tested = "tested",
        /// Checked records and calculations.
        Checked = "checked",
        /// Authorises the report.
        Authorised = "authorised",
    }
);

/// A person and their part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Name.
    pub name: String,
    /// What they did.
    pub part: PartPlayed,
    /// Position in the laboratory.
    pub position: Option<String>,
    /// When they signed for it.
    pub on: Option<Date>,
}
