//! Checks of the set-up, and how charge is removed from an item that is not earthed.

use crate::{Decimal, Moment, word::words};

words!(
    /// What a set-up check looks at.
    SetupCheckKind {
        /// Resistance of the bleeder cable of a coupling plane.
        Bleeder = "bleeder",
        /// The return strap of the generator and its connection.
        Strap = "strap",
        /// Spark to the plane yes, to an insulator no.
        Spark = "spark",
        /// Generator voltage display.
        Voltage = "voltage",
        /// Distances to walls and metal.
        Distance = "distance",
        /// Insulation between item and plane.
        Insulation = "insulation",
        /// Size and position of planes.
        Plane = "plane",
        /// Course of the return cable.
        ReturnCable = "return-cable",
        /// Anything else.
        Other = "other",
    }
);

/// A check of the set-up, with its reading where it has one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetupCheck {
    /// What kind.
    pub kind: SetupCheckKind,
    /// What exactly was checked.
    pub what: Option<String>,
    /// The reading, in `unit`.
    pub reading: Option<Decimal>,
    /// Unit of reading and limits.
    pub unit: Option<String>,
    /// Least acceptable reading.
    pub least: Option<Decimal>,
    /// Greatest acceptable reading.
    pub most: Option<Decimal>,
    /// Whether the person found it in order.
    pub in_order: Option<bool>,
    /// When.
    pub at: Option<Moment>,
    /// By whom.
    pub by: Option<String>,
}

/// How charge was taken off an item that is not earthed, before each discharge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChargeRemoval {
    /// The method: bleeder cable, earthed brush, ionizer, waiting time, ...
    pub method: String,
}
