//! Does a computed figure agree with the expected one?

use super::Got;

/// How closely an expected figure must be met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Within {
    /// Rounded to the digits of the expected figure, it prints the same.
    Print,
    /// Distance at most this, in the unit of the figure.
    Absolute(f64),
    /// Distance at most this share of the expected figure.
    Relative(f64),
}

impl std::fmt::Display for Within {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Print => f.write_str("to the last printed digit"),
            Self::Absolute(distance) => write!(f, "\u{b1}{distance}"),
            Self::Relative(share) => write!(f, "\u{b1}{share:e} relative"),
        }
    }
}

/// What was computed, as text with about as many digits as are expected, and whether it agrees.
pub(super) fn compare(expected: &str, within: Within, got: &Got) -> (String, bool) {
    let got = match got {
        Got::Words(words) => return (words.clone(), words == expected),
        Got::Number(number) => *number,
    };
    if within == Within::Print {
        return prints_as(expected, got);
    }
    let Ok(truth) = expected.parse::<f64>() else { return (format!("{got:e}"), false) };
    let distance = (got - truth).abs();
    let agrees = match within {
        // A limit in decimals, such as 0.001, is met by 1.295 against 1.296 whatever their last binary digit.
        Within::Absolute(most) => distance <= most * (1.0 + 1e-9),
        Within::Relative(most) => distance <= most * truth.abs(),
        Within::Print => false,
    };
    let digits = expected.bytes().filter(u8::is_ascii_digit).count().clamp(6, 17);
    (significant(got, digits), agrees || got == truth)
}

/// A number with so many significant digits, without an exponent where that is easily read.
fn significant(value: f64, digits: usize) -> String {
    let shown = format!("{value:.*e}", digits - 1);
    match shown.split_once('e').and_then(|(_, exponent)| exponent.parse::<i32>().ok()) {
        Some(exponent @ -5..=14) => {
            let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
            format!("{value:.decimals$}")
        }
        _ => shown,
    }
}

/// Whether a figure, rounded to the digits of a printed one, prints the same.
fn prints_as(expected: &str, got: f64) -> (String, bool) {
    let decimals = |text: &str| text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let shown = match expected.split_once(['e', 'E']) {
        Some((mantissa, _)) => format!("{got:.*e}", decimals(mantissa)),
        None => format!("{got:.*}", decimals(expected)),
    };
    let agrees = shown == expected || shown.strip_prefix('-') == Some(expected) && got > -f64::EPSILON;
    (shown, agrees)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_figure_that_prints_otherwise_is_seen() {
        assert!(!prints_as("14.921292488", 14.921_292_487).1);
        assert!(prints_as("14.921292488", 14.921_292_488_4).1);
        assert!(prints_as("1.7266e-5", 1.726_64e-5).1);
        assert!(!prints_as("1.7266e-5", 1.7267e-5).1);
        assert!(!prints_as("0.5", f64::NAN).1);
        assert!(!prints_as("-0.36", 0.36).1);
    }

    #[test]
    fn a_tolerance_of_a_reference_case_is_kept() {
        let number = |got| Got::Number(got);
        assert!(compare("0.295", Within::Absolute(0.001), &number(0.2955)).1);
        assert!(!compare("0.295", Within::Absolute(0.001), &number(0.2965)).1);
        assert!(compare("2", Within::Relative(1e-3), &number(2.001)).1);
        assert!(!compare("2", Within::Relative(1e-3), &number(2.01)).1);
        assert!(!compare("2", Within::Relative(1e-3), &number(f64::NAN)).1);
        assert!(!compare("pass", Within::Print, &Got::Words("fail".into())).1);
    }
}
