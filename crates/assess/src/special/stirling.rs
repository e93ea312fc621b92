//! The parts of binomial, beta, gamma and Poisson densities that keep their accuracy for large counts.
//!
//! C. Loader, "Fast and accurate computation of binomial probabilities" (2000): a density is written as a Stirling
//! factor times exp(-deviance), so that no large logarithms cancel.

/// ln(2 pi).
const LN_2_PI: f64 = 1.837_877_066_409_345_3;

/// The error of Stirling's formula: ln gamma(z) - (z - 1/2) ln z + z - ln(2 pi)/2, for z > 0.
pub(super) fn stirling_error(z: f64) -> f64 {
    let mut above = z;
    let mut sum = 0.0;
    // gamma(z + 1) = z gamma(z), until the series is good to the last digit.
    while above < 10.0 {
        sum += (above + 0.5) * libm::log1p(1.0 / above) - 1.0;
        above += 1.0;
    }
    let inverse = 1.0 / above;
    let square = inverse * inverse;
    let series = 1.0 / 12.0
        - square
            * (1.0 / 360.0
                - square
                    * (1.0 / 1260.0
                        - square
                            * (1.0 / 1680.0
                                - square
                                    * (1.0 / 1188.0
                                        - square * (691.0 / 360_360.0 - square * (1.0 / 156.0))))));
    sum + series * inverse
}

/// t - ln(1 + t) without cancellation, for t > -1; 1 + t is given too, since t alone can't hold it near -1.
pub(super) fn deviance(t: f64, one_more: f64) -> f64 {
    if !(-0.5..=1.0).contains(&t) {
        return t - libm::log(one_more);
    }
    // ln(1 + t) = 2 (r + r^3/3 + r^5/5 ...), r = t / (2 + t), and t - 2 r = t r.
    let r = t / (2.0 + t);
    let square = r * r;
    let (mut sum, mut power, mut odd) = (0.0, 1.0, 3.0);
    loop {
        let term = power / odd;
        let next = sum + term;
        if next == sum {
            break;
        }
        sum = next;
        power *= square;
        odd += 2.0;
    }
    r * (t - 2.0 * square * sum)
}

/// ln of x^a e^-x / gamma(a + 1).
pub(super) fn ln_gamma_front(a: f64, x: f64) -> f64 {
    -0.5 * (LN_2_PI + libm::log(a)) - stirling_error(a) - a * deviance((x - a) / a, x / a)
}

/// ln of x^a (1 - x)^b / B(a, b).
pub(super) fn ln_beta_front(a: f64, b: f64, x: super::Fraction) -> f64 {
    let n = a + b;
    let distance = if x.part <= x.rest { n * x.part - a } else { b - n * x.rest };
    let stirling = stirling_error(n) - stirling_error(a) - stirling_error(b);
    // The larger of the two over the sum first: no overflow, and no loss.
    0.5 * (libm::log(a.min(b)) + libm::log(a.max(b) / n) - LN_2_PI) + stirling
        - a * deviance(distance / a, n * x.part / a)
        - b * deviance(-distance / b, n * x.rest / b)
}

/// ln of the probability of `k` in `n` with probability x each; k from 0 to n.
pub(crate) fn ln_binomial_probability(k: f64, n: f64, x: super::Fraction) -> f64 {
    let rest = n - k;
    if k == 0.0 {
        return if x.part <= x.rest { n * libm::log1p(-x.part) } else { n * libm::log(x.rest) };
    }
    if rest == 0.0 {
        return if x.part <= x.rest { n * libm::log(x.part) } else { n * libm::log1p(-x.rest) };
    }
    // Same density as that of the beta distribution, up to the factor n / (k (n - k)).
    ln_beta_front(k, rest, x) + libm::log(n / k) - libm::log(rest)
}
