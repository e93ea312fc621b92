//! Probability of conformity, and guard bands that follow from one.

use super::limits::{Measured, ToleranceLimits};
use crate::special::{Confidence, OutOfDomain, Tail, Tails, normal_quantile, normal_tails};
use crate::standard::number;
use record::Decimal;

/// Where the true value lies, given the measured one; the three add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conformity {
    /// Probability that it lies within the limits.
    pub within: f64,
    /// Probability that it lies below the lower limit.
    pub below: f64,
    /// Probability that it lies above the upper limit.
    pub above: f64,
}

/// Probability that the true value conforms, with a normal distribution about the measured value (JCGM 106:2012 7.2
/// to 7.4). With no uncertainty the value itself decides, on a limit counting as within.
pub fn probability_of_conformity(measured: Measured, limits: ToleranceLimits) -> Conformity {
    let standard = measured.standard();
    let tails = |limit: Decimal, on_it_is_below: bool| -> Tails {
        let distance = limit - measured.value();
        if standard > 0.0 {
            return normal_tails(number(distance) / standard);
        }
        let below = distance > Decimal::ZERO || distance.is_zero() && on_it_is_below;
        if below { Tails { lower: 1.0, upper: 0.0 } } else { Tails { lower: 0.0, upper: 1.0 } }
    };
    let low = limits.lower().map_or(Tails { lower: 0.0, upper: 1.0 }, |limit| tails(limit, false));
    let high = limits.upper().map_or(Tails { lower: 1.0, upper: 0.0 }, |limit| tails(limit, true));
    // The difference of the smaller tails: a small probability keeps its digits on either side.
    let within = if low.lower <= high.upper { high.lower - low.lower } else { low.upper - high.upper };
    Conformity { within, below: low.lower, above: high.upper }
}

/// Probability that a value measured exactly at the acceptance limit lies beyond the tolerance limit, for a guard band of
/// r expanded uncertainties with coverage factor k and one limit in reach: the most that a pass risks.
pub fn false_accept_at_acceptance_limit(r: f64, k: f64) -> f64 {
    normal_tails(r * k).upper
}

/// Width of the guard band, in the unit of the standard uncertainty, at whose edge conformity to one limit has the given
/// probability (JCGM 106 8.3.3).
pub fn guard_band_for(probability: Confidence, standard: f64) -> Result<f64, OutOfDomain> {
    if standard >= 0.0 && standard.is_finite() {
        Ok(normal_quantile(Tail::Upper(probability.risk())) * standard)
    } else {
        Err(OutOfDomain::new("a standard uncertainty", standard, "a number from 0 up"))
    }
}

/// The measured value from which on an upper limit is exceeded with the given probability, where the standard uncertainty
/// is a share of the value (JCGM 106 8.3.3.3, guarded rejection).
pub fn proof_of_excess(limit: f64, relative: f64, probability: Confidence) -> Result<f64, OutOfDomain> {
    let left = 1.0 - normal_quantile(Tail::Upper(probability.risk())) * relative;
    if relative >= 0.0 && left > 0.0 {
        Ok(limit / left)
    } else {
        Err(OutOfDomain::new("a relative standard uncertainty", relative, "small enough to prove an excess"))
    }
}
