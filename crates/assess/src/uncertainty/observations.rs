//! Type A evaluation: means, experimental standard deviations and correlations of repeated readings.

use super::InputUncertainty;
use crate::special::OutOfDomain;

/// Repeated readings of one quantity (GUM 4.2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observed {
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation of one reading, with n - 1.
    pub deviation: f64,
    /// The mean's uncertainty: deviation / sqrt(n), with n - 1 degrees of freedom.
    pub uncertainty: InputUncertainty,
}

/// Mean and spread of readings; at least two, all finite.
pub fn observed(readings: &[f64]) -> Result<Observed, OutOfDomain> {
    let count = u32::try_from(readings.len()).ok().filter(|count| *count >= 2);
    let Some(count) = count else {
        return Err(OutOfDomain::new("a number of readings", readings.len(), "at least 2"));
    };
    if let Some(reading) = readings.iter().find(|reading| !reading.is_finite()) {
        return Err(OutOfDomain::new("a reading", reading, "a finite number"));
    }
    let mean = mean(readings);
    let deviation = libm::sqrt(products(readings, mean, readings, mean) / (f64::from(count) - 1.0));
    Ok(Observed { mean, deviation, uncertainty: InputUncertainty::mean_of(count, deviation)? })
}

/// Several quantities read together, the same number of times, and the correlation coefficients of their means
/// (GUM 5.2.3): row by row, 1 on the diagonal; 0 where one of the two never varied.
pub fn simultaneous(series: &[&[f64]]) -> Result<(Vec<Observed>, Vec<Vec<f64>>), OutOfDomain> {
    if let Some(odd) = series.iter().find(|one| series.first().is_none_or(|first| one.len() != first.len())) {
        return Err(OutOfDomain::new(
            "a number of simultaneous readings",
            odd.len(),
            "equal for all quantities",
        ));
    }
    let each = series.iter().map(|readings| observed(readings)).collect::<Result<Vec<_>, _>>()?;
    let rows = series.iter().zip(&each).enumerate().map(|(row, first)| {
        let coefficients = series
            .iter()
            .zip(&each)
            .enumerate()
            .map(|(column, second)| if row == column { 1.0 } else { coefficient(first, second) });
        coefficients.collect()
    });
    let rows = rows.collect();
    Ok((each, rows))
}

/// The correlation coefficient of two series.
fn coefficient(first: (&&[f64], &Observed), second: (&&[f64], &Observed)) -> f64 {
    let of = |x: (&&[f64], &Observed), y: (&&[f64], &Observed)| products(x.0, x.1.mean, y.0, y.1.mean);
    let scale = libm::sqrt(of(first, first)) * libm::sqrt(of(second, second));
    if scale > 0.0 { (of(first, second) / scale).clamp(-1.0, 1.0) } else { 0.0 }
}

/// The mean, corrected once by the mean of what is left: large offsets don't cost digits.
fn mean(readings: &[f64]) -> f64 {
    let n = readings.len() as f64;
    let rough = readings.iter().sum::<f64>() / n;
    rough + readings.iter().map(|reading| reading - rough).sum::<f64>() / n
}

fn products(x: &[f64], mean_x: f64, y: &[f64], mean_y: f64) -> f64 {
    let raw: f64 = x.iter().zip(y).map(|(x, y)| (x - mean_x) * (y - mean_y)).sum();
    // What rounding of the means left over.
    let left_x: f64 = x.iter().map(|x| x - mean_x).sum();
    let left_y: f64 = y.iter().map(|y| y - mean_y).sum();
    raw - left_x * left_y / x.len() as f64
}
