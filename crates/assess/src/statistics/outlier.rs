//! Grubbs' test: is one reading of a set too far from the others?

use super::Side;
use crate::special::{Confidence, OutOfDomain, Tail, student_t_quantile};

/// The reading farthest from the mean, held against the critical value of F. E. Grubbs (Technometrics 11 (1969) 1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grubbs {
    /// Which reading, from 0.
    pub index: usize,
    /// Its distance from the mean, in standard deviations of the readings.
    pub statistic: f64,
    /// The distance that normal readings exceed with the risk of the confidence.
    pub critical: f64,
}

impl Grubbs {
    /// The method, for a report.
    pub const METHOD: &'static str = "Grubbs' test for one outlier, normal readings";

    /// Whether the reading is farther away than normal readings are with that confidence.
    pub fn is_outlier(self) -> bool {
        self.statistic > self.critical
    }
}

/// Tests the reading farthest from the mean (on the side asked for). Refuses fewer than 3 readings, readings that are
/// not finite, and readings without any spread.
pub fn grubbs(readings: &[f64], confidence: Confidence, side: Side) -> Result<Grubbs, OutOfDomain> {
    let observed = crate::uncertainty::observed(readings)?;
    if readings.len() < 3 {
        return Err(OutOfDomain::new("a number of readings", readings.len(), "at least 3"));
    }
    if observed.deviation <= 0.0 {
        return Err(OutOfDomain::new("the spread of readings", observed.deviation, "above 0"));
    }
    let distance = |reading: &f64| match side {
        Side::Both => (reading - observed.mean).abs(),
        Side::Upper => reading - observed.mean,
        Side::Lower => observed.mean - reading,
    };
    let (index, farthest) = readings
        .iter()
        .map(distance)
        .enumerate()
        .fold((0, f64::NEG_INFINITY), |best, this| if this.1 > best.1 { this } else { best });
    let n = readings.len() as f64;
    let sides = if side == Side::Both { 2.0 } else { 1.0 };
    let t = student_t_quantile(n - 2.0, Tail::Upper(confidence.risk() / (sides * n)));
    let critical = (n - 1.0) / libm::sqrt(n) * libm::sqrt(t * t / (n - 2.0 + t * t));
    Ok(Grubbs { index, statistic: farthest / observed.deviation, critical })
}
