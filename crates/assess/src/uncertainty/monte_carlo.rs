//! Propagation of distributions by Monte Carlo (JCGM 101:2008): the cross-check of a budget.

use super::{BadBudget, Budget, Combined, Distribution, Input, Random};
use crate::special::{Confidence, Tail, normal_quantile};

/// Most trials: their values are kept, 8 bytes each.
const MOST_TRIALS: u64 = 20_000_000;

/// Which of the many intervals with the coverage probability is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoverageInterval {
    /// As much probability below as above (JCGM 101 7.7.2, "probabilistically symmetric").
    Symmetric,
    /// The shortest one (JCGM 101 7.7.3).
    Shortest,
}

/// How to simulate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MonteCarlo {
    /// Start of the random numbers; the same seed gives the same result everywhere.
    pub seed: u64,
    /// Coverage probability.
    pub probability: Confidence,
    /// Which interval.
    pub interval: CoverageInterval,
    /// Number of trials; where `digits` is given, the most.
    pub trials: u64,
    /// Significant digits of the standard uncertainty to be stable (JCGM 101 7.9); none for a fixed number of trials.
    pub digits: Option<u32>,
}

/// What the trials gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulated {
    /// Trials made.
    pub trials: u64,
    /// Mean of the results.
    pub mean: f64,
    /// Their standard deviation.
    pub standard: f64,
    /// Lower end of the coverage interval.
    pub low: f64,
    /// Upper end of the coverage interval.
    pub high: f64,
    /// Whether all four have settled to the digits asked for; none for a fixed number of trials.
    pub settled: Option<bool>,
}

/// Did the budget's interval agree with the simulated one (JCGM 101 8)?
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossCheck {
    /// Distance between the lower ends.
    pub low_difference: f64,
    /// Distance between the upper ends.
    pub high_difference: f64,
    /// Half a unit in the last significant digit of the standard uncertainty.
    pub tolerance: f64,
    /// Whether both distances are at most that.
    pub agrees: bool,
}

/// Compares a budget's interval, estimate +- expanded uncertainty, with a simulated one, to so many significant digits
/// of the standard uncertainty.
pub fn cross_check(combined: &Combined, expanded: f64, simulated: &Simulated, digits: u32) -> CrossCheck {
    let low_difference = (combined.estimate - expanded - simulated.low).abs();
    let high_difference = (combined.estimate + expanded - simulated.high).abs();
    let tolerance = numerical_tolerance(combined.standard, digits);
    CrossCheck {
        low_difference,
        high_difference,
        tolerance,
        agrees: low_difference <= tolerance && high_difference <= tolerance,
    }
}

/// Half a unit in the last of so many significant digits (JCGM 101 7.9.2): 0.000 35 with one digit gives 0.000 05.
pub fn numerical_tolerance(standard: f64, digits: u32) -> f64 {
    // As printed: 9.96 with two digits is 10, whose last digit counts units.
    let printed = format!("{standard:.*e}", digits.max(1) as usize - 1);
    let exponent = printed.split_once('e').and_then(|(_, exponent)| exponent.parse::<i32>().ok());
    exponent.map_or(f64::NAN, |exponent| {
        0.5 * libm::pow(10.0, f64::from(exponent) - f64::from(digits.max(1) - 1))
    })
}

impl MonteCarlo {
    /// Simulates a budget.
    ///
    /// Normal inputs with finite degrees of freedom are drawn from a scaled t; those of other distributions are drawn
    /// between their limits, whatever their degrees of freedom.
    pub fn simulate(&self, budget: &Budget) -> Result<Simulated, BadBudget> {
        let block = block_size(self.probability);
        let most = self.trials;
        if most < block || most > MOST_TRIALS {
            return Err(BadBudget::Trials(most));
        }
        let sampler = Sampler::new(budget)?;
        let mut values: Vec<f64> = Vec::new();
        let Some(digits) = self.digits else {
            self.run(&sampler, 0, most, &mut values)?;
            return Ok(self.summary(values, None));
        };
        let mut blocks = Vec::new();
        let mut settled = false;
        while !settled && values.len() as u64 + block <= most {
            let first = values.len();
            self.run(&sampler, first as u64, block, &mut values)?;
            blocks.push(self.summary(values.get(first..).unwrap_or(&[]).to_vec(), None));
            if blocks.len() >= 2 {
                let tolerance = numerical_tolerance(mean_and_deviation(&values).1, digits);
                let steady = |part: fn(&Simulated) -> f64| {
                    let parts: Vec<f64> = blocks.iter().map(part).collect();
                    2.0 * mean_and_deviation(&parts).1 / libm::sqrt(parts.len() as f64) < tolerance
                };
                settled = steady(|one| one.mean)
                    && steady(|one| one.standard)
                    && steady(|one| one.low)
                    && steady(|one| one.high);
            }
        }
        Ok(self.summary(values, Some(settled)))
    }

