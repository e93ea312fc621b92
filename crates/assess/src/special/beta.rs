//! The beta distribution and its quantile.

use super::newton::solve;
use super::stirling::ln_beta_front;
use super::{Fraction, Tail, Tails};

/// The logarithm of an x at which only the leading term counts.
const FAR: f64 = -700.0;

/// Both tails of the beta distribution with shapes a, b > 0 at x from 0 to 1: the regularised incomplete beta
/// function I_x(a, b) and its complement.
///
/// Held to 1e-12 relative in both tails for a and b from 0.5 to 10^6 by the tests.
pub fn beta_tails(a: f64, b: f64, x: Fraction) -> Tails {
    if !(is_shape(a) && is_shape(b) && x.part >= 0.0 && x.rest >= 0.0) {
        return Tails::NAN;
    }
    if x.part == 0.0 {
        return Tails { lower: 0.0, upper: 1.0 };
    }
    if x.rest == 0.0 {
        return Tails { lower: 1.0, upper: 0.0 };
    }
    let (ln_one, below) = ln_one_tail(a, b, x);
    let tails = Tails::from_lower(libm::exp(ln_one));
    if below { tails } else { tails.swapped() }
}

/// The x at which the beta distribution with shapes a, b > 0 has the given tail.
pub fn beta_quantile(a: f64, b: f64, tail: Tail) -> Fraction {
    let Some((probability, below)) = tail.smaller().filter(|_| is_shape(a) && is_shape(b)) else {
        return Fraction { part: f64::NAN, rest: f64::NAN };
    };
    Fraction::from_log_odds(log_odds_quantile(a, b, probability, below))
}

/// ln(x / (1 - x)) at which the tail below (or above) x has this probability, at most 1/2.
pub(super) fn log_odds_quantile(a: f64, b: f64, probability: f64, below: bool) -> f64 {
    if !below {
        return -log_odds_quantile(b, a, probability, true);
    }
    if probability == 0.0 {
        return f64::NEG_INFINITY;
    }
    // In u = ln(x / (1 - x)) the density's logarithm a u - (a + b) ln(1 + e^u) is concave, and so is that of the tail.
    // Far down the tail is x^a / (a B(a, b)), also where x is smaller than any double.
    let far = ln_beta_front(a, b, Fraction::from_log_odds(FAR)) - a * FAR - libm::log(a);
    solve(libm::log(a / b), f64::INFINITY, libm::log(probability), |u| {
        if u < FAR {
            return (far + a * u, a);
        }
        let x = Fraction::from_log_odds(u);
        let (ln_one, is_below) = ln_one_tail(a, b, x);
        let ln_lower = if is_below { ln_one } else { libm::log1p(-libm::exp(ln_one)) };
        (ln_lower, libm::exp(ln_beta_front(a, b, x) - ln_lower))
    })
}

fn is_shape(shape: f64) -> bool {
    shape > 0.0 && shape.is_finite()
}

/// The logarithm of the tail away from the mean, and whether it is the lower one.
fn ln_one_tail(a: f64, b: f64, x: Fraction) -> (f64, bool) {
    let ln_front = ln_beta_front(a, b, x);
    let n = a + b;
    let beyond_mean = if x.part <= x.rest { n * x.part - a } else { b - n * x.rest };
    if beyond_mean <= 0.0 {
        (ln_front - libm::log(fraction(a, b, x, -beyond_mean)), true)
    } else {
        (ln_front - libm::log(fraction(b, a, x.swapped(), beyond_mean)), false)
    }
}

/// The continued fraction of A. R. DiDonato and A. H. Morris, ACM Trans. Math. Softw. 18 (1992) 360, equation 9,
/// by Lentz's method; `lambda` is a (1 - x) - b x, not negative.
fn fraction(a: f64, b: f64, x: Fraction, lambda: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let term = |m: f64| {
        let odd = a + 2.0 * m - 1.0;
        m + m * (b - m) * x.part / odd + (a + m) * (lambda + 1.0 + m * (1.0 + x.rest)) / (a + 2.0 * m + 1.0)
    };
    let mut value = a * (lambda + 1.0) / (a + 1.0);
    let mut c = value;
    let mut d = 0.0;
    let mut m = 0.0;
    while m < 1e7 {
        m += 1.0;
        let odd = a + 2.0 * m - 1.0;
        let numerator = (a + m - 1.0) / odd * ((a + b + m - 1.0) / odd) * m * (b - m) * x.part * x.part;
        let denominator = term(m);
        d = denominator + numerator * d;
        d = 1.0 / if d == 0.0 { TINY } else { d };
        c = denominator + numerator / c;
        c = if c == 0.0 { TINY } else { c };
        let factor = c * d;
        value *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}
