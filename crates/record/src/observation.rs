//! What the item did.

use crate::{FunctionId, ObservationId, Origin, Seconds, SeriesId, Stated, word::words};

words!(
    /// Class of what was observed (IEC 61000-4-2:2008 clause 9, own words); a class is observed, a
    /// criterion is demanded.
    Class {
        /// Normal within the agreed limits.
        A = "a",
        /// Temporary loss that ends by itself.
        B = "b",
        /// Temporary loss; somebody must act.
        C = "c",
        /// Lasting loss: damage to hardware, software or data.
        D = "d",
    }
);

words!(
    /// Who or what restored the function.
    Restoration {
        /// Nothing was lost.
        NothingLost = "nothing-lost",
        /// It came back by itself.
        ByItself = "by-itself",
        /// The operator used a control.
        Operator = "operator",
        /// The supply was switched off and on.
        PowerCycle = "power-cycle",
        /// It did not come back.
        NotRestored = "not-restored",
    }
);

words!(
    /// What was affected.
    Affected {
        /// The item under test.
        Item = "item",
        /// Associated equipment only.
        Associated = "associated",
    }
);

/// A row of a log that an observation belongs to.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RowReference {
    /// The log's name as the job names it.
    pub file: String,
    /// The row, from 1.
    pub row: u64,
}

/// What the item did at or around a discharge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Observation {
    /// Name within the record.
    pub id: ObservationId,
    /// The series it belongs to; none where it belongs to no discharge.
    pub series: Option<SeriesId>,
    /// The discharge within the series, from 1, where known.
    pub shot: Option<u32>,
    /// The log row that the laboratory named for it.
    pub at: Option<RowReference>,
    /// The function that was affected.
    pub function: Option<FunctionId>,
    /// What was seen, in words.
    pub seen: Option<String>,
    /// The class that somebody wrote down.
    pub written_class: Option<Class>,
    /// Whether the operating state changed.
    pub state_changed: Stated<bool>,
    /// Whether stored data were lost.
    pub data_lost: Stated<bool>,
    /// Who or what restored the function.
    pub restored: Stated<Restoration>,
    /// How long the effect lasted.
    pub lasted_s: Option<Seconds>,
    /// Whether it was over before the next discharge.
    pub before_next: Stated<bool>,
    /// Whether it coincided with a discharge.
    pub coincident: Stated<bool>,
    /// Whether the item itself or only associated equipment was affected.
    pub affected: Stated<Affected>,
    /// Remark.
    pub remark: Option<String>,
    /// Where it was read.
    pub origin: Origin,
    /// Where the laboratory completed it, for an observation whose facts come from two places.
    pub completed_at: Option<Origin>,
}
