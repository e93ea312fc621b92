//! The formula of a measurement: its value, and its exact sensitivities to each input.

use super::syntax::Reader;

/// Why a text is not a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadFormula {
    /// Where, in characters from 1.
    pub column: usize,
    /// Why.
    pub why: String,
}

impl std::fmt::Display for BadFormula {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "character {}: {}", self.column, self.why)
    }
}

impl std::error::Error for BadFormula {}

/// A formula such as `(reading + resolution) * attenuation`: numbers, names, + - * / ^, brackets, and sqrt, exp, ln,
/// log10, sin, cos, tan.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    text: String,
    node: Node,
    names: Vec<String>,
}

impl Formula {
    /// Reads a formula.
    pub fn parse(text: &str) -> Result<Self, BadFormula> {
        let mut reader = Reader::new(text);
        let node = reader.whole()?;
        Ok(Self { text: text.to_owned(), node, names: reader.names })
    }

    /// The text as given.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The names it uses, in order of first use.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The value, for values of [`Formula::names`] in that order; not a number where it has none.
    pub fn value(&self, inputs: &[f64]) -> f64 {
        self.node.value(inputs)
    }

    /// The value and the partial derivatives, for values of [`Formula::names`] in that order.
    pub fn gradient(&self, inputs: &[f64]) -> (f64, Vec<f64>) {
        let dual = self.node.dual(inputs);
        (dual.value, dual.slopes)
    }
}

/// A part of a formula.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Node {
    Number(f64),
    Input(usize),
    Sum(Box<Node>, Box<Node>),
    Difference(Box<Node>, Box<Node>),
    Product(Box<Node>, Box<Node>),
    Quotient(Box<Node>, Box<Node>),
    Power(Box<Node>, Box<Node>),
    Call(Function, Box<Node>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    Sqrt,
    Exp,
    Ln,
    Log10,
    Sin,
    Cos,
    Tan,
}

impl Function {
    pub(super) const NAMES: &'static str = "sqrt, exp, ln, log10, sin, cos, tan";

    pub(super) fn named(name: &str) -> Option<Self> {
        Some(match name {
            "sqrt" => Self::Sqrt,
            "exp" => Self::Exp,
            "ln" => Self::Ln,
            "log10" => Self::Log10,
            "sin" => Self::Sin,
            "cos" => Self::Cos,
            "tan" => Self::Tan,
            _ => return None,
        })
    }

    fn value(self, x: f64) -> f64 {
        match self {
            Self::Sqrt => libm::sqrt(x),
            Self::Exp => libm::exp(x),
            Self::Ln => libm::log(x),
            Self::Log10 => libm::log10(x),
            Self::Sin => libm::sin(x),
            Self::Cos => libm::cos(x),
            Self::Tan => libm::tan(x),
        }
    }

    fn slope(self, x: f64) -> f64 {
        match self {
            Self::Sqrt => 0.5 / libm::sqrt(x),
            Self::Exp => libm::exp(x),
            Self::Ln => 1.0 / x,
            Self::Log10 => std::f64::consts::LOG10_E / x,
            Self::Sin => libm::cos(x),
            Self::Cos => -libm::sin(x),
            Self::Tan => 1.0 / (libm::cos(x) * libm::cos(x)),
        }
    }
}

/// A value and its derivatives by each input.
struct Dual {
    value: f64,
    slopes: Vec<f64>,
}

impl Dual {
    /// The value of a function of two parts, from its partial derivatives by them.
    fn of(value: f64, parts: [(&Self, f64); 2]) -> Self {
        let [(first, by_first), (second, by_second)] = parts;
        // A part that an input doesn't reach counts for nothing, even where the function's slope is infinite.
        let times = |slope: f64, by: f64| if slope == 0.0 { 0.0 } else { slope * by };
        let each = first.slopes.iter().zip(&second.slopes);
        Self { value, slopes: each.map(|(a, b)| times(*a, by_first) + times(*b, by_second)).collect() }
    }
}

impl Node {
    fn value(&self, inputs: &[f64]) -> f64 {
        match self {
            Self::Number(number) => *number,
            Self::Input(index) => inputs.get(*index).copied().unwrap_or(f64::NAN),
            Self::Sum(a, b) => a.value(inputs) + b.value(inputs),
            Self::Difference(a, b) => a.value(inputs) - b.value(inputs),
            Self::Product(a, b) => a.value(inputs) * b.value(inputs),
            Self::Quotient(a, b) => a.value(inputs) / b.value(inputs),
            Self::Power(a, b) => power(a.value(inputs), b.value(inputs)),
            Self::Call(function, x) => function.value(x.value(inputs)),
        }
    }

    fn dual(&self, inputs: &[f64]) -> Dual {
        let flat = |value: f64| Dual { value, slopes: vec![0.0; inputs.len()] };
        match self {
            Self::Number(number) => flat(*number),
            Self::Input(index) => {
                let mut dual = flat(self.value(inputs));
                if let Some(slope) = dual.slopes.get_mut(*index) {
                    *slope = 1.0;
                }
                dual
            }
            Self::Sum(a, b) => {
                let (a, b) = (a.dual(inputs), b.dual(inputs));
                Dual::of(a.value + b.value, [(&a, 1.0), (&b, 1.0)])
            }
            Self::Difference(a, b) => {
                let (a, b) = (a.dual(inputs), b.dual(inputs));
                Dual::of(a.value - b.value, [(&a, 1.0), (&b, -1.0)])
            }
            Self::Product(a, b) => {
                let (a, b) = (a.dual(inputs), b.dual(inputs));
                Dual::of(a.value * b.value, [(&a, b.value), (&b, a.value)])
            }
            Self::Quotient(a, b) => {
                let (a, b) = (a.dual(inputs), b.dual(inputs));
                let quotient = a.value / b.value;
                Dual::of(quotient, [(&a, 1.0 / b.value), (&b, -quotient / b.value)])
            }
            Self::Power(a, b) => {
                let (a, b) = (a.dual(inputs), b.dual(inputs));
                let value = power(a.value, b.value);
                let by_base = b.value * power(a.value, b.value - 1.0);
                Dual::of(value, [(&a, by_base), (&b, value * libm::log(a.value))])
            }
            Self::Call(function, x) => {
                let x = x.dual(inputs);
                Dual::of(function.value(x.value), [(&x, function.slope(x.value)), (&flat(0.0), 0.0)])
            }
        }
    }
}

/// Squares exactly, everything else by `libm`.
fn power(base: f64, exponent: f64) -> f64 {
    if exponent == 2.0 { base * base } else { libm::pow(base, exponent) }
}
