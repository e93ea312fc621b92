//! Waveforms recorded from the generator.

use crate::{
    AmperesPerVolt, ChainElement, Decimal, EquipmentId, Kilovolts, Moment, Ohms, Origin, Picofarads,
    Polarity, VerificationId,
};

/// The time axis of a trace, in nanoseconds.
#[derive(Clone, Debug, PartialEq)]
pub enum TimeBase {
    /// Equal steps: time of sample k is `start_ns + k * step_ns`.
    Uniform {
        /// Time of the first sample.
        start_ns: f64,
        /// Time between samples, greater than 0.
        step_ns: f64,
    },
    /// A time for each sample, rising.
    Listed(Vec<f64>),
}

/// A recorded discharge current.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// File name within the job.
    pub name: String,
    /// Number of the segment in a file with several, from 1.
    pub segment: u32,
    /// Time axis.
    pub time: TimeBase,
    /// Current in amperes, with the record's sign; a sample that was not readable is not a number.
    pub current_a: Vec<f64>,
    /// Whether any sample was marked as over range by the instrument.
    pub over_range: bool,
    /// Resolution of the current axis in amperes, where the file states it.
    pub step_a: Option<f64>,
    /// The conversion that was applied to volts.
    pub a_per_v: Option<AmperesPerVolt>,
    /// Where it was read: the rows that hold the samples.
    pub origin: Origin,
}

/// A set of traces recorded under the same conditions, to see whether the generator's waveform is right.
#[derive(Clone, Debug, PartialEq)]
pub struct Verification {
    /// Name within the record.
    pub id: VerificationId,
    /// The generator.
    pub equipment: Option<EquipmentId>,
    /// Magnitude of the charge voltage.
    pub charge_kv: Option<Kilovolts>,
    /// Sign of the charge voltage.
    pub polarity: Option<Polarity>,
    /// Capacitance of the network that was fitted.
    pub network_pf: Option<Picofarads>,
    /// Resistance of the network that was fitted.
    pub network_ohm: Option<Ohms>,
    /// Analogue bandwidth of the measuring chain, in gigahertz.
    pub bandwidth_ghz: Option<Decimal>,
    /// The elements of that chain, from the target on.
    pub chain: Vec<ChainElement>,
    /// When.
    pub at: Option<Moment>,
    /// By whom.
    pub by: Option<String>,
    /// Remark, such as the position of the return cable.
    pub remark: Option<String>,
    /// The traces.
    pub traces: Vec<Trace>,
}

impl Verification {
    /// A verification of which nothing is known but its name.
    pub fn new(id: VerificationId) -> Self {
        Self {
            id,
            equipment: None,
            charge_kv: None,
            polarity: None,
            network_pf: None,
            network_ohm: None,
            bandwidth_ghz: None,
            chain: Vec::new(),
            at: None,
            by: None,
            remark: None,
            traces: Vec::new(),
        }
    }
}
