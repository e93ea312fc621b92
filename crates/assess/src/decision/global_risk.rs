//! Global risks: how often a rule will be wrong over all the items to come.

use super::limits::ToleranceLimits;
use crate::special::{
    Integral, OutOfDomain, Tail, Tails, gamma_quantile, gamma_tails, integrate, ln_gamma_density_of_log,
    normal_density, normal_tails,
};
use crate::standard::number;
use record::Decimal;

/// What is known about the items before any is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior(Kind);

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Normal { mean: f64, deviation: f64 },
    Gamma { shape: f64, rate: f64 },
}

impl Prior {
    /// Normally distributed.
    pub fn normal(mean: f64, deviation: f64) -> Result<Self, OutOfDomain> {
        let deviation = above_0("a standard deviation", deviation)?;
        if mean.is_finite() {
            Ok(Self(Kind::Normal { mean, deviation }))
        } else {
            Err(OutOfDomain::new("a mean", mean, "a finite number"))
        }
    }

    /// Gamma distributed, for values that can't be negative.
    pub fn gamma(mean: f64, deviation: f64) -> Result<Self, OutOfDomain> {
        let (mean, deviation) = (above_0("a mean", mean)?, above_0("a standard deviation", deviation)?);
        let ratio = mean / deviation;
        Ok(Self(Kind::Gamma { shape: ratio * ratio, rate: ratio / deviation }))
    }

    fn tails(&self, at: f64) -> Tails {
        match self.0 {
            Kind::Normal { mean, deviation } => normal_tails((at - mean) / deviation),
            Kind::Gamma { shape, rate } => gamma_tails(shape, (rate * at).max(0.0)),
        }
    }
}

fn above_0(quantity: &'static str, value: f64) -> Result<f64, OutOfDomain> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(OutOfDomain::new(quantity, value, "above 0"))
    }
}

/// How often a decision will be wrong, over all items (JCGM 106:2012 9.5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlobalRisks {
    /// Share of items that don't conform.
    pub nonconforming: f64,
    /// Consumer's risk: share of items that don't conform and are accepted.
    pub consumer: f64,
    /// Producer's risk: share of items that conform and are rejected.
    pub producer: f64,
    /// Estimate of the error of the numerical integration.
    pub change: f64,
}

/// The global risks of accepting what is measured within the limits moved inwards by `guard_band`, with a normal
/// measurement error of the given standard uncertainty.
///
/// The inner integral, over the measured value, is closed; the outer one, over the true value, is numerical.
pub fn global_risks(
    prior: Prior,
    standard: f64,
    limits: ToleranceLimits,
    guard_band: Decimal,
) -> Result<GlobalRisks, OutOfDomain> {
    let standard = above_0("a standard uncertainty", standard)?;
    let low = limits.lower().map(number);
    let high = limits.upper().map(number);
    let (accept_from, accept_to) = limits.inwards(guard_band);
    let (accept_from, accept_to) = (accept_from.map(number), accept_to.map(number));
    let inside = |value: f64| low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high);
    let accepted = |value: f64| -> Tails {
        let below =
            accept_from.map_or(Tails { lower: 0.0, upper: 1.0 }, |at| normal_tails((at - value) / standard));
        let above =
            accept_to.map_or(Tails { lower: 1.0, upper: 0.0 }, |at| normal_tails((at - value) / standard));
        let rejected = (below.lower + above.upper).min(1.0);
        let within =
            if below.lower <= above.upper { above.lower - below.lower } else { below.upper - above.upper };
        Tails { lower: within.max(0.0), upper: rejected }
    };
    // Where the integrand bends: at the limits, and within some standard uncertainties of the acceptance limits.
    let mut bends: Vec<f64> = low.into_iter().chain(high).collect();
    for at in accept_from.into_iter().chain(accept_to) {
        bends.extend([-9.0, -5.0, -2.0, 0.0, 2.0, 5.0, 9.0].map(|times| at + times * standard));
    }
    let over = |part: &dyn Fn(f64) -> f64| prior.expectation(&bends, part);
    let consumer = over(&|value| if inside(value) { 0.0 } else { accepted(value).lower });
    let producer = over(&|value| if inside(value) { accepted(value).upper } else { 0.0 });
    let nonconforming =
        low.map_or(0.0, |low| prior.tails(low).lower) + high.map_or(0.0, |high| prior.tails(high).upper);
    Ok(GlobalRisks {
        nonconforming,
        consumer: consumer.value,
        producer: producer.value,
        change: consumer.change + producer.change,
    })
}

impl Prior {
    /// The mean of a function over the prior, with its bends given.
    fn expectation(&self, bends: &[f64], part: &dyn Fn(f64) -> f64) -> Integral {
        const TOLERANCE: f64 = 1e-15;
        match self.0 {
            Kind::Normal { mean, deviation } => {
                let ends = [-13.0, -8.0, -4.0, -2.0, 0.0, 2.0, 4.0, 8.0, 13.0];
                let breaks = panels(&ends, bends.iter().map(|bend| (bend - mean) / deviation));
                integrate(&|z| normal_density(z) * part(mean + z * deviation), &breaks, TOLERANCE)
            }
            Kind::Gamma { shape, rate } => {
                // In the logarithm of the value the density has no singularity at 0.
                let ends = [1e-30, 1e-12, 1e-4, 0.1].map(|tail| {
                    let at = |tail| libm::log(gamma_quantile(shape, tail));
                    [at(Tail::Lower(tail)), at(Tail::Upper(tail))]
                });
                let positive = bends.iter().map(|bend| rate * bend).filter(|x| *x > 0.0);
                let mut ends: Vec<f64> = ends.into_iter().flatten().collect();
                ends.sort_by(f64::total_cmp);
                let breaks = panels(&ends, positive.map(libm::log));
                let density = |u: f64| libm::exp(ln_gamma_density_of_log(shape, libm::exp(u)));
                integrate(&|u| density(u) * part(libm::exp(u) / rate), &breaks, TOLERANCE)
            }
        }
    }
}

/// The ends, and the bends that lie between them, in order.
fn panels(ends: &[f64], bends: impl Iterator<Item = f64>) -> Vec<f64> {
    let (Some(first), Some(last)) = (ends.first(), ends.last()) else { return Vec::new() };
    let mut breaks: Vec<f64> = ends.to_vec();
    breaks.extend(bends.filter(|bend| bend > first && bend < last));
    breaks.sort_by(f64::total_cmp);
    breaks.dedup();
    breaks
}
