//! Reference cases of special functions, and of the distributions over them.

use super::Computed;
use super::inputs::Inputs;
use crate::special::{
    Fraction, Tail, beta_quantile, beta_tails, erf, erfc, gamma_quantile, gamma_tails, integrate, ln_gamma,
    ln_normal_lower, normal_density, normal_quantile, normal_tails, student_t_quantile, student_t_tails,
};

/// One function of up to three numbers, as the tables of values name it.
pub(super) fn of_numbers(function: &str, arguments: &[f64]) -> Option<(&'static str, f64)> {
    Some(match (function, arguments) {
        ("ln_gamma", [x]) => ("special::ln_gamma", ln_gamma(*x)),
        ("erf", [x]) => ("special::erf", erf(*x)),
        ("erfc", [x]) => ("special::erfc", erfc(*x)),
        ("normal_density", [z]) => ("special::normal_density", normal_density(*z)),
        ("normal_lower", [z]) => ("special::normal_tails", normal_tails(*z).lower),
        ("normal_upper", [z]) => ("special::normal_tails", normal_tails(*z).upper),
        ("ln_normal_lower", [z]) => ("special::ln_normal_lower", ln_normal_lower(*z)),
        ("normal_quantile_lower", [p]) => ("special::normal_quantile", normal_quantile(Tail::Lower(*p))),
        ("normal_quantile_upper", [p]) => ("special::normal_quantile", normal_quantile(Tail::Upper(*p))),
        ("gamma_lower", [a, x]) => ("special::gamma_tails", gamma_tails(*a, *x).lower),
        ("gamma_upper", [a, x]) => ("special::gamma_tails", gamma_tails(*a, *x).upper),
        ("gamma_quantile_lower", [a, p]) => ("special::gamma_quantile", gamma_quantile(*a, Tail::Lower(*p))),
        ("gamma_quantile_upper", [a, p]) => ("special::gamma_quantile", gamma_quantile(*a, Tail::Upper(*p))),
        // Chi-square with n degrees of freedom is twice a gamma variate of shape n / 2.
        ("chi_square_quantile_upper", [dof, p]) => {
            ("special::gamma_quantile", 2.0 * gamma_quantile(0.5 * dof, Tail::Upper(*p)))
        }
        ("chi_square_upper", [dof, x]) => ("special::gamma_tails", gamma_tails(0.5 * dof, 0.5 * x).upper),
        ("beta_lower", [a, b, x]) => ("special::beta_tails", beta_tails(*a, *b, Fraction::of(*x)).lower),
        ("beta_upper", [a, b, x]) => ("special::beta_tails", beta_tails(*a, *b, Fraction::of(*x)).upper),
        ("beta_quantile_lower", [a, b, p]) => {
            ("special::beta_quantile", beta_quantile(*a, *b, Tail::Lower(*p)).part)
        }
        // F with n and m degrees of freedom is (m / n) x / (1 - x), x beta distributed with n / 2 and m / 2.
        ("f_quantile_upper", [n, m, p]) => {
            let x = beta_quantile(0.5 * n, 0.5 * m, Tail::Upper(*p));
            ("special::beta_quantile", m / n * x.part / x.rest)
        }
        ("student_t_upper", [dof, t]) => ("special::student_t_tails", student_t_tails(*dof, *t).upper),
        ("student_t_lower", [dof, t]) => ("special::student_t_tails", student_t_tails(*dof, *t).lower),
        ("student_t_quantile_upper", [dof, p]) => {
            ("special::student_t_quantile", student_t_quantile(*dof, Tail::Upper(*p)))
        }
        ("integral_of_power", [exponent]) => {
            let found = integrate(&|x| libm::pow(x, *exponent), &[0.0, 0.5, 1.0], 1e-15);
            ("special::integrate", found.value)
        }
        ("integral_of_sine", [to]) => ("special::integrate", integrate(&libm::sin, &[0.0, *to], 1e-15).value),
        ("integral_of_witch", [to]) => {
            ("special::integrate", integrate(&|x: f64| 1.0 / (1.0 + x * x), &[0.0, *to], 1e-15).value)
        }
        ("integral_of_bell", [from, to]) => {
            ("special::integrate", integrate(&normal_density, &[*from, *to], 1e-15).value)
        }
        _ => return None,
    })
}

/// The case's kind is the function; its one figure is named `value`, or each argument list gives one of its own.
pub(super) fn compute(kind: &str, inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    let of = |figure: &str, arguments: &[f64]| {
        let (function, value) =
            of_numbers(kind, arguments).ok_or_else(|| format!("no function `{kind}` of {arguments:?}"))?;
        Ok(Computed::number(function, figure, value))
    };
    if inputs.has("at") {
        return Ok(vec![of("value", &inputs.numbers("at")?)?]);
    }
    inputs.0.keys().map(|figure| of(figure, &inputs.numbers(figure)?)).collect()
}
