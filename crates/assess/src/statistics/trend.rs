//! A straight line through readings over time, and when it reaches a limit.

use crate::special::{Confidence, OutOfDomain, Tail, student_t_quantile};

/// A line of least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Number of readings.
    pub readings: usize,
    /// Change per unit of time.
    pub slope: f64,
    /// Standard uncertainty of the slope.
    pub slope_standard: f64,
    /// Value at time 0.
    pub intercept: f64,
    /// Standard uncertainty of the intercept.
    pub intercept_standard: f64,
    /// Standard deviation of the readings about the line.
    pub residual: f64,
    mean_time: f64,
    mean_value: f64,
    spread: f64,
}

/// When a trend reaches a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Where the line itself reaches it.
    pub at: f64,
    /// The earliest time that the readings allow with the confidence.
    pub from: f64,
    /// The latest.
    pub to: f64,
}

impl Trend {
    /// The method, for a report.
    pub const METHOD: &'static str = "straight line of least squares; time of reaching a limit with limits after Fieller \
        (where the confidence band of the line reaches it); what is to come is taken to go on as the line does";

    /// Fits a line. Refuses fewer than 3 readings, unequal numbers of times and values, values that are not finite, and
    /// readings all at one time.
    pub fn fit(times: &[f64], values: &[f64]) -> Result<Self, OutOfDomain> {
        if times.len() != values.len() || times.len() < 3 {
            let got = format!("{} times and {} values", times.len(), values.len());
            return Err(OutOfDomain::new("readings for a trend", got, "at least 3, each with its time"));
        }
        if let Some(odd) = times.iter().chain(values).find(|number| !number.is_finite()) {
            return Err(OutOfDomain::new("a reading for a trend", odd, "a finite number"));
        }
        let n = times.len() as f64;
        let mean = |numbers: &[f64]| {
            let rough = numbers.iter().sum::<f64>() / n;
            rough + numbers.iter().map(|number| number - rough).sum::<f64>() / n
        };
        let (mean_time, mean_value) = (mean(times), mean(values));
        let spread: f64 = times.iter().map(|time| (time - mean_time) * (time - mean_time)).sum();
        if spread <= 0.0 {
            return Err(OutOfDomain::new("readings for a trend", "all at one time", "at different times"));
        }
        let both = times.iter().zip(values);
        let slope =
            both.clone().map(|(time, value)| (time - mean_time) * (value - mean_value)).sum::<f64>() / spread;
        let left = both.map(|(time, value)| value - mean_value - slope * (time - mean_time));
        let squares: f64 = left.map(|left| left * left).sum();
        let residual = libm::sqrt(squares / (n - 2.0));
        Ok(Self {
            readings: times.len(),
            slope,
            slope_standard: residual / libm::sqrt(spread),
            intercept: mean_value - slope * mean_time,
            intercept_standard: residual * libm::sqrt(1.0 / n + mean_time * mean_time / spread),
            residual,
            mean_time,
            mean_value,
            spread,
        })
    }

    /// The coverage factor of Student's t for this line.
    fn factor(&self, confidence: Confidence) -> f64 {
        student_t_quantile(self.readings as f64 - 2.0, Tail::Upper(0.5 * confidence.risk()))
    }

    /// Whether the slope differs from 0 with this confidence.
    pub fn is_shown(&self, confidence: Confidence) -> bool {
        self.slope.abs() > self.factor(confidence) * self.slope_standard
    }

    /// When the line reaches a limit, before or after the readings; none where no trend is shown with this confidence.
    pub fn crossing(&self, limit: f64, confidence: Confidence) -> Option<Crossing> {
        if !self.is_shown(confidence) {
            return None;
        }
        // (d + b c)^2 = (t s)^2 (1 / n + c^2 / S), c the time from the mean time, d the mean's distance from the limit.
        let width = self.factor(confidence) * self.residual;
        let (d, b, n) = (self.mean_value - limit, self.slope, self.readings as f64);
        let square = b * b - width * width / self.spread;
        let constant = d * d - width * width / n;
        let root = libm::sqrt((d * b * d * b - square * constant).max(0.0));
        let ends = [(-d * b - root) / square, (-d * b + root) / square];
        Some(Crossing {
            at: self.mean_time - d / b,
            from: self.mean_time + ends[0].min(ends[1]),
            to: self.mean_time + ends[0].max(ends[1]),
        })
    }
}