    fn run(
        &self,
        sampler: &Sampler<'_>,
        first: u64,
        count: u64,
        values: &mut Vec<f64>,
    ) -> Result<(), BadBudget> {
        values.reserve(usize::try_from(count).unwrap_or(0));
        for trial in first..first + count {
            let value = sampler.draw(&mut Random::of_trial(self.seed, trial));
            if !value.is_finite() {
                return Err(BadBudget::TrialNotFinite(trial));
            }
            values.push(value);
        }
        Ok(())
    }

    fn summary(&self, mut values: Vec<f64>, settled: Option<bool>) -> Simulated {
        let (mean, standard) = mean_and_deviation(&values);
        values.sort_unstable_by(f64::total_cmp);
        let count = values.len();
        // JCGM 101 7.7.1: q results lie in the interval, r below it.
        let q = (self.probability.get() * count as f64 + 0.5) as usize;
        let at = |index: usize| values.get(index.min(count.saturating_sub(1))).copied().unwrap_or(f64::NAN);
        let (low, high) = match self.interval {
            CoverageInterval::Symmetric => {
                let r = count.saturating_sub(q).div_ceil(2);
                (at(r.saturating_sub(1)), at((r + q).saturating_sub(1)))
            }
            CoverageInterval::Shortest => {
                let pairs = values.iter().zip(values.iter().skip(q));
                let shortest = pairs.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
                shortest.map_or((f64::NAN, f64::NAN), |(low, high)| (*low, *high))
            }
        };
        Simulated { trials: count as u64, mean, standard, low, high, settled }
    }
}

/// Trials per block (JCGM 101 7.9.4): enough that 100 lie outside the interval, and at least 10 000.
fn block_size(probability: Confidence) -> u64 {
    (libm::ceil(100.0 / probability.risk()) as u64).max(10_000)
}

fn mean_and_deviation(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let rough = values.first().copied().unwrap_or(0.0);
    let mean = rough + values.iter().map(|value| value - rough).sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, libm::sqrt(squares / (n - 1.0)))
}

/// Draws results of a budget.
struct Sampler<'a> {
    budget: &'a Budget,
    /// Rows of the correlation's triangle, where there is any correlation.
    triangle: Option<Vec<Vec<f64>>>,
}

impl<'a> Sampler<'a> {
    fn new(budget: &'a Budget) -> Result<Self, BadBudget> {
        if budget.correlation().pairs().is_empty() {
            return Ok(Self { budget, triangle: None });
        }
        for (index, input) in budget.inputs().iter().enumerate() {
            let plain = input.uncertainty.distribution() == Distribution::Normal
                && input.uncertainty.dof() == f64::INFINITY;
            if budget.correlation().involves(index) && !plain {
                return Err(BadBudget::CorrelatedNotNormal(input.name.clone()));
            }
        }
        let triangle = budget.correlation().triangle().ok_or(BadBudget::Contradictory)?;
        Ok(Self { budget, triangle: Some(triangle) })
    }

    fn draw(&self, random: &mut Random) -> f64 {
        let inputs = self.budget.inputs();
        let Some(triangle) = &self.triangle else {
            let values: Vec<f64> = inputs.iter().map(|input| draw(input, random)).collect();
            return self.budget.value_at(&values);
        };
        let mut deviates = Vec::with_capacity(inputs.len());
        let mut values = Vec::with_capacity(inputs.len());
        for (index, (input, row)) in inputs.iter().zip(triangle).enumerate() {
            if self.budget.correlation().involves(index) {
                deviates.push(normal_quantile(Tail::Lower(random.uniform())));
                let z: f64 = row.iter().zip(&deviates).map(|(entry, deviate)| entry * deviate).sum();
                values.push(input.estimate + input.uncertainty.standard_uncertainty() * z);
            } else {
                deviates.push(0.0);
                values.push(draw(input, random));
            }
        }
        self.budget.value_at(&values)
    }
}

fn draw(input: &Input, random: &mut Random) -> f64 {
    let uncertainty = input.uncertainty;
    let half_width = uncertainty.half_width().unwrap_or(0.0);
    let offset = match uncertainty.distribution() {
        Distribution::Normal if uncertainty.dof() == f64::INFINITY => {
            uncertainty.standard_uncertainty() * normal_quantile(Tail::Lower(random.uniform()))
        }
        Distribution::Normal => uncertainty.standard_uncertainty() * student_t(uncertainty.dof(), random),
        Distribution::Rectangular => half_width * (2.0 * random.uniform() - 1.0),
        Distribution::UShaped => half_width * libm::sin(std::f64::consts::PI * (random.uniform() - 0.5)),
        Distribution::Triangular => half_width * (random.uniform() + random.uniform() - 1.0),
    };
    input.estimate + offset
}

/// A deviate of Student's t from two uniforms (R. W. Bailey, Math. Comp. 62 (1994) 779, in its trigonometric form).
fn student_t(dof: f64, random: &mut Random) -> f64 {
    let radius = libm::sqrt(dof * libm::expm1(-2.0 / dof * libm::log(random.uniform())));
    radius * libm::cos(2.0 * std::f64::consts::PI * random.uniform())
}
