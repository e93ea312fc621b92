//! What a search has seen at each voltage, and why there may be no threshold in it.

use super::super::Trials;
use crate::special::{Confidence, OutOfDomain};
use crate::standard::number;
use record::{Decimal, Kilovolts};

/// One shot of a search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shot {
    /// Magnitude of the charge voltage.
    pub level: Kilovolts,
    /// Whether the item failed at it.
    pub failed: bool,
}

/// All shots of a search at one voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FailureRate {
    /// Magnitude of the charge voltage.
    pub level: Kilovolts,
    /// Failures among the shots there.
    pub trials: Trials,
}

/// Limits for a voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KilovoltLimits {
    /// Lower limit in kilovolts; none where the shots set none.
    pub low_kv: Option<f64>,
    /// Upper limit in kilovolts; none where the shots set none.
    pub high_kv: Option<f64>,
    /// Level of confidence.
    pub confidence: Confidence,
}

/// Why a search gives no threshold, or no limits for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoThreshold {
    /// Nothing was shot.
    NoShots,
    /// The item never failed: the threshold lies above the highest voltage used, if anywhere.
    NeverFailed,
    /// The item failed at every shot: the threshold lies below the lowest voltage used.
    AlwaysFailed,
    /// The item does not fail more often at higher voltages.
    NotRising,
    /// With fewer runs than this no limits have the confidence asked for.
    TooFewRuns {
        /// Runs needed.
        needed: u64,
    },
    /// The steps are too wide against the spread of the threshold (or too few shots were counted) to say more.
    StepsTooWide,
}

impl std::fmt::Display for NoThreshold {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoShots => f.write_str("nothing was shot"),
            Self::NeverFailed => f.write_str("the item never failed"),
            Self::AlwaysFailed => f.write_str("the item failed at every shot"),
            Self::NotRising => f.write_str("the item does not fail more often at higher voltages"),
            Self::TooFewRuns { needed } => write!(f, "at least {needed} runs are needed for limits"),
            Self::StepsTooWide => f.write_str("the steps are too wide, or the shots too few"),
        }
    }
}

/// Refuses a voltage that is no magnitude.
pub(super) fn magnitude(level: Kilovolts) -> Result<f64, OutOfDomain> {
    if level.as_kv() > Decimal::ZERO {
        Ok(number(level.as_kv()))
    } else {
        Err(OutOfDomain::new("a voltage of a search", level.as_kv(), "a magnitude above 0 kV"))
    }
}
