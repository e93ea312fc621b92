//! The error function and its complement.

/// The error function: 2/sqrt(pi) times the integral of exp(-t^2) from 0 to x.
pub fn erf(x: f64) -> f64 {
    libm::erf(x)
}

/// 1 - erf(x), with its own relative accuracy where that is small.
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}
