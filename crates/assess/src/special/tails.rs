//! Probabilities on both sides of a value, so that neither is lost in the other's rounding.

/// The probabilities below and above a value; they add up to 1, and each has its own relative accuracy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tails {
    /// Probability of a value at or below.
    pub lower: f64,
    /// Probability of a value above.
    pub upper: f64,
}

impl Tails {
    pub(super) const NAN: Self = Self { lower: f64::NAN, upper: f64::NAN };

    pub(super) const fn swapped(self) -> Self {
        Self { lower: self.upper, upper: self.lower }
    }

    pub(super) fn from_lower(lower: f64) -> Self {
        Self { lower, upper: 1.0 - lower }
    }
}

/// The probability for which a quantile is wanted, and on which side it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tail {
    /// Probability of a value at or below the quantile.
    Lower(f64),
    /// Probability of a value above the quantile.
    Upper(f64),
}

impl Tail {
    /// The smaller of the two probabilities and whether it lies below the quantile; `None` outside 0 to 1.
    pub(super) fn smaller(self) -> Option<(f64, bool)> {
        let (probability, below) = match self {
            Self::Lower(probability) => (probability, true),
            Self::Upper(probability) => (probability, false),
        };
        if !(0.0..=1.0).contains(&probability) {
            return None;
        }
        Some(if probability <= 0.5 { (probability, below) } else { (1.0 - probability, !below) })
    }
}

/// A number from 0 to 1 together with what is missing to 1, each with its own relative accuracy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fraction {
    /// The number.
    pub part: f64,
    /// 1 minus the number.
    pub rest: f64,
}

impl Fraction {
    /// From the number itself.
    pub fn of(part: f64) -> Self {
        Self { part, rest: 1.0 - part }
    }

    pub(super) const fn swapped(self) -> Self {
        Self { part: self.rest, rest: self.part }
    }

    /// From the logarithm of part / rest.
    pub(super) fn from_log_odds(log_odds: f64) -> Self {
        Self { part: 1.0 / (1.0 + libm::exp(-log_odds)), rest: 1.0 / (1.0 + libm::exp(log_odds)) }
    }
}
