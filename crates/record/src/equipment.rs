//! Test equipment and the generator's configuration.

use crate::{AttenuationRatio, Decibels, EquipmentId, Ohms, Picofarads, VoltsPerAmpere, word::words};
use jiff::civil::Date;

words!(
    /// What a piece of equipment is used for.
    EquipmentRole {
        /// The discharge generator.
        Generator = "generator",
        /// The current target of the calibration set-up.
        Target = "target",
        /// Attenuator or cable of the measuring chain.
        Attenuator = "attenuator",
        /// Oscilloscope.
        Oscilloscope = "oscilloscope",
        /// Thermometer, hygrometer, barometer.
        Climate = "climate",
        /// Ohmmeter, voltmeter and the like.
        Meter = "meter",
        /// Monitoring of the item.
        Monitor = "monitor",
        /// Anything else.
        Other = "other",
    }
);

/// A piece of test equipment (ISO/IEC 17025:2017 6.4.13).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equipment {
    /// Inventory name.
    pub id: EquipmentId,
    /// What it is used for.
    pub role: Option<EquipmentRole>,
    /// What it is.
    pub name: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Firmware or software version.
    pub firmware_version: Option<String>,
    /// Day of the last calibration.
    pub calibrated_on: Option<Date>,
    /// Last day on which that calibration is valid.
    pub calibration_due: Option<Date>,
    /// Certificate number.
    pub certificate: Option<String>,
    /// Who calibrated it.
    pub calibrated_by: Option<String>,
    /// Whether that calibration was accredited.
    pub accredited: Option<bool>,
    /// Whether the calibration found it within its tolerances.
    pub in_tolerance: Option<bool>,
    /// Of a current target: volts into the line for each ampere, at low frequency, as calibrated.
    pub transfer_v_per_a: Option<VoltsPerAmpere>,
    /// Of an attenuator or cable: by how much it lowers the voltage, as calibrated.
    pub attenuation_db: Option<Decibels>,
    /// The same as voltage before it over voltage behind it.
    pub attenuation_ratio: Option<AttenuationRatio>,
    /// A remark.
    pub remark: Option<String>,
}

words!(
    /// Shape of the discharge tip.
    Tip {
        /// Pointed, for contact discharge.
        Sharp = "sharp",
        /// Rounded, for air discharge.
        Round = "round",
    }
);

/// How the generator was configured.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Generator {
    /// Which generator.
    pub equipment: Option<EquipmentId>,
    /// Storage capacitance of the network.
    pub network_pf: Option<Picofarads>,
    /// Discharge resistance of the network.
    pub network_ohm: Option<Ohms>,
    /// Tip used for contact discharge.
    pub contact_tip: Option<Tip>,
    /// Tip used for air discharge.
    pub air_tip: Option<Tip>,
    /// Where the return cable ran and where it was connected.
    pub return_cable: Option<String>,
}
