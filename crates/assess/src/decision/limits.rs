//! The limits of a requirement, and a measured value with its uncertainty.

use crate::special::OutOfDomain;
use crate::standard::number;
use record::Decimal;

/// A lower limit, an upper limit, or both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ToleranceLimits {
    lower: Option<Decimal>,
    upper: Option<Decimal>,
}

impl ToleranceLimits {
    /// Refuses no limit at all, and a lower limit that is not below the upper one.
    pub fn new(lower: Option<Decimal>, upper: Option<Decimal>) -> Result<Self, OutOfDomain> {
        match (lower, upper) {
            (None, None) => {
                Err(OutOfDomain::new("a requirement", "no limits", "one with at least one limit"))
            }
            (Some(low), Some(high)) if low >= high => {
                Err(OutOfDomain::new("a lower limit", low, "below the upper limit"))
            }
            _ => Ok(Self { lower, upper }),
        }
    }

    /// The lower limit.
    pub const fn lower(self) -> Option<Decimal> {
        self.lower
    }

    /// The upper limit.
    pub const fn upper(self) -> Option<Decimal> {
        self.upper
    }

    /// The limits moved inwards by a width (outwards where it is negative); they may cross, and then nothing lies
    /// between them.
    pub(super) fn inwards(self, width: Decimal) -> (Option<Decimal>, Option<Decimal>) {
        (self.lower.map(|low| low.saturating_add(width)), self.upper.map(|high| high.saturating_sub(width)))
    }
}

/// Whether a value lies between two limits; on a limit counts as between.
pub(super) fn between(value: Decimal, (low, high): (Option<Decimal>, Option<Decimal>)) -> bool {
    low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high)
}

/// A measured value with its expanded uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    value: Decimal,
    expanded: Decimal,
    k: Decimal,
}

impl Measured {
    /// Refuses an uncertainty below 0 and a coverage factor that is not above 0.
    pub fn new(value: Decimal, expanded: Decimal, k: Decimal) -> Result<Self, OutOfDomain> {
        if expanded < Decimal::ZERO {
            return Err(OutOfDomain::new("an expanded uncertainty", expanded, "a number from 0 up"));
        }
        if k <= Decimal::ZERO {
            return Err(OutOfDomain::new("a coverage factor", k, "above 0"));
        }
        Ok(Self { value, expanded, k })
    }

    /// The value.
    pub const fn value(self) -> Decimal {
        self.value
    }

    /// Its expanded uncertainty.
    pub const fn expanded(self) -> Decimal {
        self.expanded
    }

    /// The coverage factor of that.
    pub const fn k(self) -> Decimal {
        self.k
    }

    /// Its standard uncertainty.
    pub fn standard(self) -> f64 {
        number(self.expanded) / number(self.k)
    }
}
