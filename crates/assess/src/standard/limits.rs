//! Limits of the room's climate, of set-up checks and of the generator's waveform.

use super::{Given, Span, Status};
use crate::word::words;
use record::{
    Application, Celsius, Decimal, Hectopascals, Kilovolts, Ohms, Percent, Picofarads, SetupCheckKind,
};

/// Limits of the climate, for some kinds of discharge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClimateLimit {
    /// The kinds of discharge that the limits bind.
    pub applies_to: Given<Vec<Application>>,
    /// Temperature.
    pub temperature_c: Option<Given<Span<Celsius>>>,
    /// Relative humidity.
    pub humidity_percent: Option<Given<Span<Percent>>>,
    /// Air pressure.
    pub pressure_hpa: Option<Given<Span<Hectopascals>>>,
}

/// Limits of a reading of a set-up check. An end that is absent is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetupLimit {
    /// The kind of check.
    pub kind: SetupCheckKind,
    /// What exactly is measured.
    pub what: String,
    /// Unit of the values: one of [`SetupLimit::UNITS`].
    pub unit: String,
    /// Nominal value.
    pub nominal: Option<Given<Decimal>>,
    /// Least value inside.
    pub least: Option<Given<Decimal>>,
    /// Greatest value inside.
    pub most: Option<Given<Decimal>>,
}

impl SetupLimit {
    /// Units that a limit or reading may have: name, what it measures, and factor to that family's smallest unit.
    const FACTORS: &'static [(&'static str, u8, i64)] = &[
        ("ohm", 0, 1),
        ("kohm", 0, 1_000),
        ("Mohm", 0, 1_000_000),
        ("mm", 1, 1),
        ("cm", 1, 10),
        ("m", 1, 1_000),
        ("V", 2, 1),
        ("kV", 2, 1_000),
    ];
    /// Units that a limit may have.
    pub const UNITS: &'static [&'static str] = &["ohm", "kohm", "Mohm", "mm", "cm", "m", "V", "kV"];

    /// A reading converted, without rounding, into the unit of this limit; none where the units don't go together.
    pub fn in_own_unit(&self, reading: Decimal, unit: &str) -> Option<Decimal> {
        let find = |name: &str| Self::FACTORS.iter().find(|(known, ..)| *known == name);
        let ((_, from, up), (_, to, down)) = (find(unit)?, find(&self.unit)?);
        if from != to {
            return None;
        }
        reading.checked_mul(Decimal::from(*up))?.checked_div(Decimal::from(*down))
    }

    /// Whether a reading in the limit's own unit lies inside; a reading equal to an end is inside.
    pub fn holds(&self, reading: Decimal) -> bool {
        self.least.as_ref().is_none_or(|least| reading >= least.value)
            && self.most.as_ref().is_none_or(|most| reading <= most.value)
    }
}

/// A figure of the generator's waveform.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WaveformQuantity {
    /// First peak, in amperes.
    PeakCurrent,
    /// From 10 % to 90 % of the first peak, in nanoseconds.
    RiseTime,
    /// Current at a time after the origin, in amperes.
    CurrentAt {
        /// Time after the origin, in nanoseconds.
        time_ns: Decimal,
    },
}

impl WaveformQuantity {
    /// The unit of the figure.
    pub fn unit(self) -> &'static str {
        match self {
            Self::PeakCurrent | Self::CurrentAt { .. } => "A",
            Self::RiseTime => "ns",
        }
    }
}

impl std::fmt::Display for WaveformQuantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::PeakCurrent => f.write_str("first peak"),
            Self::RiseTime => f.write_str("rise time"),
            Self::CurrentAt { time_ns } => write!(f, "current at {time_ns} ns"),
        }
    }
}

words!(
    /// The instant from which times of currents count.
    TimeOrigin {
        /// First crossing of 10 % of the first peak.
        TenPercent = "first-10-percent",
        /// The first peak.
        Peak = "first-peak",
        /// Not known.
        Unknown = "unknown",
    }
);

/// How a limit of the waveform is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaveformBounds {
    /// A nominal value with its tolerances.
    Tolerance {
        /// Nominal value, in the unit of the figure.
        nominal: Decimal,
        /// Tolerance downwards, in per cent of the nominal value.
        minus_percent: Decimal,
        /// Tolerance upwards, in per cent of the nominal value.
        plus_percent: Decimal,
    },
    /// Two ends without a nominal value.
    Range {
        /// Least value inside.
        least: Decimal,
        /// Greatest value inside.
        most: Decimal,
    },
}

/// A limit of the generator's waveform, for one network.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WaveformLimit {
    /// Storage capacitance of the network.
    pub network_pf: Picofarads,
    /// Discharge resistance of the network.
    pub network_ohm: Ohms,
    /// The figure.
    pub quantity: WaveformQuantity,
    /// Whether the nominal value is per kilovolt of charge voltage.
    pub per_kv: bool,
    /// The only charge voltage at which the limit holds, where it is not given for every one.
    pub only_at_kv: Option<Kilovolts>,
    /// The limit itself.
    pub bounds: WaveformBounds,
    /// The instant from which the time of a current counts; none for the other figures.
    pub time_origin: Option<Given<TimeOrigin>>,
    /// Clause, table or figure.
    pub clause: String,
    /// Where the values were found.
    pub source: String,
    /// How we know them.
    pub status: Status,
}

impl WaveformLimit {
    /// Nominal value, where there is one, and both limits, exact, at the magnitude of a charge voltage; none
    /// where the limit does not hold at that voltage or the digits overflow.
    pub fn at(&self, charge_kv: Kilovolts) -> Option<(Option<Decimal>, Span<Decimal>)> {
        if self.only_at_kv.is_some_and(|kv| kv != charge_kv) {
            return None;
        }
        let scaled = |value: Decimal| {
            if self.per_kv { value.checked_mul(charge_kv.as_kv()) } else { Some(value) }
        };
        match self.bounds {
            WaveformBounds::Tolerance { nominal, minus_percent, plus_percent } => {
                let nominal = scaled(nominal)?;
                let part = |percent: Decimal| nominal.checked_mul(percent)?.checked_div(Decimal::ONE_HUNDRED);
                let least = nominal.checked_sub(part(minus_percent)?)?;
                let most = nominal.checked_add(part(plus_percent)?)?;
                Some((Some(nominal.normalize()), Span { least: least.normalize(), most: most.normalize() }))
            }
            WaveformBounds::Range { least, most } => {
                Some((None, Span { least: scaled(least)?.normalize(), most: scaled(most)?.normalize() }))
            }
        }
    }
}
