//! Vocabulary of outcomes, test levels, and the rules by which discharges are applied and counted.

use super::{Given, Status};
use crate::word::words;
use record::{Class, Decimal, EquipmentRole, Kilovolts, Ohms, Picofarads, Seconds, SetupCheckKind, Tip};

words!(
    /// A fact that an outcome needs beside the class of what was observed.
    Fact {
        /// The operating state did not change.
        NoStateChange = "no-state-change",
        /// No stored data were lost.
        NoDataLoss = "no-data-loss",
        /// The function came back without any help.
        SelfRecovery = "self-recovery",
    }
);

/// A word of the vocabulary in which demands are made: which classes it accepts, and on what condition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// The word, such as `A`.
    pub name: String,
    /// What it means, in our own words.
    pub meaning: String,
    /// Classes that it accepts.
    pub classes: Vec<Class>,
    /// Facts that it needs of an observation that is not of class a.
    pub needs: Vec<Fact>,
    /// Clause, table or figure.
    pub clause: String,
    /// Where the definition was found.
    pub source: String,
    /// How we know it.
    pub status: Status,
}

/// A test level.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    /// Name as the standard prints it: `1` to `4`, `X`.
    pub name: String,
    /// Contact voltages, rising; none where the level has none or is open.
    pub contact_kv: Option<Given<Vec<Kilovolts>>>,
    /// Air voltages, rising; none where the level has none or is open.
    pub air_kv: Option<Given<Vec<Kilovolts>>>,
    /// Voltages of the coupling planes, rising, where they are not those of contact discharge.
    pub indirect_kv: Option<Given<Vec<Kilovolts>>>,
    /// Set when the voltages of the level are left open: the plan must state them.
    pub open: Option<Given<bool>>,
}

words!(
    /// What a count of discharges belongs to.
    CountsPer {
        /// Each point, polarity and level.
        PointPolarityLevel = "point-polarity-level",
        /// Each point and level, whatever the polarity.
        PointLevel = "point-level",
        /// Each point and polarity, whatever the level.
        PointPolarity = "point-polarity",
        /// Each point.
        Point = "point",
        /// The whole job.
        Job = "job",
    }
);

words!(
    /// Which polarities a standard asks for; the plan chooses in any case.
    PolarityDemand {
        /// The one to which the item is most sensitive.
        MostSensitive = "most-sensitive",
        /// Both.
        Both = "both",
        /// The standard leaves it open.
        Open = "open",
    }
);

/// How discharges are applied and counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rules {
    /// Least number of discharges.
    pub discharges: Given<u32>,
    /// What that number belongs to.
    pub counts_per: Given<CountsPer>,
    /// Which polarities.
    pub polarity: Given<PolarityDemand>,
    /// Least time between discharges.
    pub interval_s: Given<Seconds>,
    /// Contact: whether all lower levels are tested too.
    pub lower_levels_contact: Given<bool>,
    /// Air: whether all lower levels are tested too.
    pub lower_levels_air: Given<bool>,
    /// Contact: the ladder of voltages of which the lower ones are tested; the standard's levels where absent.
    pub contact_steps_kv: Option<Given<Vec<Kilovolts>>>,
    /// Air: the ladder of voltages of which the lower ones are tested; the standard's levels where absent.
    pub air_steps_kv: Option<Given<Vec<Kilovolts>>>,
    /// Whether only single discharges count.
    pub single_discharges: Given<bool>,
    /// Tip for contact discharge.
    pub contact_tip: Given<Tip>,
    /// Tip for air discharge.
    pub air_tip: Given<Tip>,
    /// Storage capacitance of the generator's network.
    pub network_pf: Given<Picofarads>,
    /// Discharge resistance of the generator's network.
    pub network_ohm: Given<Ohms>,
    /// Tolerance of the charge voltage, plus and minus, in per cent.
    pub voltage_tolerance_percent: Given<Decimal>,
    /// Whether the coupling planes get the contact voltage of the level.
    pub indirect_uses_contact_level: Given<bool>,
    /// Whether an air approach counts towards the requirement when no spark came.
    pub air_approach_without_spark_counts: Given<bool>,
}

/// What must be shown for a result to be valid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// Calibration of the generator in date on the test day.
    pub calibration: Given<bool>,
    /// Further roles of equipment whose calibration must be in date.
    pub calibration_roles: Option<Given<Vec<EquipmentRole>>>,
    /// A verification of the set-up before use.
    pub setup_verification: Given<bool>,
    /// Kinds of set-up check of which each counts as that verification.
    pub setup_kinds: Given<Vec<SetupCheckKind>>,
    /// Readings of set-up checks inside the standard's limits; shown only where it is false or absent.
    pub setup_limits: Option<Given<bool>>,
    /// Climate inside the limits, for the applications that they are bound to.
    pub climate: Given<bool>,
    /// Charge taken off an item that is not earthed, before each discharge.
    pub charge_removal_unearthed: Given<bool>,
    /// The tip that belongs to the kind of discharge.
    pub tip: Given<bool>,
    /// The generator's network.
    pub network: Given<bool>,
    /// The item watched during each series.
    pub monitoring: Given<bool>,
    /// Waveforms measured in house; where false they are a bonus.
    pub waveform: Given<bool>,
}
