//! The budget: inputs, sensitivities and correlations, and the combined standard uncertainty.

use super::correlation::Correlation;
use super::{BadBudget, Formula, Input};

/// What a result depends on, and how much.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    inputs: Vec<Input>,
    sensitivities: Vec<f64>,
    estimate: f64,
    /// The formula with, for each of its names, the index of the input.
    formula: Option<(Formula, Vec<usize>)>,
    correlation: Correlation,
}

/// One line of an evaluated budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// The input.
    pub name: String,
    /// Its estimate.
    pub estimate: f64,
    /// Its standard uncertainty.
    pub standard: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// Change of the result per change of the input.
    pub sensitivity: f64,
    /// Contribution to the result's standard uncertainty, with the sensitivity's sign.
    pub contribution: f64,
}

/// Result and combined standard uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// The result.
    pub estimate: f64,
    /// Combined standard uncertainty (GUM 5.1.2, with correlations 5.2.2).
    pub standard: f64,
    /// Effective degrees of freedom by the Welch-Satterthwaite formula (GUM G.4.1), as computed. None where inputs with
    /// finite degrees of freedom are correlated: the formula is for independent inputs.
    pub dof: Option<f64>,
    /// Each input's part.
    pub contributions: Vec<Contribution>,
}

impl Budget {
    /// A budget whose result is the sum of sensitivity times input.
    pub fn additive(lines: Vec<(Input, f64)>) -> Result<Self, BadBudget> {
        let estimate = lines.iter().map(|(input, sensitivity)| sensitivity * input.estimate).sum();
        let (inputs, sensitivities) = lines.into_iter().unzip();
        Self::new(inputs, sensitivities, estimate, None)
    }

    /// A budget whose result and sensitivities follow from a formula; each of its names must be an input, and each input
    /// one of its names.
    pub fn of_formula(formula: Formula, inputs: Vec<Input>) -> Result<Self, BadBudget> {
        if let Some(input) = inputs.iter().find(|input| !formula.names().contains(&input.name)) {
            return Err(BadBudget::NotInFormula(input.name.clone()));
        }
        let place = |name: &String| inputs.iter().position(|input| input.name == *name);
        let places =
            formula.names().iter().map(|name| place(name).ok_or(BadBudget::NoSuchInput(name.clone())));
        let places = places.collect::<Result<Vec<usize>, _>>()?;
        let values: Vec<f64> =
            places.iter().filter_map(|place| inputs.get(*place)).map(|input| input.estimate).collect();
        let (estimate, slopes) = formula.gradient(&values);
        let mut sensitivities = vec![0.0; inputs.len()];
        for (place, slope) in places.iter().zip(slopes) {
            if let Some(sensitivity) = sensitivities.get_mut(*place) {
                *sensitivity = slope;
            }
        }
        Self::new(inputs, sensitivities, estimate, Some((formula, places)))
    }

    fn new(
        inputs: Vec<Input>,
        sensitivities: Vec<f64>,
        estimate: f64,
        formula: Option<(Formula, Vec<usize>)>,
    ) -> Result<Self, BadBudget> {
        for (index, (input, sensitivity)) in inputs.iter().zip(&sensitivities).enumerate() {
            if inputs.iter().take(index).any(|other| other.name == input.name) {
                return Err(BadBudget::TwiceNamed(input.name.clone()));
            }
            if !(input.estimate.is_finite() && sensitivity.is_finite()) {
                return Err(BadBudget::NotFinite(input.name.clone()));
            }
        }
        let correlation = Correlation::none(inputs.len());
        Ok(Self { inputs, sensitivities, estimate, formula, correlation })
    }

    /// States the correlation coefficient of two inputs.
    pub fn correlate(&mut self, first: &str, second: &str, coefficient: f64) -> Result<(), BadBudget> {
        let place = |name: &str| {
            let found = self.inputs.iter().position(|input| input.name == name);
            found.ok_or_else(|| BadBudget::NoSuchInput(name.to_owned()))
        };
        let (a, b) = (place(first)?, place(second)?);
        if a == b || !(-1.0..=1.0).contains(&coefficient) {
            let (first, second) = (first.to_owned(), second.to_owned());
            return Err(BadBudget::NoCorrelation { first, second, coefficient });
        }
        self.correlation.set(a, b, coefficient);
        Ok(())
    }

