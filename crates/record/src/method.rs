//! What was agreed to be done: method, plan, demands, deviations.

use crate::{Application, FunctionId, Kilovolts, ModeId, Ohms, Picofarads, Seconds, StateId, word::words};

/// A departure from the method (ISO/IEC 17025:2017 7.8.2.1 n).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deviation {
    /// What was done otherwise.
    pub what: String,
    /// Why.
    pub reason: Option<String>,
    /// The clause that it departs from.
    pub clause: Option<String>,
}

/// The method that was used (ISO/IEC 17025:2017 7.8.2.1 f).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Method {
    /// Id of the standard's data file, such as `iec-61000-4-2-ed2`.
    pub standard: Option<String>,
    /// Product or generic standard on top of it, in words.
    pub product_standard: Option<String>,
    /// Departures, each with its reason.
    pub deviations: Vec<Deviation>,
    /// The laboratory's own procedure.
    pub procedure: Option<String>,
}

words!(
    /// Which polarities the plan asks for; there is no default.
    PolarityRule {
        /// Positive and negative.
        Both = "both",
        /// Positive only.
        Positive = "positive",
        /// Negative only.
        Negative = "negative",
    }
);

/// What the plan asks for; with the points it determines the required series.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Plan {
    /// Level of the standard's table; none when the plan has voltages of its own.
    pub level: Option<String>,
    /// Own voltages for contact discharge to the item.
    pub contact_kv: Vec<Kilovolts>,
    /// Own voltages for air discharge.
    pub air_kv: Vec<Kilovolts>,
    /// Own voltages for the coupling planes; the contact voltages where none is given.
    pub indirect_kv: Vec<Kilovolts>,
    /// Which polarities.
    pub polarity: Option<PolarityRule>,
    /// Why one polarity suffices.
    pub polarity_basis: Option<String>,
    /// Discharges per point, polarity and voltage; the standard's number where none is given.
    pub discharges: Option<u32>,
    /// Time between discharges; the standard's where none is given.
    pub interval_s: Option<Seconds>,
    /// Storage capacitance of the network, where the standard leaves several to choose from.
    pub network_pf: Option<Picofarads>,
    /// Discharge resistance of the network, where the standard leaves several to choose from.
    pub network_ohm: Option<Ohms>,
    /// Modes in which every point is tested; none means that the mode is not part of the plan.
    pub modes: Vec<ModeId>,
    /// Whose choice it is (client, product standard, laboratory).
    pub chosen_by: Option<String>,
    /// The modification state to be judged; as received where none is named.
    pub judged_state: Option<StateId>,
}

/// Which outcomes are accepted for a function.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demand {
    /// The function; all functions where none is named.
    pub function: Option<FunctionId>,
    /// Only in this mode.
    pub mode: Option<ModeId>,
    /// Only for this kind of discharge.
    pub application: Option<Application>,
    /// Only from this voltage up.
    pub from_kv: Option<Kilovolts>,
    /// Only up to this voltage.
    pub to_kv: Option<Kilovolts>,
    /// The criterion or outcomes accepted, in the vocabulary of the standard's file.
    pub accepted: Vec<String>,
    /// Where the demand comes from.
    pub basis: Option<String>,
}
