//! Units as they stand in headers, units rows, cells and settings.

use record::Decimal;

/// A unit that this reader knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
    Kilovolt,
    Volt,
    Second,
    Millisecond,
    Minute,
    Hour,
    /// Discharges in a second.
    PerSecond,
    /// Any other thing that is a unit (for knowing a units row when it is seen).
    Other,
}

impl Unit {
    /// The unit of a written symbol.
    pub(crate) fn parse(text: &str) -> Option<Unit> {
        let text = text.trim().trim_start_matches(['[', '(']).trim_end_matches([']', ')']).trim();
        Some(match text {
            "kV" | "KV" | "kv" | "Kv" => Unit::Kilovolt,
            "V" | "v" | "volt" | "Volt" | "volts" => Unit::Volt,
            "s" | "S" | "sec" | "secs" | "sek" | "Sek" | "seconds" => Unit::Second,
            "ms" => Unit::Millisecond,
            "min" => Unit::Minute,
            "h" => Unit::Hour,
            "Hz" | "hz" | "cps" | "1/s" | "/s" | "pps" => Unit::PerSecond,
            "%" | "% RH" | "%RH" | "%rF" | "°C" | "C" | "hPa" | "kPa" | "mbar" | "A" | "mm" | "pF" | "Ω"
            | "ns" => Unit::Other,
            _ => return None,
        })
    }

    /// The symbol.
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Unit::Kilovolt => "kV",
            Unit::Volt => "V",
            Unit::Second => "s",
            Unit::Millisecond => "ms",
            Unit::Minute => "min",
            Unit::Hour => "h",
            Unit::PerSecond => "Hz",
            Unit::Other => "another unit",
        }
    }

    /// Whether it measures a voltage.
    pub(crate) fn is_voltage(self) -> bool {
        matches!(self, Unit::Kilovolt | Unit::Volt)
    }

    /// Whether it measures a duration or a rate.
    pub(crate) fn is_duration(self) -> bool {
        matches!(self, Unit::Second | Unit::Millisecond | Unit::Minute | Unit::Hour | Unit::PerSecond)
    }

    /// A number in this unit as kilovolts.
    pub(crate) fn kilovolts(self, number: Decimal) -> Option<Decimal> {
        match self {
            Unit::Kilovolt => Some(number),
            Unit::Volt => number.checked_mul(Decimal::new(1, 3)).map(|d| d.normalize()),
            _ => None,
        }
    }

    /// A number in this unit as seconds; a rate gives the time between two discharges.
    pub(crate) fn seconds(self, number: Decimal) -> Option<Decimal> {
        match self {
            Unit::Second => Some(number),
            Unit::Millisecond => number.checked_mul(Decimal::new(1, 3)).map(|d| d.normalize()),
            Unit::Minute => number.checked_mul(Decimal::from(60)),
            Unit::Hour => number.checked_mul(Decimal::from(3600)),
            Unit::PerSecond => Decimal::ONE.checked_div(number).map(|d| d.normalize()),
            Unit::Kilovolt | Unit::Volt | Unit::Other => None,
        }
    }
}

/// Splits a header such as `U [kV]`, `Voltage (kV)`, `Spannung/kV`, `Voltage_kV` or `kV` into name and unit.
pub(crate) fn split(header: &str) -> (&str, Option<Unit>) {
    let header = header.trim();
    if let Some(unit) = Unit::parse(header).filter(|u| u.is_voltage()) {
        return (header, Some(unit));
    }
    for open in ['[', '('] {
        if let Some(at) = header.rfind(open)
            && let Some(unit) = header.get(at..).and_then(Unit::parse)
        {
            return (header.get(..at).unwrap_or_default().trim_end(), Some(unit));
        }
    }
    for mark in ['/', '_', ' '] {
        if let Some(at) = header.rfind(mark)
            && at > 0
            && let Some(unit) = header.get(at + 1..).and_then(Unit::parse).filter(|u| *u != Unit::Other)
        {
            let name = header.get(..at).unwrap_or_default().trim_end();
            let stripped = name.strip_suffix(" in");
            // `Point V` is a name, not a voltage.
            if mark == ' ' && stripped.is_none() && header.len() - at < 3 {
                continue;
            }
            return (stripped.unwrap_or(name), Some(unit));
        }
    }
    (header, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_where_people_put_them() {
        for (header, name, unit) in [
            ("U [kV]", "U", Some(Unit::Kilovolt)),
            ("Voltage (V)", "Voltage", Some(Unit::Volt)),
            ("Spannung/kV", "Spannung", Some(Unit::Kilovolt)),
            ("Voltage_kV", "Voltage", Some(Unit::Kilovolt)),
            ("Spannung in kV", "Spannung", Some(Unit::Kilovolt)),
            ("kV", "kV", Some(Unit::Kilovolt)),
            ("t(s)", "t", Some(Unit::Second)),
            ("C/A", "C/A", None),
            ("Point V", "Point V", None),
            ("U in V", "U", Some(Unit::Volt)),
            ("Point", "Point", None),
            ("Rate (1/s)", "Rate", Some(Unit::PerSecond)),
        ] {
            assert_eq!(split(header), (name, unit), "{header}");
        }
    }

    #[test]
    fn conversions_are_exact() {
        assert_eq!(Unit::Volt.kilovolts(Decimal::from(8000)).unwrap().to_string(), "8");
        assert_eq!(Unit::Volt.kilovolts(Decimal::from(2500)).unwrap().to_string(), "2.5");
        assert_eq!(Unit::PerSecond.seconds(Decimal::from(20)).unwrap().to_string(), "0.05");
        assert_eq!(Unit::PerSecond.seconds(Decimal::ZERO), None);
    }
}