    /// The inputs, in order.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    pub(super) const fn correlation(&self) -> &Correlation {
        &self.correlation
    }

    /// The value for other values of the inputs, in their order.
    pub(super) fn value_at(&self, inputs: &[f64]) -> f64 {
        match &self.formula {
            None => {
                self.sensitivities.iter().zip(inputs).map(|(sensitivity, input)| sensitivity * input).sum()
            }
            Some((formula, places)) => {
                let values: Vec<f64> =
                    places.iter().map(|place| inputs.get(*place).copied().unwrap_or(f64::NAN)).collect();
                formula.value(&values)
            }
        }
    }

    /// Combines the inputs to first order.
    pub fn combined(&self) -> Result<Combined, BadBudget> {
        if self.correlation.triangle().is_none() {
            return Err(BadBudget::Contradictory);
        }
        let line = |(input, sensitivity): (&Input, &f64)| Contribution {
            name: input.name.clone(),
            estimate: input.estimate,
            standard: input.uncertainty.standard_uncertainty(),
            dof: input.uncertainty.dof(),
            sensitivity: *sensitivity,
            contribution: sensitivity * input.uncertainty.standard_uncertainty(),
        };
        let contributions: Vec<Contribution> =
            self.inputs.iter().zip(&self.sensitivities).map(line).collect();
        let part = |index: usize| contributions.get(index).map_or(0.0, |line| line.contribution);
        let squares: f64 = contributions.iter().map(|line| line.contribution * line.contribution).sum();
        let crossed: f64 =
            self.correlation.pairs().iter().map(|(a, b, r)| 2.0 * r * part(*a) * part(*b)).sum();
        let standard = libm::sqrt((squares + crossed).max(0.0));
        let finite = |index: usize| {
            contributions.get(index).is_some_and(|line| line.dof.is_finite() && line.contribution != 0.0)
        };
        let correlated = self.correlation.pairs().iter().any(|(a, b, _)| finite(*a) || finite(*b));
        let dof = if correlated { None } else { Some(welch_satterthwaite(standard, &contributions)) };
        Ok(Combined { estimate: self.estimate, standard, dof, contributions })
    }

    /// The combined standard uncertainty with the terms of next higher order (GUM 5.1.2, note), for independent inputs
    /// with symmetric distributions and a formula that bends.
    pub fn combined_second_order(&self) -> Result<f64, BadBudget> {
        let first = self.combined()?;
        let Some((formula, places)) = &self.formula else {
            return Err(BadBudget::NoFormula);
        };
        if !self.correlation.pairs().is_empty() {
            return Err(BadBudget::CorrelatedSecondOrder);
        }
        let inputs: Vec<&Input> = places.iter().filter_map(|place| self.inputs.get(*place)).collect();
        let at: Vec<f64> = inputs.iter().map(|input| input.estimate).collect();
        let (_, slopes) = formula.gradient(&at);
        let uncertainties: Vec<f64> =
            inputs.iter().map(|input| input.uncertainty.standard_uncertainty()).collect();
        let mut sum = 0.0;
        for (j, u_j) in uncertainties.iter().enumerate().filter(|(_, u)| **u > 0.0) {
            // Second and third derivatives: differences of the exact first ones, one standard uncertainty to either side.
            let moved = |by: f64| {
                let mut values = at.clone();
                if let Some(value) = values.get_mut(j) {
                    *value += by;
                }
                formula.gradient(&values).1
            };
            let (up, down) = (moved(*u_j), moved(-u_j));
            for (((slope, u_i), above), below) in slopes.iter().zip(&uncertainties).zip(up).zip(down) {
                let second = (above - below) / (2.0 * u_j);
                let third = (above - 2.0 * slope + below) / (u_j * u_j);
                sum += (0.5 * second * second + slope * third) * u_i * u_i * u_j * u_j;
            }
        }
        Ok(libm::sqrt((first.standard * first.standard + sum).max(0.0)))
    }
}

/// u^4 / sum of (contribution^4 / degrees of freedom).
fn welch_satterthwaite(standard: f64, contributions: &[Contribution]) -> f64 {
    // Relative to the whole, so that fourth powers stay within range.
    let sum: f64 = contributions
        .iter()
        .map(|line| {
            let share = line.contribution / standard;
            if line.contribution == 0.0 { 0.0 } else { share * share * share * share / line.dof }
        })
        .sum();
    if sum > 0.0 { 1.0 / sum } else { f64::INFINITY }
}
