//! Quantities with their unit in the type; exact decimals that keep the digits as typed.

use rust_decimal::Decimal;

/// Why a text or number is not a value of a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BadQuantity {
    /// The text is not a plain decimal number.
    NotANumber {
        /// The text that was found.
        found: String,
    },
    /// The number lies outside what the quantity can be.
    OutOfRange {
        /// The number that was found.
        found: Decimal,
        /// Smallest value the type holds.
        least: Decimal,
        /// Largest value the type holds.
        most: Decimal,
        /// The unit of all three.
        unit: &'static str,
    },
}

impl std::fmt::Display for BadQuantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotANumber { found } => write!(f, "`{found}` is not a decimal number"),
            Self::OutOfRange { found, least, most, unit } => {
                write!(f, "{found} {unit} is outside {least} to {most} {unit}")
            }
        }
    }
}

impl std::error::Error for BadQuantity {}

/// Reads a plain decimal number: optional sign, digits, optional decimal point, optional exponent.
///
/// Spaces, thousands marks, decimal commas, `NaN`, hexadecimal and unit suffixes are refused: a reader
/// that accepts those converts them first and says so.
///
/// # Errors
/// [`BadQuantity::NotANumber`] with the text.
pub fn parse_decimal(text: &str) -> Result<Decimal, BadQuantity> {
    let bad = || BadQuantity::NotANumber { found: text.to_owned() };
    let well_formed = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    if !well_formed || text.len() > 64 {
        return Err(bad());
    }
    if text.contains(['e', 'E']) { Decimal::from_scientific(text) } else { Decimal::from_str_exact(text) }
        .map_err(|_| bad())
}

macro_rules! quantity {
    ($(#[$meta:meta])* $name:ident, $from:ident, $get:ident, $unit:literal, $least:expr, $most:expr) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Decimal);

        impl $name {
            /// The unit's symbol.
            pub const UNIT: &'static str = $unit;

            /// Takes a number in the unit of the type.
            ///
            /// # Errors
            /// [`BadQuantity::OutOfRange`] when the quantity can't have this value.
            pub fn $from(value: Decimal) -> Result<Self, BadQuantity> {
                let (least, most) = (Decimal::from_parts($least.0, 0, 0, $least.1, $least.2), Decimal::from($most));
                if value < least || value > most {
                    return Err(BadQuantity::OutOfRange { found: value, least, most, unit: $unit });
                }
                Ok(Self(value))
            }

            /// The number in the unit of the type, with the digits as given.
            pub fn $get(self) -> Decimal {
                self.0
            }

            /// Reads a plain decimal number in the unit of the type.
            ///
            /// # Errors
            /// When the text is not a number, or the quantity can't have this value.
            pub fn parse(text: &str) -> Result<Self, BadQuantity> {
                parse_decimal(text).and_then(Self::$from)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, "{} {}", self.0, $unit)
            }
        }
    };
}

quantity!(
    /// Magnitude of a charge voltage set on the generator, in kilovolts, 0 to 100; the sign is a
    /// [`crate::Polarity`] of its own.
    Kilovolts, from_kv, as_kv, "kV", (0u32, false, 0u32), 100
);
quantity!(
    /// A duration in seconds, 0 to 10^9.
    Seconds, from_s, as_s, "s", (0u32, false, 0u32), 1_000_000_000
);
quantity!(
    /// A temperature in degrees Celsius, -273.15 to 1000.
    Celsius, from_celsius, as_celsius, "°C", (27315u32, true, 2u32), 1000
);
quantity!(
    /// A share in per cent, 0 to 100 (relative humidity).
    Percent, from_percent, as_percent, "%", (0u32, false, 0u32), 100
);
quantity!(
    /// An air pressure in hectopascals, 0 to 2000.
    Hectopascals, from_hpa, as_hpa, "hPa", (0u32, false, 0u32), 2000
);
quantity!(
    /// A capacitance in picofarads, 0 to 10^6.
    Picofarads, from_pf, as_pf, "pF", (0u32, false, 0u32), 1_000_000
);
quantity!(
    /// A resistance in ohms, 0 to 10^12.
    Ohms, from_ohm, as_ohm, "Ω", (0u32, false, 0u32), 1_000_000_000_000i64
);
quantity!(
    /// A length in millimetres, 0 to 10^6.
    Millimetres, from_mm, as_mm, "mm", (0u32, false, 0u32), 1_000_000
);
quantity!(
    /// Conversion from the voltage at the oscilloscope to the discharge current (target, attenuator and
    /// cable together), in amperes per volt, 0 to 10^6.
    AmperesPerVolt, from_a_per_v, as_a_per_v, "A/V", (0u32, false, 0u32), 1_000_000
);
quantity!(
    /// Transfer impedance of a current target at low frequency: volts into the line for each ampere, 10^-6 to 10^6.
    VoltsPerAmpere, from_v_per_a, as_v_per_a, "V/A", (1u32, false, 6u32), 1_000_000
);
quantity!(
    /// Attenuation of a voltage in decibels, 0 to 120: how much lower it is behind than before.
    Decibels, from_db, as_db, "dB", (0u32, false, 0u32), 120
);
quantity!(
    /// Attenuation of a voltage as a ratio, before to behind, 1 to 10^6: 10 for 20 dB.
    AttenuationRatio, from_ratio, as_ratio, "to 1", (1u32, false, 0u32), 1_000_000
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_as_typed_survive() {
        assert_eq!(Kilovolts::parse("8.0").unwrap().to_string(), "8.0 kV");
        assert_eq!(Kilovolts::parse("8.0").unwrap(), Kilovolts::parse("8").unwrap());
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", " 8", "8 kV", "NaN", "inf", "0x8", "1,5", "--1", "1.2.3", "8-", "1e999"] {
            assert!(parse_decimal(text).is_err(), "{text}");
        }
        assert!(Kilovolts::parse("-8").is_err());
        assert!(Celsius::parse("-273.16").is_err());
        assert!(Celsius::parse("-273.15").is_ok());
        assert!(Percent::parse("100.1").is_err());
    }
}
