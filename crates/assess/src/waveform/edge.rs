//! Reading currents off the samples: plain, or smoothed where there is noise.

use super::axis::Axis;

/// The samples with the sign of a positive pulse and the baseline taken off.
pub(super) struct Curve<'a> {
    pub(super) axis: &'a Axis<'a>,
    current_a: &'a [f64],
    sign: f64,
    baseline_a: f64,
}

impl<'a> Curve<'a> {
    pub(super) fn new(axis: &'a Axis<'a>, current_a: &'a [f64], sign: f64, baseline_a: f64) -> Self {
        Self { axis, current_a, sign, baseline_a }
    }

    pub(super) fn len(&self) -> usize {
        self.current_a.len()
    }

    /// Current of a sample, in amperes.
    pub(super) fn at(&self, index: usize) -> f64 {
        self.current_a.get(index).map_or(f64::NAN, |current| self.sign * (current - self.baseline_a))
    }

    /// Current between samples on a straight line; none outside the record.
    pub(super) fn between(&self, t_ns: f64) -> Option<f64> {
        let after = self.axis.first_from(t_ns, self.len());
        if after >= self.len() {
            return None;
        }
        let (t1, y1) = (self.axis.at(after), self.at(after));
        if t1 == t_ns {
            return Some(y1);
        }
        let before = after.checked_sub(1)?;
        let (t0, y0) = (self.axis.at(before), self.at(before));
        Some(y0 + (t_ns - t0) / (t1 - t0) * (y1 - y0))
    }

    /// Value at a time of the parabola that fits the samples within `half_ns` of it best; `until_ns` bounds the
    /// samples. None with fewer than 5 samples.
    pub(super) fn fitted(&self, t_ns: f64, half_ns: f64, until_ns: f64) -> Option<f64> {
        let slack = self.axis.step_ns * 1e-6;
        let first = self.axis.first_from(t_ns - half_ns - slack, self.len());
        let end = self.axis.first_from((t_ns + half_ns + slack).min(until_ns), self.len());
        if end < first + 5 {
            return None;
        }
        // Sums of powers of the scaled time u = (t - t_ns) / half_ns, which lies within -1 to 1.
        let (mut s, mut v) = ([0.0f64; 5], [0.0f64; 3]);
        for index in first..end {
            let u = (self.axis.at(index) - t_ns) / half_ns;
            let y = self.at(index);
            let mut power = 1.0;
            for (k, sum) in s.iter_mut().enumerate() {
                *sum += power;
                if let Some(moment) = v.get_mut(k) {
                    *moment += power * y;
                }
                power *= u;
            }
        }
        // Cramer's rule for the constant term of the normal equations.
        let [s0, s1, s2, s3, s4] = s;
        let [v0, v1, v2] = v;
        let (m0, m1, m2) = (s2 * s4 - s3 * s3, s1 * s4 - s2 * s3, s1 * s3 - s2 * s2);
        let determinant = s0 * m0 - s1 * m1 + s2 * m2;
        // Samples that all lie at one or two places determine no parabola.
        let enough = determinant.abs() > 1e-9 * s0 * s0 * s0;
        enough.then(|| (v0 * m0 - v1 * m1 + v2 * m2) / determinant)
    }
}

/// A point of the curve on which the peak and the crossings are looked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    pub(super) t_ns: f64,
    pub(super) y: f64,
}

/// Where a straight line between two points reaches a level.
pub(super) fn crossing(from: At, to: At, level: f64) -> f64 {
    from.t_ns + (level - from.y) / (to.y - from.y) * (to.t_ns - from.t_ns)
}

/// The points of the region around the edge: the samples, or the fitted values of at most some 20 places
/// per half width (a record with a finer step is not denser than that in information).
pub(super) fn points(curve: &Curve<'_>, first: usize, last: usize, half_ns: Option<f64>) -> Vec<At> {
    let stride = half_ns.map_or(1, |half| ((half / curve.axis.step_ns / 20.0) as usize).max(1));
    (first..=last.min(curve.len().saturating_sub(1)))
        .step_by(stride)
        .map(|index| {
            let t_ns = curve.axis.at(index);
            let y = match half_ns {
                None => curve.at(index),
                Some(half) => curve.fitted(t_ns, half, f64::INFINITY).unwrap_or_else(|| curve.at(index)),
            };
            At { t_ns, y }
        })
        .collect()
}
