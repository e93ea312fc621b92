//! Discharges that were applied, as series of equal ones.

use crate::{
    Kilovolts, ModeId, Moment, Origin, PointId, Seconds, SeriesId, StateId, Stated, Tip, word::words,
};

words!(
    /// How a discharge is applied.
    Application {
        /// Contact discharge to the item.
        Contact = "contact",
        /// Air discharge to the item.
        Air = "air",
        /// Contact discharge to the horizontal coupling plane.
        Hcp = "hcp",
        /// Contact discharge to the vertical coupling plane.
        Vcp = "vcp",
    }
);

impl Application {
    /// Whether the discharge goes to a coupling plane instead of the item.
    pub fn is_indirect(self) -> bool {
        matches!(self, Self::Hcp | Self::Vcp)
    }
}

words!(
    /// Sign of the charge voltage.
    Polarity {
        /// Positive.
        Positive = "positive",
        /// Negative.
        Negative = "negative",
    }
);

impl Polarity {
    /// `+` or `-` (U+2212).
    pub fn sign(self) -> char {
        match self {
            Self::Positive => '+',
            Self::Negative => '\u{2212}',
        }
    }
}

words!(
    /// What a series was applied for.
    RunKind {
        /// Counts towards the requirement.
        Compliance = "compliance",
        /// Search for sensitive points, usually at a high rate.
        Exploratory = "exploratory",
        /// Rising voltage until something happens.
        Threshold = "threshold",
    }
);

words!(
    /// Whether the item was watched during a series.
    Monitoring {
        /// All the time.
        Continuous = "continuous",
        /// Not all the time.
        Interrupted = "interrupted",
        /// Nobody says so in as many words, but the log has a result beside each discharge.
        ResultEach = "result-each",
    }
);

/// One discharge of a series, where the log has them one by one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shot {
    /// Row of the log, from 1; the file is the series' origin.
    pub row: u64,
    /// When, where the log says so.
    pub at: Option<Moment>,
    /// Air discharge: whether a spark was seen.
    pub spark: Option<bool>,
}

/// Equal discharges at one point.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Series {
    /// Name within the record.
    pub id: SeriesId,
    /// Where.
    pub point: PointId,
    /// How.
    pub application: Application,
    /// Sign of the voltage.
    pub polarity: Polarity,
    /// Magnitude of the voltage.
    pub voltage_kv: Kilovolts,
    /// How many discharges (air: approaches) were applied.
    pub count: u32,
    /// Air discharge: how many of them made a spark, where that was written down.
    pub sparks: Option<u32>,
    /// Time between discharges.
    pub interval_s: Option<Seconds>,
    /// Single discharges (true) or bursts at a repetition rate (false).
    pub single: Option<bool>,
    /// Modification state of the item.
    pub state: Option<StateId>,
    /// Operating mode.
    pub mode: Option<ModeId>,
    /// What the series was applied for.
    pub kind: RunKind,
    /// Whether the item was watched.
    pub monitoring: Stated<Monitoring>,
    /// Tip that was fitted.
    pub tip: Option<Tip>,
    /// When the first discharge was applied.
    pub started: Option<Moment>,
    /// When the last discharge was applied.
    pub ended: Option<Moment>,
    /// Who applied it.
    pub tested_by: Option<String>,
    /// Reference of a records system to this series.
    pub external_reference: Option<String>,
    /// Remark in the log.
    pub remark: Option<String>,
    /// Single discharges, where the log has a row for each.
    pub shots: Vec<Shot>,
    /// Where it was read.
    pub origin: Origin,
}
