//! What people decide, beside what is computed: judgements, rulings on unreadable rows, opinions.

use crate::{Moment, StateId, word::words};

words!(
    /// A verdict that a person states.
    JudgedVerdict {
        /// Meets the requirement.
        Pass = "pass",
        /// Does not.
        Fail = "fail",
        /// Can't be said.
        Undetermined = "undetermined",
    }
);

/// An engineer's judgement; shown beside the computed verdict, never instead of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judgement {
    /// What it concerns, in the record's names.
    pub concerns: String,
    /// The verdict that the person states, where they state one.
    pub verdict: Option<JudgedVerdict>,
    /// Who.
    pub by: String,
    /// When.
    pub at: Option<Moment>,
    /// On what grounds.
    pub why: String,
}

/// A named person's ruling on a log row that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowRuling {
    /// The log's name.
    pub file: String,
    /// The row, from 1.
    pub row: u64,
    /// Who ruled.
    pub by: String,
    /// When.
    pub at: Option<Moment>,
    /// What the row means, or why it does not matter.
    pub ruling: String,
}

/// A named person's reason why a plan run only in part in a modified state suffices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartialPlanJustification {
    /// The state.
    pub state: StateId,
    /// Who.
    pub by: String,
    /// Why.
    pub why: String,
}

/// An opinion or interpretation (ISO/IEC 17025:2017 7.8.7), marked as such in every output.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opinion {
    /// The opinion.
    pub text: String,
    /// Whose.
    pub by: String,
    /// On what basis.
    pub basis: Option<String>,
}
