//! Numbers of a record as a message shows them.

/// Twelve significant digits, without what binary arithmetic leaves behind them and without a sign before zero.
pub(super) fn shown(value: f64) -> f64 {
    // Reading back what was printed with twelve digits gives the double that prints shortest.
    format!("{value:.11e}").parse::<f64>().unwrap_or(value) + 0.0
}

#[cfg(test)]
mod tests {
    use super::shown;

    #[test]
    fn binary_tails_and_signs_of_zero_go() {
        for (value, text) in [
            (-0.0, "0"),
            (8.950000000000001, "8.95"),
            (0.1 + 0.2, "0.3"),
            (-29.8, "-29.8"),
            (1e300, &1e300_f64.to_string()),
        ] {
            assert_eq!(shown(value).to_string(), text);
        }
        assert!(shown(f64::NAN).is_nan());
    }
}
