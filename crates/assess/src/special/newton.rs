//! Newton's method on the logarithm of a tail, for distributions whose logarithm has a log-concave density.

/// Most steps; in practice fewer than 20 are taken.
const STEPS: usize = 200;

/// The u at which the rising, concave function `ln_tail` reaches `ln_wanted`; `ln_tail` also gives its slope.
///
/// From the right of the root one step lands left of it, from there the steps rise to it: no bracket is needed.
/// `longest` bounds the step to the left, for a function that falls off so fast there that the way back is long.
pub(super) fn solve(start: f64, longest: f64, ln_wanted: f64, ln_tail: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut at = start;
    let mut smallest = f64::INFINITY;
    for _ in 0..STEPS {
        let (value, slope) = ln_tail(at);
        let step = ((ln_wanted - value) / slope).max(-longest);
        if !step.is_finite() {
            break;
        }
        at += step;
        let size = step.abs();
        // Steps that no longer shrink are rounding.
        if size <= 1e-16 * at.abs() || (size < 1e-11 * (1.0 + at.abs()) && size >= smallest) {
            break;
        }
        smallest = size;
    }
    at
}
