//! Counts that differ between kinds of discharge, constraints over the whole job, and networks to choose from.

use super::{CountsPer, Given, Status};
use crate::word::words;
use record::{Application, Decimal, Ohms, Picofarads, Seconds};

/// Counts for some kinds of discharge, in place of the general ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountRule {
    /// The kinds of discharge.
    pub applies_to: Given<Vec<Application>>,
    /// Least number of discharges.
    pub discharges: Option<Given<u32>>,
    /// What that number belongs to.
    pub counts_per: Option<Given<CountsPer>>,
    /// Least time between discharges.
    pub interval_s: Option<Given<Seconds>>,
}

words!(
    /// What a constraint over the whole job counts.
    TotalOf {
        /// Discharges in the whole job.
        Job = "job",
        /// Discharges of each polarity in the whole job.
        Polarity = "polarity",
        /// Points at which discharges are applied.
        Points = "points",
    }
);

/// A constraint over the whole job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Total {
    /// The kinds of discharge that count.
    pub applies_to: Given<Vec<Application>>,
    /// What is counted.
    pub of: TotalOf,
    /// Least number.
    pub least: Given<u32>,
}

/// A network of the generator, among several from which the plan chooses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Network {
    /// Storage capacitance.
    pub pf: Picofarads,
    /// Discharge resistance.
    pub ohm: Ohms,
    /// When it is to be used, in our own words.
    pub used_for: String,
    /// Clause, table or figure.
    pub clause: String,
    /// Where it was found.
    pub source: String,
    /// How we know it.
    pub status: Status,
}

/// Something that a report must hold, or that must be agreed or recorded beforehand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportItem {
    /// Clause, with the letter of the list where it has one.
    pub clause: String,
    /// What is asked, in our own words.
    pub asks: String,
    /// Facts of the record of which all must be there (see [`crate::completeness`]).
    pub facts: Vec<String>,
    /// When it is asked; always where nothing stands.
    pub when: Option<String>,
    /// Where it was found.
    pub source: String,
    /// How we know it.
    pub status: Status,
}

/// The coupling planes of a standard, in millimetres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planes {
    /// Side of the vertical plane; one position covers about as much of a face of the item.
    pub vcp_side_mm: Given<Decimal>,
    /// Longer side of the horizontal plane.
    pub hcp_length_mm: Given<Decimal>,
    /// Shorter side of the horizontal plane.
    pub hcp_width_mm: Given<Decimal>,
    /// Distance from the item at which discharges are applied and the vertical plane stands.
    pub item_distance_mm: Given<Decimal>,
    /// Least distance of the item from the edge of the horizontal plane.
    pub hcp_margin_mm: Given<Decimal>,
    /// Resistance of the whole bleeder cable, in kilohms.
    pub bleeder_kohm: Given<Decimal>,
    /// Greatest capacitance that the horizontal plane is taken to have in place, in picofarads.
    pub hcp_capacitance_pf: Given<Decimal>,
}
