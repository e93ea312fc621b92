//! Does a measured value conform to its limits? Decision rules, and the risks that they carry.
//!
//! Limits, guard bands and measured values are exact decimals, and a value that lies exactly on a boundary counts as on
//! the passing side of it ([`EQUALITY_RULE`]). Which rule applies is agreed before the measurement (ISO/IEC 17025
//! 7.1.3) and printed with the result; none is built in. Probabilities take the knowledge about the value as normal
//! with the standard uncertainty U / k.

mod conformity;
mod global_risk;
mod limits;
mod rule;

pub use conformity::{
    Conformity, false_accept_at_acceptance_limit, guard_band_for, probability_of_conformity, proof_of_excess,
};
pub use global_risk::{GlobalRisks, Prior, global_risks};
pub use limits::{Measured, ToleranceLimits};
pub use rule::{Decision, DecisionRule, EQUALITY_RULE, Outcome, decide};
