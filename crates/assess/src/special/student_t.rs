//! Student's t distribution and its quantile, for any degrees of freedom above 0, infinite ones included.

use super::beta::log_odds_quantile;
use super::{Fraction, Tail, Tails, beta_tails, normal_quantile, normal_tails};

/// From here on the expansion about the normal distribution is exact to the last digits.
const NEARLY_NORMAL: f64 = 1e8;

/// Both tails of Student's t distribution with `dof` > 0 degrees of freedom (infinity: the normal distribution).
pub fn student_t_tails(dof: f64, t: f64) -> Tails {
    if dof.is_nan() || dof <= 0.0 || t.is_nan() {
        return Tails::NAN;
    }
    if dof >= NEARLY_NORMAL {
        return normal_tails(normal_for_t(dof, t));
    }
    let root = t / libm::sqrt(dof);
    let square = root * root;
    let x = if square.is_finite() {
        Fraction { part: 1.0 / (1.0 + square), rest: square / (1.0 + square) }
    } else {
        Fraction { part: (1.0 / root) * (1.0 / root), rest: 1.0 }
    };
    let both = beta_tails(0.5 * dof, 0.5, x);
    let outer = 0.5 * both.lower;
    let tails = Tails { lower: 0.5 + 0.5 * both.upper, upper: outer };
    if t < 0.0 { tails.swapped() } else { tails }
}

/// The t at which Student's distribution with `dof` > 0 degrees of freedom has the given tail.
pub fn student_t_quantile(dof: f64, tail: Tail) -> f64 {
    let Some((probability, below)) = tail.smaller().filter(|_| dof > 0.0) else {
        return f64::NAN;
    };
    let magnitude = if probability == 0.0 {
        f64::INFINITY
    } else if dof >= NEARLY_NORMAL {
        t_for_normal(dof, -normal_quantile(Tail::Lower(probability)))
    } else {
        // dof / (dof + t^2) is beta distributed; near t = 0 its upper tail is the small one.
        let outer = 2.0 * probability;
        let log_odds = if outer <= 0.5 {
            log_odds_quantile(0.5 * dof, 0.5, outer, true)
        } else {
            log_odds_quantile(0.5 * dof, 0.5, 1.0 - outer, false)
        };
        libm::sqrt(dof) * libm::exp(-0.5 * log_odds)
    };
    if below { -magnitude } else { magnitude }
}

/// The normal deviate with the same tail, for many degrees of freedom (Fisher's expansion).
fn normal_for_t(dof: f64, t: f64) -> f64 {
    if dof == f64::INFINITY || t.abs() > 1e3 {
        return t;
    }
    let square = t * t;
    t * (1.0 - (square + 1.0) / (4.0 * dof) + ((13.0 * square + 8.0) * square + 3.0) / (96.0 * dof * dof))
}

/// The t with the same tail as a normal deviate, for many degrees of freedom (Fisher's expansion).
fn t_for_normal(dof: f64, z: f64) -> f64 {
    if dof == f64::INFINITY {
        return z;
    }
    let square = z * z;
    z * (1.0 + (square + 1.0) / (4.0 * dof) + ((5.0 * square + 16.0) * square + 3.0) / (96.0 * dof * dof))
}
