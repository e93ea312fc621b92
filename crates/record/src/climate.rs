//! Climate readings in the test room.

use crate::{Celsius, Hectopascals, Moment, Percent};

/// One reading of the room's climate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClimateReading {
    /// When.
    pub at: Option<Moment>,
    /// Temperature.
    pub temperature_c: Option<Celsius>,
    /// Relative humidity.
    pub humidity_percent: Option<Percent>,
    /// Air pressure.
    pub pressure_hpa: Option<Hectopascals>,
    /// Where the instrument stood, or which instrument.
    pub instrument: Option<String>,
}
