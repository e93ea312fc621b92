//! One input of a budget, with its uncertainty as stated.

use crate::special::OutOfDomain;

/// The distribution that an input's uncertainty stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Distribution {
    /// Normal; with finite degrees of freedom a scaled and shifted t (JCGM 101 6.4.9).
    Normal,
    /// Equally likely between two limits.
    Rectangular,
    /// Likeliest at two limits: the sine of an unknown phase, as mismatch is.
    UShaped,
    /// Likeliest in the middle between two limits.
    Triangular,
}

/// The uncertainty of an input as it was stated, and what follows from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InputUncertainty {
    standard: f64,
    dof: f64,
    distribution: Distribution,
}

impl InputUncertainty {
    /// An expanded uncertainty with its coverage factor, from a certificate: U / k.
    pub fn normal(expanded: f64, k: f64) -> Result<Self, OutOfDomain> {
        let k = positive("a coverage factor", k)?;
        Self::new(magnitude(expanded)? / k, Distribution::Normal)
    }

    /// A standard uncertainty.
    pub fn standard(standard: f64) -> Result<Self, OutOfDomain> {
        Self::new(magnitude(standard)?, Distribution::Normal)
    }

    /// Limits with nothing known between them: half-width / sqrt(3).
    pub fn rectangular(half_width: f64) -> Result<Self, OutOfDomain> {
        Self::new(magnitude(half_width)? / libm::sqrt(3.0), Distribution::Rectangular)
    }

    /// The step of a display or converter: rectangular over half a step to either side.
    pub fn resolution(step: f64) -> Result<Self, OutOfDomain> {
        Self::rectangular(0.5 * step)
    }

    /// Limits that are likelier than what lies between them, such as mismatch: half-width / sqrt(2).
    pub fn u_shaped(half_width: f64) -> Result<Self, OutOfDomain> {
        Self::new(magnitude(half_width)? / libm::sqrt(2.0), Distribution::UShaped)
    }

    /// Limits that are less likely than their middle: half-width / sqrt(6).
    pub fn triangular(half_width: f64) -> Result<Self, OutOfDomain> {
        Self::new(magnitude(half_width)? / libm::sqrt(6.0), Distribution::Triangular)
    }

    /// Type A: the mean of `readings` values whose experimental standard deviation is `deviation`: s / sqrt(n), with
    /// n - 1 degrees of freedom.
    pub fn mean_of(readings: u32, deviation: f64) -> Result<Self, OutOfDomain> {
        if readings < 2 {
            return Err(OutOfDomain::new("a number of readings", readings, "at least 2"));
        }
        Self::standard(magnitude(deviation)? / libm::sqrt(f64::from(readings)))?
            .with_dof(f64::from(readings) - 1.0)
    }

    /// The same with degrees of freedom (from 1 up): how well the standard uncertainty itself is known.
    pub fn with_dof(self, dof: f64) -> Result<Self, OutOfDomain> {
        if dof >= 1.0 {
            Ok(Self { dof, ..self })
        } else {
            Err(OutOfDomain::new("a number of degrees of freedom", dof, "at least 1"))
        }
    }

    fn new(standard: f64, distribution: Distribution) -> Result<Self, OutOfDomain> {
        Ok(Self { standard, dof: f64::INFINITY, distribution })
    }

    /// Standard uncertainty, in the unit of the input.
    pub const fn standard_uncertainty(self) -> f64 {
        self.standard
    }

    /// Degrees of freedom; infinite where none were stated.
    pub const fn dof(self) -> f64 {
        self.dof
    }

    /// The distribution.
    pub const fn distribution(self) -> Distribution {
        self.distribution
    }

    /// Half the distance between the limits; none for a normal distribution.
    pub fn half_width(self) -> Option<f64> {
        match self.distribution {
            Distribution::Normal => None,
            Distribution::Rectangular => Some(self.standard * libm::sqrt(3.0)),
            Distribution::UShaped => Some(self.standard * libm::sqrt(2.0)),
            Distribution::Triangular => Some(self.standard * libm::sqrt(6.0)),
        }
    }
}

/// Degrees of freedom of an uncertainty that is itself known to a relative accuracy: 1/2 / relative^2 (GUM G.4.2).
pub fn dof_from_reliability(relative: f64) -> Result<f64, OutOfDomain> {
    let relative = positive("a relative uncertainty of an uncertainty", relative)?;
    Ok(0.5 / (relative * relative))
}

/// One input of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Its name; in a formula the name that the formula uses.
    pub name: String,
    /// Its estimate, in a unit that the budget's writer keeps consistent.
    pub estimate: f64,
    /// Its uncertainty, in the same unit.
    pub uncertainty: InputUncertainty,
}

impl Input {
    /// An input.
    pub fn new(name: impl Into<String>, estimate: f64, uncertainty: InputUncertainty) -> Self {
        Self { name: name.into(), estimate, uncertainty }
    }
}

fn magnitude(value: f64) -> Result<f64, OutOfDomain> {
    if value >= 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(OutOfDomain::new("an uncertainty", value, "a number from 0 up"))
    }
}

fn positive(quantity: &'static str, value: f64) -> Result<f64, OutOfDomain> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(OutOfDomain::new(quantity, value, "above 0"))
    }
}
