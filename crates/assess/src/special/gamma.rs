//! The gamma function's logarithm, and the gamma distribution with its quantile.

use super::newton::solve;
use super::stirling::ln_gamma_front;
use super::{Tail, Tails};

/// The logarithm of an x at which only the leading term counts.
const FAR: f64 = -700.0;

/// ln of the gamma function, for x > 0.
pub fn ln_gamma(x: f64) -> f64 {
    if x > 0.0 { libm::lgamma(x) } else { f64::NAN }
}

/// Both tails of the gamma distribution with shape `a` > 0 and scale 1 at x >= 0: the regularised incomplete
/// gamma functions P(a, x) and Q(a, x).
pub fn gamma_tails(a: f64, x: f64) -> Tails {
    if !(a > 0.0 && a.is_finite() && x >= 0.0) {
        return Tails::NAN;
    }
    if x == 0.0 {
        return Tails { lower: 0.0, upper: 1.0 };
    }
    if x == f64::INFINITY {
        return Tails { lower: 1.0, upper: 0.0 };
    }
    let (ln_front, factor, below) = parts(a, x);
    let tails = Tails::from_lower(libm::exp(ln_front) * factor);
    if below { tails } else { tails.swapped() }
}

/// The x at which the gamma distribution with shape `a` > 0 and scale 1 has the given tail.
pub fn gamma_quantile(a: f64, tail: Tail) -> f64 {
    let Some((probability, below)) = tail.smaller().filter(|_| a > 0.0 && a.is_finite()) else {
        return f64::NAN;
    };
    if probability == 0.0 {
        return if below { 0.0 } else { f64::INFINITY };
    }
    // In u = ln x the density's logarithm a u - e^u is concave, and so is that of either tail.
    let ln_wanted = libm::log(probability);
    if below {
        // Far down the tail is x^a / gamma(a + 1), also where x is smaller than any double.
        let far = ln_gamma_front(a, libm::exp(FAR)) - a * FAR;
        let at = solve(libm::log(a), f64::INFINITY, ln_wanted, |u| {
            if u < FAR {
                return (far + a * u, a);
            }
            let x = libm::exp(u);
            let ln_lower = ln_tail(a, x, true);
            (ln_lower, libm::exp(ln_gamma_density_of_log(a, x) - ln_lower))
        });
        libm::exp(at)
    } else {
        let at = solve(-libm::log(a), 2.0, ln_wanted, |minus_u| {
            let x = libm::exp(-minus_u);
            let ln_upper = ln_tail(a, x, false);
            (ln_upper, libm::exp(ln_gamma_density_of_log(a, x) - ln_upper))
        });
        libm::exp(-at)
    }
}

/// ln of the density of the logarithm of a gamma variate with shape `a` and scale 1, at the variate x > 0.
pub(crate) fn ln_gamma_density_of_log(a: f64, x: f64) -> f64 {
    ln_gamma_front(a, x) + libm::log(a)
}

/// The logarithm of one tail, which may be smaller than any double.
fn ln_tail(a: f64, x: f64, below: bool) -> f64 {
    let (ln_front, factor, is_below) = parts(a, x);
    let ln_one = ln_front + libm::log(factor);
    if is_below == below { ln_one } else { libm::log1p(-libm::exp(ln_one)) }
}

/// One tail as exp(first) * second, and whether it is the lower one: the series below, the continued fraction above.
fn parts(a: f64, x: f64) -> (f64, f64, bool) {
    let ln_front = ln_gamma_front(a, x);
    if x < a.max(1.0) { (ln_front, series(a, x), true) } else { (ln_front, a * fraction(a, x), false) }
}

/// 1 + x/(a+1) + x^2/((a+1)(a+2)) ...
fn series(a: f64, x: f64) -> f64 {
    let (mut sum, mut term, mut n) = (1.0, 1.0, a);
    loop {
        n += 1.0;
        term *= x / n;
        let next = sum + term;
        if next == sum {
            return sum;
        }
        sum = next;
    }
}

/// 1/(x+1-a - 1(1-a)/(x+3-a - 2(2-a)/(x+5-a - ...))), by Lentz's method.
fn fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / if b == 0.0 { TINY } else { b };
    let mut value = d;
    let mut n = 0.0;
    while n < 1e7 {
        n += 1.0;
        let an = -n * (n - a);
        b += 2.0;
        d = 1.0 / nonzero(an * d + b, TINY);
        c = nonzero(b + an / c, TINY);
        let factor = c * d;
        value *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}

fn nonzero(value: f64, tiny: f64) -> f64 {
    if value == 0.0 { tiny } else { value }
}
