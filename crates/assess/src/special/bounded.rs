//! Numbers that cannot be outside what they stand for.

use record::Decimal;

use crate::standard::number;

/// A number was given that the quantity cannot have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutOfDomain {
    /// The quantity.
    pub quantity: &'static str,
    /// What was given.
    pub got: String,
    /// What is allowed.
    pub allowed: &'static str,
}

impl OutOfDomain {
    pub(crate) fn new(quantity: &'static str, got: impl ToString, allowed: &'static str) -> Self {
        Self { quantity, got: got.to_string(), allowed }
    }
}

impl std::fmt::Display for OutOfDomain {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} `{}` is not possible: it must be {}", self.quantity, self.got, self.allowed)
    }
}

impl std::error::Error for OutOfDomain {}

/// A probability, from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Probability(f64);

impl Probability {
    /// Refuses what lies outside 0 to 1.
    pub fn new(value: f64) -> Result<Self, OutOfDomain> {
        if (0.0..=1.0).contains(&value) {
            Ok(Self(value))
        } else {
            Err(OutOfDomain::new("a probability", value, "from 0 to 1"))
        }
    }

    /// The number.
    pub const fn get(self) -> f64 {
        self.0
    }
}

/// A level of confidence or a coverage probability, strictly between 0 and 1, with the digits as stated.
///
/// Held as a decimal so that 1 - 0.95 is 0.05 and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Confidence(Decimal);

impl Confidence {
    /// Refuses 0, 1 and what lies outside.
    pub fn new(value: Decimal) -> Result<Self, OutOfDomain> {
        if value > Decimal::ZERO && value < Decimal::ONE {
            Ok(Self(value))
        } else {
            Err(OutOfDomain::new("a level of confidence", value, "above 0 and below 1, for example 0.95"))
        }
    }

    /// 95 %.
    pub fn ninety_five() -> Self {
        Self(Decimal::new(95, 2))
    }

    /// The level as stated.
    pub const fn as_decimal(self) -> Decimal {
        self.0
    }

    /// The level.
    pub fn get(self) -> f64 {
        number(self.0)
    }

    /// What is missing to 1.
    pub fn risk(self) -> f64 {
        number(Decimal::ONE - self.0)
    }
}

impl std::fmt::Display for Confidence {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} %", (self.0 * Decimal::ONE_HUNDRED).normalize())
    }
}
